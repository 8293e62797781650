"""Kinds of lights, colour families and colours: the figures a maker rarely has at hand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class LedType:
    """One kind of light. Empty figures are filled from its family; ``assumed`` names those not printed.

    Voltages are per LED at ``rated_current`` and ``reference_temperature``. [V, A, °C, Ω, V/K]
    """

    id: str
    name: str
    colour: str
    forward_voltage_min: float | None
    forward_voltage: float
    forward_voltage_max: float | None
    rated_current: float
    max_forward_current: float
    max_reverse_voltage: float
    temperature_coefficient: float | None
    reference_temperature: float
    ideality: float | None
    series_resistance: float | None
    built_in_series_count: int
    built_in_resistance_low: float | None
    built_in_resistance: float | None
    built_in_resistance_high: float | None
    rated_voltage_min: float | None
    rated_voltage: float | None
    rated_voltage_max: float | None
    assumed: tuple[str, ...]
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class LedFamily:
    """How the curve of a colour family is shaped, and how far its parts spread. [V, V/K].

    ``series_voltage`` is what the LED's own series resistance takes at the rated current.
    """

    id: str
    name: str
    ideality: float
    series_voltage: float
    spread: float
    temperature_coefficient: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class LedColour:
    """A colour, its family, and the forward voltage to expect at an ordinary 20 mA. [V]."""

    id: str
    name: str
    family: str
    forward_voltage_min: float
    forward_voltage: float
    forward_voltage_max: float
    source: str
    locator: str
    status: str


@cache
def led_types() -> dict[str, LedType]:
    """Return every kind of light by its id."""
    return {row.id: row for row in load("led_types.csv", LedType)}


def colours() -> tuple[str, ...]:
    """Return the words a colour may be."""
    return tuple(led_colours())


@cache
def led_families() -> dict[str, LedFamily]:
    """Return every colour family by its id."""
    return {row.id: row for row in load("led_families.csv", LedFamily)}


@cache
def led_colours() -> dict[str, LedColour]:
    """Return every colour by its id."""
    return {row.id: row for row in load("led_colours.csv", LedColour)}
