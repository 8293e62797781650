// The form and the build it stands for. A build is the request of /v1/build-sheets, but with every
// text as it was typed; `request` turns that into what the service takes.

import { read, understood } from "./reading.js";

export const KINDS_MOST = 24; // kinds of light in one build
const form = () => document.getElementById("build");
export const idOf = (name) => "f-" + name.replaceAll(".", "-");
// The field of a name. Where a battery and an adapter have one each, the one that is shown.
export function controlOf(name) {
  const all = [...form().elements].filter((one) => one.name === name);
  return all.find((one) => !one.closest("[hidden]")) ?? all[0] ?? null;
}

function put(target, path, value) {
  const steps = path.split(".");
  const last = steps.pop();
  for (const step of steps) target = target[step] ??= {};
  target[last] = value;
}

function gather(read) {
  const build = { lights: {} };
  const dropped = outgrown();
  for (const control of form().querySelectorAll("[name]")) {
    const { name, type } = control;
    const kind = control.dataset.kind;
    if (control.closest("[hidden]") || name === "power" || dropped.includes(control)) continue;
    if (kind === "led") {
      put(build, name, control.value === "own" ? {} : control.value);
      continue;
    }
    const typed = type === "checkbox" ? (control.checked ? "yes" : "") : control.value.trim();
    if (typed) put(build, name, read(typed, control));
  }
  const power = document.getElementById("f-power").value;
  if (power.startsWith("part:")) build.supply = power.slice(5);
  else if (power !== "adapter") put(build, "supply.battery", power);
  build.lights = [...document.querySelectorAll(".light")].map((row) => build.lights[row.dataset.light] ?? {});
  return build;
}

// Lowest and highest that do not go with a voltage being typed belong to the one before: they do not count.
export function outgrown({ typing = true } = {}) {
  const voltage = controlOf("supply.supply_voltage_v");
  if (typing && document.activeElement !== voltage) return [];
  const volts = (control) => (/^\d+([.,]\d+)?\s*(v|volts?)?$/i.test(control.value.trim()) ? parseFloat(control.value.replace(",", ".")) : NaN);
  const [lowest, highest] = ["min", "max"].map((end) => document.getElementById(idOf(`supply.supply_voltage_${end}_v`)));
  return volts(lowest) > volts(voltage) || volts(highest) < volts(voltage) ? [lowest, highest] : [];
}

// What is typed, to keep; and what to send.
export const typed = () => gather((value) => value);
export const request = () => {
  const build = gather(read);
  build.title ||= "A build without a name";
  build.supply ??= {};
  build.lights.forEach((light, index) => { light.name ||= `Light ${index + 1}`; });
  return build;
};

const asText = (value) => (Array.isArray(value) ? value.join("; ") : String(value ?? ""));

function number(row, index) {
  row.dataset.light = index;
  for (const part of row.querySelectorAll("[id],[for],[name],[aria-describedby]")) {
    for (const key of ["id", "for", "aria-describedby"]) {
      const value = part.getAttribute(key);
      if (value) part.setAttribute(key, value.replace(/f-lights-(\d+|N)-/g, `f-lights-${index}-`));
    }
    if (part.name) part.name = part.name.replace(/^lights\.(\d+|N)\./, `lights.${index}.`);
  }
  row.querySelector("legend").textContent = `Light ${index + 1}`;
  row.querySelector(".remove .away").textContent = ` light ${index + 1}`;
  row.querySelector("summary .away").textContent = `, light ${index + 1}`;
  row.querySelector(".find").hidden = false;
}
export function renumber() {
  const rows = [...document.querySelectorAll(".light")];
  rows.forEach(number);
  for (const row of rows) row.querySelector(".remove").hidden = rows.length === 1;
  const full = rows.length >= KINDS_MOST;
  const add = document.getElementById("add-light");
  add.disabled = full;
  add.textContent = full ? `${KINDS_MOST} kinds of light are the most` : "Add another kind of light";
}
export function addLight() {
  const list = document.getElementById("lights");
  list.append(document.getElementById("new-light").content.cloneNode(true));
  renumber();
  return list.lastElementChild;
}

