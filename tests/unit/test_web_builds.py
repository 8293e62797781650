"""A form sent without a script stands for the same build as the page's own request."""

from __future__ import annotations

import pytest

from lampwright.web import builds


@pytest.mark.parametrize("name", builds.EXAMPLES)
def test_an_example_is_there_and_whole(name: str) -> None:
    build = builds.example(name)
    assert {"title", "supply", "lights"} <= set(build)
    build["title"] = "changed"
    assert builds.example(name)["title"] != "changed"


def test_a_form_becomes_a_build() -> None:
    fields = {
        "title": "Lock keeper",
        "power": "alkaline_aa",
        "supply.cells_in_series": "4",
        "supply.supply_voltage_v": "12",  # left over from the other choice: not sent
        "lights.0.name": "Lantern",
        "lights.0.led": "amber_5mm",
        "lights.0.count": "3",
        "lights.0.forward_current_ma": "8,5",
        "lights.1.name": "",
        "lights.1.led": "own",
        "lights.1.led.forward_voltage_v": "3.1",
        "lights.1.led.rated_current_ma": "20 mA",
        "lights.1.count": "many",
        "resistors.on_hand_ohm": "100, 220; 4k7",
        "wire.flexing": "yes",
        "fuse.rated_current_ma": "0",
        "fuse.style": "blade",
        "usage.hours_wanted_h": " 90 min ",
    }
    assert builds.build_from_form(fields) == {
        "title": "Lock keeper",
        "supply": {"battery": "alkaline_aa", "cells_in_series": 4},
        "lights": [
            {"name": "Lantern", "led": "amber_5mm", "count": 3, "forward_current_ma": "8,5 mA"},
            {
                "name": "Light 2",
                "led": {"forward_voltage_v": 3.1, "rated_current_ma": "20 mA"},
                "count": "many",
            },
        ],
        "resistors": {"on_hand_ohm": [100, 220, "4k7"]},
        "wire": {"flexing": True},
        "fuse": {"rated_current_ma": 0.0, "style": "blade"},
        "usage": {"hours_wanted_h": "90 min"},
    }


def test_an_adapter_leaves_the_battery_fields_out() -> None:
    fields = {"power": "adapter", "supply.supply_voltage_v": "12", "supply.cells_in_series": "4"}
    assert builds.build_from_form(fields)["supply"] == {"supply_voltage_v": 12.0}


def test_of_a_field_that_adapter_and_battery_share_the_right_one_counts() -> None:
    highest = {"supply.supply_voltage_max_v": ["12.6", "14.4"]}
    adapter = builds.build_from_form(builds.shown_fields({"power": ["adapter"], **highest}))
    assert adapter["supply"] == {"supply_voltage_max_v": 12.6}
    fields = {
        "power": ["lead_acid_12v"],
        "supply.packs_in_parallel": ["2"],
        "supply.source_resistance_ohm": ["1"],
        **highest,
    }
    battery = builds.build_from_form(builds.shown_fields(fields))
    assert battery["supply"] == {
        "battery": "lead_acid_12v",
        "packs_in_parallel": 2,
        "supply_voltage_max_v": 14.4,
    }


def test_a_ready_made_supply_is_named() -> None:
    fields = {"power": "part:usb_charger_5v", "supply.supply_voltage_v": "12", "usage.worn": "yes"}
    build = builds.build_from_form(fields)
    assert build["supply"] == "usb_charger_5v"
    assert build["usage"] == {"worn": True}


@pytest.mark.parametrize(
    "fields",
    [
        {"lights.x.count": "1", "power": "adapter"},
        {"title.deep": "1", "title": "later"},
        {"supply": "12", "supply.supply_voltage_v": "9", "power": "nimh_aa"},
        {"a.b.c.d.e": "1"},
        {"lights.0.led": "red_5mm", "lights.0.led.forward_voltage_v": "2"},
        {"lights": "none"},
        {"supply": "12", "power": "adapter"},
        {"usage": "6", "wire": "22"},
        {"lights.99999999.count": "1"},
    ],
)
def test_odd_fields_do_no_harm(fields: dict[str, str]) -> None:
    build = builds.build_from_form(fields)
    assert isinstance(build["lights"], list)
    assert "title" in build
    assert all(isinstance(build.get(group, {}), dict) for group in ("supply", "wire", "usage", "resistors"))
