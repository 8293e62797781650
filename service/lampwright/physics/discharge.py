r"""A discharge: how the voltage falls while a battery feeds a load, and for how long.

Theory of operation. The charge drawn when a cell is at depth z is algebraic,
$q = z\,Q / (1 + a (\bar I/Q)^n)$: a faster discharge reaches the same depth with less charge taken out.
So no differential equation is stepped through: the time is the quadrature $t = \int q'(z)/I\,dz$, in
which q' holds the change of the current too. Gauss nodes in each knot interval do: four where the curve
is wanted, three for the times of the stops alone. An interval in which the current changes much is halved.
Where q' would turn negative (a constant power on a nearly empty battery) the discharge is over.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.errors import OutOfRangeError
from lampwright.physics.batteries import Pack
from lampwright.physics.interpolation import Piece
from lampwright.physics.loads import Load, Strings
from lampwright.records import quickly_made

_SECONDS = 3600.0


@quickly_made
@dataclass(frozen=True, slots=True)
class Passing:
    """When a stop is passed: depth of discharge [1] and time in use [s]."""

    depth: float
    time: float


@quickly_made
@dataclass(frozen=True, slots=True)
class Discharge:
    """A discharge from full.

    Attributes
    ----------
    passings : tuple of Passing or None, one per stop asked for
        None where the discharge ends before.
    end : Passing
        Where this discharge was followed to.
    ended_by : str
        stop (the last stop asked for), empty (no charge left) or collapse (the load cannot be fed).
    time, depth, voltage, current : tuple of float
        The curve. [s], [1], [V], [A]
    """

    passings: tuple[Passing | None, ...]
    end: Passing
    ended_by: str
    time: tuple[float, ...]
    depth: tuple[float, ...]
    voltage: tuple[float, ...]
    current: tuple[float, ...]


def depth_at(pack: Pack, current: float, voltage: float) -> float | None:
    """Return the depth of discharge at which a current pulls the pack down to a voltage.

    Parameters
    ----------
    pack : Pack
        The pack.
    current : float, not negative
        The load's current at that voltage. [A]
    voltage : float
        Terminal voltage. [V]

    Returns
    -------
    depth : float or None
        0 where it is there from the start, None where it never comes so low. [1]

    References
    ----------
    [IEC-60050], entry 482-03-30, cut-off voltage; the equation is Ohm's law behind a source.

    Examples
    --------
    >>> from lampwright.physics.batteries import cell_model, make_pack
    >>> plain = {"label": 1, "Q": 1, "R0": 0.1, "r1": 0, "r_power": 1, "a": 0, "n": 1, "Ea_R": 0, "Ea_a": 0}
    >>> pack = make_pack(cell_model(plain | {"U(0)": 1.5, "U(1)": 1.0}), 1)
    >>> round(depth_at(pack, 1.0, 1.0), 6)
    0.8
    """
    growth, power = pack.resistance * pack.growth * current, pack.growth_power
    wanted = voltage + pack.resistance * current
    depths, pieces = pack.depths, pack.pieces
    if pieces[0][0] <= wanted:
        return 0.0
    # Falling all the way. First the piece it lies in, by halves.
    at, beyond = 0, len(pieces)
    while beyond - at > 1:
        middle = (at + beyond) // 2
        if pieces[middle][0] - growth * math.pow(depths[middle], power) > wanted:
            at = middle
        else:
            beyond = middle
    left, (c0, c1, c2, c3) = depths[at], pieces[at]
    low, high = left, depths[at + 1]
    if beyond == len(pieces):
        t = high - left
        if c0 + t * (c1 + t * (c2 + t * c3)) - growth * math.pow(high, power) > wanted:
            return None
    # Within it Newton's method, kept between bounds that close in.
    depth = 0.5 * (low + high)
    for _ in range(200):
        t = depth - left
        grown = growth * math.pow(depth, power)
        over = c0 + t * (c1 + t * (c2 + t * c3)) - grown - wanted
        if over > 0:
            low = depth
        else:
            high = depth
        slope = c1 + t * (2.0 * c2 + t * 3.0 * c3) - power * grown / depth
        following = depth - over / slope if slope < 0 else low
        if not low < following < high:
            following = 0.5 * (low + high)
        if over == 0 or abs(following - depth) < 1e-14 or following in (low, high):
            break
        depth = following
    return depth


# Gauss-Legendre on [0, 1]: nodes and weights.
_FOUR = (
    (0.06943184420297371, 0.17392742256872692),
    (0.33000947820757187, 0.32607257743127307),
    (0.6699905217924281, 0.32607257743127307),
    (0.9305681557970262, 0.17392742256872692),
)
_THREE = (
    (0.1127016653792583, 5.0 / 18.0),
    (0.5, 4.0 / 9.0),
    (0.8872983346207417, 5.0 / 18.0),
)


def _partial_weights() -> tuple[tuple[float, ...], ...]:
    """Return the integrals of the four nodes' Lagrange polynomials from 0 to each node."""
    nodes = tuple(node for node, _ in _FOUR)
    rows = []
    for x in nodes:
        row = []
        for node in nodes:
            a, b, c = (other for other in nodes if other != node)
            scale = 1.0 / ((node - a) * (node - b) * (node - c))
            cubic = x**4 / 4 - (a + b + c) * x**3 / 3 + (a * b + b * c + a * c) * x**2 / 2 - a * b * c * x
            row.append(scale * cubic)
        rows.append(tuple(row))
    return tuple(rows)


