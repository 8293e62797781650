"""Resistor answers: what is recommended, what is refused, what is judged, and the drawer."""

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.choosing import WINDOW, from_drawer, resistance_bounds
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.base import stopped
from lampwright.planner.models.circuits import CircuitAsk, ResistorAsk, StringAsk
from lampwright.planner.resistor import series_resistor
from lampwright.planner.strings import string_model
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.tables.resistors import ladder

RED = led_from_part("red_5mm")
WHITE = led_from_part("white_5mm")
BLOCK = supply_from_battery("alkaline_9v")
TWELVE = supply_from_voltage(12.0, 11.4, 12.6)


def ask(supply, *leds, **string):
    outer = {key: string.pop(key) for key in ("e_series", "on_hand", "ambient_temperature") if key in string}
    return series_resistor(ResistorAsk(supply, StringAsk(leds, **string), **outer))


def codes(answer):
    return [item.code for item in answer.findings]


def test_the_current_wanted_is_the_rated_one_unless_said():
    assert ask(TWELVE, RED).resistance == ask(TWELVE, RED, forward_current=RED.rated_current).resistance
    assert ask(TWELVE, RED, forward_current=0.005).resistance > ask(TWELVE, RED).resistance


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.sampled_from([RED, WHITE]), min_size=1, max_size=2).map(tuple),
    st.floats(0.001, 0.02),
    st.floats(6, 24),
    st.floats(0.8, 1.0),
    st.floats(1.0, 1.2),
    st.sampled_from([0.01, 0.05]),
    st.integers(1, 4),
)
def test_a_recommendation_keeps_every_limit(leds, wanted, volts, low, high, tolerance, branches):
    supply = supply_from_voltage(volts, volts * low, volts * high, source_resistance=1.0)
    found = ask(supply, *leds, forward_current=wanted, tolerance=tolerance, branch_count=branches)
    if found.resistance is None:
        assert stopped(found.findings)
        assert found.current is found.dissipation is found.rated_dissipation is None
        return
    assert found.resistance in ladder("E24")
    assert found.resistance >= found.ideal_resistance * (1 - 1e-9)
    assert found.current <= wanted * (1 + 1e-9)
    assert found.current_fresh <= min(led.rated_current for led in leds) * (1 + 1e-9)
    assert found.current_high <= min(led.max_forward_current for led in leds) * (1 + 1e-9)
    assert found.dissipation_high <= 0.6 * found.rated_dissipation * (1 + 1e-9)
    assert not stopped(found.findings)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.002, 0.02), st.floats(0.3, 3.0))
def test_more_headroom_never_asks_for_less_resistance(wanted, more):
    lower = ask(supply_from_voltage(9.0), RED, forward_current=wanted)
    higher = ask(supply_from_voltage(9.0 + more), RED, forward_current=wanted)
    assert higher.ideal_resistance > lower.ideal_resistance


def test_each_rule_can_decide():
    model = string_model((RED,), 25.0)
    assert resistance_bounds(model, supply_from_voltage(9.0), 0.01, 0.05, 1).decided_by == "wanted"
    battery = supply_from_voltage(5.0, 4.0, 7.0)
    assert resistance_bounds(model, battery, 0.02, 0.05, 1).decided_by == "rated"
    fragile = led_from_figures(
        forward_voltage=2.0, forward_voltage_min=1.6, rated_current=0.02, max_forward_current=0.0201
    )
    bounds = resistance_bounds(string_model((fragile,), 25.0), supply_from_voltage(3.0), 0.02, 0.05, 1)
    assert bounds.decided_by == "maximum"
    assert bounds.ideal == bounds.maximum > bounds.rated


def test_one_red_on_a_nine_volt_block():
    found = ask(BLOCK, RED, forward_current=0.01)
    assert found.resistance == 750.0
    assert found.colour_bands == ("violet", "green", "brown", "gold")
    assert found.resistance_rkm == "750R"
    assert [entry.resistance for entry in found.neighbours] == [680.0, 820.0]
    assert found.findings == ()
    assert found.neighbours[0].current > found.current > found.neighbours[1].current


