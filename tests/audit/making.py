"""Random builds: any part, any supply, any length and heat; and builds that are good by construction.

A build is the JSON a caller would send. It goes the whole way: read by the contract, planned, worded,
turned into the answered document.
"""

from __future__ import annotations

import json
import random
from functools import cache
from typing import Any

from marshmallow import ValidationError

from lampwright.contract import reading, schemas
from lampwright.errors import LampwrightError
from lampwright.sheets.build import build_sheet
from lampwright.sheets.document import sheet_document
from lampwright.tables.batteries import battery_types, figures_of
from lampwright.tables.leds import led_types
from lampwright.tables.supplies import supply_types
from lampwright.tables.wires import insulations, wire_sizes

Build = dict[str, Any]

_NAMES = ("Lantern", "Window", "Beacon", "Ember", "Star", "Gauge")


@cache
def _schema() -> schemas.BuildSheetsSchema:
    return schemas.BuildSheetsSchema()


def answer(build: Build) -> dict[str, Any] | None:
    """Return the answered document of a build, as it would come over the wire; None where it is refused."""
    try:
        ask = reading.build_ask(_schema().load(json.loads(json.dumps(build))))
    except (LampwrightError, ValidationError):
        return None
    found: dict[str, Any] = json.loads(json.dumps(sheet_document(build_sheet(ask))))
    return found


def random_build(chance: random.Random) -> Build:
    """Return any build at all; most of what it asks for cannot be had together."""
    build: Build = {
        "title": "Random",
        "supply": _supply(chance),
        "lights": [_lights(chance, name) for name in _NAMES[: chance.choice((1, 1, 1, 2, 2, 3, 4))]],
        "resistors": {
            "e_series": chance.choice(("E6", "E12", "E24", "E24", "E96")),
            "tolerance_pct": chance.choice((1, 2, 5, 5, 10)),
        },
        "wire": {
            "max_drop_pct": chance.choice((1, 3, 3, 5, 10)),
            "flexing": chance.random() < 0.3,
            "enclosed": chance.random() < 0.2,
            "bundled_count": chance.choice((1, 2, 2, 2, 4, 10, 20)),
            "insulation": chance.choice(("pvc_80", "pvc_80", *insulations())),
        },
        "mix_colours": chance.random() < 0.2,
        "ambient_temperature_degc": chance.choice((-20, 0, 15, 25, 25, 25, 35, 50, 70)),
        "usage": {
            "worn": chance.random() < 0.3,
            "duty_pct": chance.choice((100, 100, 50, 10)),
            "hours_wanted_h": chance.choice((1, 4, 8, 24)),
        },
    }
    if chance.random() < 0.15:
        gauges = list(wire_sizes())
        build["wire"]["on_hand_awg"] = chance.sample(gauges, chance.randint(1, 4))
    if chance.random() < 0.1:
        build["resistors"]["on_hand_ohm"] = [
            chance.choice((47, 100, 150, 220, 330, 470, 680, 1000, 2200))
        ] * 2
    if chance.random() < 0.2:
        build["fuse"] = {"rated_current_ma": chance.choice((0, 200, 500, 1000, 2000, 5000))}
    return build


def _supply(chance: random.Random) -> Any:
    kind = chance.random()
    if kind < 0.45:
        battery = chance.choice(tuple(battery_types()))
        most = (
            1
            if battery == "power_bank_5v"
            else max(1, int(14 / figures_of(battery)["nominal_voltage"].value))
        )
        supply: Build = {
            "battery": battery,
            "cells_in_series": chance.randint(1, most),
            "packs_in_parallel": chance.choice((1, 1, 1, 2)),
        }
        if chance.random() < 0.1:
            supply["capacity_mah"] = round(figures_of(battery)["capacity"].value * chance.uniform(500, 1500))
        return supply
    if kind < 0.6:
        return chance.choice(tuple(supply_types()))
    volts = chance.choice((3, 3.3, 5, 5, 6, 9, 12, 12, 15, 24, 36, 48, chance.uniform(2, 59)))
    supply = {"supply_voltage_v": volts}
    if chance.random() < 0.6:
        supply["supply_voltage_min_v"] = volts * chance.uniform(0.85, 1)
        supply["supply_voltage_max_v"] = min(60, volts * chance.uniform(1, 1.15))
    if chance.random() < 0.5:
        supply["current_limit_ma"] = chance.choice((100, 300, 500, 1000, 2000, 5000, 20000))
    if chance.random() < 0.3:
        supply["source_resistance_ohm"] = 10 ** chance.uniform(-2, 1)
    return supply


