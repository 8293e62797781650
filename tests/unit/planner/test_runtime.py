"""Runtime answers: ends, bands, findings that apply and none that do not, figures beside each other."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.errors import ContradictionError
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.feeding import feeding
from lampwright.planner.lasting import lasting
from lampwright.planner.models.circuits import StringAsk
from lampwright.planner.models.energy import RuntimeAnswer, RuntimeAsk
from lampwright.planner.runtime import runtime
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.tables.batteries import battery_types, figures_of

HOUR = 3600.0
WHITE, RED = led_from_part("white_5mm"), led_from_part("red_5mm")
TEN_WHITES = (StringAsk((WHITE,), 75.0, branch_count=10),)


def ask(battery: str, cells: int = 1, packs: int = 1, **members: object) -> RuntimeAsk:
    return RuntimeAsk(supply_from_battery(battery, cells, packs), **members)  # type: ignore[arg-type]


def codes(answer: RuntimeAnswer) -> set[str]:
    return {found.code for found in answer.findings}


def hours(answer: RuntimeAnswer) -> float:
    assert answer.runtime is not None
    return answer.runtime / HOUR


def test_lights_end_by_brightness() -> None:
    answer = runtime(ask("alkaline_aa", 3, strings=TEN_WHITES))
    assert answer.ended_by == "brightness"
    assert answer.curve is not None
    assert answer.curve.brightness is not None
    assert answer.curve.brightness[-1] == pytest.approx(0.5, abs=1e-9)
    assert answer.curve.time[-1] == answer.runtime
    assert answer.curve.voltage[0] == answer.start_voltage
    assert answer.curve.current[0] == answer.start_current
    assert len(answer.curve.time) <= 200
    assert {len(column) for column in (answer.curve.time, answer.curve.voltage, answer.curve.current)} == {
        len(answer.curve.brightness)
    }
    after = answer.curve_after
    assert after is not None
    assert after.brightness is not None
    assert after.time[0] == answer.runtime
    assert after.brightness[-1] == pytest.approx(0.1, abs=0.02)
    assert answer.runtime_to_dark is not None
    assert after.time[-1] <= answer.runtime_to_dark


def test_the_simple_sum_misleads_both_ways() -> None:
    """14 h by the sum; half as bright much sooner, not dark for days."""
    answer = runtime(ask("alkaline_aa", 3, strings=TEN_WHITES))
    assert answer.simple_division is not None
    assert answer.runtime_to_dark is not None
    assert answer.simple_division == pytest.approx(2.9 * HOUR / answer.start_current)  # type: ignore[operator]
    assert answer.runtime is not None
    assert answer.runtime < 0.6 * answer.simple_division
    assert answer.runtime_to_dark > 2 * answer.simple_division


def test_half_and_full_light_are_those_at_nominal() -> None:
    """The row at 4.5 V carries its full current; at the stop half of it."""
    question = ask("alkaline_aa", 3, strings=TEN_WHITES)
    fed = feeding(question)
    row = fed.rows[0]
    assert row.voltage(1.0) == pytest.approx(4.5)
    found = lasting(fed, question)
    assert fed.load.current_at(found.end_voltage) == pytest.approx(0.5 * 10 * row.full_current)


def test_three_whites_on_a_nine_volt_block_fade_early() -> None:
    three = runtime(ask("alkaline_9v", strings=(StringAsk((WHITE,) * 3, 22.0),)))
    single = runtime(ask("alkaline_9v", strings=(StringAsk((WHITE,), 330.0),)))
    assert three.ended_by == "brightness"
    assert three.start_current is not None
    assert three.runtime is not None
    assert three.runtime_to_dark is not None
    # Half gone long before the charge is: a third of what the sum says, then a long glow.
    assert three.runtime < 0.33 * three.simple_division  # type: ignore[operator]
    assert single.runtime > 0.5 * single.simple_division  # type: ignore[operator]


def test_ends() -> None:
    assert runtime(ask("alkaline_aa", 4, load_current=0.06)).ended_by == "empty"
    assert runtime(ask("alkaline_aa", 4, load_current=0.06, stop_at=4.0)).ended_by == "cutoff"
    assert runtime(ask("alkaline_aa", 4, load_power=0.5)).ended_by == "empty"
    boosted = ask("alkaline_aaa", 1, load_current=0.05, converter="boost", converter_voltage=5.0, stop_at=0.2)
    answer = runtime(boosted)
    assert answer.ended_by == "overload"
    assert "converter_collapses" in codes(answer)
    assert hours(answer) > 0


def test_band() -> None:
    answer = runtime(ask("alkaline_aa", 4, load_current=0.06))
    assert answer.runtime_low == pytest.approx(0.72 * answer.runtime)  # type: ignore[operator]
    assert answer.runtime_high == pytest.approx(1.30 * answer.runtime)  # type: ignore[operator]
    frost = runtime(ask("alkaline_aa", 4, load_current=0.06, ambient_temperature=-10.0))
    assert frost.runtime_low == pytest.approx(0.72 / 1.2 * frost.runtime)  # type: ignore[operator]


def test_lights_differ_too() -> None:
    """Their spread joins the battery's as independent spreads do: never narrower, never past both."""
    question = ask("alkaline_aa", 3, strings=TEN_WHITES)
    answer = runtime(question)
    times = [lasting(feeding(question, corner), question).runtime for corner in ("high", "low")]
    assert answer.runtime is not None
    off = [time / answer.runtime - 1 for time in times]
    less, more = max(0.0, -min(off)), max(0.0, *off)
    assert less + more > 0.01
    assert answer.runtime_low == pytest.approx(answer.runtime * (1 - math.hypot(0.28, less)))
    assert answer.runtime_high == pytest.approx(answer.runtime * (1 + math.hypot(0.30, more)))


