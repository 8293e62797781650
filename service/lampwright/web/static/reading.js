// What people type, as the service takes it. Whatever is not sure to mean one thing goes on as it was typed:
// the service reads it, or refuses it with a hint.

const BANDS = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"];
const ALIKE = { gray: "grey", purple: "violet" };
const TOLERANCE = { 3: [], 4: ["gold", "silver"], 5: ["brown", "red", "green", "gold", "silver"] };

// "20" is a number; "1,5" is sent with its unit, so that the service reads the comma; "1:30" is hours and minutes.
function quantity(typed, unit) {
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(typed)) return Number(typed);
  if (/^[+-]?\d+,\d+$/.test(typed) && unit) return `${typed} ${unit}`;
  const clock = unit === "h" && /^(\d{1,3})[:h]([0-5]\d)$/.exec(typed);
  return clock ? `${Number(clock[1]) * 60 + Number(clock[2])} min` : typed;
}

// "12", "12x", "12 pcs"
function count(typed) {
  const found = /^(\d+)\s*(x|×|pcs\.?|pieces|lights?|leds?|off)?$/i.exec(typed);
  return found ? Number(found[1]) : typed;
}

// "red red brown" is 220 ohm (IEC 60062): digits, a power of ten, and with four bands or more a tolerance.
function bands(typed) {
  const colours = typed.toLowerCase().split(/[\s/–-]+/).filter(Boolean).map((one) => ALIKE[one] ?? one);
  if (!TOLERANCE[colours.length] || (colours.length > 3 && !TOLERANCE[colours.length].includes(colours.at(-1)))) return null;
  if (colours.length > 3) colours.pop();
  const last = colours.pop();
  const power = { silver: -2, gold: -1 }[last] ?? BANDS.indexOf(last);
  const digits = colours.map((one) => BANDS.indexOf(one));
  if (digits.includes(-1) || (power === -1 && last !== "gold")) return null;
  return Number(`${digits.join("")}e${power}`);
}

// "100, 220; 4k7", "100,220,330", "100 ohm, 4.7 kΩ", "red red brown"
function list(typed, unit) {
  const joined = typed.replace(/(\d)\s+(?=([kKM]?\s?(Ω|ohms?\b)|[kKMR]\b))/gi, "$1").replace(/([kKM])\s+(?=Ω|ohms?\b)/gi, "$1");
  return joined.split(/[;\n]|,\s+|\band\b/).map((one) => one.trim()).filter(Boolean).flatMap((one) => {
    const read = bands(one);
    if (read !== null) return [read];
    const parts = /^[1-9]\d*(,[1-9]\d*){2,}$/.test(one) ? one.split(",") : one.split(/\s+/);
    return parts.map((part) => quantity(part, unit));
  });
}

// "22, 26", "AWG 22", "0.25 mm²": of a metric size the gauge that is no thicker.
function wires(typed, control) {
  const sizes = (control?.dataset.sizes ?? "").split(" ").map((one) => one.split(":").map(Number));
  const joined = typed.replace(/(\d)\s*(mm\s?(²|\^?2)|sq\.?\s?mm)/gi, "$1mm²").replace(/\b0,(\d)/g, "0.$1").replace(/(\d),(\d+mm²)/g, "$1.$2");
  return joined.split(/[;,\s]+/).filter((one) => one && !/^awg$/i.test(one)).map((one) => {
    const plain = one.replace(/^awg|awg$/i, "");
    if (/^\d+$/.test(plain)) return Number(plain);
    const area = /^(\d*\.?\d+)(mm²)?$/.exec(plain);
    return (area && sizes.find(([, copper]) => copper <= Number(area[1]) * 1.01)?.[0]) ?? one;
  });
}

// "9:05", "10.30", "7 pm" as 09:05, 10:30, 19:00
function clock(typed) {
  const found = /^(\d{1,2})(?:[:.h]?([0-5]\d))?\s*(?:([ap])\.?m\.?)?$/i.exec(typed);
  if (!found || !(found[2] || found[3])) return typed;
  const half = found[3]?.toLowerCase();
  if (half && (found[1] < 1 || found[1] > 12)) return typed;
  const hour = half ? (Number(found[1]) % 12) + (half === "p" ? 12 : 0) : Number(found[1]);
  return hour < 24 ? `${String(hour).padStart(2, "0")}:${found[2] ?? "00"}` : typed;
}

const READ = {
  quantity: (typed, control) => quantity(typed, control.dataset.unit),
  list: (typed, control) => list(typed, control.dataset.unit),
  count, wires, clock,
  word: (typed) => typed,
  yes: () => true,
};
export const read = (typed, control) => READ[control.dataset.kind](typed, control);

// What was understood, in words, where that is not plainly what was typed.
export function understood(typed, control) {
  const value = read(typed, control);
  const unit = { list: "Ω", wires: "AWG" }[control.dataset.kind];
  if (unit && value.every(Number.isFinite)) {
    return value.join(" ") === typed.split(/[;,\s]+/).filter(Boolean).join(" ") ? "" : `read as ${value.map((one) => `${one} ${unit}`).join(", ")}`;
  }
  const minutes = /^(\d+) min$/.exec(value);
  const words = minutes && minutes[1] > 60 ? `${Math.floor(minutes[1] / 60)} h ${minutes[1] % 60} min` : value;
  return !unit && typeof value === "string" && value !== typed && !/,/.test(typed) ? `read as ${words}` : "";
}
