"""Values that fit readings best, given how far they may be off: least squares with what was known before.

Theory of operation. Unknowns x are counted in standard deviations of what was known of them, so before
any reading x = 0 with covariance 1. A reading y with error s is worked out as h(x); the best x makes
|x|² + Σ((y − h)/s)² least (Gauss–Newton). With J = (dh/dx)/s and S = J·Jᵀ + 1 a step is
x = Jᵀ·S⁻¹·((y − h)/s + J·x), and what is still unknown afterwards is 1 − Jᵀ·S⁻¹·J. The same S judges each
reading by all the others: (S⁻¹e)ᵢ/√(S⁻¹)ᵢᵢ is how many standard deviations it lies from what they foretell.
A reading too far off is left out, the worst first, and the rest fitted again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import mul

Matrix = list[list[float]]
Model = Callable[[Sequence[float]], list[float]]

STEP = 1e-3  # standard deviations, for differences
CLOSE = 1e-3  # standard deviations: nearer no reading tells
ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Fit:
    """Best values, what each unknown still may be off, and the readings that were left out.

    ``outputs`` is everything the model works out at the best values, ``slopes`` how it moves with each
    unknown; the first outputs belong to the readings. ``covariance`` is that of the unknowns.
    """

    values: tuple[float, ...]
    outputs: tuple[float, ...]
    slopes: Matrix
    covariance: Matrix
    left_out: tuple[int, ...]

    def deviation(self, slope: Sequence[float]) -> float:
        """Return the standard deviation that is left of anything that moves so with the unknowns."""
        spread = [_dot(row, slope) for row in self.covariance]
        return math.sqrt(max(_dot(slope, spread), 0.0))


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return float(sum(map(mul, one, other)))


def inverse(matrix: Matrix) -> Matrix:
    """Return the inverse of a symmetric positive matrix, by Cholesky's square root.

    >>> inverse([[4.0, 2.0], [2.0, 3.0]])
    [[0.375, -0.25], [-0.25, 0.5]]
    """
    size = len(matrix)
    root: Matrix = []
    for at in range(size):
        row: list[float] = []
        for other in range(at):
            row.append((matrix[at][other] - _dot(row, root[other])) / root[other][other])
        row.append(math.sqrt(matrix[at][at] - _dot(row, row)))
        root.append(row)
    # The rows of the inverse root, each solved forwards; then their products.
    under: Matrix = []
    for at in range(size):
        column = [0.0] * at
        for place in range(at, size):
            known = _dot(root[place][at:place], column[at:]) if place > at else 0.0
            column.append(((1.0 if place == at else 0.0) - known) / root[place][place])
        under.append(column)
    return [
        [_dot(under[one][max(one, other) :], under[other][max(one, other) :]) for other in range(size)]
        for one in range(size)
    ]


def _slopes(model: Model, values: Sequence[float], outputs: Sequence[float]) -> Matrix:
    """Return how each output moves with each unknown."""
    columns = []
    for at in range(len(values)):
        moved = list(values)
        moved[at] += STEP
        columns.append([(new - old) / STEP for new, old in zip(model(moved), outputs, strict=True)])
    return [list(row) for row in zip(*columns, strict=True)]


def fit(
    model: Model,
    unknowns: int,
    read: Sequence[float],
    errors: Callable[[Matrix], Sequence[float]],
    far: float,
) -> Fit:
    """Return the values that fit some readings best.

    Parameters
    ----------
    model : callable
        Works out the outputs from the unknowns; the first ``len(read)`` of them are the readings.
    unknowns : int
        How many there are.
    read : sequence of float
        What was read.
    errors : callable
        The standard deviation of each reading, from the slopes at the start.
    far : float
        A reading so many standard deviations from what the others foretell is left out.
    """
    values = (0.0,) * unknowns
    outputs = tuple(model(values))
    slopes = _slopes(model, values, outputs)
    sigmas = errors(slopes)
    kept = list(range(len(read)))
    left_out: list[int] = []
    found = (values, outputs, slopes)
    while True:
        found = _fitted(model, found, read, sigmas, kept)
        off = _foretold(found, read, sigmas, kept)
        worst = max(range(len(kept)), key=lambda at: abs(off[at]), default=None)
        # Half of the readings always stay: beyond that it is not a matter of single readings.
        if worst is None or abs(off[worst]) <= far or 2 * (len(left_out) + 1) > len(read):
            covariance = _covariance(_weighed(found[2], sigmas, kept), unknowns)
            return Fit(*found, covariance, tuple(sorted(left_out)))
        left_out.append(kept.pop(worst))


_Found = tuple[tuple[float, ...], tuple[float, ...], Matrix]  # values, outputs, slopes


def _weighed(slopes: Matrix, sigmas: Sequence[float], kept: Sequence[int]) -> Matrix:
    return [[value / sigmas[at] for value in slopes[at]] for at in kept]


def _sums(weighed: Matrix) -> Matrix:
    """Return J·Jᵀ + 1."""
    return [
        [_dot(one, other) + (1.0 if at == place else 0.0) for place, other in enumerate(weighed)]
        for at, one in enumerate(weighed)
    ]


def _cost(
    values: Sequence[float],
    outputs: Sequence[float],
    read: Sequence[float],
    sigmas: Sequence[float],
    kept: Sequence[int],
) -> float:
    return _dot(values, values) + sum(((read[at] - outputs[at]) / sigmas[at]) ** 2 for at in kept)


def _fitted(
    model: Model, start: _Found, read: Sequence[float], sigmas: Sequence[float], kept: Sequence[int]
) -> _Found:
    """Return the best values, coming from some others."""
    values, outputs, slopes = start
    cost = _cost(values, outputs, read, sigmas, kept)
    for _ in range(ROUNDS):
        weighed = _weighed(slopes, sigmas, kept)
        left = [
            (read[at] - outputs[at]) / sigmas[at] + _dot(row, values)
            for at, row in zip(kept, weighed, strict=True)
        ]
        weights = [_dot(row, left) for row in inverse(_sums(weighed))]
        wanted = [_dot([row[at] for row in weighed], weights) for at in range(len(values))]
        before, share = values, 1.0
        while True:
            values = tuple(old + share * (new - old) for old, new in zip(before, wanted, strict=True))
            outputs = tuple(model(values))
            now = _cost(values, outputs, read, sigmas, kept)
            if now <= cost * (1 + 1e-9) or share < 1e-2:
                break
            share /= 2
        cost = now
        if max((abs(new - old) for old, new in zip(before, values, strict=True)), default=0.0) < CLOSE:
            break  # the slopes of a hair before are those of here
        slopes = _slopes(model, values, outputs)
    return values, outputs, slopes


def _covariance(weighed: Matrix, unknowns: int) -> Matrix:
    """Return 1 − Jᵀ·S⁻¹·J."""
    inner = inverse(_sums(weighed))
    columns = [[row[at] for row in weighed] for at in range(unknowns)]
    turned = [[_dot(row, column) for row in inner] for column in columns]
    return [
        [(1.0 if at == place else 0.0) - _dot(columns[at], turned[place]) for place in range(unknowns)]
        for at in range(unknowns)
    ]


def _foretold(
    found: _Found, read: Sequence[float], sigmas: Sequence[float], kept: Sequence[int]
) -> list[float]:
    """Return how many standard deviations each reading lies from what all the others foretell."""
    values, outputs, slopes = found
    weighed = _weighed(slopes, sigmas, kept)
    left = [
        (read[at] - outputs[at]) / sigmas[at] + _dot(row, values)
        for at, row in zip(kept, weighed, strict=True)
    ]
    inner = inverse(_sums(weighed))
    return [_dot(row, left) / math.sqrt(row[at]) for at, row in enumerate(inner)]
