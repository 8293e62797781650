"""Rows of an arrangement: their resistors chosen with all rows on the source, solved and judged.

Theory of operation. On a supply without resistance no row feels another: each kind of row is worked out
once and stands in every way of wiring that has it. Else all rows of a way are solved together, and a
resistor is raised where they push one past its limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields, replace
from operator import attrgetter

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
from lampwright.planner.models.circuits import ArrangementAsk, StringAnswer, StringAsk
from lampwright.planner.models.parts import Led
from lampwright.planner.side_by_side import SideBySide, answers_side_by_side, currents_side_by_side
from lampwright.planner.strings import (
    Corners,
    StringModel,
    solved_string,
    source_resistances,
    string_currents,
    string_model,
)
from lampwright.records import quickly_made
from lampwright.tables.resistors import ladder

_MEMBERS = tuple(member.name for member in fields(StringAnswer))
_members_of = attrgetter(*_MEMBERS)
_COUNT = _MEMBERS.index("branch_count")

# Rows on one weak source push each other's currents; so often a resistor is raised before we give up.
_RAISES = 6


@quickly_made
@dataclass(frozen=True, slots=True)
class Row:
    """Equal rows: their lights from plus, how many such rows, and the current wanted in each, in A.

    ``place`` is where the request names the lights, empty where it does not, ``MIXED`` where colours are.
    ``kinds`` numbers the kind of each light, so that equal rows are known by it; empty where nobody numbers.
    """

    leds: tuple[Led, ...]
    count: int
    wanted: float
    place: str = field(default="", compare=False)
    kinds: tuple[int, ...] = field(default=(), compare=False)


@quickly_made
@dataclass(frozen=True, slots=True)
class SolvedRows:
    """Rows solved on the shared supply, with what there is to say about them."""

    together: SideBySide
    findings: tuple[Finding, ...]


@quickly_made
@dataclass(frozen=True, slots=True)
class _Alone:
    """One row on a supply without resistance; ``lacking`` says why it is not ``solved``."""

    wanted: tuple[Finding, ...]
    lacking: tuple[Finding, ...] = ()
    chosen: tuple[Finding, ...] = ()
    judged: tuple[Finding, ...] = ()
    solved: tuple[Corners, StringAnswer] | None = None


class Known:
    """What is worked out once for all ways to wire the lights of one question."""

    __slots__ = ("alone", "ask", "models", "rigid", "several", "shorted", "unlimited")

    def __init__(self, ask: ArrangementAsk) -> None:
        self.ask = ask
        self.rigid = not any(source_resistances(ask.supply))
        #: All rows together are held against the supply's limit, not each by itself.
        unlimited = ask.supply.current_limit is None
        self.unlimited = ask.supply if unlimited else replace(ask.supply, current_limit=None)
        self.models: dict[tuple[int, ...], StringModel] = {}
        self.alone: dict[tuple[tuple[int, ...], str], _Alone] = {}
        self.several: dict[tuple[tuple[int, ...], str, int], StringAnswer] = {}
        #: What a shorted light does to its row; see ``what_if``.
        self.shorted: dict[tuple[object, ...], tuple[float, float]] = {}

    def model(self, row: Row) -> StringModel:
        """Return the lights of a row at their corners."""
        return self.lights(row.leds, row.kinds)

    def lights(self, leds: tuple[Led, ...], kinds: tuple[int, ...]) -> StringModel:
        """Return lights in a row at their corners; ``kinds`` as in `Row`."""
        found = self.models.get(kinds)
        if found is None:
            found = string_model(leds, self.ask.ambient_temperature)
            if kinds:
                self.models[kinds] = found
        return found

    def row_alone(self, row: Row) -> _Alone:
        """Return a row on a supply without resistance, solved and judged."""
        key = (row.kinds, row.place)
        found = self.alone.get(key) if row.kinds else None
        if found is None:
            found = self.alone[key] = _alone(self, row)
        return found

    def times(self, row: Row, answer: StringAnswer) -> StringAnswer:
        """Return the answer of a row on a supply without resistance as that of all rows like it."""
        if row.count == 1:
            return answer
        key = (row.kinds, row.place, row.count)
        found = self.several.get(key) if row.kinds else None
        if found is None:
            members = list(_members_of(answer))
            members[_COUNT] = row.count
            found = self.several[key] = StringAnswer(*members)
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


def _placed(findings: Iterable[Finding], place: str) -> list[Finding]:
    """Return findings that say which lights of the request they are about."""
    found = []
    for item in findings:
        # Row by row is how an answer is made; a request has no such members.
        kept = {stem: value for stem, value in item.suggestion.items() if stem not in _OF_ROWS}
        if len(kept) < len(item.suggestion):
            item = replace(item, suggestion=kept)
        member = _OF_LIGHTS.get(item.field)
        if place == MIXED:
            kept = {stem: value for stem, value in item.suggestion.items() if stem != "forward_current"}
            found.append(replace(item, suggestion=kept, field=MIXED if member else item.field))
            continue
        if member is None and place and "forward_current" in item.suggestion:
            member = "forward_current"
        if member is not None:
            item = replace(item, field=f"{place}.{member}" if place else member)
        found.append(item)
    return found


def solve_rows(ask: ArrangementAsk, rows: Sequence[Row], known: Known | None = None) -> SolvedRows:
    """Return rows with their resistors; ``known`` keeps what other ways of the question need again.

    Raises
    ------
    RowsImpossible
        If a row has no headroom, wants more than its lights stand, or no resistor carries its heat.
    """
    known = known or Known(ask)
    return _apart(known, rows) if known.rigid else _joined(known, rows)


def _apart(known: Known, rows: Sequence[Row]) -> SolvedRows:
    """Return rows that do not feel each other."""
    alone = [known.row_alone(row) for row in rows]
    findings = [item for each in alone for item in each.wanted]
    _refuse_stops(findings)
    solved = []
    for each in alone:
        if each.solved is None:
            raise RowsImpossible(each.lacking)
        findings.extend(each.chosen)
        solved.append(each.solved)
    for each in alone:
        findings.extend(each.judged)
    _refuse_stops(findings)
    currents, answers = [], []
    total = 0.0
    for row, (of_row, answer) in zip(rows, solved, strict=True):
        currents.append(of_row)
        answers.append(known.times(row, answer))
        total += row.count * of_row.expected
    together = SideBySide(tuple(currents), tuple(answers), total, known.ask.supply.supply_voltage)
    return SolvedRows(together, tuple(findings))


def _refuse_stops(findings: Sequence[Finding]) -> None:
    if stopped(tuple(findings)):
        raise RowsImpossible(tuple(findings))


def _alone(known: Known, row: Row) -> _Alone:
    """Work out one row on a supply without resistance."""
    ask, model = known.ask, known.model(row)
    supply, wanted = ask.supply, row.wanted
    too_much = tuple(_placed(too_much_wanted(model, wanted), row.place))
    if stopped(too_much):
        return _Alone(too_much)
    bounds = resistance_bounds(model, supply, wanted, ask.tolerance, 1)
    try:
        resistance, said = _resistor(ask, row, model, bounds, 1)
    except RowsImpossible as impossible:
        return _Alone(too_much, impossible.findings)
    currents = string_currents(model, supply, resistance, ask.tolerance, 1)
    for _ in range(_RAISES - 1):
        higher = _higher(ask, row, model, resistance, currents)
        if higher is None:
            break
        resistance = higher
        currents = string_currents(model, supply, resistance, ask.tolerance, 1)
    string = StringAsk(row.leds, resistance, ask.tolerance, ask.rated_dissipation)
    answer = solved_string(string, supply, ask.ambient_temperature, currents, model)
    judged = _judged(known, row, answer, currents, bounds)
    return _Alone(too_much, (), tuple(_placed(said, row.place)), judged, (currents, answer))


def _joined(known: Known, rows: Sequence[Row]) -> SolvedRows:
    """Return rows that share a source."""
    ask = known.ask
    supply = ask.supply
    models = [known.model(row) for row in rows]
    total = sum(row.count * row.wanted for row in rows)
    chosen: list[Bounds] = []
    resistances: list[float] = []
    findings: list[Finding] = []
    for row, model in zip(rows, models, strict=True):
        findings.extend(_placed(too_much_wanted(model, row.wanted), row.place))
    _refuse_stops(findings)
    for row, model in zip(rows, models, strict=True):
        # Seen from one branch the source is as much larger as all current is larger than its own.
        sharing = total / row.wanted
        bounds = resistance_bounds(model, supply, row.wanted, ask.tolerance, sharing)
        resistance, said = _resistor(ask, row, model, bounds, sharing)
        findings.extend(_placed(said, row.place))
        resistances.append(resistance)
        chosen.append(bounds)
    currents = _currents(ask, rows, models, resistances)
    for _ in range(_RAISES - 1):
        higher = [
            _higher(ask, row, model, resistance, of_row)
            for row, model, resistance, of_row in zip(rows, models, resistances, currents, strict=True)
        ]
        if not any(higher):
            break
        resistances = [new or old for new, old in zip(higher, resistances, strict=True)]
        currents = _currents(ask, rows, models, resistances)
    strings = [_string(ask, row, resistance) for row, resistance in zip(rows, resistances, strict=True)]
    together = answers_side_by_side(strings, models, supply, ask.ambient_temperature, currents)
    for row, answer, of_row, bounds in zip(rows, together.answers, currents, chosen, strict=True):
        findings.extend(_judged(known, row, answer, of_row, bounds))
    _refuse_stops(findings)
    return SolvedRows(together, tuple(findings))


def _judged(
    known: Known,
    row: Row,
    answer: StringAnswer,
    currents: Corners,
    bounds: Bounds,
) -> tuple[Finding, ...]:
    """Return what there is to say about a row that is solved."""
    ask = known.ask
    resistance = answer.resistance or 0.0
    said = string_findings(
        _string(ask, row, resistance),
        known.model(row),
        known.unlimited,
        currents,
        wanted=row.wanted,
        dissipation_high=answer.dissipation_high or 0.0,
        rated_dissipation=answer.rated_dissipation,
        ambient_temperature=ask.ambient_temperature,
    )
    found = _placed(said, row.place) if said else []
    if resistance:
        found.extend(usual_voltage_finding(bounds, ask.supply, currents, row.wanted, len(row.leds)))
    return tuple(found)


def _resistor(
    ask: ArrangementAsk, row: Row, model: StringModel, bounds: Bounds, sharing: float
) -> tuple[float, tuple[Finding, ...]]:
    """Return the resistor of one row, and what there is to say about the choice."""
    if model.prewired:
        return 0.0, ()
    ideal = bounds.ideal
    if bounds.wanted <= 0:
        # Nothing left at the usual voltage; a long row may still light on the fresh supply.
        ideal = max(bounds.rated, bounds.maximum)
        if len(row.leds) == 1 or ideal <= 0:
            lacking = no_headroom(
                row.leds, model, ask.supply, bounds.string_voltage, row.wanted, sharing=sharing
            )
            raise RowsImpossible(tuple(_placed((lacking,), row.place)))
    preferred = preferred_at_least(ideal, ladder(ask.e_series))
    if ask.on_hand is None or bounds.wanted <= 0:
        return preferred, ()
    drawer = from_drawer(
        model,
        ask.supply,
        ask.on_hand,
        tolerance=ask.tolerance,
        branch_count=sharing,
        wanted=row.wanted,
    )
    # One part a row: a pair in every row is another build, so it is only told about.
    for entry in drawer:
        if entry.within and not entry.joined:
            return entry.resistance, ()
    return preferred, (drawer_finding(drawer, preferred, row.wanted),)


def _string(ask: ArrangementAsk, row: Row, resistance: float) -> StringAsk:
    return StringAsk(row.leds, resistance, ask.tolerance, ask.rated_dissipation, row.count)


def _currents(
    ask: ArrangementAsk, rows: Sequence[Row], models: Sequence[StringModel], resistances: Sequence[float]
) -> tuple[Corners, ...]:
    return currents_side_by_side(models, resistances, [row.count for row in rows], ask.tolerance, ask.supply)


def _higher(
    ask: ArrangementAsk, row: Row, model: StringModel, resistance: float, currents: Corners
) -> float | None:
    """Return a higher resistor where a row is pushed past its limits, None where it keeps them."""
    margin = 1 + 1e-9 if ask.on_hand is None else WINDOW[1] * (1 + 1e-9)
    over = currents.high > model.max_forward_current * (1 + 1e-9)
    over = over or currents.fresh > max(model.rated_current, row.wanted) * margin
    if not over or resistance <= 0:
        return None
    return preferred_above(resistance, ladder(ask.e_series)) or resistance