// Show the parts of the form that the two kinds of choice call for.
export function unfold() {
  for (const row of document.querySelectorAll(".light")) {
    row.querySelector(".own").hidden = row.querySelector("[data-kind=led]").value !== "own";
  }
  const power = document.getElementById("f-power").value;
  const kind = power === "adapter" ? "adapter" : power.startsWith("part:") ? "" : "battery";
  for (const one of ["adapter", "battery"]) {
    for (const part of ["by", "about", "more"]) document.getElementById(`${part}-${one}`).hidden = kind !== one;
  }
  for (const fold of document.querySelectorAll("details:has(.filled-in)")) {
    const set = [...fold.querySelectorAll("[name]")].filter((one) => (one.type === "checkbox" ? one.checked : one.value)).length;
    fold.querySelector(".filled-in").textContent = set ? `${set} filled in` : "";
  }
  for (const control of form().querySelectorAll("[data-kind=list],[data-kind=wires],[data-kind=clock],[data-unit=h]")) {
    const words = control.value.trim() && understood(control.value.trim(), control);
    let line = control.parentNode.querySelector(".read");
    if (!words && !line) continue;
    if (!line) {
      line = document.createElement("p");
      line.className = "hint read";
      control.after(line);
    }
    line.textContent = words;
  }
}

// Fill the form from a build, typed or as a request; what the form has no field for is returned.
export function fill(build) {
  const strange = [];
  const list = document.getElementById("lights");
  if (build.lights?.length > KINDS_MOST) strange.push(`light ${KINDS_MOST + 1} and on`);
  const lights = build.lights?.length ? build.lights.slice(0, KINDS_MOST) : [{ count: "1" }];
  while (list.children.length > lights.length) list.lastElementChild.remove();
  while (list.children.length < lights.length) addLight();
  renumber();
  for (const control of form().querySelectorAll("[name]")) {
    if (control.type === "checkbox") control.checked = false;
    else if (control.tagName !== "SELECT") control.value = "";
    else if (control.name !== "power" && control.dataset.kind !== "led") control.value = "";
  }
  const power = document.getElementById("f-power");
  const named = typeof build.supply === "string" ? build.supply : build.supply?.battery;
  power.value = named ? `part:${named}` : "adapter";
  if (!power.value) power.value = named;
  if (!power.value) { strange.push("supply"); power.value = "adapter"; }
  unfold();
  const walk = (value, path) => {
    if (path === "supply.battery" || path === "supply" && typeof value === "string" || value === null || value === undefined) return;
    const led = /^lights\.\d+\.led$/.test(path);
    const control = controlOf(path);
    if (typeof value === "object" && !Array.isArray(value)) {
      if (led) control.value = "own";
      for (const [name, inner] of Object.entries(value)) walk(inner, path ? `${path}.${name}` : name);
    } else if (!control) {
      strange.push(path);
    } else if (control.type === "checkbox") {
      control.checked = value === true || value === "yes";
    } else {
      control.value = asText(value);
      if (control.tagName === "SELECT" && control.value !== asText(value)) {
        strange.push(path);
        control.selectedIndex = 0;
      }
    }
  };
  const { lights: _, ...rest } = build;
  walk(rest, "");
  lights.forEach((light, index) => walk(light, `lights.${index}`));
  for (const row of list.children) row.querySelector(".more").open = row.querySelector("[name$=dim_to_pct]").value !== "";
  unfold();
  return strange;
}