def test_working_follows_the_sum_by_hand():
    found = ask(supply_from_voltage(9.0), RED, forward_current=0.01)
    results = [step.result for step in found.working]
    assert results[0] == "1.91 V"
    assert results[1] == "7.09 V"
    assert results[2] == "709 Ω"
    assert results[4] == "750 Ω"
    assert all(step.what and step.equation and step.values and step.result for step in found.working)
    assert "IEC-60063" in found.sources


def test_working_names_thousands_and_what_is_lacking():
    found = ask(supply_from_voltage(24.0), RED, forward_current=0.01)
    assert found.working[4].result == "2.4 kΩ"
    assert found.working[5].values.endswith("R 2.4 kΩ ± 5 %")
    lacking = ask(supply_from_voltage(9.0), WHITE, WHITE, WHITE)
    assert lacking.working[1].result == "−0.6 V"


def test_three_whites_on_nine_volts_are_refused_with_the_way_out():
    found = ask(supply_from_voltage(9.0), WHITE, WHITE, WHITE)
    assert codes(found) == ["no_headroom"]
    assert found.findings[0].suggestion == {"series_count": 2}
    assert found.resistance is found.current is found.ideal_resistance is None
    assert found.neighbours == ()
    assert found.working


def test_one_white_on_two_cells_may_ask_for_less_current():
    found = ask(supply_from_battery("alkaline_aa", 2), WHITE)
    assert codes(found) == ["no_headroom"]
    less = found.findings[0].suggestion["forward_current"]
    again = ask(supply_from_battery("alkaline_aa", 2), WHITE, forward_current=less)
    assert again.resistance is not None


def test_a_source_that_takes_it_all_is_called_weak():
    found = ask(supply_from_voltage(3.0, source_resistance=100.0), RED)
    assert codes(found) == ["supply_too_weak"]
    assert "loses more than the 1 V left over" in found.findings[0].message


@pytest.mark.parametrize(("wanted", "code"), [(0.031, "wanted_above_max"), (0.025, "wanted_above_rated")])
def test_a_wish_above_what_the_light_is_made_for(wanted, code):
    found = ask(supply_from_voltage(9.0), RED, forward_current=wanted)
    assert code in codes(found)
    assert found.findings[0].suggestion == {"forward_current": 0.02}
    assert (found.resistance is None) == (code == "wanted_above_max")
    # The same is said to who sends a resistor along; what that one does is told all the same.
    sent = ask(supply_from_voltage(9.0), RED, forward_current=wanted, resistance=330.0)
    assert code in codes(sent)
    assert sent.current > 0


def test_a_light_straight_on_the_block_is_a_stop_and_its_current_is_told():
    found = ask(BLOCK, RED, resistance=0.0)
    assert found.findings[0].code == "led_straight_on_supply"
    # A quarter of a watt, what everybody has, would get hot.
    assert found.findings[0].suggestion == {"resistance": 390.0, "rated_dissipation": 0.5}
    assert found.current > 0.5
    assert found.neighbours == ()


def test_will_330_ohms_do():
    assert not stopped(ask(BLOCK, RED, resistance=330.0).findings)
    low_current = led_from_figures(forward_voltage=1.9, rated_current=0.002, max_forward_current=0.007)
    found = ask(BLOCK, low_current, resistance=330.0)
    assert "above_max_current" in codes(found)
    better = found.findings[0].suggestion["resistance"]
    assert not stopped(ask(BLOCK, low_current, resistance=better, rated_dissipation=0.5).findings)


def test_a_resistor_sent_instead_comes_with_the_watts_it_needs():
    supply = supply_from_voltage(48.0)
    found = ask(supply, RED, resistance=10.0)
    sent = found.findings[0].suggestion
    assert sent["rated_dissipation"] > 0.25
    assert f"made for {sent['rated_dissipation']:g} W" in found.findings[0].remedy
    assert codes(ask(supply, RED, **sent)) == []
    # Enough watts are not asked for again.
    again = ask(supply, RED, resistance=10.0, rated_dissipation=5.0).findings[0].suggestion
    assert again == {"resistance": sent["resistance"]}


