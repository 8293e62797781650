"""What the sheet says in sentences: build steps, the drawing in words, event card, assumptions."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.planner.labels import first_row, light_label, rows_in
from lampwright.planner.models.build import BuildStep, EventLine, Plan, PlannedString, PlannedWire
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.sheet import DEFAULT_RUN, MAIN_RUN
from lampwright.planner.together import served
from lampwright.quantities import show, three_digits
from lampwright.sheets.parts import supply_words
from lampwright.sheets.wording import colour_words, hours, listed, rows_words, span_words


def band(check: BenchCheck) -> str:
    """Return what is good at a test point, in useful digits: "2.7 V (2.3 to 3.1)"."""
    if check.voltage is not None and check.voltage_low is not None and check.voltage_high is not None:
        return spread(check.voltage, check.voltage_low, check.voltage_high, 1.0, "V")
    if check.current is not None and check.current_low is not None and check.current_high is not None:
        return spread(check.current, check.current_low, check.current_high, 1e-3, "mA")
    return "hand-warm at most"


def useful(value: float) -> str:
    """Return a number with two useful digits, three from ten on: what a common meter shows.

    >>> useful(3.514), useful(12.63), useful(0.299), useful(60.7)
    ('3.5', '12.6', '0.3', '60.7')
    """
    return three_digits(round(value, 1) if abs(value) >= 10 else float(f"{value:.2g}"))


def spread(middle: float, low: float, high: float, each: float, unit: str) -> str:
    """Return a value with its bounds.

    >>> spread(0.00747, 0.0051, 0.0107, 1e-3, "mA"), spread(12.0, 12.0, 12.0, 1.0, "V")
    ('7.5 mA (5.1 to 10.7)', '12 V')
    """
    said, least, most = useful(middle / each), useful(low / each), useful(high / each)
    return f"{said} {unit} ({least} to {most})" if least != most else f"{said} {unit}"


Words = tuple[str, bool, str]  # text, whether it is a gate, reading


def build_steps(plan: Plan, checks: Sequence[BenchCheck]) -> tuple[BuildStep, ...]:
    """Return the steps in order, with a TEST gate wherever a mistake would be buried by the next one."""
    said = {check.check: check for check in checks}

    def good(check: str) -> str:
        return f"{check}: {band(said[check])}" if check in said else ""

    first = light_label(first_row(plan.strings[0].row), 0)
    fused = plan.fuse is not None and bool(plan.fuse.rated_current)
    parts = "F1 (next to the supply) and S1" if fused else "S1"
    last = " Then the same on used cells: every row still lights." if plan.ask.supply.battery else ""
    steps: list[Words] = [
        ("Tick off the parts. Cut the wires, label both ends, strip and tin.", False, ""),
        (
            f"TEST {first} and every other light: meter on diode test, red tip on the long leg. It glows.",
            True,
            "",
        ),
    ]
    for place, string in enumerate(plan.strings):
        steps += _row_steps(string, place, said)
    steps += [
        (f"Sleeves on first. Solder {_run_list(plan)}, rows side by side along their wire.", False, ""),
        ("Join all plus wires, then all minus wires: see the joint table.", False, ""),
        (f"Fit {parts} into the plus wire.", False, ""),
        ("TEST all: supply and switch on. Every row lights. Measure behind S1.", True, good("after_switch")),
        ("TEST once: meter on mA in place of S1. Then red lead back to V.", True, good("total_current")),
        (f"TEST: leave it on for one hour. Switch off and touch.{last}", True, "touch: hand-warm at most"),
        ("Shrink the sleeves. Tie each wire down beside its joint, not on the solder.", False, ""),
        ("Glue last: hot glue or neutral-cure silicone. Resistors clear of foam and cloth.", False, ""),
        (
            f"Write {'in the battery door' if plan.ask.supply.battery else 'on the plug'}: {_door(plan)}.",
            False,
            "",
        ),
    ]
    return tuple(BuildStep(number, *step) for number, step in enumerate(steps, start=1))


def _row_steps(string: PlannedString, place: int, said: dict[str, BenchCheck]) -> list[Words]:
    """Return the steps that make one row, or rows alike, and the test of it."""
    row = first_row(string.row)
    rows = rows_in(string.row)
    lights = [light_label(row, at) for at in range(len(string.leds))]
    chain = f"{lights[0]} to {lights[-1]}" if len(lights) > 2 else listed(lights)
    text = f"Row {row}: "
    if string.solved.resistance:
        text += f"sleeve on, R-{row} ({show(string.solved.resistance, 'ohm')}) to the long leg of {lights[0]}"
        text += f"; then {chain} with link wires, short leg to next long leg." if len(lights) > 1 else "."
    elif len(lights) > 1:
        text += f"{chain} in order with link wires, minus to next plus."
    else:
        text += f"{lights[0]} has its resistor inside; add none."
    if len(rows) > 1:
        rest = f"{rows[1]} to {rows[-1]}" if len(rows) > 2 else rows[1]
        text += f" Row{'s' if len(rows) > 2 else ''} {rest} the same."
    check = said.get(f"resistor_{place}") or said.get(f"led_{place}_0")
    plus = f"R-{row}" if string.solved.resistance else f"plus lead of {lights[0]}"
    across = f"R-{row}" if string.solved.resistance else lights[0]
    each = f"each of {span_words(string.row)}" if len(rows) > 1 else rows_words(string.row)
    test = f"TEST {each} on the supply: plus on {plus}, minus on {lights[-1]}. Across {across}?"
    return [(text, False, ""), (test, True, f"{check.check}: {band(check)}" if check is not None else "")]


def _runs(plan: Plan) -> list[tuple[PlannedWire, list[PlannedString]]]:
    return [
        (wire, [string for string in plan.strings if served(wire, string)])
        for wire in plan.wires
        if wire.label != "W0"
    ]


def _run_list(plan: Plan) -> str:
    return listed(
        f"{listed(rows_words(row.row) for row in rows)} to {wire.label}" for wire, rows in _runs(plan)
    )


def _door(plan: Plan) -> str:
    fuse = plan.fuse
    value = f", fuse {show(fuse.rated_current, 'ma')}" if fuse is not None and fuse.rated_current else ""
    return f"only {supply_words(plan)}{value}, and which side is plus"


def wire_words(wire: PlannedWire) -> str:
    """Return a run's label, size and length: "W1 (24 AWG, 1.5 m)"."""
    figures = wire.figures
    size = f"{figures.awg} AWG" if figures.awg is not None else show(figures.conductor_area or 0.0, "mm2")
    return f"{wire.label} ({size}, {show(wire.run_length, 'm')})"


