// The calculator page: the form on top, the sheet below it, live.
import { addLight, controlOf, fill, idOf, outgrown, renumber, request, show, showErrors, typed, unfold } from "./build.js";
import { openFinder, typeAhead } from "./find.js";
import { pack, unpack } from "./keep.js";
import { showComparison, showFade, showRemedies } from "./views.js";

const PAUSE = 150; // ms without a keystroke before the service is asked
const PATIENCE = 15000; // ms until an answer counts as lost
const $ = (id) => document.getElementById(id);
const form = $("build");

const KINDS = { json: "application/json", html: "text/html", csv: "text/csv", svg: "image/svg+xml", spice: "application/x-spice", text: "text/plain" };
const ENDINGS = { build: "json", json: "json", csv: "csv", svg: "svg", spice: "cir", text: "txt" };

class Refused extends Error {
  constructor(problem) { super(problem.title); this.problem = problem; }
}
async function ask(path, body, form, signal) {
  const answer = await fetch(`./v1/${path}`, {
    method: "POST",
    headers: { "Content-Type": "application/json", Accept: KINDS[form] },
    body: JSON.stringify(body),
    signal,
    credentials: "omit",
  });
  if (!answer.ok) {
    const problem = (answer.headers.get("Content-Type") ?? "").includes("json") ? await answer.json() : null;
    if (problem?.errors?.length) throw new Refused(problem);
    throw new Error(problem?.detail || `the service answered ${answer.status}`);
  }
  return form === "json" ? answer.json() : answer.text();
}

// ---- one question at a time; a late answer to an older question is dropped
let asking = 0;
let cancel = new AbortController();
let slow = 0;

async function update({ loud = false, drawn = false } = {}) {
  const turn = ++asking;
  cancel.abort();
  cancel = new AbortController();
  const late = AbortSignal.timeout(PATIENCE);
  const signal = AbortSignal.any ? AbortSignal.any([cancel.signal, late]) : cancel.signal;
  const body = request();
  clearTimeout(slow);
  slow = setTimeout(() => say("Working it out ..."), 400);
  try {
    const [sheet, html] = await Promise.all([
      ask("build-sheets?detail=short", body, "json", signal),
      drawn ? null : ask("build-sheets", body, "html", signal),
    ]);
    if (turn !== asking) return;
    clearTimeout(slow);
    showErrors([]);
    showSheet(html, sheet);
    const { supply, lights, resistors = {}, mix_colours } = body;
    const { e_series, tolerance_pct, rated_dissipation_w, on_hand_ohm } = resistors;
    const parts = lights.map(({ name, led, count, forward_current_ma }) => ({ name, led, count, forward_current_ma }));
    const ways = await ask(
      "arrangements?detail=short",
      { ...(typeof supply === "string" ? { supply } : supply), lights: parts, mix_colours, e_series, tolerance_pct, rated_dissipation_w, on_hand_ohm },
      "json", signal,
    ).catch(() => null);
    if (turn === asking) showComparison(ways, parts);
  } catch (error) {
    if (turn !== asking) return;
    if (error instanceof Refused) refused(error.problem, loud);
    else unreachable(error, loud);
  } finally {
    if (turn === asking) clearTimeout(slow);
  }
}

const SAFE = { yes: "yes", with_care: "yes, with care", no: "no" };
function say(words) { if ($("status").textContent !== words) $("status").textContent = words; }
function stale(...parts) {
  $("stale").hidden = !parts.length;
  $("stale").replaceChildren(...parts);
  $("answer").classList.toggle("old", parts.length > 0);
}

