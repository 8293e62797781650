"""Lights by id and by figures: defaults from the family, and figures that cannot be."""

import pytest

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.physics.diodes import forward_voltage
from lampwright.planner.catalogue import led_from_figures, led_from_part, led_model
from lampwright.tables.leds import colours, led_colours, led_families, led_types


def test_at_least_forty_kinds_in_plain_words():
    kinds = led_types()
    assert len(kinds) >= 40
    words = " ".join(kind.name.lower() for kind in kinds.values())
    for wanted in (
        "3 mm",
        "5 mm",
        "high-brightness",
        "low-current",
        "surface-mount",
        "1 w",
        "ultraviolet",
        "infrared",
    ):
        assert wanted in words
    for wanted in ("printed 3 v", "printed 5 v", "printed 9-12 v", "printed 24 v"):
        assert wanted in words


def test_every_kind_can_be_modelled_at_every_corner():
    for part in led_types():
        led = led_from_part(part)
        assert led.forward_voltage_min <= led.forward_voltage <= led.forward_voltage_max
        assert led.rated_current <= led.max_forward_current
        for warmth in (-40.0, 25.0, 85.0):
            volts = []
            for corner in ("high", "expected", "low"):
                some, hidden = led_model(led, corner, warmth)
                assert len(some) == led.built_in_series_count
                volts.append(forward_voltage(some[0], led.rated_current) + hidden * led.rated_current)
            assert volts == sorted(volts)


def test_families_are_those_judged():
    """Regression: the shapes judged from curves, ideality, volts in the LED's own resistance, spread."""
    shapes = {
        key: (row.ideality, row.series_voltage, row.spread, row.temperature_coefficient)
        for key, row in led_families().items()
    }
    assert shapes == {
        "infrared": (1.5, 0.06, 0.2, -0.0013),
        "red_to_yellow": (2.0, 0.1, 0.2, -0.0019),
        "green_to_white": (2.8, 0.18, 0.4, -0.002),
        "ultraviolet": (2.8, 0.18, 0.5, -0.002),
    }


def test_colours_are_those_of_the_table():
    """Regression: the voltages to expect at 20 mA; the ranges behind them are checked in published."""
    volts = {
        key: (row.forward_voltage_min, row.forward_voltage, row.forward_voltage_max)
        for key, row in led_colours().items()
    }
    assert volts == {
        "infrared": (1.2, 1.35, 1.7),
        "deep_red": (1.5, 1.8, 2.4),
        "red": (1.5, 2.0, 2.4),
        "orange": (1.9, 2.1, 2.4),
        "amber": (1.8, 2.1, 2.5),
        "yellow": (1.7, 2.1, 2.8),
        "yellow_green": (1.7, 2.2, 2.8),
        "green": (2.8, 3.2, 3.8),
        "cyan": (2.8, 3.2, 3.8),
        "blue": (2.8, 3.2, 4.0),
        "royal_blue": (2.8, 3.2, 4.0),
        "violet": (3.0, 3.3, 4.0),
        "white": (2.6, 3.2, 4.0),
        "warm_white": (2.6, 3.0, 3.4),
        "pink": (2.6, 3.2, 4.0),
        "ultraviolet": (3.0, 3.4, 4.4),
    }
    assert {row.family for row in led_colours().values()} == set(led_families())
    assert colours() == tuple(led_colours())


def test_an_unknown_part_names_those_known():
    with pytest.raises(UnknownPartError) as refused:
        led_from_part("red_6mm")
    assert "red_5mm" in refused.value.known


def test_defaults_of_an_object():
    led = led_from_figures(forward_voltage=2.0, colour="red")
    assert (led.rated_current, led.max_forward_current, led.max_reverse_voltage) == (0.02, 0.025, 5.0)
    assert (led.forward_voltage_min, led.forward_voltage_max) == (1.8, 2.2)
    usual = led_from_figures(colour="warm_white")
    assert (usual.forward_voltage_min, usual.forward_voltage, usual.forward_voltage_max) == (2.6, 3.0, 3.4)


def test_green_is_two_kinds_of_chip():
    old, new = (led_from_figures(forward_voltage=volts, colour="green") for volts in (2.1, 3.2))
    assert old.forward_voltage_max - old.forward_voltage < new.forward_voltage_max - new.forward_voltage


def test_a_prewired_light_by_its_print():
    led = led_from_figures(rated_voltage_min=9.0, rated_voltage_max=12.0, rated_current=0.02, colour="white")
    assert led.prewired
    assert led.built_in_resistance == pytest.approx(440.0)
    assert (led.rated_voltage_min, led.rated_voltage, led.rated_voltage_max) == (9.0, 12.0, 12.0)
    three = led_from_figures(rated_voltage=12.0, rated_current=0.02, colour="white", built_in_series_count=3)
    assert three.built_in_resistance == pytest.approx(120.0)
    bare = led_from_figures(rated_voltage=3.0, rated_current=0.02, colour="white")
    assert not bare.prewired
    stated = led_from_figures(built_in_resistance=470.0, colour="white")
    assert (stated.built_in_resistance_low, stated.built_in_resistance_high) == pytest.approx((446.5, 493.5))


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({}, "forward_voltage"),
        ({"forward_voltage": 2.0, "forward_voltage_min": 2.2}, "forward_voltage_min"),
        ({"forward_voltage": 2.0, "forward_voltage_max": 1.8}, "forward_voltage_max"),
        (
            {"forward_voltage": 2.0, "rated_current": 0.02, "max_forward_current": 0.007},
            "max_forward_current",
        ),
        ({"forward_voltage": 2.0, "series_resistance": 150.0}, "series_resistance"),
    ],
)
def test_figures_that_cannot_be_one_light(figures, field):
    with pytest.raises(ContradictionError) as refused:
        led_from_figures(**figures)
    assert refused.value.field == field
    assert refused.value.hint


def test_own_shape_of_the_curve_is_kept():
    led = led_from_figures(forward_voltage=3.0, rated_current=0.02, ideality=7.5, series_resistance=0.0)
    (diode,), _ = led_model(led, "expected", 25.0)
    assert diode.emission_voltage == pytest.approx(7.5 * 0.02569257, rel=1e-7)
    assert diode.series_resistance < 1e-8
    assert led.sources == ()
