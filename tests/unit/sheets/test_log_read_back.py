"""The log read back: drawn parts found again from noisy readings; what is told, and what is not."""

import math
import random
from dataclasses import replace

import pytest

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.planner.catalogue import led_from_part, led_model
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.models.diagnosis import Reading
from lampwright.planner.models.refit import LogFitAsk
from lampwright.planner.sheet import plan_build, planned_runtime
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.planner.together import loops_of
from lampwright.sheets.bench import Bench, bench_of_plan, solve
from lampwright.sheets.fitting import fit, inverse
from lampwright.sheets.metering import checks_of, readings
from lampwright.sheets.refitting import refit
from lampwright.sheets.unknowns import Unknowns
from tests.builds import NAMES, example_ask
from tests.marks import agree, published


def drawn(plan, rng):
    """Return a bench whose parts were drawn evenly within their tolerances, and those parts."""
    bench = bench_of_plan(plan)
    every = frozenset((place, at) for place, row in enumerate(bench.rows) for at in range(len(row.leds)))
    unknowns = Unknowns(bench, every)
    values = [rng.uniform(-math.sqrt(3), math.sqrt(3)) for _ in unknowns.numbers]
    return unknowns, values


def metered(bench: Bench, checks, rng, noise):
    """Return what a meter says at some test points of a bench."""
    shown = readings(bench)
    found = []
    for check in checks:
        value = shown[check] * (1 + rng.gauss(0, noise))
        found.append(
            Reading(check, current=value) if check == "total_current" else Reading(check, voltage=value)
        )
    return tuple(found)


@published(
    "PRACTICE",
    "a common hand meter reads to 1 or 2 %",
    of="lampwright.sheets.refitting.refit",
    kind="practice",
)
@pytest.mark.parametrize("noise", [0.01, 0.02])
@pytest.mark.parametrize("name", NAMES)
def test_drawn_parts_are_found_again(name, noise):
    rng = random.Random(f"{name} {noise}")
    plan = plan_build(example_ask(name))
    fitted = planned = 0.0
    rows = within = 0
    for _ in range(10):
        unknowns, values = drawn(plan, rng)
        made = unknowns.bench_with(values)
        found = refit(LogFitAsk(plan.ask, metered(made, checks_of(made), rng, noise)))
        state = solve(made)
        assert abs(found.supply_current - state.total) < 0.05 * state.total
        for row, true in zip(found.rows, state.currents, strict=True):
            fitted += (row.current / true - 1) ** 2
            planned += (row.current_expected / true - 1) ** 2
            within += row.current_low <= true <= row.current_high
            rows += 1
    assert fitted < planned / 4  # in root mean square less than half as far off; measured a fourth or better
    assert math.sqrt(fitted / rows) < 0.05
    assert within / rows > 0.85  # of 19 in 20 foretold, over few draws


@pytest.mark.parametrize("name", ["moth_wings", "miners_lamp"])
def test_hours_move_the_way_the_parts_move_them(name):
    rng = random.Random(name)
    plan = plan_build(example_ask(name))
    loops = loops_of(plan.strings, plan.wires)
    moved = right = nearer = 0
    for _ in range(12):
        unknowns, values = drawn(plan, rng)
        made = unknowns.bench_with(values)
        true = planned_runtime(plan.ask, with_parts(plan, unknowns, values), loops).runtime
        found = refit(LogFitAsk(plan.ask, metered(made, checks_of(made), rng, 0.015)))
        assert found.runtime_expected == plan.runtime.runtime
        if abs(true / plan.runtime.runtime - 1) > 0.08:
            moved += 1
            right += (true > plan.runtime.runtime) == (found.runtime > plan.runtime.runtime)
            nearer += abs(found.runtime - true) < abs(plan.runtime.runtime - true)
    assert moved >= 5
    assert right == moved
    assert nearer >= 0.8 * moved


