"""One plan for a whole build: rows, wires, fuse, switch, hours, cuts and joints, all judged together.

Topology. The supply's plus goes through fuse F1, where there is one, and switch S1 into the main run W0
to one point of distribution; from there one pair of wires (W1, W2, ...) goes to each kind of light, and
the rows of that kind stand side by side at its end.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from lampwright.planner.arrangement import arrangements
from lampwright.planner.drawer import with_gauge
from lampwright.planner.findings import finding
from lampwright.planner.fuse_window import style_for
from lampwright.planner.joints import joints_and_cuts
from lampwright.planner.judging import BATTERY_OVERLOAD, fades, steadier
from lampwright.planner.labels import SPAN, row_span
from lampwright.planner.models.base import Finding, Step, stopped
from lampwright.planner.models.build import BuildAsk, FuseWishes, Plan, PlannedString, PlannedWire
from lampwright.planner.models.circuits import (
    Arrangement,
    ArrangementAsk,
    LightGroup,
    StringAnswer,
    StringAsk,
)
from lampwright.planner.models.energy import RuntimeAnswer, RuntimeAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import FuseAnswer, FuseAsk, WireAsk
from lampwright.planner.names import clashes
from lampwright.planner.protection import guarded, switch
from lampwright.planner.runtime import runtime
from lampwright.planner.texts import percent, volts
from lampwright.planner.together import Loops, loops_of, solve_build
from lampwright.planner.wire import wire
from lampwright.quantities import show
from lampwright.records import altered
from lampwright.tables.batteries import battery_type

MAIN_RUN = 0.3  # m from supply to distribution where nobody says otherwise (common practice, no source)
DEFAULT_RUN = 0.5  # m from distribution to a kind of light where its run is left out
MAIN_SHARE = 1 / 3  # part of the loss allowed that the main run may use
FADING = ("fades_with_supply", "goes_out_early")
SUPPLY_USED = 0.8  # part of a supply's current limit that is used (common practice, no source)


class _Tag:
    """Stands for a light group in an arrangement's answer, so that each light is found again."""

    __slots__ = ("group",)

    def __init__(self, group: int) -> None:
        self.group: int = group


def _arranged(ask: BuildAsk) -> tuple[Arrangement | None, tuple[Finding, ...], list[Step], list[str]]:
    """Return the recommended arrangement with what was found on the way."""
    lights = tuple(
        altered(light, led=altered(light.led, as_sent=_Tag(place))) for place, light in enumerate(ask.lights)
    )
    answer = arrangements(
        ArrangementAsk(
            supply=ask.supply,
            lights=lights,
            mix_colours=ask.mix_colours,
            e_series=ask.resistors.e_series,
            tolerance=ask.resistors.tolerance,
            rated_dissipation=ask.resistors.rated_dissipation,
            on_hand=ask.resistors.on_hand,
            ambient_temperature=ask.ambient_temperature,
        )
    )
    chosen = None if answer.recommended is None else answer.arrangements[answer.recommended]
    found = answer.findings + (chosen.findings if chosen is not None else ())
    return chosen, found, list(answer.working), list(answer.sources)


def _planned_strings(ask: BuildAsk, chosen: Arrangement) -> tuple[PlannedString, ...]:
    """Give every row its label and say which lights are in it.

    Lights that are equal but have different names may share strings in the arrangement's answer, so
    names are dealt out row by row; rows with the same names stay one entry.
    """
    left = [light.count for light in ask.lights]
    rows: list[tuple[tuple[int, ...], StringAnswer]] = []
    for solved in chosen.strings:
        tags = [item.group for item in solved.leds if isinstance(item, _Tag)]
        for _ in range(solved.branch_count):
            rows.append((tuple(_take(ask.lights, left, tag) for tag in tags), solved))
    found: list[PlannedString] = []
    start = 0
    while start < len(rows):
        groups, solved = rows[start]
        end = start
        while end < len(rows) and rows[end][0] == groups and rows[end][1] is solved:
            end += 1
        lights = [ask.lights[group] for group in groups]
        found.append(
            PlannedString(
                row=row_span(start, end - start),
                light_names=tuple(light.name for light in lights),
                leds=tuple(light.led for light in lights),
                solved=altered(
                    solved,
                    branch_count=end - start,
                    leds=tuple(
                        light.led.name if light.led.as_sent is None else light.led.as_sent for light in lights
                    ),
                ),
                run_length=max(
                    DEFAULT_RUN if light.run_length is None else light.run_length for light in lights
                ),
            )
        )
        start = end
    return tuple(found)


