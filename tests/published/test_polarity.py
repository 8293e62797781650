"""Which way round: the long leg is plus, and backwards an LED stands only a few volts."""

from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.circuits import CircuitAsk, StringAsk
from lampwright.planner.supplies import supply_from_voltage
from lampwright.quantities import glossary
from lampwright.tables.findings import finding_rows
from tests.marks import agree, published


@published(
    "PRACTICE",
    "the long leg is the anode and goes to plus",
    of="lampwright.planner.circuit_check.circuit_check",
    kind="practice",
)
def test_the_long_leg_is_the_anode():
    assert "long leg (anode, plus)" in glossary()["led"].meaning
    assert "long leg towards plus" in finding_rows()["light_reversed"].remedy
    red = led_from_part("red_5mm")
    right, wrong = (
        circuit_check(CircuitAsk(supply_from_voltage(5.0), (StringAsk((red,), 150.0, reversed=turned),)))
        for turned in ((), (0,))
    )
    agree(right.supply_current, 0.02, rel=1e-9, why="long leg to plus: 3 V over 150 ohm")
    agree(wrong.supply_current, 0.0, abs=1e-12, why="short leg to plus: dark")


@published(
    "LIEC",
    "vol. III, special-purpose diodes, LED section: about 5 V peak inverse",
    of="lampwright.planner.catalogue.led_from_figures",
)
def test_backwards_an_led_stands_about_five_volts():
    agree(
        led_from_figures(forward_voltage=2.0).max_reverse_voltage, 5.0, rel=1e-12, why="the printed default"
    )
    red = led_from_part("red_5mm")
    for volts, dies in ((4.9, False), (5.1, True)):
        answer = circuit_check(
            CircuitAsk(supply_from_voltage(volts), (StringAsk((red,), 150.0, reversed=(0,)),))
        )
        codes = [each.code for each in answer.findings]
        assert ("reverse_voltage_exceeded" in codes) is dies
        assert answer.survives is not dies


@published("LUMILEDS-DS144", "reverse bias not allowed", of="lampwright.planner.circuit_check.circuit_check")
def test_a_one_watt_light_stands_no_volts_backwards_at_all():
    one_watt = led_from_part("white_1w")
    agree(one_watt.max_reverse_voltage, 0.0, abs=1e-12, why="printed: not designed for reverse bias")
    answer = circuit_check(
        CircuitAsk(supply_from_voltage(3.0), (StringAsk((one_watt,), 10.0, reversed=(0,)),))
    )
    assert "reverse_voltage_exceeded" in [each.code for each in answer.findings]
