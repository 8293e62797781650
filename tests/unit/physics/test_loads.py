"""Loads behind a source: each solves V + R·I(V) = E, and its slope is dI/dV."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.errors import OutOfRangeError
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import diode_from_point
from lampwright.physics.loads import (
    ConstantCurrent,
    ConstantPower,
    Converter,
    Load,
    Resistor,
    strings_load,
)

RED = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
WHITE = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
MIXED = (Branch((WHITE,), 75.0, 4), Branch((RED, RED), 40.0, 3), Branch((RED, WHITE), 10.0))
LOADS: tuple[Load, ...] = (
    ConstantCurrent(0.1),
    ConstantPower(0.5),
    Resistor(47.0),
    strings_load(MIXED),
    strings_load((Branch((WHITE,), 75.0, 4),)),
    Converter("boost", 5.0, strings_load(MIXED), 0.85),
    Converter("boost", 5.0, ConstantCurrent(0.05), 0.85),
    Converter("buck", 3.6, strings_load(MIXED), 0.9, 0.5),
    Converter("buck", 3.6, ConstantPower(0.2), 0.9, 0.5),
    Converter("linear", 3.6, strings_load(MIXED), 1.0, 0.4),
)


@pytest.mark.parametrize("load", LOADS, ids=lambda load: type(load).__name__)
@given(st.floats(2.0, 12.0), st.floats(0.0, 3.0))
@settings(max_examples=60, deadline=None)
def test_source_and_load_agree(load: Load, emf: float, behind: float) -> None:
    point = load.solve(emf, behind, emf)
    if point is None:
        return
    current, voltage, slope = point
    assert voltage + behind * current == pytest.approx(emf, rel=1e-9, abs=1e-12)
    if voltage > 0.5:
        assert current == pytest.approx(load.current_at(voltage), rel=1e-7, abs=1e-12)
    small = 1e-5
    if all(abs(voltage - kink) > 1e-3 for kink in load.kinks()) and voltage > 0.5:
        difference = (load.current_at(voltage + small) - load.current_at(voltage - small)) / (2 * small)
        assert slope == pytest.approx(difference, rel=2e-4, abs=1e-6)


def test_rows_as_the_circuit_engine_has_them() -> None:
    point = strings_load(MIXED).solve(5.0, 2.0, 5.0)
    assert point is not None
    solution = solve_parallel(5.0, 2.0, MIXED)
    assert point[0] == pytest.approx(solution.supply_current, rel=1e-9)
    assert point[1] == pytest.approx(solution.terminal_voltage, rel=1e-9)


def test_equal_rows_are_counted_together() -> None:
    load = strings_load((Branch((RED,), 150.0, 2), Branch((RED,), 150.0, 3)))
    assert load.counts == (5,)
    assert load.closed


def test_power_beyond_what_a_source_gives() -> None:
    """At most E²/4R: 2.25 W from 3 V behind 1 Ω."""
    assert ConstantPower(2.26).solve(3.0, 1.0, 3.0) is None
    point = ConstantPower(2.25).solve(3.0, 1.0, 3.0)
    assert point is not None
    assert point[1] == pytest.approx(1.5)


def test_boost_takes_power_and_passes_above() -> None:
    boost = Converter("boost", 5.0, ConstantCurrent(0.1), 0.8)
    assert boost.current_at(2.5) == pytest.approx(5.0 * 0.1 / (0.8 * 2.5))
    assert boost.output(2.5) == 5.0
    assert boost.output(6.0) == 6.0
    assert boost.current_at(6.0) == pytest.approx(0.1 / 0.8)
    assert boost.input_at(4.0) == 0.0
    assert boost.input_at(5.5) == 5.5


def test_buck_and_linear_drop_out() -> None:
    buck = Converter("buck", 5.0, Resistor(50.0), 0.9, 0.5)
    assert buck.current_at(12.0) == pytest.approx(5.0 * 0.1 / (0.9 * 12.0))
    assert buck.output(5.2) == pytest.approx(4.7)
    assert buck.input_at(4.0) == pytest.approx(4.5)
    linear = Converter("linear", 5.0, Resistor(50.0), 1.0, 2.0)
    assert linear.current_at(12.0) == pytest.approx(0.1)
    assert linear.current_at(6.0) == pytest.approx(4.0 / 50.0)
    assert linear.output(1.0) == 0.0


def test_buck_collapses_where_the_source_fails_first() -> None:
    """2 W from 4 V behind 3 Ω is too much (4²/12 = 1.33 W), with 2 V left where 1.5 V would do."""
    buck = Converter("buck", 1.0, Resistor(0.5), 1.0, 0.5)
    assert buck.solve(4.0, 3.0, 4.0) is None
    gentle = buck.solve(1.4, 0.01, 1.4)
    assert gentle is not None
    assert gentle[1] < 1.5


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Converter("flyback", 5.0, ConstantCurrent(0.1)),
        lambda: Converter("boost", 0.0, ConstantCurrent(0.1)),
        lambda: Converter("boost", 5.0, ConstantCurrent(0.1), 1.1),
        lambda: strings_load(()),
    ],
)
def test_refusals(wrong: object) -> None:
    with pytest.raises(OutOfRangeError):
        wrong()  # type: ignore[operator]


def test_the_law_changes_where_regulation_ends_or_begins() -> None:
    # By hand: a buck of 3.6 V with 0.5 V dropout regulates from 4.1 V on, a boost of 5 V up to 5 V.
    assert Converter("buck", 3.6, ConstantPower(0.2), 0.9, 0.5).kinks() == (pytest.approx(4.1),)
    assert Converter("boost", 5.0, ConstantCurrent(0.05), 0.85).kinks() == (5.0,)
    assert Resistor(47.0).kinks() == ()
