"""How wide columns are: of a few proportions the one that takes the fewest lines.

What the cells say differs from build to build: one has long bands in its good column, another long causes,
and names of lights are as long as their maker likes.
Lines are counted with letters of three widths, as ordinary fonts have them; a browser's own count differs
by a line here and there, and nothing hangs on that but some room on the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

_NARROW = frozenset("ijltfrI.,:;'!()|- ")
_WIDE = frozenset("mwMW%")
_NARROW_SIZE, _WIDE_SIZE = 0.62, 1.5  # of an ordinary letter
#: Ordinary letters in a hundredth of the page: on Letter, on A4.
_ROOM = (1.04, 1.0)

#: Number, tips, good, zero, low, high: parts of the page, in hundredths.
READINGS = (
    (3, 20, 21, 19, 17, 20),
    (3, 19, 23, 17, 17, 21),
    (3, 20, 17, 19, 20, 21),
    (3, 20, 23, 16, 17, 21),
    (3, 22, 17, 19, 18, 21),
    (3, 20, 21, 17, 17, 22),
    (3, 20, 18, 20, 20, 19),
    (3, 21, 19, 19, 18, 20),
)
#: Item, value, need, spare, for, have, buy, or instead.
PARTS = (
    (15, 38, 6, 6, 12, 5, 5, 13),
    (16, 37, 6, 6, 12, 5, 5, 13),
    (17, 37, 6, 6, 11, 5, 5, 13),
    (18, 36, 6, 6, 11, 5, 5, 13),
    (20, 33, 6, 6, 12, 5, 5, 13),
    (24, 29, 6, 6, 12, 5, 5, 13),
    (15, 35, 6, 6, 15, 5, 5, 13),
)
#: Row, lights, colour, resistor, mA, half at, where it sits.
ROWS = (
    (10, 8, 11, 37, 12, 7, 15),
    (10, 8, 11, 34, 11, 7, 19),
    (9, 8, 10, 33, 11, 7, 22),
    (9, 8, 10, 27, 11, 7, 28),
)
#: Of the readings, columns in which neighbours that say the same share a cell.
READINGS_SHARED = 3
_BOLD = 0.85  # of the ordinary letters that fit, in the first column


@lru_cache(4096)
def _sizes(text: str) -> tuple[float, ...]:
    """Return how wide each word is, in ordinary letters."""
    return tuple(
        [
            sum([_NARROW_SIZE if one in _NARROW else _WIDE_SIZE if one in _WIDE else 1.0 for one in word])
            for word in text.split()
        ]
    )


# What stands on a sheet are mostly our own words, and they come again.
@lru_cache(32768)
def lines_of(text: str, room: float) -> int:
    """Return how many lines a text takes in so many ordinary letters.

    >>> lines_of("supply leads", 20.0), lines_of("supply leads", 8.0)
    (1, 2)
    """
    lines, used = 1, 0.0
    for size in _sizes(text):
        if used and used + _NARROW_SIZE + size > room:
            lines, used = lines + 1, size
        else:
            used += size + (_NARROW_SIZE if used else 0.0)
    return lines


Runs = list[list[tuple[int, int, str]]]


def _runs(rows: Sequence[Sequence[str]], shared_from: int | None) -> Runs:
    """Return for each column its cells that may need lines: first row, row after the last, text."""
    found: Runs = []
    for column in range(len(rows[0])):
        cells, at = [], 0
        while at < len(rows):
            text, end = rows[at][column], at + 1
            if shared_from is not None and column >= shared_from and text != "-":
                while end < len(rows) and rows[end][column] == text:
                    end += 1
            if " " in text:
                cells.append((at, end, text))
            at = end
        found.append(cells)
    return found


def _height(count: int, runs: Runs, widths: Sequence[int], room: float) -> int:
    """Return how many lines a table takes; a shared cell needs its lines in all of its rows together."""
    high = [1] * count
    shared = []
    for column, cells in enumerate(runs):
        there = widths[column] * room * (1.0 if column else _BOLD)
        for start, end, text in cells:
            if len(text) * _WIDE_SIZE <= there:
                continue
            lines = lines_of(text, there)
            if end > start + 1:
                shared.append((start, end, lines))
            elif lines > high[start]:
                high[start] = lines
    for start, end, lines in shared:
        high[end - 1] += max(0, lines - sum(high[start:end]))
    return sum(high)


def lines_taken(
    rows: Sequence[Sequence[str]], choices: Sequence[tuple[int, ...]], shared_from: int | None = None
) -> list[int]:
    """Return how many lines a table takes with each choice, on both papers together."""
    if not rows:
        return [0] * len(choices)
    runs = _runs(rows, shared_from)
    return [sum([_height(len(rows), runs, widths, room) for room in _ROOM]) for widths in choices]


def fewest_lines(
    rows: Sequence[Sequence[str]], choices: Sequence[tuple[int, ...]], shared_from: int | None = None
) -> tuple[int, ...]:
    """Return the proportions that take the fewest lines; the first of equals."""
    taken = lines_taken(rows, choices, shared_from)
    return choices[taken.index(min(taken))]