function showSheet(html, sheet) {
  if (html !== null) {
    const page = new DOMParser().parseFromString(html.replace(/<style[\s\S]*?<\/style>/gi, ""), "text/html");
    for (const part of page.querySelectorAll("script,style,link,meta,title")) part.remove();
    const body = page.querySelector("main") ?? page.body;
    $("sheet").replaceChildren(...document.importNode(body, true).childNodes);
  }
  stale();
  listParts();
  $("tools").hidden = $("views").hidden = false;
  $("to-sheet").hidden = false;
  const heard = document.createElement("span");
  heard.className = "away";
  heard.textContent = "The sheet is up to date. ";
  const safe = document.createElement("b");
  safe.textContent = `Safe to build: ${SAFE[sheet.safe]}. `;
  $("status").replaceChildren(heard, safe, sheet.summary);
  showRemedies(sheet.findings ?? [], applyRemedy);
  showFade(sheet);
}

// A sheet is long on a phone: its headings, to jump to.
function listParts() {
  const lines = [...$("sheet").querySelectorAll("h2")].map((heading, place) => {
    heading.id = `sheet-${place}`;
    heading.tabIndex = -1;
    const link = document.createElement("a");
    link.href = `#${heading.id}`;
    link.textContent = heading.textContent.replace(/:.*/, "");
    const line = document.createElement("li");
    line.append(link);
    return line;
  });
  $("jump").replaceChildren(...lines);
  pictureStops();
}
// A picture is a stop of the keyboard only where it has to be moved sideways.
function pictureStops() {
  for (const picture of $("sheet").querySelectorAll(".sideways")) picture.tabIndex = picture.scrollWidth > picture.clientWidth ? 0 : -1;
}
addEventListener("resize", pictureStops);

