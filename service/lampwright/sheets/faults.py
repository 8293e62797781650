"""The break-it view: each part opened, shorted or turned round, and the circuit solved again.

What one would see follows from the solved currents, not from a list: which rows go dark, which get
dimmer or brighter, and whether anything is pushed past its limit. The fault table is ranked by it.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.build import BreakLine, FaultRow
from lampwright.quantities import show
from lampwright.sheets.bench import Bench, Fault, Row, faults_of, names_of, solve
from lampwright.sheets.wording import listed, rows_words

# How often each is the cause, among builds that do not work at first; judged from what makers report
# (common practice, no source). Only their order matters much: readings outweigh them.
OFTEN = {
    "light_reversed": 8.0,
    "row_open": 8.0,
    "resistor_high": 2.0,
    "resistor_low": 2.0,
    "supply_weak": 8.0,
    "contact_poor": 3.0,
    "supply_dead": 5.0,
    "supply_reversed": 2.0,
    "supply_high": 1.5,
    "fuse_open": 3.0,
    "switch_open": 3.0,
    "main_open": 3.0,
    "rails_short": 2.0,
    "run_open": 4.0,
    "run_poor": 1.5,
    "resistor_open": 2.0,
    "resistor_short": 1.5,
    "light_open": 2.0,
    "light_short": 1.0,
    "none": 1.0,
}

DARK = 0.08  # of the usual current: looks out in a lit room
DIM = 0.75
BRIGHT = 1.25


@dataclass(frozen=True, slots=True)
class Effect:
    """What a fault does: each row's current over its usual one, and whether something burns."""

    fault: Fault
    ratios: tuple[float, ...]
    faulty_ratio: float | None
    lost: float
    burns: bool
    sign: str


def part_of(bench: Bench, fault: Fault) -> str:
    """Return the label of the part a fault is in."""
    kind = fault.kind
    if kind.startswith("light"):
        return names_of(bench, fault.row, fault.light)
    if kind.startswith("resistor"):
        return f"R-{bench.rows[fault.row].first}"
    if kind == "row_open":
        return f"row {bench.rows[fault.row].first}"
    if kind.startswith("run"):
        return fault.run
    return {"fuse_open": "F1", "switch_open": "S1", "main_open": "W0", "contact_poor": "F1 or S1"}.get(
        kind, "plus and minus" if kind == "rails_short" else "supply"
    )


def what_of(bench: Bench, fault: Fault) -> str:
    """Return the cause in words."""
    row = bench.rows[fault.row].first if fault.row >= 0 else ""
    light = names_of(bench, fault.row, fault.light) if fault.light >= 0 else ""
    return {
        "none": "nothing is wrong at the points measured",
        "light_reversed": f"light {light} is the wrong way round",
        "light_open": f"light {light} is broken or not joined",
        "light_short": f"light {light} is shorted",
        "row_open": f"a joint or wire in row {row} is open",
        "resistor_open": f"resistor R-{row} is broken or not joined",
        "resistor_short": f"resistor R-{row} is bridged",
        "resistor_high": f"resistor R-{row} is far too high (a wrong multiplier band)",
        "resistor_low": f"resistor R-{row} is far too low (a wrong multiplier band)",
        "run_open": f"wire {fault.run} or its joint is open",
        "run_poor": f"wire {fault.run} has a poor joint or is too thin",
        "supply_dead": "the supply is dead, or a contact in the holder is open"
        if bench.supply.battery
        else "the supply is dead or not plugged in",
        "supply_weak": "the battery is weak or cold"
        if bench.supply.battery
        else "the supply gives too little",
        "supply_high": "the supply gives too much: wrong pack, or a charger is on"
        if bench.supply.battery
        else "the supply gives too much: wrong adapter",
        "supply_reversed": "the supply is connected the wrong way round",
        "fuse_open": "fuse F1 is blown or loose",
        "switch_open": "switch S1 or the plus wire before it is open",
        "main_open": "wire W0 is broken, plus or minus",
        "contact_poor": "a poor contact in fuse holder, switch or battery",
        "rails_short": "plus and minus touch somewhere: fuse F1 has blown"
        if bench.fuse_rated_current
        else "plus and minus touch somewhere",
    }[fault.kind]


