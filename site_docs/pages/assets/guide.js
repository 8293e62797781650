// Opened from a folder, a page has no service behind it: say so instead of failing quietly.
if (location.protocol === "file:") document.documentElement.classList.add("opened-from-folder");

// What scrolls sideways has to be reachable by keyboard. The theme wraps tables after loading, so look again then.
const reach = () => {
  for (const part of document.querySelectorAll(".md-typeset__scrollwrap, .md-typeset pre > code, .formula, .drawing"))
    if (part.scrollWidth > part.clientWidth) part.tabIndex = 0;
};
new MutationObserver(reach).observe(document.body, { childList: true, subtree: true });
addEventListener("resize", reach);
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
