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
