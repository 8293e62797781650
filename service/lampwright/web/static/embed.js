// Lampwright in any page: three elements, no cookies, nothing stored. English is built in.
const HERE = new URL(import.meta.url.replace(/embed\/[^/]*$/, ""));
const EN = {
  volts: "Supply voltage", led: "Kind of light", count: "How many in the row", current: "Current wanted",
  ohms: "Resistor in the row", none: "0 if there is none", rows: "Rows alike", lights: "How many lights",
  battery: "Battery", cells: "Cells in a row", adapter: "Adapter or other supply", run: "Wire, one way",
  hours: "Hours wanted", go_resistor: "Which resistor?", go_survives: "Will it survive?", go_build: "Plan it",
  t_resistor: "Which resistor for a light", t_survives: "Will it survive?", t_build: "Plan a small build",
  buy: "Take {resistance} ({bands})", gives: "Then {current} flows; the resistor warms with {dissipation}.",
  straight: "No resistor is recommended here.", yes: "It survives.", no: "It does not survive.",
  flows: "Up to {current_high} through each light", total: "{supply_current} in all", fuse: "fuse {rated_current}",
  wire: "wire {size}", lasts: "lasts about {runtime}", ok: "Can be built.", bad: "Do not build this yet.",
  rowline: "Row {row}: {count} × {led}, {resistance}, {current}", full: "Open the full sheet",
  stop: "STOP", caution: "Take care", note: "Note", wrong: "Mend this first", english: "",
  down: "The service does not answer. What you typed is kept.", again: "Try again", busy: "Working it out ...",
  example: "A worked example meanwhile: one red light at 10 mA on 9 V takes a 750 Ω resistor.",
  codes: "Local codes and licensed practice come first. Low voltage DC only, never mains.",
  lamps: "red_5mm Red|orange_5mm Orange|amber_5mm Amber|yellow_5mm Yellow|green_5mm Green|blue_5mm Blue|white_5mm White|warm_white_5mm Warm white",
  cells_list: "alkaline_aaa AAA alkaline|alkaline_aa AA alkaline|alkaline_9v 9 V block|nimh_aa AA rechargeable|lithium_coin_cr2032 Coin CR2032|liion_18650 Li-ion 18650|lead_acid_12v Lead 12 V|power_bank_5v Power bank",
};
const texts = { en: Promise.resolve(EN) };
const words = (lang, home) => (texts[lang] ??= fetch(new URL(`embed/texts/${lang}.json`, home))
  .then((answer) => (answer.ok ? answer.json() : {})).then((found) => ({ ...EN, ...found }))
  .catch(() => { delete texts[lang]; return EN; }));

const LOOK = `:host{display:block}
div.all{all:initial;color-scheme:inherit;display:block;box-sizing:border-box;font:16px/1.45 var(--lampwright-font,system-ui,sans-serif);color:var(--lampwright-ink,light-dark(#1f2730,#ece7dc));background:var(--paper);border:1px solid var(--line);border-radius:4px;padding:14px;max-width:100%;font-variant-numeric:tabular-nums;overflow-wrap:anywhere;direction:ltr;--paper:var(--lampwright-paper,light-dark(#fbf9f4,#15191e));--accent:var(--lampwright-accent,light-dark(#7a4300,#f0b45a));--line:var(--lampwright-line,light-dark(#8b857a,#6b7480));--focus:light-dark(#1a5fb4,#8ec5ff)}
h2{font-size:20px;line-height:1.25;margin:0 0 8px}
form{display:flex;flex-wrap:wrap;gap:8px 12px;align-items:flex-end;margin:0}
.f{flex:1 1 130px;min-width:0;max-width:240px}
label{display:block;font-weight:600;font-size:14px}small{font-size:13px;font-weight:400}
input,select{box-sizing:border-box;width:100%;min-height:44px;font:inherit;color:inherit;background:var(--paper);border:1px solid var(--line);border-radius:4px;padding:4px 8px}
[aria-invalid]{border:2px solid #c22}
.e{font-size:14px;font-weight:600;margin:2px 0}.e:empty{display:none}
button{min-height:44px;font:inherit;font-weight:600;color:var(--paper);background:var(--accent);border:1px solid var(--accent);border-radius:4px;padding:4px 14px;cursor:pointer}
:focus-visible{outline:3px solid var(--focus);outline-offset:2px}
.out{margin-top:10px;min-height:48px}.out p,.out ul{margin:4px 0;padding:0}.out p:empty{display:none}.out li{margin:2px 0 2px 20px}
.big{font-size:24px;line-height:1.25;font-weight:600}
.out .stop,.out .caution,.out .note{padding:6px 10px;border-left:6px solid currentColor}
.stop{color:#fff;background:#9c1c1c;border-color:#4d0a0a!important}.caution{color:#3a2a00;background:#ffe9b8}.note{color:#16323f;background:#dfeef3}
@media(forced-colors:active){button{color:ButtonText;background:ButtonFace}.stop,.caution,.note{color:CanvasText}}
a{color:var(--accent)}.small{font-size:13px}[hidden]{display:none}`;
let sheet;
const dress = (root) => {
  if (!sheet) { sheet = new CSSStyleSheet(); sheet.replaceSync(LOOK); }
  root.adoptedStyleSheets = [sheet];
};
const make = (tag, set = {}, ...inside) => {
  const part = document.createElement(tag);
  for (const [key, value] of Object.entries(set)) if (value !== undefined) part.setAttribute(key, value);
  part.append(...inside.filter((one) => one !== undefined && one !== ""));
  return part;
};
const number = (typed, unit) => (/^[+-]?\d*\.?\d+$/.test(typed) ? Number(typed)
  : /^[+-]?\d+,\d+$/.test(typed) && unit ? `${typed} ${unit}` : typed);