def drawing_text(plan: Plan) -> str:
    """Return the wiring drawing in words, from plus to minus."""
    if not plan.strings:
        return ""
    main = next((wire for wire in plan.wires if wire.label == "W0"), None)
    fused = plan.fuse is not None and plan.fuse.rated_current
    way = [f"Supply G1 ({supply_words(plan)}) plus"]
    if fused and plan.fuse is not None and plan.fuse.rated_current:
        way.append(f"fuse F1 ({show(plan.fuse.rated_current, 'ma')})")
    way.append("switch S1")
    if main is not None:
        way.append(f"{wire_words(main)} plus")
    find = JointFinder(plan)
    plus, minus = find("W0+", "W1+"), find("W0−", "W1−")
    plus, minus = f"plus point {plus}".strip(), f"minus point {minus}".strip()
    lines = [" → ".join([*way, plus]) + "."]
    for wire, rows in _runs(plan):
        served_rows = listed(rows_words(row.row) for row in rows)
        lines.append(f"{_upper(plus)} → {wire_words(wire)} plus → {served_rows}.")
        lines += [_row_text(find, row, wire) for row in rows]
        lines.append(f"{_upper(served_rows)} → {wire.label} minus → {minus}.")
    lines.append(f"{_upper(minus)} → {'W0' if main is not None else 'wire'} minus → supply G1 minus.")
    return "\n".join(lines)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


class JointFinder:
    """Finds the joint at which things meet: an index of the joints of one plan, for one drawing."""

    def __init__(self, plan: Plan) -> None:
        self._at: dict[str, list[int]] = {}
        self._labels = [joint.joint for joint in plan.joints]
        for place, joint in enumerate(plan.joints):
            for wire in joint.wires:
                self._at.setdefault(wire, []).append(place)

    def __call__(self, *needed: str) -> str:
        """Return the label of the first joint at which all the named wires or parts meet, or ""."""
        found = set(self._at.get(needed[0], ()))
        for want in needed[1:]:
            found &= set(self._at.get(want, ()))
        return self._labels[min(found)] if found else ""