def test_no_resistor_is_suggested_that_would_not_stay_cool():
    large = led_from_figures(forward_voltage=3.2, rated_current=1.0)
    found = ask(supply_from_voltage(60.0), large, resistance=1.0)
    assert found.findings[0].code == "above_max_current"
    assert found.findings[0].suggestion == {}
    assert "fewer volts" in found.findings[0].remedy


def test_a_smaller_resistor_is_suggested_only_where_it_brings_the_light_back():
    # The supply's spread, not the resistor, keeps this one dim: a bigger current could burn it when fresh.
    found = ask(supply_from_voltage(3.0, 2.0, 8.0), RED, resistance=400.0)
    assert "dimmer_than_wanted" in codes(found)
    said = next(item for item in found.findings if item.code == "dimmer_than_wanted")
    assert said.suggestion == {}


def test_watts_that_were_sent_are_kept_where_they_are_too_few():
    found = ask(supply_from_voltage(9.0), RED, rated_dissipation=0.125)
    assert codes(found) == ["resistor_overloaded"]
    assert found.rated_dissipation == 0.125
    assert found.resistance is None


def test_fewer_lights_are_suggested_the_way_they_were_sent():
    nine = supply_from_voltage(9.0)
    by_count = ask(nine, *[RED] * 5).findings[0]
    assert (by_count.code, by_count.suggestion) == ("no_headroom", {"series_count": 3})
    one_by_one = ask(nine, RED, WHITE, WHITE, RED, listed=True).findings[0]
    assert (one_by_one.code, one_by_one.suggestion) == ("no_headroom", {"leds": ("red_5mm", "white_5mm")})
    assert not stopped(ask(nine, RED, WHITE, listed=True).findings)


@pytest.mark.parametrize(("branches", "source"), [(2, 1.0), (10, 1.0), (60, 0.2), (4, 10.0)])
def test_a_branch_beside_branches_that_take_less_keeps_its_limit(branches, source):
    supply = supply_from_voltage(5.0, source_resistance=source)
    found = ask(supply, WHITE, forward_current=0.02, branch_count=branches)
    string = StringAsk((WHITE,), found.resistance, 0.05, found.rated_dissipation, branches)
    (row,) = circuit_check(CircuitAsk(supply, (string,))).strings
    assert row.current_high <= WHITE.max_forward_current * (1 + 1e-6)


@pytest.mark.parametrize("branches", [1, 5, 50])
def test_less_current_is_suggested_only_where_the_supply_can_give_it(branches):
    weak = supply_from_voltage(3.0, 2.0, 3.2, source_resistance=30.0)
    (found,) = ask(weak, WHITE, branch_count=branches, forward_current=0.02).findings
    assert found.code == "no_headroom"
    less = found.suggestion.get("forward_current")
    assert (less is None) == (branches == 50)
    if less is not None:
        assert "supply_too_weak" not in codes(ask(weak, WHITE, branch_count=branches, forward_current=less))


def test_what_the_drawer_makes_may_be_sent():
    nine = supply_from_voltage(9.0)
    found = ask(nine, RED, on_hand=(1200.0,))
    (said,) = [item for item in found.findings if item.code == "drawer_none_fits"]
    assert ask(nine, RED, on_hand=(1200.0,), **said.suggestion).findings == ()


def test_a_resistor_a_bit_too_small_deserves_a_caution():
    found = ask(supply_from_voltage(9.0), RED, resistance=300.0, rated_dissipation=1.0)
    assert codes(found) == ["above_rated_current"]
    assert found.findings[0].severity == "caution"


def test_a_good_resistor_is_met_with_silence():
    assert ask(TWELVE, RED, RED, RED, resistance=390.0).findings == ()


def test_a_resistor_read_wrong_looks_dead():
    found = ask(supply_from_voltage(9.0), RED, resistance=10_000.0)
    assert codes(found) == ["looks_off"]
    assert found.findings[0].suggestion == {"resistance": 360.0, "rated_dissipation": 0.5}
    assert codes(ask(supply_from_voltage(9.0), RED, resistance=1000.0)) == ["dimmer_than_wanted"]


def test_a_supply_below_the_row_is_named_where_a_resistor_was_sent():
    found = ask(supply_from_voltage(3.0), WHITE, WHITE, resistance=100.0)
    assert codes(found) == ["no_headroom"]
    assert found.current is not None


