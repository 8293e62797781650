"""Rows solved again and again: equal to the sure way of each, wherever they say they are solved."""

from __future__ import annotations

import math

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lampwright.physics.circuits import Branch, _surely
from lampwright.physics.diodes import Diode, StringLaw
from lampwright.physics.loads import strings_load
from lampwright.physics.settling import Follower, settle, settling

# Saturation currents from a tenth of a microampere, as some published red curves have, to a blue LED's.
diodes = st.builds(
    Diode,
    emission_voltage=st.floats(0.03, 0.2),
    log_saturation_current=st.floats(-80.0, -16.0),
    series_resistance=st.floats(0.5, 20.0),
)
rows = st.builds(
    Branch,
    diodes=st.one_of(
        st.just(()),
        st.tuples(diodes),
        st.tuples(diodes, diodes),
        diodes.map(lambda diode: (diode,) * 3),
    ),
    resistance=st.floats(1.0, 1000.0),
    count=st.integers(1, 8),
)


def _law(branch: Branch) -> StringLaw:
    return StringLaw(branch.diodes, branch.resistance)


def _residual(branch: Branch, current: float) -> float:
    """Return the volts a row takes at a current, by the junction law itself."""
    volts = branch.resistance * current
    for diode in branch.diodes:
        volts += diode.emission_voltage * math.log1p(
            math.exp(math.log(current) - diode.log_saturation_current)
        )
        volts += diode.series_resistance * current
    return volts


@settings(max_examples=150, deadline=None)
@given(st.lists(rows, min_size=1, max_size=4), st.floats(0.5, 24.0), st.floats(0.0, 20.0))
def test_settled_rows_are_those_of_the_sure_way(branches: list[Branch], volts: float, common: float) -> None:
    prepared = [settling(_law(branch), branch.count) for branch in branches]
    found = settle(volts, common, [(0.0, [row for row in prepared if row is not None])])
    assume(found is not None)
    assert found is not None
    sure = _surely(volts, common, branches)
    for mine, theirs in zip(found[0], sure.currents, strict=True):
        assert abs(mine - theirs) <= 1e-11 * theirs
    assert abs(found[1] - sure.terminal_voltage) <= 1e-11 * volts


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.0, 10.0), st.lists(rows, min_size=1, max_size=3)), min_size=1, max_size=3),
    st.floats(3.0, 24.0),
    st.floats(0.0, 20.0),
)
def test_settled_runs_keep_both_laws_of_circuits(
    runs: list[tuple[float, list[Branch]]], volts: float, common: float
) -> None:
    """Hand-worked: volts around every loop and currents at every joint add up."""
    prepared = [
        (loop, [row for branch in here if (row := settling(_law(branch), branch.count)) is not None])
        for loop, here in runs
    ]
    found = settle(volts, common, prepared)
    assume(found is not None)
    assert found is not None
    currents, parting = iter(found[0]), found[1]
    total = 0.0
    for loop, here in runs:
        mine = [next(currents) for _ in here]
        drawn = sum(branch.count * current for branch, current in zip(here, mine, strict=True))
        total += drawn
        for branch, current in zip(here, mine, strict=True):
            assert abs(_residual(branch, current) + loop * drawn - parting) <= 1e-11 * volts
    assert abs(parting + common * total - volts) <= 1e-11 * volts


@settings(max_examples=100, deadline=None)
@given(st.lists(rows, min_size=2, max_size=4), st.floats(6.0, 14.0), st.floats(0.01, 20.0))
def test_a_follower_stays_on_the_curve(branches: list[Branch], volts: float, behind: float) -> None:
    load = strings_load(branches)
    follower = Follower(load.laws, load.counts)
    assume(follower.begin(volts))
    for place in range(30):
        source, resistance = volts * (1 - 0.005 * place), behind * (1 + 0.02 * place)
        point = follower.follow(source, resistance)
        if point is None:
            return
        current, voltage, slope = point
        sure = load.with_slope(voltage)
        assert abs(voltage + resistance * current - source) <= 1e-12 * source
        assert abs(current - sure[0]) <= 1e-11 * current
        assert abs(slope - sure[1]) <= 1e-9 * slope


def test_usual_rows_are_followed_all_the_way_down() -> None:
    red, white = Diode(0.05, -40.0, 5.0), Diode(0.09, -36.0, 8.0)
    load = strings_load((Branch((red, red), 100.0, 3), Branch((white,), 120.0, 2)))
    follower = Follower(load.laws, load.counts)
    assert follower.begin(6.0)
    for place in range(60):
        point = follower.follow(6.0 - 0.05 * place, 0.5)
        assert point is not None
        assert abs(point[0] - load.current_at(point[1])) <= 1e-12 * point[0]


def test_a_follower_gives_up_where_rows_hardly_conduct() -> None:
    red = Diode(0.05, -20.0, 5.0)
    follower = Follower((StringLaw((red,), 100.0),), (1,))
    assert not follower.begin(0.001)
    assert follower.follow(5.0, 1.0) is None
    assert follower.begin(5.0)
    assert follower.follow(0.3, 1.0) is not None
    assert follower.follow(0.001, 1.0) is None
    assert follower.follow(5.0, 1.0) is None


def test_rows_without_a_limit_are_left_to_the_sure_way() -> None:
    law = StringLaw((Diode(0.05, -40.0, 0.0),), 0.0)
    assert settling(law) is None
    assert not Follower((law,), (1,)).begin(5.0)


def test_begun_far_away_every_row_takes_small_steps() -> None:
    # The first row asks for the longest step; the second for one that is nearly as long.
    branches = [Branch((Diode(mean, -40.0, 1.0),), 100.0) for mean in (0.03, 0.031)]
    prepared = [settling(_law(branch), branch.count) for branch in branches]
    found = settle(40.0, 20.0, [(0.0, [row for row in prepared if row is not None])], near=(1e-9, 1e-9))
    if found is not None:
        sure = _surely(40.0, 20.0, branches)
        assert all(abs(a - b) <= 1e-11 * b for a, b in zip(found[0], sure.currents, strict=True))


def test_a_row_without_leds_is_its_resistor() -> None:
    row = settling(StringLaw((), 90.0), 2)
    assert row is not None
    found = settle(10.0, 5.0, [(0.0, [row])])
    assert found is not None
    assert abs(found[0][0] - 0.1) <= 1e-15
    assert abs(found[1] - 9.0) <= 1e-12