def fix_of(bench: Bench, fault: Fault) -> str:
    """Return the cure in words, one action a sentence."""
    row = bench.rows[fault.row].first if fault.row >= 0 else ""
    light = names_of(bench, fault.row, fault.light) if fault.light >= 0 else ""
    walk = f"Walk along row {row} with the meter, across one light after the other"
    return {
        "none": "Measure the points that are left, with the lights on.",
        "light_reversed": f"Switch off. Turn {light} round: long leg towards plus.",
        "light_open": f"Switch off. Solder {light} again; still dark: fit a new one.",
        "light_short": f"Switch off. Look for solder across {light}; none: fit a new one.",
        "row_open": f"{walk}; find the joint that moves, and solder it again.",
        "resistor_open": f"Switch off. Solder R-{row} again, or fit a new one.",
        "resistor_short": f"Switch off at once: row {row} gets too much. Free R-{row} from what bridges it.",
        "resistor_high": f"Switch off. Read the bands of R-{row} and fit the value on the sheet.",
        "resistor_low": f"Switch off at once: row {row} gets too much. Fit R-{row} as on the sheet.",
        "run_open": f"Switch off. Check both ends of {fault.run}, then the wire between them.",
        "run_poor": f"Switch off. Solder both ends of {fault.run} again.",
        "supply_dead": "Clean the holder's contacts and fit fresh cells."
        if bench.supply.battery
        else "Check the socket and the plug, then try another supply of the same volts.",
        "supply_weak": "Fit fresh cells, all from one pack."
        if bench.supply.battery
        else "Check the printed volts and mA against the sheet; fit the right supply.",
        "supply_high": "Switch off at once. Fit the supply named on the sheet.",
        "supply_reversed": "Switch off. Swap plus and minus at the supply.",
        "fuse_open": "Look for a short first, then fit a fuse of the same value. Never bridge it.",
        "switch_open": "Switch off. Check the solder tags of S1 and the plus wire before it.",
        "main_open": "Switch off. Check W0 from end to end, plus and minus.",
        "contact_poor": "Clean the contacts of holder, fuse and switch; solder loose tags again.",
        "rails_short": "Switch off. Find bare joints that touch; sleeve them. Only then fit a new fuse."
        if bench.fuse_rated_current
        else "Switch off at once and unplug. Find bare joints that touch; sleeve them.",
    }[fault.kind]


def effect_of(bench: Bench, fault: Fault, usual: tuple[float, ...] | None = None) -> Effect:
    """Return what a fault does to every row, at expected parts and the supply as it is at the bench."""
    base = usual if usual is not None else solve(bench).currents
    state = solve(bench, "expected", fault)
    ratios = tuple(
        current / before if before > 0 else 0.0 for current, before in zip(state.currents, base, strict=True)
    )
    faulty = None
    if fault.row >= 0:
        faulty = state.faulty / base[fault.row] if base[fault.row] > 0 else 0.0
    lights = sum(row.count * len(row.leds) for row in bench.rows)
    lost = 0.0
    for place, row in enumerate(bench.rows):
        rest = row.count - (1 if place == fault.row else 0)
        lost += rest * len(row.leds) * max(0.0, 1 - ratios[place])
        if place == fault.row and faulty is not None:
            out = len(row.leds) * max(0.0, 1 - faulty)
            lost += max(out, 1.0) if fault.kind == "light_short" else out
    burns = _burns(bench, fault)
    if burns and fault.row >= 0:  # what burns out gives no light either
        lost = max(lost, float(len(bench.rows[fault.row].leds)))
    sign = _sign(bench, fault, ratios, faulty)
    return Effect(fault, ratios, faulty, lost / lights if lights else 0.0, burns, sign)


def _burns(bench: Bench, fault: Fault) -> bool:
    """Return whether any light or resistor is past its limit, at the corner of most current."""
    if fault.kind == "rails_short":
        return True
    state = solve(bench, "high", fault)
    for place, row in enumerate(bench.rows):
        current = max(state.currents[place] if row.count > 1 or place != fault.row else 0.0, 0.0)
        if place == fault.row:
            current = max(current, state.faulty)
        if _overloaded(row, current, fault if place == fault.row else None):
            return True
    return False


def _overloaded(row: Row, current: float, fault: Fault | None) -> bool:
    kept = [
        led
        for at, led in enumerate(row.leds)
        if fault is None or fault.kind != "light_short" or at != fault.light
    ]
    if any(current > led.max_forward_current * 1.0001 for led in kept):
        return True
    resistance = row.resistance
    if fault is not None and fault.kind in ("resistor_low", "resistor_short"):
        resistance *= 0.1 if fault.kind == "resistor_low" else 0.0
    return bool(row.rated_dissipation) and current * current * resistance > (row.rated_dissipation or 0.0)


