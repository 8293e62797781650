// Builds the lines to paste, and shows the result beside them.
const $ = (id) => document.getElementById(id);
const snippet = $("snippet");
const escaped = (text) => text.replaceAll("&", "&amp;").replaceAll('"', "&quot;").replaceAll("<", "&lt;");

function build() {
  const { tag, volts, lang, wires, version } = Object.fromEntries(new FormData($("maker")));
  const fixed = version === "fixed";
  const source = new URL(fixed ? `./embed/${snippet.dataset.version}.js` : "./embed.js", location.href).href;
  const lock = fixed ? ` integrity="${snippet.dataset.integrity}" crossorigin` : "";
  const attributes = [
    volts.trim() && `volts="${escaped(volts.trim())}"`, lang !== "en" && `lang="${lang}"`, wires !== "awg" && `wires="${wires}"`,
  ].filter(Boolean).map((one) => ` ${one}`).join("");
  snippet.value = `<script type="module" src="${source}"${lock}></` + `script>\n<${tag}${attributes}></${tag}>`;
  const shown = document.createElement(tag);
  if (volts.trim()) shown.setAttribute("volts", volts.trim());
  if (lang !== "en") shown.setAttribute("lang", lang);
  if (wires !== "awg") shown.setAttribute("wires", wires);
  $("try").replaceChildren(shown);
}
let pause = 0;
$("maker").addEventListener("input", () => { clearTimeout(pause); pause = setTimeout(build, 250); });
$("maker").addEventListener("submit", (event) => { event.preventDefault(); build(); });
$("copy").addEventListener("click", async () => {
  snippet.select();
  try {
    await navigator.clipboard.writeText(snippet.value);
    $("status").textContent = "Copied.";
  } catch {
    $("status").textContent = "The lines are marked: copy them with your keyboard or a long press.";
  }
});
build();
