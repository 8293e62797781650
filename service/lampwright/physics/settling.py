r"""Rows on one source solved again and again: Newton's method in the logarithms of their currents.

Theory of operation. A row of like LEDs obeys $V = A (u - \ln I_s) + R (e^u - I_s)$ with
$u = \ln(I + I_s)$: one exponential, where the closed form takes five. A row of unlike ones has
$u = \ln I$ and the same shape, but for a small rest where an LED's $I_s$ is not lost beside I. All rows
are stepped together: at a step each row stands for its tangent, source and wires for their resistances,
and that straight circuit is solved outright. There are two ways to begin. `settle` begins from what each
row would take alone. `Follower` goes from one solution to the next, near by, and takes the curvature
along, so that a step leaves only the cube of what was missing. Where either does not come to rest, the
caller has a slower and surer way.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.physics.diodes import ONE_IS_LOST, StringLaw, like_string_current

Settling = tuple[
    int, float, float, float, float, float, tuple[tuple[float, float], ...], tuple[float, float, float]
]
"""A kind of row, summed once: count; resistance [Ω]; A [V]; offset [V]; the Is that u counts in [A]; least
u of use; of unlike LEDs the A [V] and ln Is of those whose Is may count; and, of the one LED they jointly
are, A [V], ln Is and resistance [Ω]."""

_Followed = tuple[
    int, float, float, float, float, float, tuple[tuple[float, float], ...], float, float, float
]

# Nearer than this to its ln Is, a row is left to the sure way: I = e^u - Is loses digits.
_NEAR = 3.0
_NEAR_UNLIKE = 8.0
_SMALLEST = -700.0
# What a follower's last step may have missed in u: its cube is left, where some Is counts a part of its
# square; the last step of `settle` leaves its square.
_CUBED = 3e-6
_ROUGH = 1e-7
_SQUARED = 1e-6
# A step in u wider than this is held back; beyond the other curvature says nothing any more.
_WIDEST = 2.0
_FAR = 0.5
_FOLLOWED = 12
_SETTLED = 40


def settling(law: StringLaw, count: int = 1) -> Settling | None:
    """Return rows alike, prepared to be solved; None where nothing limits them.

    A row whose LEDs are all shorted is its resistance alone, and u again ln I.

    Parameters
    ----------
    law : StringLaw
        One row.
    count : int, positive
        How many such rows.

    Returns
    -------
    prepared : Settling or None
        The rows' number and resistance, and what each step of ``settle`` needs of their law.

    References
    ----------
    [SHOCKLEY-1949], the junction law in the logarithm of the current.

    Examples
    --------
    >>> from lampwright.physics.diodes import diode_from_point
    >>> settling(StringLaw((diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0),), 150.0), 3)[:2]
    (3, 155.0)
    """
    emission_voltage, resistance = law.emission_voltage, law.resistance
    if not resistance > 0:
        return None
    if not emission_voltage > 0:
        return count, resistance, 0.0, 0.0, 0.0, _SMALLEST, (), (0.0, 0.0, resistance)
    joint = (emission_voltage, law.log_saturation_current, resistance)
    parts = law.unlike
    if not parts:
        saturation_current = math.exp(law.log_saturation_current)
        offset = emission_voltage * law.log_saturation_current + resistance * saturation_current
        least = law.log_saturation_current + _NEAR
        return count, resistance, emission_voltage, offset, saturation_current, least, (), joint
    offset = sum(each * log for each, log in parts)
    least = max(log for _, log in parts) + _NEAR_UNLIKE
    # Above a ten-millionth of an ampere these count; below it no row is worth hurrying for.
    counting = tuple((each, log) for each, log in parts if log > -16.0 - ONE_IS_LOST)
    least = max(least, -16.0) if len(counting) < len(parts) else least
    return count, resistance, emission_voltage, offset, 0.0, least, counting, joint


def settle(
    open_circuit_voltage: float,
    common: float,
    runs: Sequence[tuple[float, Sequence[Settling]]],
    near: Sequence[float] = (),
) -> tuple[tuple[float, ...], float] | None:
    """Return the currents of rows on runs of their own, and the voltage where the runs part.

    Parameters
    ----------
    open_circuit_voltage : float, positive
        Of the source. [V]
    common : float, not negative
        What carries every current. [Ω]
    runs : sequence of (float, sequence of Settling)
        Loop resistance of a run [Ω], and the rows at its end.
    near : sequence of float, optional
        Currents to begin from, one for each kind of row, 0 where nothing is known. [A]

    Returns
    -------
    solution : (tuple of float, float) or None
        Current of one of each kind of row, in the order of the runs [A], and the voltage [V]; None where
        it does not come to rest, or rows hardly conduct.

    References
    ----------
    [LIEC], vol. I, parallel circuits: currents of branches add; Newton's method.

    Examples
    --------
    Two rows behind 10 Ω take what one would behind 20 Ω.

    >>> from lampwright.physics.diodes import diode_from_point, string_current
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> currents, voltage = settle(5.0, 10.0, [(0.0, [settling(StringLaw((red,), 150.0), 2)])])
    >>> abs(currents[0] / string_current(5.0, [red], 170.0) - 1) < 1e-12
    True
    """
    exp = math.exp
    logs: list[float] = []
    for loop, rows in runs:
        for count, _, _, _, saturation_current, least, _, (emission_voltage, log, resistance) in rows:
            behind = resistance + count * (common + loop)
            if near and near[len(logs)] > 0:
                alone = near[len(logs)]
            elif emission_voltage > 0:
                alone = like_string_current(open_circuit_voltage, emission_voltage, log, behind)
            else:
                alone = open_circuit_voltage / behind
            u = math.log(alone + saturation_current) if alone > 0 else least
            logs.append(u if u > least else least)
    for _ in range(_SETTLED):
        place = 0
        drawn = conductance = 0.0
        found = []
        of_runs = []
        for loop, rows in runs:
            base = slope = 0.0
            for count, resistance, emission_voltage, offset, saturation_current, least, counting, _ in rows:
                u = logs[place]
                place += 1
                grown = exp(u)
                over = resistance * grown
                bent = over + emission_voltage
                voltage = over + emission_voltage * u - offset
                for each, log in counting:
                    small = exp(log - u)
                    voltage += each * math.log1p(small)
                    bent -= each * small / (1.0 + small)
                share = count * grown / bent
                base += count * (grown - saturation_current) - share * voltage
                slope += share
                found.append((u, grown, bent, voltage, saturation_current, least))
            held = 1.0 + loop * slope
            drawn += base / held
            conductance += slope / held
            of_runs.append((loop, base, slope, held, place))
        parting = (open_circuit_voltage - common * drawn) / (1.0 + common * conductance)
        place = 0
        widest = 0.0
        currents = []
        for loop, base, slope, held, end in of_runs:
            there = parting - loop * (base + slope * parting) / held if loop else parting
            for at in range(place, end):
                u, grown, bent, voltage, saturation_current, least = found[at]
                step = (there - voltage) / bent
                if step > widest or -step > widest:
                    widest = abs(step)
                if widest > _WIDEST:
                    step = min(max(step, -_WIDEST), _WIDEST)
                u += step
                if u < least:
                    # A row that hardly conducts: once may be a step too far, twice is where it stays.
                    if logs[at] <= least:
                        return None
                    u = least
                logs[at] = u
                currents.append(grown * (1.0 + step * (1.0 + 0.5 * step)) - saturation_current)
            place = end
        if widest < _SQUARED:
            return tuple(currents), parting
    return None


class Follower:
    """Rows side by side, followed from one source to the next one near by.

    Parameters
    ----------
    laws : sequence of StringLaw
        The rows that differ.
    counts : sequence of int
        How many there are of each. [1]
    prepared : sequence of Settling, optional
        The same rows, where they are prepared already.

    References
    ----------
    [LIEC], vol. I, parallel circuits: currents of branches add; Newton's method with its curvature.

    Examples
    --------
    >>> from lampwright.physics.diodes import diode_from_point
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> follower = Follower((StringLaw((red,), 150.0), StringLaw((red,), 100.0)), (1, 1))
    >>> follower.begin(4.9)
    True
    >>> current, voltage, slope = follower.follow(5.0, 2.0)
    >>> abs(voltage + 2.0 * current - 5.0) < 1e-12
    True
    """

    __slots__ = ("current", "curved", "laws", "ready", "rows", "slope", "state", "voltage")

    def __init__(
        self, laws: Sequence[StringLaw], counts: Sequence[int], prepared: Sequence[Settling] = ()
    ) -> None:
        self.laws = tuple(laws)
        made = () if prepared else (settling(law, count) for law, count in zip(laws, counts, strict=True))
        self.rows = tuple(row[:7] for row in (*prepared, *made) if row is not None)
        self.ready = False
        #: Of each row, at the last solution or next to it: what stays, and u, dV/du and V there.
        self.state: list[_Followed] = []
        #: At the last solution: the voltage; current of all rows, its slope and curvature over the voltage.
        self.voltage = self.current = self.slope = self.curved = 0.0

    def begin(self, voltage: float) -> bool:
        """Take a voltage over the rows as the one to go on from; tell whether that can be done."""
        self.ready = False
        if len(self.rows) < len(self.laws):
            return False
        self.state = []
        for law, row in zip(self.laws, self.rows, strict=True):
            grown = law.current(voltage) + row[4]
            if not grown > 0 or math.log(grown) <= row[5]:
                return False
            bent = row[1] * grown + row[2]
            self.state.append((*row, math.log(grown), bent, voltage))
        self._at(voltage)
        self.ready = True
        return True

    def follow(self, open_circuit_voltage: float, behind: float) -> tuple[float, float, float] | None:
        """Return current [A], voltage [V] and slope [S] behind a source; None where it is too far off."""
        if not self.ready:
            return None
        self.ready = False
        held = 1.0 + behind * self.slope
        change = (open_circuit_voltage - behind * self.current - self.voltage) / held
        change -= 0.5 * behind * self.curved * change * change / held
        voltage = self.voltage + change
        for _ in range(_FOLLOWED):
            nearest = self._at(voltage)
            if nearest is None:
                return None
            slope, curved = self.slope, self.curved
            held = 1.0 + behind * slope
            change = (open_circuit_voltage - behind * self.current - voltage) / held
            change -= 0.5 * behind * curved * change * change / held
            voltage += change
            if nearest > 0 and -_CUBED * nearest < change < _CUBED * nearest:
                self.current += change * (slope + 0.5 * curved * change)
                self.slope = slope + curved * change
                self.voltage = voltage
                self.ready = True
                return self.current, voltage, self.slope
        return None

    def _at(self, voltage: float) -> float | None:
        """Put every row at a voltage: by the cube of the step in u, and what is missing by curvature.

        Returns the least dV/du [V], 0 where something is missing still, None where a row hardly conducts.
        """
        exp = math.exp
        total = slope = curved = 0.0
        nearest = math.inf
        missing = False
        state: list[_Followed] = []
        for (
            count,
            resistance,
            emission_voltage,
            offset,
            saturation_current,
            least,
            counting,
            u,
            bent,
            there,
        ) in self.state:
            x = (voltage - there) / bent
            if -_FAR < x < _FAR:
                over = 1.0 - emission_voltage / bent
                u += x * (1.0 - x * over * (0.5 - x * (0.5 * over - 1.0 / 6.0)))
            else:
                u += min(max(x, -_WIDEST), _WIDEST)
            if u <= least:
                return None
            grown = exp(u)
            bent = resistance * grown
            there = bent + emission_voltage * u - offset
            bent += emission_voltage
            if counting:
                for each, log in counting:
                    small = exp(log - u)
                    there += each * math.log1p(small)
                    bent -= each * small / (1.0 + small)
            share = count * grown / bent
            bend = share * emission_voltage / (bent * bent)
            off = voltage - there
            total += count * (grown - saturation_current) + off * (share + 0.5 * bend * off)
            slope += share + bend * off
            curved += bend
            if bent < nearest:
                nearest = bent
            limit = (_ROUGH if counting else _CUBED) * bent
            if not -limit < off < limit:
                missing = True
            state.append(
                (
                    count,
                    resistance,
                    emission_voltage,
                    offset,
                    saturation_current,
                    least,
                    counting,
                    u,
                    bent,
                    there,
                )
            )
        self.state = state
        self.current, self.slope, self.curved = total, slope, curved
        self.voltage = voltage
        return 0.0 if missing else nearest
