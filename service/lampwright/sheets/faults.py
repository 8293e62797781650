"""The break-it view: each part opened, shorted or turned round, and the circuit solved again.

What one would see follows from the solved currents, not from a list: which rows go dark, which get
dimmer or brighter, and whether anything is pushed past its limit. The fault table is ranked by it.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.build import BreakLine, FaultRow
from lampwright.quantities import three_digits
from lampwright.records import quickly_made
from lampwright.sheets.bench import (
    Bench,
    Fault,
    Row,
    fades,
    fault_volts,
    faults_of,
    least_current,
    most_current,
    names_of,
    shorts,
    solve,
)
from lampwright.sheets.fault_words import any_row, bank, part_of, rechargeable
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
    "holder_poor": 2.0,
    "fuse_open": 3.0,
    "lead_open": 3.0,
    "switch_open": 3.0,
    "main_open": 3.0,
    "main_poor": 1.5,
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


@quickly_made
@dataclass(frozen=True, slots=True)
class Effect:
    """What a fault does: each row's current over its usual one, and whether something burns."""

    fault: Fault
    ratios: tuple[float, ...]
    faulty_ratio: float | None
    lost: float
    burns: bool
    sign: str


def effect_of(bench: Bench, fault: Fault, usual: tuple[float, ...] | None = None) -> Effect:
    """Return what a fault does to every row, at expected parts and the supply as it is at the bench."""
    base = usual if usual is not None else solve(bench).currents
    state = solve(bench, "expected", fault)
    ratios = tuple(
        [
            current / before if before > 0 else 0.0
            for current, before in zip(state.currents, base, strict=True)
        ]
    )
    faulty = None
    if fault.row >= 0:
        faulty = state.faulty / base[fault.row] if base[fault.row] > 0 else 0.0
    lights, lost = 0, 0.0
    for place, row in enumerate(bench.rows):
        each = len(row.leds)
        lights += row.count * each
        rest = row.count - (1 if place == fault.row else 0)
        lost += rest * each * max(0.0, 1 - ratios[place])
        if place == fault.row and faulty is not None:
            out = each * max(0.0, 1 - faulty)
            lost += max(out, 1.0) if fault.kind == "light_short" else out
    over = burns(bench, fault)
    if over and fault.row >= 0:  # what burns out gives no light either
        lost = max(lost, float(len(bench.rows[fault.row].leds)))
    sign = _sign(bench, fault, ratios, faulty)
    return Effect(fault, ratios, faulty, lost / lights if lights else 0.0, over, sign)


def burns(bench: Bench, fault: Fault) -> bool:
    """Return whether any light or resistor is past its limit, at the corner of most current."""
    found = bench.burning.get(fault)
    if found is None:
        shorted = shorts(bench, fault)
        found = bench.burning[fault] = not bench.tame if shorted else _overloads(bench, fault)
    return found


def _surely_within(bench: Bench, fault: Fault) -> bool:
    """Return whether no row could pass its limits even alone on the supply: then nothing need be solved."""
    if fault_volts(bench, "high", fault) > bench.volts["high"]:
        return False
    for place, row in enumerate(bench.rows):
        if place == fault.row and overloaded(row, most_current(bench, place, fault), fault):
            return False
        if place == fault.row and row.count == 1:
            continue
        if overloaded(row, most_current(bench, place), None):
            return False
    return True


def _overloads(bench: Bench, fault: Fault) -> bool:
    if _surely_within(bench, fault):
        return False
    if fault.row >= 0 and overloaded(bench.rows[fault.row], least_current(bench, fault), fault):
        return True
    state = solve(bench, "high", fault)
    for place, row in enumerate(bench.rows):
        current = max(state.currents[place] if row.count > 1 or place != fault.row else 0.0, 0.0)
        if place == fault.row:
            current = max(current, state.faulty)
        if overloaded(row, current, fault if place == fault.row else None):
            return True
    return False


def overloaded(row: Row, current: float, fault: Fault | None) -> bool:
    """Return whether a row's current is too much for a light or for its resistor."""
    shorted = fault.light if fault is not None and fault.kind == "light_short" else -1
    for at, led in enumerate(row.leds):
        if current > led.max_forward_current * 1.0001 and at != shorted:
            return True
    resistance = row.resistance
    if fault is not None and fault.kind in ("resistor_low", "resistor_short"):
        resistance *= 0.1 if fault.kind == "resistor_low" else 0.0
    return bool(row.rated_dissipation) and current * current * resistance > (row.rated_dissipation or 0.0)


