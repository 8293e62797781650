"""A live example beside a worked one: the component of the service, set to the same case where it can be.

Without a service, or opened from a folder, what stands in the page says what is needed. ``guide.js``
loads the component once a reader gets to it.
"""

from __future__ import annotations

import html
from collections.abc import Mapping
from typing import Any

from guide import engine
from lampwright.planner.supplies import supply_from_battery

# As in the component: what its lists hold.
_LEDS = ("red", "orange", "amber", "yellow", "green", "blue", "white", "warm_white")
_CELLS = (
    "alkaline_aaa",
    "alkaline_aa",
    "alkaline_9v",
    "nimh_aa",
    "lithium_coin_cr2032",
    "liion_18650",
    "lead_acid_12v",
    "power_bank_5v",
)
_NEEDS = (
    "This part is live: change a figure and the answer changes. It needs the service. "
    "Start that with <code>sh service/start</code> and open this page at the address it prints."
)


def element(kind: str, **attributes: object) -> str:
    """Return the place of a live example, with the words that stand there without a service."""
    given = "".join(
        f' data-{name}="{html.escape(str(value))}"'
        for name, value in attributes.items()
        if value not in (None, "")
    )
    return (
        f'<details class="live" data-search-exclude data-kind="{kind}"{given}>'
        f"<summary>Try it with your own figures</summary><p>{_NEEDS}</p></details>"
    )


def _volts(ask: Mapping[str, Any]) -> float | None:
    """Return the volts a supply is usually called by."""
    if "battery" in ask:
        supply = supply_from_battery(ask["battery"], ask.get("cells_in_series", 1))
        return round(supply.supply_voltage, 1)
    return ask.get("supply_voltage_v")


def _led(ask: Mapping[str, Any]) -> str | None:
    """Return the light as the component names it; of one described by its figures, its colour."""
    led = ask.get("led")
    if isinstance(led, dict):
        led = f"{led.get('colour')}_5mm"
    return led if led in {f"{colour}_5mm" for colour in _LEDS} else None


def _build(ask: Mapping[str, Any]) -> dict[str, Any]:
    """Return the attributes of a small build like the one asked about."""
    if "before" in ask:
        return _build(ask["before"])
    if "build" in ask:
        return _build(ask["build"])
    supply = ask.get("supply") if isinstance(ask.get("supply"), dict) else ask
    lights = ask.get("lights") or ask.get("strings") or [ask]
    first = lights[0]
    current = first.get("forward_current_ma")
    flowing = ask.get("current_ma") or ask.get("load_current_ma")
    battery = supply.get("battery")
    return {
        "led": _led(first),
        # A load given as a current: so many lights at 10 mA each.
        "lights": max(1, round(flowing / 10)) if flowing else first.get("count", 1),
        "current": current or (10 if flowing else None),
        "battery": battery if battery in _CELLS else None,
        "cells": supply.get("cells_in_series", 1) if battery else None,
        "volts": supply.get("supply_voltage_v") or ask.get("rated_voltage_v"),
        "run": first.get("run_length_m") or ask.get("run_length_m"),
        "hours": ask.get("hours_wanted_h") or ask.get("usage", {}).get("hours_wanted_h"),
    }


def beside(name: str) -> str:
    """Return the live example that goes with a worked one."""
    asked = engine.example(name)
    ask = asked["request"]
    if asked["path"] == "/v1/series-resistors":
        return element(
            "resistor",
            volts=_volts(ask),
            led=_led(ask),
            count=ask.get("series_count", 1),
            current=ask.get("forward_current_ma"),
        )
    if asked["path"] == "/v1/circuit-checks":
        row = ask["strings"][0]
        return element(
            "survives",
            volts=_volts(ask),
            led=_led(row),
            count=row.get("series_count", 1),
            ohms=row.get("resistance_ohm", 0),
            rows=row.get("branch_count", 1),
        )
    return element("build", **_build(ask))
