"""Rows of an arrangement: their resistors chosen with all rows on the source, solved and judged."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

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
from lampwright.planner.models.parts import Led
from lampwright.planner.side_by_side import SideBySide, solve_side_by_side
from lampwright.planner.strings import StringModel, string_model
from lampwright.tables.resistors import ladder

# Rows on one weak source push each other's currents; so often a resistor is raised before we give up.
_RAISES = 6


@dataclass(frozen=True, slots=True)
class Row:
    """Equal rows: their lights from plus, how many such rows, and the current wanted in each, in A.

    ``place`` is where the request names the lights, empty where it does not or where colours are mixed.
    """

    leds: tuple[Led, ...]
    count: int
    wanted: float
    place: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class SolvedRows:
    """Rows solved on the shared supply, with what there is to say about them."""

    together: SideBySide
    findings: tuple[Finding, ...]


class RowsImpossible(Exception):  # noqa: N818 - it ends one way of wiring, not the program
    """Some row must not be built; carries the stop findings."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("; ".join(finding.code for finding in findings))
        self.findings = findings


# What is said of a row's own parts is a matter of its lights: an arrangement is asked about no others.
_OF_LIGHTS = {"forward_current": "forward_current", "resistance": "led", "leds": "led"}


_OF_ROWS = ("resistance", "series_count")


def _placed(findings: Iterable[Finding], place: str) -> list[Finding]:
    """Return findings that say which lights of the request they are about."""
    found = []
    for item in findings:
        # Row by row is how an answer is made; a request has no such members.
        kept = {stem: value for stem, value in item.suggestion.items() if stem not in _OF_ROWS}
        if len(kept) < len(item.suggestion):
            item = replace(item, suggestion=kept)
        member = _OF_LIGHTS.get(item.field)
        if member is None and place and "forward_current" in item.suggestion:
            member = "forward_current"
        if member is not None:
            item = replace(item, field=f"{place}.{member}" if place else member)
        found.append(item)
    return found


def solve_rows(ask: ArrangementAsk, rows: Sequence[Row]) -> SolvedRows:
    """Return rows with their resistors.

    Raises
    ------
    RowsImpossible
        If a row has no headroom, wants more than its lights stand, or no resistor carries its heat.
    """
    supply = ask.supply
    models = [string_model(row.leds, ask.ambient_temperature) for row in rows]
    total = sum(row.count * row.wanted for row in rows)
    chosen: list[tuple[float, Bounds]] = []
    findings: list[Finding] = []
    for row, model in zip(rows, models, strict=True):
        findings.extend(_placed(too_much_wanted(model, row.wanted), row.place))
    if stopped(tuple(findings)):
        raise RowsImpossible(tuple(findings))
    for row, model in zip(rows, models, strict=True):
        # Seen from one branch the source is as much larger as all current is larger than its own.
        sharing = total / row.wanted
        bounds = resistance_bounds(model, supply, row.wanted, ask.tolerance, sharing)
        resistance, said = _resistor(ask, row, model, bounds, sharing)
        findings.extend(_placed(said, row.place))
        chosen.append((resistance, bounds))
    together = _solve(ask, rows, [resistance for resistance, _ in chosen])
    for raised in range(_RAISES):
        higher = _raised(ask, rows, models, together)
        if higher is None or raised == _RAISES - 1:
            break
        together = _solve(ask, rows, higher)
    unlimited = replace(supply, current_limit=None)
    for row, model, answer, currents, (_, bounds) in zip(
        rows, models, together.answers, together.currents, chosen, strict=True
    ):
        said = string_findings(
            _string(ask, row, answer.resistance or 0.0),
            model,
            unlimited,
            currents,
            wanted=row.wanted,
            dissipation_high=answer.dissipation_high or 0.0,
            rated_dissipation=answer.rated_dissipation,
            ambient_temperature=ask.ambient_temperature,
        )
        findings.extend(_placed(said, row.place))
        if answer.resistance:
            findings.extend(usual_voltage_finding(bounds, supply, currents, row.wanted))
    if stopped(tuple(findings)):
        raise RowsImpossible(tuple(findings))
    return SolvedRows(together, tuple(findings))


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
            lacking = no_headroom(row.leds, model, ask.supply, bounds.string_voltage, row.wanted)
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
    return preferred, (drawer_finding(drawer, preferred),)


def _string(ask: ArrangementAsk, row: Row, resistance: float) -> StringAsk:
    return StringAsk(row.leds, resistance, ask.tolerance, ask.rated_dissipation, row.count)


def _solve(ask: ArrangementAsk, rows: Sequence[Row], resistances: Sequence[float]) -> SideBySide:
    strings = [_string(ask, row, resistance) for row, resistance in zip(rows, resistances, strict=True)]
    return solve_side_by_side(strings, ask.supply, ask.ambient_temperature)


def _raised(
    ask: ArrangementAsk, rows: Sequence[Row], models: Sequence[StringModel], together: SideBySide
) -> list[float] | None:
    """Return higher resistors where rows push one past its limits, None where all keep them."""
    margin = 1 + 1e-9 if ask.on_hand is None else WINDOW[1] * (1 + 1e-9)
    found = []
    changed = False
    for row, model, answer, currents in zip(rows, models, together.answers, together.currents, strict=True):
        resistance = answer.resistance or 0.0
        over = currents.high > model.max_forward_current * (1 + 1e-9)
        over = over or currents.fresh > max(model.rated_current, row.wanted) * margin
        if over and resistance > 0:
            resistance = preferred_above(resistance, ladder(ask.e_series)) or resistance
            changed = True
        found.append(resistance)
    return found if changed else None
