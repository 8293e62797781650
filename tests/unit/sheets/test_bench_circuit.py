"""The circuit on the bench: sound, with one fault in it, and what a meter shows."""

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.planner.catalogue import led_from_part
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.circuits import CircuitAsk, Feed, StringAsk
from lampwright.planner.sheet import plan_build
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.planner.together import solve_prepared
from lampwright.sheets.bench import (
    SOUND,
    Fault,
    _runs_with,
    alone,
    bench_of_circuit,
    bench_of_plan,
    fault_volts,
    faults_of,
    least_current,
    most_current,
    shorts,
    solve,
)
from lampwright.sheets.checks import bench_checks
from lampwright.sheets.faults import break_it, burns, effect_of, effects, fault_table, overloaded
from lampwright.sheets.metering import checks_of, readings
from tests.builds import NAMES, example_sheet, rows_ask, sheet_of

RED = led_from_part("red_5mm")
OPENED = (("light_open", 0), ("light_reversed", 0), ("resistor_open", -1), ("row_open", -1))


def two_rows(resistance=330.0, count=2, volts=12.0):
    strings = (
        StringAsk((RED,) * 3, resistance=resistance, branch_count=count),
        StringAsk((RED,) * 2, resistance=470.0),
    )
    return bench_of_circuit(CircuitAsk(supply_from_voltage(volts), strings))


def test_readings_obey_kirchhoff():
    """Volts along a row add up to what is across it; currents add up to the total."""
    bench = two_rows()
    shown = readings(bench)
    row = shown["resistor_0"] + sum(shown[f"led_0_{at}"] for at in range(3))
    assert math.isclose(row, shown["after_switch"], rel_tol=1e-9)
    total = 2 * shown["resistor_0"] / 330 + shown["resistor_1"] / 470
    assert math.isclose(total, shown["total_current"], rel_tol=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_good_bands_hold_every_corner(name):
    bench = bench_of_plan(example_sheet(name).plan)
    for check in bench_checks(bench):
        if check.check == "touch":
            continue
        low = check.voltage_low if check.voltage_low is not None else check.current_low
        high = check.voltage_high if check.voltage_high is not None else check.current_high
        if check.check == "total_current":
            low, high = check.current_low, check.current_high
        for corner in ("low", "expected", "high"):
            assert low - 1e-9 <= readings(bench, corner)[check.check] <= high + 1e-9, (check.check, corner)


@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1), st.sampled_from(NAMES))
@settings(max_examples=40, deadline=None)
def test_good_bands_hold_parts_of_any_tolerance(lot, tolerance, volts, name):
    """Lights of one lot, resistors and supply anywhere inside their spread read inside the band."""
    from dataclasses import replace

    bench = bench_of_plan(example_sheet(name).plan)
    window = bench.volts
    volt = window["expected"] + volts * (
        window["high"] - window["expected"] if volts > 0 else window["expected"] - window["low"]
    )
    corner = "low" if lot < 0 else "high"
    rows = tuple(
        replace(
            row,
            resistance=row.resistance * (1 + row.tolerance * tolerance),
            tolerance=0.0,
            lights={key: row.lights[corner] for key in row.lights},
        )
        for row in bench.rows
    )
    other = replace(bench, rows=rows, volts=dict.fromkeys(window, volt))
    shown = readings(other)
    for check in bench_checks(bench):
        if check.check.startswith(("resistor", "led")):
            assert check.voltage_low - 1e-6 <= shown[check.check] <= check.voltage_high + 1e-6, check.check


def test_a_light_turned_round_darkens_its_row_and_shows_the_supply():
    bench = two_rows()
    shown = readings(bench, fault=Fault("light_reversed", 0, 1))
    assert shown["resistor_0"] == 0
    assert shown["led_0_1"] > 0.7 * 12
    assert shown["led_0_0"] == 0
    assert shown["resistor_1"] > 0


def test_an_open_resistor_shows_the_supply_across_itself():
    shown = readings(two_rows(), fault=Fault("resistor_open", 0))
    assert shown["resistor_0"] > 0.5 * 12
    assert shown["led_0_0"] == 0


def test_a_shorted_light_pushes_the_others():
    bench = two_rows()
    state, usual = solve(bench, fault=Fault("light_short", 0, 0)), solve(bench)
    assert state.faulty > usual.currents[0]
    assert readings(bench, fault=Fault("light_short", 0, 0))["led_0_0"] == 0


