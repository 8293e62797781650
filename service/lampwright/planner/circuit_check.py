"""A circuit that exists: what every row really gets, what burns and why, and what mends it.

Reads top to bottom: fill in, solve at all corners, answer row by row, judge rows, then what they share,
the wire and the fuse. Currents are always told, even of what will burn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lampwright.physics.conductors import loop_resistance
from lampwright.planner.circuit_bench import bench_checks
from lampwright.planner.effort import check_told
from lampwright.planner.findings import finding
from lampwright.planner.judging import (
    LEAST_LIGHT,
    RATED_MARGIN,
    SUPPLY_MEMBERS,
    string_findings,
    supply_member,
)
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.circuits import CircuitAnswer, CircuitAsk, ResistorAsk, StringAnswer, StringAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import FuseAsk, WireAnswer, WireAsk
from lampwright.planner.network import Network, Row, Solved, rows_of
from lampwright.planner.protection import fuse
from lampwright.planner.resistor import series_resistor
from lampwright.planner.shared_resistor import (
    brings_back,
    hogs,
    own_resistance,
    resistor_to_send,
    shared_findings,
)
from lampwright.planner.strings import solved_string, source_resistances
from lampwright.planner.texts import counted, milliamps, ohms, percent, volts
from lampwright.planner.wire import conductor_resistance, wire
from lampwright.tables.wires import wire_size

#: Findings that say: something burns. Others stop a build that merely would not light.
BURNS = frozenset(
    {
        "above_max_current",
        "led_straight_on_supply",
        "resistor_overloaded",
        "no_resistor_that_cool",
        "reverse_voltage_exceeded",
        "shared_resistor_burns",
        "wire_too_hot",
    }
)
_OVER_MAXIMUM = ("above_max_current", "led_straight_on_supply")
_DIM = ("dimmer_than_wanted", "looks_off", "goes_out_early", "fades_with_supply")
#: Rows with resistors stand this loss in the wire (common practice, no source).
_WIRE_LOSS = 0.10
#: Below this part of the light a row would have at the supply, the wire is worth a word.
_WIRE_LIGHT = 0.80
#: Up to this many rows the supply voltage of half light is summed up exactly.
_ROWS_SUMMED = 40
_SOURCES = ("SHOCKLEY-1949", "BANWELL-2000")


def circuit_check(ask: CircuitAsk) -> CircuitAnswer:
    """Return how a circuit does that somebody already has.

    Parameters
    ----------
    ask : CircuitAsk
        A string without ``resistance`` gets the one we would choose.

    Returns
    -------
    answer : CircuitAnswer
        ``strings`` has one entry a string, on a feed one a branch. ``survives`` is False where a
        finding says that something burns in the worst corner.

    Raises
    ------
    TooCostlyError
        If there are too many rows and lights to tell.
    """
    check_told(ask.strings, every_branch=ask.feed is not None)
    ask = replace(ask, strings=tuple(_filled(string, ask) for string in ask.strings))
    rows = rows_of(ask.strings, ask.feed, ask.ambient_temperature)
    design_current = _design_current(ask, rows)
    loop = wire_loop(ask)
    solved = _solve(ask, rows, loop)
    run = _wire_answer(ask, solved.at["high"].supply_current, design_current)
    answers = tuple(_row_answer(ask, solved, index) for index in range(len(rows)))
    expected = solved.at["expected"]
    found = (
        *_row_findings(ask, solved, answers),
        *shared_findings(ask, solved),
        *_supply_findings(ask, solved),
        *_wire_findings(ask, solved, run),
        *_fuse_findings(ask, design_current),
    )
    lit = [answer.brightness or 0.0 for answer in answers]
    model_sources = dict.fromkeys(source for row in rows for source in row.model.sources)
    return CircuitAnswer(
        survives=not any(each.code in BURNS and not _once_turned(ask, each) for each in found),
        supply_current=expected.supply_current,
        supply_current_low=solved.at["low"].supply_current,
        supply_current_high=solved.at["high"].supply_current,
        design_current=design_current,
        terminal_voltage=expected.terminal_voltage,
        strings=answers,
        evenness=min(lit) / max(lit) if lit and max(lit) > 0 else None,
        bench_checks=bench_checks(ask, solved.rows, answers, solved.at),
        findings=found,
        working=_working(ask, solved, loop, run),
        sources=tuple(
            dict.fromkeys((*_SOURCES, *model_sources, *ask.supply.sources, *(run.sources if run else ())))
        ),
        circuit=ask,
    )


def _once_turned(ask: CircuitAsk, found: Finding) -> bool:
    """Return whether a current is that of a dark row, once its light is the right way round."""
    steps = found.field.split(".")
    return found.code in _OVER_MAXIMUM and steps[0] == "strings" and bool(ask.strings[int(steps[1])].reversed)


def _filled(string: StringAsk, ask: CircuitAsk) -> StringAsk:
    """Return a string whose resistor is known: sent, or the one we would choose, or none at all."""
    if string.resistance is not None:
        return string
    from_us = series_resistor(
        _resistor_ask(ask.supply, replace(string, reversed=()), ask.ambient_temperature)
    )
    return replace(string, resistance=from_us.resistance or 0.0)


def _resistor_ask(supply: Supply, string: StringAsk, ambient_temperature: float) -> ResistorAsk:
    return ResistorAsk(supply=supply, string=string, ambient_temperature=ambient_temperature)


def _design_current(ask: CircuitAsk, rows: Sequence[Row]) -> float:
    """Return the current wire and fuse are chosen for: the high corner, no sag of source or wire."""
    steady = replace(ask.supply, source_resistance=0.0, source_resistance_low=0.0, source_resistance_high=0.0)
    return Network(steady, rows, ask.shared_resistance).at("high").supply_current


def wire_loop(ask: CircuitAsk) -> float:
    """Return the loop resistance of the wire named, 0 where none was. [Ω]."""
    if ask.wire_awg is None or not ask.wire_run_length:
        return 0.0
    area = wire_size(ask.wire_awg).conductor_area
    per_metre = conductor_resistance(ask.wire_awg, area, None, ask.ambient_temperature)
    return loop_resistance(per_metre, ask.wire_run_length)


def _wire_answer(ask: CircuitAsk, current: float, design_current: float) -> WireAnswer | None:
    """Return how the wire named does with what it really carries.

    What to use instead is chosen for the current that flows once the wire holds nothing back.
    """
    if ask.wire_awg is None or not ask.wire_run_length:
        return None
    asked = WireAsk(
        current=max(current, 1e-6),
        run_length=ask.wire_run_length,
        supply_voltage=ask.supply.supply_voltage,
        max_drop=_WIRE_LOSS,
        awg=ask.wire_awg,
        ambient_temperature=ask.ambient_temperature,
    )
    found = wire(asked)
    if not found.findings:
        return found
    steady = {each.code: each for each in wire(replace(asked, current=design_current)).findings}
    cured = [
        replace(each, remedy=steady[each.code].remedy, suggestion=steady[each.code].suggestion)
        if each.code in steady
        else each
        for each in found.findings
    ]
    return replace(found, findings=tuple(cured))


def _solve(ask: CircuitAsk, rows: tuple[Row, ...], loop: float) -> Solved:
    network = Network(ask.supply, rows, ask.shared_resistance, loop, ask.feed)
    at = {corner: network.at(corner) for corner in ("low", "expected", "high", "fresh", "empty")}
    corners = network.corners(at)
    near = tuple(each.expected for each in corners)
    near_high = tuple(each.high for each in corners)
    if loop > 0 or ask.feed is not None:
        # The same rows with no wire between them and the supply.
        short = Network(ask.supply, rows, ask.shared_resistance)
        near = short.at("expected").currents
        near_high = tuple(each.high for each in short.corners({corner: short.at(corner) for corner in at}))
    return Solved(rows, at, corners, near, near_high, ask.shared_resistance, loop)


def _seen(ask: CircuitAsk, solved: Solved, index: int) -> Supply:
    """Return the supply as one row sees it, after everything shared."""
    voltages = {corner: settled.voltages[index] for corner, settled in solved.at.items()}
    return replace(
        ask.supply,
        supply_voltage=voltages["expected"],
        supply_voltage_min=min(voltages["empty"], voltages["low"]),
        supply_voltage_max=max(voltages["fresh"], voltages["high"]),
        source_resistance=0.0,
        source_resistance_low=0.0,
        source_resistance_high=0.0,
        current_limit=None,
    )


def _row_answer(ask: CircuitAsk, solved: Solved, index: int) -> StringAnswer:
    """Return one row's figures: as a string on what arrives, with the currents of the whole circuit."""
    row = solved.rows[index]
    string = replace(row.string, branch_count=row.count)
    answer = solved_string(string, _seen(ask, solved, index), ask.ambient_temperature, solved.corners[index])
    if string.reversed:
        return answer
    current = answer.current or 0.0
    return replace(
        answer,
        # What arrives less the lights' voltages, written so that nothing is left over without a resistor.
        headroom=current * ((string.resistance or 0.0) + row.model.expected.built_in_resistance),
        lowest_lit_voltage=_lowest_lit(ask, solved, index),
    )


