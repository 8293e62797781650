// Opened from a folder, a page has no service behind it: say so instead of failing quietly.
if (location.protocol === "file:") document.documentElement.classList.add("opened-from-folder");

// A table wider than a phone is read row by row, each cell behind its column's name: what stands beyond the edge
// of the screen is missed. What still scrolls sideways has to be reachable by keyboard. The theme wraps tables
// after loading, so look again then.
const narrow = matchMedia("(max-width: 480px)");
const frame = (table) => table.closest(".md-typeset__scrollwrap") ?? table.parentNode;
const stack = () => {
  const tables = [...document.querySelectorAll(".md-typeset table:not([class])")];
  for (const table of tables) delete table.dataset.stacked;
  if (!narrow.matches) return;
  for (const table of tables.filter((one) => frame(one).scrollWidth > frame(one).clientWidth)) {
    const names = [...table.rows[0].cells].map((head) => head.textContent);
    for (const row of [...table.rows].slice(1))
      [...row.cells].forEach((cell, at) => { if (at) cell.dataset.column = names[at]; });
    table.dataset.stacked = "";
  }
};
const reach = () => {
  stack();
  for (const part of document.querySelectorAll(".md-typeset__scrollwrap, .md-typeset pre > code, .formula, .drawing"))
    if (part.scrollWidth > part.clientWidth) part.tabIndex = 0;
};
new MutationObserver(reach).observe(document.body, { childList: true, subtree: true });
addEventListener("resize", reach);
document.addEventListener("toggle", reach, true);
reach();

// Live examples: the component of the service, fetched once a reader gets to one.
const component = new URL("../../embed.js", document.currentScript.src);
let fetched;
const start = async (place) => {
  if (place.dataset.started) return;
  place.dataset.started = "yes";
  try {
    await (fetched ??= import(component));
  } catch {
    fetched = undefined;  // what stands in the page says what is needed
    delete place.dataset.started;
    return;
  }
  const part = document.createElement(`lampwright-${place.dataset.kind}`);
  for (const [name, value] of Object.entries(place.dataset)) if (!["kind", "started"].includes(name)) part.setAttribute(name, value);
  place.querySelector("p").replaceWith(part);
};
if (location.protocol !== "file:") {
  for (const place of document.querySelectorAll("details.live"))
    place.addEventListener("toggle", () => { if (place.open) start(place); });
}
