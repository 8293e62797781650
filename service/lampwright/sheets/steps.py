"""What the sheet says in sentences: build steps, the drawing in words, event card, assumptions."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.planner.labels import first_row, light_label, rows_in
from lampwright.planner.models.build import BuildStep, EventLine, Plan, PlannedString, PlannedWire
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.sheet import DEFAULT_RUN, MAIN_RUN
from lampwright.planner.together import served
from lampwright.quantities import show
from lampwright.sheets.parts import supply_words
from lampwright.sheets.wording import colour_words, hours, listed, rows_words, span_words


def band(check: BenchCheck) -> str:
    """Return what is good at a test point: "2.7 V (2.3 V to 3.1 V)"."""
    if check.voltage is not None and check.voltage_low is not None and check.voltage_high is not None:
        unit, three = "v", (check.voltage, check.voltage_low, check.voltage_high)
    elif check.current is not None and check.current_low is not None and check.current_high is not None:
        unit, three = "ma", (check.current, check.current_low, check.current_high)
    else:
        return "hand-warm at most"
    middle, low, high = (show(value, unit) for value in three)
    return f"{middle} ({low} to {high})" if low != high else middle


def build_steps(plan: Plan, checks: Sequence[BenchCheck]) -> tuple[BuildStep, ...]:
    """Return the steps in order, with a TEST gate wherever a mistake would be buried by the next one."""
    said = {check.check: check for check in checks}
    steps: list[tuple[str, bool, str]] = [
        ("Lay out the parts list and tick it off.", False, ""),
        ("Cut the wires of the cut list. Write the label on both ends of each.", False, ""),
        ("Strip and tin the ends.", False, ""),
    ]
    for place, string in enumerate(plan.strings):
        steps += _row_steps(string, place, said, first=place == 0)
    steps.append(
        (
            f"Slide sleeves on first. Solder each row to its wires: {_run_list(plan)}.",
            False,
            "",
        )
    )
    steps.append(
        (
            "Join all plus wires at the plus point, all minus wires at the minus point: see the joint table.",
            False,
            "",
        )
    )
    fused = plan.fuse is not None and plan.fuse.rated_current
    parts = "fuse F1 and switch S1" if fused else "switch S1"
    steps.append(
        (f"Fit {parts} into the plus wire, {'fuse' if fused else 'switch'} next to the supply.", False, "")
    )
    steps.append(
        (
            "TEST: supply on, switch on. Every row lights. Measure behind the switch.",
            True,
            f"after_switch: {band(said['after_switch'])}" if "after_switch" in said else "",
        )
    )
    steps.append(
        (
            "TEST: meter on mA in place of the switch, once. Red lead back to the V socket afterwards.",
            True,
            f"total_current: {band(said['total_current'])}" if "total_current" in said else "",
        )
    )
    if plan.ask.supply.battery:
        steps.append(("Now check it on a used set of cells too: every row still lights.", True, ""))
    steps += [
        (
            "TEST: run it for one hour. Switch off, then touch resistors, joints and supply.",
            True,
            "touch: hand-warm at most",
        ),
        ("Shrink the sleeves. Tie every wire down beside its joint, not on the solder.", False, ""),
        (
            "Glue last, with hot glue or neutral-cure silicone. Keep resistors clear of foam and cloth.",
            False,
            "",
        ),
        (f"Write on the battery door or plug: {_door(plan)}.", False, ""),
    ]
    return tuple(BuildStep(number, *step) for number, step in enumerate(steps, start=1))


def _row_steps(
    string: PlannedString, place: int, said: dict[str, BenchCheck], *, first: bool
) -> list[tuple[str, bool, str]]:
    """Return the steps that make one row, or rows alike."""
    row = first_row(string.row)
    lights = [light_label(row, at) for at in range(len(string.leds))]
    chain = f"{lights[0]} to {lights[-1]}" if len(lights) > 2 else listed(lights)
    found: list[tuple[str, bool, str]] = []
    resistance = string.solved.resistance
    alike = (
        f" Make {rows_words(string.row)} the same, each with its own resistor."
        if len(rows_in(string.row)) > 1
        else ""
    )
    if resistance:
        found.append(
            (
                f"Row {row}: sleeve on, then solder R-{row} ({show(resistance, 'ohm')}) to the "
                f"long leg of {lights[0]}.",
                False,
                "",
            )
        )
        if first and len(lights) > 1:
            found.append(
                (
                    f"TEST {lights[0]} alone, meter on diode test, red tip on the long leg. "
                    "It glows. Test every light so first.",
                    True,
                    "",
                )
            )
    if len(lights) > 1:
        found.append(
            (f"Row {row}: solder {chain} in order, short leg to the next long leg.{alike}", False, "")
        )
    elif alike:
        found.append((alike.strip(), False, ""))
    check = said.get(f"resistor_{place}") or said.get(f"led_{place}_0")
    where = f"R-{row}" if resistance else lights[0]
    each = rows_words(string.row)
    found.append(
        (
            f"TEST {each}, {'one at a time, ' if len(rows_in(string.row)) > 1 else ''}on the supply: plus to "
            f"{'R-' + row if resistance else 'the plus lead of ' + lights[0]}, minus to "
            f"the short leg of {lights[-1]}. Measure across {where}.",
            True,
            f"{check.check}: {band(check)}" if check is not None else "",
        )
    )
    return found


def _runs(plan: Plan) -> list[tuple[PlannedWire, list[PlannedString]]]:
    return [
        (wire, [string for string in plan.strings if served(wire, string)])
        for wire in plan.wires
        if wire.label != "W0"
    ]


def _run_list(plan: Plan) -> str:
    return listed(
        f"{wire.label} to {listed(rows_words(row.row) for row in rows)}" for wire, rows in _runs(plan)
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
    lines = [" → ".join([*way, "plus point"]) + "."]
    for wire, rows in _runs(plan):
        lines.append(f"Plus point → {wire_words(wire)} plus → {listed(rows_words(row.row) for row in rows)}.")
        lines += [_row_text(row) for row in rows]
        lines.append(
            f"{_upper(listed(rows_words(row.row) for row in rows))} → {wire.label} minus → minus point."
        )
    lines.append(f"Minus point → {'W0' if main is not None else 'wire'} minus → supply G1 minus.")
    return "\n".join(lines)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _row_text(string: PlannedString) -> str:
    row = first_row(string.row)
    parts = []
    if string.solved.resistance:
        parts.append(f"R-{row} ({show(string.solved.resistance, 'ohm')})")
    lights = [
        f"{light_label(row, at)} {colour_words(led.colour)}".strip() for at, led in enumerate(string.leds)
    ]
    if len(lights) > 6:
        lights = [*lights[:2], f"and so on, {len(lights)} lights in all", lights[-1]]
    parts += [f"{light} (plus leg first)" if at == 0 else light for at, light in enumerate(lights)]
    text = f"Row {row}: plus → {' → '.join(parts)} → minus."
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
        EventLine("Nothing lights", "switch, plug, battery the right way round; then the fuse"),
        EventLine("One row is out", "loose joint near a bend; wiggle, then measure its resistor"),
        EventLine("Warm, smell or hiss", "take it off, unplug, go outdoors"),
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
