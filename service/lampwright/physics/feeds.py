"""A pair of wires with branches along it, fed at one end or at both.

Theory of operation. Every branch current flows through the wire between it and the supply and lowers
the voltage there. Newton's method on the branch voltages: the residual is the voltage each branch has
less the voltage that Kirchhoff's sums along the wire leave it (two running sums, so nothing cancels);
the step solves a three-diagonal system, the wire's conductances plus each branch's slope. What the
source resistance does to all branches at once is one vector more (Sherman and Morrison). Points with
no resistance between them are one point.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

from lampwright.errors import OutOfRangeError
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import StringLaw

if TYPE_CHECKING:
    from lampwright.physics.batches import ManyStrings

#: From this many branches on numpy pays for its import; an ordinary question never gets there.
_LONG = 300


@dataclass(frozen=True, slots=True)
class FeedSolution:
    """Where a feed settles; tuples run along the feed, one entry per `Branch`.

    Attributes
    ----------
    terminal_voltage : float
        At the supply, before the feed. [V]
    branch_voltages : tuple of float
        Between the two wires at each branch. [V]
    currents : tuple of float
        Of one string of each branch. [A]
    supply_current : float
        All together. [A]
    """

    terminal_voltage: float
    branch_voltages: tuple[float, ...]
    currents: tuple[float, ...]
    supply_current: float


def solve_feed(
    open_circuit_voltage: float,
    source_resistance: float,
    lead_loop: float,
    segment_loop: float,
    far_end_lead_loop: float | None,
    branches: Sequence[Branch],
) -> FeedSolution:
    """Return voltages and currents along a two-wire feed.

    Parameters
    ----------
    open_circuit_voltage : float
        Of the source. [V]
    source_resistance : float, not negative
        Of the source, carrying everything. [Ω]
    lead_loop : float, not negative
        From the supply to the first branch, both wires counted. [Ω]
    segment_loop : float, not negative
        From each branch to the next, both wires counted. [Ω]
    far_end_lead_loop : float, not negative, or None
        From the supply to the last branch where the feed is fed at both ends. [Ω]
    branches : sequence of Branch
        In order along the feed; each at one point, however many strings it stands for.

    Returns
    -------
    solution : FeedSolution
        Voltages and currents along the feed.

    Raises
    ------
    OutOfRangeError
        If a resistance is negative, a count is not positive, or nothing limits a current.

    References
    ----------
    [BANWELL-2000], each branch's current; Kirchhoff's sums along the wire by Newton's method.

    Examples
    --------
    >>> from lampwright.physics.diodes import diode_from_point
    >>> white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    >>> rows = [Branch((white,), 100.0)] * 10
    >>> one_end = solve_feed(5.0, 0.0, 0.2, 0.2, None, rows)
    >>> both_ends = solve_feed(5.0, 0.0, 0.2, 0.2, 0.2, rows)
    >>> one_end.currents[-1] < both_ends.currents[-1] == both_ends.currents[0]
    True
    """
    if min(source_resistance, lead_loop, segment_loop, far_end_lead_loop or 0.0) < 0:
        raise OutOfRangeError("a loop resistance is not negative")
    if any(branch.count < 1 for branch in branches):
        raise OutOfRangeError("a branch stands for at least one string")
    if open_circuit_voltage <= 0 or not branches:
        voltage = max(open_circuit_voltage, 0.0)
        zeros = (0.0,) * len(branches)
        return FeedSolution(voltage, (voltage,) * len(branches), zeros, 0.0)
    if segment_loop == 0 or len(branches) == 1:
        return _one_point(open_circuit_voltage, source_resistance, lead_loop, far_end_lead_loop, branches)
    feed = _Ladder(
        open_circuit_voltage, source_resistance, lead_loop, segment_loop, far_end_lead_loop, branches
    )
    return feed.solve()


def _one_point(
    open_circuit_voltage: float,
    source_resistance: float,
    lead_loop: float,
    far_end_lead_loop: float | None,
    branches: Sequence[Branch],
) -> FeedSolution:
    """Solve a feed whose branches all sit at one point: its leads are side by side."""
    lead = lead_loop
    if far_end_lead_loop is not None:
        both = lead_loop + far_end_lead_loop
        lead = lead_loop * far_end_lead_loop / both if both else 0.0
    solved = solve_parallel(open_circuit_voltage, source_resistance + lead, branches)
    return FeedSolution(
        terminal_voltage=open_circuit_voltage - source_resistance * solved.supply_current,
        branch_voltages=(solved.terminal_voltage,) * len(branches),
        currents=solved.currents,
        supply_current=solved.supply_current,
    )


class _Ladder:
    """A feed with resistance between its branches.

    A lead of no resistance puts its branch on the supply's terminals, apart from the others, which
    form the chain. All lists run over the chain alone.
    """

    def __init__(
        self,
        open_circuit_voltage: float,
        source_resistance: float,
        lead_loop: float,
        segment_loop: float,
        far_end_lead_loop: float | None,
        branches: Sequence[Branch],
    ) -> None:
        self.open_circuit_voltage = open_circuit_voltage
        self.source_resistance = source_resistance
        self.segment_loop = segment_loop
        self.first_at_terminals = lead_loop == 0
        self.last_at_terminals = far_end_lead_loop == 0
        self.near_loop = segment_loop if self.first_at_terminals else lead_loop
        self.far_loop = segment_loop if self.last_at_terminals else far_end_lead_loop
        made: dict[int, StringLaw] = {}
        laws = []
        for branch in branches:
            # Equal branches are often one object: prepare it once.
            law = made.get(id(branch))
            if law is None:
                law = made[id(branch)] = StringLaw(branch.diodes, branch.resistance)
            laws.append((law, branch.count))
        start, stop = int(self.first_at_terminals), len(laws) - int(self.last_at_terminals)
        self.at_terminals = laws[:start] + laws[stop:]
        self.chain = laws[start:stop]
        self.many: ManyStrings | None = None
        if len(self.chain) >= _LONG and all(law.alike for law, _ in self.chain):
            from lampwright.physics.batches import ManyStrings

            self.many = ManyStrings(self.chain)

    def solve(self) -> FeedSolution:
        """Return the whole feed's voltages and currents."""
        terminal_voltage = self.open_circuit_voltage
        voltages = [terminal_voltage] * len(self.chain)
        # From above the solution every step stays above it; the pace is quadratic near the end.
        for _ in range(200):
            terminal_voltage, voltages, size = self._step(terminal_voltage, voltages)
            # A curve bends by at most 1/(2·A) per volt: after so small a step only rounding is left.
            if size <= 1e-9 * self.open_circuit_voltage:
                break
        edges = [(law.current(terminal_voltage), count) for law, count in self.at_terminals]
        together, _ = self._along(voltages)
        inner = [current / count for current, (_, count) in zip(together, self.chain, strict=True)]
        supply_current = sum(current * count for current, count in edges) + sum(together)
        currents = tuple(inner)
        points = tuple(voltages)
        if self.first_at_terminals:
            currents, points = (edges[0][0], *currents), (terminal_voltage, *points)
        if self.last_at_terminals:
            currents, points = (*currents, edges[-1][0]), (*points, terminal_voltage)
        return FeedSolution(terminal_voltage, points, currents, supply_current)

    def _sags(self, currents: list[float]) -> list[float]:
        """Return how far the wire lowers each point of the chain under the supply's terminals."""
        segment = self.segment_loop
        passed = list(accumulate(currents))
        total = passed.pop()
        entering = total
        if self.far_loop is not None:
            # What enters at the near end makes the sum of drops from terminals to terminals zero.
            around = self.near_loop + len(passed) * segment + self.far_loop
            entering = (segment * sum(passed) + self.far_loop * total) / around
        drops = (segment * (entering - before) for before in passed)
        return list(accumulate(drops, initial=self.near_loop * entering))

    def _step(self, terminal_voltage: float, voltages: list[float]) -> tuple[float, list[float], float]:
        """Return the voltages after one Newton step, and the size of the step."""
        source = self.source_resistance
        edge_current = 0.0
        edge_slope = 0.0
        for law, count in self.at_terminals:
            current = law.current(terminal_voltage)
            edge_current += count * current
            edge_slope += count * law.conductance(current)
        currents, slopes = self._along(voltages)
        terminal_should = self.open_circuit_voltage - source * (edge_current + sum(currents))
        terminal_residual = terminal_voltage - terminal_should
        if not currents:
            step = terminal_residual / (1.0 + source * edge_slope)
            return terminal_voltage - step, voltages, abs(step)
        residuals = [
            voltage - terminal_should + sag
            for voltage, sag in zip(voltages, self._sags(currents), strict=True)
        ]
        inner, lifted = self._eliminate(residuals, slopes, wanted_lift=source > 0)
        if source > 0:
            # One more unknown, the change of the supply's current, ties all points together.
            pull = sum(slope * change for slope, change in zip(slopes, inner, strict=True))
            follow = sum(slope * change for slope, change in zip(slopes, lifted, strict=True))
            more = (pull - edge_slope * terminal_residual) / (1.0 + source * (follow + edge_slope))
            terminal_change = -terminal_residual - source * more
            changes = [a - source * more * b for a, b in zip(inner, lifted, strict=True)]
        else:
            terminal_change = -terminal_residual
            changes = inner
        moved = [voltage + change for voltage, change in zip(voltages, changes, strict=True)]
        size = max(abs(terminal_change), max(map(abs, changes)))
        return terminal_voltage + terminal_change, moved, size

    def _along(self, voltages: list[float]) -> tuple[list[float], list[float]]:
        """Return current and slope of every branch of the chain, its strings together."""
        if self.many is not None:
            return self.many.currents_and_slopes(voltages)
        currents = []
        slopes = []
        for (law, count), voltage in zip(self.chain, voltages, strict=True):
            current = law.current(voltage)
            currents.append(count * current)
            slopes.append(count * law.conductance(current))
        return currents, slopes

    def _eliminate(
        self, residuals: list[float], slopes: list[float], *, wanted_lift: bool
    ) -> tuple[list[float], list[float]]:
        """Solve (wire + slopes) x = −wire·residuals, and for a lift of the terminals by one volt.

        Everything is counted in conductances of one segment, so that a link between neighbours is 1.
        """
        segment = self.segment_loop
        near = segment / self.near_loop
        far = segment / self.far_loop if self.far_loop is not None else 0.0
        final = len(residuals) - 1
        pulls = [
            left - 2.0 * here + right
            for left, here, right in zip(
                (0.0, *residuals[:-1]), residuals, (*residuals[1:], 0.0), strict=True
            )
        ]
        diagonals = [2.0 + segment * slope for slope in slopes]
        # The ends hang on their leads in place of a neighbour.
        pulls[0] += (1.0 - near) * residuals[0]
        diagonals[0] += near - 1.0
        pulls[final] += (1.0 - far) * residuals[final]
        diagonals[final] += far - 1.0
        factor = value = 0.0
        factors: list[float] = []
        right: list[float] = []
        for diagonal, pull in zip(diagonals, pulls, strict=True):
            factor = 1.0 / (diagonal - factor)
            value = (pull + value) * factor
            factors.append(factor)
            right.append(value)
        lift: list[float] = []
        if wanted_lift:
            raised = 0.0
            sources = [0.0] * len(residuals)
            sources[0] += near
            sources[final] += far
            for factor, source in zip(factors, sources, strict=True):
                raised = (source + raised) * factor
                lift.append(raised)
            lift = _substitute(factors, lift)
        return _substitute(factors, right), lift


def _substitute(factors: list[float], values: list[float]) -> list[float]:
    """Return the unknowns from the eliminated system, last one first and turned round again."""
    found: list[float] = []
    after = 0.0
    for factor, value in zip(reversed(factors), reversed(values), strict=True):
        after = value + factor * after
        found.append(after)
    found.reverse()
    return found
