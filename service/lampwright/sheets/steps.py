"""What the sheet says in sentences: build steps, the drawing in words, event card, assumptions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lampwright.planner.cautions import HOT_LIGHT, heat_of
from lampwright.planner.joints import lead_of
from lampwright.planner.labels import first_row, light_label, rows_in
from lampwright.planner.models.build import BuildStep, EventLine, Plan, PlannedString, PlannedWire
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.models.parts import Led
from lampwright.planner.names import own_names
from lampwright.planner.sheet import DEFAULT_RUN, MAIN_RUN
from lampwright.planner.together import served
from lampwright.quantities import show, three_digits
from lampwright.records import altered
from lampwright.sheets.parts import supply_words
from lampwright.sheets.wording import (
    hours,
    light_words,
    listed,
    rows_listed,
    rows_words,
    set_lasts,
    span_words,
)
from lampwright.tables.batteries import battery_type

DIODE_TEST = 2.6  # V; many meters' diode test gives no more to a light (common practice, no source)
MA_SOCKET = 0.18  # A; the mA socket of a common meter ends at 0.2 A (common practice, no source)
NO_LEGS = ("surface-mount", " W")  # in the name of a light without a long leg


def band(check: BenchCheck) -> str:
    """Return what is good at a test point, in useful digits: "2.7 V (2.3 to 3.1)"."""
    if check.voltage is not None and check.voltage_low is not None and check.voltage_high is not None:
        return spread(check.voltage, check.voltage_low, check.voltage_high, 1.0, "V")
    if check.current is not None and check.current_low is not None and check.current_high is not None:
        return spread(check.current, check.current_low, check.current_high, 1e-3, "mA")
    return "hand-warm at most"


def useful(value: float, beside: float = 0.0) -> str:
    """Return a number with two useful digits, three from ten on: what a common meter shows.

    Less than a thousandth of what stands ``beside`` it is nothing: no range of a meter shows both.

    >>> useful(3.514), useful(12.63), useful(0.299), useful(60.7), useful(0.000032, beside=0.29)
    ('3.5', '12.6', '0.3', '60.7', '0')
    """
    if abs(value) < beside / 1000:
        return "0"
    return three_digits(round(value, 1) if abs(value) >= 10 else float(f"{value:.2g}"))


def spread(middle: float, low: float, high: float, each: float, unit: str) -> str:
    """Return a value with its bounds.

    >>> spread(0.00747, 0.0051, 0.0107, 1e-3, "mA"), spread(12.0, 12.0, 12.0, 1.0, "V")
    ('7.5 mA (5.1 to 10.7)', '12 V')
    """
    said, least, most = (useful(value / each, middle / each) for value in (middle, low, high))
    return f"{said} {unit} ({least} to {most})" if least != most else f"{said} {unit}"


def build_steps(plan: Plan, checks: Sequence[BenchCheck]) -> tuple[BuildStep, ...]:
    """Return the steps in order, with a TEST gate wherever a mistake would be buried by the next one.

    Every joint of the joint table is made in one step. Plus is known before anything is joined to it, and
    the fuse is in before current flows; sleeves go on first and are shrunk when the test is passed.
    """
    bench = _Bench(plan, {check.check: check for check in checks})
    steps = [
        *_first_steps(bench),
        *(step for place in range(len(plan.strings)) for step in _row_steps(bench, place)),
        *_run_steps(bench),
        *_last_steps(bench),
    ]
    return tuple(altered(step, number=number) for number, step in enumerate(steps, start=1))


class _Bench:
    """What the steps of one build have in common: its joints by end, its readings, what makes it live."""

    def __init__(self, plan: Plan, checks: Mapping[str, BenchCheck]) -> None:
        self.plan = plan
        self.checks = checks
        self.lead = lead_of(plan.ask.supply)
        self.find = JointFinder(plan)
        self.fused = plan.fuse is not None and bool(plan.fuse.rated_current)
        self.holder = self.fused and plan.fuse is not None and plan.fuse.style != "resettable"
        self.plugged = bool(self.find("plug+"))
        self.made: set[str] = set()
        # Where the supply is tapped to test a row, before the rest is there.
        self.live = "plug+" if self.plugged else "F1's other lead" if self.fused else "supply+"
        self.minus = "plug−" if self.plugged else "supply−"

    def good(self, check: str) -> str:
        """Return what a reading should be, headed by its id."""
        return f"{check}: {band(self.checks[check])}" if check in self.checks else ""

    def take(self, *labels: str) -> tuple[str, ...]:
        """Return these joints, noted as made."""
        found = tuple(label for label in labels if label and label not in self.made)
        self.made.update(found)
        return found


def _step(
    text: str, joints: tuple[str, ...] = (), *, gate: bool = False, reading: str = "", powered: bool = False
) -> BuildStep:
    return BuildStep(0, text, gate, reading, joints, powered)


def _first_steps(bench: _Bench) -> list[BuildStep]:
    """Return the steps up to a supply that is fused and known to be right."""
    lead, find, joints = bench.lead, bench.find, bench.plan.joints
    tin = "tin" if all(joint.sleeve_first for joint in joints) else "tin only what is soldered"
    steps = [_step(f"Tick off the parts. Cut wires and sleeves; label both ends; strip, {tin}.")]
    packs = bench.take(*(joint.joint for joint in joints if joint.wires[0].startswith("pack ")))
    if packs:
        text = (
            f"No battery on. Sleeves on. Join the packs' leads, black to red of the next ({listed(packs)})."
        )
        steps.append(_step(text, packs))
    fitted = bench.plan.fuse
    strong = fitted is not None and fitted.needed == "required"
    apart = "bare ends apart, no fuse yet; " if strong else ""
    steps.append(
        _step(
            f"TEST the supply alone, on DC volts: {apart}{lead.on}, a tip on each lead. No minus sign: red "
            f"tip is on plus. Mark plus; {lead.off}.",
            gate=True,
            reading=bench.good("supply_off"),
        )
    )
    fuse = bench.take(find("supply+", "F1"))
    plug = bench.take(find("socket+"), find("socket−")) if bench.plugged else ()
    if fuse or plug:
        said = ["Sleeves on."]
        if fuse:
            part = "In-line holder of F1" if bench.holder else "F1"
            said.append(f"{part} to supply+, close to the supply ({fuse[0]}).")
        if plug:
            after = "Its other lead" if fuse else "Supply+"
            said.append(f"{after} and supply− to the socket half ({listed(plug)}).")
        if fuse and bench.holder:
            said.append("Fit the fuse.")
        steps.append(_step(" ".join(said), (*fuse, *plug)))
        where = "plug+ and plug−, plugged in" if bench.plugged else f"{bench.live} and supply−"
        text = f"TEST at {where}: {lead.on}; same volts, no minus sign? {_upper(lead.off)}; shrink."
        steps.append(_step(text, gate=True))
    bare = [light.led for light in bench.plan.ask.lights if not light.led.prewired]
    if bare:
        sides = listed(dict.fromkeys(plus_side(led) for led in bare), "or")
        text = f"TEST each light: meter on diode test, red tip on the {sides}. It glows."
        if any(led.colour == "infrared" for led in bare):
            text += " Infrared does not show: look through a phone's camera, here and from now on."
        weak = dict.fromkeys(light_words(led) for led in bare if led.forward_voltage > DIODE_TEST)
        if weak:
            text += f" Meter too weak for {listed(weak, 'or')}? Its row's test will tell."
        steps.append(_step(text, gate=True))
    hot = [
        string
        for string in bench.plan.strings
        if any(heat_of(string, led) >= HOT_LIGHT for led in string.leds)
    ]
    if hot:
        steps.append(
            _step(
                f"{_upper(_rows_said(hot))}: fix each light on its aluminium, with paste or pad; no solder "
                "point touches the metal. Without it: lit for seconds only."
            )
        )
    return steps


def plus_side(led: Led) -> str:
    """Return what one calls the plus end of a light."""
    if led.prewired:
        return "plus lead"
    return "plus side" if any(word in led.name for word in NO_LEGS) else "long leg"


def minus_side(led: Led) -> str:
    """Return what one calls the minus end of a light."""
    return {"plus lead": "minus lead", "plus side": "minus side"}.get(plus_side(led), "short leg")


def _row_steps(bench: _Bench, place: int) -> list[BuildStep]:
    """Return the steps that make one row, or rows alike, and the test of it."""
    string = bench.plan.strings[place]
    row, rows = first_row(string.row), rows_in(string.row)
    first, last = light_label(row, 0), light_label(row, len(string.leds) - 1)
    plus = plus_side(string.leds[0])
    resistor, links = bench.find(f"R-{row}", f"{row}1+"), bench.find(f"{row} link")
    made = []
    if resistor:
        value = show(string.solved.resistance or 0.0, "ohm")
        made.append(f"R-{row} ({value}) to {first}'s {plus} ({resistor})")
    if links:
        legs = f", {minus_side(string.leds[0])} to next {plus}" if place == 0 else ""
        made.append(f"links {first} to {last}{legs} ({links})")
    steps = []
    if made:
        rest = f"{rows[1]} to {rows[-1]}" if len(rows) > 2 else rows[-1]
        alike = f" Row{'s' if len(rows) > 2 else ''} {rest} the same." if len(rows) > 1 else ""
        text = f"{_upper(rows_words(row))}: sleeves on; {', then '.join(made)}.{alike}"
        steps.append(_step(text, bench.take(resistor, links)))
    across = f"R-{row}" if resistor else first
    free = f"R-{row}'s free leg" if resistor else f"{first}'s {plus}"
    if not resistor and string.leds[0].prewired:
        free += " (usually red)"
    end = f"{last}'s {minus_side(string.leds[-1])}"
    each = f"row {row}"
    if len(rows) > 1:
        each = "each row"
        other = [f"R-{rows[1]}"] if resistor else []
        end += f" (row {rows[1]}: {', '.join([*other, light_label(rows[1], len(string.leds) - 1)])})"
    if place == 0:
        through = "through F1 " if bench.fused else ""
        test = f"{through}with clip leads: {bench.live} to {free}, {bench.minus} to {end}; {bench.lead.on}."
        test += f" Lit: measure across {across}; {bench.lead.off}."
    else:
        test = f"the same way: {across}, {end}."
    check = f"resistor_{place}" if f"resistor_{place}" in bench.checks else f"led_{place}_0"
    shrink = " If good, shrink." if made else ""
    steps.append(
        _step(
            f"TEST {each} {test}{shrink}",
            gate=True,
            reading=bench.good(check),
            powered=True,
        )
    )
    return steps


def _run_steps(bench: _Bench) -> list[BuildStep]:
    """Return the steps that put the rows on their runs."""
    steps = []
    runs = _runs(bench.plan)
    tapped = any(sum(row.solved.branch_count for row in rows) > 1 for _, rows in runs)
    if tapped:
        starts = listed([bench.find("W0+", "W1+"), bench.find("W0−", "W1−")])
        steps.append(
            _step(
                f"Lay each run from {starts} to its farthest row; mark the rows. Thread sleeves on "
                "first: one a row, plus and minus. Farthest row: to the ends. Others: push the insulation "
                "8 mm open, cut no strand, leg alongside."
            )
        )
    said: list[str] = []
    joints: list[str] = []
    for wire, rows in runs:
        ends = [row_joints(bench.find, row, wire) for row in rows]
        plus, minus = bench.take(*(end[0] for end in ends)), bench.take(*(end[1] for end in ends))
        joints += [*plus, *minus]
        if said:
            said.append(f"{_rows_said(rows)} to {wire.label} ({', '.join(plus)}; {', '.join(minus)})")
            continue
        first = rows[0]
        row = first_row(first.row)
        free = f"R-{row}'s free leg" if first.solved.resistance else f"{row}1's {plus_side(first.leds[0])}"
        last = f"{light_label(row, len(first.leds) - 1)}'s {minus_side(first.leds[-1])}"
        said.append(
            f"{_upper(_rows_said(rows))} to {wire.label}: {free} to {wire.label}+ ({listed(plus)}), "
            f"{last} to {wire.label}− ({listed(minus)})"
        )
    text = said[0] + (f". In the same way {', '.join(said[1:])}." if said[1:] else ".")
    steps.append(_step(text if tapped else f"Sleeves on. {text}", tuple(joints)))
    return steps


def _points(labels: Sequence[str]) -> str:
    """Return the labels of joints that follow one another."""
    return listed(labels) if len(labels) < 3 else f"{labels[0]} to {labels[-1]}"


def _last_steps(bench: _Bench) -> list[BuildStep]:
    """Return the steps from the runs to the finished build."""
    plan, find, lead = bench.plan, bench.find, bench.lead
    switch = bench.take(find("S1"), find("S1 other lug"))
    minus = bench.take(find("W0−", bench.minus))
    points = [joint for joint in plan.joints if joint.joint not in bench.made]
    plus_points = bench.take(*(joint.joint for joint in points if joint.wires[0].endswith("+")))
    minus_points = bench.take(*(joint.joint for joint in points if joint.wires[0].endswith("−")))
    sleeved = all(joint.sleeve_first for joint in points)
    before, after = ("Sleeves on. ", "") if sleeved else ("", " Lever connectors: tug each wire.")
    count = sum(string.solved.branch_count for string in plan.strings)
    all_light = f"All {count} rows light: count them." if count > 2 else "Both rows light."
    all_light = all_light if count > 1 else "It lights."
    total = bench.checks.get("total_current")
    most = (total.current_high or 0.0) if total is not None else 0.0
    socket = "mA socket" if most < MA_SOCKET else "A socket"
    resistors = any(string.solved.resistance for string in plan.strings)
    clear = " Resistors 5 mm clear of foam and cloth." if resistors else ""
    empty = " Later, battery nearly empty: every row still lights." if plan.ask.supply.battery else ""
    return [
        _step(
            f"Sleeves on. {_upper(bench.live)} to S1, S1's other lug to W0+ ({listed(switch)}), "
            f"{bench.minus} to W0− ({listed(minus)}). S1 off.",
            (*switch, *minus),
        ),
        _step(
            f"{before}Join all plus ends ({_points(plus_points)}), all minus ends "
            f"({_points(minus_points)}).{after}",
            (*plus_points, *minus_points),
        ),
        _step(
            f"TEST without power: no bare joints touch. Beeper on {plus_points[0]} and {minus_points[0]}: "
            "silent. A beep is a short: find it first.",
            gate=True,
        ),
        _step(
            f"TEST all: {lead.on}, S1 on. {all_light} DC volts, S1's other lug ({switch[-1]}) to supply−. "
            "Log all readings.",
            gate=True,
            reading=bench.good("after_switch"),
            powered=True,
        ),
        _step(
            f"TEST once: S1 off, meter on mA, red lead in its {socket}, a tip on each lug of S1. Then red "
            "lead back to V.",
            gate=True,
            reading=bench.good("total_current"),
            powered=True,
        ),
        _step(f"{_upper(lead.off)}. Shrink what is left; tie wires down."),
        _step(
            f"TEST: on for one hour, off, touch.{empty}",
            gate=True,
            reading="touch: hand-warm at most",
            powered=True,
        ),
        _step(f"Glue last: hot glue or neutral-cure silicone.{clear}"),
        _step(f"Write {lead.mark}: {_door(plan)}."),
    ]


def _runs(plan: Plan) -> list[tuple[PlannedWire, list[PlannedString]]]:
    return [
        (wire, [string for string in plan.strings if served(wire, string)])
        for wire in plan.wires
        if wire.label != "W0"
    ]


def _rows_said(rows: Sequence[PlannedString]) -> str:
    """Return "row A" or "rows A to H, J, K"."""
    many = len(rows) > 1 or len(rows_in(rows[0].row)) > 1
    return f"row{'s' if many else ''} {rows_listed(row.row for row in rows)}"


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
    find = JointFinder(plan)
    fuse, switch = find("supply+", "F1"), find("S1 other lug", "W0+")
    way = [f"Supply G1 ({supply_words(plan)}) plus"]
    if fuse and plan.fuse is not None and plan.fuse.rated_current:
        way += [fuse, f"fuse F1 ({show(plan.fuse.rated_current, 'ma')})"]
    plugged = find("plug+")
    if plugged:
        way += [find("socket+"), "socket and plug"]
    way += [find("S1"), "switch S1", switch]
    if main is not None:
        way.append(f"{wire_words(main)} plus")
    plus, minus = find("W0+", "W1+"), find("W0−", "W1−")
    plus, minus = f"plus point {plus}".strip(), f"minus point {minus}".strip()
    lines = [" → ".join([*way, plus]) + "."]
    for wire, rows in _runs(plan):
        served_rows = _rows_said(rows)
        lines.append(f"{_upper(plus)} → {wire_words(wire)} plus → {served_rows}.")
        lines += [_row_text(find, row, wire) for row in rows]
        lines.append(f"{_upper(served_rows)} → {wire.label} minus → {minus}.")
    back = [f"{_upper(minus)} → {'W0' if main is not None else 'wire'} minus"]
    if plugged:
        back += [find("plug−"), "plug and socket", find("socket−")]
    else:
        back.append(find("supply−"))
    lines.append(f"{' → '.join(back)} → supply G1 minus.")
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
        parts += [f"R-{row} ({show(string.solved.resistance, 'ohm')})", find(f"R-{row}", f"{row}1+")]
    lights = [f"{light_label(row, at)} {light_words(led)}".strip() for at, led in enumerate(string.leds)]
    if len(lights) > 6:
        lights = [*lights[:2], f"and so on, {len(lights)} lights in all", lights[-1]]
    links = find(f"{row} link")
    first = f"{plus_side(string.leds[0])} first" + (f"; links {links}" if links else "")
    parts += [f"{light} ({first})" if at == 0 else light for at, light in enumerate(lights)]
    text = f"Row {row}: {' → '.join(['plus', start] if start else ['plus'])} → {' → '.join(parts)} → "
    text += f"{end} → minus." if end else "minus."
    rows = rows_in(string.row)
    if len(rows) > 1:
        own = ", each with its own resistor" if string.solved.resistance else ""
        text += f" Rows {span_words(string.row)} are alike, {len(rows)} in all{own}."
    return text


def _swap_sign(plan: Plan, ended_by: str | None) -> str:
    """Return what one sees when a set is used up."""
    if ended_by == "brightness":
        # Half the light, which ends the hours, looks about three quarters as bright.
        return "when it looks a quarter dimmer"
    bank = battery_type(plan.ask.supply.battery).form == "bank"
    return "when it goes dark" if bank else "when its hours are over, though it still shines"


def event_card(plan: Plan) -> tuple[EventLine, ...]:
    """Return the card for the day: what is needed in the dark with cold fingers."""
    lines = [EventLine("Started at", "")]
    runtime = plan.runtime
    if runtime is not None and runtime.runtime:
        lines.append(EventLine("A set lasts", set_lasts(runtime)))
        if runtime.swap_times:
            clock = dict(enumerate(runtime.swap_clock))
            swaps = [
                clock.get(at) or f"{hours(time)} after the start"
                for at, time in enumerate(runtime.swap_times)
            ]
            lines.append(
                EventLine("Swap the set", listed(swaps[:6]) + (" and so on" if len(swaps) > 6 else ""))
            )
        elif runtime.ended_by != "asleep":
            lines.append(EventLine("Swap the set", _swap_sign(plan, runtime.ended_by)))
        if runtime.sets_needed:
            lines.append(EventLine("Sets to pack", f"{runtime.sets_needed}, one of them spare"))
    lines.append(EventLine("Supply", f"{supply_words(plan)}; plus side:"))
    if plan.fuse is not None and plan.fuse.rated_current:
        lines.append(EventLine("Fuse F1", f"{show(plan.fuse.rated_current, 'ma')}; {plan.fuse.spares} spare"))
    battery, worn = bool(plan.ask.supply.battery), plan.ask.usage.worn or plan.ask.wire.flexing
    fused = plan.fuse is not None and bool(plan.fuse.rated_current)
    bank = battery and battery_type(plan.ask.supply.battery).form == "bank"
    look = "wake the bank" if bank else "battery way round" if battery else "plug in"
    first = ["switch", look, *(("fuse",) if fused else ())]
    if battery and JointFinder(plan)("plug+"):
        first.insert(1, "plug")
    bend = "near a bend; wiggle it" if worn else "; wiggle each wire"
    away = ("off the body, " if worn else "switch off, ") + (
        "unplug, outdoors" if battery else "pull the plug"
    )
    lines += [
        EventLine("Nothing lights", ", ".join(first)),
        EventLine("One row is out", f"loose joint{'' if bend[0] == ';' else ' '}{bend}"),
        EventLine("Warm, smell or hiss" if battery else "Hot, or a smell", away),
        EventLine("Phone", ""),
    ]
    return tuple(lines)


def assumptions(plan: Plan) -> tuple[str, ...]:
    """Return what the figures rest on, so that the next maker can work them out again."""
    ask, own = plan.ask, own_names(plan)
    found = [
        f"{own[light.name]}: {show(light.led.forward_voltage, 'v')} "
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