def with_parts(plan, unknowns, values):
    """Return the planned rows with drawn parts, made without the code under test."""
    strings = []
    for place, string in enumerate(plan.strings):
        leds = []
        for at, led in enumerate(string.leds):
            shift = unknowns.shift(values, place, at)
            diode = led_model(led, "expected", 25.0)[0][0]
            leds.append(
                replace(
                    led,
                    forward_voltage=led.forward_voltage + shift,
                    ideality=diode.emission_voltage / 0.0256926,
                    series_resistance=diode.series_resistance,
                )
            )
        solved = replace(string.solved, resistance=unknowns.resistance(values, place))
        strings.append(replace(string, leds=tuple(leds), solved=solved))
    return strings


def test_readings_as_planned_move_nothing():
    plan = plan_build(example_ask("moth_wings"))
    bench = bench_of_plan(plan)
    found = refit(LogFitAsk(plan.ask, metered(bench, checks_of(bench), random.Random(0), 0.0)))
    assert found.effects == ("Nothing moves: the parts are as planned.",)
    assert all(reading.used for reading in found.readings)
    for row in found.rows:
        assert row.current == pytest.approx(row.current_expected, rel=1e-6)
        assert row.current_known == "yes"
    assert found.runtime == pytest.approx(found.runtime_expected, rel=1e-3)
    assert found.runtime_high - found.runtime_low < plan.runtime.runtime_high - plan.runtime.runtime_low


def test_one_reading_tells_what_it_can_and_no_more():
    plan = plan_build(example_ask("moth_wings"))
    bench = bench_of_plan(plan)
    volts = readings(bench)["resistor_0"]
    found = refit(LogFitAsk(plan.ask, (Reading("resistor_0", voltage=0.8 * volts),)))
    assert found.rows[0].current < 0.9 * found.rows[0].current_expected
    assert found.rows[0].current_known == "yes"
    assert found.rows[0].resistance_known == "no"
    assert found.rows[1].current_known != "yes"  # the supply, shared, is told a little
    assert found.rows[1].resistance == pytest.approx(found.rows[1].resistance_expected, rel=1e-3)
    assert {light.known for light in found.rows[1].lights} == {"no"}
    label = found.rows[1].lights[0].light
    assert any(line.startswith(label) and "led_1_0" in line for line in found.not_told)
    assert any(line.startswith("Rows A") or line.startswith("Row A") for line in found.effects)


def test_a_slip_of_the_tip_is_left_out_and_said():
    plan = plan_build(example_ask("miners_lamp"))
    bench = bench_of_plan(plan)
    sent = list(metered(bench, checks_of(bench), random.Random(3), 0.01))
    place = next(at for at, reading in enumerate(sent) if reading.check == "resistor_1")
    sent[place] = replace(sent[place], voltage=sent[place].voltage / 10)
    found = refit(LogFitAsk(plan.ask, tuple(sent)))
    assert [reading.check for reading in found.readings if not reading.used] == ["resistor_1"]
    said = next(each for each in found.findings if each.code == "log_reading_left_out")
    assert said.field == f"readings.{place}"
    assert found.rows[1].current == pytest.approx(found.rows[1].current_expected, rel=0.1)


def test_used_cells_are_said_and_no_hours_told_for_them():
    plan = plan_build(example_ask("miners_lamp"))
    found = refit(LogFitAsk(plan.ask, (Reading("supply_off", voltage=3.9),)))
    assert found.supply.supply_voltage == pytest.approx(3.9, abs=0.15)
    assert found.supply.supply_voltage_known == "yes"
    assert "log_cells_used" in {each.code for each in found.findings}
    assert found.runtime == pytest.approx(plan.runtime.runtime, rel=1e-3)


