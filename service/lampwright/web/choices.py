"""What the page offers to choose from, read from the tables of parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from lampwright.tables.batteries import battery_types
from lampwright.tables.fuses import styles
from lampwright.tables.leds import led_colours, led_types
from lampwright.tables.supplies import supply_types
from lampwright.tables.wires import insulations, wire_sizes

#: A labelled group of (value, text); a group without a label stands by itself.
Group = dict[str, object]

#: The everyday kinds, offered first.
_FIRST = (
    "red_5mm",
    "orange_5mm",
    "amber_5mm",
    "yellow_5mm",
    "green_5mm",
    "blue_5mm",
    "violet_5mm",
    "white_5mm",
    "warm_white_5mm",
)


def _group(label: str, items: Iterable[tuple[str, str]]) -> Group:
    return {"label": label, "items": list(items)}


@cache
def led_choices() -> tuple[Group, ...]:
    """Return the kinds of light, in groups, each as (id, name); last one's own."""
    rows = led_types()
    rest = [row for row in rows.values() if row.id not in _FIRST]
    return (
        _group("Everyday", ((name, rows[name].name) for name in _FIRST if name in rows)),
        _group("One that is not listed", [("own", "Another: I know its figures")]),
        _group("Other bare lights", ((row.id, row.name) for row in rest if not row.built_in_resistance)),
        _group("Pre-wired, resistor inside", ((row.id, row.name) for row in rest if row.built_in_resistance)),
    )


@cache
def power_choices() -> tuple[Group, ...]:
    """Return supplies and batteries, in groups, each as (id, name); ``part:`` marks a ready-made supply."""
    rows = battery_types().values()
    return (
        _group("", [("adapter", "Adapter, by its volts")]),
        _group("Batteries", ((row.battery, row.name) for row in rows if not row.rechargeable)),
        _group("Rechargeable", ((row.battery, row.name) for row in rows if row.rechargeable)),
        _group("Ready-made supplies", ((f"part:{row.part}", row.name) for row in supply_types().values())),
    )


@cache
def colour_choices() -> tuple[Group, ...]:
    """Return the colours of a light that is not listed, each as (id, name)."""
    known = ((row.id, row.name.capitalize()) for row in led_colours().values())
    return (_group("", [("", "not said"), *known]),)


@cache
def insulation_choices() -> tuple[Group, ...]:
    """Return what a wire may be covered with, each as (id, name)."""
    known = ((row.insulation, row.name[:1].upper() + row.name[1:]) for row in insulations().values())
    return (_group("", [("", "Not known: ordinary hook-up wire"), *known]),)


@cache
def fuse_style_choices() -> tuple[Group, ...]:
    """Return the styles of fuse, each as (id, name)."""
    known = ((row.style, row.name[:1].upper() + row.name[1:]) for row in styles().values())
    return (_group("", [("", "As it fits"), *known]),)


@cache
def wire_areas() -> str:
    """Return every gauge with its copper in mm², thickest first: what a size in mm² is looked up in."""
    rows = sorted(wire_sizes().values(), key=lambda row: row.awg)
    return " ".join(f"{row.awg}:{row.conductor_area:g}" for row in rows)


def power_of(build: Mapping[str, Any]) -> str:
    """Return which of the power choices a build's supply is."""
    supply = build["supply"]
    if isinstance(supply, str):
        return supply if supply in battery_types() else f"part:{supply}"
    return str(supply.get("battery", "adapter"))
