// Three views beside the sheet: remedies as buttons, the lights as the battery fades, other wirings.
const SVG = "http://www.w3.org/2000/svg";
const $ = (id) => document.getElementById(id);

function make(name, attributes = {}, ...inside) {
  const svg = ["svg", "g", "circle", "rect", "path", "text", "title"].includes(name);
  const part = svg ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, value);
  part.append(...inside);
  return part;
}
const digits = (number) => (number === null || number === undefined ? "–" : String(Number(number.toPrecision(3))));
const letter = (index) => String.fromCharCode(65 + (index % 26));
const LOOKS = [
  ["warm", "warm"], ["yellow_green", "green"], ["yellow-green", "green"], ["red", "red"], ["orange", "amber"], ["amber", "amber"],
  ["yellow", "amber"], ["green", "green"], ["blue", "blue"], ["violet", "blue"], ["white", "white"],
];
function look(led) {
  const words = typeof led === "string" ? led : `${led?.colour ?? ""} ${led?.name ?? ""} ${led?.led ?? ""}`;
  const plain = words.toLowerCase().replace(/pre-?wired|infrared/g, "");
  return LOOKS.find(([word]) => plain.includes(word))?.[1] ?? "white";
}

export function showRemedies(findings, apply) {
  const box = $("remedies");
  const useful = findings.filter((one) => one.suggestion && Object.keys(one.suggestion).length && one.remedy);
  const lines = useful.map((one) => {
    const button = make("button", { type: "button", class: "quiet" }, "Change it");
    button.addEventListener("click", () => {
      if (!apply(one.suggestion, one.field ?? "")) button.replaceWith("change it in the form above");
    });
    return make("li", {}, `${one.remedy} `, button);
  });
  box.replaceChildren(make("h2", {}, "What would help"), make("ul", {}, ...lines));
  box.hidden = !lines.length;
}

// ---- the battery's age
export function showFade(sheet) {
  const curve = sheet.runtime?.curve;
  const works = curve?.time_h?.length > 1 && curve.brightness_pct && sheet.strings?.length;
  $("fade").hidden = $("to-fade").hidden = !works;
  if (!works) return;
  const slider = $("age");
  const fraction = Number(slider.value) / Number(slider.max || 1);
  const last = curve.time_h.length - 1;
  slider.max = 200;
  slider.value = Math.round(fraction * 200);
  const lamps = [];
  const rows = sheet.strings.slice(0, 12).map((string, index) => {
    const once = string.leds ?? [];
    const leds = Array.from({ length: once.length * (string.branch_count ?? 1) }, (_, place) => once[place % once.length]);
    const dots = leds.slice(0, 24).map((led) => {
      const dot = make("span", { class: `lamp ${look(led)}` });
      lamps.push(dot);
      return dot;
    });
    const times = string.branch_count > 1 ? ` × ${string.branch_count}` : "";
    const names = [...new Set(string.light_names ?? [])].join(", ");
    return make("li", {}, make("span", { class: "row-name" }, `${string.row ?? letter(index)}${times} ${names}`), ...dots);
  });
  $("age-lights").replaceChildren(make("ul", { class: "lamp-rows", "aria-hidden": "true" }, ...rows));
  const at = (values, place) => {
    const before = Math.min(Math.floor(place), last - 1);
    return values[before] + (values[before + 1] - values[before]) * (place - before);
  };
  const show = () => {
    const hours = (Number(slider.value) / 200) * curve.time_h[last];
    let after = curve.time_h.findIndex((time) => time >= hours);
    if (after < 1) after = 1;
    const step = curve.time_h[after] - curve.time_h[after - 1] || 1;
    const place = after - 1 + Math.min(1, Math.max(0, (hours - curve.time_h[after - 1]) / step));
    const light = Math.max(0, at(curve.brightness_pct, place));
    const start = curve.brightness_pct[0] || 100;
    const seen = (light / 100) ** 0.45; // what half the light looks like: common practice, no source
    for (const lamp of lamps) lamp.style.setProperty("--lit", Math.min(1, seen).toFixed(3));
    const whole = (part) => Math.round(100 * part);
    const words = `After ${Number(hours.toPrecision(2))} h: battery ${digits(at(curve.voltage_v, place))} V, `
      + `${digits(at(curve.current_ma, place))} mA. The lights give ${whole(light / start)} % of their fresh light`
      + ` and look about ${whole((light / start) ** 0.45)} % as bright.`;
    $("age-says").textContent = words;
    slider.setAttribute("aria-valuetext", words);
  };
  slider.oninput = show;
  show();
}