@pytest.mark.parametrize(
    ("kind", "check", "sign"),
    [
        ("fuse_open", "after_switch", 0),
        ("switch_open", "after_switch", 0),
        ("supply_dead", "supply_off", 0),
        ("supply_reversed", "supply_off", -1),
        ("main_open", "total_current", 0),
    ],
)
def test_faults_of_the_whole(kind, check, sign):
    value = readings(two_rows(), fault=Fault(kind))[check]
    assert (value > 0) - (value < 0) == sign


def test_only_one_row_of_those_alike_has_the_fault():
    bench = two_rows(count=3)
    state = solve(bench, fault=Fault("row_open", 0))
    assert math.isclose(state.total, 2 * state.currents[0] + state.currents[1], rel_tol=1e-9)


def test_a_short_without_a_fuse_is_never_calm():
    effect = effect_of(two_rows(), Fault("rails_short"))
    assert effect.burns
    assert effect.sign == "supply_hot"


def test_a_weak_battery_reads_low():
    strings = (StringAsk((RED,), resistance=150.0),)
    bench = bench_of_circuit(CircuitAsk(supply_from_battery("alkaline_aa", 3), strings))
    assert readings(bench, fault=Fault("supply_weak"))["supply_off"] < bench.volts["low"]
    assert bench.volts["expected"] == bench.supply.supply_voltage_max


def test_a_feed_lowers_the_far_end():
    strings = tuple(StringAsk((RED,), resistance=150.0) for _ in range(5))
    feed = Feed(lead_loop=1.0, segment_loop=0.5)
    shown = readings(bench_of_circuit(CircuitAsk(supply_from_voltage(5.0), strings, feed=feed)))
    assert shown["far_end"] < shown["after_switch"]


@pytest.mark.parametrize("name", NAMES)
def test_every_fault_is_seen_somewhere(name):
    """No fault leaves every test point and every light as in a sound build."""
    bench = bench_of_plan(example_sheet(name).plan)
    usual = readings(bench)
    for fault in faults_of(bench):
        shown = readings(bench, fault=fault)
        assert any(
            abs(shown[check] - usual[check]) > 0.02 * abs(usual[check]) for check in checks_of(bench)
        ), fault
        assert effect_of(bench, fault).sign, fault


@pytest.mark.parametrize("name", NAMES)
def test_the_fault_table_comes_from_the_solved_faults(name):
    bench = bench_of_plan(example_sheet(name).plan)
    found = effects(bench)
    table = {row.sign: row for row in fault_table(bench, found)}
    assert {effect.sign for effect in found} <= set(table)
    assert "wrong way round" in " ".join(table["row_out"].causes)
    assert "open" in table["row_out"].causes[0] or "wrong way" in table["row_out"].causes[0]
    assert "value" in table["row_bright"].cure


@pytest.mark.parametrize("volts", [9.0, 12.0, 14.5])
@pytest.mark.parametrize("resistance", [120.0, 180.0, 330.0])
def test_what_is_told_without_solving_is_what_solving_tells(volts, resistance):
    """Regression: a fault that cannot burn anything is told so by bounds; those never contradict."""
    bench = two_rows(resistance, 2, volts)
    seen = set()
    for fault in faults_of(bench):
        if fault.kind == "rails_short":
            continue
        state = solve(bench, "high", fault)
        burning = False
        for place, row in enumerate(bench.rows):
            mine = place == fault.row
            if mine:
                burning = burning or overloaded(row, state.faulty, fault)
            if not mine or row.count > 1:
                burning = burning or overloaded(row, state.currents[place], None)
        assert burns(bench, fault) == burning, fault
        seen.add(burning)
    assert seen == {True, False}


@pytest.mark.parametrize("name", NAMES)
def test_bounds_of_a_faulty_row_hold_what_solving_tells(name):
    bench = bench_of_plan(example_sheet(name).plan)
    near = 0
    for fault in faults_of(bench):
        if fault.row >= 0 and not shorts(bench, fault):
            solved = solve(bench, "high", fault).faulty
            least, most = least_current(bench, fault), most_current(bench, fault.row, fault)
            assert least * (1 - 1e-12) <= solved <= most * (1 + 1e-12), fault
            near += solved > 0 and least > 0.5 * solved
    assert near


