"""Reading and writing markings: what is refused, and what survives a round trip."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.errors import QuantityError, UnknownPartError
from lampwright.tables.markings import colour_bands, read_bands, read_rkm, rkm_code
from lampwright.tables.resistors import E_SERIES, decade, ladder

PREFERRED = st.sampled_from(E_SERIES).flatmap(lambda series: st.sampled_from(ladder(series)))


@given(PREFERRED)
def test_every_preferred_value_survives_its_code(resistance):
    assert read_rkm(rkm_code(resistance)).resistance == resistance


@given(st.sampled_from(ladder("E24")), st.sampled_from([0.05, 0.1, 0.2, 0.02, 0.01, 0.005, 0.0025, 0.001]))
def test_every_e24_value_survives_its_bands(resistance, tolerance):
    read = read_bands(colour_bands(resistance, tolerance))
    assert read.resistance == resistance
    assert read.tolerance == tolerance


@given(PREFERRED)
def test_five_bands_for_one_per_cent(resistance):
    bands = colour_bands(resistance, 0.01)
    assert len(bands) == 5
    assert read_bands(bands).resistance == resistance


def test_four_bands_where_two_digits_do_and_five_where_not():
    assert len(colour_bands(330.0, 0.05)) == 4
    assert len(colour_bands(332.0, 0.05)) == 5


def test_no_bands_for_what_no_bands_say():
    assert colour_bands(0.0) is None
    assert colour_bands(332.5) is None
    assert colour_bands(330.0, 0.03) is None
    assert rkm_code(0.0) is None
    assert rkm_code(332.55) is None


def test_case_and_blanks_do_not_matter():
    assert read_rkm(" 4k7 ") == read_rkm("4K7")
    assert read_rkm("330r").resistance == 330.0


@pytest.mark.parametrize("text", ["", "R", "330", "4.7k", "4k7 Ω", "ten", "4K7X", "4K7K7"])
def test_what_is_no_code(text):
    assert read_rkm(text) is None


def test_a_small_m_is_not_guessed():
    with pytest.raises(QuantityError) as refused:
        read_rkm("4m7")
    assert refused.value.suggestion == "4M7"
    assert "milli" in refused.value.detail


@pytest.mark.parametrize(
    ("bands", "part"),
    [
        (["red", "red"], "2 bands"),
        (["red"] * 6, "6 bands"),
        (["gold", "red", "brown", "red"], "no digit"),
        (["red", "red", "none", "gold"], "not a band colour"),
        (["red", "teal", "brown", "gold"], "not a band colour"),
        (["red", "red", "brown", "grey"], "no certain tolerance"),
        (["red", "red", "brown", "white"], "no certain tolerance"),
    ],
)
def test_bands_that_do_not_read(bands, part):
    with pytest.raises(QuantityError, match=part):
        read_bands(bands)


def test_other_spellings_of_colours():
    assert read_bands(["Gray", "red", "black", "gold"]).resistance == 82.0
    assert read_bands(["purple", "green", "brown"]).tolerance == 0.2


def test_an_unknown_series_names_the_known_ones():
    with pytest.raises(UnknownPartError) as refused:
        decade("E25")
    assert "E24" in refused.value.known


@pytest.mark.parametrize("series", E_SERIES)
def test_a_ladder_climbs_from_a_tenth_of_an_ohm_to_ten_megohms(series):
    values = ladder(series)
    assert list(values) == sorted(set(values))
    assert (values[0], values[-1]) == (0.1, 1e7)
    assert len(values) == 8 * int(series[1:]) + 1
