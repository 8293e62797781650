"""A circuit as it stands, ready to be solved at any corner: rows, what they share, and the wire.

Theory of operation. A row's current grows with the supply and with what *other* rows leave it. So its
highest current has this one row at its high corner and all others at their low one, and the other way
round: with a shared resistor that is far from "all parts alike". Small circuits are solved so, row by
row. In large ones the other rows are replaced by what they do near their solution, a voltage behind a
resistance; since currents bend upwards with voltage this errs to the safe side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import StringLaw
from lampwright.physics.feeds import solve_feed
from lampwright.planner.models.circuits import Feed, StringAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import Corner, Corners, StringModel, source_resistances, string_model

#: Spread of a shared resistor whose bands nobody told us.
SHARED_TOLERANCE = 0.05
#: Up to this many rows every bound is solved exactly.
_EXACT_ROWS = 12
#: What stands on a feed where a row does not conduct.
_OPEN = Branch((), 1e15)
_SIGN = {"low": 1.0, "expected": 0.0, "high": -1.0}


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of the answer: a string, how many of it are meant, and where it came from in the ask."""

    place: int
    string: StringAsk
    model: StringModel
    count: int

    def lights(self, corner: str) -> Corner:
        """Return the row's lights at a corner, named for its current."""
        if corner == "expected":
            return self.model.expected
        return self.model.high if corner == "high" else self.model.low

    def branch(self, corner: str, count: int) -> Branch:
        """Return the row for the solver; a row with a light the wrong way round is none."""
        lights = self.lights(corner)
        own = (self.string.resistance or 0.0) * (1 + _SIGN[corner] * self.string.tolerance)
        return Branch(lights.diodes, own + lights.built_in_resistance, count)


@dataclass(frozen=True, slots=True)
class Settled:
    """Where a circuit settles; one voltage and one current per row."""

    terminal_voltage: float
    voltages: tuple[float, ...]
    currents: tuple[float, ...]
    supply_current: float


@dataclass(frozen=True, slots=True)
class Solved:
    """A circuit solved at its corners, and what its rows would do right at the supply."""

    rows: tuple[Row, ...]
    at: dict[str, Settled]
    corners: tuple[Corners, ...]
    near: tuple[float, ...]
    near_high: tuple[float, ...]
    shared: float
    loop: float


@dataclass(frozen=True, slots=True)
class Behind:
    """Voltage of the source, its resistance, and what lies between it and the rows."""

    voltage: float
    source: float
    shared: float


def rows_of(strings: Sequence[StringAsk], feed: Feed | None, ambient_temperature: float) -> tuple[Row, ...]:
    """Return the rows of a circuit: on a feed one a branch, else one a string."""
    rows = []
    for place, string in enumerate(strings):
        model = string_model(string.leds, ambient_temperature)
        if feed is None:
            rows.append(Row(place, string, model, string.branch_count))
        else:
            rows.extend(Row(place, string, model, 1) for _ in range(string.branch_count))
    return tuple(rows)


