"""The words and part ids a request may use, read from the tables when first needed."""

from __future__ import annotations

from functools import cache

from lampwright.tables.batteries import battery_types
from lampwright.tables.supplies import supply_types


@cache
def batteries() -> tuple[str, ...]:
    """Return every battery id."""
    return tuple(battery_types())


@cache
def supplies() -> tuple[str, ...]:
    """Return every id that names a supply: adapters and ports, and batteries, too."""
    return (*supply_types(), *battery_types())


@cache
def leds() -> tuple[str, ...]:
    """Return every light's id."""
    from lampwright.tables.leds import led_types

    return tuple(led_types())


@cache
def colours() -> tuple[str, ...]:
    """Return every colour a light may have."""
    from lampwright.tables.leds import colours as known

    return tuple(known())


@cache
def insulations() -> tuple[str, ...]:
    """Return every kind of wire insulation."""
    from lampwright.tables.wires import insulations as known

    return tuple(known())


@cache
def ampacity_rules() -> tuple[str, ...]:
    """Return every published rule for what a wire carries, the careful default first."""
    from lampwright.tables.wires import ampacity_rules as known

    return tuple(known())


def cores() -> tuple[str, ...]:
    """Return what a wire may be made of inside."""
    return ("solid", "stranded", "tinned")


@cache
def fuse_styles() -> tuple[str, ...]:
    """Return every style of fuse."""
    from lampwright.tables.fuses import styles as known

    return tuple(known())
