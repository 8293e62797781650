"""The parts list of a build, with spares."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lampwright.planner.labels import rows_in
from lampwright.planner.models.build import PartLine, Plan
from lampwright.quantities import show
from lampwright.sheets.wording import colour_words, counted, listed, span_words

LIGHT_SPARES, LEAST_LIGHT_SPARES = 0.1, 2  # a tenth, two at least (common practice, no source)
RESISTOR_SPARES = 2  # of each value (common practice, no source)
WIRE_COLOURS = {
    "RD": "red",
    "BK": "black",
    "WH": "white",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "OG": "orange",
    "BN": "brown",
    "GY": "grey",
    "VT": "violet",
}


def light_spares(count: int) -> int:
    """Return how many spare lights to keep.

    >>> light_spares(3), light_spares(37)
    (2, 4)
    """
    return max(LEAST_LIGHT_SPARES, math.ceil(LIGHT_SPARES * count))


def supply_words(plan: Plan) -> str:
    """Return the supply in a few words: "4 × AA alkaline" or "12 V supply"."""
    supply = plan.ask.supply
    if supply.name:
        return supply.name
    if supply.battery:
        name = supply.battery.replace("_", " ")
        return f"{supply.cells_in_series} × {name}" if supply.cells_in_series > 1 else name
    return f"{show(supply.supply_voltage, 'v')} DC supply"


def parts_list(plan: Plan) -> tuple[PartLine, ...]:
    """Return every part to lay out, in the order of use."""
    return (
        *_supply_lines(plan),
        *_light_lines(plan),
        *_resistor_lines(plan),
        *_wire_lines(plan),
        *_joint_lines(plan),
    )


def _supply_lines(plan: Plan) -> Iterable[PartLine]:
    supply = plan.ask.supply
    if supply.battery:
        sets = plan.runtime.sets_needed if plan.runtime is not None and plan.runtime.sets_needed else 1
        cells = supply.cells_in_series * supply.packs_in_parallel
        yield PartLine(
            "Battery",
            f"{supply_words(plan)}, {counted(sets, 'set')}, and a holder with leads",
            cells,
            cells * max(sets - 1, 0),
            "G1",
            "same kind, all alike" if cells > 1 else "same kind only",
        )
    else:
        limit = supply.current_limit or (plan.design_current or 0.0) / 0.8
        yield PartLine(
            "Supply",
            f"{supply_words(plan)}, {show(limit, 'ma')} or more, closed, own plug",
            1,
            0,
            "G1",
            "more mA is fine",
        )
    fuse = plan.fuse
    if fuse is not None and fuse.rated_current:
        style = f", {fuse.style.replace('_', ' ')}" if fuse.style else ""
        yield PartLine(
            "Fuse",
            f"{show(fuse.rated_current, 'ma')}{style}, with an in-line holder",
            1,
            fuse.spares,
            "F1",
            "same value only",
        )
    if plan.switch is not None:
        least = f"{show(plan.switch.rated_current, 'ma')} at {show(plan.switch.rated_voltage, 'v')} DC"
        yield PartLine("Switch", f"at least {least}", 1, 0, "S1", "same or higher")


def _light_lines(plan: Plan) -> Iterable[PartLine]:
    for light in plan.ask.lights:
        rows = [string.row for string in plan.strings if light.name in string.light_names]
        colour = colour_words(light.led.colour)
        known = light.led.name if light.led.name and light.led.name != light.name else ""
        value = known or f"{colour} light".strip()
        swap = "same kind, a bag"
        if light.led.prewired:
            swap = "same printed volts"
        yield PartLine(
            light.name,
            value,
            light.count,
            light_spares(light.count),
            listed(span_words(row) for row in rows),
            swap,
        )


def _resistor_lines(plan: Plan) -> Iterable[PartLine]:
    values: dict[tuple[float, float], list[int]] = {}
    for place, string in enumerate(plan.strings):
        if string.solved.resistance:
            key = (string.solved.resistance, string.solved.rated_dissipation or 0.0)
            values.setdefault(key, []).append(place)
    for (resistance, rating), places in values.items():
        strings = [plan.strings[place] for place in places]
        bands = strings[0].solved.colour_bands or ()
        watts = f", {show(rating, 'w')}" if rating else ""
        yield PartLine(
            "Resistor",
            f"{show(resistance, 'ohm')}{watts}" + (f" ({', '.join(bands)})" if bands else ""),
            sum(string.solved.branch_count for string in strings),
            RESISTOR_SPARES,
            listed(f"R-{span_words(string.row)}" for string in strings),
            "next higher value",
        )


def _wire_lines(plan: Plan) -> Iterable[PartLine]:
    lengths: dict[tuple[int, str], float] = {}
    labels: dict[tuple[int, str], list[str]] = {}
    for cut in plan.cuts:
        key = (cut.awg, cut.colour)
        lengths[key] = lengths.get(key, 0.0) + cut.count * cut.cut_length
        labels.setdefault(key, []).append(cut.label)
    for (awg, colour), length in sorted(lengths.items()):
        word = WIRE_COLOURS.get(colour, colour)
        kind = "stranded, soft" if plan.ask.wire.flexing else "stranded"
        names = [name for name in labels[(awg, colour)] if " row " not in name]
        if len(names) < len(labels[(awg, colour)]):
            names.append("links in rows")
        shown = listed(names) if len(names) <= 2 else f"{names[0]} to {names[-1]}"
        yield PartLine(
            "Wire",
            f"{awg} AWG, {word}, {kind}, {math.ceil(length * 10) / 10:g} m",
            1,
            0,
            shown,
            "thicker is fine",
        )
    sleeves: dict[float, float] = {}
    for cut in plan.cuts:
        if cut.sleeve_diameter and cut.sleeve_length:
            each = 2 * cut.count * cut.sleeve_length
            sleeves[cut.sleeve_diameter] = sleeves.get(cut.sleeve_diameter, 0.0) + each
    for diameter, length in sorted(sleeves.items()):
        yield PartLine(
            "Shrink sleeve",
            f"{show(diameter, 'mm')} before shrinking, {math.ceil(length * 10) / 10:g} m",
            1,
            0,
            "joints",
            "next wider one",
        )


def _joint_lines(plan: Plan) -> Iterable[PartLine]:
    """Return connectors that joints call for; solder and sleeves are no parts of this list."""
    kinds: dict[str, list[str]] = {}
    for joint in plan.joints:
        if "connector" in joint.method or "plug" in joint.method:
            kinds.setdefault(joint.method, []).append(joint.joint)
    for method, names in kinds.items():
        yield PartLine("Connector", method, len(names), 1, listed(names), "same number of ways or more")


def row_count(plan: Plan) -> int:
    """Return how many rows there are in all."""
    return sum(len(rows_in(string.row)) for string in plan.strings)