def test_heat_is_judged_by_the_resistors_own_rating():
    hot = ask(supply_from_voltage(24.0), RED, resistance=1200.0)
    assert "resistor_overloaded" in codes(hot)
    assert hot.findings[0].suggestion == {"rated_dissipation": 1.0}
    warm = ask(supply_from_voltage(24.0), RED, resistance=1200.0, rated_dissipation=0.5)
    assert codes(warm) == ["resistor_hot"]
    assert codes(ask(supply_from_voltage(24.0), RED, resistance=1200.0, rated_dissipation=1.0)) == []
    # The quarter watt that was found by us is never hot.
    assert codes(ask(supply_from_voltage(24.0), RED)) == []


def test_hot_air_leaves_less_of_a_rating():
    cool = ask(supply_from_voltage(12.0), RED, resistance=510.0, rated_dissipation=0.5)
    hot = ask(
        supply_from_voltage(12.0), RED, resistance=560.0, rated_dissipation=0.5, ambient_temperature=130.0
    )
    assert codes(cool) == []
    assert "resistor_overloaded" in codes(hot)


def test_no_usual_resistor_carries_that_heat():
    power = led_from_figures(forward_voltage=3.0, rated_current=0.35, colour="white")
    found = ask(supply_from_voltage(24.0), power)
    assert codes(found)[0] == "no_resistor_that_cool"
    assert found.resistance is None
    assert ask(supply_from_voltage(24.0), power, rated_dissipation=20.0).resistance is not None


def test_a_row_that_fades_or_goes_out_before_the_supply_does():
    assert codes(ask(BLOCK, RED, RED)) == ["fades_with_supply"]
    assert "goes_out_early" in codes(ask(supply_from_voltage(9.0, 5.0, 9.6), WHITE, WHITE))
    assert codes(ask(TWELVE, WHITE, WHITE)) == []


def test_how_far_it_fades_is_told_in_per_cent():
    found = ask(supply_from_voltage(9.0, 5.0, 9.6), RED, RED)
    part = found.current_empty / found.current
    assert f"at {part * 100:.0f} % of its light" in found.findings[0].message
    out = ask(supply_from_voltage(9.0, 4.0, 9.6), RED, RED)
    part = out.current_empty / out.current
    said = next(item for item in out.findings if item.code == "goes_out_early").message
    assert f"only {part * 100:.2g} %" in said


def test_the_looks_of_twenty_percent_less_and_of_nearly_nothing():
    nine = supply_from_voltage(9.0)
    assert codes(ask(nine, RED, resistance=6800.0)) == ["dimmer_than_wanted"]
    assert codes(ask(nine, RED, resistance=7500.0)) == ["looks_off"]


def test_a_wish_at_the_very_limit_is_taken():
    found = ask(supply_from_voltage(9.0), RED, forward_current=RED.max_forward_current)
    assert "wanted_above_max" not in codes(found)
    assert codes(ask(supply_from_voltage(9.0), RED, forward_current=RED.rated_current)) == []


def test_working_of_a_row_and_of_a_light_without_resistor():
    row = ask(TWELVE, RED, RED, RED, forward_current=0.01)
    assert row.working[0].values == "3 × 1.91 V at 10 mA"
    assert row.working[-1].equation == "P = I²·R"
    assert row.working[-1].values.endswith(f"× {row.resistance * 0.95:.3g} Ω")
    bare = ask(supply_from_voltage(12.0), led_from_part("prewired_white_12v"))
    assert "P = I²·R" not in [step.equation for step in bare.working]


def test_a_reversed_light_is_a_stop_and_may_be_damaged():
    found = ask(BLOCK, RED, RED, resistance=330.0, reversed=(1,))
    assert codes(found) == ["light_reversed", "reverse_voltage_exceeded"]
    assert all(item.suggestion == {"reversed": ()} for item in found.findings)
    assert "Light 2" in found.findings[0].message
    assert codes(ask(supply_from_voltage(4.5), RED, resistance=330.0, reversed=(0,))) == ["light_reversed"]
    planned = ask(BLOCK, RED, reversed=(0,))
    assert planned.resistance == 390.0
    assert planned.current == 0.0


