"""Resistors: preferred values, combinations, tolerance corners, heat.

Theory of operation. A series of preferred values is given as a *ladder*: every value of every decade
in one sorted tuple (``tables.resistors.ladder``), so that a search is one bisection. The values of a
decade are facts of a standard, not of a formula: several are not what 10^(i/n) rounds to.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from lampwright.errors import OutOfRangeError

# Two values closer than this are one: 329.9999999 asks for 330, not for 360.
_SAME = 1e-9


def preferred_at_least(resistance: float, ladder: Sequence[float]) -> float:
    """Return the smallest preferred value that is not below a resistance.

    The higher neighbour is the safe one: the current stays below the one wanted.

    Parameters
    ----------
    resistance : float, positive
        Resistance that came out of a sum. [Ω]
    ladder : sequence of float, sorted
        All preferred values of a series, every decade. [Ω]

    Returns
    -------
    preferred_resistance : float
        First value of the ladder at or above the resistance. [Ω]

    Raises
    ------
    OutOfRangeError
        If the ladder ends below the resistance.

    References
    ----------
    [IEC-60063].

    Examples
    --------
    >>> preferred_at_least(365.0, (100.0, 220.0, 390.0, 470.0))
    390.0
    >>> preferred_at_least(220.00000001, (100.0, 220.0, 390.0, 470.0))
    220.0
    """
    at = bisect_left(ladder, resistance * (1 - _SAME))
    if at == len(ladder):
        raise OutOfRangeError(f"no preferred value reaches {resistance:g} Ω")
    return ladder[at]


def preferred_below(resistance: float, ladder: Sequence[float]) -> float | None:
    """Return the largest preferred value strictly below a resistance.

    Parameters
    ----------
    resistance : float, positive
        Resistance to look from. [Ω]
    ladder : sequence of float, sorted
        All preferred values of a series, every decade. [Ω]

    Returns
    -------
    preferred_resistance : float or None
        Next value down, None where the ladder begins. [Ω]

    References
    ----------
    [IEC-60063].

    Examples
    --------
    >>> preferred_below(220.0, (100.0, 220.0, 390.0))
    100.0
    """
    at = bisect_left(ladder, resistance * (1 - _SAME))
    return ladder[at - 1] if at else None


def preferred_above(resistance: float, ladder: Sequence[float]) -> float | None:
    """Return the smallest preferred value strictly above a resistance.

    Parameters
    ----------
    resistance : float, positive
        Resistance to look from. [Ω]
    ladder : sequence of float, sorted
        All preferred values of a series, every decade. [Ω]

    Returns
    -------
    preferred_resistance : float or None
        Next value up, None where the ladder ends. [Ω]

    References
    ----------
    [IEC-60063].

    Examples
    --------
    >>> preferred_above(220.0, (100.0, 220.0, 390.0))
    390.0
    """
    at = bisect_right(ladder, resistance * (1 + _SAME))
    return ladder[at] if at < len(ladder) else None


def in_series(*resistances: float) -> float:
    """Return the resistance of resistors one after the other: $R = ΣR_i$.

    Parameters
    ----------
    *resistances : float, not negative
        The parts. [Ω]

    Returns
    -------
    resistance : float
        Their sum. [Ω]

    References
    ----------
    [LIEC], vol. I, series circuits.

    Examples
    --------
    >>> in_series(220.0, 100.0)
    320.0
    """
    return sum(resistances)


def in_parallel(*resistances: float) -> float:
    """Return the resistance of resistors side by side: $1/R = Σ 1/R_i$.

    Parameters
    ----------
    *resistances : float, not negative
        The parts; at least one. [Ω]

    Returns
    -------
    resistance : float
        Zero if one of them is. [Ω]

    References
    ----------
    [LIEC], vol. I, parallel circuits.

    Examples
    --------
    >>> in_parallel(220.0, 220.0), in_parallel(100_000.0, 100_000.0)
    (110.0, 50000.0)
    """
    if 0 in resistances:
        return 0.0
    if len(resistances) == 2:
        # One rounding less: two equal parts make exactly half.
        one, other = resistances
        return one * other / (one + other)
    return 1 / sum(1 / resistance for resistance in resistances)


def tolerance_corners(resistance: float, tolerance: float) -> tuple[float, float]:
    """Return the lowest and highest resistance of a part: $R (1 ∓ t)$.

    Parameters
    ----------
    resistance : float, not negative
        Value printed on the part. [Ω]
    tolerance : float, 0 to below 1
        Allowed relative deviation, 0.05 for 5 %. [1]

    Returns
    -------
    corners : tuple of float
        Lowest and highest. [Ω]

    Raises
    ------
    OutOfRangeError
        If the tolerance is outside the range given above.

    References
    ----------
    [IEC-60063].

    Examples
    --------
    >>> tolerance_corners(200.0, 0.05)
    (190.0, 210.0)
    """
    if not 0 <= tolerance < 1:
        raise OutOfRangeError(f"a tolerance lies from 0 to below 1, not at {tolerance:g}")
    return resistance * (1 - tolerance), resistance * (1 + tolerance)


def dissipation(current: float, resistance: float) -> float:
    """Return the power a resistor turns to heat: $P = I² R$.

    Parameters
    ----------
    current : float
        Current through it. [A]
    resistance : float, not negative
        Its resistance. [Ω]

    Returns
    -------
    dissipation : float
        Heat. [W]

    References
    ----------
    [LIEC], vol. I, Ohm's law, calculating electric power.

    Examples
    --------
    >>> round(dissipation(0.02, 220.0), 3)
    0.088
    """
    return current * current * resistance
