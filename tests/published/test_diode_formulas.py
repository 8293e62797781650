"""Constants, the omega function and the closed form, against figures printed elsewhere."""

import math

import pytest

from lampwright.errors import OutOfRangeError
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import (
    diode_from_point,
    forward_voltage,
    like_string_current,
    string_current,
    thermal_voltage,
    wright_omega,
)
from lampwright.physics.feeds import solve_feed
from tests.marks import agree, published


@published("CODATA-2014", "k and e", of="lampwright.physics.diodes.thermal_voltage")
def test_thermal_voltage_at_27_degrees():
    agree(thermal_voltage(27.0), 0.02586492, abs=5e-9, why="eight digits printed")


@published("CODATA-2014", "exact values of the SI since 2019", of="lampwright.physics.diodes.thermal_voltage")
def test_thermal_voltage_against_the_new_si():
    exact = 1.380649e-23 * 298.15 / 1.602176634e-19
    agree(thermal_voltage(25.0), exact, rel=4e-7, why="simulators keep the older constants, 3.4e-7 apart")


@published("CORLESS-1996", "W(1), the omega constant", of="lampwright.physics.diodes.wright_omega")
def test_omega_of_zero():
    agree(wright_omega(0.0), 0.56714329040978387, rel=4e-16, why="last place")


@published("CORLESS-1996", "defining equation", of="lampwright.physics.diodes.wright_omega")
@pytest.mark.parametrize(
    "z", [-690.0, -30.0, -3.0, -2.0, -1.0, 0.5, 1.0, 2.0, 5.0, 7.99, 8.01, 50.0, 710.0, 5000.0]
)
def test_omega_solves_its_equation(z):
    omega = wright_omega(z)
    assert omega > 0
    if z > -30:
        agree((omega + math.log(omega) - z) / (1 + omega), 0.0, abs=4e-15 * max(1, abs(z)), why="rounding")
    else:
        agree(omega, math.exp(z), rel=1e-12, why="far left omega is e^z")


@published("BANWELL-2000", "closed form", of="lampwright.physics.diodes.like_string_current")
@pytest.mark.parametrize("volts", [0.05, 0.5, 1.8, 2.5, 9.0, 60.0])
@pytest.mark.parametrize("log_saturation", [-16.0, -42.0, -90.0])
@pytest.mark.parametrize("ohms", [0.3, 150.0, 1e5])
def test_the_closed_form_satisfies_the_circuit(volts, log_saturation, ohms):
    """Put back into the diode's equation, the current gives the voltage again."""
    current = like_string_current(volts, 0.05, log_saturation, ohms)
    back = 0.05 * math.log1p(current / math.exp(log_saturation)) + ohms * current
    agree(back, volts, rel=3e-13, why="rounding of a logarithm of a ratio up to 1e39")


@published("SHOCKLEY-1949", "the junction law", of="lampwright.physics.diodes.forward_voltage", kind="hand")
def test_ten_times_the_current_adds_n_times_sixty_millivolts():
    diode = diode_from_point(1.9, 0.001, 2.0, 0.0, 25.0)
    agree(
        forward_voltage(diode, 0.01) - forward_voltage(diode, 0.001),
        2.0 * 0.0591597,
        abs=1e-6,
        why="2.303 k T / q = 59.16 mV a decade at 25 °C",
    )


@published("SHOCKLEY-1949", "the junction law", of="lampwright.physics.diodes.string_current", kind="hand")
def test_no_resistor_at_all_follows_the_exponential():
    diode = diode_from_point(2.0, 0.02, 2.0, 0.0, 25.0)
    agree(string_current(2.0, [diode], 0.0), 0.02, rel=1e-12, why="the stated point")
    agree(string_current(4.0, [diode, diode], 0.0), 0.02, rel=1e-12, why="two share the voltage")
    with pytest.raises(OutOfRangeError):
        string_current(60.0, [diode], 0.0)


@published(
    "LIEC",
    "vol. VI, 555 chapter: forward voltages 2.5, 2.1, 1.5 V on 3 V and 27 ohm",
    of="lampwright.physics.diodes.string_current",
)
@pytest.mark.parametrize(("volts", "printed"), [(2.5, 0.0185), (2.1, 0.033), (1.5, 0.056)])
def test_spread_of_forward_voltage_spreads_the_current(volts, printed):
    diode = diode_from_point(volts, printed, 2.0, 0.0, 25.0)
    agree(string_current(3.0, [diode], 27.0), printed, rel=0.02, why="two digits printed")