def _take(lights: Sequence[LightGroup], left: list[int], tag: int) -> int:
    """Take one light of a kind: of its own group while any is left, else of an equal one."""
    order: list[int] = [tag, *range(len(lights))]
    for place in order:
        if left[place] > 0 and lights[place].led == lights[tag].led:
            left[place] -= 1
            return place
    return tag


def _wire_ask(ask: BuildAsk, current: float, run_length: float, share: float, least: float) -> WireAsk:
    return WireAsk(
        current=current,
        run_length=run_length,
        supply_voltage=ask.supply.supply_voltage,
        max_drop=ask.wire.max_drop * share,
        drop_share=share,
        bundled_count=ask.wire.bundled_count,
        insulation=ask.wire.insulation,
        flexing=ask.wire.flexing,
        enclosed=ask.wire.enclosed,
        on_hand_awg=ask.wire.on_hand_awg,
        ambient_temperature=ask.ambient_temperature,
        ampacity_min=least,
    )


def _planned_wires(
    ask: BuildAsk, strings: Sequence[PlannedString], design_current: float, least: float
) -> tuple[PlannedWire, ...]:
    """Plan the main run and one run to each kind of light; each carries ``least`` [A], for the fuse."""
    found: list[PlannedWire] = []
    kinds: dict[str, list[PlannedString]] = {}
    for string in strings:
        kinds.setdefault(string.light_names[0], []).append(string)
    for number, rows in enumerate(kinds.values(), start=1):
        current = sum(row.solved.branch_count * (row.solved.current_high or 0.0) for row in rows)
        length = max(row.run_length for row in rows)
        figures = wire(_wire_ask(ask, current, length, 1 - MAIN_SHARE, least))
        serves = ", ".join(row.row for row in rows)
        found.append(PlannedWire(f"W{number}", serves, length, current, figures))
    asked = _wire_ask(ask, design_current, MAIN_RUN, MAIN_SHARE, least)
    main = wire(asked)
    # Short as it is, it is never the thin end of a thicker run: one wire to buy, often one piece.
    thickest = min((each.figures.awg for each in found if each.figures.awg is not None), default=None)
    if main.awg is not None and thickest is not None and thickest < main.awg:
        thick = wire(altered(asked, on_hand_awg=(thickest,)))
        # It is not the loss that asks for so thick a wire here, so no other voltage would do with less.
        kept = tuple(each for each in thick.findings if each.code != "higher_voltage_saves")
        main = altered(thick, findings=kept)
    return (PlannedWire("W0", "every row", MAIN_RUN, design_current, main), *found)


def _fuse_ask(ask: BuildAsk, wires: Sequence[PlannedWire], design_current: float) -> FuseAsk:
    """Ask for the fuse before the thinnest wire after it, with the longest run behind it."""
    sized = [each for each in wires if each.figures.conductor_area]
    thinnest = min(sized, key=lambda each: each.figures.conductor_area or 0.0, default=None)
    loops = {each.label: each.figures.loop_resistance or 0.0 for each in wires}
    farthest = max((loop for label, loop in loops.items() if label != "W0"), default=0.0)
    asked = FuseAsk(
        current=design_current,
        awg=thinnest.figures.awg if thinnest else None,
        conductor_area=None if thinnest is None or thinnest.figures.awg else thinnest.figures.conductor_area,
        loop_resistance=loops.get("W0", 0.0) + farthest,
        bundled_count=ask.wire.bundled_count,
        insulation=ask.wire.insulation,
        enclosed=ask.wire.enclosed,
        supply=ask.supply,
        ambient_temperature=ask.ambient_temperature,
        rated_current=ask.fuse.rated_current,
        style=ask.fuse.style,
    )
    return asked if asked.style else altered(asked, style=style_for(asked))