def test_sets_and_swaps() -> None:
    """36 h of use a set: 0.8 × that is some 29 h; 70 h need three of them, and one is spare."""
    answer = runtime(ask("alkaline_aa", 4, load_current=0.06, hours_wanted=70 * HOUR, start_clock="18:30"))
    each = 0.8 * answer.runtime  # type: ignore[operator]
    assert answer.sets_needed == math.ceil(70 * HOUR / each) + 1
    assert answer.swap_times == pytest.approx((each, 2 * each))
    minutes = 18 * 60 + 30 + int(each // 60)
    assert answer.swap_clock[0] == f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"
    assert {"short_of_event", "swap_whole_sets"} <= codes(answer)


def test_duty_and_sessions() -> None:
    always = runtime(ask("alkaline_aa", 4, load_current=0.3))
    blinking = runtime(ask("alkaline_aa", 4, load_current=0.3, duty=0.5))
    evenings = runtime(ask("alkaline_aa", 4, load_current=0.3, hours_per_day=3 * HOUR))
    assert hours(blinking) > 2 * hours(always)
    assert hours(evenings) > hours(always)


def test_energy_is_printed_energy() -> None:
    assert runtime(ask("alkaline_aa", 4, 2, load_current=0.06)).energy == pytest.approx(2 * 4 * 1.5 * 2.9)
    assert runtime(ask("power_bank_5v", load_current=0.3)).energy == pytest.approx(37.0)
    own = RuntimeAsk(supply_from_battery("power_bank_5v", capacity=20.0), load_current=0.3)
    assert runtime(own).energy == pytest.approx(74.0)


def test_bank_holds_five_volts() -> None:
    answer = runtime(ask("power_bank_5v", strings=(StringAsk((RED,), 150.0, branch_count=10),)))
    assert answer.ended_by == "empty"
    assert answer.curve is not None
    assert set(answer.curve.voltage) == {answer.start_voltage}
    assert answer.start_voltage == pytest.approx(5.0, abs=0.05)
    through = runtime(ask("power_bank_5v", load_current=0.2, converter="boost", converter_voltage=12.0))
    plain = runtime(ask("power_bank_5v", load_current=0.2 * 12 / 5 / 0.85))
    assert hours(through) == pytest.approx(hours(plain), rel=0.01)


def test_a_little_too_much_for_a_block_is_no_matter_where_it_lasts_the_event() -> None:
    """A tenth above the 50 mA a 9 V block is good for costs hours, no harm (common practice, no source)."""
    alone = runtime(ask("alkaline_9v", load_current=0.055))
    assert "block_over_limit" in codes(alone)
    long = runtime(ask("alkaline_9v", load_current=0.055, hours_wanted=1.2 * alone.runtime_low))
    assert "block_over_limit" in codes(long)
    short = runtime(ask("alkaline_9v", load_current=0.055, hours_wanted=0.9 * alone.runtime_low))
    assert "block_over_limit" not in codes(short)
    coin = runtime(ask("lithium_coin_cr2032", load_current=0.004, hours_wanted=60.0))
    assert "coin_over_limit" in codes(coin)


def test_cold_is_told_in_whole_percent_and_where_to_keep_the_pack() -> None:
    cold = runtime(ask("nimh_aa", 4, load_current=0.06, ambient_temperature=-25.0))
    said = {each.code: each for each in cold.findings}
    assert "." not in said["cold_shortens"].message.partition("about ")[2].partition(" %")[0]
    assert "where it is warmer;" in said["outside_battery_range"].remedy
    hot = runtime(ask("nimh_aa", 4, load_current=0.06, ambient_temperature=60.0))
    assert "cooler;" in next(each.remedy for each in hot.findings if each.code == "outside_battery_range")


def test_another_battery_is_told_with_the_light_it_gives() -> None:
    """NiMH cells in place of alkaline: a fifth less voltage, so rows near it get far less light."""
    red, white = (led_from_part(each) for each in ("red_5mm", "white_5mm"))
    rows = tuple(StringAsk((led,), ohm) for led, ohm in ((white, 82.0), (red, 150.0)))
    there = {each.battery: each for each in runtime(ask("alkaline_aaa", 3, strings=rows)).alternatives}
    assert there["alkaline_aa"].brightness == pytest.approx(1.0)
    nimh = there["nimh_aa"]
    assert nimh.brightness is not None
    assert 0.3 < nimh.brightness < 0.6
    assert hours(nimh) > hours(there["alkaline_aa"])
    assert runtime(ask("alkaline_aaa", 3, load_current=0.1)).alternatives[0].brightness is None


def test_cold_that_leaves_hours_enough_is_no_matter() -> None:
    cold = ask("alkaline_aa", 4, load_current=0.15, ambient_temperature=0.0)
    least = runtime(cold).runtime_low
    assert least is not None
    assert "cold_shortens" in codes(runtime(replace(cold, hours_wanted=1.1 * least)))
    assert "cold_shortens" not in codes(runtime(replace(cold, hours_wanted=0.9 * least)))
    lead = runtime(ask("lead_acid_12v", load_current=0.5, ambient_temperature=-15.0))
    said = next(each.remedy for each in lead.findings if each.code == "cold_shortens")
    assert said.endswith("or use a bigger battery.")


def test_button_cells_of_alkaline_kind_are_soft_like_their_bigger_sisters() -> None:
    """An LR44 has some 6 ohm, a coin cell tens: a little more than 3 mA costs it hours, no more."""
    button = ask("alkaline_button_lr44", 4, load_current=0.0042)
    said = {each.code: each for each in runtime(button).findings}
    assert said["battery_over_limit"].severity == "caution"
    assert "as many AAA cells" in said["battery_over_limit"].remedy
    assert not codes(runtime(replace(button, hours_wanted=2.0 * HOUR)))
    coins = {each.code: each for each in runtime(ask("lithium_coin_cr2032", 2, load_current=0.0042)).findings}
    assert "four AA or AAA cells in a row" in coins["coin_over_limit"].remedy
    blocks = {each.code: each for each in runtime(ask("alkaline_9v", 2, load_current=0.08)).findings}
    assert "twelve AA cells in a row" in blocks["block_over_limit"].remedy


def test_bank_asleep() -> None:
    answer = runtime(ask("power_bank_5v", load_current=0.04, wake_current=0.06))
    assert answer.ended_by == "asleep"
    assert answer.runtime == 30.0
    assert "bank_falls_asleep" in codes(answer)
    hours = next(step for step in answer.working if step.what.startswith("Hours"))
    assert "off after about this long" in hours.what
    assert "∫" not in hours.equation
    assert "bank_may_sleep" in codes(runtime(ask("power_bank_5v", load_current=0.07)))
    awake = runtime(ask("power_bank_5v", load_current=0.07, wake_current=0.06))
    assert awake.ended_by == "empty"
    assert not codes(awake)


def test_boost_keeps_lights_even() -> None:
    boosted = ask(
        "alkaline_aa", 2, strings=(StringAsk((WHITE,), 100.0),), converter="boost", converter_voltage=5.0
    )
    answer = runtime(boosted)
    assert answer.ended_by == "empty"
    assert answer.curve is not None
    assert answer.curve.brightness is not None
    assert min(answer.curve.brightness) == pytest.approx(1.0)


def test_a_resistor_is_found_where_none_is_sent() -> None:
    answer = runtime(ask("alkaline_aa", 4, strings=(StringAsk((RED,)),)))
    assert answer.start_current == pytest.approx(0.02, rel=0.35)
    # Three whites on 9 V have none that suits over the battery's life: their hours are told all the same.
    assert hours(runtime(ask("alkaline_9v", strings=(StringAsk((WHITE,) * 3),)))) > 0


def test_a_reversed_row_takes_nothing() -> None:
    lit, dark = StringAsk((RED,), 220.0), StringAsk((RED,), 220.0, reversed=(0,))
    both = runtime(ask("alkaline_aa", 3, strings=(lit, dark)))
    assert both.start_current == runtime(ask("alkaline_aa", 3, strings=(lit,))).start_current
    with pytest.raises(ContradictionError):
        runtime(ask("alkaline_aa", 3, strings=(dark,)))


def test_alternatives_can_deliver() -> None:
    answer = runtime(ask("alkaline_aa", 4, load_current=0.3))
    batteries = {other.battery for other in answer.alternatives}
    assert "alkaline_c" in batteries
    assert "alkaline_aaa" not in batteries, "150 mA at most"
    doubled = next(other for other in answer.alternatives if other.packs_in_parallel == 2)
    assert doubled.runtime > 2 * answer.runtime  # type: ignore[operator]


@pytest.mark.parametrize("load", [{"load_current": 0.1}, {"strings": TEN_WHITES}])
def test_alternatives_are_what_the_other_battery_would_be_told(load: dict[str, object]) -> None:
    for other in runtime(ask("alkaline_aa", 3, hours_wanted=8 * HOUR, **load)).alternatives:
        alone = runtime(
            ask(other.battery, other.cells_in_series, other.packs_in_parallel, hours_wanted=8 * HOUR, **load)
        )
        for name in ("start_voltage", "start_current", "energy", "mass", "runtime"):
            assert getattr(other, name) == pytest.approx(getattr(alone, name), rel=1e-4), (
                other.battery,
                name,
            )
        assert (other.ended_by, other.sets_needed) == (alone.ended_by, alone.sets_needed)


def test_a_higher_cut_off_is_suggested_only_where_the_load_leaves_the_battery_above_it() -> None:
    light = runtime(ask("nimh_9v", load_current=0.01, stop_at=2.0))
    heavy = runtime(ask("nimh_9v", load_power=10.0, stop_at=2.0))
    said = [
        next(each for each in found.findings if each.code == "deep_discharge") for found in (light, heavy)
    ]
    assert [bool(each.suggestion) for each in said] == [True, False]


@pytest.mark.parametrize(
    ("question", "said"),
    [
        (ask("lithium_coin_cr2032", load_current=0.005), {"coin_over_limit"}),
        (ask("alkaline_9v", load_current=0.08), {"block_over_limit"}),
        (ask("alkaline_aaa", 3, load_current=0.2), {"battery_over_limit"}),
        (ask("carbon_zinc_9v", load_current=0.01), {"carbon_zinc_for_lamps"}),
        (
            ask("liion_18650", load_current=0.2, stop_at=2.5),
            {"lithium_ion_too_low", "lithium_ion_unprotected"},
        ),
        (ask("nimh_aa", 4, load_current=0.1, stop_at=2.0), {"deep_discharge", "nimh_volts"}),
        (ask("alkaline_aa", 4, load_current=0.1, age_years=4.0), {"old_battery"}),
        (ask("alkaline_aa", 4, load_current=0.15, ambient_temperature=0.0), {"cold_shortens"}),
        (
            ask("alkaline_aa", 4, load_current=0.15, ambient_temperature=-40.0),
            {"cold_shortens", "outside_battery_range"},
        ),
        (ask("alkaline_aa", 4, load_current=0.1, ambient_temperature=90.0), {"outside_battery_range"}),
        (ask("power_bank_5v", load_current=0.5, air_travel=True), {"air_travel_cabin"}),
        (
            RuntimeAsk(
                supply_from_battery("power_bank_5v", capacity=30.0), load_current=0.5, air_travel=True
            ),
            {"air_travel_ask"},
        ),
        (
            RuntimeAsk(
                supply_from_battery("power_bank_5v", capacity=50.0), load_current=0.5, air_travel=True
            ),
            {"air_travel_refused", "unusual_capacity"},
        ),
        (
            ask("nimh_aa", 3, strings=(StringAsk((WHITE,), 56.0),)),
            {"nimh_for_alkaline"},
        ),
        # Good designs: nothing to say.
        (ask("alkaline_aa", 4, load_current=0.1), set()),
        (ask("alkaline_9v", load_current=0.04), set()),
        (ask("lithium_coin_cr2032", load_current=0.001), set()),
        (ask("lead_acid_12v", load_current=0.5), set()),
        (ask("alkaline_aa", 3, strings=TEN_WHITES), set()),
        (ask("alkaline_aa", 4, load_current=0.1, hours_wanted=10 * HOUR), set()),
    ],
)
def test_findings_that_apply(question: RuntimeAsk, said: set[str]) -> None:
    assert codes(runtime(question)) == said


@pytest.mark.parametrize(
    ("question", "ended_by", "code"),
    [
        (ask("alkaline_aa", 4, load_current=0.1, stop_at=7.0), "cutoff", "cutoff_above_start"),
        (ask("alkaline_aa", 4, load_current=20.0), "overload", "load_too_heavy"),
        (ask("alkaline_aa", 4, load_power=200.0), "overload", "converter_cannot_start"),
        (ask("alkaline_aa", 1, strings=(StringAsk((WHITE,), 10.0),)), "brightness", "row_never_lights"),
        (
            ask("lithium_coin_cr2032", strings=(StringAsk((RED,), 10.0, branch_count=2),)),
            "brightness",
            "dim_at_the_start",
        ),
        (
            ask("alkaline_aa", 3, strings=TEN_WHITES, stop_at_brightness=1.3),
            "brightness",
            "dim_at_the_start",
        ),
        (ask("power_bank_5v", load_current=0.1, stop_at=5.5), "cutoff", "cutoff_above_start"),
    ],
)
def test_over_at_once(question: RuntimeAsk, ended_by: str, code: str) -> None:
    answer = runtime(question)
    assert answer.runtime == 0
    assert answer.ended_by == ended_by
    stop = next(found for found in answer.findings if found.code == code)
    assert stop.severity == "stop"
    assert answer.sets_needed is None
    assert answer.curve is not None
    assert len(answer.curve.time) == 1


@pytest.mark.parametrize(
    ("question", "field"),
    [
        (RuntimeAsk(supply_from_voltage(12.0), load_current=0.1), "battery"),
        (ask("alkaline_aa"), "load_current"),
        (ask("alkaline_aa", load_current=0.1, load_power=0.1), "load_current"),
        (ask("alkaline_aa", load_current=0.0), "load_current"),
        (ask("alkaline_aa", load_power=-1.0), "load_current"),
        (ask("alkaline_aa", load_current=0.1, converter="boost"), "converter_voltage"),
        (ask("alkaline_aa", load_current=0.1, converter="flyback", converter_voltage=5.0), "converter"),
        (ask("alkaline_aa", load_current=0.1, hours_wanted=9000.0 * HOUR, start_clock="noon"), "start_clock"),
        (
            ask("alkaline_aa", load_current=0.1, hours_wanted=9000.0 * HOUR, start_clock="19:75"),
            "start_clock",
        ),
    ],
)
def test_refused(question: RuntimeAsk, field: str) -> None:
    with pytest.raises(ContradictionError) as caught:
        runtime(question)
    assert caught.value.field == field


def test_thousands_of_cells() -> None:
    one = runtime(ask("alkaline_aa", 4, load_current=0.06))
    many = runtime(ask("alkaline_aa", 4, 2500, load_current=0.06 * 2500))
    assert hours(many) == pytest.approx(hours(one), rel=1e-9)


SETTINGS = settings(max_examples=120, deadline=None)


@st.composite
def usable(draw: st.DrawFn) -> RuntimeAsk:
    """Draw a battery with a load it is good for."""
    battery = draw(st.sampled_from(sorted(battery_types())))
    figures = figures_of(battery)
    most = 1 if battery == "power_bank_5v" else int(15.0 / figures["fresh_voltage"].value)
    supply = supply_from_battery(battery, draw(st.integers(1, max(1, most))))
    assert supply.current_limit is not None
    current = supply.current_limit * draw(st.floats(0.02, 1.0))
    kind = draw(st.sampled_from(("current", "power", "resistance", "lights")))
    if kind == "current":
        return RuntimeAsk(supply, load_current=current)
    if kind == "power":
        return RuntimeAsk(supply, load_power=current * supply.supply_voltage)
    if kind == "resistance" or supply.supply_voltage < 2.3:
        return RuntimeAsk(supply, load_resistance=supply.supply_voltage / current)
    light = RED if supply.supply_voltage < 4 else draw(st.sampled_from((RED, WHITE)))
    each = min(current, 0.02)
    ohms = max(0.0, (supply.supply_voltage_max - light.forward_voltage) / each)
    return RuntimeAsk(supply, strings=(StringAsk((light,), ohms, branch_count=max(1, int(current / each))),))


def time_of(question: RuntimeAsk) -> float:
    return lasting(feeding(question), question, to_dark=False).runtime


@SETTINGS
@given(usable(), st.floats(-40, 90), st.floats(-40, 90))
def test_colder_never_lengthens(question: RuntimeAsk, one: float, other: float) -> None:
    cold, warm = (time_of(replace(question, ambient_temperature=degrees)) for degrees in sorted((one, other)))
    assert cold <= warm * (1 + 1e-9)


@SETTINGS
@given(usable(), st.floats(0.1, 1.2), st.floats(0.1, 1.2))
def test_higher_cut_off_never_lengthens(question: RuntimeAsk, one: float, other: float) -> None:
    volts = question.supply.supply_voltage
    high, low = (
        time_of(replace(question, stop_at=part * volts)) for part in sorted((one, other), reverse=True)
    )
    assert high <= low * (1 + 1e-9)


@SETTINGS
@given(usable(), st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_older_never_lasts_longer(question: RuntimeAsk, one: float, other: float) -> None:
    old, new = (time_of(replace(question, age_years=years)) for years in sorted((one, other), reverse=True))
    assert old <= new * (1 + 1e-9)


@SETTINGS
@given(usable(), st.integers(1, 4))
def test_more_packs_never_shorten(question: RuntimeAsk, packs: int) -> None:
    supply = question.supply
    more = supply_from_battery(supply.battery, supply.cells_in_series, packs + 1)
    some = supply_from_battery(supply.battery, supply.cells_in_series, packs)
    few, many = (time_of(replace(question, supply=each)) for each in (some, more))
    if few > 60:  # a bank asleep stays asleep
        assert many >= few or many == 30.0
