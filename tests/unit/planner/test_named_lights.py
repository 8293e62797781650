"""What is said of lights names them; lights sold for printed volts are sound on them."""

import pytest

from lampwright.planner.arrangement import arrangements
from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.models.circuits import ArrangementAsk, LightGroup, ResistorAsk, StringAsk
from lampwright.planner.resistor import series_resistor
from lampwright.planner.strings import solve_string
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage


def group(part: str, at: int, **more) -> LightGroup:
    return LightGroup(name=part, led=led_from_part(part), count=3, place=f"lights.{at}", **more)


def test_each_light_that_asks_too_much_is_named():
    lights = (
        group("red_5mm", 0),
        group("white_5mm", 1, forward_current=0.05),
        group("blue_5mm", 2, forward_current=0.04),
    )
    answer = arrangements(ArrangementAsk(supply=supply_from_voltage(12.0), lights=lights))
    told = {(found.code, found.field) for found in answer.findings}
    assert answer.recommended is None
    assert told == {
        ("wanted_above_max", "lights.1.forward_current"),
        ("wanted_above_max", "lights.2.forward_current"),
    }


def test_lights_that_stand_flat_are_not_numbered():
    lone = LightGroup(name="", led=led_from_part("white_5mm"), count=3, forward_current=0.05)
    answer = arrangements(ArrangementAsk(supply=supply_from_voltage(12.0), lights=(lone,)))
    assert [found.field for found in answer.findings] == ["forward_current"]


def test_mixed_rows_are_about_all_their_lights():
    lights = (
        group("red_low_current_5mm", 0, forward_current=0.1),
        group("yellow_low_current_5mm", 1, forward_current=0.1),
    )
    answer = arrangements(ArrangementAsk(supply=supply_from_voltage(60.0), lights=lights, mix_colours=True))
    told = {(found.field, *found.suggestion) for found in answer.findings}
    assert {field for field, *_ in told} <= {"lights.0.forward_current", "lights.1.forward_current", "lights"}
    assert ("lights",) in told


def test_a_light_that_would_go_with_less_current_is_named():
    lights = (group("red_5mm", 0), group("white_5mm", 1))
    answer = arrangements(ArrangementAsk(supply=supply_from_voltage(3.15), lights=lights))
    (found,) = [each for each in answer.findings if each.severity == "stop"]
    assert (found.code, found.field) == ("no_headroom", "lights.1.forward_current")
    assert 0 < found.suggestion["forward_current"] < 0.02


@pytest.mark.parametrize("tolerance", [0.0005, 0.01, 0.05])
def test_the_watts_chosen_are_never_called_hot(tolerance):
    for volts in range(5, 25):
        string = StringAsk((led_from_part("red_5mm"),), None, tolerance)
        answer = series_resistor(ResistorAsk(supply=supply_from_voltage(float(volts)), string=string))
        assert "resistor_hot" not in {found.code for found in answer.findings}, volts


@pytest.mark.parametrize(("volts", "count", "milliamps"), [(3, 1, 20), (5, 1, 20), (9, 2, 20), (12, 3, 5)])
@pytest.mark.parametrize("colour", ["", "red", "white", "warm_white", "blue", "green"])
def test_a_pre_wired_light_is_sound_on_its_printed_volts(volts, count, milliamps, colour):
    led = led_from_figures(
        rated_voltage=float(volts),
        rated_current=milliamps / 1000,
        built_in_series_count=count,
        colour=colour,
    )
    row = solve_string(StringAsk((led,), 0.0), supply_from_voltage(float(volts)), 25.0)
    assert row.current_high <= led.max_forward_current
    assert row.current_low <= row.current <= row.current_high


def test_a_spread_that_was_sent_is_kept():
    led = led_from_figures(
        rated_voltage=12.0, rated_current=0.02, built_in_series_count=3, forward_voltage_min=2.6
    )
    assert led.forward_voltage_min == 2.6


@pytest.mark.parametrize("supply", [supply_from_voltage(9.0), supply_from_battery("alkaline_9v")])
def test_light_marked_for_nine_to_twelve_volts_goes_on_nine(supply):
    """Common practice, no source: marked 9-12 V, side by side on 9 V."""
    lone = LightGroup(name="x", led=led_from_part("prewired_white_12v"), count=4)
    answer = arrangements(ArrangementAsk(supply=supply, lights=(lone,)))
    assert answer.recommended is not None
    assert answer.arrangements[answer.recommended].kind == "parallel"