def _sign(bench: Bench, fault: Fault, ratios: tuple[float, ...], faulty: float | None) -> str:
    """Return the sign one sees, from the solved currents."""
    if fault.kind == "none":
        return ""
    if fault.kind == "rails_short":
        return "fuse_at_once" if bench.fuse_rated_current else "supply_hot"
    others = [
        ratio for place, ratio in enumerate(ratios) if place != fault.row or bench.rows[place].count > 1
    ]
    if fault.row < 0:
        if all(ratio < DARK for ratio in ratios):
            return "nothing_lights"
        if any(ratio < DARK for ratio in ratios):
            return "kind_out"
        if all(ratio < DIM for ratio in ratios):
            return "all_dim"
        if any(ratio < DIM for ratio in ratios):
            return "all_dim" if fault.kind in ("supply_weak", "contact_poor") else "row_dim"
        if any(ratio > BRIGHT for ratio in ratios):
            return "all_bright"
        return "all_dim" if min(ratios, default=1.0) < 1 else "all_bright"
    if fault.kind == "light_short" and len(bench.rows[fault.row].leds) > 1:
        return "light_out"
    if faulty is not None and faulty < DARK:
        return "row_out" if others else "nothing_lights"
    if faulty is not None and faulty < DIM:
        return "row_dim"
    return "row_bright"


def shows(bench: Bench, effect: Effect) -> str:
    """Return what one sees, in a sentence."""
    fault = effect.fault
    if fault.kind == "rails_short":
        return (
            "The fuse blows at once." if bench.fuse_rated_current else "The supply is shorted and gets hot."
        )
    if effect.sign == "nothing_lights":
        return "Nothing lights."
    if fault.row >= 0:
        row = bench.rows[fault.row]
        if effect.sign == "row_out":
            return f"Row {row.first} is dark, the others stay on."
        text = {
            "light_out": f"{names_of(bench, fault.row, fault.light)} is dark, the rest of the row brighter",
            "row_dim": f"Row {row.first} is dim",
            "row_bright": f"Row {row.first} is too bright",
        }[effect.sign]
        usual = solve(bench).currents[fault.row]
        now = (effect.faulty_ratio or 0.0) * usual
        over = "; that is too much and burns it out" if effect.burns else ""
        return f"{text}: {show(now, 'ma')} in place of {show(usual, 'ma')}{over}."
    dark = [rows_words(row.row) for row, ratio in zip(bench.rows, effect.ratios, strict=True) if ratio < DARK]
    if dark:
        text = listed(dark)
        return f"{text[:1].upper() + text[1:]} dark, the others stay on."
    over = " Something burns out." if effect.burns else ""
    least, most = min(effect.ratios, default=1.0), max(effect.ratios, default=1.0)
    if effect.sign in ("all_dim", "row_dim"):
        return f"Lights are dimmer, down to {100 * least:.0f} % of their current.{over}"
    return f"Lights are brighter, up to {100 * most:.0f} % of their current.{over}"


ROWS_TRIED = 12  # a build of more rows is tried in those that take most current


def effects(bench: Bench, *, every_light: bool = False) -> tuple[Effect, ...]:
    """Return the effect of every single fault; of many rows only the strongest are tried."""
    usual = solve(bench).currents
    strongest = sorted(range(len(bench.rows)), key=lambda place: -usual[place])[:ROWS_TRIED]
    tried = set(strongest)
    return tuple(
        effect_of(bench, fault, usual)
        for fault in faults_of(bench, every_light=every_light)
        if fault.row < 0 or fault.row in tried
    )


_WORD = {
    "open": "open",
    "short": "shorted",
    "reversed": "wrong way round",
    "high": "too high",
    "low": "too low",
}


def break_it(bench: Bench, found: tuple[Effect, ...]) -> tuple[BreakLine, ...]:
    """Return the break-it view, weakest points first: what burns, then how much light is lost."""
    lines = []
    for effect in found:
        kind = effect.fault.kind
        word = (
            "poor contact"
            if kind.endswith("poor")
            else _WORD.get(kind.rpartition("_")[2], kind.rpartition("_")[2])
        )
        dark = tuple(
            row.row
            for place, (row, ratio) in enumerate(zip(bench.rows, effect.ratios, strict=True))
            if ratio < DARK and (row.count > 1 or place != effect.fault.row)
        )
        if effect.faulty_ratio is not None and effect.faulty_ratio < DARK:
            dark = (bench.rows[effect.fault.row].first, *dark)
        lines.append(
            BreakLine(
                part=part_of(bench, effect.fault),
                fault=word,
                shows=shows(bench, effect),
                dark=dark,
                share_lost=min(max(effect.lost, 0.0), 1.0),
                burns=effect.burns,
            )
        )
    return tuple(sorted(lines, key=lambda line: (not line.burns, -line.share_lost)))