@published(
    "BANWELL-2000",
    "the closed form, unlike LEDs polished",
    of="lampwright.physics.diodes.string_current",
    kind="hand",
)
def test_unlike_lights_add_their_voltages_at_one_current():
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    agree(string_current(2.0 + 3.2 + 3.0, [red, white], 150.0), 0.02, rel=1e-13, why="at the stated points")
    current = string_current(7.0, [red, white, red], 60.0)
    back = sum(forward_voltage(each, current) for each in (red, white, red)) + 60.0 * current
    agree(back, 7.0, rel=1e-14, why="rounding")


@published(
    "PRACTICE",
    "currents side by side add, each row keeps its own",
    of="lampwright.physics.circuits.solve_parallel",
    kind="practice",
)
def test_rows_side_by_side_on_a_stiff_supply_do_not_feel_each_other():
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    both = solve_parallel(5.0, 0.0, [Branch((red,), 150.0, 3), Branch((white,), 90.0)])
    agree(both.currents[0], 0.02, rel=1e-12, why="3 V over 150 ohm")
    agree(both.currents[1], 0.02, rel=1e-12, why="1.8 V over 90 ohm")
    agree(both.supply_current, 0.08, rel=1e-12, why="four rows of 20 mA")


@published(
    "PRACTICE",
    "what all rows share lowers all of them",
    of="lampwright.physics.circuits.solve_parallel",
    kind="hand",
)
def test_a_source_resistance_takes_its_share():
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    # By choice: 4 rows of 20 mA through 10 ohm lose 0.8 V of 5.8 V.
    found = solve_parallel(5.8, 10.0, [Branch((red,), 150.0, 3), Branch((white,), 90.0)])
    agree(found.terminal_voltage, 5.0, rel=1e-12, why="5.8 V less 10 ohm times 80 mA")
    agree(found.supply_current, 0.08, rel=1e-12, why="as laid out")


@published(
    "PRACTICE",
    "the far end of a feed is dimmest; fed at both ends the middle is",
    of="lampwright.physics.feeds.solve_feed",
    kind="hand",
)
def test_a_feed_laid_out_by_hand():
    """Three rows of 20 mA, 1 ohm between them: 60, 40 and 20 mA flow on the way out."""
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    rows = [Branch((red,), ohms) for ohms in (150.0, 148.0, 147.0)]
    found = solve_feed(5.06 + 0.06 * 2.0, 2.0, 1.0, 1.0, None, rows)
    for voltage, wanted in zip(found.branch_voltages, (5.0, 4.96, 4.94), strict=True):
        agree(voltage, wanted, rel=1e-12, why="5.06 V less 60, 40, 20 mV")
    for current in found.currents:
        agree(current, 0.02, rel=1e-12, why="as laid out")
    agree(found.terminal_voltage, 5.06, rel=1e-12, why="5.18 V less 2 ohm times 60 mA")


@published(
    "PRACTICE",
    "fed at both ends the middle is dimmest",
    of="lampwright.physics.feeds.solve_feed",
    kind="hand",
)
def test_a_feed_from_both_ends_laid_out_by_hand():
    """Three rows of 20 mA, leads of 1 ohm, 2 ohm between: 30 mA enter at each end."""
    red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    rows = [Branch((red,), ohms) for ohms in (150.0, 149.0, 150.0)]
    found = solve_feed(5.03 + 0.06, 1.0, 1.0, 2.0, 1.0, rows)
    for voltage, wanted in zip(found.branch_voltages, (5.0, 4.98, 5.0), strict=True):
        agree(voltage, wanted, rel=1e-12, why="5.03 V less 30 mV, and 20 mV more to the middle")
    agree(found.supply_current, 0.06, rel=1e-12, why="as laid out")
    # A lead of no resistance puts its row on the terminals.
    at_once = solve_feed(5.0, 0.0, 0.0, 1.0, 0.0, rows)
    assert at_once.branch_voltages[0] == at_once.branch_voltages[2] == 5.0
    assert at_once.branch_voltages[1] < 5.0
