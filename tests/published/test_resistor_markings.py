"""Letter codes and colour bands against IEC 60062, as public texts repeat it."""

import pytest

from lampwright.tables.markings import (
    TOLERANCE_LETTERS,
    colour_bands,
    colours,
    read_bands,
    read_rkm,
    rkm_code,
)
from tests.marks import agree, published

# colour: (letters, digit, power of ten, tolerance)
COLOURS = {
    "black": ("BK", 0, 0, None),
    "brown": ("BN", 1, 1, 0.01),
    "red": ("RD", 2, 2, 0.02),
    "orange": ("OG", 3, 3, 0.0005),
    "yellow": ("YE", 4, 4, 0.0002),
    "green": ("GN", 5, 5, 0.005),
    "blue": ("BU", 6, 6, 0.0025),
    "violet": ("VT", 7, 7, 0.001),
    "grey": ("GY", 8, 8, None),
    "white": ("WH", 9, 9, None),
    "gold": ("GD", None, -1, 0.05),
    "silver": ("SR", None, -2, 0.1),
    "pink": ("PK", None, -3, None),
    "none": ("", None, None, 0.2),
}
PRINTED = {
    "R47": 0.47,
    "4R7": 4.7,
    "470R": 470.0,
    "4K7": 4700.0,
    "47K": 47e3,
    "47K3": 47300.0,
    "470K": 470e3,
    "51R1": 51.1,
    "5R1": 5.1,
    "100R": 100.0,
    "10K": 10e3,
}
READ_ONLY = {"1K": 1000.0, "R001": 0.001, "R010": 0.01, "R100": 0.1, "1R00": 1.0}
BY_RULE = {"330R": 330.0, "1M0": 1e6, "2K2": 2200.0}


@pytest.mark.parametrize("colour", COLOURS)
@published("IEC-60062", "table of colours", of="lampwright.tables.markings.colours")
def test_what_each_colour_means(colour):
    letters, digit, power, tolerance = COLOURS[colour]
    row = colours()[colour]
    assert (row.letters, row.digit, row.tolerance) == (letters, digit, tolerance)
    if power is None:
        assert row.multiplier is None
    else:
        agree(row.multiplier, 10.0**power, rel=1e-12, why="exact power of ten", what=colour)


@published("IEC-60062", "table of colours", of="lampwright.tables.markings.colours")
def test_no_colour_beside_those():
    assert set(colours()) == set(COLOURS)


@pytest.mark.parametrize("code", [*PRINTED, *READ_ONLY])
@published(
    "IEC-60062", "letter codes in data sheets and package texts", of="lampwright.tables.markings.read_rkm"
)
def test_printed_codes_read(code):
    agree(read_rkm(code).resistance, {**PRINTED, **READ_ONLY}[code], rel=1e-12, why="exact", what=code)


@pytest.mark.parametrize("code", [*PRINTED, *BY_RULE])
@published("IEC-60062", "the letter stands for the point", of="lampwright.tables.markings.rkm_code")
def test_codes_are_written_as_printed(code):
    assert rkm_code({**PRINTED, **BY_RULE}[code]) == code


@published("IEC-60062", "the letter stands for the point", of="lampwright.tables.markings.read_rkm")
def test_a_leading_zero_is_read():
    agree(read_rkm("0R22").resistance, 0.22, rel=1e-12, why="exact")


@published("MEMORY", "M is mega, L is milli", of="lampwright.tables.markings.read_rkm", kind="memory")
def test_mega_and_milli():
    agree(read_rkm("4M7").resistance, 4.7e6, rel=1e-12, why="exact")
    agree(read_rkm("1L0").resistance, 0.001, rel=1e-12, why="exact")


@pytest.mark.parametrize(("letter", "tolerance"), [("F", 0.01), ("G", 0.02), ("J", 0.05)])
@published("YAGEO-CFR", "ordering information", of="lampwright.tables.markings.read_rkm")
def test_tolerance_letters_of_data_sheets(letter, tolerance):
    assert read_rkm(f"330R{letter}").tolerance == tolerance


@pytest.mark.parametrize(
    ("letter", "tolerance"), [("B", 0.001), ("C", 0.0025), ("D", 0.005), ("K", 0.1), ("M", 0.2)]
)
@published("MEMORY", "tolerance letters", of="lampwright.tables.markings.TOLERANCE_LETTERS", kind="memory")
def test_other_tolerance_letters(letter, tolerance):
    assert TOLERANCE_LETTERS[letter] == tolerance
    assert read_rkm(f"4K7{letter}").tolerance == tolerance


@pytest.mark.parametrize("code", ["472", "1002", "103", "01C", "68X"])
@published("IEC-60062", "chip codes are another system", of="lampwright.tables.markings.read_rkm")
def test_chip_codes_are_not_read_as_letter_codes(code):
    assert read_rkm(code) is None


@pytest.mark.parametrize(
    ("resistance", "tolerance", "words"),
    [
        (220.0, 0.05, "red red brown gold"),
        (330.0, 0.05, "orange orange brown gold"),
        (4700.0, 0.05, "yellow violet red gold"),
        (1e6, 0.05, "brown black green gold"),
        (4.7, 0.05, "yellow violet gold gold"),
        (0.47, 0.1, "yellow violet silver silver"),
        (220.0, 0.01, "red red black black brown"),
        (4990.0, 0.01, "yellow white white brown brown"),
        (68.0, 0.2, "blue grey black"),
        (15300.0, 0.005, "brown green orange red green"),
    ],
)
@published(
    "IEC-60062",
    "bands from the table of colours, worked by hand",
    of="lampwright.tables.markings.colour_bands",
    kind="hand",
)
def test_bands_worked_by_hand(resistance, tolerance, words):
    assert colour_bands(resistance, tolerance) == tuple(words.split())
    read = read_bands(words.split())
    agree(read.resistance, resistance, rel=1e-12, why="exact")
    assert read.tolerance == tolerance
