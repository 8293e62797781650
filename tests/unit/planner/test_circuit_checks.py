"""A circuit that exists: its bounds hold, what burns is named, and what is suggested mends it."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import diode_from_point
from lampwright.planner.catalogue import family_of, led_from_figures, led_from_part
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.base import stopped
from lampwright.planner.models.circuits import CircuitAsk, Feed, StringAsk
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage

RED, WHITE = led_from_part("red_5mm"), led_from_part("white_5mm")
BLOCK = supply_from_battery("alkaline_9v")


def check(supply, *strings, **more):
    return circuit_check(CircuitAsk(supply, strings, **more))


def row(led, ohms, count=1, **more):
    return StringAsk((led,), resistance=ohms, branch_count=count, rated_dissipation=0.25, **more)


def codes(answer):
    return [found.code for found in answer.findings]


def test_an_ordinary_light_straight_on_a_nine_volt_block_is_a_stop():
    """Common practice, no source."""
    answer = check(BLOCK, StringAsk((RED,), resistance=0.0))
    assert "led_straight_on_supply" in codes(answer)
    assert stopped(answer.findings)
    assert not answer.survives
    assert answer.strings[0].current > 0.1


def test_330_ohms_on_nine_volts_suits_a_20_ma_part_and_burns_a_7_ma_part():
    """Common practice, no source; the 7 mA limit is printed for low-current parts."""
    for supply in (BLOCK, supply_from_voltage(9.0)):
        fine = check(supply, row(RED, 330.0))
        assert not stopped(fine.findings)
        assert fine.survives
        small = led_from_part("red_low_current_5mm")
        burnt = check(supply, row(small, 330.0))
        assert "above_max_current" in codes(burnt)
        assert not burnt.survives


def test_prewired_lights_go_side_by_side_on_nine_or_twelve_volts():
    """Common practice, no source: lights marked 9-12 V."""
    for volts in (9.0, 12.0):
        answer = check(
            supply_from_voltage(volts), StringAsk((led_from_part("prewired_white_12v"),), 0.0, branch_count=5)
        )
        assert answer.findings == ()
        assert answer.survives


def test_a_good_circuit_is_not_shouted_at():
    answer = check(
        supply_from_voltage(12.0, 11.4, 12.6),
        StringAsk((RED,) * 3, resistance=390.0, branch_count=4, rated_dissipation=0.25),
    )
    assert answer.findings == ()


def test_what_is_suggested_mends_it():
    answer = check(supply_from_voltage(12.0), row(WHITE, 100.0))
    found = next(each for each in answer.findings if each.code == "above_max_current")
    assert found.field == "strings.0.resistance"
    mended = check(
        supply_from_voltage(12.0), replace(row(WHITE, found.suggestion["resistance"]), rated_dissipation=0.5)
    )
    assert not stopped(mended.findings)


def test_a_reversed_light_darkens_its_row_and_may_die():
    answer = check(
        supply_from_voltage(12.0), StringAsk((RED,) * 3, 330.0, reversed=(1,), rated_dissipation=0.25)
    )
    assert answer.strings[0].current == 0.0
    assert answer.supply_current == 0.0
    assert {"light_reversed", "reverse_voltage_exceeded"} <= set(codes(answer))
    assert not answer.survives
    gentle = check(supply_from_voltage(4.5), StringAsk((RED,), 330.0, reversed=(0,), rated_dissipation=0.25))
    assert codes(gentle) == ["light_reversed"]
    assert gentle.survives


def test_one_light_in_ten_behind_a_shared_resistor_takes_over():
    """Ten reds meant for 20 mA, one of them 0.2 V low: 47 mA (our own earlier sum, repeated here)."""
    usual, low = (diode_from_point(volts, 0.02, 2.0, 5.0, 25.0) for volts in (2.0, 1.8))
    found = solve_parallel(5.0, 15.0, [Branch((usual,), 0.0, 9), Branch((low,), 0.0)])
    assert math.isclose(found.currents[1], 0.047, rel_tol=0.01)
    exact = led_from_figures(
        forward_voltage=2.0,
        forward_voltage_min=1.8,
        forward_voltage_max=2.0,
        rated_current=0.02,
        colour="red",
    )
    answer = check(
        supply_from_voltage(5.0), StringAsk((exact,), 0.0, branch_count=10), shared_resistance=15.0
    )
    # The bound has the shared resistor at its own low end besides.
    assert 0.047 < answer.strings[0].current_high < 0.050
    assert "shared_resistor_burns" in codes(answer)
    own = next(each for each in answer.findings if each.code == "shared_resistor_burns").suggestion
    assert own["shared_resistance"] == 0
    assert [(each["leds"], each["branch_count"]) for each in own["strings"]] == [(("red LED",), 10)]
    mended = check(supply_from_voltage(5.0), row(exact, own["strings"][0]["resistance"], 10))
    assert not stopped(mended.findings)


def test_two_colours_behind_one_resistor_only_the_lower_lights():
    answer = check(
        supply_from_voltage(5.0),
        StringAsk((led_from_part("red_bright_5mm"),), 0.0),
        StringAsk((WHITE,), 0.0),
        shared_resistance=150.0,
    )
    assert "shared_resistor_one_colour" in codes(answer)
    assert answer.evenness < 0.01


def test_rows_suggested_in_place_of_a_shared_resistor_keep_what_was_sent_of_them():
    strings = (
        StringAsk((RED,), 0.0, tolerance=0.01, branch_count=3, forward_current=0.01),
        StringAsk((WHITE,), 0.0, rated_dissipation=0.25),
    )
    answer = check(supply_from_voltage(24.0), *strings, shared_resistance=100.0)
    said = next(each for each in answer.findings if each.code.startswith("shared_resistor_"))
    red, white = said.suggestion["strings"]
    assert (red["tolerance"], red["branch_count"], red["forward_current"]) == (0.01, 3, 0.01)
    assert white["rated_dissipation"] > 0.25
    mended = check(
        supply_from_voltage(24.0),
        StringAsk((RED,), red["resistance"], 0.01, red.get("rated_dissipation", 0.25), 3),
        StringAsk((WHITE,), white["resistance"], 0.05, white["rated_dissipation"]),
    )
    assert not stopped(mended.findings)


def test_rows_of_their_own_are_not_suggested_where_one_of_them_cannot_be():
    answer = check(
        supply_from_voltage(2.5, 2.5, 3.5),
        StringAsk((RED,), 0.0),
        StringAsk((WHITE,), 0.0),
        shared_resistance=10.0,
    )
    said = next(each for each in answer.findings if each.code.startswith("shared_resistor_"))
    assert said.suggestion == {}


def test_a_row_dim_behind_a_shared_resistor_is_not_to_get_a_smaller_one_of_its_own():
    answer = check(supply_from_voltage(9.0), row(RED, 330.0), shared_resistance=1000.0)
    said = next(each for each in answer.findings if each.code == "dimmer_than_wanted")
    assert said.suggestion == {}


def test_a_row_dim_on_a_weak_source_is_not_to_get_a_smaller_resistor_that_brings_nothing():
    weak = supply_from_voltage(12.0, source_resistance=300.0)
    strings = (row(RED, 1200.0), row(WHITE, 100.0, 3))
    said = next(each for each in check(weak, *strings).findings if each.field == "strings.0.resistance")
    assert said.code == "dimmer_than_wanted"
    assert said.suggestion == {}


def test_thicker_wire_is_chosen_for_what_flows_through_it_and_not_for_what_the_thin_one_lets_pass():
    supply = supply_from_voltage(12.0)
    strings = (StringAsk((RED,) * 4, 330.0, branch_count=300, rated_dissipation=0.25),)
    thin = check(supply, *strings, wire_awg=30, wire_run_length=4.0)
    said = next(each for each in thin.findings if each.code in ("wire_too_hot", "wire_drop_hopeless"))
    thick = check(supply, *strings, wire_awg=said.suggestion["awg"], wire_run_length=4.0)
    assert not {"wire_too_hot", "wire_drop_hopeless"} & set(codes(thick))


def test_wire_loss_is_never_cured_by_smaller_resistors():
    answer = check(supply_from_voltage(5.0), row(WHITE, 100.0, 20), wire_awg=30, wire_run_length=6.0)
    said = {found.code: found for found in answer.findings}
    assert "wire_takes_light" in said
    assert "Smaller resistors are no cure" in said["wire_takes_light"].remedy
    assert not any("resistance" in found.suggestion for found in answer.findings)
    shrunk = check(supply_from_voltage(5.0), row(WHITE, 75.0, 20), wire_awg=30, wire_run_length=6.0)
    assert "saved_by_wire_only" in codes(shrunk)


def test_a_hundred_whites_on_thin_wire():
    """Figures of our own earlier sum: dimmest over brightest 49 % fed at one end, 81 % at both."""
    wire = 2 * 0.3386 * 0.03
    for far, evenness in ((None, 0.49), (wire, 0.81)):
        answer = check(supply_from_voltage(5.0), row(WHITE, 100.0, 100), feed=Feed(wire, wire, far))
        assert len(answer.strings) == 100
        assert math.isclose(answer.evenness, evenness, abs_tol=0.015)
        # One finding speaks for all hundred rows; fed at both ends no row loses a fifth of its light.
        assert codes(answer) == (["wire_takes_light"] if far is None else [])


def test_the_named_fuse_is_judged():
    answer = check(
        supply_from_battery("lead_acid_12v"),
        row(RED, 560.0, 10),
        wire_awg=24,
        wire_run_length=1.0,
        fuse_rated_current=0.0,
    )
    assert any(found.field.startswith("fuse.") and found.severity == "stop" for found in answer.findings)


def test_a_light_that_would_burn_once_turned_is_told_so_and_survives_as_it_is():
    turned = row(RED, 47.0, reversed=(0,))
    supply = supply_from_voltage(4.5)
    answer = check(supply, turned)
    assert codes(answer) == ["light_reversed", "above_max_current"]
    assert answer.survives
    assert answer.strings[0].current == 0
    better = answer.findings[1].suggestion
    mended = check(supply, replace(turned, reversed=(), **better))
    assert not stopped(mended.findings)


def test_a_dark_row_has_the_shared_resistor_before_it_once_turned():
    turned = StringAsk((RED,), 0.0, reversed=(0,))
    assert codes(check(supply_from_voltage(4.5), turned, shared_resistance=150.0)) == ["light_reversed"]


def test_a_fuse_of_another_style_is_no_glass_one():
    strong = supply_from_battery("lead_acid_12v")
    glass, blade = (
        check(
            strong,
            row(RED, 560.0, 10),
            wire_awg=22,
            wire_run_length=1.0,
            fuse_rated_current=1.0,
            fuse_style=style,
        )
        for style in (None, "blade")
    )
    (said,) = [found for found in glass.findings if found.code == "fuse_cannot_break"]
    assert said.field == "fuse.style"
    assert said.suggestion["style"] == "blade"
    assert not any(found.field.startswith("fuse") for found in blade.findings)


def test_a_row_without_resistor_gets_the_one_we_would_choose():
    answer = check(supply_from_voltage(9.0), StringAsk((RED,)))
    assert answer.strings[0].resistance == 360.0
    assert answer.circuit.strings[0].resistance == 360.0


def test_design_current_ignores_sag():
    answer = check(supply_from_voltage(5.0, source_resistance=20.0), row(RED, 100.0, 5))
    assert (
        answer.design_current > answer.supply_current_high > answer.supply_current > answer.supply_current_low
    )


def test_bench_checks_contain_what_the_meter_should_say():
    answer = check(supply_from_voltage(9.0, 8.0, 9.5), StringAsk((RED, WHITE), 150.0, rated_dissipation=0.25))
    checks = {each.check: each for each in answer.bench_checks}
    assert list(checks) == ["supply_off", "supply_on", "resistor_0", "led_0_0", "led_0_1", "total_current"]
    for each in checks.values():
        low, middle, high = (
            (each.voltage_low, each.voltage, each.voltage_high)
            if each.voltage is not None
            else (each.current_low, each.current, each.current_high)
        )
        assert low <= middle <= high
        assert each.tips
        assert each.zero_means
    assert math.isclose(checks["resistor_0"].voltage, answer.strings[0].resistor_voltage, rel_tol=1e-12)


def drawn(chance, led):
    """Return a light as it may come out of the bag: anywhere within its spread."""
    volts = chance.uniform(led.forward_voltage_min, led.forward_voltage_max)
    family = family_of(led.colour, led.forward_voltage)
    ohms = min(family.series_voltage, 0.1 * led.forward_voltage) / led.rated_current
    return diode_from_point(volts, led.rated_current, family.ideality, ohms, 25.0)


@pytest.mark.parametrize("shared", [0.0, 12.0])
@pytest.mark.parametrize("source", [0.0, 3.0])
@settings(max_examples=8, deadline=None)
@given(chance=st.randoms(use_true_random=False), rows=st.integers(1, 4))
def test_corners_bound_every_random_draw(shared, source, chance, rows):
    lights = [led_from_part(part) for part in ("red_5mm", "white_5mm", "green_5mm", "warm_white_5mm")]
    strings = tuple(
        StringAsk(
            (lights[chance.randrange(4)],) * chance.choice((1, 1, 2)),
            resistance=chance.choice((0.0, 33.0, 150.0) if shared else (33.0, 150.0, 470.0)),
            branch_count=chance.choice((1, 2, 5)),
            rated_dissipation=0.25,
        )
        for _ in range(rows)
    )
    supply = supply_from_voltage(7.0, 6.0, 8.0, source_resistance=source)
    answer = circuit_check(CircuitAsk(supply, strings, shared_resistance=shared))
    for _ in range(25):
        branches, owners = [], []
        for place, string in enumerate(strings):
            for _ in range(string.branch_count):
                ohms = string.resistance * chance.uniform(0.95, 1.05)
                branches.append(Branch(tuple(drawn(chance, led) for led in string.leds), ohms))
                owners.append(place)
        volts = chance.uniform(6.0, 8.0)
        found = solve_parallel(volts, source + shared * chance.uniform(0.95, 1.05), branches)
        for place, current in zip(owners, found.currents, strict=True):
            solved = answer.strings[place]
            assert solved.current_low * (1 - 1e-9) - 1e-15 <= current <= solved.current_high * (1 + 1e-9)
        assert answer.supply_current_low * (1 - 1e-9) <= found.supply_current + 1e-15
        assert found.supply_current <= answer.supply_current_high * (1 + 1e-9)


def test_the_quick_bound_of_large_circuits_is_never_below_the_exact_one():
    chance = random.Random(7)
    lights = [led_from_part(part) for part in ("red_5mm", "white_5mm", "yellow_5mm")]
    strings = tuple(
        row(chance.choice(lights), chance.choice((47.0, 82.0, 150.0, 151.0 + n)), 1) for n in range(12)
    )
    supply = supply_from_voltage(5.0, 4.5, 5.5, source_resistance=2.0)
    exact = check(supply, *strings, shared_resistance=4.0)
    many = check(supply, *strings, row(RED, 1e6), shared_resistance=4.0)
    for one, other in zip(exact.strings, many.strings, strict=False):
        assert other.current_high >= one.current_high * (1 - 1e-4)
        assert other.current_high <= one.current_high * 1.05
        assert other.current_low <= one.current_low * (1 + 1e-4)


@settings(max_examples=20, deadline=None)
@given(st.permutations(range(4)))
def test_the_order_of_rows_changes_nothing(order):
    strings = (
        row(RED, 150.0),
        row(WHITE, 90.0, 2),
        StringAsk((RED, WHITE), 33.0, rated_dissipation=0.25),
        row(RED, 470.0),
    )
    supply = supply_from_voltage(6.0, source_resistance=4.0)
    plain = check(supply, *strings)
    other = check(supply, *(strings[place] for place in order))
    for at, place in enumerate(order):
        assert math.isclose(other.strings[at].current, plain.strings[place].current, rel_tol=1e-12)
        assert math.isclose(other.strings[at].current_high, plain.strings[place].current_high, rel_tol=1e-12)
    assert math.isclose(other.supply_current, plain.supply_current, rel_tol=1e-12)


def test_lowest_lit_voltage_is_where_half_the_light_is_left():
    strings = (row(RED, 150.0, 2), row(WHITE, 90.0))
    answer = check(supply_from_voltage(6.0, source_resistance=4.0), *strings, shared_resistance=2.0)
    for place in (0, 1):
        lower = check(
            supply_from_voltage(answer.strings[place].lowest_lit_voltage, source_resistance=4.0),
            *strings,
            shared_resistance=2.0,
        )
        assert math.isclose(lower.strings[place].current, answer.strings[place].current / 2, rel_tol=1e-9)


def test_a_reversed_row_on_a_feed_keeps_its_place():
    """The wire goes on past a dark row: the last one is as far away as before."""
    rows = [row(WHITE, 100.0) for _ in range(3)]
    turned = [rows[0], replace(rows[1], reversed=(0,)), rows[2]]
    feed = Feed(0.5, 2.0)
    answer = check(supply_from_voltage(5.0), *turned, feed=feed)
    two = check(supply_from_voltage(5.0), rows[0], rows[2], feed=Feed(0.5, 4.0))
    assert answer.strings[1].current == 0.0
    assert math.isclose(answer.strings[2].current, two.strings[1].current, rel_tol=1e-9)
    assert math.isclose(answer.supply_current, two.supply_current, rel_tol=1e-9)