def test_lights_of_lower_voltage_bring_the_finding_with_them():
    ask = replace(example_ask("miners_lamp"), supply=supply_from_voltage(4.5))
    plan = plan_build(ask)
    bench = bench_of_plan(plan)
    unknowns = Unknowns(bench, frozenset())
    warm = next(place for place, row in enumerate(bench.rows) if "warm" in row.leds[0].name.lower())
    values = [0.0] * len(unknowns.numbers)
    values[unknowns.numbers["bag", bench.rows[warm].leds[0]]] = -3.0
    made = unknowns.bench_with(values)
    found = refit(LogFitAsk(ask, metered(made, checks_of(made), random.Random(1), 0.0)))
    assert found.rows[warm].current > 1.1 * found.rows[warm].current_expected
    assert found.rows[warm].lights[0].forward_voltage < found.rows[warm].lights[0].forward_voltage_expected
    assert found.runtime is None


def test_current_at_a_resistor_is_its_volts_over_the_printed_value():
    plan = plan_build(example_ask("moth_wings"))
    bench = bench_of_plan(plan)
    volts = 0.9 * readings(bench)["resistor_0"]
    one = refit(LogFitAsk(plan.ask, (Reading("resistor_0", voltage=volts),)))
    other = refit(LogFitAsk(plan.ask, (Reading("resistor_0", current=volts / bench.rows[0].resistance),)))
    assert one.rows[0].current == pytest.approx(other.rows[0].current, rel=1e-12)


def test_what_is_no_test_point_or_no_such_reading_is_refused():
    ask = example_ask("moth_wings")
    with pytest.raises(UnknownPartError):
        refit(LogFitAsk(ask, (Reading("resistor_9", voltage=1.0),)))
    with pytest.raises(ContradictionError):
        refit(LogFitAsk(ask, (Reading("total_current", voltage=1.0),)))
    weak = replace(ask, supply=supply_from_voltage(1.5))
    found = refit(LogFitAsk(weak, (Reading("supply_off", voltage=1.5),)))
    assert found.rows == ()
    assert any(each.severity == "stop" for each in found.findings)


def test_the_inverse_is_one():
    rng = random.Random(5)
    half = [[rng.gauss(0, 1) for _ in range(6)] for _ in range(6)]
    matrix = [
        [sum(a * b for a, b in zip(one, two, strict=True)) + (one is two) for two in half] for one in half
    ]
    found = inverse(matrix)
    for at in range(6):
        for place in range(6):
            product = sum(matrix[at][k] * found[k][place] for k in range(6))
            assert product == pytest.approx(1.0 if at == place else 0.0, abs=1e-12)


@published(
    "PRACTICE",
    "two readings of one value, weighed by their variances",
    of="lampwright.sheets.fitting.fit",
    kind="hand",
)
def test_two_readings_are_weighed_by_their_variances():
    # x of deviation 1 around 0, read as 2 with s = 1 and as 3 with s = 2: (2/1 + 3/4) / (1 + 1 + 1/4).
    found = fit(lambda x: [x[0], x[0]], 1, [2.0, 3.0], lambda _: [1.0, 2.0], 10.0)
    agree(found.values[0], 2.75 / 2.25, rel=1e-6, why="differences in place of a derivative", what="mean")
    agree(found.covariance[0][0], 1 / 2.25, rel=1e-6, why="the same", what="variance left")
    agree(found.deviation([3.0]), 3 / 1.5, rel=1e-6, why="the same", what="deviation of three times it")


@published("PRACTICE", "a reading judged by all the others", of="lampwright.sheets.fitting.fit", kind="hand")
def test_a_reading_is_left_out_by_what_the_others_foretell():
    # Of 0, 0, 0 and y, each with s = 1: the rest foretell 0 with variance 1/4 + 1, so y = 4.6 is 4.1 off.
    def left_out(last):
        return fit(lambda x: [x[0]] * 4, 1, [0.0, 0.0, 0.0, last], lambda _: [1.0] * 4, 4.0).left_out

    assert left_out(4.0 * math.sqrt(1.25) * 1.001) == (3,)
    assert left_out(4.0 * math.sqrt(1.25) * 0.999) == ()


