"""All rows of a build on one supply at once: what each really gets, wires and sag counted in.

Theory of operation. The supply with its inner resistance and the main run W0 carry every row's current:
one common resistance. A run that several rows share is counted into each row, times the rows on it: exact
while those rows are alike, and close where they are not, because such a run loses little.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from lampwright.physics.circuits import Branch, Solution, solve_parallel
from lampwright.planner.labels import first_row, rows_in
from lampwright.planner.models.build import PlannedString, PlannedWire
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import Corner, source_resistances, string_model

CORNERS = ("low", "expected", "high")


@dataclass(frozen=True, slots=True)
class Loops:
    """Loop resistances of a build: the main run's, and what each string's own run adds to one row."""

    main: float
    rows: tuple[float, ...]


@lru_cache(maxsize=4096)
def rows_served(serves: str) -> frozenset[str]:
    """Return the labels of the rows in a list of spans.

    >>> sorted(rows_served("A–C, H"))
    ['A', 'B', 'C', 'H']
    """
    return frozenset(row for span in serves.split(", ") for row in rows_in(span))


def served(wire: PlannedWire, string: PlannedString) -> bool:
    """Return whether a run serves a row; rows alike lie on one run."""
    return wire.label != "W0" and first_row(string.row) in rows_served(wire.serves)


def loops_of(strings: Sequence[PlannedString], wires: Sequence[PlannedWire]) -> Loops:
    """Return the loop resistances that planned wires put in front of planned strings."""
    main = next((wire.figures.loop_resistance for wire in wires if wire.label == "W0"), None)
    on: list[float] = [0.0] * len(strings)
    for wire in wires:
        mine = [place for place, string in enumerate(strings) if served(wire, string)]
        rows = sum(strings[place].solved.branch_count for place in mine)
        for place in mine:
            on[place] = (wire.figures.loop_resistance or 0.0) * rows
    return Loops(main or 0.0, tuple(on))


def corner_of(string: PlannedString, corner: str, ambient_temperature: float) -> Corner:
    """Return a row's lights at one corner, named for its current."""
    model = string_model(string.leds, ambient_temperature)
    return {"low": model.low, "expected": model.expected, "high": model.high}[corner]


def branches_at(
    strings: Sequence[PlannedString], loops: Loops, corner: str, ambient_temperature: float
) -> tuple[Branch, ...]:
    """Return every row as a branch at a corner."""
    sign = {"low": 1.0, "expected": 0.0, "high": -1.0}[corner]
    found = []
    for place, string in enumerate(strings):
        lights = corner_of(string, corner, ambient_temperature)
        resistance = (string.solved.resistance or 0.0) * (1 + sign * string.solved.tolerance)
        found.append(
            Branch(
                lights.diodes,
                resistance + lights.built_in_resistance + loops.rows[place],
                string.solved.branch_count,
            )
        )
    return tuple(found)


def solve_build(
    strings: Sequence[PlannedString],
    loops: Loops,
    supply: Supply,
    corner: str,
    ambient_temperature: float,
    supply_voltage: float | None = None,
) -> Solution:
    """Return all currents at a corner; ``supply_voltage`` replaces the window's own."""
    voltage = {
        "low": supply.supply_voltage_min,
        "expected": supply.supply_voltage,
        "high": supply.supply_voltage_max,
    }[corner]
    if supply_voltage is not None:
        voltage = supply_voltage
    small, middle, large = source_resistances(supply)
    source = {"low": large, "expected": middle, "high": small}[corner]
    branches = branches_at(strings, loops, corner, ambient_temperature)
    return solve_parallel(voltage, source + loops.main, branches)
