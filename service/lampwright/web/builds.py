"""The example builds, and a build read from a form sent without a script."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

#: In the order the page offers them; the first is what the page opens with.
EXAMPLES = ("observatory_diorama", "moth_wings", "miners_lamp")
_LISTS = ("on_hand_ohm", "on_hand_awg")
_COUNTS = ("count", "cells_in_series", "packs_in_parallel", "bundled_count")
_TICKS = ("flexing", "enclosed", "worn", "air_travel", "mix_colours")
_OF_BATTERIES = ("cells_in_series", "packs_in_parallel", "capacity_mah")
_OF_ADAPTERS = ("supply_voltage_v", "supply_voltage_min_v", "source_resistance_ohm", "current_limit_ma")
_WORDS = ("title", "name", "led", "colour", "battery", "e_series", "insulation", "start_clock", "style")
_GROUPS = ("supply", "lights", "resistors", "wire", "fuse", "usage")
_SYMBOLS = {
    "ma": "mA",
    "v": "V",
    "m": "m",
    "w": "W",
    "h": "h",
    "ohm": "Ω",
    "mah": "mAh",
    "pct": "%",
    "degc": "°C",
}


@cache
def examples_folder() -> Path:
    """Return where the examples are: in the installed package, else beside it in the checkout."""
    package = Path(str(resources.files("lampwright")))
    installed = package / "examples"
    return installed if installed.is_dir() else package.parents[1] / "examples"


@cache
def example_text(name: str) -> bytes:
    """Return an example as it stands in its file."""
    return (examples_folder() / f"{name}.json").read_bytes()


def example(name: str) -> dict[str, Any]:
    """Return an example build; a new one each time, free to be changed."""
    build: dict[str, Any] = json.loads(example_text(name))
    return build


def _value(stem: str, typed: str) -> object:
    """Return what was typed as the service takes it: a number, a text with a unit, a list, a tick."""
    if stem in _TICKS:
        return True
    if stem in _WORDS:
        return typed
    if stem in _LISTS:
        return [_value("", one) for one in re.split(r"[;\s]+|,\s+", typed) if one]
    if re.fullmatch(r"\d{1,9}", typed) and (stem in _COUNTS or stem == ""):
        return int(typed)
    if re.fullmatch(r"[+-]?(\d{1,30}\.?\d{0,30}|\.\d{1,30})", typed):
        return float(typed)
    symbol = _SYMBOLS.get(stem.rsplit("_", 1)[-1], "")
    return f"{typed} {symbol}" if symbol and re.fullmatch(r"[+-]?\d+,\d+", typed) else typed


def shown_fields(fields: dict[str, list[str]]) -> dict[str, str]:
    """Return one value of each field; of a name that adapter and battery both have, the one that counts."""
    place = 0 if fields.get("power") == ["adapter"] else -1
    return {name: values[place] for name, values in fields.items()}


def build_from_form(fields: dict[str, str]) -> dict[str, Any]:
    """Return the build that a form's fields stand for; names are paths such as ``lights.0.count``."""
    build: dict[str, Any] = {}
    lights: dict[int, dict[str, Any]] = {}
    power = fields.get("power", "")
    for name, text in fields.items():
        typed = text.strip()
        steps = name.split(".")
        if not typed or name in ("power", *_GROUPS) or len(steps) > 4:
            continue
        if steps[0] == "supply" and steps[-1] in (_OF_BATTERIES if power == "adapter" else _OF_ADAPTERS):
            continue
        target = build
        if steps[0] == "lights" and len(steps) > 2 and re.fullmatch(r"\d{1,3}", steps[1]):
            target, steps = lights.setdefault(int(steps[1]), {}), steps[2:]
        if steps == ["led"] and typed == "own":
            target["led"] = {}
            continue
        for step in steps[:-1]:
            inner = target.setdefault(step, {})
            if not isinstance(inner, dict):
                break
            target = inner
        else:
            target[steps[-1]] = _value(steps[-1], typed)
    build.setdefault("supply", {})
    if power.startswith("part:"):
        build["supply"] = power.removeprefix("part:")
    elif power and power != "adapter":
        build["supply"]["battery"] = power
    build["lights"] = [lights[index] for index in sorted(lights)]
    for number, light in enumerate(build["lights"], 1):
        light.setdefault("name", f"Light {number}")
    build.setdefault("title", "A build without a name")
    return build
