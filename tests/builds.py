"""Builds for tests of sheet, drawing and paper: the examples, and rows by the dozen."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

from lampwright.contract.calculations import read
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.models.build import BuildAsk, Sheet
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.supplies import supply_from_voltage
from lampwright.sheets.build import build_sheet

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = ("observatory_diorama", "moth_wings", "miners_lamp")
COLOURS = ("red_5mm", "amber_5mm", "blue_5mm", "warm_white_5mm")


@cache
def example_ask(name: str) -> BuildAsk:
    ask = read("build-sheets", json.loads((EXAMPLES / f"{name}.json").read_text("utf-8")))
    assert isinstance(ask, BuildAsk)
    return ask


@cache
def example_sheet(name: str) -> Sheet:
    return build_sheet(example_ask(name))


def rows_ask(count: int, title: str = "Many rows") -> BuildAsk:
    """Return a build of so many rows, no two alike: one light each, all of other currents."""
    lights = tuple(
        LightGroup(
            name=f"Light {place + 1}",
            led=led_from_part(COLOURS[place % len(COLOURS)]),
            count=1,
            forward_current=0.004 + 0.0001 * place,
            run_length=0.3 + 0.05 * place,
        )
        for place in range(count)
    )
    return BuildAsk(title=title, supply=supply_from_voltage(4.9, 4.8, 5.0), lights=lights)


@cache
def rows_sheet(count: int) -> Sheet:
    return build_sheet(rows_ask(count))


def named(name: str, ask: BuildAsk) -> BuildAsk:
    """Return a build whose title and lights carry a caller's text."""
    return replace(ask, title=name, lights=tuple(replace(light, name=name) for light in ask.lights[:1]))


#: Builds as unlike each other as makers' builds are, as they are sent.
UNLIKE = {
    "staff on two lithium cells": {
        "title": "Lantern staff",
        "supply": {"battery": "liion_18650", "cells_in_series": 2},
        "lights": [
            {"name": "Ice", "led": "white_5mm", "count": 6, "forward_current_ma": 18, "run_length_m": 1.2},
            {"name": "Embers", "led": "red_5mm", "count": 3, "forward_current_ma": 12, "run_length_m": 0.6},
        ],
        "wire": {"flexing": True},
        "usage": {"hours_wanted_h": 6, "worn": True},
    },
    "float behind a vehicle": {
        "title": "Float rail",
        "supply": "vehicle_12v",
        "lights": [
            {"name": "Rail", "led": "amber_5mm", "count": 30, "forward_current_ma": 18, "run_length_m": 6},
            {"name": "Bow", "led": "blue_5mm", "count": 10, "forward_current_ma": 18, "run_length_m": 8},
            {"name": "Marker", "led": "red_5mm", "count": 1, "forward_current_ma": 15, "run_length_m": 3},
        ],
    },
    "pin on a coin cell": {
        "title": "Firefly pin",
        "supply": {"battery": "lithium_coin_cr2032"},
        "lights": [
            {"name": "Glow", "led": "red_5mm", "count": 1, "forward_current_ma": 2, "run_length_m": 0.1}
        ],
        "usage": {"hours_wanted_h": 3, "worn": True},
    },
    "pre-wired lights on a USB port": {
        "title": "Fairy house",
        "supply": "usb_port_5v",
        "lights": [
            {
                "name": "Windows",
                "led": {
                    "forward_voltage_v": 3.1,
                    "rated_current_ma": 20,
                    "built_in_resistance_ohm": 150,
                    "colour": "white",
                },
                "count": 4,
                "run_length_m": 0.5,
            },
            {"name": "Door", "led": "red_5mm", "count": 1, "forward_current_ma": 10},
        ],
    },
    "seven colours mixed in rows": {
        "title": "Star map",
        "supply": {"battery": "nimh_aa", "cells_in_series": 6},
        "lights": [
            {"name": f"Star {colour}", "led": f"{colour}_5mm", "count": count, "forward_current_ma": 10}
            for colour, count in (
                ("white", 2), ("red", 5), ("blue", 2), ("green", 2), ("amber", 7), ("yellow", 2),
                ("orange", 2),
            )
        ],
        "mix_colours": True,
    },
    "packs side by side": {
        "title": "Robe",
        "supply": {"battery": "alkaline_aa", "cells_in_series": 4, "packs_in_parallel": 2},
        "lights": [{"name": "Hem", "led": "blue_5mm", "count": 9, "run_length_m": 2}],
        "wire": {"flexing": True},
        "usage": {"worn": True},
    },
    "two lead batteries in series": {
        "title": "Castle gate",
        "supply": {"battery": "lead_acid_6v", "cells_in_series": 2},
        "lights": [
            {"name": "Torch", "led": "amber_1w", "count": 6, "forward_current_ma": 60, "run_length_m": 4},
            {"name": "Lamp", "led": "amber_5mm", "count": 4, "forward_current_ma": 15, "run_length_m": 2},
        ],
    },
    "bag of lights on a power bank": {
        "title": "Cloak",
        "supply": {"battery": "power_bank_5v"},
        "lights": [
            {"name": "Hem", "led": "blue_5mm", "count": 20, "forward_current_ma": 10, "run_length_m": 2}
        ],
        "wire": {"flexing": True},
        "usage": {"hours_wanted_h": 4, "worn": True},
    },
    "hat on a 9 V block": {
        "title": "Hat",
        "supply": {"battery": "alkaline_9v"},
        "lights": [{"name": "Band", "led": "yellow_5mm", "count": 4, "forward_current_ma": 6}],
        "usage": {"worn": True},
    },
    "street of bought lanterns": {
        "title": "Street",
        "supply": {"supply_voltage_v": 12, "current_limit_ma": 2000},
        "lights": [{"name": "Lantern", "led": "prewired_white_12v", "count": 4, "run_length_m": 1}],
    },
    "crown on a boost converter": {
        "title": "Crown",
        "supply": {
            "supply_voltage_v": 9, "supply_voltage_min_v": 8.8, "supply_voltage_max_v": 9.2,
            "source_resistance_ohm": 0.4, "current_limit_ma": 500,
        },
        "lights": [
            {"name": "Jewels", "led": "blue_5mm", "count": 4, "forward_current_ma": 10},
            {"name": "Rim", "led": "amber_5mm", "count": 5, "forward_current_ma": 10},
        ],
    },
}  # fmt: skip


@cache
def build_ask(name: str) -> BuildAsk:
    """Return the ask of an example, or of one of the unlike builds."""
    if name in NAMES:
        return example_ask(name)
    ask = read("build-sheets", json.loads(json.dumps(UNLIKE[name])))
    assert isinstance(ask, BuildAsk)
    return ask


@cache
def unlike_sheet(name: str) -> Sheet:
    return build_sheet(build_ask(name))


def sheet_of(name: str) -> Sheet:
    """Return the sheet of an example, or of one of the unlike builds."""
    return example_sheet(name) if name in NAMES else unlike_sheet(name)