const sentences = (...parts) => parts.filter(Boolean).map((one) => one[0].toUpperCase() + one.slice(1)).join(". ");
function refused(problem, loud) {
  const errors = problem.errors.map((error) => ({
    name: (error.pointer ?? error.parameter ?? "").replace(/^#?\//, "").replaceAll("/", "."),
    words: sentences(error.detail, error.hint).replace(/^(is|has|cannot|needs|must)\b/i, (verb) => `This ${verb.toLowerCase()}`),
    instead: error.suggestion ?? undefined,
  }));
  showErrors(errors);
  stale("The sheet below is for the last complete build. Mend the marked fields above.");
  say("Some fields need mending.");
  if (loud) $("summary").focus();
}

function unreachable(error) {
  const again = document.createElement("button");
  again.type = "button";
  again.textContent = "Try again";
  again.addEventListener("click", () => update());
  const lost = error.name === "TypeError" || error.name === "TimeoutError" || error.name === "SyntaxError";
  stale(
    lost ? "The service does not answer. What you typed is kept; the sheet below is for the build before. "
      : `That did not work: ${error.message}. What you typed is kept. `,
    again,
  );
  say("The service does not answer.");
}

// Put what a finding suggests into the form. A member of a light, said without saying which light, goes to
// every light that asks for more.
function applyRemedy(suggestion, field) {
  const beside = field.replace(/\.?[^.]*$/, "");
  const changed = [];
  for (const [name, value] of Object.entries(suggestion)) {
    const control = controlOf(name) ?? (beside && controlOf(`${beside}.${name}`)) ?? controlOf(`supply.${name}`);
    const controls = control ? [control].filter((one) => !one.closest("[hidden]"))
      : [...document.querySelectorAll(`.light [name$=".${CSS.escape(name)}"]`)].filter((one) => !(parseFloat(one.value) <= value));
    for (const one of controls) {
      one.value = Array.isArray(value) ? value.join("; ") : value;
      changed.push(one);
    }
  }
  if (!changed.length) return false;
  show(changed[0]);
  settled();
  return true;
}

// ---- undo: what was typed, before each settled change
let shown = JSON.stringify(typed());
const past = [];
function remember() {
  const now = JSON.stringify(typed());
  if (now === shown) return false;
  past.push(shown);
  if (past.length > 100) past.shift();
  shown = now;
  $("undo").disabled = false;
  return true;
}
let pause = 0;
function settled() {
  clearTimeout(pause);
  if (remember()) {
    $("kept").hidden = $("lost").hidden = $("unread").hidden = true;
    keepInAddress();
    update();
  }
}
// The address always holds the build: a reload, a bookmark or a tab put away by the phone loses nothing.
async function keepInAddress() {
  const mine = shown;
  const url = new URL(location.href);
  url.search = "";
  url.hash = `b=${await pack(request())}`;
  if (mine === shown) history.replaceState(null, "", url);
  return url.href;
}
function replace(build, words) {
  const strange = fill(build);
  settled();
  lost(strange.length ? `Left out of the build, as this page has no field for it: ${strange.join(", ")}.` : "");
  say(words);
}

form.addEventListener("input", (event) => {
  if (event.target.id === "open-file") return;
  unfold();
  clearTimeout(pause);
  pause = setTimeout(settled, PAUSE);
});
// A count of cells is not one of blocks, packs or banks: it waits until cells are chosen again.
let cells = "";
$("f-power").addEventListener("change", () => {
  const count = $(idOf("supply.cells_in_series"));
  const whole = /block|pack|battery|bank/i.test($("f-power").selectedOptions[0].text);
  if (whole && Number(count.value) > 1) [cells, count.value] = [count.value, ""];
  else if (!whole && cells && !count.value) [cells, count.value] = ["", cells];
  else return;
  settled();
  if (whole) lost("How many in a row was for the cells before. It is empty now, which counts as 1.");
});
form.addEventListener("change", (event) => {
  if (event.target !== $(idOf("supply.supply_voltage_v"))) return;
  const left = outgrown({ typing: false });
  if (!left.some((one) => one.value)) return;
  for (const one of left) one.value = "";
  unfold();
  settled();
  lost("Lowest and highest went with the voltage before: they are empty now.");
});
form.addEventListener("keydown", typeAhead);
form.addEventListener("submit", (event) => {
  event.preventDefault();
  clearTimeout(pause);
  remember();
  update({ loud: true }).then(() => { if ($("summary").hidden) $("answer").scrollIntoView(); });
});
form.addEventListener("click", (event) => {
  const find = event.target.closest(".find");
  if (find) return openFinder(find.parentNode.querySelector("select"));
  const row = event.target.closest(".remove")?.closest(".light");
  if (!row) return;
  const next = row.nextElementSibling ?? row.previousElementSibling;
  row.remove();
  renumber();
  next?.querySelector("input").focus();
  settled();
});
$("add-light").addEventListener("click", () => {
  addLight().querySelector("input").focus();
  settled();
});
$("undo").addEventListener("click", () => {
  clearTimeout(pause);
  remember();
  const before = past.pop();
  if (!before) return;
  fill(JSON.parse(before));
  shown = JSON.stringify(typed());
  keepInAddress();
  $("undo").disabled = !past.length;
  if (!past.length) form.querySelector("input").focus();
  update();
});
$("again").addEventListener("click", () => {
  replace({ title: "", supply: { battery: "alkaline_aa", cells_in_series: "3" }, lights: [{ led: "red_5mm", count: "1" }] }, "An empty card.");
  $(idOf("title")).focus();
});
for (const chip of document.querySelectorAll("[data-example]")) {
  chip.addEventListener("click", async (event) => {
    if (event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    try {
      const answer = await fetch(`./examples/${chip.dataset.example}.json`);
      if (!answer.ok) throw new Error(answer.status);
      replace(await answer.json(), `The example: ${chip.textContent}.`);
    } catch (error) {
      unreachable(error);
    }
  });
}
$("open-file").addEventListener("change", async () => {
  const file = $("open-file").files[0];
  if (!file) return;
  try {
    const build = JSON.parse(await file.text());
    const inner = build.inputs ?? build;
    if (!Array.isArray(inner.lights)) throw new Error();
    replace(inner, `Opened ${file.name}.`);
  } catch {
    say(`${file.name} is no saved build: it should be a JSON file from "Save as", Build.`);
  }
  $("open-file").value = "";
});

// ---- print, keep, save
$("print").addEventListener("click", () => window.print());
$("link").addEventListener("click", async () => {
  remember();
  const link = await keepInAddress();
  $("kept").hidden = false;
  $("kept-link").value = link;
  $("kept-link").focus();
  $("kept-link").select();
  $("code").replaceChildren();
  if (link.length > 300) {
    $("code").textContent = "This build is too long for a code that scans well: send the link, or save the build as a file.";
    return;
  }
  try {
    const answer = await fetch("./code.svg", { method: "POST", headers: { "Content-Type": "text/plain" }, body: link });
    if (!answer.ok) throw new Error();
    const picture = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
    picture.setAttribute("role", "img");
    picture.setAttribute("aria-label", "A code to scan: the same link");
    $("code").append(document.importNode(picture, true));
  } catch {
    $("code").textContent = "The code could not be drawn: the service does not answer.";
  }
});
$("copy").addEventListener("click", async () => {
  $("kept-link").select();
  try {
    await navigator.clipboard.writeText($("kept-link").value);
    say("The link is copied.");
  } catch {
    say("The link is marked: copy it with your keyboard or a long press.");
  }
});
for (const button of document.querySelectorAll("[data-save]")) {
  button.addEventListener("click", async () => {
    const kind = button.dataset.save;
    button.closest("details").open = false;
    button.closest("details").querySelector("summary").focus();
    try {
      const body = request();
      let text = JSON.stringify(body, null, 2);
      if (kind !== "build") {
        const answer = await ask("build-sheets", body, kind);
        text = typeof answer === "string" ? answer : JSON.stringify(answer, null, 2);
      }
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([text], { type: KINDS[kind] ?? "application/json" }));
      link.download = `${body.title.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "build"}${kind === "json" ? "-sheet" : ""}.${ENDINGS[kind]}`;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 10000);
      say(`Saved ${link.download}.`);
    } catch (error) {
      if (error instanceof Refused) refused(error.problem, true);
      else unreachable(error);
    }
  });
}

