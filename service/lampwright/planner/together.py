"""All rows of a build on one supply at once: what each really gets, wires and sag counted in.

Theory of operation. The supply with its inner resistance and the main run W0 carry every row's current:
one common resistance. A run carries the current of the rows on it. All of it is solved at once by Newton's
method. Rows that hardly conduct, where that does not come to rest, are solved the sure way: while rows on a
run are alike it counts into each of them, times their number, which is exact; where unlike rows share one,
the voltage where the runs part is found by the secant rule between bounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from lampwright.physics.circuits import Branch, Solution, solve_parallel
from lampwright.physics.diodes import StringLaw
from lampwright.physics.settling import Settling, settle, settling
from lampwright.planner.labels import first_row, rows_in
from lampwright.planner.models.build import PlannedString, PlannedWire
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import Corner, source_resistances, string_model

CORNERS = ("low", "expected", "high")


@dataclass(frozen=True, slots=True)
class Loops:
    """Loop resistances of a build.

    ``main`` is the main run's; ``rows`` what a string's own run amounts to in one row while all rows on
    it are alike; ``runs`` each run's loop with the indexes of the strings on it.
    """

    main: float
    rows: tuple[float, ...]
    runs: tuple[tuple[float, tuple[int, ...]], ...] = ()


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
    runs: list[tuple[float, tuple[int, ...]]] = []
    left = set(range(len(strings)))
    for wire in wires:
        mine = tuple(place for place, string in enumerate(strings) if served(wire, string))
        loop = wire.figures.loop_resistance or 0.0
        rows = sum(strings[place].solved.branch_count for place in mine)
        for place in mine:
            on[place] = loop * rows
        if mine:
            runs.append((loop, mine))
            left -= set(mine)
    runs += [(0.0, (place,)) for place in sorted(left)]
    return Loops(main or 0.0, tuple(on), tuple(runs))


Prepared = tuple[Branch, Settling | None]


def prepared(branch: Branch) -> Prepared:
    """Return rows alike with what solving them takes, for those who solve them often."""
    return branch, settling(StringLaw(branch.diodes, branch.resistance), branch.count)


def solve_runs(
    open_circuit_voltage: float, common: float, runs: Sequence[tuple[float, Sequence[Branch]]]
) -> Solution:
    """Return the currents of branches that hang on runs of their own; in the order of the runs.

    Parameters
    ----------
    open_circuit_voltage : float
        Of the source. [V]
    common : float
        What carries every current: source and main run. [Ω]
    runs : sequence of (float, sequence of Branch)
        Loop resistance of a run [Ω], and the branches at its end.
    """
    return solve_prepared(
        open_circuit_voltage,
        common,
        [(loop, [prepared(branch) for branch in branches]) for loop, branches in runs],
    )


def solve_prepared(
    open_circuit_voltage: float,
    common: float,
    runs: Sequence[tuple[float, Sequence[Prepared]]],
    near: Sequence[float] = (),
) -> Solution:
    """Return what `solve_runs` does, of rows that are prepared already; ``near`` as in `settle`."""
    if open_circuit_voltage > 0:
        quick, counts = [], []
        for loop, rows in runs:
            ready = [row for _, row in rows if row is not None]
            counts += [row[0] for row in ready]
            quick.append((loop, ready))
        if len(counts) > 1 and len(counts) == sum([len(rows) for _, rows in runs]):
            found = settle(open_circuit_voltage, common, quick, near)
            if found is not None:
                total = 0.0
                for count, current in zip(counts, found[0], strict=True):
                    total += count * current
                return Solution(found[1], found[0], total)
    return _solved_surely(
        open_circuit_voltage, common, [(loop, [branch for branch, _ in rows]) for loop, rows in runs]
    )


def _solved_surely(
    open_circuit_voltage: float, common: float, runs: Sequence[tuple[float, Sequence[Branch]]]
) -> Solution:
    """Return the currents between bounds that close in on them."""
    if all(len(branches) == 1 or loop == 0 for loop, branches in runs):
        flat = [
            Branch(branch.diodes, branch.resistance + loop * branch.count, branch.count) if loop else branch
            for loop, branches in runs
            for branch in branches
        ]
        return solve_parallel(open_circuit_voltage, common, flat)

    def at(voltage: float) -> tuple[tuple[float, ...], float]:
        solved = [solve_parallel(voltage, loop, branches) for loop, branches in runs]
        return tuple(current for each in solved for current in each.currents), sum(
            each.supply_current for each in solved
        )

    low, high = 0.0, max(open_circuit_voltage, 0.0)
    currents, total = at(high)
    excess_high = common * total
    if excess_high <= 1e-12 * high:
        return Solution(high, currents, total)
    # Between bounds: too little voltage at low, too much at high; the chord brings them together, and
    # halving the value at a bound that stays put keeps it from crawling (the Illinois rule).
    excess_low, last = -high, 0
    voltage = high
    for _ in range(100):
        voltage = (low * excess_high - high * excess_low) / (excess_high - excess_low)
        currents, total = at(voltage)
        excess = voltage + common * total - open_circuit_voltage
        if abs(excess) <= 1e-11 * open_circuit_voltage:
            break
        if excess > 0:
            high, excess_high = voltage, excess
            excess_low = excess_low / 2 if last > 0 else excess_low
            last = 1
        else:
            low, excess_low = voltage, excess
            excess_high = excess_high / 2 if last < 0 else excess_high
            last = -1
    return Solution(voltage, currents, total)


def corner_of(string: PlannedString, corner: str, ambient_temperature: float) -> Corner:
    """Return a row's lights at one corner, named for its current."""
    model = string_model(string.leds, ambient_temperature)
    return {"low": model.low, "expected": model.expected, "high": model.high}[corner]


def branches_at(
    strings: Sequence[PlannedString], corner: str, ambient_temperature: float
) -> tuple[Branch, ...]:
    """Return every row as a branch at a corner, without the wire to it."""
    sign = {"low": 1.0, "expected": 0.0, "high": -1.0}[corner]
    found = []
    for string in strings:
        lights = corner_of(string, corner, ambient_temperature)
        resistance = (string.solved.resistance or 0.0) * (1 + sign * string.solved.tolerance)
        found.append(
            Branch(lights.diodes, resistance + lights.built_in_resistance, string.solved.branch_count)
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
    branches = branches_at(strings, corner, ambient_temperature)
    solved = solve_runs(
        voltage, source + loops.main, [(loop, [branches[at] for at in places]) for loop, places in loops.runs]
    )
    # Back from the order of the runs to the order of the strings.
    order = [place for _, places in loops.runs for place in places]
    currents = dict(zip(order, solved.currents, strict=True))
    return Solution(
        solved.terminal_voltage,
        tuple(currents[place] for place in range(len(strings))),
        solved.supply_current,
    )