def test_pre_wired_lights_need_no_resistor():
    light = led_from_part("prewired_white_12v")
    fine = ask(supply_from_voltage(12.0), light)
    assert (fine.resistance, codes(fine)) == (0.0, [])
    dim = ask(supply_from_voltage(9.0), light)
    assert (dim.resistance, codes(dim)) == (0.0, [])
    assert dim.brightness < fine.brightness
    slightly = ask(supply_from_voltage(12.0, 12.0, 12.6), light)
    assert (slightly.resistance, codes(slightly)) == (0.0, [])
    assert codes(ask(supply_from_voltage(5.0), light)) == ["prewired_dim"]
    assert codes(ask(supply_from_voltage(2.8), light)) == ["prewired_dark"]
    assert codes(ask(supply_from_voltage(2.5), light)) == ["prewired_unlit"]
    three = led_from_part("prewired_white_12v_three")
    assert codes(ask(supply_from_voltage(3.0), three)) == ["prewired_unlit"]
    assert "nothing flows" in ask(supply_from_voltage(3.0), three).findings[0].message
    above = ask(supply_from_voltage(14.4), light, resistance=0.0)
    assert "prewired_above_printed" in codes(above)
    assert above.findings[0].severity in ("caution", "stop")
    helped = ask(supply_from_voltage(16.0), light)
    assert helped.resistance > 0
    far = ask(supply_from_voltage(24.0), light, resistance=0.0)
    assert stopped(far.findings)
    needless = ask(supply_from_voltage(12.0), light, resistance=330.0)
    assert "prewired_has_its_own" in codes(needless)
    assert "prewired_in_row" in codes(ask(supply_from_voltage(12.0), light, light, resistance=0.0))


def test_a_supply_asked_for_more_than_it_has():
    port = supply_from_voltage(5.0, current_limit=0.1)
    assert "supply_cannot_give" in codes(ask(port, RED, branch_count=10))
    assert codes(ask(port, RED, branch_count=4)) == []
    # A battery's usable current is soft: a caution first.
    assert "over_supply_limit" in codes(ask(BLOCK, RED, branch_count=4))
    assert "supply_cannot_give" in codes(ask(BLOCK, RED, branch_count=12))


def test_where_the_highest_voltage_decides_it_is_said():
    unsteady = supply_from_voltage(5.0, 4.0, 9.0)
    found = ask(unsteady, RED)
    assert "dimmed_by_spread" in codes(found)
    assert found.current_fresh <= RED.rated_current


DRAWER = (100.0, 220.0, 330.0, 1000.0, 2200.0)


def test_the_drawer_offers_one_part_first():
    found = ask(supply_from_voltage(9.0), RED, on_hand=(100.0, 220.0, 470.0, 1000.0))
    assert found.on_hand[0].parts == (470.0,)
    assert found.on_hand[0].joined == ""
    assert [entry.joined for entry in found.on_hand] == ["", "series", "parallel"]


def test_heat_in_each_part_of_a_pair():
    found = ask(supply_from_voltage(9.0), WHITE, WHITE, forward_current=0.008, on_hand=DRAWER)
    for entry in found.on_hand:
        assert sum(entry.dissipation_each) == pytest.approx(entry.dissipation)
    series = next(entry for entry in found.on_hand if entry.joined == "series")
    assert series.dissipation_each[1] / series.dissipation_each[0] == pytest.approx(
        series.parts[1] / series.parts[0]
    )
    parallel = next(entry for entry in found.on_hand if entry.joined == "parallel")
    assert parallel.dissipation_each[0] * parallel.parts[0] == pytest.approx(
        parallel.dissipation_each[1] * parallel.parts[1]
    )


