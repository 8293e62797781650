// Opened from a folder, a page has no service behind it: say so instead of failing quietly.
if (location.protocol === "file:") document.documentElement.classList.add("opened-from-folder");
