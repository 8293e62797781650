"""Batteries: what they are, their figures one by one, and the parameters of the discharge model.

Figures are those of the battery as sold: one cell, or a whole block (a 9 V block of six cells) or pack.
Model parameters are per cell; ``battery_types.csv`` says which model a battery uses and how many cells
are inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.errors import UnknownPartError
from lampwright.tables.loader import by_part, load


@dataclass(frozen=True, slots=True)
class BatteryType:
    """One battery: its names, its chemistry, its discharge model and the cells inside."""

    battery: str
    name: str
    chemistry: str
    model: str
    cells: int
    form: str
    rechargeable: bool
    protection: str
    designation: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class BatteryFigure:
    """One figure of one battery, with its spread over makers or over life where known."""

    battery: str
    quantity: str
    value: float
    low: float | None
    high: float | None
    unit: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class ModelParameter:
    """One parameter of a discharge model; ``U(z)`` are knots of the voltage table, V a cell."""

    model: str
    parameter: str
    value: float
    unit: str
    source: str
    locator: str
    status: str


@cache
def battery_types() -> dict[str, BatteryType]:
    """Return every battery by its id, in the order of the table."""
    return {row.battery: row for row in load("battery_types.csv", BatteryType)}


@cache
def battery_figures() -> dict[str, dict[str, BatteryFigure]]:
    """Return the figures of every battery: by battery id, then by quantity."""
    return by_part(load("batteries.csv", BatteryFigure), "battery", "quantity")


@cache
def model_parameters() -> dict[str, dict[str, ModelParameter]]:
    """Return the parameters of every discharge model: by model, then by parameter."""
    return by_part(load("battery_models.csv", ModelParameter), "model", "parameter")


def battery_type(battery: str) -> BatteryType:
    """Return one battery.

    Raises
    ------
    UnknownPartError
        If no battery has this id.
    """
    types = battery_types()
    if battery not in types:
        raise UnknownPartError("battery", battery, tuple(types))
    return types[battery]


def figures_of(battery: str) -> dict[str, BatteryFigure]:
    """Return the figures of one battery by quantity."""
    return battery_figures()[battery_type(battery).battery]
