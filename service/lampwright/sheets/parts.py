"""The parts list of a build, with spares."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from lampwright.planner.cautions import HOT_LIGHT, heat_of, plate_side
from lampwright.planner.joints import lead_of, sleeve_cuts
from lampwright.planner.labels import rows_in
from lampwright.planner.models.build import PartLine, Plan, PlannedString
from lampwright.planner.names import own_names
from lampwright.quantities import show
from lampwright.sheets.wording import colour_words, listed, rows_listed
from lampwright.tables.batteries import battery_type
from lampwright.tables.fuses import style_named
from lampwright.tables.supplies import supply_types

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
        *_plate_lines(plan),
        *_resistor_lines(plan),
        *_wire_lines(plan),
        *_sleeve_lines(plan),
        *_connector_lines(plan),
    )


def tools(plan: Plan) -> tuple[str, ...]:
    """Return what has to lie on the bench beside the parts (common practice, no source)."""
    glowing = any(not light.led.prewired for light in plan.ask.lights)
    return (
        "soldering iron, solder for electronics",
        "strippers, side cutters, glasses",
        f"meter (DC volts, mA, beeper{', diode test' if glowing else ''})",
        "two clip leads",
        "hot air",
        "wire labels",
        "hot glue or neutral-cure silicone",
    )


def _supply_lines(plan: Plan) -> Iterable[PartLine]:
    supply, lead = plan.ask.supply, lead_of(plan.ask.supply)
    holders, pack = 1, ""
    if supply.battery:
        kind = battery_type(supply.battery)
        sets = plan.runtime.sets_needed if plan.runtime is not None and plan.runtime.sets_needed else 1
        cells = supply.cells_in_series * supply.packs_in_parallel
        size = kind.name.partition(" ")[0]
        pack = f"{supply.cells_in_series} × {size}"
        pack += " in series" if supply.cells_in_series > 1 else ""
        holders = supply.packs_in_parallel * (supply.cells_in_series if lead.each else 1)
        label = ", protected" if kind.protection == "sometimes" else ""
        label += f", {show(supply.capacity, 'mah')}" if supply.capacity else ""
        yield PartLine(
            "Battery",
            f"{kind.name}{label}" + (f", {cells} a set" if cells > 1 else ""),
            cells,
            cells * max(sets - 1, 0),
            "G1",
            "all alike" if cells > 1 else "same kind only",
        )
    elif supply.part and supply_types()[supply.part].kind == "vehicle":
        yield PartLine("Supply", supply_words(plan), 1, 0, "G1", "")
    else:
        limit = supply.current_limit or (plan.design_current or 0.0) / 0.8
        yield PartLine(
            "Supply",
            f"{supply_words(plan)}, {show(limit, 'ma')} or more, closed, own plug",
            1,
            0,
            "G1",
            "same volts",
        )
    yield PartLine(lead.item, lead.value.format(pack=pack), holders, 0, "G1", "")
    fuse = plan.fuse
    if fuse is not None and fuse.rated_current:
        kind_of = f", {style_named(fuse.style).bought}" if fuse.style else ""
        yield PartLine(
            "Fuse",
            f"{show(fuse.rated_current, 'ma')}{kind_of}",
            1,
            fuse.spares,
            "F1",
            "same value" if fuse.needed != "optional" else "none",
        )
    if plan.switch is not None:
        least = f"{show(plan.switch.rated_current, 'ma')} at {show(supply.supply_voltage_max, 'v')} DC"
        yield PartLine("Switch", f"{plan.switch.kind}, {least}", 1, 0, "S1", "same or more")


def _light_lines(plan: Plan) -> Iterable[PartLine]:
    own = own_names(plan)
    for light in plan.ask.lights:
        rows = [string.row for string in plan.strings if light.name in string.light_names]
        colour = colour_words(light.led.colour)
        known = light.led.name if light.led.name and light.led.name != light.name else ""
        value = known or f"{colour} light".strip()
        swap = "same kind"
        if light.led.prewired:
            swap = "same printed volts"
        item, spares = own[light.name], light_spares(light.count)
        yield PartLine(item, value, light.count, spares, rows_listed(rows), swap)


def _plate_lines(plan: Plan) -> Iterable[PartLine]:
    """Return the metal behind lights that would burn out without it."""
    sizes: dict[int, list[PlannedString]] = {}
    for string in plan.strings:
        heat = max(heat_of(string, led) for led in string.leds)
        if heat >= HOT_LIGHT:
            sizes.setdefault(plate_side(heat), []).append(string)
    for side, strings in sizes.items():
        count = sum(
            string.solved.branch_count * sum(heat_of(string, led) >= HOT_LIGHT for led in string.leds)
            for string in strings
        )
        yield PartLine(
            "Heat sink",
            f"bare aluminium, {side} × {side} cm, 2 mm, with paste or pad",
            count,
            0,
            rows_listed(string.row for string in strings),
            "larger",
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
            ", ".join(_resistors_named(string.row) for string in strings),
            "next value up",
        )


def _resistors_named(span: str) -> str:
    """Return the labels of a row's resistors.

    >>> _resistors_named("A–D"), _resistors_named("A–B"), _resistors_named("E")
    ('R-A to R-D', 'R-A, R-B', 'R-E')
    """
    names = [f"R-{row}" for row in rows_in(span)]
    return ", ".join(names) if len(names) < 3 else f"{names[0]} to {names[-1]}"


def _wire_lines(plan: Plan) -> Iterable[PartLine]:
    lengths: dict[tuple[int, str], float] = {}
    labels: dict[tuple[int, str], list[str]] = {}
    for cut in plan.cuts:
        key = (cut.awg, cut.colour)
        lengths[key] = lengths.get(key, 0.0) + cut.count * cut.cut_length
        name = cut.label.rstrip("+−")
        if name[:1] != "W":
            name = "links in rows" if " row " in name else "bridges"
        if name not in labels.setdefault(key, []):
            labels[key].append(name)
    # The two wires of a run are alike but for their colour: one line for both.
    lines: dict[tuple[int, str, str], list[str]] = {}
    for (awg, colour), length in sorted(lengths.items()):
        names = _runs_named(labels[(awg, colour)])
        lines.setdefault((awg, _metres(length), names), []).append(WIRE_COLOURS.get(colour, colour))
    metric = {wire.figures.awg: wire.figures.metric_area for wire in plan.wires}
    kind = "soft strands" if plan.ask.wire.flexing else "stranded"
    for (awg, metres, names), colours in lines.items():
        area = metric.get(awg)
        yield PartLine(
            "Wire",
            f"{awg} AWG, {' + '.join(colours)}, {kind}, {metres}{' each' if len(colours) > 1 else ''}",
            len(colours),
            0,
            names,
            f"≥ {show(area, 'mm2')}" if area else "thicker is fine",
        )


def _metres(length: float) -> str:
    """Return a length to buy, in whole tenths of a metre upwards.

    >>> _metres(0.84), _metres(0.9)
    ('0.9 m', '0.9 m')
    """
    return f"{math.ceil(round(length * 10, 6)) / 10:g} m"


def _runs_named(labels: Sequence[str]) -> str:
    """Return the labels of wires, runs that follow one another as a span.

    >>> _runs_named(["W0", "W1", "W2", "W4"]), _runs_named(["links in rows"])
    ('W0 to W2, W4', 'links in rows')
    """
    spans: list[list[str]] = []
    for label in labels:
        number = int(label[1:]) if label[1:].isdigit() else -1
        if spans and number > 0 and spans[-1][-1] == f"W{number - 1}":
            spans[-1].append(label)
        else:
            spans.append([label])
    return ", ".join(f"{span[0]} to {span[-1]}" if len(span) > 2 else ", ".join(span) for span in spans)


def _sleeve_lines(plan: Plan) -> Iterable[PartLine]:
    for cut in sleeve_cuts(plan.joints):
        yield PartLine(
            "Shrink sleeve",
            f"{show(cut.sleeve_diameter, 'mm')} before shrinking, {_metres(cut.count * cut.sleeve_length)}",
            1,
            0,
            f"{cut.count} joints" if cut.count > 1 else cut.joints[0],
            "next wider",
        )


def _connector_lines(plan: Plan) -> Iterable[PartLine]:
    """Return connectors that joints call for; solder is no part of this list."""
    plugs = [
        joint.joint for joint in plan.joints if {"socket+", "plug+", "socket−", "plug−"} & {*joint.wires}
    ]
    if plugs:
        rated = plan.fuse.rated_current if plan.fuse is not None else None
        # Without a fuse what its switch is good for is enough: the same reserve over the current.
        usual = plan.switch.rated_current if plan.switch is not None else plan.design_current
        least = show(rated or usual or 0.0, "ma")
        yield PartLine(
            "Plug, socket",
            f"2-way, fits one way, with leads, {least}",
            1,
            1,
            ", ".join(plugs),
            "such a pair",
        )
    gauges = {cut.label: cut.awg for cut in plan.cuts}
    ways: dict[tuple[str, int, str], list[str]] = {}
    for joint in plan.joints:
        if not joint.sleeve_first:
            sizes = sorted({gauges[wire] for wire in joint.wires if wire in gauges})
            key = (joint.method, len(joint.wires), listed(map(str, sizes)))
            ways.setdefault(key, []).append(joint.joint)
    for (method, wires, sizes_said), names in ways.items():
        value = f"for {wires} wires of {sizes_said} AWG"
        yield PartLine(_upper(method), value, len(names), 1, ", ".join(names), "more ways")


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def row_count(plan: Plan) -> int:
    """Return how many rows there are in all."""
    return sum(len(rows_in(string.row)) for string in plan.strings)
