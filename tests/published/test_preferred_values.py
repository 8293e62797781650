"""Preferred values against IEC 60063, as public software transcribes it."""

from itertools import pairwise

import pytest

from lampwright.physics.resistors import dissipation as heat
from lampwright.physics.resistors import (
    in_parallel,
    in_series,
    preferred_above,
    preferred_at_least,
    preferred_below,
    tolerance_corners,
)
from lampwright.tables.resistors import E_SERIES, decade, ladder, preferred_rows
from tests.marks import agree, published

# Written out here a second time, independent of the table, in hundredths.
E24 = "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91"
E192 = """
100 101 102 104 105 106 107 109 110 111 113 114 115 117 118 120 121 123 124 126 127 129 130 132
133 135 137 138 140 142 143 145 147 149 150 152 154 156 158 160 162 164 165 167 169 172 174 176
178 180 182 184 187 189 191 193 196 198 200 203 205 208 210 213 215 218 221 223 226 229 232 234
237 240 243 246 249 252 255 258 261 264 267 271 274 277 280 284 287 291 294 298 301 305 309 312
316 320 324 328 332 336 340 344 348 352 357 361 365 370 374 379 383 388 392 397 402 407 412 417
422 427 432 437 442 448 453 459 464 470 475 481 487 493 499 505 511 517 523 530 536 542 549 556
562 569 576 583 590 597 604 612 619 626 634 642 649 657 665 673 681 690 698 706 715 723 732 741
750 759 768 777 787 796 806 816 825 835 845 856 866 876 887 898 909 920 931 942 953 965 976 988
"""
TENTHS = [int(value) / 10 for value in E24.split()]
HUNDREDTHS = [int(value) / 100 for value in E192.split()]
# Coarse series drop every second value of the next finer one.
EXPECTED = {
    "E24": TENTHS,
    "E12": TENTHS[::2],
    "E6": TENTHS[::4],
    "E3": TENTHS[::8],
    "E192": HUNDREDTHS,
    "E96": HUNDREDTHS[::2],
    "E48": HUNDREDTHS[::4],
}


@pytest.mark.parametrize("series", E_SERIES)
@published("IEC-60063", "tables of E3 to E192", of="lampwright.tables.resistors.decade")
def test_every_value_of_every_series_is_the_standards(series):
    assert list(decade(series)) == EXPECTED[series]
    assert len(decade(series)) == int(series[1:])


@published("IEC-60063", "tables of E3 to E192", of="lampwright.tables.resistors.preferred_rows")
def test_the_table_holds_nothing_else():
    assert len(preferred_rows()) == sum(len(values) for values in EXPECTED.values())
    assert {row.status for row in preferred_rows()} == {"quoted"}


@published("IEC-60063", "values that differ from the formula", of="lampwright.tables.resistors.decade")
def test_values_that_are_not_what_their_formula_rounds_to():
    # Known from the standard: eight of E24, and 9.20 in E192.
    differing = [value for at, value in enumerate(decade("E24")) if value != round(10 ** (at / 24), 1)]
    assert differing == [2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 8.2]
    differing = [value for at, value in enumerate(decade("E192")) if value != round(10 ** (at / 192), 2)]
    assert differing == [9.20]


@published("IEC-60063", "series E12", of="lampwright.physics.resistors.preferred_at_least")
def test_the_next_higher_value_is_taken_never_the_nearest():
    e12 = ladder("E12")
    assert preferred_at_least(331.0, e12) == 390.0
    assert preferred_at_least(330.0, e12) == 330.0
    assert preferred_at_least(0.83, e12) == 1.0
    # 10 % over 330: the nearest would be 330 and let 10 % more current through.
    assert preferred_at_least(363.0, e12) == 390.0


@published("IEC-60063", "series E24", of="lampwright.physics.resistors.preferred_below")
def test_the_neighbour_below():
    assert preferred_below(390.0, ladder("E24")) == 360.0
    assert preferred_below(100.0, ladder("E24")) == 91.0
    assert preferred_below(0.1, ladder("E24")) is None


@published("IEC-60063", "series E24", of="lampwright.physics.resistors.preferred_above")
def test_the_neighbour_above():
    assert preferred_above(390.0, ladder("E24")) == 430.0
    assert preferred_above(91.0, ladder("E24")) == 100.0
    assert preferred_above(1e7, ladder("E24")) is None


@published("IEC-60063", "tolerance of E24: 5 %", of="lampwright.physics.resistors.tolerance_corners")
def test_tolerances_of_a_series_close_its_gaps():
    # Five per cent either way reaches from each E24 value to the next, but for a gap of at most 5 %.
    values = decade("E24")
    for value, following in pairwise(values):
        assert tolerance_corners(value, 0.05)[1] > 0.95 * tolerance_corners(following, 0.05)[0]
    low, high = tolerance_corners(100.0, 0.05)
    agree(low, 95.0, rel=1e-12, why="hand arithmetic")
    agree(high, 105.0, rel=1e-12, why="hand arithmetic")


@published(
    "PRACTICE", "one after the other adds", of="lampwright.physics.resistors.in_series", kind="practice"
)
def test_one_after_the_other_adds():
    assert in_series(100.0, 220.0, 330.0) == 650.0


@published("PRACTICE", "two equal halve", of="lampwright.physics.resistors.in_parallel", kind="practice")
def test_two_equal_side_by_side_halve():
    assert in_parallel(470.0, 470.0) == 235.0
    agree(in_parallel(100.0, 150.0), 60.0, rel=1e-12, why="hand arithmetic: 100·150/250")
    assert in_parallel(100.0, 0.0) == 0.0


@published(
    "LIEC", "vol. III, special-purpose diodes, LED section", of="lampwright.physics.resistors.dissipation"
)
def test_heat_of_the_books_resistor():
    agree(heat(0.02, 220.0), 0.088, rel=1e-9, why="printed 88 mW, exact")
    agree(heat(0.02, 1120.0), 0.448, rel=1e-9, why="printed 448 mW, exact")
