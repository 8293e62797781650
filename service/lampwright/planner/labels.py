"""The labels of a build: rows A, B, C, ...; the lights in them A1, A2 from plus.

One label for one thing on the drawing, in tables, readings and faults. Letters that already name
something else on the sheet (F fuse, G supply, R resistor, S switch, W wire, X joint) or read as a digit
(I, O) are left out, so A, B, C, D, E, H, J and so on. Rows that are alike are planned once and carry the
span of their labels, "A–D".
"""

from __future__ import annotations

from functools import lru_cache

SPAN = "–"
LETTERS = "ABCDEHJKLMNPQTUVYZ"


def row_letter(index: int) -> str:
    """Return the label of the row with this index, counted from 0.

    >>> [row_letter(i) for i in (0, 4, 5, 17, 18, 19)]
    ['A', 'E', 'H', 'Z', 'AA', 'AB']
    """
    letters = ""
    number = index + 1
    while number:
        number, rest = divmod(number - 1, len(LETTERS))
        letters = LETTERS[rest] + letters
    return letters


def row_index(letter: str) -> int:
    """Return the index of a row from its label.

    >>> row_index("A"), row_index("AB")
    (0, 19)
    """
    index = 0
    for character in letter:
        index = index * len(LETTERS) + LETTERS.index(character) + 1
    return index - 1


def row_span(first: int, count: int) -> str:
    """Return the label of ``count`` rows alike, from index ``first`` on.

    >>> row_span(0, 1), row_span(0, 4)
    ('A', 'A–D')
    """
    if count == 1:
        return row_letter(first)
    return f"{row_letter(first)}{SPAN}{row_letter(first + count - 1)}"


@lru_cache(maxsize=4096)
def rows_in(span: str) -> tuple[str, ...]:
    """Return each row's label of a span.

    >>> rows_in("B–D"), rows_in("A")
    (('B', 'C', 'D'), ('A',))
    """
    first, _, last = span.partition(SPAN)
    start = row_index(first)
    return tuple(row_letter(i) for i in range(start, row_index(last or first) + 1))


def first_row(span: str) -> str:
    """Return the label of the first row of a span.

    >>> first_row("B–D")
    'B'
    """
    return span.partition(SPAN)[0]


def light_label(row: str, position: int) -> str:
    """Return the label of a light: its row, and its place from plus counted from 0.

    >>> light_label("A", 0)
    'A1'
    """
    return f"{row}{position + 1}"
