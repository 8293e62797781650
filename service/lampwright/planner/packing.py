"""Fewest rows for many lights of several kinds: exact, and proved where it says so.

Theory of operation. Lights are items of a kind's size (its voltage, in whole millivolts), rows are bins of
one capacity. A *pattern* says how many of each kind stand in a row. The linear program over all patterns is
solved by column generation: the simplex method keeps as many patterns as there are kinds, and the next one
comes from a small knapsack search. Its whole parts are taken as they are, so the work depends on the kinds
and not on the count; the few lights left over are packed first-fit, and if that is a row too many, searched.
The prices of the linear program, turned to whole numbers, give a bound no packing can beat; meeting it is
the proof. Nothing here reads a clock: effort is counted in steps, so equal questions get equal answers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.errors import OutOfRangeError
from lampwright.records import quickly_made

Pattern = tuple[int, ...]
#: How many rows there are of each pattern.
Rows = dict[Pattern, int]

_EPSILON = 1e-9
# Prices are turned into whole numbers of this fineness; exact from there on.
_FINENESS = 5_040_000
_PIVOTS = 400


@quickly_made
@dataclass(frozen=True, slots=True)
class Packing:
    """Rows by pattern: ``patterns`` pairs a count of each kind with how many rows are like that.

    ``bound`` is a number of rows no packing can stay below; ``proved`` says that ``rows`` is the fewest.
    """

    patterns: tuple[tuple[Pattern, int], ...]
    rows: int
    bound: int
    proved: bool


class _Effort:
    """Counts steps of search, so that effort ends without a clock."""

    __slots__ = ("left",)

    def __init__(self, steps: int) -> None:
        self.left = steps

    def spend(self) -> bool:
        """Return whether there was a step left, and take it."""
        self.left -= 1
        return self.left >= 0


def pack(sizes: Sequence[int], counts: Sequence[int], capacity: int, effort: int = 200_000) -> Packing:
    """Return a packing into the fewest rows found.

    Parameters
    ----------
    sizes : sequence of int, positive
        Size of each kind, none above the capacity.
    counts : sequence of int, not negative
        How many of each kind.
    capacity : int
        Of every row.
    effort : int
        Steps of search before the best so far is returned unproved; the default is some 0.4 s.

    Raises
    ------
    OutOfRangeError
        If a light does not fit a row of its own.

    Examples
    --------
    >>> pack((2000,), (10,), 7000)
    Packing(patterns=(((3,), 3), ((1,), 1)), rows=4, bound=4, proved=True)
    >>> pack((2000, 3200), (6, 6), 9000).rows
    4
    """
    if any(size <= 0 or size > capacity for size, count in zip(sizes, counts, strict=True) if count):
        raise OutOfRangeError("a light that does not fit a row of its own cannot be packed")
    kinds = sorted((at for at, count in enumerate(counts) if count), key=lambda at: (-sizes[at], at))
    if not kinds:
        return Packing((), 0, 0, True)
    small = [sizes[at] for at in kinds]
    demand = tuple(counts[at] for at in kinds)
    rows, bound, proved = _pack(small, demand, capacity, _Effort(effort))
    # Patterns of all kinds, in the caller's order, from those of the kinds there are any of.
    nowhere = len(kinds)
    places = [kinds.index(at) if count else nowhere for at, count in enumerate(counts)]
    spread = [
        (tuple([pattern[place] if place < nowhere else 0 for place in places]), times)
        for pattern, times in rows.items()
    ]
    spread.sort(key=lambda entry: (-sum(entry[0]), entry[0]))
    return Packing(tuple(spread), sum(rows.values()), bound, proved)


def _pack(sizes: list[int], demand: Pattern, capacity: int, effort: _Effort) -> tuple[Rows, int, bool]:
    """Return rows, bound and whether they are proved fewest; sizes fall, no demand is zero."""
    if len(sizes) == 1:
        each = capacity // sizes[0]
        whole, rest = divmod(demand[0], each)
        rows: Rows = {(each,): whole} if whole else {}
        if rest:
            rows[(rest,)] = 1
        return rows, whole + (rest > 0), True
    basis, amounts, prices = _linear_program(sizes, demand, capacity, effort)
    search = _Search(sizes, capacity, demand, effort)
    fewest: Rows | None = None
    for back in range(3):
        # Each round gives one more row of every basic pattern back to the search.
        rows = {}
        left = demand
        for pattern, amount in zip(basis, amounts, strict=True):
            whole = int(amount + 1e-7) - back
            if whole > 0:
                rows[pattern] = rows.get(pattern, 0) + whole
                left = tuple([have - whole * takes for have, takes in zip(left, pattern, strict=True)])
        if min(left) < 0:
            continue
        taken = sum(rows.values())
        last = search.first_fit(left)
        if taken + len(last) > search.bound:
            search.weigh(prices)
        if taken + len(last) > search.bound:
            last = search.exactly(left, search.bound - taken) or last
        found = _with(rows, last)
        if fewest is None or sum(found.values()) < sum(fewest.values()):
            fewest = found
        if sum(fewest.values()) == search.bound:
            return fewest, search.bound, True
    if fewest is None:
        fewest = _with({}, search.first_fit(demand))
    search.weigh(prices)
    return _finish(search, demand, fewest)


def _with(rows: Rows, more: Sequence[Pattern]) -> Rows:
    """Return rows with some more of them, one of each."""
    for pattern in more:
        rows[pattern] = rows.get(pattern, 0) + 1
    return rows


def _finish(search: _Search, demand: Pattern, fewest: Rows) -> tuple[Rows, int, bool]:
    """Search the whole demand, row count by row count, until it is settled or the effort is spent."""
    bound = search.bound
    while bound < sum(fewest.values()):
        # Depth of the search is the number of rows; big packings are left unproved instead.
        if bound > 60:
            return fewest, bound, False
        rest = search.exactly(demand, bound)
        if rest is not None:
            return _with({}, rest), bound, True
        if search.effort.left < 0:
            return fewest, bound, False
        bound += 1
    return fewest, bound, True


def _least(weights: Sequence[int], best: int, demand: Sequence[int]) -> int:
    """Return how many rows a demand needs at least, a row being worth ``best`` at most."""
    if best <= 0:
        return 0
    total = sum(weight * count for weight, count in zip(weights, demand, strict=True))
    return -(-total // best)


def _linear_program(
    sizes: list[int], demand: Pattern, capacity: int, effort: _Effort
) -> tuple[list[Pattern], list[float], list[float]]:
    """Return basic patterns, how many rows of each, and the price of each kind."""
    kinds = len(sizes)
    basis: list[Pattern] = []
    inverse = [[0.0] * kinds for _ in range(kinds)]
    for at in range(kinds):
        each = min(capacity // sizes[at], demand[at])
        basis.append(tuple(each if other == at else 0 for other in range(kinds)))
        inverse[at][at] = 1 / each
    amounts = [demand[at] * inverse[at][at] for at in range(kinds)]
    prices = [inverse[at][at] for at in range(kinds)]
    for _ in range(_PIVOTS):
        value, pattern = _knapsack(prices, sizes, demand, capacity, effort)
        # Prices over the best row's value are a bound; where it rounds up to what the rows cost now,
        # further patterns could not save a row.
        cost = sum(amounts)
        if value <= 1 + _EPSILON or math.ceil(cost / value - 1e-6) >= math.ceil(cost - 1e-6):
            break
        column = [
            sum([cell * takes for cell, takes in zip(row, pattern, strict=True) if takes]) for row in inverse
        ]
        ratios = [(amounts[at] / column[at], at) for at in range(kinds) if column[at] > _EPSILON]
        if not ratios:
            break
        step, leaves = min(ratios)
        pivot = column[leaves]
        inverse[leaves] = own = [cell / pivot for cell in inverse[leaves]]
        for at, factor in enumerate(column):
            if at != leaves and factor:
                inverse[at] = [cell - factor * less for cell, less in zip(inverse[at], own, strict=True)]
                amounts[at] = max(0.0, amounts[at] - factor * step)
        amounts[leaves] = step
        basis[leaves] = pattern
        prices = [sum(of_kind) for of_kind in zip(*inverse, strict=True)]
    return basis, amounts, prices


def _knapsack(
    values: Sequence[float], sizes: Sequence[int], limits: Sequence[int], capacity: int, effort: _Effort
) -> tuple[float, Pattern]:
    """Return the most valuable pattern: depth first, best value per size first, cut by the bound."""
    order = sorted(
        [at for at, value in enumerate(values) if value > 0], key=lambda at: -values[at] / sizes[at]
    )
    # Kinds in this order: where each stands, its size, its value, how many there are, its value per size.
    ranked = [(at, sizes[at], values[at], limits[at], values[at] / sizes[at]) for at in order]
    chosen = [0] * len(sizes)
    best_value: float = 0
    best: Pattern = tuple(chosen)
    last = len(ranked) - 1

    def search(depth: int, room: int, value: float) -> None:
        """Try every amount of one kind; what it leaves may be worth more than the best so far."""
        nonlocal best_value, best
        # As in ``effort.spend``, but this is the innermost step of a packing.
        effort.left -= 1
        if effort.left < 0:
            return
        at, size, each, limit, _ = ranked[depth]
        most = min(room // size, limit)
        if depth == last:
            value += most * each
            if value > best_value:
                chosen[at] = most
                best_value, best = value, tuple(chosen)
                chosen[at] = 0
            return
        density = ranked[depth + 1][4]
        for amount in range(most, -1, -1):
            left, worth = room - amount * size, value + amount * each
            chosen[at] = amount
            if worth > best_value:
                best_value, best = worth, tuple(chosen)
            if worth + left * density > best_value * (1 + 1e-12):
                search(depth + 1, left, worth)
        chosen[at] = 0

    if ranked:
        search(0, capacity, 0)
    return best_value, best


def _whole_prices(
    sizes: list[int], demand: Pattern, capacity: int, prices: list[float], effort: _Effort
) -> tuple[list[int], int]:
    """Return prices as whole numbers, and the worth of the best row at them: an exact bound.

    Where the effort ends within the search the bound would be none, so the sizes themselves stand in.
    """
    weights = [max(0, round(price * _FINENESS)) for price in prices]
    value, _ = _knapsack(weights, sizes, demand, capacity, effort)
    if effort.left < 0 or value <= 0:
        return list(sizes), capacity
    return weights, int(value)


class _Search:
    """Packs a small demand: first-fit, or exactly into a given number of rows.

    ``bound`` is a number of rows no packing of the whole ``demand`` can stay below.
    """

    def __init__(self, sizes: list[int], capacity: int, demand: Pattern, effort: _Effort) -> None:
        self.sizes = sizes
        self.capacity = capacity
        self.demand = demand
        self.effort = effort
        self.bound = _least(sizes, capacity, demand)
        self._weights: list[int] | None = None
        self._best = 0
        self._failed: set[tuple[Pattern, int]] = set()

    def weigh(self, prices: list[float]) -> None:
        """Raise the bound by the prices of the linear program: work that the sizes alone often spare."""
        if self._weights is None:
            self._weights, self._best = _whole_prices(
                self.sizes, self.demand, self.capacity, prices, self.effort
            )
            self.bound = max(self.bound, _least(self._weights, self._best, self.demand))

    def first_fit(self, demand: Pattern) -> list[Pattern]:
        """Return rows filled one after the other, largest lights first."""
        left = list(demand)
        rows = []
        while any(left):
            room = self.capacity
            row = []
            for at, size in enumerate(self.sizes):
                amount = min(left[at], room // size)
                row.append(amount)
                left[at] -= amount
                room -= amount * size
            rows.append(tuple(row))
        return rows

    def exactly(self, demand: Pattern, rows: int) -> list[Pattern] | None:
        """Return at most ``rows`` rows that hold a demand, None if there are none or the effort is spent."""
        if not any(demand):
            return []
        if rows <= 0 or (demand, rows) in self._failed:
            return None
        if _least(self.sizes, self.capacity, demand) > rows:
            return None
        if self._weights is not None and _least(self._weights, self._best, demand) > rows:
            return None
        if not self.effort.spend():
            return None
        # The largest light left has to stand somewhere; that row may be taken as full as can be.
        first = next(at for at, have in enumerate(demand) if have)
        for pattern in self._full_rows(demand, first):
            left = tuple(have - takes for have, takes in zip(demand, pattern, strict=True))
            rest = self.exactly(left, rows - 1)
            if rest is not None:
                return [pattern, *rest]
        if self.effort.left >= 0:
            self._failed.add((demand, rows))
        return None

    def _full_rows(self, demand: Pattern, first: int) -> list[Pattern]:
        """Return every row holding the first kind that no further light fits, fullest first."""
        found: list[tuple[int, Pattern]] = []
        row = [0] * len(demand)
        last = len(demand)

        def fill(at: int, room: int) -> None:
            if at == last:
                if all(row[kind] == demand[kind] or self.sizes[kind] > room for kind in range(first, last)):
                    found.append((room, tuple(row)))
                return
            if not self.effort.spend():
                return
            most = min(demand[at], room // self.sizes[at])
            for amount in range(most, 0 if at == first else -1, -1):
                row[at] = amount
                fill(at + 1, room - amount * self.sizes[at])
            row[at] = 0

        fill(first, self.capacity)
        found.sort(key=lambda entry: entry[0])
        return [entry[1] for entry in found]