def small(supply, led="red_5mm", count=1, forward_current=0.02):
    return BuildAsk(
        title="Small",
        supply=supply,
        lights=(LightGroup("Light", led_from_part(led), count, forward_current),),
    )


@published(
    "PRACTICE",
    "a part lies evenly within its tolerance",
    of="lampwright.sheets.unknowns.Unknowns",
    kind="hand",
)
def test_what_is_known_before_any_reading():
    bench = bench_of_plan(plan_build(small(supply_from_voltage(9.0), "prewired_white_12v")))
    row = bench.rows[0]
    led = row.leds[0]
    found = Unknowns(bench, frozenset({(0, 0)})).deviations
    half = (led.forward_voltage_max - led.forward_voltage_min) / 2
    hidden = (led.built_in_resistance_high - led.built_in_resistance_low) / 2
    assert hidden > 0
    hand = {
        ("supply",): 0.1 * 9.0 / 3**0.5,  # no window given: 10 %
        ("leads",): 0.3 * bench.main_loop + 0.1,
        ("bag", led): 0.75**0.5 * half / 3**0.5,
        ("light", 0, 0): 0.5 * half / 3**0.5,
        ("hidden", led): hidden / 3**0.5,
    }
    if row.resistance:
        hand["resistor", 0] = row.tolerance * row.resistance / 3**0.5
    assert found.keys() == hand.keys()
    for name, value in hand.items():
        agree(found[name], value, rel=1e-12, why="the same sum", what=str(name[0]))


def test_a_prewired_light_keeps_its_hidden_resistor():
    plan = plan_build(small(supply_from_battery("alkaline_aa", 8), "prewired_white_12v", 3))
    bench = bench_of_plan(plan)
    found = refit(LogFitAsk(plan.ask, metered(bench, checks_of(bench), random.Random(0), 0.0)))
    assert found.runtime == pytest.approx(plan.runtime.runtime, rel=1e-3)


def test_one_of_rows_alike_tells_less_of_them_all():
    bands = []
    for count in (1, 4):
        plan = plan_build(small(supply_from_voltage(3.6), count=count))
        bench = bench_of_plan(plan)
        assert bench.rows[0].count == count
        volts = readings(bench)["led_0_0"]
        light = refit(LogFitAsk(plan.ask, (Reading("led_0_0", voltage=volts),))).rows[0].lights[0]
        bands.append(light.forward_voltage_high - light.forward_voltage_low)
    assert bands[1] > 1.2 * bands[0]


def test_a_light_not_read_may_differ_from_its_bag():
    plan = plan_build(small(supply_from_voltage(9.0), count=3))
    bench = bench_of_plan(plan)
    led = bench.rows[0].leds[0]
    assert len(bench.rows[0].leds) == 3
    volts = readings(bench)["led_0_0"]
    lights = refit(LogFitAsk(plan.ask, (Reading("led_0_0", voltage=volts),))).rows[0].lights
    own = 0.5 * (led.forward_voltage_max - led.forward_voltage_min) / 2 / 3**0.5
    for light in lights[1:]:
        assert light.forward_voltage_high - light.forward_voltage_low > 4 * own
    assert lights[0].known == "yes"
    assert lights[1].known != "yes"


def test_a_supply_above_its_label_is_judged_as_it_is():
    ask = small(supply_from_voltage(5.0))
    plan = plan_build(ask)
    assert "above_rated_current" not in {each.code for each in plan.findings}
    sent = (Reading("supply_off", voltage=5.9), Reading("supply_on", voltage=5.9))
    found = refit(LogFitAsk(ask, sent))
    assert found.supply.supply_voltage > 5.4
    codes = {each.code for each in found.findings}
    assert codes & {"above_rated_current", "above_max_current"}
    assert any(line.startswith("New: Row A") for line in found.effects)