# sign: (what one sees, what to look at first, which reading to take)
_SIGNS = {
    "nothing_lights": (
        "Nothing lights",
        "switch, plug, battery way round",
        "supply_on, then after_switch",
    ),
    "row_out": (
        "One row is out",
        "loose joints; flat sides towards minus",
        "resistor of that row",
    ),
    "kind_out": ("All of one kind are out", "both ends of their wire", "where the farthest row begins"),
    "light_out": (
        "One light out, its row on",
        "solder bridging its legs",
        "across that light",
    ),
    "row_dim": ("One row is dim", "the bands of its resistor", "resistor of that row"),
    "row_bright": (
        "One row too bright: off",
        "the bands of its resistor; solder bridges",
        "resistor of that row",
    ),
    "all_dim": ("All are dim", "age and cold of the battery; contacts", "supply_off, then supply_on"),
    "all_bright": ("All too bright: off", "the label of the supply", "supply_off"),
    "fuse_at_once": ("The fuse blows at once", "bare joints that touch", "none: unplug first"),
    "supply_hot": ("Supply hot at once: unplug", "bare joints that touch", "none: unplug first"),
}


def fault_table(bench: Bench, found: tuple[Effect, ...]) -> tuple[FaultRow, ...]:
    """Return the fault table: signs with their causes, likeliest first, from the re-solved faults."""
    grouped: dict[str, dict[str, tuple[float, str, str]]] = {}
    for effect in found:
        if not effect.sign:
            continue
        what, fix = _class_words(bench, effect.fault)
        causes = grouped.setdefault(effect.sign, {})
        weight = OFTEN[effect.fault.kind] + (causes[what][0] if what in causes else 0.0)
        causes[what] = (weight, what, fix)
    lines = []
    for sign, (seen, first, check) in _SIGNS.items():
        ranked = sorted(grouped.get(sign, {}).values(), key=lambda cause: -cause[0])[:4]
        if not ranked:
            continue
        if sign == "all_dim" and not bench.supply.battery:
            first = "the label of the supply; contacts"
        lines.append(FaultRow(sign, seen, first, check, tuple(cause[1] for cause in ranked), ranked[0][2]))
    return (*lines, *_other_signs(bench))


def _class_words(bench: Bench, fault: Fault) -> tuple[str, str]:
    """Return cause and cure without naming one row: the table is for all of them."""
    generic = {
        "light_reversed": ("a light is the wrong way round", "Turn it round: long leg towards plus."),
        "light_open": ("a light is broken or not joined", "Solder it again or fit a new one."),
        "light_short": ("its legs are bridged, or it is worn out", "Clear the bridge or fit a new one."),
        "row_open": (
            "a joint or wire in the row is open",
            "Walk along the row with the meter; solder the joint again.",
        ),
        "resistor_open": ("its resistor is not joined", "Solder it again."),
        "resistor_short": ("its resistor is bridged", "Clear the bridge before switching on again."),
        "resistor_high": ("its resistor is too high", "Fit the value on the sheet."),
        "resistor_low": ("its resistor is too low", "Fit the value on the sheet before switching on again."),
        "run_open": ("the wire to it is open", "Check both ends of the wire."),
        "run_poor": ("the wire to it has a poor joint", "Solder both ends again."),
    }
    if fault.kind in generic:
        return generic[fault.kind]
    return what_of(bench, fault), fix_of(bench, fault)


def _other_signs(bench: Bench) -> tuple[FaultRow, ...]:
    """Return the signs that no steady solution shows: what comes and goes, and what is felt."""
    found = [
        FaultRow(
            "flickers",
            "Flickers when moved",
            "joints near the bend; battery contacts",
            "after_switch while you move it",
            ("a joint is cracked inside its sleeve", "battery contact is loose", "plug is worn"),
            "Solder the joint again, and tie the wire down beside it.",
        )
    ]
    if bench.supply.battery:
        found.append(
            FaultRow(
                "fades_early",
                "Bright when fresh, dark too soon",
                "kind and age of the cells; cold",
                "supply_on when it is dim",
                ("used or mixed cells", "cold battery", "another kind of cell than on the sheet"),
                "Fit a fresh set of the kind on the sheet; keep the pack warm.",
            )
        )
    if "power_bank" in bench.supply.battery:
        found.append(
            FaultRow(
                "bank_sleeps",
                "Dark after seconds on a bank",
                "the bank's own light",
                "total_current",
                ("the load is too small to keep the bank awake",),
                "Use a bank with an always-on setting, or a plain battery.",
            )
        )
    found += [
        FaultRow(
            "fuse_later",
            "The fuse blows after minutes",
            "value of the fuse; warm joints",
            "total_current",
            (
                "too much current: a row shorted or added",
                "fuse of a smaller value",
                "a joint that heats the fuse",
            ),
            "Find the row that draws too much. Never fit a bigger fuse.",
        ),
        FaultRow(
            "supply_warm",
            "Supply warm, swollen, smells",
            "take it off, switch off, unplug",
            "none: leave it alone outdoors",
            ("a short", "a damaged cell"),
            "Do not use it again. Look for the short before another one is fitted.",
        ),
    ]
    return tuple(found)
