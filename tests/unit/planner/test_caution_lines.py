"""Cautions: each row appears for the facts that call for it, at most five, worst first, none without need."""

import re
from dataclasses import replace

import pytest

from lampwright.contract.calculations import read
from lampwright.planner.catalogue import led_from_figures
from lampwright.planner.cautions import (
    MOST_LINES,
    BuildFacts,
    cautions_for,
    deference,
    facts_of,
    plate_side,
)
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.sheet import plan_build
from lampwright.planner.supplies import supply_from_battery
from lampwright.tables.cautions import caution_rows
from tests.marks import published

PLAIN = BuildFacts("battery", 4.8, "alkaline", "cell", cell_count=3, design_current=0.1, light_current=0.02)
#: code -> facts that call for it, and facts just short of that
CALLS = {
    "battery_hot_off_and_out": ({"chemistry": "lead_acid"}, {"chemistry": "alkaline"}),
    "fuse_at_battery": ({"chemistry": "nimh"}, {"chemistry": "nimh", "protected": True}),
    "coin_cell_children": ({"form": "coin"}, {}),
    "flashing_seizure": ({"flash_rate": 3.0}, {"flash_rate": 2.9}),
    "damp_voltage": ({"worn": True, "supply_voltage_max": 30.1}, {"worn": True, "supply_voltage_max": 30.0}),
    "charging": ({"rechargeable_cells": True, "chemistry": "liion"}, {"rechargeable_cells": True}),
    "charging_nimh": ({"rechargeable_cells": True, "chemistry": "nimh"}, {"chemistry": "nimh"}),
    "charging_lead": ({"rechargeable_cells": True, "chemistry": "lead_acid"}, {"chemistry": "lead_acid"}),
    "packs_side_by_side": ({"chemistry": "liion", "packs_in_parallel": 2}, {"packs_in_parallel": 2}),
    "banks_side_by_side": ({"form": "bank", "packs_in_parallel": 2}, {"form": "bank"}),
    "lithium_handling": ({"chemistry": "liion"}, {"chemistry": "liion", "protected": True}),
    "ultraviolet": ({"colours": ("red", "ultraviolet")}, {"colours": ("violet",)}),
    "bright_light": ({"light_current": 0.35}, {"light_current": 0.3, "blue_current": 0.09}),
    "hot_light": ({"light_heat": 0.5}, {"light_heat": 0.49}),
    "much_current": ({"design_current": 5.1}, {"design_current": 5.0}),
    "hot_resistor": (
        {"hottest_share": 0.51, "touch_high": 60.0},
        {"hottest_share": 0.51, "touch_high": 30.0},  # in the frost half its watts leave it cool
    ),
    "vehicle": ({"supply_kind": "vehicle"}, {"supply_kind": "adapter"}),
    "travel": ({"air_travel": True, "chemistry": "lithium_iron"}, {"air_travel": True}),
    "travel_lead": ({"air_travel": True, "chemistry": "lead_acid"}, {"air_travel": True}),
    "travel_dry": ({"air_travel": True}, {"air_travel": True, "supply_kind": "adapter"}),
    "sweat_and_rain": ({"worn": True}, {}),
    "closed_supply_only": ({"supply_kind": "adapter"}, {"supply_kind": "usb_port"}),
    "never_solder_a_cell": ({}, {"form": "block"}),
    "loose_block": ({"form": "block"}, {"form": "block", "chemistry": "lead_acid"}),
    "mixed_cells": ({}, {"form": "bank"}),
    "solder_fume": ({}, None),
    "clipped_legs": ({}, None),
}


def called(facts):
    return [row.code for row in caution_rows() if getattr(facts, row.applies)]


@pytest.mark.parametrize("code", CALLS)
def test_each_caution_is_called_for(code):
    calls, short = CALLS[code]
    assert code in called(replace(PLAIN, **calls))
    if short is not None:
        assert code not in called(replace(PLAIN, **short))


def test_every_row_is_known_here():
    assert {row.code for row in caution_rows()} == {*CALLS, "deference"}
    ranks = [row.rank for row in caution_rows()]
    assert ranks == sorted(set(ranks))


def test_severities():
    by_severity = {}
    for row in caution_rows():
        by_severity.setdefault(row.severity, []).append(row.rank)
    assert max(by_severity["high"]) < min(by_severity["medium"])
    assert max(by_severity["medium"]) < min(by_severity["low"])