def _lowest_lit(ask: CircuitAsk, solved: Solved, index: int) -> float:
    """Return the supply voltage at which a row still gives half its light, sag and wire counted in."""
    row = solved.rows[index]
    expected = solved.at["expected"]
    half = expected.currents[index] / 2
    needed = row.model.expected.voltage(half) + (row.string.resistance or 0.0) * half
    if ask.feed is None and len(solved.rows) <= _ROWS_SUMMED:
        total = sum(
            other.count * other.model.expected.current(needed, other.string.resistance or 0.0)
            for other in solved.rows
            if not other.string.reversed
        )
        return needed + (ask.supply.source_resistance + ask.shared_resistance + solved.loop) * total
    lost = ask.supply.supply_voltage - expected.voltages[index]
    # What is lost on the way follows the current of all rows; near half light that halves as well.
    return needed + lost / 2


def _row_findings(ask: CircuitAsk, solved: Solved, answers: Sequence[StringAnswer]) -> tuple[Finding, ...]:
    """Return the findings of every row; equal rows say a thing once, the one it hits hardest first."""
    found: list[Finding] = []
    own: dict[StringAsk, float | None] = {}
    said: set[tuple[StringAsk, str]] = set()
    for index in _telling(ask, solved):
        row = solved.rows[index]
        if row.string not in own:
            own[row.string] = own_resistance(ask, row)
        for each in _findings_of_row(ask, solved, answers, index, own[row.string]):
            if (row.string, each.code) not in said:
                said.add((row.string, each.code))
                about_supply = each.field in SUPPLY_MEMBERS
                found.append(
                    each if about_supply else replace(each, field=f"strings.{row.place}.{each.field}")
                )
    return tuple(found)