def test_an_empty_or_useless_drawer_is_said_to_be_one():
    empty = ask(supply_from_voltage(9.0), RED, on_hand=())
    assert empty.on_hand == ()
    assert codes(empty) == ["drawer_none_fits"]
    dark = ask(supply_from_voltage(9.0), RED, on_hand=(1_000_000.0,)).findings[0]
    assert "nearest safe" not in dark.remedy
    assert dark.suggestion == {}
    small = ask(supply_from_voltage(9.0), RED, on_hand=(10.0,))
    assert small.on_hand == ()
    large = ask(supply_from_voltage(9.0), RED, on_hand=(10_000.0,))
    assert [entry.within for entry in large.on_hand] == [False, False, False]
    assert large.on_hand[0].parts == (10_000.0, 10_000.0)
    assert large.on_hand[0].joined == "parallel"
    assert ask(supply_from_voltage(3.0), WHITE, WHITE, resistance=10.0, on_hand=DRAWER).on_hand == ()


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.sampled_from(ladder("E12")[12:60]), min_size=1, max_size=7),
    st.floats(0.002, 0.02),
    st.floats(5, 15),
)
def test_the_drawers_best_is_what_trying_all_would_find(drawer, wanted, volts):
    supply = supply_from_voltage(volts)
    model = string_model((RED,), 25.0)
    found = from_drawer(model, supply, drawer, tolerance=0.05, branch_count=1, wanted=wanted)
    ideal = resistance_bounds(model, supply, wanted, 0.05, 1).ideal
    parts = sorted(set(drawer))
    every = {
        "": parts,
        "series": [a + b for a in parts for b in parts],
        "parallel": [1 / (1 / a + 1 / b) for a in parts for b in parts],
    }
    by_joint = {entry.joined: entry for entry in found}
    for joined, made in every.items():
        distances = [
            max(other / ideal, ideal / other)
            for other in made
            if not _too_much(model, supply, other, wanted, 1e-7)
        ]
        if joined not in by_joint:
            assert not distances
            continue
        entry = by_joint[joined]
        assert not _too_much(model, supply, entry.resistance, wanted, -1e-7)
        distance = max(entry.resistance / ideal, ideal / entry.resistance)
        assert distance <= min(distances, default=distance) * (1 + 1e-9)
    assert [entry.within for entry in found] == sorted((entry.within for entry in found), reverse=True)


def _too_much(model, supply, resistance, wanted, margin):
    """Return whether limits are passed; a positive margin says so a little early."""
    current = model.expected.current(supply.supply_voltage, resistance)
    high = model.high.current(supply.supply_voltage_max, resistance * 0.95)
    above = current / wanted > WINDOW[1] - margin
    above = above or current / max(model.rated_current, wanted) > WINDOW[1] - margin
    return above or high / model.max_forward_current > 1 - margin


@given(st.permutations(DRAWER))
def test_the_order_of_the_drawer_changes_nothing(drawer):
    found = ask(supply_from_voltage(9.0), RED, on_hand=tuple(drawer))
    assert found.on_hand == ask(supply_from_voltage(9.0), RED, on_hand=DRAWER).on_hand


def test_neighbours_say_whether_they_would_do():
    found = ask(supply_from_voltage(9.0), RED)
    # 330 Ω lets 6 % more through than the light is rated for.
    assert [(entry.resistance, entry.within) for entry in found.neighbours] == [(330.0, False), (390.0, True)]
    # One step of a fine series below lets 2 % more through than wanted: inside the window.
    weak = supply_from_voltage(9.0, source_resistance=12.0)
    near = ask(weak, RED, e_series="E96")
    assert near.neighbours[0].within
    assert RED.rated_current < near.neighbours[0].current < 1.05 * RED.rated_current
    tight = ask(supply_from_voltage(9.0), RED, e_series="E3")
    assert tight.resistance == 470.0
    assert [entry.within for entry in tight.neighbours] == [False, False]
    first = found.neighbours[0]
    kept = dataclasses.asdict(ask(supply_from_voltage(9.0), RED, resistance=first.resistance))
    for name in ("current", "current_low", "current_high", "dissipation", "brightness"):
        assert getattr(first, name) == pytest.approx(kept[name], rel=1e-12)


def test_more_than_half_its_watts_is_hot_whatever_the_tolerance():
    supply = supply_from_voltage(24.0)
    found = ask(supply, RED, resistance=1200.0, tolerance=0.01, rated_dissipation=0.75)
    assert 0.375 < found.dissipation < found.dissipation_high < 0.6 * 0.75
    assert codes(found) == ["resistor_hot"]
