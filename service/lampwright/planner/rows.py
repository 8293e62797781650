"""Rows of an arrangement: their resistors chosen with all rows on the source, solved and judged.

Theory of operation. On a supply without resistance no row feels another: each kind of row is worked out
once and stands in every way of wiring that has it. Else all rows of a way are solved together, and a
resistor is raised where they push one past its limits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.physics.resistors import preferred_above, preferred_at_least
from lampwright.planner.choosing import WINDOW, Bounds, from_drawer, resistance_bounds
from lampwright.planner.judging import (
    drawer_finding,
    no_headroom,
    string_findings,
    too_much_wanted,
    usual_voltage_finding,
)
from lampwright.planner.models.base import Finding, stopped
from lampwright.planner.models.circuits import ArrangementAsk, StringAsk
from lampwright.planner.one_row import Lights, Rows, SolvedRow
from lampwright.planner.side_by_side import currents_side_by_side, enough_beside_others
from lampwright.planner.strings import Corners, solved_string, source_resistances, string_currents
from lampwright.planner.what_if import shorted
from lampwright.records import altered, quickly_made
from lampwright.tables.resistors import ladder

# Rows on one weak source push each other's currents; so often a resistor is raised before we give up.
_RAISES = 6


@quickly_made
@dataclass(frozen=True, slots=True)
class SolvedRows:
    """Rows solved on the shared supply, with what there is to say about them."""

    rows: tuple[SolvedRow, ...]
    supply_current: float
    terminal_voltage: float
    findings: tuple[Finding, ...]


@quickly_made
@dataclass(frozen=True, slots=True)
class _Alone:
    """Equal rows on a supply without resistance; ``lacking`` says why they are not ``solved``.

    ``sound``: neither that nor anything else speaks against them; ``silent``: nothing is to be said of them.
    """

    sound: bool
    silent: bool
    wanted: tuple[Finding, ...]
    lacking: tuple[Finding, ...] = ()
    chosen: tuple[Finding, ...] = ()
    judged: tuple[Finding, ...] = ()
    solved: SolvedRow | None = None

    def times(self, count: int) -> _Alone:
        """Return so many such rows."""
        row = self.solved
        if row is None:
            return self
        answer = altered(row.answer, branch_count=count)
        return altered(self, solved=altered(row, count=count, answer=answer))


class Known:
    """What is worked out once for all ways to wire the lights of one question."""

    __slots__ = ("_alone", "_by_count", "ask", "rigid", "unlimited")

    def __init__(self, ask: ArrangementAsk) -> None:
        self.ask = ask
        self.rigid = not any(source_resistances(ask.supply))
        #: All rows together are held against the supply's limit, not each by itself.
        unlimited = ask.supply.current_limit is None
        self.unlimited = ask.supply if unlimited else altered(ask.supply, current_limit=None)
        self._alone: dict[Lights, _Alone] = {}
        self._by_count: dict[tuple[Lights, int], _Alone] = {}

    def alone(self, rows: tuple[Lights, int]) -> _Alone:
        """Return equal rows on a supply without resistance, solved and judged."""
        found = self._by_count.get(rows)
        if found is None:
            lights, count = rows
            known = self._alone.get(lights)
            found = _alone(self, lights, count) if known is None else known.times(count)
            self._alone[lights] = self._by_count[rows] = found
        return found


class RowsImpossible(Exception):  # noqa: N818 - it ends one way of wiring, not the program
    """Some row must not be built; carries the stop findings."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("; ".join(finding.code for finding in findings))
        self.findings = findings


# What is said of a row's own parts is a matter of its lights: an arrangement is asked about no others.
_OF_LIGHTS = {"forward_current": "forward_current", "resistance": "led", "leds": "led"}


_OF_ROWS = ("resistance", "series_count")
#: The place of a row of several kinds: it is about all of them, and no single one's members.
MIXED = "lights"


def _placed(findings: Sequence[Finding], place: str) -> tuple[Finding, ...]:
    """Return findings that say which lights of the request they are about."""
    if not findings:
        return ()
    found = []
    for item in findings:
        # Row by row is how an answer is made; a request has no such members.
        kept = {stem: value for stem, value in item.suggestion.items() if stem not in _OF_ROWS}
        if len(kept) < len(item.suggestion):
            item = altered(item, suggestion=kept)
        member = _OF_LIGHTS.get(item.field)
        if place == MIXED:
            kept = {stem: value for stem, value in item.suggestion.items() if stem != "forward_current"}
            found.append(altered(item, suggestion=kept, field=MIXED if member else item.field))
            continue
        if member is None and place and "forward_current" in item.suggestion:
            member = "forward_current"
        if member is not None:
            item = altered(item, field=f"{place}.{member}" if place else member)
        found.append(item)
    return tuple(found)


