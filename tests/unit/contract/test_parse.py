"""Texts with units: what is read, to the last bit, and what is refused with a hint."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.contract.parse import parse_quantity, pattern
from lampwright.errors import QuantityError
from lampwright.quantities import UNITS

READ = [
    ("20", "ma", 20.0),
    ("20mA", "ma", 20.0),
    ("20 mA", "ma", 20.0),
    ("0.02 A", "ma", 20.0),
    ("20000 µA", "ma", 20.0),
    ("20000 μA", "ma", 20.0),
    (" 20\u00a0mA ", "ma", 20.0),
    ("0,02 A", "ma", 20.0),
    ("2e1", "ma", 20.0),
    ("1.0000000000000002", "ohm", 1.0000000000000002),
    ("0.00012345678901234567 A", "ma", 0.12345678901234567),
    ("4k7", "ohm", 4700.0),
    ("4.7k", "ohm", 4700.0),
    ("4.7 kΩ", "ohm", 4700.0),
    ("4.7 k\u2126", "ohm", 4700.0),
    ("330R", "ohm", 330.0),
    ("1R5", "ohm", 1.5),
    ("R47", "ohm", 0.47),
    ("1M", "ohm", 1e6),
    ("100 ohm", "ohm", 100.0),
    ("50 mΩ", "ohm", 0.05),
    ("1,5 V", "v", 1.5),
    ("0,500 V", "v", 0.5),
    ("1234,567 mV", "v", 1.234567),
    ("3V3", "v", 3.3),
    ("12 VDC", "v", 12.0),
    ("12 V DC", "v", 12.0),
    ("\u22125 V", "v", -5.0),
    ("1/4 W", "w", 0.25),
    ("250 mW", "w", 0.25),
    ("90 min", "h", 1.5),
    ("2 days", "h", 48.0),
    ("1800 s", "h", 0.5),
    ("30 cm", "m", 0.3),
    ("10 ft", "m", 3.048),
    ("77 °F", "degc", 25.0),
    ("-10 °C", "degc", -10.0),
    ("3 %", "pct", 3.0),
    ("2.4 Ah", "mah", 2400.0),
    ("1 kHz", "hz", 1000.0),
    ("0.25 mm²", "mm2", 0.25),
    ("1.2 kg", "g", 1200.0),
    ("99 Wh", "wh", 99.0),
]


@pytest.mark.parametrize(("text", "unit", "value"), READ)
def test_is_read(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == value


# text, unit, a word of the detail, the suggestion
REFUSED = [
    ("1,500", "ma", "two meanings", None),
    ("1,500 V", "v", "two meanings", None),
    ("1.500,5", "v", "groups", None),
    ("1 500", "v", "groups", None),
    ("1O0", "ohm", "letter O", 100.0),
    ("2O mA", "ma", "letter O", 20.0),
    ("12o V", "v", "letter O", 120.0),
    ("20 MA", "ma", "unclear prefix", 20.0),
    ("20 Ma", "ma", "unclear prefix", 20.0),
    ("4m7", "ohm", "unclear prefix", None),
    ("1e400", "v", "number one can build with", None),
    ("300 K", "degc", "kelvin", 26.85),
    ("4.7 mohm", "ohm", "unclear prefix", None),
    ("20 m", "ma", "unclear prefix", None),
    ("20 V", "ma", "a voltage; a current is wanted", None),
    ("5 Ω", "v", "a resistance; a voltage is wanted", None),
    ("20 mA 5 V", "ma", "two units", None),
    ("2 h 30 min", "h", "two units", None),
    ("5 V 20mA", "v", "two units", None),
    ("20 mA/V", "ma", "two units", None),
    ("230 VAC", "v", "mains", None),
    ("12 V AC", "v", "mains", None),
    ("12 V~", "v", "mains", None),
    ("mains", "v", "mains", None),
    ("NaN", "v", "not a number one can build with", None),
    ("inf", "v", "not a number one can build with", None),
    ("-Infinity", "v", "not a number one can build with", None),
    ("9-12 V", "v", "range", None),
    ("", "v", "empty", None),
    ("  ", "v", "empty", None),
    ("nine volts", "v", "not a number", None),
    ("5 parsec", "m", "not known", None),
    ("--5", "v", "not a number", None),
    ("1" * 80, "v", "characters long", None),
]


@pytest.mark.parametrize(("text", "unit", "words", "suggestion"), REFUSED)
def test_is_refused_with_a_hint(text: str, unit: str, words: str, suggestion: float | None) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert words in caught.value.detail
    assert caught.value.hint
    assert caught.value.suggestion == suggestion


@given(st.sampled_from(sorted(UNITS)), st.data())
def test_what_matches_the_published_pattern_is_read(unit: str, data: st.DataObject) -> None:
    text = data.draw(st.from_regex(re.compile(pattern(unit), re.ASCII), fullmatch=True)).strip("\n")
    assert math.isfinite(parse_quantity(text, unit))


@given(st.text(max_size=30), st.sampled_from(sorted(UNITS)))
def test_any_other_text_is_refused_by_name(text: str, unit: str) -> None:
    try:
        found: float | str = parse_quantity(text, unit)
    except QuantityError as error:
        found = error.detail
    assert found if isinstance(found, str) else math.isfinite(found)


@given(st.floats(1e-15, 1e15))
def test_what_a_program_writes_is_read_to_the_last_bit(value: float) -> None:
    assert parse_quantity(repr(value), "ohm") == value


@given(st.integers(0, 10**9), st.integers(0, 6))
def test_milliamperes_and_amperes_agree_to_the_last_bit(digits: int, places: int) -> None:
    exact = Fraction(digits, 10**places)
    whole, rest = divmod(digits, 10**places)
    number = f"{whole}.{rest:0{places}d}" if places else str(whole)
    milliamps = parse_quantity(f"{number} mA", "ma")
    assert milliamps == float(exact)
    amps = f"{digits}e-{places + 3}" if places + 3 < 100 else "0"
    assert parse_quantity(f"{amps} A", "ma") == milliamps == parse_quantity(number, "ma")


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_a_pattern_with_units_wants_one(unit: str) -> None:
    assert not re.match(pattern(unit, bare=False), "20")
    assert re.match(pattern(unit), "20")