def test_at_most_five_worst_first():
    everything = replace(
        PLAIN, chemistry="liion", rechargeable_cells=True, worn=True, flash_rate=10.0, air_travel=True,
        design_current=6.0, light_current=1.0, hottest_share=0.9, supply_voltage_max=36.0,
    )  # fmt: skip
    lines = cautions_for(everything)
    assert len(lines) == MOST_LINES
    assert [line.code for line in lines] == called(everything)[:MOST_LINES]
    assert lines[0].code == "battery_hot_off_and_out"


def test_wordings_are_filled_in():
    every = BuildFacts(
        "vehicle", 40.0, "liion", "coin", False, True, 2, 6.0, 1.0, 80.0, 0.9, True, True, 12.0,
        ("ultraviolet",), True,
    )  # fmt: skip
    for line in cautions_for(every):
        for text in (line.hazard, line.why, line.action):
            assert text
            assert "{" not in text
    assert "12 times a second" in next(
        line.hazard for line in cautions_for(replace(every, chemistry="", form="")) if "seizure" in line.code
    )


def test_charging_is_told_of_the_battery_there_is():
    """A lead battery gives off gas; only a lithium cell plates metal in the cold."""
    for chemistry, says, not_says in (
        ("liion", "lithium cell", "gas"),
        ("nimh", "NiMH", "lithium"),
        ("lead_acid", "explode", "lithium"),
    ):
        lines = cautions_for(replace(PLAIN, chemistry=chemistry, rechargeable_cells=True))
        charging = next(line for line in lines if line.code.startswith("charging"))
        text = f"{charging.hazard} {charging.why} {charging.action}"
        assert says in text
        assert not_says not in text


def test_up_to_is_no_less_than_what_the_fuse_is_held_against():
    """The freshest cell gives most: what it gives through a fuse's leads is less, never more."""
    lights = [{"name": "Glow", "led": "red_5mm", "count": 1}]
    wish = {"rated_current_ma": 1000, "style": "glass_5x20"}
    asked = {"title": "Lamp", "supply": {"battery": "liion_18650"}, "lights": lights, "fuse": wish}
    plan = plan_build(read("build-sheets", asked))
    (stop,) = [each for each in plan.fuse.findings if each.code == "fuse_cannot_break"]
    told = float(re.search(r"up to ([0-9.]+) A into a fault", cautions_for(plan)[0].why)[1])
    assert told >= float(re.search(r"interrupt ([0-9.]+) A", stop.message)[1]) > 100


def test_what_is_told_is_true_of_the_build():
    stage = replace(PLAIN, chemistry="nimh", form="block", short_circuit_current=4.08)
    first = cautions_for(stage)[0]
    assert "up to 4.1 A" in first.why
    assert "costume" not in first.action
    assert "costume OFF" in cautions_for(replace(stage, worn=True))[0].action
    coin = next(
        line
        for line in cautions_for(replace(PLAIN, chemistry="lithium_coin", air_travel=True))
        if line.code == "travel"
    )
    assert "2 g of lithium" in coin.action
    assert "bank" not in coin.action
    banks = cautions_for(replace(PLAIN, chemistry="liion", form="bank", protected=True, air_travel=True))
    assert "Power banks" in next(line.action for line in banks if line.code == "travel")
    told = {line.code: line for line in cautions_for(replace(PLAIN, colours=("ultraviolet",)))}
    assert told["ultraviolet"].hazard.startswith("Ultraviolet light")
    worn = cautions_for(BuildFacts("adapter", 9.0, worn=True))
    assert "pack" not in next(line.action for line in worn if line.code == "sweat_and_rain")


def test_a_blue_light_is_bright_at_less_current_than_a_red_one():
    red = replace(PLAIN, light_current=0.4)
    assert "blue" not in next(line.why for line in cautions_for(red) if line.code == "bright_light")
    assert replace(PLAIN, light_current=0.2, blue_current=0.2).bright
    assert not replace(PLAIN, light_current=0.2).bright
    eyes = replace(PLAIN, light_current=0.2, blue_current=0.2, worn=True)
    assert "wearer" in next(line.action for line in cautions_for(eyes) if line.code == "bright_light")


def test_what_nobody_sees_does_not_dazzle():
    unseen = led_from_figures(
        forward_voltage=1.5, rated_current=0.5, max_forward_current=1.0, colour="infrared"
    )
    group = (LightGroup("Beacon", unseen, 1, 0.5),)
    facts = facts_of(plan_build(BuildAsk("Beacon", supply_from_battery("nimh_aa", 2), group)))
    assert facts.ultraviolet
    assert facts.hot_light
    assert not facts.bright
    seen = (LightGroup("Beacon", replace(unseen, colour="red"), 1, 0.5),)
    lamp = BuildAsk("Beacon", supply_from_battery("nimh_aa", 2), seen)
    assert facts_of(plan_build(lamp)).bright