// A refusal is about a member of a request; here it is about a field.
const sentences = (...parts) => parts.filter(Boolean).map((one, place) => (place ? one[0].toUpperCase() + one.slice(1) : one)).join(". ")
  .replace(/(^|[.;?] |wise |and )send /gi, (_, before) => `${before}${before === ". " ? "W" : "w"}rite `).replace(/^(is|has|cannot|needs|must)\b/, "this $1")
  .replace(/This member is needed/, "Fill it in").replace(/, or leave it out|; the ends of a range go into the members with _min_ and _max_/, "");
const whole = (typed) => (/^\d+$/.test(typed) ? Number(typed) : typed);

class Lampwright extends HTMLElement {
  #turn = 0; #pause; #stop; #text = EN; #kept = {};
  get home() { return new URL(this.getAttribute("service") ?? HERE, document.baseURI); }
  connectedCallback() {
    const root = this.shadowRoot ?? this.attachShadow({ mode: "open" });
    dress(root);
    this.#begin(this.getAttribute("lang") ?? "en");
  }
  disconnectedCallback() { this.#stop?.abort(); clearTimeout(this.#pause); }
  static observedAttributes = ["lang"];
  attributeChangedCallback(_, before, now) { if (this.shadowRoot && before !== now) this.#begin(now ?? "en"); }

  async #begin(lang) {
    const short = lang.slice(0, 2).toLowerCase();
    this.lang_ = /^[a-z]{2}$/.test(short) ? short : "en";
    this.#text = await words(this.lang_, this.home);
    if (this.isConnected) this.#draw();
  }
  t(name, values = {}) {
    return (this.#text[name] ?? name).replace(/\{(\w+)\}/g, (_, key) => values[key] ?? "–");
  }
  // Figures come as "18.5 mA"; in a language with a decimal comma, "18,5 mA".
  figure(text) {
    const kept = text?.replace(/(\d) (?=[\wΩµ%°])/g, "$1\u00a0");
    return this.lang_ === "en" ? kept : kept?.replace(/(\d)\.(\d)/g, "$1,$2");
  }
  #draw() {
    const wrap = make("div", { class: "all", lang: this.lang_, part: "card" });
    const form = make("form", { novalidate: "" });
    for (const [name, label, unit, from, kind] of this.fields) {
      const id = `f-${name}`;
      const value = this.#kept[name] ?? this.getAttribute(name) ?? from;
      let input;
      if (kind === "lamps" || kind === "cells_list") {
        input = make("select", { id, name });
        if (kind === "cells_list") input.append(make("option", { value: "" }, this.t("adapter")));
        for (const line of this.t(kind).split("|")) {
          const [key, ...rest] = line.split(" ");
          input.append(make("option", { value: key }, rest.join(" ")));
        }
        input.value = value;
        if (input.selectedIndex < 0) input.selectedIndex = 0;
      } else {
        input = make("input", { id, name, value, inputmode: kind === "count" ? "numeric" : "decimal", autocomplete: "off", "aria-describedby": `${id}-e` });
      }
      form.append(make("div", { class: "f" }, make("label", { for: id }, this.t(label), unit ? make("small", {}, ` (${unit})`) : ""), input, make("p", { class: "e", id: `${id}-e`, lang: "en" })));
    }
    const button = make("button", { type: "submit" }, this.t(`go_${this.kind}`));
    form.append(button);
    const out = make("div", { class: "out" });
    this.says = make("p", { role: "status", class: "small" });
    wrap.append(make("h2", {}, this.t(`t_${this.kind}`)), form, this.says, out, make("p", { class: "small" }, this.t("codes")));
    this.shadowRoot.replaceChildren(wrap);
    this.form = form;
    this.out = out;
    this.fold();
    form.addEventListener("input", () => { this.fold(); clearTimeout(this.#pause); this.#pause = setTimeout(() => this.ask(), 200); });
    form.addEventListener("submit", (event) => { event.preventDefault(); clearTimeout(this.#pause); this.ask(true); });
    this.ask();
  }
  // Of two fields that exclude each other, only the one that counts is shown.
  fold() {
    const battery = this.form.querySelector("#f-battery");
    if (!battery) return;
    this.form.querySelector("#f-volts").parentNode.hidden = battery.value !== "";
    this.form.querySelector("#f-cells").parentNode.hidden = battery.value === "";
  }
  async ask(loud) {
    const turn = ++this.#turn;
    this.#stop?.abort();
    this.#stop = new AbortController();
    const late = setTimeout((stop) => stop.abort(), 15000, this.#stop);
    const got = this.#kept = Object.fromEntries([...new FormData(this.form)].map(([name, typed]) => [name, typed.trim()]));
    const body = this.question(got);
    this.says.textContent = "";
    const slow = setTimeout(() => { this.says.textContent = this.t("busy"); }, 400);
    try {
      const answer = await fetch(new URL(`v1/${this.path}?detail=short`, this.home), {
        method: "POST", credentials: "omit", signal: this.#stop.signal,
        headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body),
      });
      const found = await answer.json();
      if (turn !== this.#turn) return;
      if (answer.ok) { this.#wrong([]); this.out.replaceChildren(...this.show(found, got).filter(Boolean), ...this.findings(found)); }
      else if (found.errors) this.#wrong(found.errors, loud);
      else throw new Error(found.title);
    } catch {
      if (turn !== this.#turn || !this.isConnected) return;
      const again = make("button", { type: "button" }, this.t("again"));
      again.addEventListener("click", () => this.ask());
      this.out.replaceChildren(make("p", { class: "note" }, this.t("down")), again, make("p", {}, make("slot", {}, this.t("example"))));
    } finally {
      clearTimeout(late);
      clearTimeout(slow);
      if (turn === this.#turn) this.says.textContent = "";
    }
  }
  #wrong(errors, loud) {
    for (const input of this.form.querySelectorAll("[aria-invalid]")) {
      input.removeAttribute("aria-invalid");
      this.form.querySelector(`#${input.id}-e`).textContent = "";
    }
    if (!errors.length) return;
    const lines = errors.map((error) => {
      const path = error.pointer ?? error.parameter ?? "";
      const name = Object.keys(this.names).find((one) => path.endsWith(this.names[one])) ?? "";
      const input = this.form.querySelector(`#f-${name}`);
      const said = sentences(error.detail, error.hint);
      if (!input) return make("li", { lang: "en" }, said);
      input.setAttribute("aria-invalid", "true");
      const beside = this.form.querySelector(`#f-${name}-e`);
      if (beside) beside.textContent = said[0].toUpperCase() + said.slice(1);
      const link = make("a", { href: `#f-${name}` }, `${this.t(this.fields.find(([one]) => one === name)[1])}: `, make("span", { lang: "en" }, said));
      link.addEventListener("click", (event) => { event.preventDefault(); input.focus(); });
      return make("li", {}, link);
    });
    const box = make("div", { role: "alert", tabindex: "-1" }, make("b", {}, this.t("wrong")), make("p", {}, this.t("english")), make("ul", {}, ...lines));
    this.out.replaceChildren(box);
    if (loud) box.focus();
  }
  // In another language its own general words come first; the figures stand in the service's English.
  findings({ findings = [] }) {
    return findings.map(({ code, severity, message, remedy }) => {
      const said = [message, remedy].filter(Boolean).join(" ");
      const own = this.#text[code];
      return make("p", { class: severity }, make("b", {}, `${this.t(severity)}: `),
        ...(own ? [`${own} `, make("small", {}, this.t("english"), " ", make("span", { lang: "en" }, said))] : [make("span", { lang: "en" }, said)]));
    });
  }
  display(found) {
    return Object.fromEntries(Object.entries(found?.display ?? {}).map(([name, text]) => [name, this.figure(text)]));
  }
}

// A build inside a link, as the calculator page keeps it: deflated, in the fragment.
const pack = async (build) => {
  const packed = new Blob([JSON.stringify(build)]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const bytes = new Uint8Array(await new Response(packed).arrayBuffer());
  return btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
};

class Resistor extends Lampwright {
  kind = "resistor"; path = "series-resistors";
  names = { volts: "supply_voltage_v", led: "led", count: "series_count", current: "forward_current_ma" };
  fields = [["volts", "volts", "V", "9"], ["led", "led", "", "red_5mm", "lamps"], ["count", "count", "", "1", "count"], ["current", "current", "mA", "10"]];
  question({ volts, led, count, current }) {
    return { supply_voltage_v: number(volts, "V"), led, series_count: whole(count), forward_current_ma: current ? number(current, "mA") : undefined };
  }
  show(found) {
    const display = this.display(found);
    if (!found.resistance_ohm) return [make("p", { class: "big" }, this.t("straight"))];
    const bands = (found.colour_bands ?? []).map((one) => this.t(one)).join(", ");
    return [make("p", { class: "big" }, this.t("buy", { ...display, bands })), make("p", {}, this.t("gives", display))];
  }
}
class Survives extends Lampwright {
  kind = "survives"; path = "circuit-checks";
  names = { volts: "supply_voltage_v", led: "led", count: "series_count", ohms: "resistance_ohm", rows: "branch_count" };
  fields = [["volts", "volts", "V", "9"], ["led", "led", "", "red_5mm", "lamps"], ["count", "count", "", "1", "count"], ["ohms", "ohms", "Ω", "470"], ["rows", "rows", "", "1", "count"]];
  question({ volts, led, count, ohms, rows }) {
    return { supply_voltage_v: number(volts, "V"), strings: [{ led, series_count: whole(count), resistance_ohm: number(ohms || "0", "Ω"), branch_count: whole(rows) }] };
  }
  show(found) {
    const row = this.display(found.strings[0]);
    return [make("p", { class: "big" }, this.t(found.survives ? "yes" : "no")), make("p", {}, this.t("flows", row), ", ", this.t("total", this.display(found)), ".")];
  }
}
class Build extends Lampwright {
  kind = "build"; path = "build-sheets";
  names = { volts: "supply_voltage_v", battery: "battery", cells: "cells_in_series", led: "led", lights: "count", current: "forward_current_ma", run: "run_length_m", hours: "hours_wanted_h" };
  fields = [["led", "led", "", "amber_5mm", "lamps"], ["lights", "lights", "", "6", "count"], ["current", "current", "mA", "8"], ["battery", "battery", "", "", "cells_list"],
    ["cells", "cells", "", "4", "count"], ["volts", "volts", "V", "9"], ["run", "run", "m", "1"], ["hours", "hours", "h", ""]];
  question({ led, lights, current, battery, cells, volts, run, hours }) {
    return {
      title: this.getAttribute("name") || this.t("t_build"),
      supply: battery ? { battery, cells_in_series: whole(cells) } : { supply_voltage_v: number(volts, "V") },
      lights: [{ name: this.form.querySelector("#f-led").selectedOptions[0].text, led, count: whole(lights), forward_current_ma: current ? number(current, "mA") : undefined, run_length_m: run ? number(run, "m") : undefined }],
      usage: hours ? { hours_wanted_h: number(hours, "h") } : undefined,
    };
  }
  show(found, got) {
    const display = this.display(found);
    const wire = found.wires?.[0];
    const size = wire && (this.getAttribute("wires") === "mm2" ? this.figure(`${wire.metric_area_mm2} mm²`) : `${wire.awg} AWG`);
    const facts = [
      display.supply_current && this.t("total", display), found.fuse?.rated_current_ma && this.t("fuse", this.display(found.fuse)), size && this.t("wire", { size }),
      found.runtime?.runtime_h && this.t("lasts", this.display(found.runtime)),
    ].filter(Boolean).join("; ");
    const rows = (found.strings ?? []).map((row) => make("li", {}, this.t("rowline", { row: row.row, count: row.series_count, led: row.light_names?.[0] ?? "", ...this.display(row) }) + (row.branch_count > 1 ? ` (× ${row.branch_count})` : "")));
    const full = make("a", { href: this.home.href, target: "_blank", rel: "noopener" }, this.t("full"));
    pack(this.question(got)).then((kept) => { full.href = new URL(`./#b=${kept}`, this.home).href; });
    return [make("p", { class: "big" }, this.t(found.buildable ? "ok" : "bad")), make("p", {}, facts), make("ul", {}, ...rows),
      make("p", {}, full)];
  }
}
for (const [name, kind] of Object.entries({ resistor: Resistor, survives: Survives, build: Build })) {
  if (!customElements.get(`lampwright-${name}`)) customElements.define(`lampwright-${name}`, kind);
}
