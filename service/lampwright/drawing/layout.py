"""Place a build on the page: which rungs are drawn, how high each stands, where pages break.

The picture is a ladder. The top rung is the supply with its fuse and switch; the left rail is plus, the
right rail is minus; each rung below is a row, or several rows alike drawn once with their count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lampwright.drawing.symbols import colour_letters
from lampwright.planner.labels import light_label, rows_in
from lampwright.planner.models.build import Plan, PlannedString, PlannedWire
from lampwright.planner.names import own_names
from lampwright.planner.together import served
from lampwright.sheets.wording import mixed, span_words

PLUS_X, MINUS_X = 36.0, 684.0  # the rails
START_X, END_X = 168.0, 590.0  # where rows begin and end
TOP_Y = 42.0
PITCH = 62.0  # from one row to the next
HEADING = 18.0  # more where a heading stands above the row
PER_PICTURE = 12  # rows
DRAWN_SINGLY = 4  # a build of so few rows shows each of them
SLOTS = 5  # lights in a row that are drawn one by one


@dataclass(frozen=True, slots=True)
class Light:
    """One light in a rung; ``more`` counts the lights a gap stands for (then ``label`` spans them)."""

    label: str
    letters: str
    prewired: bool = False
    more: int = 0


@dataclass(frozen=True, slots=True)
class Rung:
    """One drawn row: its rows' labels, heading, resistor and lights, and its place."""

    rows: tuple[str, ...]
    heading: str
    string: PlannedString
    resistance: float | None
    lights: tuple[Light, ...]
    wire: PlannedWire | None
    opens: bool  # first rung of its wire run
    closes: bool  # last rung of its wire run
    y: float = 0.0


@dataclass(frozen=True, slots=True)
class Page:
    """The rungs of one picture and its height."""

    rungs: tuple[Rung, ...]
    height: float


def row_lights(string: PlannedString, row: str) -> tuple[Light, ...]:
    """Return what is drawn of a row's lights: all of them, or ends and a counted gap between."""
    leds = string.leds
    every = tuple(
        Light(light_label(row, place), colour_letters(led.colour), led.prewired)
        for place, led in enumerate(leds)
    )
    if len(every) <= SLOTS:
        return every
    first, last = every[:2], every[-1:]
    hidden = every[2:-1]
    gap = Light(f"{hidden[0].label} to {hidden[-1].label}", "", False, len(hidden))
    return (*first, gap, *last)


def wire_of(plan: Plan, string: PlannedString) -> PlannedWire | None:
    """Return the wire run that serves a row."""
    return next((wire for wire in plan.wires if served(wire, string)), None)


def _heading(string: PlannedString, rows: tuple[str, ...], own: Mapping[str, str]) -> str:
    names = mixed([own[name] for name in string.light_names])
    if len(rows) == 1:
        return f"Row {rows[0]}: {names}"
    return f"Rows {span_words(string.row)} (× {len(rows)}): {names}"


def rungs(plan: Plan) -> tuple[Rung, ...]:
    """Return every rung in order, not yet placed."""
    singly = sum(string.solved.branch_count for string in plan.strings) <= DRAWN_SINGLY
    own = own_names(plan)
    found: list[Rung] = []
    for string in plan.strings:
        rows = rows_in(string.row)
        wire = wire_of(plan, string)
        shown = [(row,) for row in rows] if singly else [rows]
        for labels in shown:
            found.append(
                Rung(
                    rows=labels,
                    heading=_heading(string, labels, own),
                    string=string,
                    resistance=string.solved.resistance,
                    lights=row_lights(string, labels[0]),
                    wire=wire,
                    opens=True,
                    closes=True,
                )
            )
    return tuple(found)


def pages(plan: Plan) -> tuple[Page, ...]:
    """Return the pictures of a build: at most ``PER_PICTURE`` rungs each."""
    every = rungs(plan)
    found = []
    for start in range(0, max(len(every), 1), PER_PICTURE):
        found.append(_placed(every[start : start + PER_PICTURE]))
    return tuple(found)


def _placed(some: tuple[Rung, ...]) -> Page:
    """Give each rung its height, and mark where a wire run begins and ends on this page."""
    y = TOP_Y + 20.0
    placed = []
    for index, rung in enumerate(some):
        y += PITCH + (HEADING if rung.heading else 0.0) if index else PITCH + HEADING
        before = some[index - 1].wire if index else None
        after = some[index + 1].wire if index + 1 < len(some) else None
        placed.append(
            Rung(
                rung.rows,
                rung.heading,
                rung.string,
                rung.resistance,
                rung.lights,
                rung.wire,
                opens=index == 0 or rung.wire is None or before is not rung.wire,
                closes=index + 1 == len(some) or rung.wire is None or after is not rung.wire,
                y=y,
            )
        )
    return Page(tuple(placed), y + 44.0)