@pytest.mark.parametrize("name", NAMES)
def test_the_break_it_view_ranks_what_burns_first(name):
    bench = bench_of_plan(example_sheet(name).plan)
    lines = break_it(bench, effects(bench))
    burning = [line.burns for line in lines]
    assert burning == sorted(burning, reverse=True)
    assert all(0 <= line.share_lost <= 1 for line in lines)
    bridged = next(line for line in lines if line.part.startswith("R-") and line.fault == "shorted")
    assert bridged.burns == ("burns it out" in bridged.shows)
    dead = next(line for line in lines if line.part == "S1")
    assert dead.share_lost == 1


def test_a_sound_circuit_has_no_sign():
    assert effect_of(two_rows(), SOUND).sign == ""


def test_a_changed_bench_is_solved_afresh_and_faults_alike_are_one_circuit():
    bench = bench_of_plan(example_sheet("moth_wings").plan)
    sound = solve(bench)
    assert solve(bench) is sound
    row = replace(bench.rows[0], resistance=2 * bench.rows[0].resistance)
    other = replace(bench, rows=(row, *bench.rows[1:]))
    assert solve(other).currents[0] < 0.7 * sound.currents[0]
    dark = [solve(bench, "expected", Fault(kind, 0, light)) for kind, light in OPENED]
    assert all(each == dark[0] for each in dark)
    assert dark[0].faulty == 0.0


def test_where_newton_begins_does_not_matter():
    """Regression: every fault from the sound circuit and from nothing."""
    bench = bench_of_plan(example_sheet("moth_wings").plan)
    for fault in faults_of(bench):
        if fault.kind in ("supply_weak", "run_poor", "resistor_low", "light_short"):
            here = solve(bench, "high", fault)
            runs, owners = _runs_with(bench, "high", fault)
            alone = solve_prepared(
                fault_volts(bench, "high", fault), bench.source["high"] + bench.main_loop, runs
            )
            found = dict(zip(owners, alone.currents, strict=True))
            for place, current in found.items():
                told = here.faulty if place < 0 else here.currents[place]
                assert abs(told - current) <= 1e-12 * current


def head(check, value):
    """Return under which head of a check a reading falls."""
    if abs(value) < 0.05 * check.voltage_low:
        return "zero_means"
    return (
        "low_means"
        if value < check.voltage_low
        else "high_means"
        if value > check.voltage_high
        else "good_but"
    )


@pytest.mark.parametrize(
    ("kind", "light", "several", "words"),
    [
        ("row_open", -1, True, "Row dark: it is open"),
        ("light_reversed", 0, True, "a light is the wrong way round"),
        ("resistor_short", -1, True, "Too bright: the resistor is bridged"),
        ("resistor_open", -1, True, "Row dark: the resistor is open"),
        ("resistor_open", -1, False, "row dark: the resistor is open"),
        ("light_short", 0, True, "One light dark: it is shorted"),
        ("light_short", 0, False, "its light is shorted"),
    ],
)
def test_what_a_checked_circuit_says_lies_where_its_reading_falls(kind, light, several, words):
    strings = (StringAsk((RED,) * (3 if several else 1), resistance=330.0 if several else 560.0),)
    circuit = CircuitAsk(supply_from_voltage(12.0, 11.6, 12.4), strings)
    check = next(each for each in circuit_check(circuit).bench_checks if each.check == "resistor_0")
    shown = readings(bench_of_circuit(circuit), fault=Fault(kind, 0, light))["resistor_0"]
    assert words in getattr(check, head(check, shown))


@pytest.mark.parametrize(("kind", "look"), [("resistor_high", "dim"), ("resistor_low", "too bright")])
def test_a_wrong_resistor_hardly_shows_in_its_volts(kind, look):
    """A light keeps its volts, so ten times or a tenth of the resistance leaves about the same over it."""
    circuit = CircuitAsk(supply_from_voltage(12.0, 11.4, 12.6), (StringAsk((RED,) * 2, resistance=390.0),))
    check = next(each for each in circuit_check(circuit).bench_checks if each.check == "resistor_0")
    shown = readings(bench_of_circuit(circuit), fault=Fault(kind, 0))["resistor_0"]
    assert head(check, shown) == "good_but"
    assert look in check.good_but