def row_joints(find: JointFinder, string: PlannedString, wire: PlannedWire) -> tuple[str, str]:
    """Return the labels of the joints at which a row meets its run: at plus, at minus."""
    row = first_row(string.row)
    first = f"R-{row}" if string.solved.resistance else f"{row}1+"
    return find(f"{wire.label}+", first), find(f"{wire.label}−", f"{row}{len(string.leds)}−")


def _row_text(find: JointFinder, string: PlannedString, wire: PlannedWire) -> str:
    row = first_row(string.row)
    start, end = row_joints(find, string, wire)
    parts = []
    if string.solved.resistance:
        parts.append(f"R-{row} ({show(string.solved.resistance, 'ohm')})")
    lights = [
        f"{light_label(row, at)} {colour_words(led.colour)}".strip() for at, led in enumerate(string.leds)
    ]
    if len(lights) > 6:
        lights = [*lights[:2], f"and so on, {len(lights)} lights in all", lights[-1]]
    parts += [f"{light} (plus leg first)" if at == 0 else light for at, light in enumerate(lights)]
    text = f"Row {row}: {' → '.join(['plus', start] if start else ['plus'])} → {' → '.join(parts)} → "
    text += f"{end} → minus." if end else "minus."
    rows = rows_in(string.row)
    if len(rows) > 1:
        text += f" Rows {span_words(string.row)} are alike, {len(rows)} in all, each with its own resistor."
    return text


def event_card(plan: Plan) -> tuple[EventLine, ...]:
    """Return the card for the day: what is needed in the dark with cold fingers."""
    lines = [EventLine("Started at", "")]
    runtime = plan.runtime
    if runtime is not None and runtime.runtime:
        spread = ""
        if runtime.runtime_low is not None and runtime.runtime_high is not None:
            spread = f" ({hours(runtime.runtime_low)} to {hours(runtime.runtime_high)})"
        lines.append(EventLine("A set lasts", f"about {hours(runtime.runtime)}{spread}"))
        if runtime.swap_times:
            clock = dict(enumerate(runtime.swap_clock))
            swaps = [
                clock.get(at) or f"{hours(time)} after the start"
                for at, time in enumerate(runtime.swap_times)
            ]
            lines.append(
                EventLine("Swap the set", listed(swaps[:6]) + (" and so on" if len(swaps) > 6 else ""))
            )
        else:
            lines.append(EventLine("Swap the set", "when it looks half as bright"))
        if runtime.sets_needed:
            lines.append(EventLine("Sets to pack", f"{runtime.sets_needed}, one of them spare"))
    lines.append(EventLine("Supply", f"{supply_words(plan)}; plus side:"))
    if plan.fuse is not None and plan.fuse.rated_current:
        lines.append(EventLine("Fuse F1", f"{show(plan.fuse.rated_current, 'ma')}; {plan.fuse.spares} spare"))
    lines += [
        EventLine("Nothing lights", "switch, plug, battery way round, fuse"),
        EventLine("One row is out", "loose joint near a bend; wiggle it"),
        EventLine("Warm, smell or hiss", "off the body, unplug, outdoors"),
        EventLine("Phone", ""),
    ]
    return tuple(lines)


def assumptions(plan: Plan) -> tuple[str, ...]:
    """Return what the figures rest on, so that the next maker can work them out again."""
    ask = plan.ask
    found = [
        f"{light.name}: {show(light.led.forward_voltage, 'v')} "
        f"({show(light.led.forward_voltage_min, 'v')} to {show(light.led.forward_voltage_max, 'v')}) each at "
        f"{show(light.led.rated_current, 'ma')}, at most {show(light.led.max_forward_current, 'ma')}."
        for light in ask.lights[:12]
    ]
    supply = ask.supply
    found.append(
        f"Supply: {supply_words(plan)}, {show(supply.supply_voltage_min, 'v')} to "
        f"{show(supply.supply_voltage_max, 'v')}."
    )
    air = show(ask.ambient_temperature, "degc")
    found.append(f"Resistors within {100 * ask.resistors.tolerance:g} %. Air at {air}.")
    lengths = f"Supply to distribution {show(MAIN_RUN, 'm')}"
    if any(light.run_length is None for light in ask.lights):
        lengths += f"; {show(DEFAULT_RUN, 'm')} to lights whose run was not given"
    found.append(f"{lengths}. Loss in the wire at most {100 * ask.wire.max_drop:g} %.")
    if supply.battery:
        found.append(
            "Fresh cells of one make. A set counts as used up when the first row gives half its light."
        )
    found.append("Drawing signs after IEC 60617 and colour letters after IEC 60757, both from memory.")
    return tuple(found)