def _sign(bench: Bench, fault: Fault, ratios: tuple[float, ...], faulty: float | None) -> str:
    """Return the sign one sees, from the solved currents."""
    if fault.kind == "none":
        return ""
    if shorts(bench, fault):
        return "fuse_at_once" if bench.blows else "supply_hot"
    if fault.row < 0:
        least, most = min(ratios, default=0.0), max(ratios, default=0.0)
        if most < DARK:
            return "nothing_lights"
        if least < DARK:
            return "kind_out"
        if most < DIM:
            return "all_dim"
        if least < DIM:
            return "row_dim" if fault.run else "all_dim"
        if most > BRIGHT:
            return "all_bright"
        return "all_dim" if least < 1 else "all_bright"
    if fault.kind == "light_short":
        if len(bench.rows[fault.row].leds) > 1:
            return "light_out"
        faulty = 0.0  # its only light is dark, whatever flows past it
    if faulty is not None and faulty < DARK:
        others = len(bench.rows) > 1 or bench.rows[fault.row].count > 1
        return "row_out" if others else "nothing_lights"
    if faulty is not None and faulty < DIM:
        return "row_dim"
    return "row_bright"


def milliamps(current: float) -> str:
    """Return a current in mA with two useful digits: one unit down a column, as on the meter.

    >>> milliamps(0.000603), milliamps(0.00487), milliamps(0.0818)
    ('0.6 mA', '4.9 mA', '82 mA')
    """
    return f"{three_digits(float(f'{1e3 * current:.2g}'))} mA"


def shows(bench: Bench, effect: Effect) -> str:
    """Return what one sees, in a sentence."""
    fault = effect.fault
    if shorts(bench, fault):
        return "The fuse blows at once." if bench.blows else "Nothing lights: the supply is shorted."
    if effect.sign == "nothing_lights":
        return "Nothing lights."
    if fault.row >= 0:
        row = bench.rows[fault.row]
        if effect.sign == "row_out":
            if fault.kind == "light_short":
                carries = milliamps((effect.faulty_ratio or 0.0) * solve(bench).currents[fault.row])
                over = ", too much for it" if effect.burns else ""
                return f"Row {row.first} is dark, its resistor carries {carries}{over}."
            return f"Row {row.first} is dark, the others stay on."
        text = {
            "light_out": f"{names_of(bench, fault.row, fault.light)} is dark, the rest of the row brighter",
            "row_dim": f"Row {row.first} is dim",
            "row_bright": f"Row {row.first} is too bright",
        }[effect.sign]
        usual = solve(bench).currents[fault.row]
        now = (effect.faulty_ratio or 0.0) * usual
        over = "; that is too much and burns it out" if effect.burns else ""
        return f"{text}: {milliamps(now)} in place of {milliamps(usual)}{over}."
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


def rows_tried(bench: Bench) -> frozenset[int]:
    """Return the rows in which faults are tried; of many only the strongest."""
    usual = solve(bench).currents
    return frozenset(sorted(range(len(bench.rows)), key=lambda place: -usual[place])[:ROWS_TRIED])


def effects(bench: Bench, *, every_light: bool = False) -> tuple[Effect, ...]:
    """Return the effect of every single fault; of many rows only the strongest are tried."""
    usual, tried = solve(bench).currents, rows_tried(bench)
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
        if effect.fault.row >= 0 and effect.sign in ("row_out", "nothing_lights"):
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


def _signs(bench: Bench) -> dict[str, tuple[str, str, str]]:
    """Return of each sign what one sees, what to look at first, and which reading to take."""
    battery = bool(bench.supply.battery)
    resistors = any(row.resistance for row in bench.rows)
    of_row = "resistor of that row" if resistors else "across a light of that row"
    bands = "the bands of its resistor" if resistors else "its joints"
    fused = bool(bench.fuse_rated_current)
    return {
        "nothing_lights": (
            "Nothing lights",
            ("is S1 on; fuse; " if fused else "is S1 on; ")
            + (
                "the bank's own light; plug"
                if bank(bench)
                else "battery the right way round"
                if battery
                else "plug; plus and minus of its lead"
            ),
            "supply_on, then after_switch",
        ),
        "row_out": ("One row is out", "loose joints; flat sides towards minus", of_row),
        "kind_out": ("All of one kind are out", "both ends of their wire", "far_end"),
        "light_out": ("One light out, its row on", "solder bridging its legs", "across that light"),
        "row_dim": ("One row is dim", bands, of_row),
        "row_bright": ("One row too bright: off", f"{bands}; solder bridges", of_row),
        "all_dim": (
            "All are dim",
            "the bank's own light; plug and lead"
            if bank(bench)
            else "age and cold of the battery; contacts"
            if battery
            else "the label of the supply; contacts",
            "supply_off, then supply_on, after_switch and far_end",
        ),
        "all_bright": ("All too bright: off", "the label of the supply", "supply_off"),
        "fuse_at_once": ("The fuse blows at once", "bare joints that touch", "none: unplug first"),
        "supply_hot": ("Nothing lights, supply warm: off", "bare joints that touch", "none: unplug first"),
    }