def _lights(chance: random.Random, name: str) -> Build:
    light: Build = {"name": name, "led": _led(chance), "count": int(10 ** chance.uniform(0, 1.8))}
    if chance.random() < 0.7:
        light["forward_current_ma"] = round(10 ** chance.uniform(0, 1.5), 2)
    if chance.random() < 0.8:
        light["run_length_m"] = round(10 ** chance.uniform(-1, 1.2), 2)
    if chance.random() < 0.1:
        light["dim_to_pct"] = chance.choice((10, 30, 60))
    return light


def _led(chance: random.Random) -> Any:
    if chance.random() < 0.8:
        return chance.choice(tuple(led_types()))
    forward, rated = round(chance.uniform(1.5, 3.6), 2), chance.choice((2, 10, 20, 20, 30, 150))
    led: Build = {"forward_voltage_v": forward, "rated_current_ma": rated}
    if chance.random() < 0.4:
        led["forward_voltage_min_v"] = round(forward - chance.uniform(0.05, 0.3), 2)
        led["forward_voltage_max_v"] = round(forward + chance.uniform(0.05, 0.5), 2)
    if chance.random() < 0.4:
        led["max_forward_current_ma"] = round(rated * chance.uniform(1, 2), 2)
    if chance.random() < 0.4:
        led["colour"] = chance.choice(("red", "green", "white", "blue", "yellow"))
    return led


# Supplies with the volts a light may need on them: lowest volts less a third for the resistor.
_GOOD_SUPPLIES: tuple[tuple[Any, float, float], ...] = (
    ({"battery": "alkaline_aa", "cells_in_series": 4}, 2.6, 250),
    ({"battery": "alkaline_aaa", "cells_in_series": 4}, 2.6, 100),
    ({"battery": "alkaline_d", "cells_in_series": 3}, 2.2, 400),
    ({"battery": "nimh_aa", "cells_in_series": 6}, 3.9, 400),
    ({"battery": "lead_acid_12v"}, 3.6, 800),
    ({"battery": "lipo_2s"}, 3.6, 600),
    ("adapter_5v", 3.6, 600),
    ("adapter_12v", 3.6, 600),
    ("adapter_24v", 3.6, 600),
    ("usb_charger_5v", 3.6, 300),
    ({"supply_voltage_v": 12, "supply_voltage_min_v": 11.4, "supply_voltage_max_v": 12.6,
      "current_limit_ma": 2000}, 3.6, 800),
    ({"supply_voltage_v": 9, "current_limit_ma": 1000}, 3.6, 400),
)  # fmt: skip
_GOOD_LEDS = (
    ("red_5mm", 2.0), ("orange_5mm", 2.2), ("amber_5mm", 2.1), ("yellow_5mm", 2.1), ("yellow_green_5mm", 2.2),
    ("green_5mm", 3.2), ("blue_5mm", 3.4), ("white_5mm", 3.2), ("warm_white_5mm", 3.0), ("red_3mm", 2.0),
    ("warm_white_3mm", 3.0),
)  # fmt: skip


def good_build(chance: random.Random) -> Build:
    """Return a build any experienced maker would call plain and good."""
    supply, most_volts, most_current = chance.choice(_GOOD_SUPPLIES)
    kinds = [part for part, volts in _GOOD_LEDS if volts <= most_volts]
    left = most_current
    lights: list[Build] = []
    for name in _NAMES[: chance.randint(1, 3)]:
        wanted = chance.choice((3, 5, 8, 10, 12))
        # Every light alone on its resistor is the thirstiest way: that many the supply bears.
        count = min(chance.randint(1, 20), int(left / wanted / 2))
        if count < 1:
            continue
        left -= count * wanted
        lights.append(
            {
                "name": name,
                "led": chance.choice(kinds),
                "count": count,
                "forward_current_ma": wanted,
                "run_length_m": round(chance.uniform(0.2, 2.0), 2),
            }
        )
    return {
        "title": "Good",
        "supply": supply,
        "lights": lights,
        "wire": {"flexing": chance.random() < 0.3, "max_drop_pct": chance.choice((3, 5))},
        "ambient_temperature_degc": chance.choice((15, 20, 25, 30)),
    }