_PARTIAL = _partial_weights()
# Halve an interval in which current or integrand changes by more than this factor.
_UNEVEN = 1.6
_UNEVEN_THREE = 1.4
_HALVINGS = 12


class _Integrator:
    """Follows one discharge; holds what every node needs."""

    def __init__(self, pack: Pack, load: Load, duty: float, session: float, *, curve: bool) -> None:
        self.pack, self.duty, self.curve = pack, duty, curve
        self.rule: tuple[tuple[float, float], ...] = _FOUR if curve else _THREE
        self.uneven = _UNEVEN if curve else _UNEVEN_THREE
        self.solve = load.following() if isinstance(load, Strings) else load.solve
        self.scale = duty * math.sqrt(session) / (pack.packs_in_parallel * pack.full_charge)
        self.leak = pack.leak / session
        self.seconds = _SECONDS * pack.packs_in_parallel
        self.time: list[float] = []
        self.depth: list[float] = []
        self.voltage: list[float] = []
        self.current: list[float] = []
        self.now = 0.0
        self.guess = 0.0

    def node(self, depth: float, left: float, piece: Piece) -> tuple[float, float, float] | None:
        """Return time per depth [s], current [A] and voltage [V] at a depth; None where it is over."""
        pack = self.pack
        t = depth - left
        c0, c1, c2, c3 = piece
        fall = c1 + t * (2.0 * c2 + t * 3.0 * c3)
        power = depth ** (pack.growth_power - 1.0) if depth > 0 else 0.0
        growth = pack.resistance * pack.growth * power
        resistance = pack.resistance + growth * depth
        point = self.solve(c0 + t * (c1 + t * (c2 + t * c3)), resistance, self.guess)
        if point is None:
            return None
        current, voltage, slope = point
        drawn = current * self.duty + self.leak
        bent = 1.0 + slope * resistance
        if not drawn > 0 or bent <= 0:
            return None
        self.guess = voltage
        charge = pack.charge
        if current > 0:
            lost = pack.rate * (current * self.scale) ** pack.rate_exponent
            change = slope * (fall - current * growth * pack.growth_power) / bent
            whole = 1.0 + lost
            charge *= (1.0 - depth * pack.rate_exponent * lost * change / (whole * current)) / whole
            if not charge > 0:
                return None
        return self.seconds * charge / drawn, current, voltage

    def interval(self, start: float, end: float, left: float, piece: Piece, halvings: int) -> float | None:
        """Add one interval to the curve; return None, or the depth at which it is over."""
        width = end - start
        found: list[tuple[float, float, float]] = []
        good = start
        total = 0.0
        for x, weight in self.rule:
            at = start + x * width
            value = self.node(at, left, piece)
            if value is None:
                return self._over(start, good, at, left, piece)
            good = at
            found.append(value)
            total += weight * value[0]
        if halvings > 0:
            currents = [value[1] for value in found]
            rates = [value[0] for value in found]
            if max(currents) > self.uneven * min(currents) or max(rates) > self.uneven * min(rates):
                middle = 0.5 * (start + end)
                self.guess = found[0][2]
                over = self.interval(start, middle, left, piece, halvings - 1)
                return self.interval(middle, end, left, piece, halvings - 1) if over is None else over
        if self.curve:
            self._keep(start, width, found)
        self.now += width * total
        return None

    def _keep(self, start: float, width: float, found: list[tuple[float, float, float]]) -> None:
        """Add the nodes of an interval to the curve."""
        f0, f1, f2, f3 = found[0][0], found[1][0], found[2][0], found[3][0]
        for (x, _), (w0, w1, w2, w3), value in zip(_FOUR, _PARTIAL, found, strict=True):
            self.time.append(self.now + width * (w0 * f0 + w1 * f1 + w2 * f2 + w3 * f3))
            self.depth.append(start + x * width)
            self.voltage.append(value[2])
            self.current.append(value[1])

    def _over(self, start: float, good: float, bad: float, left: float, piece: Piece) -> float:
        """Find where it is over between a good and a bad depth, and integrate up to there."""
        for _ in range(60):
            middle = 0.5 * (good + bad)
            if middle in (good, bad):
                break
            if self.node(middle, left, piece) is None:
                bad = middle
            else:
                good = middle
        # The integrand bends ever more towards the end: intervals that shrink with it.
        edge = start
        for part in (0.5, 0.75, 0.875, 0.9375, 0.96875, 1.0):
            upto = start + part * (good - start)
            if upto > edge:
                self.interval(edge, upto, left, piece, 0)
            edge = upto
        return good


