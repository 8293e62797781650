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