def test_a_fuse_that_holds_is_not_said_to_blow():
    """A small adapter gives too little to open its fuse: the supply is pulled down instead."""
    ask = replace(rows_ask(2), supply=supply_from_voltage(5.0, 4.9, 5.1, current_limit=0.5))
    bench = bench_of_plan(plan_build(ask))
    fault = Fault("rails_short")
    assert bench.fuse_rated_current
    assert not bench.blows
    assert effect_of(bench, fault).sign == "supply_hot"
    assert readings(bench, fault=fault)["supply_on"] < 0.1
    table = {row.sign for row in fault_table(bench, effects(bench))}
    assert "fuse_at_once" not in table


def test_the_only_light_of_a_row_shorted_is_dark():
    bench = bench_of_plan(example_sheet("moth_wings").plan)
    effect = effect_of(bench, Fault("light_short", 0, 0))
    assert effect.sign == "row_out"
    table = {row.sign: row for row in fault_table(bench, effects(bench))}
    assert "light_out" not in table
    assert not any("bridged" in cause and "legs" in cause for cause in table["row_bright"].causes)


def test_a_bought_light_shorted_blows_the_fuse():
    bench = bench_of_plan(sheet_of("street of bought lanterns").plan)
    effect = effect_of(bench, Fault("light_short", 0, 0))
    assert (effect.sign, effect.burns) == ("fuse_at_once", True)
    assert readings(bench, fault=Fault("light_short", 0, 0))["after_switch"] == 0


@pytest.mark.parametrize("name", ["street of bought lanterns", "observatory_diorama"])
def test_a_plug_has_no_battery(name):
    sheet = sheet_of(name)
    said = " ".join(
        f"{row.look_first} {row.check} {' '.join(row.causes)} {row.cure}" for row in sheet.fault_finding
    )
    said += " ".join(f"{each.zero_means} {each.low_means} {each.high_means}" for each in sheet.bench_checks)
    assert not re.search(r"batter|cell", said)


def test_only_what_is_recharged_has_a_charger():
    for name, charged in (("moth_wings", False), ("staff on two lithium cells", True)):
        high = next(each for each in sheet_of(name).bench_checks if each.check == "supply_off").high_means
        assert ("charger" in high) == charged


def test_fresh_cells_are_good_and_a_label_is_taken_less_at_its_word():
    """1.65 V fresh [FUSPOWER-LR6, clause 5]; an adapter within 5 % (common practice, no source)."""
    off = next(each for each in sheet_of("miners_lamp").bench_checks if each.check == "supply_off")
    assert off.voltage_high >= 3 * 1.65
    street = {each.check: each for each in sheet_of("street of bought lanterns").bench_checks}
    assert street["supply_off"].voltage_low < 11.5 < 12.5 < street["supply_off"].voltage_high
    assert street["led_0_0"].voltage_high < 13


def test_a_poor_contact_shows_at_the_point_behind_it():
    bench = bench_of_plan(example_sheet("miners_lamp").plan)
    usual = readings(bench)
    order = ("supply_off", "supply_on", "after_switch", "far_end")
    for kind, first in (("holder_poor", 1), ("contact_poor", 2), ("main_poor", 3)):
        shown = readings(bench, fault=Fault(kind))
        lower = [shown[check] < 0.9 * usual[check] for check in order]
        assert lower == [at >= first for at in range(4)], kind


def test_a_switch_that_does_not_close_is_bridged_by_the_meter():
    bench = bench_of_plan(example_sheet("miners_lamp").plan)
    shown = readings(bench, fault=Fault("switch_open"))
    assert shown["after_switch"] == 0
    assert math.isclose(shown["total_current"], readings(bench)["total_current"])
    assert readings(bench, fault=Fault("fuse_open"))["total_current"] == 0


def test_a_row_of_many_is_worked_out_on_its_own_nearly_the_same():
    bench = bench_of_plan(example_sheet("observatory_diorama").plan)
    for kind, light in (("resistor_high", -1), ("resistor_low", -1), ("light_short", 0), ("row_open", -1)):
        fault = Fault(kind, 1, light)
        assert math.isclose(
            alone(bench, "expected", fault).faulty, solve(bench, fault=fault).faulty, rel_tol=0.02
        )
