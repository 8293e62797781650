"""What each fault is called and how it is cured: one table, with variants for what a build has.

The variant that fits (cells or a plug, a fuse or none, a row of one light) is chosen, and labels filled in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lampwright.sheets.bench import Bench, Fault, fades, names_of, shorts
from lampwright.tables.batteries import battery_type


@dataclass(frozen=True, slots=True)
class FaultWords:
    """Cause and cure of one fault; ``any_what`` and ``any_fix`` name no row: the table is for all of them."""

    part: str
    what: str
    fix: str
    any_what: str = ""
    any_fix: str = ""


# Ten megohms of meter pull every joint up to the break to plus, and nothing behind it.
_WALK = (
    "lights on, black tip on minus, red tip from joint to joint, from plus on: it lies before the first 0 V"
)

# A fault, or a fault and what the build has.
_WORDS = {
    "none": FaultWords(
        "", "nothing is wrong at the points measured", "Measure the points that are left, with the lights on."
    ),
    "light_reversed": FaultWords(
        "{light}",
        "light {light} is the wrong way round",
        "Switch off. Turn {light} round: long leg towards plus.",
        "a light is the wrong way round",
        "Turn it round: long leg towards plus.",
    ),
    "light_open": FaultWords(
        "{light}",
        "light {light} is broken or not joined",
        "Switch off. Solder {light} again; still dark: fit a new one.",
        "a light is broken or not joined",
        "Solder it again or fit a new one.",
    ),
    "light_short": FaultWords(
        "{light}",
        "light {light} is shorted",
        "Switch off. Look for solder across {light}; none: fit a new one.",
        "its legs are bridged, or it is worn out",
        "Clear the bridge or fit a new one.",
    ),
    "light_short alone": FaultWords(
        "{light}",
        "light {light} is shorted",
        "Switch off. Look for solder across {light}; none: fit a new one.",
        "its light's legs are bridged",
        "Clear the bridge or fit a new light.",
    ),
    "light_short bare": FaultWords(
        "{light}",
        "light {light} is shorted inside: it joins plus and minus",
        "Switch off. Take {light} out and fit a new one; only then a new fuse.",
        "a light is shorted inside",
        "Switch off. Take one light after the other out; only then fit a new fuse.",
    ),
    "row_open": FaultWords(
        "row {row}",
        "a joint or wire in row {row} is open",
        f"Walk along row {{row}}: {_WALK}. Solder it again.",
        "a joint or wire in the row is open",
        f"Walk along the row: {_WALK}.",
    ),
    "resistor_open": FaultWords(
        "R-{row}",
        "resistor R-{row} is broken or not joined",
        "Switch off. Solder R-{row} again, or fit a new one.",
        "its resistor is not joined",
        "Solder it again.",
    ),
    "resistor_short": FaultWords(
        "R-{row}",
        "resistor R-{row} is bridged",
        "Switch off at once: row {row} gets too much. Free R-{row} from what bridges it.",
        "its resistor is bridged",
        "Clear the bridge before switching on again.",
    ),
    "resistor_high": FaultWords(
        "R-{row}",
        "resistor R-{row} is far too high (a wrong multiplier band)",
        "Switch off. Read the bands of R-{row} and fit the value on the sheet.",
        "its resistor is too high",
        "Fit the value on the sheet.",
    ),
    "resistor_low": FaultWords(
        "R-{row}",
        "resistor R-{row} is far too low (a wrong multiplier band)",
        "Switch off at once: row {row} gets too much. Fit R-{row} as on the sheet.",
        "its resistor is too low",
        "Fit the value on the sheet before switching on again.",
    ),
    "run_open": FaultWords(
        "{run}",
        "wire {run} or its joint is open",
        "Switch off. Check both ends of {run}, then the wire between them.",
        "the wire to it is open",
        "Check both ends of the wire.",
    ),
    "run_poor": FaultWords(
        "{run}",
        "wire {run} has a poor joint or is too thin",
        "Switch off. Solder both ends of {run} again.",
        "the wire to it has a poor joint",
        "Solder both ends again.",
    ),
    "supply_dead": FaultWords(
        "supply",
        "the supply is dead, or a contact in the holder is open",
        "Clean the holder's contacts and fit fresh cells.",
    ),
    "supply_dead clip": FaultWords(
        "supply",
        "the battery is dead, or its clip or plug is loose",
        "Push the clip or plug home, then try another battery.",
    ),
    "supply_dead rechargeable": FaultWords(
        "supply",
        "the supply is dead, or a contact in the holder is open",
        "Clean the holder's contacts and fit charged cells.",
    ),
    "supply_dead bank": FaultWords(
        "supply",
        "the bank is empty, asleep or not plugged in",
        "Press its button, charge it, then try another lead.",
    ),
    "supply_dead plugged": FaultWords(
        "supply",
        "the supply is dead or not plugged in",
        "Check the socket and the plug, then try another supply of the same volts.",
    ),
    "supply_weak": FaultWords("supply", "the battery is weak or cold", "Fit fresh cells, all from one pack."),
    "supply_weak rechargeable": FaultWords(
        "supply", "the battery is weak or cold", "Charge it, outside the build, with its own charger."
    ),
    "supply_weak clip": FaultWords("supply", "the battery is weak or cold", "Fit a fresh one."),
    "supply_weak bank": FaultWords(
        "supply", "the bank gives too little", "Charge it; then try another bank or lead."
    ),
    "supply_weak plugged": FaultWords(
        "supply",
        "the supply gives too little",
        "Check the printed volts and mA against the sheet; fit the right supply.",
    ),
    "supply_high": FaultWords(
        "supply",
        "the supply gives too much: wrong battery",
        "Switch off at once. Fit the supply named on the sheet.",
    ),
    "supply_high rechargeable": FaultWords(
        "supply",
        "the supply gives too much: wrong battery, or a charger is on",
        "Switch off at once. Fit the supply named on the sheet.",
    ),
    "supply_high plugged": FaultWords(
        "supply",
        "the supply gives too much: a wrong one",
        "Switch off at once. Fit the supply named on the sheet.",
    ),
    "supply_reversed": FaultWords(
        "supply",
        "the supply is connected the wrong way round",
        "Switch off. Swap plus and minus at the supply.",
    ),
    "holder_poor": FaultWords(
        "supply",
        "a poor contact at the battery, or worn-out cells",
        "Clean the battery's contacts, bend them tighter; then fit fresh cells.",
        "a poor contact at the battery",
    ),
    "holder_poor plugged": FaultWords(
        "supply",
        "a poor contact in plug or socket, or a supply of too few mA",
        "Unplug and plug in again; then compare the printed mA with the sheet.",
        "a poor plug, or too few mA",
    ),
    "fuse_open": FaultWords(
        "F1",
        "fuse F1 is blown or loose, or the plus wire beside it is open",
        "Look for a short first, then fit a fuse of the same value. Never bridge it. Fuse whole: check its "
        "holder and the plus wire.",
        "F1 is blown or loose",
    ),
    "lead_open": FaultWords(
        "plus lead",
        "the plus wire between supply and switch S1 is open",
        "Switch off. Check both ends of the plus wire before S1.",
    ),
    "switch_open": FaultWords(
        "S1",
        "switch S1 does not close, or one of its lugs is loose",
        "Switch off. Check the solder lugs of S1; sound: fit a new switch.",
        "S1 does not close",
    ),
    "main_open": FaultWords(
        "W0", "wire W0 is broken, plus or minus", "Switch off. Check W0 from end to end, plus and minus."
    ),
    "contact_poor": FaultWords(
        "F1 or S1",
        "a poor contact at fuse F1 or switch S1",
        "Clean the contacts of fuse and switch; solder loose lugs again.",
        "a poor contact at F1 or S1",
    ),
    "contact_poor unfused": FaultWords(
        "S1", "a poor contact at switch S1", "Clean the contacts of the switch; solder loose lugs again."
    ),
    "main_poor": FaultWords(
        "W0", "wire W0 has a poor joint, or is too thin", "Switch off. Solder both ends of W0 again."
    ),
    "rails_short": FaultWords(
        "plus and minus",
        "plus and minus touch somewhere: fuse F1 has blown",
        "Switch off. Find bare joints that touch; sleeve them. Only then fit a new fuse.",
    ),
    "rails_short unblown": FaultWords(
        "plus and minus",
        "plus and minus touch somewhere",
        "Switch off at once and unplug. Find bare joints that touch; sleeve them.",
    ),
}


def bank(bench: Bench) -> bool:
    """Return whether the supply is a power bank: it sleeps, and nobody can turn it round."""
    return bool(bench.supply.battery) and not fades(bench.supply)


def rechargeable(bench: Bench) -> bool:
    """Return whether the supply is cells that a charger may be left on."""
    return fades(bench.supply) and battery_type(bench.supply.battery).rechargeable


def _clipped(bench: Bench, fault: Fault) -> bool:
    """Return whether the battery is one that clips or plugs on, where that is what may be wrong."""
    clip = fault.kind == "supply_dead" or not rechargeable(bench)
    return clip and fades(bench.supply) and battery_type(bench.supply.battery).form in ("block", "pack")


#: What a build may have that asks for other words, the first that it has.
_HAS: Mapping[str, Callable[[Bench, Fault], bool]] = {
    "bank": lambda bench, _: bank(bench),
    "plugged": lambda bench, _: not fades(bench.supply),
    "clip": _clipped,
    "rechargeable": lambda bench, _: rechargeable(bench),
    "unfused": lambda bench, _: not bench.fuse_rated_current,
    "unblown": lambda bench, _: not bench.blows,
    "bare": shorts,
    "alone": lambda bench, fault: len(bench.rows[fault.row].leds) == 1,
}
_VARIANTS = {kind: tuple([name for name in _HAS if f"{kind} {name}" in _WORDS]) for kind in _WORDS}


def _variant(bench: Bench, fault: Fault) -> FaultWords:
    """Return the words that fit what the build has."""
    for name in _VARIANTS[fault.kind]:
        if _HAS[name](bench, fault):
            return _WORDS[f"{fault.kind} {name}"]
    return _WORDS[fault.kind]


def _labelled(bench: Bench, fault: Fault, text: str) -> str:
    if "{" not in text:
        return text
    return text.format(
        row=bench.rows[fault.row].first if fault.row >= 0 else "",
        light=names_of(bench, fault.row, fault.light) if fault.light >= 0 else "",
        run=fault.run,
    )


def part_of(bench: Bench, fault: Fault) -> str:
    """Return the label of the part a fault is in."""
    return _labelled(bench, fault, _variant(bench, fault).part)


def what_of(bench: Bench, fault: Fault) -> str:
    """Return the cause in words."""
    return _labelled(bench, fault, _variant(bench, fault).what)


def fix_of(bench: Bench, fault: Fault) -> str:
    """Return the cure in words, one action a sentence."""
    return _labelled(bench, fault, _variant(bench, fault).fix)


def any_row(bench: Bench, fault: Fault) -> tuple[str, str]:
    """Return cause and cure without naming one row: the fault table is for all of them."""
    found = _variant(bench, fault)
    return found.any_what or found.what, found.any_fix or found.fix
