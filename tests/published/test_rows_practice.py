"""Facts of the trade about rows, each beside the formula it belongs to."""

from dataclasses import replace

import pytest

from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import diode_from_point, forward_voltage
from lampwright.planner.arrangement import arrangements
from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.models.base import stopped
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import ArrangementAsk, LightGroup, ResistorAsk, StringAsk
from lampwright.planner.resistor import series_resistor
from lampwright.planner.sheet import plan_build
from lampwright.planner.strings import EYE_EXPONENT, solve_string
from lampwright.planner.supplies import supply_from_battery, supply_from_part, supply_from_voltage
from tests.marks import agree, published

TWO_VOLT = led_from_figures(forward_voltage=2.0, rated_current=0.02, max_forward_current=0.03, colour="red")
BLOCK = supply_from_battery("alkaline_9v")


def series(supply, led, **string):
    return series_resistor(ResistorAsk(supply, StringAsk((led,), **string)))


@published(
    "PRACTICE",
    "voltages of a row add, its current stays one",
    of="lampwright.planner.strings.solve_string",
    kind="practice",
)
def test_three_two_volt_lights_make_six_volts_and_stay_at_twenty_milliamperes():
    found = series_resistor(ResistorAsk(supply_from_voltage(9.0), StringAsk((TWO_VOLT,) * 3)))
    assert found.working[0].result == "6 V"
    assert found.resistance == 150.0
    agree(found.current, 0.02, rel=1e-9, why="stated point: 3 V over 150 Ω")
    agree(found.string_voltage, 6.0, rel=1e-9, why="stated point")


@published(
    "PRACTICE",
    "currents of rows side by side add",
    of="lampwright.planner.arrangement.arrangements",
    kind="practice",
)
def test_currents_side_by_side_add():
    ask = ArrangementAsk(supply_from_voltage(3.6), (LightGroup("lamps", TWO_VOLT, 5),))
    way = arrangements(ask).arrangements[0]
    agree(
        way.supply_current,
        5 * solve_string(StringAsk((TWO_VOLT,), way.strings[0].resistance), ask.supply, 25.0).current,
        rel=1e-12,
        why="the same sum",
    )


@published(
    "LIEC",
    "vol. III, special-purpose diodes, LED section: each its own resistor",
    of="lampwright.planner.arrangement.arrangements",
)
def test_every_branch_has_its_own_resistor_and_a_row_wastes_less():
    ask = ArrangementAsk(supply_from_voltage(12.0), (LightGroup("lamps", TWO_VOLT, 4, 0.01),))
    found = arrangements(ask).arrangements
    row = next(way for way in found if way.kind == "series")
    side_by_side = next(way for way in found if way.kind == "parallel")
    assert side_by_side.resistor_count == 4
    assert row.resistor_count == 1
    assert row.efficiency > 3 * side_by_side.efficiency


@published(
    "PRACTICE",
    "one resistor shared by lights side by side burns the odd one",
    of="lampwright.physics.circuits.solve_parallel",
    kind="regression",
)
def test_why_lights_side_by_side_never_share_a_resistor():
    """Ten lights meant for 20 mA each, one 0.2 V low: figures of our own earlier sum."""
    usual = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    low = diode_from_point(1.8, 0.02, 2.0, 5.0, 25.0)
    agree(forward_voltage(usual, 0.02) - forward_voltage(low, 0.02), 0.2, rel=1e-9, why="by choice")
    shared = solve_parallel(5.0, 15.0, [Branch((low,), 0.0), Branch((usual,), 0.0, 9)])
    own = solve_parallel(5.0, 0.0, [Branch((low,), 150.0), Branch((usual,), 150.0, 9)])
    agree(shared.currents[0], 0.047, abs=0.002, why="earlier sum, two digits")
    agree(own.currents[0], 0.021, abs=0.0005, why="earlier sum, two digits")


@published(
    "PRACTICE",
    "an ordinary LED straight on a 9 V block burns out",
    of="lampwright.planner.judging.string_findings",
    kind="practice",
)
def test_straight_on_a_block_is_a_stop():
    assert stopped(series(BLOCK, led_from_part("red_5mm"), resistance=0.0).findings)
    assert stopped(series(supply_from_voltage(9.0), TWO_VOLT, resistance=0.0).findings)


@published(
    "PRACTICE",
    "330 Ω on 9 V suits a 20 mA part and burns a 7 mA one",
    of="lampwright.planner.judging.string_findings",
    kind="practice",
)
def test_three_hundred_and_thirty_ohms_on_nine_volts():
    assert not stopped(series(supply_from_voltage(9.0), TWO_VOLT, resistance=330.0).findings)
    assert not stopped(series(BLOCK, TWO_VOLT, resistance=330.0).findings)
    low_current = led_from_figures(
        forward_voltage=1.9, rated_current=0.002, max_forward_current=0.007, colour="red"
    )
    assert stopped(series(BLOCK, low_current, resistance=330.0).findings)


@pytest.mark.parametrize(
    ("volts", "count", "milliamps", "stop"),
    [(5.0, 1, 14, False), (9.0, 1, 32, True), (9.0, 3, 14, False), (24.0, 1, 100, True)],
)
@published(
    "PRACTICE",
    "220 Ω always works: true on 5 V, over the limit on 9 V, chars on 24 V",
    of="lampwright.planner.resistor.series_resistor",
    kind="practice",
)
def test_two_hundred_and_twenty_ohms_does_not_always_work(volts, count, milliamps, stop):
    string = StringAsk((TWO_VOLT,) * count, resistance=220.0)
    found = series_resistor(ResistorAsk(supply_from_voltage(volts), string))
    agree(found.current, milliamps / 1e3, rel=0.07, why="fixed voltage, two digits")
    assert stopped(found.findings) == stop
    codes = [item.code for item in found.findings]
    assert ("resistor_overloaded" in codes) == (volts == 24.0)
    if volts == 24.0:
        agree(found.dissipation, 2.2, rel=0.06, why="fixed voltage, two digits")


