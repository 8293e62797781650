"""A string at its corners: bounds, sums and the cases at the edge."""

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.physics.diodes import string_current
from lampwright.planner.catalogue import led_from_figures, led_from_part, led_model
from lampwright.planner.models.circuits import StringAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import (
    hottest_dissipation,
    solve_string,
    source_resistances,
    string_currents,
    string_model,
)
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage

RED = led_from_part("red_5mm")
WHITE = led_from_part("white_5mm")
NINE = supply_from_voltage(9.0, 8.0, 9.6, source_resistance=1.5)

STRINGS = st.builds(
    StringAsk,
    leds=st.lists(st.sampled_from([RED, WHITE]), min_size=1, max_size=3).map(tuple),
    resistance=st.floats(10, 2000),
    tolerance=st.sampled_from([0.01, 0.05, 0.1]),
    branch_count=st.integers(1, 3),
)


@settings(max_examples=80, deadline=None)
@given(STRINGS)
def test_the_corners_are_in_order(string):
    found = solve_string(string, NINE, 25.0)
    assert found.current_low <= found.current_empty <= found.current <= found.current_fresh
    assert found.current_fresh <= found.current_high


@settings(max_examples=80, deadline=None)
@given(STRINGS, st.floats(0, 1), st.floats(0, 1), st.lists(st.floats(0, 1), min_size=3, max_size=3))
def test_no_draw_of_parts_leaves_the_corners(string, at_voltage, at_resistor, at_lights):
    found = solve_string(string, NINE, 25.0)
    voltage = NINE.supply_voltage_min + at_voltage * (NINE.supply_voltage_max - NINE.supply_voltage_min)
    resistance = string.resistance * (1 + string.tolerance * (2 * at_resistor - 1))
    diodes = []
    for led, at in zip(string.leds, at_lights, strict=False):
        drawn = led.forward_voltage_min + at * (led.forward_voltage_max - led.forward_voltage_min)
        diodes += led_model(dataclasses.replace(led, forward_voltage=drawn), "expected", 25.0)[0]
    # Of a model's spread only ln Is moves; a family is told by its colour, which stays.
    behind = string.branch_count * NINE.source_resistance
    current = string_current(voltage, tuple(diodes), resistance + behind)
    assert found.current_low * (1 - 1e-6) <= current <= found.current_high * (1 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(STRINGS)
def test_voltages_and_heat_add_up(string):
    found = solve_string(string, NINE, 25.0)
    behind = found.current * string.branch_count * NINE.source_resistance
    total = sum(found.led_voltages) + found.resistor_voltage + behind
    assert total == pytest.approx(NINE.supply_voltage, rel=1e-9)
    assert found.string_voltage == pytest.approx(sum(found.led_voltages))
    assert found.headroom == pytest.approx(found.resistor_voltage + behind, rel=1e-6)
    assert found.dissipation == pytest.approx(found.current * found.resistor_voltage)
    assert found.dissipation_high >= found.dissipation


@settings(max_examples=60, deadline=None)
@given(STRINGS)
def test_at_the_lowest_lit_voltage_half_the_light_is_left(string):
    found = solve_string(string, NINE, 25.0)
    there = dataclasses.replace(NINE, supply_voltage=found.lowest_lit_voltage)
    lit = solve_string(string, there, 25.0)
    assert lit.current == pytest.approx(found.current / 2, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(STRINGS, st.floats(1.01, 3))
def test_more_resistance_never_means_more_current(string, factor):
    more = dataclasses.replace(string, resistance=string.resistance * factor)
    assert solve_string(more, NINE, 25.0).current_high <= solve_string(string, NINE, 25.0).current_high


def test_the_order_of_lights_changes_nothing():
    one = solve_string(StringAsk((RED, WHITE, RED), resistance=100.0), NINE, 25.0)
    other = solve_string(StringAsk((WHITE, RED, RED), resistance=100.0), NINE, 25.0)
    assert one.current == other.current
    assert one.led_voltages == (other.led_voltages[1], other.led_voltages[0], other.led_voltages[2])


def test_names_go_out_as_they_came_in():
    sent = {"forward_voltage_v": 2}
    led = led_from_figures(forward_voltage=2.0, as_sent=sent)
    nameless = led_from_figures(forward_voltage=2.0)
    found = solve_string(StringAsk((RED, led, nameless), resistance=100.0), NINE, 25.0)
    assert found.leds == ("red_5mm", sent, nameless.name)


def test_branches_share_the_source_resistance():
    alone = solve_string(StringAsk((RED,), resistance=100.0), NINE, 25.0)
    shared = solve_string(StringAsk((RED,), resistance=100.0, branch_count=10), NINE, 25.0)
    stiffer = supply_from_voltage(9.0, 8.0, 9.6, source_resistance=15.0)
    assert shared.current < alone.current
    assert shared.current == solve_string(StringAsk((RED,), resistance=100.0), stiffer, 25.0).current


def test_a_reversed_light_keeps_the_row_dark():
    found = solve_string(StringAsk((RED, WHITE, RED), resistance=100.0, reversed=(1,)), NINE, 25.0)
    assert (found.current, found.current_high, found.brightness) == (0.0, 0.0, 0.0)
    assert found.led_voltages == (0.0, -9.0, 0.0)
    assert found.string_voltage == 9.0
    assert found.lowest_lit_voltage is None
    two = solve_string(StringAsk((RED, WHITE), resistance=100.0, reversed=(0, 1)), NINE, 25.0)
    assert two.led_voltages == (-4.5, -4.5)


def test_a_dark_row_has_no_voltage_at_which_half_its_light_is_left():
    found = solve_string(StringAsk((WHITE, WHITE), resistance=100.0), supply_from_voltage(3.0), 25.0)
    assert found.brightness < 1e-3
    assert found.lowest_lit_voltage is None


def test_a_pre_wired_light_needs_nothing():
    light = led_from_part("prewired_white_12v")
    twelve = supply_from_voltage(12.0)
    found = solve_string(StringAsk((light,), resistance=0.0), twelve, 25.0)
    assert found.current == pytest.approx(light.rated_current, rel=0.25)
    assert found.led_voltages[0] == pytest.approx(12.0)
    assert found.resistance_rkm is None
    assert found.rated_dissipation is None
    assert found.headroom == pytest.approx(found.current * light.built_in_resistance, rel=1e-9)
    assert found.current_low < found.current < found.current_high


def test_a_pre_wired_light_among_bare_ones_is_solved_all_the_same():
    light = led_from_part("prewired_white_12v")
    found = solve_string(StringAsk((RED, light), resistance=100.0), supply_from_voltage(14.0), 25.0)
    assert sum(found.led_voltages) + found.resistor_voltage == pytest.approx(14.0, rel=1e-9)
    assert found.led_voltages[1] > 9.0
    assert found.led_voltages[0] < 2.0


@pytest.mark.parametrize("leds", [(RED,), (RED, WHITE), (RED, led_from_part("prewired_white_12v"))])
def test_the_slope_is_that_of_the_voltage(leds):
    corner = string_model(leds, 25.0).expected
    near = (corner.voltage(0.0101) - corner.voltage(0.0099)) / 0.0002
    assert corner.slope(0.01) == pytest.approx(near, rel=1e-4)


def test_brightness_is_current_over_rated_and_the_eye_sees_its_power():
    found = solve_string(StringAsk((RED,), resistance=820.0), supply_from_voltage(9.0), 25.0)
    assert found.brightness == pytest.approx(found.current / RED.rated_current)
    # Common practice: half the current looks about three quarters as bright.
    half = solve_string(StringAsk((RED,), resistance=685.0), supply_from_voltage(9.0), 25.0)
    assert half.brightness == pytest.approx(0.51, abs=0.02)
    assert half.seen_brightness == pytest.approx(0.74, abs=0.02)


def test_mixed_lights_are_as_bright_as_the_dimmest():
    faint = led_from_figures(forward_voltage=2.0, rated_current=0.005)
    found = solve_string(StringAsk((RED, faint), resistance=1000.0), NINE, 25.0)
    assert found.brightness == pytest.approx(found.current / RED.rated_current)


def test_warm_air_lets_more_current_through():
    cold = solve_string(StringAsk((WHITE,), resistance=100.0), supply_from_voltage(5.0), 0.0)
    warm = solve_string(StringAsk((WHITE,), resistance=100.0), supply_from_voltage(5.0), 50.0)
    assert cold.current < warm.current


def test_an_empty_battery_has_the_larger_resistance():
    pack = supply_from_battery("alkaline_aa", 4)
    low, expected, high = source_resistances(pack)
    assert low <= expected <= high
    assert source_resistances(Supply(5.0, 5.0, 5.0, source_resistance=2.0)) == (0.0, 2.0, 2.0)


def test_a_small_resistor_on_a_weak_source_is_hottest_when_it_is_largest():
    model = string_model((RED,), 25.0)
    weak = supply_from_voltage(3.0, source_resistance=50.0)
    high = string_currents(model, weak, 5.0, 0.2, 1).high
    hottest = hottest_dissipation(model, weak, 5.0, 0.2, 1, high)
    at_largest = model.high.current(3.0, 6.0 + 50.0)
    assert hottest == pytest.approx(at_largest**2 * 6.0)
    assert hottest > high**2 * 4.0


def test_the_chosen_rating_is_the_smallest_that_stays_within_sixty_per_cent():
    supply = supply_from_voltage(24.0)
    found = solve_string(StringAsk((RED,), resistance=1200.0), supply, 25.0)
    assert found.dissipation_high <= 0.6 * found.rated_dissipation
    assert found.dissipation_high > 0.6 * found.rated_dissipation / 2
    hot = solve_string(StringAsk((RED,), resistance=1200.0), supply, 120.0)
    assert hot.rated_dissipation > found.rated_dissipation
    sent = solve_string(StringAsk((RED,), resistance=1200.0, rated_dissipation=5.0), supply, 25.0)
    assert sent.rated_dissipation == 5.0


def test_a_string_is_solved_with_its_resistance():
    with pytest.raises(ValueError, match="resistance"):
        solve_string(StringAsk((RED,)), NINE, 25.0)
