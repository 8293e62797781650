"""Resistor and heat formulas: properties and refusals."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.errors import OutOfRangeError
from lampwright.physics.heating import derating, temperature_rise, thermal_resistance, touch_temperature
from lampwright.physics.resistors import (
    in_parallel,
    in_series,
    preferred_above,
    preferred_at_least,
    preferred_below,
    tolerance_corners,
)
from lampwright.tables.resistors import ladder

OHMS = st.floats(0.2, 9e6)


@given(OHMS)
def test_the_chosen_value_is_the_first_that_is_enough(resistance):
    values = ladder("E24")
    found = preferred_at_least(resistance, values)
    assert found >= resistance * (1 - 1e-9)
    below = preferred_below(found, values)
    assert below is None or below < resistance


@given(OHMS)
def test_neighbours_enclose(resistance):
    values = ladder("E96")
    below, above = preferred_below(resistance, values), preferred_above(resistance, values)
    assert below < resistance < above
    between = [value for value in values if below < value < above]
    assert len(between) <= 1


@given(st.lists(OHMS, min_size=1, max_size=5))
def test_side_by_side_is_less_than_the_least_and_a_row_more_than_the_most(parts):
    assert in_parallel(*parts) <= min(parts) * (1 + 1e-12)
    assert in_series(*parts) >= max(parts) * (1 - 1e-12)


def test_a_ladder_ends():
    with pytest.raises(OutOfRangeError):
        preferred_at_least(2e7, ladder("E24"))


@pytest.mark.parametrize("tolerance", [-0.01, 1.0])
def test_a_tolerance_is_a_part(tolerance):
    with pytest.raises(OutOfRangeError):
        tolerance_corners(100.0, tolerance)


@given(st.floats(-40, 200))
def test_derating_is_a_part_and_falls(ambient):
    assert 0 <= derating(ambient) <= 1
    assert derating(ambient) >= derating(ambient + 1)


def test_derating_needs_its_temperatures_in_order():
    with pytest.raises(OutOfRangeError):
        derating(25.0, 155.0, 70.0)


def test_a_rating_is_above_zero():
    with pytest.raises(OutOfRangeError):
        thermal_resistance(0.0)


@given(st.floats(0.05, 5), st.floats(70, 155))
def test_a_part_at_its_derated_limit_is_at_its_hottest(rated, ambient):
    # What the line leaves at any temperature heats the film to the same 155 °C: the line is that rule.
    heat = rated * derating(ambient)
    assert touch_temperature(ambient, heat, thermal_resistance(rated)) == pytest.approx(155.0)
    assert temperature_rise(heat, thermal_resistance(rated)) == pytest.approx(155.0 - ambient)