def solve_rows(ask: ArrangementAsk, rows: Rows, known: Known | None = None) -> SolvedRows:
    """Return rows with their resistors; ``known`` keeps what other ways of the question need again.

    Raises
    ------
    RowsImpossible
        If a row has no headroom, wants more than its lights stand, or no resistor carries its heat.
    """
    known = known or Known(ask)
    return _apart(known, rows) if known.rigid else _joined(known, rows)


def _apart(known: Known, rows: Rows) -> SolvedRows:
    """Return rows that do not feel each other."""
    alone = [known.alone(equal) for equal in rows]
    solved = []
    total = 0.0
    silent = True
    for each in alone:
        row = each.solved
        if row is None or not each.sound:
            raise _impossible(alone)
        solved.append(row)
        total += row.count * row.currents.expected
        silent = silent and each.silent
    findings = () if silent else _findings_of(alone)
    return SolvedRows(tuple(solved), total, known.ask.supply.supply_voltage, findings)


def _findings_of(alone: Sequence[_Alone]) -> tuple[Finding, ...]:
    """Return what there is to say of rows: of their wishes, of their resistors, of what comes of them."""
    wanted = [item for each in alone for item in each.wanted]
    chosen = [item for each in alone for item in each.chosen]
    return (*wanted, *chosen, *[item for each in alone for item in each.judged])


def _impossible(alone: Sequence[_Alone]) -> RowsImpossible:
    """Return why not all of some rows may be built."""
    wanted = tuple([item for each in alone for item in each.wanted])
    if stopped(wanted):
        return RowsImpossible(wanted)
    lacking = [each.lacking for each in alone if each.solved is None]
    return RowsImpossible(lacking[0] if lacking else _findings_of(alone))


def _refuse_stops(findings: Sequence[Finding]) -> None:
    if stopped(findings):
        raise RowsImpossible(tuple(findings))


def _alone(known: Known, lights: Lights, count: int) -> _Alone:
    """Work out one row on a supply without resistance."""
    ask, model = known.ask, lights.model
    supply, tolerance = ask.supply, ask.tolerance
    too_much = _placed(too_much_wanted(model, lights.wanted), lights.place)
    if stopped(too_much):
        return _Alone(False, False, too_much)
    bounds = resistance_bounds(model, supply, lights.wanted, tolerance, 1)
    try:
        resistance, about = _resistor(ask, lights, bounds, 1)
    except RowsImpossible as impossible:
        return _Alone(False, False, too_much, impossible.findings)
    currents = string_currents(model, supply, resistance, tolerance, 1)
    for _ in range(_RAISES - 1):
        higher = _higher(ask, lights, resistance, currents)
        if higher is None:
            break
        resistance = higher
        currents = string_currents(model, supply, resistance, tolerance, 1)
    solved, judged = _judged(known, lights, count, resistance, currents, bounds)
    chosen = _placed(about, lights.place)
    said = (*too_much, *chosen, *judged)
    return _Alone(not stopped(said), not said, too_much, (), chosen, judged, solved)


def _joined(known: Known, rows: Rows) -> SolvedRows:
    """Return rows that share a source."""
    ask = known.ask
    supply = ask.supply
    total = sum([count * lights.wanted for lights, count in rows])
    chosen: list[Bounds] = []
    resistances: list[float] = []
    findings: list[Finding] = []
    for lights, _ in rows:
        findings.extend(_placed(too_much_wanted(lights.model, lights.wanted), lights.place))
    _refuse_stops(findings)
    for lights, _ in rows:
        # Seen from one branch the source is as much larger as all current is larger than its own.
        sharing = total / lights.wanted
        bounds = resistance_bounds(lights.model, supply, lights.wanted, ask.tolerance, sharing)
        resistance, said = _resistor(ask, lights, bounds, sharing)
        findings.extend(_placed(said, lights.place))
        resistances.append(resistance)
        chosen.append(bounds)
    currents = _currents(ask, rows, resistances)
    for _ in range(_RAISES - 1):
        higher = [
            _higher(ask, lights, resistance, of_row) or _past_neighbours(ask, rows, resistances, at)
            for at, ((lights, _), resistance, of_row) in enumerate(
                zip(rows, resistances, currents, strict=True)
            )
        ]
        if not any(higher):
            break
        resistances = [new or old for new, old in zip(higher, resistances, strict=True)]
        currents = _currents(ask, rows, resistances)
    solved = []
    total = 0.0
    for (lights, count), resistance, of_row, bounds in zip(rows, resistances, currents, chosen, strict=True):
        row, judged = _judged(known, lights, count, resistance, of_row, bounds)
        solved.append(row)
        findings.extend(judged)
        total += count * of_row.expected
    _refuse_stops(findings)
    _, source, _ = source_resistances(supply)
    return SolvedRows(tuple(solved), total, supply.supply_voltage - source * total, tuple(findings))