def _telling(ask: CircuitAsk, solved: Solved) -> list[int]:
    """Return the rows to judge: all, but on a feed of each kind only the brightest and the dimmest."""
    if ask.feed is None:
        return list(range(len(solved.rows)))
    telling: list[int] = []
    places: dict[int, list[int]] = {}
    for index, row in enumerate(solved.rows):
        places.setdefault(row.place, []).append(index)
    for same in places.values():
        telling.append(max(same, key=lambda at: solved.corners[at].high))
        telling.append(max(same, key=lambda at: solved.near_high[at]))
        telling.append(min(same, key=lambda at: solved.corners[at].expected))
    return list(dict.fromkeys(telling))


def _before(ask: CircuitAsk, solved: Solved) -> Supply:
    """Return the supply with what lies between it and a row that is dark now."""
    lost = ask.shared_resistance + solved.loop
    small, middle, large = (each + lost for each in source_resistances(ask.supply))
    return replace(
        ask.supply,
        source_resistance=middle,
        source_resistance_low=small,
        source_resistance_high=large,
    )


def _findings_of_row(
    ask: CircuitAsk, solved: Solved, answers: Sequence[StringAnswer], index: int, better: float | None
) -> list[Finding]:
    row, answer, corners = solved.rows[index], answers[index], solved.corners[index]
    wanted = row.string.forward_current or row.model.rated_current
    found = string_findings(
        replace(row.string, branch_count=row.count),
        row.model,
        _seen(ask, solved, index),
        corners,
        wanted=wanted,
        dissipation_high=answer.dissipation_high or 0.0,
        rated_dissipation=answer.rated_dissipation,
        ambient_temperature=ask.ambient_temperature,
        better=better,
        behind=_before(ask, solved) if row.string.reversed else ask.supply,
    )
    kept = []
    for each in found:
        if each.code in _OVER_MAXIMUM and hogs(solved):
            # Said once for all rows, with the cure that fits: a resistor each.
            continue
        if each.code in _DIM and (
            # It is the wire, or the neighbours: a smaller resistor is no cure for those.
            corners.expected < _WIRE_LIGHT * solved.near[index]
            or hogs(solved)
            or corners.high > row.model.max_forward_current
        ):
            continue
        if each.code == "dimmer_than_wanted" and not row.string.resistance:
            # There is no resistor to make smaller.
            continue
        least = LEAST_LIGHT.get(each.code)
        if least is not None and better and not brings_back(ask, solved, index, better, least * wanted):
            each = replace(each, suggestion={})
        kept.append(each)
    if corners.high <= row.model.max_forward_current < solved.near_high[index] and not row.string.reversed:
        kept.append(
            finding(
                "saved_by_wire_only",
                field="resistance",
                suggestion=resistor_to_send(ask, row, better) if better else {},
                current=milliamps(solved.near_high[index]),
                maximum=milliamps(row.model.max_forward_current),
                own=ohms(better) if better else "a larger resistor",
            )
        )
    return kept