@pytest.mark.parametrize("supply", [supply_from_voltage(12.0), supply_from_battery("alkaline_9v")])
@published(
    "PRACTICE",
    "lights marked 9-12 V go side by side on 9 V or 12 V",
    of="lampwright.planner.arrangement.arrangements",
    kind="practice",
)
def test_pre_wired_lights_go_side_by_side(supply):
    light = led_from_part("prewired_white_12v")
    found = arrangements(ArrangementAsk(supply, (LightGroup("lamps", light, 3),)))
    way = found.arrangements[found.recommended]
    assert (way.kind, way.resistor_count) == ("parallel", 0)


@published(
    "PRACTICE",
    "a 12 V white on 9 V gets about two thirds of its current",
    of="lampwright.planner.strings.solve_string",
    kind="practice",
)
def test_fewer_volts_only_dim_a_pre_wired_light():
    light = led_from_figures(rated_voltage=12.0, rated_current=0.02, colour="white")
    nine = solve_string(StringAsk((light,), 0.0), supply_from_voltage(9.0), 25.0).current
    five = solve_string(StringAsk((light,), 0.0), supply_from_voltage(5.0), 25.0).current
    agree(nine / light.rated_current, 2 / 3, abs=0.06, why="a fraction said in words")
    assert 0.05 < five / light.rated_current < 0.3


@published(
    "PRACTICE",
    "ten lights by threes are 3, 3, 2, 2 or 3, 3, 3, 1; the single must not have the row's resistor",
    of="lampwright.planner.arrangement.arrangements",
    kind="practice",
)
def test_the_odd_one_has_its_own_resistor():
    ask = ArrangementAsk(supply_from_voltage(9.0, 9.0, 9.0), (LightGroup("lamps", TWO_VOLT, 10),))
    found = [way for way in arrangements(ask).arrangements if len(way.strings) == 2]
    for way in found:
        long, short = way.strings
        assert short.resistance > long.resistance
        # With the resistor of the three the single would get about three times its current.
        if short.series_count == 1 and long.series_count == 3:
            wrong = solve_string(StringAsk((TWO_VOLT,), long.resistance), ask.supply, 25.0).current
            agree(wrong / long.current, 3.0, rel=0.3, why="a fraction said in words")


@published(
    "PRACTICE",
    "half the current looks about three quarters as bright",
    of="lampwright.planner.strings.EYE_EXPONENT",
    kind="practice",
)
def test_half_the_current_looks_three_quarters_as_bright():
    agree(0.5**EYE_EXPONENT, 0.75, abs=0.03, why="a fraction said in words")
    assert EYE_EXPONENT == 0.45


@published(
    "PRACTICE",
    "a pre-wired light goes straight on the supply printed on it",
    of="lampwright.planner.sheet.plan_build",
    kind="practice",
)
@pytest.mark.parametrize(
    ("part", "supply"),
    [
        ("prewired_red_3v", supply_from_battery("alkaline_aa", 2)),
        ("prewired_warm_white_3v", supply_from_battery("alkaline_aa", 2)),
        ("prewired_white_5v", supply_from_part("adapter_5v")),
        ("prewired_warm_white_5v", supply_from_part("usb_port_5v")),
        ("prewired_red_5v", supply_from_battery("power_bank_5v")),
        ("prewired_white_12v", supply_from_part("adapter_9v")),
        ("prewired_white_12v", supply_from_part("adapter_12v")),
        ("prewired_white_12v_three", supply_from_part("adapter_12v")),
        ("prewired_blue_12v", supply_from_battery("lead_acid_12v")),
        ("prewired_warm_white_24v", supply_from_part("adapter_24v")),
    ],
)
def test_a_light_on_the_supply_it_is_printed_for_may_be_built(part, supply):
    lights = (LightGroup(name="lamp", led=led_from_part(part), count=4, run_length=0.5),)
    planned = plan_build(BuildAsk(title="Lamps", supply=supply, lights=lights))
    assert [each.code for each in planned.findings if each.severity == "stop"] == []
    assert all(row.solved.resistance == 0.0 for row in planned.strings)


@published(
    "PRACTICE",
    "what a dry battery is good for is soft: above about 50 mA a 9 V block lasts less long",
    of="lampwright.planner.sheet.plan_build",
    kind="practice",
)
def test_a_little_more_than_a_block_is_good_for_costs_hours_and_stops_nothing():
    lights = (
        LightGroup(name="lamp", led=led_from_part("red_5mm"), count=6, forward_current=0.02, run_length=0.5),
    )
    block = plan_build(BuildAsk(title="Lamps", supply=supply_from_battery("alkaline_9v"), lights=lights))
    found = {each.code: each.severity for each in block.findings}
    assert found.get("block_over_limit") == "caution"
    assert "stop" not in found.values()
    many = (replace(lights[0], count=30),)
    far = plan_build(BuildAsk(title="Lamps", supply=supply_from_battery("alkaline_9v"), lights=many))
    assert "stop" in {each.severity for each in far.findings}