def _stop_depth(pack: Pack, load: Load, voltage: float) -> float | None:
    """Return the depth at which the terminals are down to a voltage, None where they never are.

    A constant power meets each low voltage twice; the lower crossing is never reached, for the load
    collapses before: there the stable solution stands higher.
    """
    depth = depth_at(pack, load.current_at(voltage), voltage)
    if depth is None or isinstance(load, Strings):
        # Rows take less at less voltage: they meet each voltage once.
        return depth
    point = load.solve(pack.open_circuit_voltage(depth), pack.source_resistance(depth), voltage)
    if point is None or point[1] > voltage * (1.0 + 1e-6) + 1e-9:
        return None
    return depth


def discharge(
    pack: Pack,
    load: Load,
    stops: Sequence[float],
    duty: float = 1.0,
    session: float = 1.0,
    *,
    curve: bool = True,
) -> Discharge:
    r"""Follow a discharge from full until the last of the stops, or until it is over.

    The charge lost to fast discharge goes by the current times the duty (blinking) and by the square
    root of the part of the day in use (sessions): a battery recovers in pauses. The sag goes by the
    current itself.

    Parameters
    ----------
    pack : Pack
        The battery.
    load : Load
        What it feeds.
    stops : sequence of float
        Terminal voltages at which the time is wanted. [V]
    duty : float, above 0, at most 1
        Part of the time the load is on while in use. [1]
    session : float, above 0, at most 1
        Part of the day in use. [1]
    curve : bool
        Whether the curve is wanted, or the times of the stops alone, which is less work.

    Returns
    -------
    discharge : Discharge
        Times in use, and the curve. [s]

    Raises
    ------
    OutOfRangeError
        If duty or session is outside the range given above, or there is no stop.

    References
    ----------
    [FIT-BATTERIES], the model; [GOLUB-WELSCH-1969], the nodes of the quadrature.

    Examples
    --------
    One ampere-hour, no losses, 0.1 A: ten hours.

    >>> from lampwright.physics.loads import ConstantCurrent
    >>> from lampwright.physics.batteries import cell_model, make_pack
    >>> plain = {"label": 1, "Q": 1, "R0": 0, "r1": 0, "r_power": 1, "a": 0, "n": 1, "Ea_R": 0, "Ea_a": 0}
    >>> pack = make_pack(cell_model(plain | {"U(0)": 1.5, "U(1)": 1.0}), 1)
    >>> round(discharge(pack, ConstantCurrent(0.1), (1.25, 1.0)).passings[0].time / 3600, 6)
    5.0
    """
    if not stops:
        raise OutOfRangeError("a discharge needs a voltage to end at")
    if not 0 < duty <= 1 or not 0 < session <= 1:
        raise OutOfRangeError("duty and session are parts: above 0, at most 1")
    found = [_stop_depth(pack, load, stop) for stop in stops]
    last = pack.depths[-1] if None in found else max(depth for depth in found if depth is not None)
    breaks = {0.0, last}
    breaks.update(depth for depth in pack.depths if depth < last)
    breaks.update(depth for depth in found if depth is not None)
    for kink in load.kinks():
        depth = _stop_depth(pack, load, kink)
        if depth is not None and depth < last:
            breaks.add(depth)
    edges = sorted(breaks)
    run = _Integrator(pack, load, duty, session, curve=curve)
    run.guess = pack.open_circuit_voltage(0.0)
    at_edge = {0.0: 0.0}
    over = None
    end = 0.0
    piece_at = 0
    for start, end in itertools.pairwise(edges):
        while piece_at + 1 < len(pack.pieces) and pack.depths[piece_at + 1] <= start:
            piece_at += 1
        over = run.interval(start, end, pack.depths[piece_at], pack.pieces[piece_at], _HALVINGS)
        if over is not None:
            break
        at_edge[end] = run.now
    final = Passing(end if over is None else over, run.now)
    if over is not None:
        ended_by = "collapse" if over < 0.9 else "empty"
    else:
        ended_by = "stop" if None not in found else "empty"
    return Discharge(
        passings=tuple(
            Passing(depth, at_edge[depth]) if depth is not None and depth in at_edge else None
            for depth in found
        ),
        end=final,
        ended_by=ended_by,
        time=tuple(run.time),
        depth=tuple(run.depth),
        voltage=tuple(run.voltage),
        current=tuple(run.current),
    )
