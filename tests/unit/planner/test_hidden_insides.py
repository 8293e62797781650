"""What hides in a sleeve: known insides are found again, and doubt is told as doubt."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.physics.diodes import string_current
from lampwright.planner.catalogue import led_from_figures, led_from_part, led_model
from lampwright.planner.identification import identify_light
from lampwright.planner.models.circuits import IdentificationAsk, MeterReading, StringAsk
from lampwright.planner.strings import solve_string
from lampwright.planner.supplies import supply_from_voltage


def reading(led, volts, digits=4):
    """Return what a meter of so many decimals (of an ampere) says."""
    some, hidden = led_model(led, "expected", 25.0)
    return MeterReading(volts, round(string_current(volts, some, hidden), digits))


def codes(answer):
    return [found.code for found in answer.findings]


@pytest.mark.parametrize(
    ("part", "volts", "resistance", "count", "family"),
    [
        ("prewired_white_12v", (5.0, 12.0), 470.0, 1, "green_to_white"),
        ("prewired_red_12v", (5.0, 12.0), 510.0, 1, "red_to_yellow"),
        ("prewired_yellow_12v", (3.0, 9.0, 12.0), 510.0, 1, "red_to_yellow"),
        ("prewired_white_12v_three", (10.0, 12.0), 120.0, 3, "green_to_white"),
        ("prewired_white_24v", (5.0, 24.0), 1100.0, 1, "green_to_white"),
        ("prewired_red_24v", (9.0, 24.0), 1100.0, 1, "red_to_yellow"),
    ],
)
def test_known_insides_are_found_from_two_readings(part, volts, resistance, count, family):
    led = led_from_part(part)
    answer = identify_light(IdentificationAsk(tuple(reading(led, each) for each in volts)))
    assert math.isclose(answer.built_in_resistance, resistance, rel_tol=0.06)
    assert answer.built_in_resistance_low < resistance < answer.built_in_resistance_high
    assert (answer.built_in_series_count, answer.led_family) == (count, family)
    assert answer.certainty > 0.9
    assert answer.next_reading is None
    assert math.isclose(answer.forward_voltage, led.forward_voltage, abs_tol=0.2)


@settings(max_examples=12, deadline=None)
@given(st.floats(150.0, 1500.0), st.floats(2.9, 3.4))
def test_any_white_with_any_resistor_lies_within_its_bounds(resistance, volts):
    led = led_from_figures(forward_voltage=volts, colour="white", built_in_resistance=resistance)
    answer = identify_light(IdentificationAsk((reading(led, 5.0), reading(led, 12.0)), colour="white"))
    assert answer.built_in_resistance_low * 0.98 <= resistance <= answer.built_in_resistance_high * 1.02
    assert answer.built_in_series_count == 1


def test_one_reading_leaves_doubt_and_says_what_would_settle_it():
    led = led_from_part("prewired_white_12v")
    answer = identify_light(IdentificationAsk((reading(led, 12.0),)))
    assert answer.certainty < 0.9
    assert "inside_uncertain" in codes(answer)
    volts = answer.next_reading.voltage
    assert volts < 12.0
    assert answer.next_reading.current_low < answer.next_reading.current_high
    settled = identify_light(IdentificationAsk((reading(led, 12.0), reading(led, volts))))
    assert settled.certainty > answer.certainty
    assert settled.led_family == "green_to_white"


def test_no_light_at_five_volts_means_several_inside():
    led = led_from_part("prewired_white_12v_three")
    dark = MeterReading(5.0, 0.0)
    answer = identify_light(IdentificationAsk((dark, reading(led, 12.0)), colour="white"))
    assert answer.built_in_series_count >= 2
    assert answer.at_voltages[1].verdict == "dark"


def test_the_print_alone():
    """The sum makers do: (rated volts − colour volts) / rated current (common practice, no source)."""
    answer = identify_light(
        IdentificationAsk(rated_voltage=12.0, rated_voltage_min=9.0, rated_current=0.018, colour="yellow")
    )
    assert math.isclose(answer.built_in_resistance, (12.0 - 2.1) / 0.018, rel_tol=0.05)
    assert answer.built_in_series_count == 1
    volts = [each.supply_voltage for each in answer.at_voltages]
    assert volts == [3.0, 5.0, 9.0, 12.0, 14.4]
    currents = [each.current for each in answer.at_voltages]
    assert currents == sorted(currents)
    assert math.isclose(answer.at_voltages[3].brightness, 1.0, rel_tol=0.06)


def test_a_twelve_volt_white_keeps_two_thirds_on_nine_volts_and_little_on_five():
    """Common practice, no source."""
    answer = identify_light(
        IdentificationAsk(rated_voltage=12.0, rated_current=0.02, colour="white", supply_voltage=9.0)
    )
    at = {each.supply_voltage: each for each in answer.at_voltages}
    assert math.isclose(at[9.0].current / at[12.0].current, 2 / 3, abs_tol=0.05)
    assert at[5.0].current / at[12.0].current < 0.3
    assert codes(answer) in ([], ["inside_uncertain"])


def test_too_many_volts_are_said_plainly():
    mild = identify_light(
        IdentificationAsk(rated_voltage=12.0, rated_current=0.02, colour="white", supply_voltage=14.4)
    )
    assert "prewired_above_printed" in codes(mild)
    harsh = identify_light(
        IdentificationAsk(rated_voltage=5.0, rated_current=0.02, colour="white", supply_voltage=12.0)
    )
    assert "prewired_too_much" in codes(harsh)
    assert "hardly_a_resistor_inside" in codes(harsh)


def test_the_matching_resistor_matches():
    bare = led_from_part("amber_5mm")
    answer = identify_light(
        IdentificationAsk(
            rated_voltage=12.0,
            rated_voltage_min=9.0,
            rated_current=0.018,
            colour="yellow",
            supply_voltage=9.0,
            led=bare,
        )
    )
    hers = solve_string(
        StringAsk((bare,), answer.matching_resistance), supply_from_voltage(9.0), 25.0
    ).current
    his = next(each.current for each in answer.at_voltages if each.supply_voltage == 9.0)
    assert math.isclose(hers, his, rel_tol=0.06)
    assert "match_by_eye" in codes(answer)


def test_no_match_where_the_volts_do_not_reach():
    answer = identify_light(
        IdentificationAsk(
            rated_voltage=3.0,
            rated_current=0.02,
            colour="red",
            supply_voltage=2.5,
            led=led_from_part("white_5mm"),
        )
    )
    assert answer.matching_resistance is None
    assert "no_match_possible" in codes(answer)


def test_bounds_hold_what_was_found_also_where_readings_disagree():
    twice = (MeterReading(9.0, 0.005), MeterReading(9.0, 0.0005))
    found = identify_light(IdentificationAsk(readings=twice))
    assert found.built_in_resistance_low <= found.built_in_resistance <= found.built_in_resistance_high


def test_readings_that_fit_nothing():
    answer = identify_light(IdentificationAsk((MeterReading(1.0, 0.02),)))
    assert answer.built_in_resistance is None
    assert codes(answer) == ["no_inside_fits"]
    odd = identify_light(
        IdentificationAsk((MeterReading(9.0, 0.020), MeterReading(12.0, 0.0201)), colour="white")
    )
    assert "readings_disagree" in codes(odd) or odd.built_in_resistance is None