for (const menu of document.querySelectorAll(".menu")) {
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.open) return;
    menu.open = false;
    menu.querySelector("summary").focus();
  });
  menu.addEventListener("focusout", (event) => { if (event.relatedTarget && !menu.contains(event.relatedTarget)) menu.open = false; });
}

// ---- start: a kept build, or what the service wrote into the page
async function openLink() {
  const kept = /^#([a-z]+\d*)=(.*)$/.exec(location.hash);
  if (!kept) return false;
  try {
    if (kept[1] !== "b") throw new Error("another version");
    const strange = fill(await unpack(/^[\w-]*/.exec(kept[2])[0]));
    remember();
    unread("");
    lost(strange.length ? `Left out of the build, as this page has no field for it: ${strange.join(", ")}.` : "");
    return true;
  } catch {
    // Above all else: whoever opens a link must not take the example below for the build that was sent.
    unread(kept[1] === "b"
      ? "This link holds no build that can be read: perhaps a part of it was cut off. Ask for the whole link. Below is another build, not the one of the link."
      : "This link is of a kind that this page does not know: it was made by another version. Open it where it was made. Below is another build, not the one of the link.");
    return false;
  }
}
function unread(words) {
  $("unread").textContent = words;
  $("unread").hidden = !words;
}
function lost(words) {
  $("lost").textContent = words;
  $("lost").hidden = !words;
}
addEventListener("hashchange", async () => { if (await openLink()) update(); });
// Inside the page the address is the build's: a jump leaves it alone.
document.addEventListener("click", (event) => {
  const jump = event.target.closest("main a[href^='#'], a.skip");
  if (!jump || event.defaultPrevented) return;
  event.preventDefault();
  const goal = $(jump.hash.slice(1));
  jump.closest(".menu")?.removeAttribute("open");
  goal.scrollIntoView();
  goal.focus({ preventScroll: true });
});
$("again").disabled = false;
renumber();
unfold();
shown = JSON.stringify(typed());
// The sheet of the build in the form stands in the page already, unless a link brought another.
update({ drawn: !(await openLink()) && $("sheet").childElementCount > 0 });
