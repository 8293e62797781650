// A build inside a link: short names, deflated, in the fragment, which no browser sends to a server.

const SHORT = {
  title: "t", supply: "s", lights: "l", name: "n", led: "k", count: "c", forward_current_ma: "i",
  run_length_m: "w", dim_to_pct: "d", battery: "b", cells_in_series: "x", packs_in_parallel: "y",
  capacity_mah: "q", supply_voltage_v: "v", supply_voltage_min_v: "m", supply_voltage_max_v: "M",
  source_resistance_ohm: "r", current_limit_ma: "I", resistors: "R", e_series: "e", tolerance_pct: "T",
  rated_dissipation_w: "p", on_hand_ohm: "h", wire: "W", on_hand_awg: "a", max_drop_pct: "D",
  flexing: "f", bundled_count: "B", insulation: "j", usage: "u", hours_wanted_h: "H", duty_pct: "g",
  hours_per_day_h: "z", air_travel: "A", mix_colours: "X", ambient_temperature_degc: "C",
  worn: "O", enclosed: "F", flash_rate_hz: "P", start_clock: "S", fuse: "U", style: "Y", forward_voltage_v: "V", rated_current_ma: "E", colour: "o",
};
const LONG = Object.fromEntries(Object.entries(SHORT).map(([long, short]) => [short, long]));
const LIMIT = 20000; // characters of an unpacked build; more is no build

function rename(value, names) {
  if (Array.isArray(value)) return value.map((one) => rename(one, names));
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [names[name] ?? name, rename(inner, names)]));
}
const through = (bytes, stream) => new Response(new Blob([bytes]).stream().pipeThrough(stream));

export async function pack(build) {
  const text = JSON.stringify(rename(build, SHORT));
  const bytes = new Uint8Array(await through(text, new CompressionStream("deflate-raw")).arrayBuffer());
  return btoa(String.fromCharCode(...bytes)).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}
export async function unpack(packed) {
  const bytes = Uint8Array.from(atob(packed.replaceAll("-", "+").replaceAll("_", "/")), (c) => c.charCodeAt(0));
  const reader = through(bytes, new DecompressionStream("deflate-raw")).body.getReader();
  const decoder = new TextDecoder();
  let text = "";
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    text += decoder.decode(value, { stream: true });
    if (text.length > LIMIT) throw new Error("too long");
  }
  const build = rename(JSON.parse(text), LONG);
  if (!build || typeof build !== "object" || !Array.isArray(build.lights)) throw new Error("no build");
  return build;
}