// The same words beside the field and in the summary; every line links to its field.
export function showErrors(errors) {
  for (const control of form().querySelectorAll("[aria-invalid]")) {
    control.removeAttribute("aria-invalid");
    control.closest(".field").classList.remove("wrong");
    const text = document.getElementById(`${control.id}-error`);
    text.hidden = true;
    text.replaceChildren();
  }
  const summary = document.getElementById("summary");
  // What only follows from another slip is not said beside it.
  const first = errors.filter(({ words }) => !/means nothing without/.test(words));
  const lines = (first.length ? first : errors).map(({ name, words: said, instead }) => {
    const control = nearest(name);
    const words = plainly(said, control);
    const line = document.createElement("li");
    if (!control) {
      line.textContent = words;
      return line;
    }
    const link = document.createElement("a");
    link.href = `#${control.id}`;
    link.textContent = `${labelOf(control)}: ${words.replace(/^This/, "this")}`;
    link.addEventListener("click", (event) => {
      event.preventDefault();
      show(control);
    });
    line.append(link);
    control.closest("details")?.setAttribute("open", "");
    control.setAttribute("aria-invalid", "true");
    control.closest(".field").classList.add("wrong");
    const beside = document.getElementById(`${control.id}-error`);
    if (beside) {
      beside.hidden = false;
      beside.textContent = words;
      if (instead !== undefined && typeof instead !== "object") {
        const use = document.createElement("button");
        use.type = "button";
        use.textContent = `Use ${instead}`;
        use.addEventListener("click", () => {
          control.value = asText(instead);
          control.dispatchEvent(new Event("input", { bubbles: true }));
          control.focus();
        });
        beside.append(" ", use);
      }
    }
    return line;
  });
  summary.querySelector("ul").replaceChildren(...lines);
  summary.hidden = !lines.length;
  document.title = document.title.replace(/^Mend the marked fields – /, "");
  if (lines.length) document.title = `Mend the marked fields – ${document.title}`;
}
export function show(control) {
  control.closest("details")?.setAttribute("open", "");
  control.focus();
}
// The service's words are for whoever writes a request; here a member is a field, and has a label.
function plainly(words, control) {
  return words
    .replace(/ is missing: supply_voltage_v or battery .*$/, " is missing. Write the volts printed on it, or choose a battery")
    .replace(/ is missing: forward_voltage_v or .*$/, " is missing. Write the volts across one while it is lit, or those printed on a pre-wired one")
    .replace(/Send a whole number from (\d+) to (\d+)/, control?.dataset.kind === "wires" ? "Write a gauge from $1 to $2, or a size such as 0.25 mm²" : "$&")
    .replace(/\bThis member is needed$/, "Fill it in")
    .replace(/^This is not a number with a unit.*$/, control?.dataset.kind === "list" ? "This is no list of values. Write 100, 220, 4k7, or bands from the far end to gold or silver: red red brown gold; yellow violet red" : "$&")
    .replace(/; the ends of a range go into the members with _min_ and _max_/, control?.name.includes("supply_voltage") ? "; the ends of a range go into Lowest and Highest" : "")
    .replace(/(^|\. |; |\? |Otherwise | and )send /gi, (found, before) => `${before}${found.endsWith("Send ") ? "Write" : "write"} `)
    .replace(/\b[a-z]+(?:_[a-z0-9]+)+\b/g, (member) => {
      const other = [...form().elements].find((one) => one.name && one.name.split(".").at(-1) === member);
      return other ? `“${labelOf(other, false)}”` : member.replace(/_(ma|v|ohm|w|m|h|pct|hz|mah|degc|awg)$/, "").replaceAll("_", " ");
    });
}
export function labelOf(control, whole = true) {
  const label = document.querySelector(`label[for="${control.id}"]`);
  const own = (label?.firstChild?.textContent ?? control.name).trim();
  const light = whole && control.closest(".light");
  return light ? `${light.querySelector("legend").textContent}, ${own.toLowerCase()}` : own;
}
// The field of a path, or of the nearest part of it that has one.
function nearest(name) {
  const steps = name.split(".").filter(Boolean);
  if (steps[0] === "supply" && steps.length < 3 && (steps.length === 1 || steps[1] === "battery")) {
    return document.getElementById("f-power");
  }
  for (; steps.length; steps.pop()) {
    const control = controlOf(steps.join("."));
    if (control?.value === "own" && control.dataset.kind === "led") return controlOf(`${control.name}.forward_voltage_v`);
    if (control) return control;
  }
  return null;
}
