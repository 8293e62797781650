// A light or a supply found by its words: in a window of its own, and by typing on the closed list.

// Other words people have for what stands in the lists.
const ALSO = [
  ["surface-mount", "smd chip strip"], ["ultraviolet", "uv black"], ["infrared", "ir invisible"], ["violet", "purple"],
  ["pink", "rose magenta"], ["cyan", "turquoise teal"], ["pre-wired", "resistor inside sleeve ready"], ["warm white", "lamp candle golden"],
  ["cool white", "cold daylight moon"], ["three-colour", "rgb"], ["another", "other own unlisted"], ["coin", "button"], ["button", "coin"],
  ["vehicle", "car"], ["lead", "gel"], ["lithium-polymer", "lipo"], ["usb", "phone"], ["block", "pp3 square"], ["rechargeable", "accu akku"],
];
const apart = (text) => text.toLowerCase().replace(/pre[- ]?wired/g, "prewired").split(/[^\p{L}\p{N}]+/u).filter(Boolean);
const known = new Map();
function wordsOf(option) {
  const key = option.value + option.text;
  if (!known.has(key)) {
    const name = option.text.toLowerCase();
    const also = ALSO.filter(([word]) => name.includes(word)).map(([, more]) => more).join(" ");
    known.set(key, apart(`${option.text} ${option.value} ${also}`));
  }
  return known.get(key);
}

// "2032" is in "cr2032", too.
const starts = (one, word) => one.startsWith(word) || (/^\d{3,}$/.test(word) && one.includes(word));

// The options that have every word typed, or its beginning: whole words first, in the order of the list.
export function matching(options, typed) {
  const asked = apart(typed);
  const start = typed.trim().toLowerCase();
  return [...options]
    .filter((option) => option.value && asked.every((word) => wordsOf(option).some((one) => starts(one, word))))
    .map((option) => ({
      option,
      rank: (option.text.toLowerCase().startsWith(start) ? 100 : 0) + asked.filter((word) => wordsOf(option).includes(word)).length,
    }))
    .sort((one, other) => other.rank - one.rank)
    .map(({ option }) => option);
}

function choose(select, option) {
  select.value = option.value;
  for (const kind of ["input", "change"]) select.dispatchEvent(new Event(kind, { bubbles: true }));
}

// Typing on the closed list: any words, not only how an entry begins.
let typed = "";
let last = { at: 0, select: null };
export function typeAhead(event) {
  const select = event.target;
  if (select.tagName !== "SELECT" || event.ctrlKey || event.metaKey || event.altKey || event.key.length !== 1) return;
  if (event.timeStamp - last.at > 1000 || select !== last.select) typed = "";
  if (event.key === " " && !typed) return; // opens the list
  last = { at: event.timeStamp, select };
  typed += event.key;
  if (/^(.)\1+$/.test(typed)) return; // one letter again and again steps through the list, as ever
  const [found] = matching(select.options, typed);
  event.preventDefault();
  if (found && found.value !== select.value) choose(select, found);
}

const $ = (id) => document.getElementById(id);
let asker = null; // the list that is being chosen for
function list() {
  const found = matching(asker.options, $("finder-words").value);
  $("finder-says").textContent = found.length === 1 ? "1 kind" : `${found.length} kinds`;
  if (!found.length) $("finder-says").textContent = "No kind has all these words. Use fewer, or take “Another: I know its figures”.";
  const own = [...asker.options].filter((option) => option.value === "own");
  $("finder-list").replaceChildren(...(found.length ? found : own).map((option) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = option.text;
    if (option.selected) button.append(" (chosen now)");
    button.addEventListener("click", () => take(option));
    const line = document.createElement("li");
    line.append(button);
    return line;
  }));
}
function take(option) {
  choose(asker, option);
  $("finder").close();
}
export function openFinder(select) {
  asker = select;
  $("finder-words").value = "";
  list();
  $("finder").showModal();
  $("finder-words").focus();
}
$("finder-words").addEventListener("input", list);
$("finder-words").addEventListener("keydown", (event) => {
  if (event.key !== "Enter") return;
  event.preventDefault();
  const [first] = matching(asker.options, $("finder-words").value);
  if (first && $("finder-words").value.trim()) take(first);
});
$("finder-close").addEventListener("click", () => $("finder").close());
$("finder").addEventListener("close", () => asker?.focus());
$("finder").addEventListener("click", (event) => { if (event.target === $("finder")) $("finder").close(); });