def test_what_the_build_itself_does_comes_before_what_its_kind_of_battery_does():
    """Five lines: a bright hot light on a lithium cell is told before how to charge it."""
    lamp = replace(PLAIN, chemistry="liion", rechargeable_cells=True, blue_current=0.7, light_heat=2.3)
    codes = [line.code for line in cautions_for(lamp)]
    assert codes[2:4] == ["bright_light", "hot_light"]


def test_a_plate_keeps_a_light_hand_warm():
    """Still air takes some 10 W/(m² K) from a plate (common practice), here from one side alone."""
    for watts in (0.5, 1.0, 2.3, 10.0):
        area = (plate_side(watts) / 100) ** 2
        assert 25.0 + watts / (10.0 * area) <= 48.0


def test_the_deference_is_always_there_to_ask_for():
    assert "licensed" in deference()
    assert "local electrical and fire codes" in deference()
    assert "deference" not in called(PLAIN)


@published("WCAG-2", "2.3.1: three flashes in any one second", of="lampwright.planner.cautions.cautions_for")
def test_flash_limit():
    assert replace(PLAIN, flash_rate=3.0).flashing
    assert not replace(PLAIN, flash_rate=2.99).flashing


@published("EPILEPSY-SOCIETY", "3 to 30 flashes a second")
def test_sensitive_range():
    for rate in (3, 10, 30):
        assert replace(PLAIN, flash_rate=float(rate)).flashing
    # Some people up to 60 a second; dimming by faster switching is no flashing.
    assert replace(PLAIN, flash_rate=60.0).flashing
    assert not replace(PLAIN, flash_rate=61.0).flashing
    assert not replace(PLAIN, flash_rate=1000.0).flashing


@published("IEC-60598-1", "8.2.3: 30 V DC where damp", of="lampwright.planner.cautions.BuildFacts")
@published("NFPA-70-11", "notes 2 and 4: 12.4 V interrupted 10 to 200 times a second")
def test_damp_limits():
    worn = replace(PLAIN, worn=True)
    assert not replace(worn, supply_voltage_max=30.0).above_damp_limit
    assert replace(worn, supply_voltage_max=30.5).above_damp_limit
    assert replace(worn, supply_voltage_max=12.6, flash_rate=50.0).above_damp_limit
    assert not replace(worn, supply_voltage_max=12.4, flash_rate=50.0).above_damp_limit


@published("IEC-62368-1", "table 38: 48 °C held for long", of="lampwright.planner.cautions.BuildFacts")
def test_touch_limits():
    assert replace(PLAIN, enclosed=True, touch=48.5).hot_resistor
    assert not replace(PLAIN, enclosed=True, touch=48.0).hot_resistor
    # Against the skin, 43 °C (from memory).
    assert replace(PLAIN, worn=True, touch=43.5).hot_resistor
    assert not replace(PLAIN, touch=60.0).hot_resistor


#: code -> what its action has to say (common practice and the sources of the rows)
SAYS = {
    "battery_hot_off_and_out": "OFF",
    "fuse_at_battery": "right at the battery",
    "coin_cell_children": "screw",
    "flashing_seizure": "under 3 a second",
    "damp_voltage": "limit",
    "charging": "never below 0 °C",
    "charging_nimh": "made for NiMH",
    "charging_lead": "aired room",
    "packs_side_by_side": "equal packs",
    "banks_side_by_side": "own lights",
    "hot_light": "aluminium",
    "travel_lead": "100 Wh",
    "travel_dry": "box",
    "lithium_handling": "hard case",
    "ultraviolet": "goggles",
    "bright_light": "diffuser",
    "much_current": "fuse in each",
    "hot_resistor": "clear of foam",
    "vehicle": "licensed work",
    "travel": "cabin",
    "sweat_and_rain": "Sleeve every joint",
    "closed_supply_only": "own plug",
    "never_solder_a_cell": "Never solder onto a cell",
    "loose_block": "tape",
    "mixed_cells": "whole set",
    "solder_fume": "Air the room",
    "clipped_legs": "glasses",
    "deference": "licensed work",
}


@pytest.mark.parametrize("code", SAYS)
@published("PRACTICE", "workshop safety", of="lampwright.tables.cautions.caution_rows", kind="practice")
def test_what_each_says(code):
    row = next(row for row in caution_rows() if row.code == code)
    assert SAYS[code] in row.action
