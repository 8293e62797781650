"""Fuses and resettable devices: what they carry, when they open, what flows in a short circuit.

Theory of operation. A fuse is chosen in a window: above what the load needs for ever, with a reserve,
where it is warm; and not above what the thinnest wire behind it carries. Its opening time is a band,
told at a few multiples of its rating; between two of them only the slower one is a promise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.errors import OutOfRangeError

# A load of at most three quarters of the rating, for parts of either standard family.
CONTINUOUS_FRACTION = 0.75
_FULL_TEMPERATURE = 25.0
_LOSS_PER_KELVIN = 0.17 / 35.0  # 17 % less at 60 °C
_HOTTEST = 125.0


def fuse_derating(ambient_temperature: float) -> float:
    """Return the part of a fuse's rating left where it is warm: 1 at 25 °C, 0.83 at 60 °C, a straight line.

    Parameters
    ----------
    ambient_temperature : float, at most 125
        Around the fuse. [°C]

    Returns
    -------
    derating : float, 0.5 to 1
        Factor on the rated current. [1]

    Raises
    ------
    OutOfRangeError
        If it is hotter than a fuse is made for.

    Notes
    -----
    A cold fuse carries a little more; that is no reason for a smaller one.

    References
    ----------
    [UMT-250-ARTICLE], 17 % less at 60 °C.

    Examples
    --------
    >>> fuse_derating(25.0), round(fuse_derating(60.0), 2)
    (1.0, 0.83)
    """
    if ambient_temperature > _HOTTEST:
        raise OutOfRangeError("fuses are made for at most 125 °C")
    return 1.0 - max(0.0, ambient_temperature - _FULL_TEMPERATURE) * _LOSS_PER_KELVIN


def hold_derating(ambient_temperature: float) -> float:
    """Return the part of a resettable device's hold current left where it is warm.

    Parameters
    ----------
    ambient_temperature : float
        Around the device. [°C]

    Returns
    -------
    derating : float, 0 to 1
        Factor on the hold current printed at 23 °C: 0.65 at 60 °C, a straight line. [1]

    References
    ----------
    [BOURNS-MF-R], thermal derating chart as quoted: a 5 A part holds 0.83, 0.77 and 0.68 of it at 40, 50
    and 60 °C; [MEMORY], the smaller ones 0.6 to 0.7 at 60 °C. The line lies on the safe side of both.

    Examples
    --------
    >>> hold_derating(20.0), round(hold_derating(60.0), 3)
    (1.0, 0.65)
    """
    return max(0.0, 1.0 - max(0.0, ambient_temperature - 23.0) * 0.35 / 37.0)


def smallest_rating(current: float, derating: float, fraction: float = CONTINUOUS_FRACTION) -> float:
    """Return the smallest rating that carries a load for ever: $I / (0.75 k)$.

    Parameters
    ----------
    current : float, not negative
        Load. [A]
    derating : float, above 0, at most 1
        Factor on the rating for the temperature. [1]
    fraction : float, above 0, at most 1
        Part of the rating a load may use for ever. [1]

    Returns
    -------
    smallest : float
        Rated current needed at least. [A]

    Raises
    ------
    OutOfRangeError
        If an argument is outside the range given above.

    References
    ----------
    [FUSEOLOGY], 75 % of the rating at 25 °C; [UMT-250-ARTICLE] and [TAI-TCP], the same with other fractions.

    Examples
    --------
    >>> round(smallest_rating(1.0, 0.83, 1.0), 3)
    1.205
    """
    if current < 0 or not 0 < derating <= 1 or not 0 < fraction <= 1:
        raise OutOfRangeError("a load is not negative; both factors lie above 0 and not above 1")
    return current / (fraction * derating)


def longest_opening_time(multiple: float, points: Sequence[tuple[float, float]]) -> float:
    """Return the time within which a fuse must have opened at a multiple of its rating.

    Parameters
    ----------
    multiple : float, not negative
        Current over rated current. [1]
    points : sequence of (float, float)
        Multiples and the longest opening times [s] a standard or data sheet allows there. [1]

    Returns
    -------
    time : float
        Of the nearest listed multiple that is not above; infinite below the first. [s]

    Raises
    ------
    OutOfRangeError
        If the multiple is negative or there are no points.

    References
    ----------
    [LITTELFUSE-617], opening times at 210 %, 275 %, 400 % and 1000 %.

    Examples
    --------
    >>> longest_opening_time(3.0, [(2.1, 1800.0), (2.75, 2.0), (4.0, 0.3)])
    2.0
    """
    if multiple < 0 or not points:
        raise OutOfRangeError("a multiple is not negative, and a band has at least one point")
    reached = [time for at, time in points if at <= multiple]
    return min(reached) if reached else math.inf


def short_circuit_current(
    voltage: float,
    source_resistance: float,
    loop_resistance: float,
    source_limit: float | None = None,
) -> float:
    """Return the current if the wires touch at the far end: $V / (R_S + R)$, or what the source gives.

    Parameters
    ----------
    voltage : float, not negative
        Of the source, unloaded. [V]
    source_resistance : float, not negative
        Of the source. [Ω]
    loop_resistance : float, not negative
        Of wire and fuse up to where the wires touch. [Ω]
    source_limit : float, not negative, or None
        Most the source gives into a short circuit, where known. [A]

    Returns
    -------
    short_circuit_current : float
        Infinite where nothing is known to limit it. [A]

    Raises
    ------
    OutOfRangeError
        If an argument is negative.

    References
    ----------
    [LIEC], vol. I, specific resistance: 230 V into 11.301 Ω gives 20.352 A.

    Examples
    --------
    >>> round(short_circuit_current(4.8, 0.14, 0.34), 3), short_circuit_current(12.0, 0.0, 0.1, 2.0)
    (10.0, 2.0)
    """
    if min(voltage, source_resistance, loop_resistance, source_limit or 0.0) < 0:
        raise OutOfRangeError("voltage, resistances and a limit are not negative")
    resistance = source_resistance + loop_resistance
    through = voltage / resistance if resistance > 0 else math.inf
    return through if source_limit is None else min(through, source_limit)