def _fuse_placed(fitted: FuseAnswer, ask: BuildAsk) -> FuseAnswer:
    """Return the fuse with its findings about the member that decides it: itself, where it was sent."""
    wished = ask.fuse != FuseWishes()
    found = []
    for each in fitted.findings:
        if wished and each.field in ("rated_current", "style"):
            send = dict(each.suggestion)
            if "rated_current" in send and fitted.style:
                send.setdefault("style", fitted.style)
            each = altered(each, field=f"fuse.{each.field}", suggestion=send)
        elif each.code == "fuse_not_needed":
            each = altered(each, field="supply")
        found.append(each)
    return altered(fitted, findings=tuple(found))


def _wires_and_fuse(
    ask: BuildAsk, strings: Sequence[PlannedString], design_current: float
) -> tuple[Sequence[PlannedWire], FuseAnswer]:
    """Return the wires and the fuse before them; where the drawer will not do, with the gauge to get."""

    def planned(asked: BuildAsk) -> tuple[Sequence[PlannedWire], FuseAnswer]:
        return guarded(
            lambda least: _planned_wires(asked, strings, design_current, least),
            lambda wires: _fuse_ask(asked, wires, design_current),
        )

    def planned_with(awg: int) -> tuple[Sequence[PlannedWire], FuseAnswer]:
        return planned(altered(ask, wire=altered(ask.wire, on_hand_awg=(awg,))))

    wires, fitted = planned(ask)
    if ask.wire.on_hand_awg is not None:
        wires, fitted = with_gauge((wires, fitted), planned_with)
    return wires, _fuse_placed(fitted, ask)


def planned_runtime(ask: BuildAsk, strings: Sequence[PlannedString], loops: Loops) -> RuntimeAnswer | None:
    """Return the hours on a battery, None on a supply that does not run flat."""
    if not ask.supply.battery:
        return None
    return runtime(
        RuntimeAsk(
            supply=ask.supply,
            strings=tuple(
                StringAsk(
                    leds=string.leds,
                    resistance=(string.solved.resistance or 0.0) + loops.rows[place],
                    tolerance=string.solved.tolerance,
                    rated_dissipation=string.solved.rated_dissipation,
                    branch_count=string.solved.branch_count,
                )
                for place, string in enumerate(strings)
            ),
            duty=ask.usage.duty,
            hours_per_day=ask.usage.hours_per_day,
            hours_wanted=ask.usage.hours_wanted,
            air_travel=ask.usage.air_travel,
            start_clock=ask.usage.start_clock,
            ambient_temperature=ask.ambient_temperature,
        )
    )


def _runtime_findings(hours: RuntimeAnswer | None) -> tuple[Finding, ...]:
    """Return what the hours say of a build whose rows were worked out for this very battery."""
    if hours is None:
        return ()
    # Rows that were made for another cell are a runtime question's business, never a sheet's.
    return tuple(each for each in hours.findings if each.code != "nimh_for_alkaline")