class Network:
    """A circuit that can be solved at any corner.

    Parameters
    ----------
    supply : Supply
        Its whole window is used.
    rows : sequence of Row
        On a feed in order along it.
    shared_resistance : float
        One resistor carrying all rows' current. [Ω]
    wire_loop : float
        Of the wire from supply to rows, both conductors. [Ω]
    feed : Feed or None
        A two-wire feed along which the rows sit.
    """

    def __init__(
        self,
        supply: Supply,
        rows: Sequence[Row],
        shared_resistance: float = 0.0,
        wire_loop: float = 0.0,
        feed: Feed | None = None,
    ) -> None:
        self.supply = supply
        self.rows = tuple(rows)
        self.shared_resistance = shared_resistance
        self.wire_loop = wire_loop
        self.feed = feed
        self._lit = tuple(index for index, row in enumerate(rows) if not row.string.reversed)
        self._made: dict[tuple[int, str, int], Branch] = {}

    def _branch(self, index: int, corner: str, count: int) -> Branch:
        """Return a row for the solver, made once: a long feed has the same one at every point."""
        key = (self.rows[index].place, corner, count)
        if key not in self._made:
            self._made[key] = self.rows[index].branch(corner, count)
        return self._made[key]

    def behind(self, corner: str) -> Behind:
        """Return what feeds the rows at low, expected, high, fresh or empty."""
        supply = self.supply
        small, middle, large = source_resistances(supply)
        shared = self.shared_resistance
        return {
            "low": Behind(supply.supply_voltage_min, large, shared * (1 + SHARED_TOLERANCE)),
            "expected": Behind(supply.supply_voltage, middle, shared),
            "high": Behind(supply.supply_voltage_max, small, shared * (1 - SHARED_TOLERANCE)),
            "fresh": Behind(supply.supply_voltage_max, small, shared),
            "empty": Behind(supply.supply_voltage_min, large, shared),
        }[corner]

    def solve(self, behind: Behind, corner: Callable[[int], str]) -> Settled:
        """Return where the circuit settles, every row at the corner told for its index."""
        branches = [self._branch(index, corner(index), self.rows[index].count) for index in self._lit]
        return self._settle(behind, branches)

    def at(self, corner: str) -> Settled:
        """Return where the circuit settles with supply and rows at one corner of the five."""
        parts = corner if corner in _SIGN else "expected"
        return self.solve(self.behind(corner), lambda _: parts)

    def _settle(self, behind: Behind, branches: Sequence[Branch]) -> Settled:
        """Solve branches that stand for the lit rows, in their order."""
        common = behind.shared + self.wire_loop
        if self.feed is None:
            solved = solve_parallel(behind.voltage, behind.source + common, branches)
            currents, total = solved.currents, solved.supply_current
            voltages = (solved.terminal_voltage,) * len(branches)
            dark = solved.terminal_voltage
        else:
            feed = self.feed
            # A dark row keeps its place: the wire goes on past it.
            places = [_OPEN] * len(self.rows)
            for index, branch in zip(self._lit, branches, strict=True):
                places[index] = branch
            along = solve_feed(
                behind.voltage,
                behind.source + common,
                feed.lead_loop,
                feed.segment_loop,
                feed.far_end_lead_loop,
                places,
            )
            currents = tuple(along.currents[index] for index in self._lit)
            voltages = tuple(along.branch_voltages[index] for index in self._lit)
            total = sum(currents)
            dark = max(along.branch_voltages, default=behind.voltage)
        all_voltages = [dark] * len(self.rows)
        all_currents = [0.0] * len(self.rows)
        for index, voltage, current in zip(self._lit, voltages, currents, strict=True):
            all_voltages[index] = voltage
            all_currents[index] = current
        return Settled(
            behind.voltage - behind.source * total, tuple(all_voltages), tuple(all_currents), total
        )

    def corners(self, settled: dict[str, Settled]) -> tuple[Corners, ...]:
        """Return every row's currents; ``settled`` holds the five corners of the whole circuit."""
        highest = self._bounds("high", "low")
        lowest = self._bounds("low", "high")
        return tuple(
            Corners(
                low=lowest[index],
                expected=settled["expected"].currents[index],
                high=highest[index],
                fresh=settled["fresh"].currents[index],
                empty=settled["empty"].currents[index],
            )
            for index in range(len(self.rows))
        )

    def _alone(self, behind: Behind) -> bool:
        """Return whether rows do not feel each other at all."""
        no_feed = self.feed is None or (
            self.feed.segment_loop == 0 and self.feed.lead_loop == 0 and not self.feed.far_end_lead_loop
        )
        return no_feed and behind.source + behind.shared + self.wire_loop == 0

    def _bounds(self, own: str, others: str) -> tuple[float, ...]:
        """Return each row's bound: itself at one corner, all others at the opposite one."""
        behind = self.behind(own)
        lit = self._lit
        if self._alone(behind) or (len(lit) == 1 and self.rows[lit[0]].count == 1):
            return self.solve(behind, lambda _: own).currents
        if len(lit) <= _EXACT_ROWS:
            bounds = [0.0] * len(self.rows)
            known: dict[tuple[int, int], float] = {}
            for index in lit:
                row = self.rows[index]
                # Off a feed equal entries are one question.
                key = (row.place, index if self.feed is not None else 0)
                if key not in known:
                    known[key] = self._one_apart(behind, index, own, others)
                bounds[index] = known[key]
            return tuple(bounds)
        return self._bounds_of_many(behind, own, others)

    def _one_apart(self, behind: Behind, apart: int, own: str, others: str) -> float:
        """Return the current of one string at its own corner among all others at theirs."""
        branches = []
        for index in self._lit:
            row = self.rows[index]
            if index != apart:
                branches.append(self._branch(index, others, row.count))
            elif self.feed is not None or row.count == 1:
                branches.append(self._branch(index, own, row.count))
        row = self.rows[apart]
        if self.feed is not None:
            return self._settle(behind, branches).currents[apart]
        if row.count > 1:
            branches.append(self._branch(apart, others, row.count - 1))
            branches.append(self._branch(apart, own, 1))
            place = len(branches) - 1
        else:
            place = self._lit.index(apart)
        common = behind.source + behind.shared + self.wire_loop
        return solve_parallel(behind.voltage, common, branches).currents[place]

    def _bounds_of_many(self, behind: Behind, own: str, others: str) -> tuple[float, ...]:
        """Return bounds of a large circuit from one solution with all rows at the others' corner."""
        base = self.solve(behind, lambda _: others)
        common = behind.source + behind.shared + self.wire_loop
        slopes = 0.0
        for index in self._lit:
            row = self.rows[index]
            branch = self._branch(index, others, row.count)
            slopes += row.count * StringLaw(branch.diodes, branch.resistance).conductance(
                base.currents[index]
            )
        # What the rest of the circuit yields when one string takes more; nothing where it takes less.
        yielding = common / (1.0 + common * slopes) if own == "high" else 0.0
        bounds = [0.0] * len(self.rows)
        for index in self._lit:
            branch = self._branch(index, own, 1)
            voltage = base.voltages[index] + yielding * base.currents[index]
            bounds[index] = StringLaw(branch.diodes, branch.resistance + yielding).current(voltage)
        return tuple(bounds)