def fault_table(bench: Bench, found: tuple[Effect, ...]) -> tuple[FaultRow, ...]:
    """Return the fault table: signs with their causes, likeliest first, from the re-solved faults."""
    grouped: dict[str, dict[str, tuple[float, str, str]]] = {}
    for effect in found:
        if not effect.sign:
            continue
        what, fix = any_row(bench, effect.fault)
        causes = grouped.setdefault(effect.sign, {})
        weight = OFTEN[effect.fault.kind] + (causes[what][0] if what in causes else 0.0)
        causes[what] = (weight, what, fix)
    lines = []
    for sign, (seen, first, check) in _signs(bench).items():
        ranked = sorted(grouped.get(sign, {}).values(), key=lambda cause: -cause[0])[:4]
        if ranked:
            causes_told = tuple(cause[1] for cause in ranked)
            lines.append(FaultRow(sign, seen, first, check, causes_told, ranked[0][2]))
    return (*lines, *_other_signs(bench, found))


def _other_signs(bench: Bench, found: tuple[Effect, ...]) -> tuple[FaultRow, ...]:
    """Return the signs that no steady solution shows: what comes and goes, and what is felt."""
    battery = bool(bench.supply.battery)
    lines = [
        FaultRow(
            "flickers",
            "Flickers when moved",
            f"joints near the bend; {'battery contacts' if fades(bench.supply) else 'plug and socket'}",
            "after_switch while you move it",
            (
                "a joint is cracked inside its sleeve",
                f"a contact of the {'battery' if fades(bench.supply) else 'plug'} is loose",
            ),
            "Solder the joint again, and tie the wire down beside it.",
        )
    ]
    if fades(bench.supply):
        lines.append(
            FaultRow(
                "fades_early",
                "Bright when fresh, dark too soon",
                "kind and age of the cells; cold",
                "supply_on when it is dim",
                ("used or mixed cells", "cold battery", "another kind of cell than on the sheet"),
                "Charge it fully, outside the build; keep it warm."
                if rechargeable(bench)
                else "Fit a fresh set of the kind on the sheet; keep the pack warm.",
            )
        )
    if "power_bank" in bench.supply.battery:
        lines.append(
            FaultRow(
                "bank_sleeps",
                "Dark after seconds on a bank",
                "the bank's own light",
                "total_current",
                ("the load is too small to keep the bank awake",),
                "Use a bank with an always-on setting, or a plain battery.",
            )
        )
    if bench.fuse_rated_current:
        lines.append(_fuse_later(bench, found, bench.fuse_rated_current))
    return (*lines, _warm(battery=battery))


def _fuse_later(bench: Bench, found: tuple[Effect, ...], rated: float) -> FaultRow:
    """Return the slow fuse; that a row draws too much is said only where one can pass the rating."""
    over = any(
        solve(bench, "expected", effect.fault).total > rated for effect in found if effect.fault.row >= 0
    )
    causes = ("a fuse of a smaller value is fitted", "a poor contact in its holder heats it")
    if over:
        return FaultRow(
            "fuse_later",
            "The fuse blows after minutes",
            "value of the fuse; warm joints",
            "total_current",
            ("too much current: a resistor bridged or too low", *causes),
            "Find the row that draws too much. Never fit a bigger fuse.",
        )
    return FaultRow(
        "fuse_later",
        "The fuse blows after minutes",
        "value of the fuse; its holder",
        "total_current",
        (*causes, "bare joints that touch now and then"),
        "Fit the value on the sheet, never a bigger one; clean the holder.",
    )


def _warm(*, battery: bool) -> FaultRow:
    """Return the sign that ends all looking for faults."""
    if battery:
        return FaultRow(
            "supply_warm",
            "Battery warm, swollen, smells",
            "take it off, switch off, unplug",
            "none: leave it alone outdoors",
            ("a short", "a damaged cell"),
            "Do not use it again. Look for the short before another one is fitted.",
        )
    return FaultRow(
        "supply_warm",
        "Supply hot, or it smells",
        "switch off, pull the plug",
        "none: leave it unplugged",
        ("a short", "more current than its label says", "the supply itself"),
        "Do not use it again. Look for the short before another one is plugged in.",
    )