def _supply_findings(ask: CircuitAsk, solved: Solved) -> tuple[Finding, ...]:
    limit = ask.supply.current_limit
    total = solved.at["fresh"].supply_current
    if limit is None or total <= limit * RATED_MARGIN:
        return ()
    name = ask.supply.name or f"{volts(ask.supply.supply_voltage)} supply"
    return (
        finding(
            "over_supply_limit",
            field=supply_member(ask.supply),
            current=milliamps(total),
            limit=milliamps(limit),
            supply=name,
        ),
    )


def _wire_findings(ask: CircuitAsk, solved: Solved, run: WireAnswer | None) -> tuple[Finding, ...]:
    """Return what wire and feed do to the rows; never to be cured by smaller resistors."""
    found = [
        replace(each, field=f"wire.{each.field}")
        for each in (run.findings if run is not None else ())
        if each.code in ("wire_too_hot", "wire_drop_hopeless")
    ]
    expected = solved.at["expected"]
    worst, light = None, _WIRE_LIGHT
    for index, near in enumerate(solved.near):
        if near > 0 and expected.currents[index] / near < light:
            worst, light = index, expected.currents[index] / near
    if worst is not None and not found:
        lost = (
            expected.terminal_voltage
            - ask.shared_resistance * expected.supply_current
            - expected.voltages[worst]
        )
        found.append(
            finding(
                "wire_takes_light",
                field="feed" if ask.feed is not None else "wire",
                drop=volts(lost),
                part=percent(light),
            )
        )
    return tuple(found)


def _fuse_findings(ask: CircuitAsk, design_current: float) -> tuple[Finding, ...]:
    """Return how the fuse does that was named; nothing where none was."""
    if ask.fuse_rated_current is None:
        return ()
    answer = fuse(
        FuseAsk(
            current=max(design_current, 1e-6),
            awg=ask.wire_awg,
            run_length=ask.wire_run_length,
            supply=ask.supply,
            style=ask.fuse_style,
            rated_current=ask.fuse_rated_current,
            ambient_temperature=ask.ambient_temperature,
        )
    )
    # Of its own a circuit's fuse has a rating and a style.
    return tuple(
        replace(each, field="fuse.style" if each.field == "style" else "fuse.rated_current")
        for each in answer.findings
    )


def _working(ask: CircuitAsk, solved: Solved, loop: float, run: WireAnswer | None) -> tuple[Step, ...]:
    """Return how the figures came about, one sentence a step."""
    expected = solved.at["expected"]
    supply = ask.supply
    steps = []
    if run is not None:
        steps.append(run.working[0])
    common = supply.source_resistance + ask.shared_resistance + loop
    if ask.feed is not None:
        steps.append(
            Step(
                what="Volts at every branch: each row's current flows through all the wire before it",
                equation="V_k = V_(k−1) − R_segment · Σ I after it",
                values=f"{volts(supply.supply_voltage)}, {len(solved.rows)} branches, "
                f"{ohms(ask.feed.segment_loop)} from one to the next",
                result=f"{volts(max(expected.voltages))} at best, {volts(min(expected.voltages))} at worst",
            )
        )
    elif common > 0:
        steps.append(
            Step(
                what="Volts that all rows get, after everything that carries all their current",
                equation="V = V_S − R · Σ I(V)",
                values=f"{volts(supply.supply_voltage)} − {ohms(common)} × "
                f"{milliamps(expected.supply_current)}",
                result=volts(expected.voltages[0]),
            )
        )
    for index, row in enumerate(solved.rows[:3]):
        corners = solved.corners[index]
        steps.append(
            Step(
                what=f"Current in row {index + 1}, from its lights' curve, between the worst corners",
                equation="V = Σ V_F(I) + I·R",
                values=f"{volts(expected.voltages[index])}, {ohms(row.string.resistance or 0.0)}",
                result=f"{milliamps(corners.low)} to {milliamps(corners.high)}, "
                f"about {milliamps(corners.expected)}",
            )
        )
    steps.append(
        Step(
            what="Current of the supply: all rows added up",
            equation="I_S = Σ I",
            values=counted(sum(row.count for row in solved.rows), "row"),
            result=milliamps(expected.supply_current),
        )
    )
    return tuple(steps)
