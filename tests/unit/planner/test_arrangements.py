"""Ways to wire lights: what is offered, what is recommended, what is refused, and that it does not grow."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.planner.arrangement import arrangements, row_capacity, wanted_current
from lampwright.planner.catalogue import led_from_figures, led_from_part
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.base import stopped
from lampwright.planner.models.circuits import ArrangementAsk, CircuitAsk, LightGroup, StringAsk
from lampwright.planner.one_row import Lights
from lampwright.planner.packing import pack
from lampwright.planner.rows import solve_rows
from lampwright.planner.strings import solve_string, string_model
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage

RED = led_from_part("red_5mm")
WHITE = led_from_part("white_5mm")
GREEN = led_from_part("green_5mm")
WARM = led_from_part("warm_white_5mm")
TWELVE = supply_from_voltage(12.0, 11.4, 12.6)
BLOCK = supply_from_battery("alkaline_9v")


def ways(supply, *groups, **more):
    return arrangements(ArrangementAsk(supply, tuple(groups), **more))


def lights(led, count, current=None, name="lights", dim_to=None):
    return LightGroup(name, led, count, current, dim_to=dim_to)


def shape(way):
    return [(answer.branch_count, answer.series_count) for answer in way.strings]


def total(way):
    return sum(answer.branch_count * answer.series_count for answer in way.strings)


def codes(way):
    return [item.code for item in way.findings]


def test_ten_lanterns_side_by_side():
    found = ways(TWELVE, lights(WARM, 10))
    shapes = [shape(way) for way in found.arrangements]
    assert [(2, 3), (2, 2)] in shapes
    assert [(3, 3), (1, 1)] in shapes
    assert [(5, 2)] in shapes
    assert [(10, 1)] in shapes
    assert all(total(way) == 10 for way in found.arrangements)
    best = found.arrangements[found.recommended]
    assert sum(answer.branch_count for answer in best.strings) == 4
    assert best.proved_fewest
    assert "4 rows of up to 3" in found.reason
    # Leftovers have a resistor of their own.
    assert len({answer.resistance for answer in best.strings}) == 2


def test_every_way_is_told_in_full():
    for way in ways(TWELVE, lights(WARM, 10)).arrangements:
        rows = sum(answer.branch_count for answer in way.strings)
        current = sum(answer.branch_count * answer.current for answer in way.strings)
        assert way.supply_current == pytest.approx(current)
        assert way.supply_power == pytest.approx(12.0 * current)
        heat = sum(answer.branch_count * answer.dissipation for answer in way.strings)
        assert way.wasted_power == pytest.approx(heat)
        assert way.efficiency == pytest.approx(1 - heat / way.supply_power)
        assert way.resistor_count == rows
        assert way.joint_count == sum(
            answer.branch_count * (answer.series_count + 2) for answer in way.strings
        )
        assert 0 < way.evenness <= 1
        shares = [answer.current for answer in way.strings]
        assert way.evenness == pytest.approx(min(shares) / max(shares))
        assert way.lowest_lit_voltage == max(answer.lowest_lit_voltage for answer in way.strings)
        assert way.if_one_opens
        assert way.if_one_shorts


def test_kinds_are_named():
    found = ways(TWELVE, lights(RED, 3, 0.01))
    assert [way.kind for way in found.arrangements][:2] == ["series", "parallel"]
    assert found.recommended == 0
    assert ways(TWELVE, lights(RED, 1)).arrangements[0].kind == "series"
    assert ways(TWELVE, lights(RED, 10)).arrangements[0].kind == "series_parallel"


def test_three_whites_in_a_row_on_a_block_are_bright_at_first_and_out_early():
    found = ways(BLOCK, lights(WHITE, 3))
    long = next(way for way in found.arrangements if shape(way) == [(1, 3)])
    assert long.kind == "series"
    assert "goes_out_early" in codes(long)
    assert "Bright at first and out early" in long.findings[0].message
    assert long.strings[0].current_fresh > 2 * long.strings[0].current
    assert long.strings[0].current_empty == pytest.approx(0.0, abs=1e-6)
    assert found.arrangements[found.recommended] is not long
    best = found.arrangements[found.recommended]
    assert all(answer.current_empty > 0.1 * answer.current for answer in best.strings)


def test_rows_longer_than_is_careful_carry_their_price():
    found = ways(TWELVE, lights(WARM, 12, 0.008))
    long = next(way for way in found.arrangements if shape(way) == [(3, 4)])
    assert "little_headroom" in codes(long)
    assert shape(found.arrangements[found.recommended]) == [(4, 3)]
    assert codes(found.arrangements[found.recommended]) == []


def test_one_colour_to_a_row_unless_mixing_is_allowed():
    groups = (lights(RED, 1, 0.01, "nose"), lights(GREEN, 2, 0.01, "eyes"))
    apart = ways(TWELVE, *groups)
    mixed = next(way for way in apart.arrangements if way.mixed_colours)
    assert not apart.arrangements[apart.recommended].mixed_colours
    assert any(len(set(answer.leds)) > 1 for answer in mixed.strings)
    assert mixed.proved_fewest
    together = ways(TWELVE, *groups, mix_colours=True)
    best = together.arrangements[together.recommended]
    assert best.mixed_colours
    assert "colours mixed" in together.reason
    rows = sum(answer.branch_count for answer in best.strings)
    assert rows < sum(a.branch_count for a in apart.arrangements[apart.recommended].strings)


def test_lights_of_unlike_current_never_share_a_row():
    found = ways(TWELVE, lights(RED, 5, 0.01), lights(GREEN, 4, 0.005), mix_colours=True)
    for way in found.arrangements:
        assert not way.mixed_colours
        assert all(len(set(answer.leds)) == 1 for answer in way.strings)


def test_dimmed_lights_want_less_current():
    assert wanted_current(lights(RED, 1, 0.01, dim_to=0.5)) == 0.005
    assert wanted_current(lights(RED, 1, dim_to=0.5)) == pytest.approx(RED.rated_current / 2)
    assert wanted_current(lights(RED, 1)) == RED.rated_current
    found = ways(TWELVE, lights(RED, 3, 0.01, dim_to=0.5))
    assert found.arrangements[0].strings[0].current == pytest.approx(0.005, rel=0.1)


def test_pre_wired_lights_stand_side_by_side_without_another_resistor():
    for supply in (supply_from_voltage(12.0), BLOCK):
        found = ways(supply, lights(led_from_part("prewired_white_12v"), 4))
        assert found.recommended == 0
        (way,) = found.arrangements
        assert (way.kind, way.resistor_count, way.joint_count) == ("parallel", 0, 8)
        assert shape(way) == [(4, 1)]
        assert not stopped(way.findings)
        assert way.wasted_power > 0
    above = ways(supply_from_voltage(14.4), lights(led_from_part("prewired_white_12v"), 4))
    said = [item for way in above.arrangements for item in way.findings] + list(above.findings)
    assert any(item.severity in ("caution", "stop") for item in said)
    far = ways(supply_from_voltage(24.0), lights(led_from_part("prewired_white_12v"), 4))
    assert far.recommended is None
    assert stopped(far.findings)


def test_pre_wired_and_bare_lights_share_a_supply_on_rows_of_their_own():
    found = ways(TWELVE, lights(led_from_part("prewired_white_12v"), 4), lights(RED, 6, 0.01))
    best = found.arrangements[found.recommended]
    assert (best.strings[0].series_count, best.strings[0].resistance) == (1, 0)
    assert total(best) == 10


@pytest.mark.parametrize(
    ("supply", "led", "code"),
    [
        (supply_from_battery("alkaline_aa", 2), WHITE, "no_headroom"),
        (supply_from_voltage(1.5), RED, "no_headroom"),
        (supply_from_battery("lithium_coin_cr2032", 2), RED, "supply_cannot_give"),
    ],
)
def test_what_cannot_be_is_a_stop_with_nothing_recommended(supply, led, code):
    found = ways(supply, lights(led, 6))
    assert found.recommended is None
    assert code in [item.code for item in found.findings]
    assert all(item.severity == "stop" for item in found.findings)
    assert "findings say" in found.reason


def test_a_wish_above_the_maximum_is_a_stop():
    found = ways(TWELVE, lights(RED, 6, 0.05))
    assert found.recommended is None
    assert [item.code for item in found.findings] == ["wanted_above_max"]


def test_ways_no_resistor_can_carry_are_left_out():
    power = led_from_figures(forward_voltage=3.0, rated_current=0.2, colour="white")
    found = ways(TWELVE, lights(power, 3))
    assert found.arrangements
    assert all(answer.rated_dissipation for way in found.arrangements for answer in way.strings)
    assert all(shape(way) != [(3, 1)] for way in found.arrangements)


@pytest.mark.parametrize("volts", [5.0, 9.0, 12.0, 24.0])
@pytest.mark.parametrize("sent", [0.05, 0.125, 0.25, 0.5])
def test_watts_suggested_are_enough_for_every_row_of_some_way(volts, sent):
    large = led_from_figures(forward_voltage=3.0, rated_current=0.12, colour="white")
    groups = (lights(RED, 3), lights(large, 4))
    asked = ways(supply_from_voltage(volts), *groups, rated_dissipation=sent)
    for found in asked.findings:
        if "rated_dissipation" in found.suggestion:
            again = ways(supply_from_voltage(volts), *groups, **found.suggestion)
            assert again.recommended is not None


def test_watts_are_not_suggested_where_no_resistor_has_enough():
    large = led_from_figures(forward_voltage=3.2, rated_current=1.0, colour="white")
    asked = ways(supply_from_voltage(12.0), lights(RED, 2), lights(large, 2), rated_dissipation=0.125)
    (found,) = [each for each in asked.findings if each.code == "resistor_overloaded"]
    assert found.suggestion == {}


def test_the_drawer_is_used_where_it_fits():
    found = ways(TWELVE, lights(RED, 6, 0.01), on_hand=(220.0, 330.0, 1000.0))
    best = found.arrangements[found.recommended]
    assert {answer.resistance for answer in best.strings} <= {220.0, 330.0, 1000.0}
    lacking = ways(TWELVE, lights(RED, 1, 0.01), on_hand=(10.0,))
    assert "drawer_none_fits" in codes(lacking.arrangements[0])


def test_a_drawer_whose_pair_fits_is_not_said_to_have_nothing():
    """Two of 330 ohm in a row give a red on 9 V 71 % of its 15 mA, which is within 60 % to 105 %."""
    found = ways(supply_from_battery("alkaline_9v"), lights(RED, 1, 0.015), on_hand=(330.0, 1000.0))
    said = {each.code: each for each in found.arrangements[0].findings}
    assert "drawer_none_fits" not in said
    assert "330 Ω and 330 Ω in a row" in said["drawer_pair_fits"].message


def test_rows_on_one_weak_source_are_solved_together():
    weak = supply_from_voltage(9.0, source_resistance=20.0)
    groups = (lights(RED, 2, 0.02), lights(GREEN, 4, 0.02))
    found = ways(weak, *groups)
    for way in found.arrangements:
        sag = 20.0 * way.supply_current
        assert way.supply_power == pytest.approx((9.0 - sag) * way.supply_current)
        for answer in way.strings:
            used = answer.string_voltage + answer.resistor_voltage
            assert used + sag == pytest.approx(9.0, rel=1e-9)
            assert answer.current_high <= answer_limit(answer) * (1 + 1e-9)
    assert "others get up to" in found.arrangements[found.recommended].if_one_opens


def answer_limit(answer):
    return min(led_from_part(name).max_forward_current for name in answer.leds)


def test_a_row_in_a_way_is_the_row_alone_where_the_supply_is_stiff():
    for way in ways(TWELVE, lights(WARM, 10)).arrangements:
        for answer in way.strings:
            leds = (WARM,) * answer.series_count
            alone = StringAsk(leds, answer.resistance, branch_count=answer.branch_count)
            assert solve_string(alone, TWELVE, 25.0) == answer


def test_a_break_and_a_short_are_re_solved():
    found = ways(TWELVE, lights(WARM, 10))
    by_shape = {tuple(shape(way)): way for way in found.arrangements}
    assert by_shape[((2, 3), (2, 2))].if_one_opens == (
        "All 3 lights of its row go dark; the others stay as they are."
    )
    assert by_shape[((10, 1),)].if_one_opens == "That light goes dark; the others stay as they are."
    # 12.6 V over 510 Ω: 311 mW.
    assert "311 mW" in by_shape[((10, 1),)].if_one_shorts
    assert "above the 25 mA they stand" in by_shape[((2, 3), (2, 2))].if_one_shorts
    lone = ways(TWELVE, lights(RED, 3, 0.01)).arrangements[0]
    assert lone.if_one_opens == "Everything goes dark: there is only this row."
    assert "within the 30 mA they stand" in lone.if_one_shorts
    assert ways(TWELVE, lights(RED, 1)).arrangements[0].if_one_opens == "It goes dark."
    assert (
        "sleeve" in ways(TWELVE, lights(led_from_part("prewired_white_12v"), 2)).arrangements[0].if_one_shorts
    )


def test_capacity_leaves_a_fifth_and_lights_at_the_lowest():
    assert row_capacity(ArrangementAsk(TWELVE, ())) == pytest.approx(9.6)
    assert row_capacity(ArrangementAsk(supply_from_voltage(4.5), ())) == pytest.approx(3.5)
    assert row_capacity(ArrangementAsk(BLOCK, ())) == pytest.approx(5.7)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from([RED, WHITE, GREEN, WARM]),
            st.integers(1, 30),
            st.sampled_from([0.002, 0.005, 0.01]),
        ),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([TWELVE, BLOCK, supply_from_voltage(5.0, 4.75, 5.25), supply_from_voltage(24.0)]),
    st.booleans(),
)
def test_every_light_is_in_every_way_and_none_is_driven_too_hard(groups, supply, mix):
    asked = [lights(led, count, current, f"group {at}") for at, (led, count, current) in enumerate(groups)]
    found = ways(supply, *asked, mix_colours=mix)
    assert (found.recommended is None) == (not found.arrangements)
    for way in found.arrangements:
        assert not stopped(way.findings)
        counted = {}
        for answer in way.strings:
            for name in answer.leds:
                counted[name] = counted.get(name, 0) + answer.branch_count
            limit = answer_limit(answer)
            assert answer.current_high <= limit * (1 + 1e-6)
            assert answer.dissipation_high <= 0.6 * answer.rated_dissipation * (1 + 1e-6)
        wanted = {}
        for group in asked:
            wanted[group.led.as_sent] = wanted.get(group.led.as_sent, 0) + group.count
        assert counted == wanted


@pytest.mark.parametrize("mix", [False, True])
def test_an_answer_does_not_grow_with_the_count(mix):
    def size(count):
        found = ways(
            TWELVE,
            *(lights(led, count, 0.01, led.name) for led in (RED, GREEN, WARM, WHITE)),
            mix_colours=mix,
        )
        return len(repr(found))

    assert size(10_000) < 1.5 * size(10)


def test_ways_are_the_same_whatever_the_order_of_groups():
    one = ways(TWELVE, lights(RED, 5, 0.01), lights(GREEN, 7, 0.01))
    other = ways(TWELVE, lights(GREEN, 7, 0.01), lights(RED, 5, 0.01))
    assert {frozenset(shape(way)) for way in one.arrangements} == {
        frozenset(shape(way)) for way in other.arrangements
    }


@pytest.mark.parametrize(
    ("supply", "counts", "wanted", "resistors"),
    [
        # Found by trying: the first choice of 100 Ω or less passed a limit by a little, and one white of
        # low forward voltage among three would take more than its like.
        (supply_from_voltage(5.0, 4.0, 5.0, source_resistance=15.0), (1, 3), (0.02, 0.02), (110.0, 62.0)),
        (supply_from_voltage(5.0, 4.0, 5.0, source_resistance=5.0), (1, 3), (0.02, 0.02), (150.0, 82.0)),
    ],
)
def test_resistors_are_raised_where_rows_push_each_other(supply, counts, wanted, resistors):
    red, white = (
        Lights((led,), string_model((led,), 25.0), wanted)
        for led, wanted in ((RED, wanted[0]), (WHITE, wanted[1]))
    )
    solved = solve_rows(ArrangementAsk(supply, ()), ((red, counts[0]), (white, counts[1])))
    assert tuple(row.answer.resistance for row in solved.rows) == resistors
    for row in solved.rows:
        led = row.lights.leds[0]
        assert row.currents.high <= led.max_forward_current * (1 + 1e-9)
        assert row.currents.fresh <= max(led.rated_current, row.lights.wanted) * (1 + 1e-9)


def test_evenness_counts_lights_against_what_was_wanted_of_them():
    found = ways(TWELVE, lights(RED, 5, 0.005), lights(WARM, 12, 0.01))
    for way in found.arrangements:
        shares = [answer.current / (0.005 if answer.leds[0] == "red_5mm" else 0.01) for answer in way.strings]
        assert way.evenness == pytest.approx(min(shares) / max(shares))
        assert way.evenness > 0.5


def test_all_rows_together_must_not_ask_too_much():
    # Each row alone is modest; ten of them are not.
    port = supply_from_voltage(5.0, 4.75, 5.25, current_limit=0.1)
    found = ways(port, lights(WHITE, 10, 0.015))
    assert found.recommended is None
    assert "supply_cannot_give" in [item.code for item in found.findings]
    assert ways(port, lights(WHITE, 6, 0.015)).recommended == 0
    block = ways(BLOCK, lights(WHITE, 5, 0.015))
    assert "over_supply_limit" in codes(block.arrangements[block.recommended])


def test_working_says_how_long_a_row_may_be():
    found = ways(TWELVE, lights(WARM, 10), lights(RED, 3, 0.01, "signal"))
    assert [step.result for step in found.working[:3]] == [
        "9.6 V",
        "3, so 4 rows for 10",
        "3, so 1 row for 3",
    ]
    assert found.working[1].values == "9.6 V / 3 V at 20 mA"
    assert found.working[-1].result == "this supply is not enough"
    assert ways(TWELVE, lights(RED, 4)).working[-1].result == "would light on this supply when fresh"
    assert len(ways(TWELVE, lights(RED, 1)).working) == 2


def test_the_reason_fits_the_way():
    lanterns = ways(TWELVE, lights(WARM, 10)).reason
    assert "where lights side by side would take 2.7 times as much" in lanterns
    assert ways(TWELVE, lights(RED, 1)).reason.startswith("The light takes")
    assert ways(TWELVE, lights(RED, 3, 0.01)).reason.startswith("One row needs one resistor")
    assert "too little of the supply" in ways(BLOCK, lights(WHITE, 3)).reason
    assert "resistor inside" in ways(TWELVE, lights(led_from_part("prewired_white_12v"), 3)).reason
    assert "too little" not in ways(supply_from_voltage(2.5), lights(RED, 3, 0.01)).reason


def test_rows_are_tried_as_long_as_the_fresh_supply_gives_half_the_current():
    # Half of 8 mA: a warm white takes 2.8 V then, so 12.6 V reach for four, not for five.
    found = ways(TWELVE, lights(WARM, 20, 0.008))
    assert max(answer.series_count for way in found.arrangements for answer in way.strings) == 4
    reds = ways(TWELVE, lights(RED, 12, 0.01))
    assert max(answer.series_count for way in reds.arrangements for answer in way.strings) == 6


def test_what_a_short_does_to_a_pre_wired_light():
    light = led_from_figures(rated_voltage=12.0, rated_current=0.02, forward_voltage=3.0, colour="white")
    found = ways(supply_from_voltage(12.0), lights(light, 2))
    # 450 Ω inside: 180 mW at 20 mA, 320 mW with all of 12 V on it.
    assert "320 mW in place of 180 mW" in found.arrangements[0].if_one_shorts


def test_what_a_short_does_on_a_source_with_resistance():
    soft = supply_from_voltage(6.0, source_resistance=50.0)
    way = ways(soft, lights(RED, 1, 0.01)).arrangements[0]
    ours = way.strings[0]
    heat = (6.0 / (ours.resistance + 50.0)) ** 2 * ours.resistance
    assert f"gets {heat * 1e3:.3g} mW, within the 250 mW" in way.if_one_shorts
    (hot,) = ways(supply_from_voltage(9.0), lights(RED, 1, 0.017), rated_dissipation=0.18).arrangements
    # 9 V over 430 Ω: 188 mW.
    assert "gets 188 mW, more than the 180 mW" in hot.if_one_shorts


def test_the_worst_row_is_the_one_told_about():
    found = ways(TWELVE, lights(WARM, 10))
    way = next(way for way in found.arrangements if shape(way) == [(3, 3), (1, 1)])
    # Two left of three are over their limit; the single one's resistor is not.
    assert "The other 2 lights" in way.if_one_shorts


def test_a_break_lets_the_others_have_more_of_a_weak_source():
    weak = supply_from_voltage(9.0, source_resistance=20.0)
    way = next(w for w in ways(weak, lights(GREEN, 4, 0.01)).arrangements if w.kind == "parallel")
    answer = way.strings[0]
    before = solve_string(StringAsk((GREEN,), answer.resistance, branch_count=4), weak, 25.0).current
    after = solve_string(StringAsk((GREEN,), answer.resistance, branch_count=3), weak, 25.0).current
    assert f"others get up to {(after / before - 1) * 100:.2g} % more" in way.if_one_opens


def test_pre_wired_lights_without_print_are_judged_by_their_own_figures():
    light = led_from_figures(
        built_in_resistance=450.0, forward_voltage=3.0, rated_current=0.02, colour="white"
    )
    assert ways(supply_from_voltage(12.0), lights(light, 2)).arrangements[0].findings == ()
    stronger = replace(light, max_forward_current=0.03)
    above = ways(supply_from_voltage(13.5), lights(stronger, 2)).arrangements[0]
    assert codes(above) == ["prewired_above_printed"]
    assert "made for 12 V" in above.findings[0].message


def test_a_packing_without_proof_says_so(monkeypatch):
    def hasty(sizes, counts, capacity):
        found = pack(sizes, counts, capacity)
        return replace(found, bound=found.rows - 1, proved=False)

    monkeypatch.setattr("lampwright.planner.arrangement.pack", hasty)
    found = ways(TWELVE, lights(RED, 1, 0.01), lights(GREEN, 2, 0.01), mix_colours=True)
    way = next(way for way in found.arrangements if way.mixed_colours)
    assert not way.proved_fewest
    assert "rows_not_proved_fewest" in codes(way)
    assert way.findings[0].severity == "note"


def test_a_short_in_a_row_may_be_too_much_for_its_resistor():
    found = ways(TWELVE, lights(RED, 2, 0.015), rated_dissipation=0.2)
    # 18.9 mA through 560 Ω: 201 mW.
    assert "and the resistor 201 mW, more than it is made for" in found.arrangements[0].if_one_shorts
    roomy = ways(TWELVE, lights(RED, 2, 0.015), rated_dissipation=0.22)
    assert roomy.arrangements[0].if_one_shorts.endswith("within the 30 mA it stands.")


@pytest.mark.parametrize("led", [RED, GREEN, WARM])
@pytest.mark.parametrize("count", [2, 10])
@pytest.mark.parametrize("wanted", [0.01, 0.02])
@pytest.mark.parametrize(
    "supply",
    [
        BLOCK,
        supply_from_battery("alkaline_aa", 3),
        supply_from_battery("lithium_coin_cr2032", 2),
        supply_from_voltage(5.0, source_resistance=5.0),
        supply_from_voltage(9.0, source_resistance=20.0),
    ],
)
def test_rows_chosen_keep_their_limit_in_the_circuit_they_make(led, count, wanted, supply):
    """One row of parts that take more, beside rows of parts that take less and so leave it more volts."""
    found = ways(supply, lights(led, count, wanted))
    for way in found.arrangements:
        strings = tuple(
            StringAsk(
                (led,) * row.series_count, row.resistance, 0.05, row.rated_dissipation, row.branch_count
            )
            for row in way.strings
        )
        circuit = circuit_check(CircuitAsk(supply, strings))
        assert all(row.current_high <= led.max_forward_current * (1 + 1e-6) for row in circuit.strings)


def test_the_usual_current_lies_within_its_spread_also_on_a_very_weak_source():
    printed = led_from_figures(rated_voltage=9.0, rated_voltage_min=6.75, rated_current=0.02)
    weak = supply_from_voltage(12.0, source_resistance=100.0)
    found = ways(weak, lights(printed, 20, 0.001), lights(led_from_part("prewired_yellow_12v"), 3))
    assert found.arrangements
    for way in found.arrangements:
        for row in way.strings:
            assert row.current_low <= row.current <= row.current_high


def test_rows_without_a_source_resistance_are_those_of_a_very_small_one():
    """Regression: worked out once and alone, or together on one source: the same rows."""
    groups = (lights(RED, 7), lights(GREEN, 7), lights(WARM, 5, 0.01), lights(RED, 3, 0.005, "low"))
    rigid = ways(TWELVE, *groups)
    hardly = replace(TWELVE, source_resistance=1e-9, source_resistance_low=1e-9, source_resistance_high=1e-9)
    joined = ways(hardly, *groups)
    assert [shape(way) for way in rigid.arrangements] == [shape(way) for way in joined.arrangements]
    assert rigid.recommended == joined.recommended
    for one, other in zip(rigid.arrangements, joined.arrangements, strict=True):
        assert codes(one) == codes(other)
        assert (one.if_one_opens, one.if_one_shorts) == (other.if_one_opens, other.if_one_shorts)
        for alone, together in zip(one.strings, other.strings, strict=True):
            assert alone.resistance == together.resistance
            assert alone.branch_count == together.branch_count
            for name in ("current", "current_low", "current_high", "dissipation_high", "lowest_lit_voltage"):
                assert getattr(alone, name) == pytest.approx(getattr(together, name), rel=1e-8)


def test_what_one_open_light_does_is_told_where_it_can_be_seen():
    """A stiff source: nothing to see; a weak one: the others get more, by what solving anew says."""
    stiff = ways(supply_from_voltage(12.0, source_resistance=0.05), lights(RED, 8))
    weak = ways(supply_from_voltage(12.0, source_resistance=60.0), lights(RED, 8))
    for found, said in ((stiff, "stay as they are"), (weak, "more current")):
        several = [way for way in found.arrangements if way.kind != "series"]
        assert several
        assert all(said in way.if_one_opens for way in several)


def test_like_lights_are_not_split_into_bright_and_dim_rows():
    """Ten whites on a 9 V block: rows of three would get less than half of what the rows of two get."""
    found = ways(supply_from_battery("alkaline_9v"), lights(WARM, 10, 0.02))
    assert any(way.evenness < 0.5 for way in found.arrangements)
    assert found.arrangements[found.recommended].evenness > 0.95