#: Where a build has the members that its parts' own questions ask for.
_PLACES = {
    "supply": ("supply_voltage", "battery", "supply_voltage_max", "cells_in_series", "capacity"),
    "resistors": ("on_hand_resistance", "rated_dissipation", "e_series", "tolerance"),
    "wire": ("on_hand_awg", "max_drop", "flexing", "enclosed", "bundled_count", "insulation"),
    "usage": ("hours_wanted", "duty", "hours_per_day", "air_travel", "start_clock"),
}
_MEMBERS = {
    **{stem: f"{place}.{stem}" for place, stems in _PLACES.items() for stem in stems},
    # Not asked of a build, or not sent: what decides it is.
    "awg": "wire.on_hand_awg",
    "conductor_area": "wire.on_hand_awg",
    "rated_current": "wire.on_hand_awg",
    "style": "supply",
    "core": "wire.flexing",
    "run_length": "lights",
    "stop_at": "usage.hours_wanted",
}


def _placed(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings about members as a build has them."""
    found = []
    for each in findings:
        thicker = each.suggestion.get("awg")
        suggestion = each.suggestion if thicker is None else {"on_hand_awg": [thicker]}
        found.append(altered(each, field=_MEMBERS.get(each.field, each.field), suggestion=suggestion))
    return tuple(found)


#: What is said of a battery asked for much, with its cure; the plain word of it need not be said as well.
_TELLS_HOURS = ("block_over_limit", "battery_over_limit")


def _merged(*groups: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings once each, worst first."""
    seen: dict[tuple[str, str], Finding] = {}
    for group in groups:
        for each in _placed(group):
            seen.setdefault((each.code, each.message), each)
    if any(code in _TELLS_HOURS for code, _ in seen):
        seen = {key: each for key, each in seen.items() if each.code != "over_supply_limit"}
    rank = {"stop": 0, "caution": 1, "note": 2}
    return tuple(sorted(seen.values(), key=lambda each: rank[each.severity]))


def _dry(supply: Supply) -> bool:
    """Return whether the supply is made of dry cells that are no lithium coins."""
    if not supply.battery:
        return False
    kind = battery_type(supply.battery)
    return not kind.rechargeable and kind.chemistry != "lithium_coin"


def _supply_findings(ask: BuildAsk, design_current: float) -> tuple[Finding, ...]:
    """Judge the supply's own limit.

    What dry cells are good for is soft: more costs hours, which the finding of the runtime tells, and harms
    nothing. They are judged here only where so much is asked that nothing would light for long.
    A coin cell's limit is a stop, but of expected parts: every part at its limit makes it no hotter.
    """
    limit = ask.supply.current_limit
    dry = bool(ask.supply.battery) and not battery_type(ask.supply.battery).rechargeable
    if limit is None or design_current <= (BATTERY_OVERLOAD if dry else SUPPLY_USED) * limit:
        return ()
    code = "supply_overloaded" if design_current > limit else "supply_nearly_full"
    return (
        finding(
            code,
            current=show(design_current, "ma"),
            limit=show(limit, "ma"),
            wanted=show(design_current / SUPPLY_USED, "ma"),
            field="supply.current_limit",
        ),
    )


def _kept(string: PlannedString) -> float:
    """Return the part of its current a row keeps down to the supply's lowest voltage."""
    return (string.solved.current_empty or 0.0) / (string.solved.current or 1.0)


def _fading(
    found: Iterable[Finding], strings: Sequence[PlannedString], supply: Supply, *, lasts: bool
) -> tuple[Finding, ...]:
    """Say of each row that loses light with the supply how much it keeps; other findings stay.

    Where the battery ``lasts`` the event, no row of it goes out early: such a row fades, and no more.
    """

    def code_of(code: str) -> str:
        return FADING[0] if lasts and code in FADING else code

    said: dict[str, list[PlannedString]] = {}
    for string in strings:
        said.setdefault(code_of(fades(_kept(string), 1.0)), []).append(string)
    told = []
    for each in found:
        code = code_of(each.code)
        if code not in FADING:
            told.append(each)
        elif rows := said.pop(code, []):
            left = [f"{row.row.replace(SPAN, ' to ')} {percent(_kept(row))}" for row in rows]
            said_of = f"rows keep a part of their light: {', '.join(left)}"
            if len(rows) == 1 and SPAN not in rows[0].row:
                said_of = f"row {rows[0].row} keeps {percent(_kept(rows[0]))} of its light"
            told.append(
                finding(
                    code,
                    field=each.field,
                    lowest=volts(supply.supply_voltage_min),
                    left=said_of,
                    steadier=steadier(max(len(row.leds) for row in rows)),
                )
            )
    return tuple(told)


def _lasts(hours: RuntimeAnswer | None, wanted: float | None) -> bool:
    """Return whether even the least likely hours of one set are enough for the event."""
    return hours is not None and wanted is not None and (hours.runtime_low or 0.0) >= wanted


def plan_build(ask: BuildAsk) -> Plan:
    """Return the plan of a whole build; ``buildable`` is False where anything says stop."""
    chosen, found, working, sources = _arranged(ask)
    if chosen is None:
        return _nothing(ask, _merged(found), working, sources)
    strings = _planned_strings(ask, chosen)
    design_current = sum(row.solved.branch_count * (row.solved.current_high or 0.0) for row in strings)
    if design_current <= 0:
        return _nothing(ask, _merged(found), working, sources)
    wires, fitted = _wires_and_fuse(ask, strings, design_current)
    loops = loops_of(strings, wires)
    low, expected, high = (
        solve_build(strings, loops, ask.supply, corner, ask.ambient_temperature).supply_current
        for corner in ("low", "expected", "high")
    )
    hours = planned_runtime(ask, strings, loops)
    joints, cuts = joints_and_cuts(
        strings,
        wires,
        supply=ask.supply,
        flexing=ask.wire.flexing,
        worn=ask.usage.worn,
        fused=bool(fitted.rated_current),
    )
    lasts = _lasts(hours, ask.usage.hours_wanted)
    if lasts and _dry(ask.supply):
        # More than such cells are good for costs hours, and there are enough of them.
        found = tuple(each for each in found if each.code != "over_supply_limit")
    findings = _merged(
        _fading(found, strings, ask.supply, lasts=lasts),
        *(each.figures.findings for each in wires),
        fitted.findings,
        _runtime_findings(hours),
        _supply_findings(ask, design_current),
    )
    wires = tuple(
        altered(each, figures=altered(each.figures, findings=_placed(each.figures.findings)))
        for each in wires
    )
    fitted = altered(fitted, findings=_placed(fitted.findings))
    if hours is not None:
        hours = altered(hours, findings=_placed(hours.findings))
    for part in (*(each.figures for each in wires), fitted, *((hours,) if hours is not None else ())):
        working.extend(part.working)
        sources.extend(part.sources)
    sources.extend(source for light in ask.lights for source in light.led.sources)
    sources.extend(ask.supply.sources)
    plan = Plan(
        ask=ask,
        buildable=not stopped(findings),
        strings=strings,
        supply_current=expected,
        supply_current_low=low,
        supply_current_high=high,
        design_current=design_current,
        wires=wires,
        fuse=fitted,
        switch=switch(design_current, ask.supply.supply_voltage_max),
        runtime=hours,
        comparison=hours.alternatives if hours is not None else (),
        cuts=cuts,
        joints=joints,
        findings=findings,
        working=tuple(dict.fromkeys(working)),
        sources=tuple(dict.fromkeys(sources)),
    )
    return altered(plan, findings=(*findings, *clashes(plan)))


def _nothing(ask: BuildAsk, found: tuple[Finding, ...], working: list[Step], sources: list[str]) -> Plan:
    """Return the plan of a build that cannot be wired: findings, and no figures that could burn."""
    return Plan(
        ask=ask,
        buildable=False,
        strings=(),
        supply_current=None,
        supply_current_low=None,
        supply_current_high=None,
        design_current=None,
        wires=(),
        fuse=None,
        switch=None,
        runtime=None,
        comparison=(),
        cuts=(),
        joints=(),
        findings=found,
        working=tuple(working),
        sources=tuple(dict.fromkeys(sources)),
    )
