"""Supplies that are no batteries: USB, plug-in adapters, a vehicle's socket; one row per figure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.tables.loader import by_part, load


@dataclass(frozen=True, slots=True)
class SupplyType:
    """One supply part: its name and kind."""

    part: str
    name: str
    kind: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class SupplyFigure:
    """One figure of one supply part."""

    part: str
    quantity: str
    value: float
    unit: str
    source: str
    locator: str
    status: str


@cache
def supply_types() -> dict[str, SupplyType]:
    """Return every supply part by its id, in the order of the table."""
    return {row.part: row for row in load("supply_types.csv", SupplyType)}


@cache
def supply_figures() -> dict[str, dict[str, SupplyFigure]]:
    """Return the figures of every supply part: by part id, then by quantity."""
    return by_part(load("supplies.csv", SupplyFigure), "part", "quantity")
