"""Monotone cubic interpolation of a table: no overshoot, and a slope everywhere.

Theory of operation. Between two knots the curve is a cubic whose end slopes are weighted harmonic means
of the neighbouring secants, zero where the secants change sign (Fritsch and Butland). So a falling
table gives a falling curve, which a battery's voltage needs: a ripple would let it rise under load.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from lampwright.errors import OutOfRangeError

Piece = tuple[float, float, float, float]


def monotone_slopes(x: Sequence[float], y: Sequence[float]) -> tuple[float, ...]:
    """Return the slope of the monotone cubic at each knot.

    Parameters
    ----------
    x : sequence of float, rising, at least two
        Places of the knots. [1]
    y : sequence of float
        Values at the knots, in any unit. [V]

    Returns
    -------
    slopes : tuple of float, one per knot
        Change of value per change of place. [V]

    Raises
    ------
    OutOfRangeError
        If the places do not rise or the lists differ in length.

    References
    ----------
    [FRITSCH-BUTLAND-1984], the harmonic mean; [MOLER-2004], section 3.6 for the ends.

    Examples
    --------
    >>> monotone_slopes((0.0, 1.0, 2.0), (4.0, 3.0, 2.0))
    (-1.0, -1.0, -1.0)
    """
    count = len(x)
    if count != len(y) or count < 2 or any(b <= a for a, b in itertools.pairwise(x)):
        raise OutOfRangeError("a table needs two knots or more, at rising places")
    widths = [b - a for a, b in itertools.pairwise(x)]
    secants = [(b - a) / h for a, b, h in zip(y, y[1:], widths, strict=False)]
    if count == 2:
        return (secants[0], secants[0])
    slopes = [_end_slope(widths[0], widths[1], secants[0], secants[1])]
    for (h0, h1), (s0, s1) in zip(itertools.pairwise(widths), itertools.pairwise(secants), strict=True):
        if s0 * s1 <= 0:
            slopes.append(0.0)
        else:
            near, far = 2 * h1 + h0, h1 + 2 * h0
            slopes.append((near + far) / (near / s0 + far / s1))
    slopes.append(_end_slope(widths[-1], widths[-2], secants[-1], secants[-2]))
    return tuple(slopes)


def _end_slope(h0: float, h1: float, s0: float, s1: float) -> float:
    """Return the three-point slope at an end, held back where it would overshoot."""
    slope = ((2 * h0 + h1) * s0 - h0 * s1) / (h0 + h1)
    if slope * s0 <= 0:
        return 0.0
    if s0 * s1 < 0 and abs(slope) > 3 * abs(s0):
        return 3 * s0
    return slope


def cubic_pieces(x: Sequence[float], y: Sequence[float]) -> tuple[Piece, ...]:
    """Return the cubics between knots, as coefficients of 1, t, t² and t³ with t from the left knot.

    Parameters
    ----------
    x : sequence of float, rising, at least two
        Places of the knots. [1]
    y : sequence of float
        Values at the knots. [V]

    Returns
    -------
    pieces : tuple of Piece, one between each two knots
        Coefficients. [V]

    Raises
    ------
    OutOfRangeError
        If the places do not rise or the lists differ in length.

    References
    ----------
    [FRITSCH-BUTLAND-1984], the slopes; the cubic itself is Hermite's.

    Examples
    --------
    >>> cubic_pieces((0.0, 1.0), (4.0, 3.0))
    ((4.0, -1.0, 0.0, 0.0),)
    """
    slopes = monotone_slopes(x, y)
    pieces = []
    for i in range(len(x) - 1):
        h = x[i + 1] - x[i]
        secant = (y[i + 1] - y[i]) / h
        bend = (3 * secant - 2 * slopes[i] - slopes[i + 1]) / h
        twist = (slopes[i] + slopes[i + 1] - 2 * secant) / (h * h)
        pieces.append((y[i], slopes[i], bend, twist))
    return tuple(pieces)
