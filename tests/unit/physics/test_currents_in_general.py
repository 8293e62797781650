"""What must hold for any string, circuit and feed, whatever the figures."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.errors import OutOfRangeError
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import Diode, StringLaw, diode_from_point, forward_voltage, string_current
from lampwright.physics.feeds import solve_feed

EASY = settings(max_examples=60, deadline=None)
diodes = st.builds(
    diode_from_point,
    st.floats(1.2, 3.8),
    st.sampled_from([0.002, 0.02, 0.1, 0.35]),
    st.floats(1.2, 8.0),
    st.floats(0.0, 3.0),
    st.just(25.0),
)
strings = st.lists(diodes, min_size=1, max_size=5)
branches = st.builds(
    lambda some, ohms, count: Branch(tuple(some), ohms, count),
    strings,
    st.floats(5.0, 2000.0),
    st.integers(1, 4),
)


@EASY
@given(strings, st.floats(1.0, 30.0), st.floats(0.0, 5.0), st.floats(1.0, 1000.0))
def test_more_headroom_never_lowers_the_current(some, volts, more, ohms):
    assert string_current(volts + more, some, ohms) >= string_current(volts, some, ohms) * (1 - 1e-12)


@EASY
@given(strings, st.floats(1.0, 30.0), st.floats(1.0, 1000.0), st.randoms(use_true_random=False))
def test_the_order_of_lights_changes_nothing(some, volts, ohms, chance):
    other = list(some)
    chance.shuffle(other)
    assert math.isclose(
        string_current(volts, some, ohms), string_current(volts, other, ohms), rel_tol=1e-12, abs_tol=1e-25
    )


@EASY
@given(strings, st.floats(1.0, 40.0), st.floats(1.0, 1000.0))
def test_the_voltages_of_a_string_add_up_to_the_supply(some, volts, ohms):
    current = string_current(volts, some, ohms)
    total = sum(forward_voltage(diode, current) for diode in some) + ohms * current
    assert math.isclose(total, volts, rel_tol=1e-11)


@EASY
@given(strings, st.floats(1.0, 30.0), st.floats(1.0, 1000.0))
def test_the_slope_is_that_of_the_curve(some, volts, ohms):
    law = StringLaw(some, ohms)
    current = law.current(volts)
    if current > 1e-9:
        step = 1e-5
        measured = (law.current(volts + step) - law.current(volts - step)) / (2 * step)
        assert math.isclose(law.conductance(current), measured, rel_tol=1e-4)


@EASY
@given(st.lists(branches, min_size=1, max_size=6), st.floats(1.0, 24.0), st.floats(0.0, 50.0))
def test_branch_currents_sum_to_the_supply_current(some, volts, common):
    found = solve_parallel(volts, common, some)
    total = sum(branch.count * current for branch, current in zip(some, found.currents, strict=True))
    assert math.isclose(found.supply_current, total, rel_tol=1e-12, abs_tol=1e-25)
    assert math.isclose(found.terminal_voltage + common * total, volts, rel_tol=1e-11)
    for branch, current in zip(some, found.currents, strict=True):
        alone = string_current(found.terminal_voltage, branch.diodes, branch.resistance)
        assert math.isclose(alone, current, rel_tol=1e-9, abs_tol=1e-18)


@EASY
@given(
    st.lists(branches, min_size=1, max_size=12),
    st.floats(2.0, 24.0),
    st.sampled_from([0.0, 0.5, 4.0]),
    st.sampled_from([0.0, 0.3]),
    st.sampled_from([0.0, 0.05, 1.0]),
    st.sampled_from([None, 0.0, 0.3]),
)
def test_a_feed_obeys_both_laws_of_kirchhoff(some, volts, source, lead, segment, far):
    found = solve_feed(volts, source, lead, segment, far, some)
    each = [branch.count * current for branch, current in zip(some, found.currents, strict=True)]
    assert math.isclose(sum(each), found.supply_current, rel_tol=1e-12, abs_tol=1e-25)
    assert math.isclose(found.terminal_voltage, volts - source * found.supply_current, rel_tol=1e-11)
    for branch, current, voltage in zip(some, found.currents, found.branch_voltages, strict=True):
        alone = string_current(voltage, branch.diodes, branch.resistance)
        assert math.isclose(alone, current, rel_tol=1e-9, abs_tol=1e-18)
    if lead > 0 and segment > 0 and far is None:
        flowing = sum(each)
        voltage = found.terminal_voltage - lead * flowing
        for place, current in enumerate(each):
            assert math.isclose(found.branch_voltages[place], voltage, abs_tol=1e-10)
            flowing -= current
            voltage -= segment * flowing
    if lead > 0 and segment > 0 and far:
        # Round the loop from terminals to terminals the voltages add up to nothing.
        flowing = (found.terminal_voltage - found.branch_voltages[0]) / lead
        for place, current in enumerate(each):
            flowing -= current
            after = found.branch_voltages[place + 1] if place + 1 < len(each) else found.terminal_voltage
            loop = segment if place + 1 < len(each) else far
            assert math.isclose(found.branch_voltages[place] - after, loop * flowing, abs_tol=1e-10)
    if far is None:
        assert list(found.branch_voltages) == sorted(found.branch_voltages, reverse=True) or segment == 0


@EASY
@given(st.lists(branches, min_size=2, max_size=8), st.floats(3.0, 24.0))
def test_a_feed_of_no_resistance_is_one_point(some, volts):
    feed = solve_feed(volts, 2.0, 0.0, 0.0, None, some)
    point = solve_parallel(volts, 2.0, some)
    assert feed.currents == point.currents


def test_far_below_any_voltage_nothing_flows():
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    assert string_current(0.0, [red], 100.0) == 0.0
    assert string_current(-9.0, [red], 100.0) == 0.0
    assert solve_parallel(0.0, 1.0, [Branch((red,), 100.0)]).supply_current == 0.0
    assert solve_feed(0.0, 1.0, 1.0, 1.0, None, [Branch((red,), 100.0)] * 3).supply_current == 0.0
    assert 0 < string_current(0.1, [red], 100.0) < 1e-12


def test_a_large_saturation_current_is_never_neglected():
    """A published blue curve: n 7.5 and 1e-7 A; at 0.2 V the exponential alone would say twice as much."""
    flat = Diode(7.5 * 0.02569257, math.log(1e-7), 10.0)
    assert math.isclose(string_current(0.2, [flat], 0.0), 1e-7 * math.expm1(0.2 / 0.192694275), rel_tol=1e-4)


def test_a_resistor_alone_is_a_string_too():
    assert string_current(5.0, [], 250.0) == 0.02


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: diode_from_point(2.0, 0.0, 2.0, 5.0, 25.0),
        lambda: diode_from_point(2.0, 0.02, 0.0, 5.0, 25.0),
        lambda: diode_from_point(2.0, 0.02, 10.5, 5.0, 25.0),
        lambda: diode_from_point(2.0, 0.02, 2.0, 100.0, 25.0),
        lambda: diode_from_point(2.0, 0.02, 2.0, -1.0, 25.0),
        lambda: diode_from_point(2.0, 0.02, 2.0, 5.0, -280.0),
        lambda: forward_voltage(Diode(0.05, -40.0, 5.0), -0.01),
        lambda: string_current(5.0, [], 0.0),
        lambda: solve_parallel(5.0, -1.0, [Branch((), 100.0)]),
        lambda: solve_parallel(5.0, 1.0, [Branch((), 100.0, 0)]),
        lambda: solve_feed(5.0, 1.0, -1.0, 1.0, None, [Branch((), 100.0)]),
        lambda: solve_feed(5.0, 1.0, 1.0, 1.0, None, [Branch((), 100.0, 0)]),
    ],
)
def test_what_no_formula_holds_for_is_refused(wrong):
    with pytest.raises(OutOfRangeError):
        wrong()


def test_feeds_that_are_really_one_point():
    """Hand-worked: leads of 1 and 3 ohm side by side are 0.75 ohm."""
    red, white = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0), diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    rows = [Branch((red,), 150.0), Branch((white,), 90.0, 2)]
    both_leads = solve_feed(5.0, 2.0, 1.0, 0.0, 3.0, rows)
    assert both_leads.currents == solve_parallel(5.0, 2.75, rows).currents
    assert math.isclose(both_leads.terminal_voltage, 5.0 - 2.0 * both_leads.supply_current, rel_tol=1e-14)
    at_terminals = solve_feed(5.0, 2.0, 0.0, 1.0, 0.0, rows)
    for one, other in zip(at_terminals.currents, solve_parallel(5.0, 2.0, rows).currents, strict=True):
        assert math.isclose(one, other, rel_tol=1e-12)