// ---- the comparison: every way drawn as rows, with bars for current and waste
const MOST = 8; // rows drawn of one way, and lights drawn of one row
function nameOf(led) {
  if (typeof led !== "string") return led?.colour?.replaceAll("_", " ") ?? "of your own";
  return [...$("f-lights-0-led").options].find((one) => one.value === led)?.text.replace(/, 5 mm$/, "").toLowerCase() ?? led;
}
function inWords(row) {
  const names = (row.leds ?? []).map(nameOf);
  const lights = [...new Set(names)].map((name) => `${names.filter((one) => one === name).length} ${name}`).join(", ");
  return `${row.branch_count} ${row.branch_count === 1 ? "row" : "rows"} of ${lights}${row.resistance_ohm ? `, ${row.display.resistance}` : ""}`;
}
function drawn(strings) {
  const lines = strings.slice(0, MOST).map((row) => {
    const leds = (row.leds ?? []).slice(0, MOST);
    const width = 52 + leds.length * 22;
    const cut = row.leds.length > MOST ? `… ${row.leds.length}` : "";
    return make("li", {}, inWords(row),
      make("svg", { viewBox: `0 0 ${width + 40} 22`, width: width + 40, height: 22, class: "rows", "aria-hidden": "true" },
        make("path", { d: `M4 11H${width}`, class: "wire" }),
        ...(row.resistance_ohm ? [make("rect", { x: 12, y: 6, width: 18, height: 10, class: "part" })] : []),
        ...leds.map((led, place) => make("circle", { cx: 48 + place * 22, cy: 11, r: 8, class: `lamp-dot ${look(led)}` })),
        make("text", { x: width + 4, y: 15, class: "mark" }, cut)));
  });
  if (strings.length > MOST) lines.push(make("li", {}, `and ${strings.length - MOST} more`));
  return make("ul", { class: "drawn" }, ...lines);
}
function bar(label, value, most, text, part = null) {
  const share = most > 0 ? Math.max(1, (value / most) * 100) : 0;
  const track = make("svg", { viewBox: "0 0 100 6", class: "bar", preserveAspectRatio: "none", "aria-hidden": "true" },
    make("rect", { x: 0, y: 0, width: 100, height: 6, class: "track" }),
    make("rect", { x: 0, y: 0, width: share, height: 6, class: part ? "used waste" : "used" }));
  return make("div", { class: "measure" }, make("span", {}, label), track, make("b", {}, text ?? "–"));
}
const KIND = { series: "All in one row", parallel: "Each light on its own", series_parallel: "Several rows" };

export function showComparison(answer) {
  const ways = answer?.arrangements ?? [];
  $("compare").hidden = $("to-compare").hidden = !ways.length;
  if (!ways.length) return;
  const current = Math.max(...ways.map((one) => one.supply_current_ma ?? 0));
  const waste = Math.max(...ways.map((one) => one.wasted_power_w ?? 0));
  $("compare-why").textContent = answer.reason ?? "";
  $("compare-list").replaceChildren(...ways.map((one, index) => {
    const best = index === answer.recommended;
    const stop = (one.findings ?? []).find((finding) => finding.severity === "stop");
    const facts = [
      `${one.resistor_count} ${one.resistor_count === 1 ? "resistor" : "resistors"}, ${one.joint_count} joints`,
      one.display?.lowest_lit_voltage && `at least half lit down to ${one.display.lowest_lit_voltage}`,
      one.if_one_opens && `If a light fails open: ${one.if_one_opens}`,
    ].filter(Boolean).map((words) => make("li", {}, words));
    const care = (one.findings ?? []).find((finding) => finding.severity === "caution");
    if (care && !stop) facts.unshift(make("li", {}, make("b", {}, "Take care: "), care.message));
    if (stop) facts.unshift(make("li", { class: "way-stop" }, make("b", {}, "STOP "), stop.message));
    return make("article", { class: best ? "way best" : "way" },
      make("h3", {}, KIND[one.kind] ?? one.kind, ...(best ? [" ", make("span", { class: "pick" }, "recommended")] : [])),
      drawn(one.strings ?? []),
      bar("Current", one.supply_current_ma, current, one.display?.supply_current),
      bar("Lost as heat", one.wasted_power_w, waste, one.display?.wasted_power, true),
      make("ul", {}, ...facts));
  }));
}
