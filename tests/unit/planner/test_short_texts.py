"""The quick texts say what the general one says."""

from hypothesis import given
from hypothesis import strategies as st

from lampwright.planner.texts import milliamps, ohms, percent, volts, watts
from lampwright.quantities import show


@given(st.floats(1e-6, 1e3))
def test_quick_texts_are_the_general_ones(value):
    assert volts(value) == show(value, "v")
    assert milliamps(value) == show(value, "ma")
    assert ohms(value * 1000) == show(value * 1000, "ohm")
    assert watts(value) == show(value, "w")


@given(st.floats(0.1, 2))
def test_percent_is_whole_from_ten_on(value):
    assert percent(value) == f"{value * 100:.0f} %"