def _judged(
    known: Known, lights: Lights, count: int, resistance: float, currents: Corners, bounds: Bounds
) -> tuple[SolvedRow, tuple[Finding, ...]]:
    """Return so many rows with every figure, and what there is to say about them."""
    ask, model = known.ask, lights.model
    supply, ambient = ask.supply, ask.ambient_temperature
    string = StringAsk(lights.leds, resistance, ask.tolerance, ask.rated_dissipation, count)
    answer = solved_string(string, supply, ambient, currents, model)
    said = string_findings(
        string,
        model,
        known.unlimited,
        currents,
        wanted=lights.wanted,
        dissipation_high=answer.dissipation_high or 0.0,
        rated_dissipation=answer.rated_dissipation,
        ambient_temperature=ambient,
    )
    said = _placed(said, lights.place)
    if resistance:
        said += usual_voltage_finding(bounds, supply, currents, lights.wanted, len(lights.leds))
    current = currents.expected
    heat = current * current * (resistance + model.expected.built_in_resistance)
    short = shorted(supply, ambient, lights, answer)
    return SolvedRow(lights, count, currents, answer, heat, short), said


def _resistor(
    ask: ArrangementAsk, lights: Lights, bounds: Bounds, sharing: float
) -> tuple[float, tuple[Finding, ...]]:
    """Return the resistor of one row, and what there is to say about the choice."""
    model = lights.model
    if model.prewired:
        return 0.0, ()
    ideal = bounds.ideal
    if bounds.wanted <= 0:
        # Nothing left at the usual voltage; a long row may still light on the fresh supply.
        ideal = max(bounds.rated, bounds.maximum)
        if len(lights.leds) == 1 or ideal <= 0:
            lacking = no_headroom(
                lights.leds, model, ask.supply, bounds.string_voltage, lights.wanted, sharing=sharing
            )
            raise RowsImpossible(_placed((lacking,), lights.place))
    preferred = preferred_at_least(ideal, ladder(ask.e_series))
    if ask.on_hand is None or bounds.wanted <= 0:
        return preferred, ()
    drawer = from_drawer(
        model,
        ask.supply,
        ask.on_hand,
        tolerance=ask.tolerance,
        branch_count=sharing,
        wanted=lights.wanted,
    )
    # One part a row: a pair in every row is another build, so it is only told about.
    for entry in drawer:
        if entry.within and not entry.joined:
            return entry.resistance, ()
    return preferred, (drawer_finding(drawer, preferred, lights.wanted),)


def _currents(ask: ArrangementAsk, rows: Rows, resistances: Sequence[float]) -> tuple[Corners, ...]:
    models = [lights.model for lights, _ in rows]
    return currents_side_by_side(models, resistances, [count for _, count in rows], ask.tolerance, ask.supply)


def _higher(ask: ArrangementAsk, lights: Lights, resistance: float, currents: Corners) -> float | None:
    """Return a higher resistor where a row is pushed past its limits, None where it keeps them."""
    model = lights.model
    margin = 1 + 1e-9 if ask.on_hand is None else WINDOW[1] * (1 + 1e-9)
    over = currents.high > model.max_forward_current * (1 + 1e-9)
    over = over or currents.fresh > max(model.rated_current, lights.wanted) * margin
    if not over or resistance <= 0:
        return None
    return _above(ask, resistance)


def _past_neighbours(ask: ArrangementAsk, rows: Rows, resistances: Sequence[float], at: int) -> float | None:
    """Return a higher resistor where a row may get too much beside rows that take less, else None."""
    if resistances[at] <= 0:
        return None
    models = [lights.model for lights, _ in rows]
    counts = [count for _, count in rows]
    enough = enough_beside_others(at, models, resistances, counts, ask.tolerance, ask.supply)
    return _above(ask, resistances[at], enough) if enough else None


def _above(ask: ArrangementAsk, resistance: float, enough: float = 0.0) -> float:
    """Return the next higher value one can buy, or the first that is enough."""
    values = ladder(ask.e_series)
    if enough > resistance:
        return preferred_at_least(enough, values)
    return preferred_above(resistance, values) or resistance
