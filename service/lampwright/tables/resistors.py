"""Resistor facts: series of preferred values, and the sizes they are sold in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.errors import UnknownPartError
from lampwright.tables.loader import load

E_SERIES = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")

# Decades a ladder spans: 0.1 Ω to 10 MΩ.
_FIRST_DECADE, _LAST_DECADE = -1, 6


@dataclass(frozen=True, slots=True)
class PreferredRow:
    """One preferred value between 1 and 10."""

    series: str
    value: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class ResistorSize:
    """One size of leaded resistor; ``usual`` sizes are the ones we choose from. Body in mm."""

    id: str
    name: str
    rated_dissipation: float
    full_power_temperature: float
    zero_power_temperature: float
    max_voltage: float | None
    body_length: float | None
    body_diameter: float | None
    thermal_resistance: float | None
    film: str
    usual: bool
    source: str
    locator: str
    status: str


@cache
def preferred_rows() -> tuple[PreferredRow, ...]:
    """Return every preferred value of every series, as listed."""
    return load("e_series.csv", PreferredRow)


@cache
def decade(series: str) -> tuple[float, ...]:
    """Return the values of one series from 1 to below 10.

    >>> decade("E6")
    (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    """
    values = tuple(row.value for row in preferred_rows() if row.series == series)
    if not values:
        raise UnknownPartError("series of preferred values", series, E_SERIES)
    return values


@cache
def ladder(series: str) -> tuple[float, ...]:
    """Return the values of one series from 0.1 Ω to 10 MΩ, sorted, each the nearest double.

    >>> ladder("E12")[:3], ladder("E12")[-1]
    ((0.1, 0.12, 0.15), 10000000.0)
    """
    values = decade(series)
    steps = range(_FIRST_DECADE, _LAST_DECADE + 1)
    # Through text: 4.7 × 1000 in binary is not 4700.
    return (*(float(f"{value}e{step}") for step in steps for value in values), 10.0 ** (_LAST_DECADE + 1))


@cache
def resistor_sizes() -> tuple[ResistorSize, ...]:
    """Return every size of leaded resistor in the table."""
    return load("resistor_sizes.csv", ResistorSize)


@cache
def usual_ratings() -> tuple[float, ...]:
    """Return the power ratings we choose from, smallest first.

    >>> usual_ratings()
    (0.25, 0.5, 1.0, 2.0, 3.0)
    """
    return tuple(sorted(size.rated_dissipation for size in resistor_sizes() if size.usual))
