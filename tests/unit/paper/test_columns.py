"""Columns are as wide as what stands in them asks for, and always a whole page."""

import pytest

from lampwright.paper import tables
from lampwright.paper.columns import (
    PARTS,
    READINGS,
    READINGS_SHARED,
    ROWS,
    fewest_lines,
    lines_of,
    lines_taken,
)
from tests.builds import NAMES, UNLIKE, sheet_of


@pytest.mark.parametrize("choices", [READINGS, PARTS, ROWS])
def test_every_choice_is_a_whole_page(choices):
    assert {sum(widths) for widths in choices} == {100}
    assert len({len(widths) for widths in choices}) == 1


def test_lines_are_counted_as_words_wrap():
    assert lines_of("", 10.0) == lines_of("one", 10.0) == 1
    assert lines_of("one two three four", 8.0) == 3
    # A word wider than its column takes a line of its own, and breaks no other.
    assert lines_of("one extraordinarily two", 6.0) == 3


def test_a_long_name_widens_its_column():
    def line(name):
        return (name, "Red, 5 mm", "12", "2", "A to D", "[ ]", "[ ]", "same kind")

    assert fewest_lines([line("Lamps")], PARTS) == PARTS[0]
    assert fewest_lines([line("Night path of the tower")] * 3, PARTS)[0] > PARTS[0][0]


def test_neighbours_that_say_the_same_share_their_lines():
    words = "dark: a joint open or a light the wrong way round"
    rows = [("4", "across R-A", "2.7 V", words, "-", "-"), ("5", "across R-B", "2.7 V", words, "-", "-")]
    assert lines_taken(rows, READINGS, READINGS_SHARED)[0] < lines_taken(rows, READINGS)[0]


@pytest.mark.parametrize("name", [*NAMES, *UNLIKE])
def test_the_fewest_lines_are_taken(name):
    sheet = sheet_of(name)
    for table, choices, shared in (
        (tables.readings(sheet), READINGS, READINGS_SHARED),
        (tables.parts(sheet), PARTS, None),
        (tables.rows_table(sheet), ROWS, None),
    ):
        taken = lines_taken(table.rows, choices, shared)
        assert taken[choices.index(table.widths)] == min(taken)
