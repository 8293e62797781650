// The form and the build it stands for. A build is the request of /v1/build-sheets, but with every
// text as it was typed; `request` turns that into what the service takes.

const form = () => document.getElementById("build");
export const idOf = (name) => "f-" + name.replaceAll(".", "-");

// "20" is a number; "1,5" is sent with its unit, so that the service reads the comma; all else goes
// as typed, for the service to read or to refuse with a hint.
function quantity(typed, unit) {
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(typed)) return Number(typed);
  if (/^[+-]?\d+,\d+$/.test(typed) && unit) return `${typed} ${unit}`;
  return typed;
}
const READ = {
  quantity,
  count: (typed) => (/^\d+$/.test(typed) ? Number(typed) : typed),
  list: (typed, unit) => typed.split(/[;\s]+|,\s+/).filter(Boolean).map((one) => quantity(one, unit)),
  counts: (typed) => typed.split(/[;,\s]+/).filter((one) => one && !/^awg$/i.test(one)).map(READ.count),
  word: (typed) => typed,
  yes: () => true,
};

function put(target, path, value) {
  const steps = path.split(".");
  const last = steps.pop();
  for (const step of steps) target = target[step] ??= {};
  target[last] = value;
}

function gather(read) {
  const build = { lights: {} };
  for (const control of form().querySelectorAll("[name]")) {
    const { name, type } = control;
    const kind = control.dataset.kind;
    if (control.closest("[hidden]") || name === "power") continue;
    if (kind === "led") {
      if (control.value !== "own") put(build, name, control.value);
      continue;
    }
    const typed = type === "checkbox" ? (control.checked ? "yes" : "") : control.value.trim();
    if (typed) put(build, name, read(typed, kind, control.dataset.unit));
  }
  const power = document.getElementById("f-power").value;
  if (power.startsWith("part:")) build.supply = power.slice(5);
  else if (power !== "adapter") put(build, "supply.battery", power);
  build.lights = [...document.querySelectorAll(".light")].map((row) => build.lights[row.dataset.light] ?? {});
  return build;
}

// What is typed, to keep; and what to send.
export const typed = () => gather((value) => value);
export const request = () => {
  const build = gather((value, kind, unit) => READ[kind](value, unit));
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
}
export function renumber() {
  const rows = [...document.querySelectorAll(".light")];
  rows.forEach(number);
  for (const row of rows) row.querySelector(".remove").hidden = rows.length === 1;
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
  const adapter = document.getElementById("f-power").value === "adapter";
  document.getElementById("by-adapter").hidden = !adapter;
  document.getElementById("by-battery").hidden = adapter || document.getElementById("f-power").value.startsWith("part:");
  for (const fold of document.querySelectorAll("details.fold")) {
    const set = [...fold.querySelectorAll("[name]")].filter((one) => (one.type === "checkbox" ? one.checked : one.value)).length;
    fold.querySelector(".filled-in").textContent = set ? `${set} filled in` : "";
  }
}

// Fill the form from a build, typed or as a request; what the form has no field for is returned.
export function fill(build) {
  const strange = [];
  const list = document.getElementById("lights");
  const lights = build.lights?.length ? build.lights : [{ count: "1" }];
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
  const walk = (value, path) => {
    if (path === "supply.battery" || path === "supply" && typeof value === "string" || value === null || value === undefined) return;
    const led = /^lights\.\d+\.led$/.test(path);
    const control = document.getElementById(idOf(path));
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
  const lines = errors.map(({ name, words, instead }) => {
    const control = nearest(name);
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
      control.closest("details")?.setAttribute("open", "");
      control.focus();
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
export function labelOf(control) {
  const label = document.querySelector(`label[for="${control.id}"]`);
  const own = (label?.firstChild?.textContent ?? control.name).trim();
  const light = control.closest(".light");
  return light ? `${light.querySelector("legend").textContent}, ${own.toLowerCase()}` : own;
}
// The field of a path, or of the nearest part of it that has one.
function nearest(name) {
  const steps = name.split(".").filter(Boolean);
  if (steps[0] === "supply" && steps.length < 3 && (steps.length === 1 || steps[1] === "battery")) {
    return document.getElementById("f-power");
  }
  for (; steps.length; steps.pop()) {
    const control = document.getElementById(idOf(steps.join(".")));
    if (control) return control;
  }
  return null;
}
