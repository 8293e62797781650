"""Fuses, resettable devices and switches as they are sold."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.errors import UnknownPartError
from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class FuseStyle:
    """One style: peaks it stands at switching on, and the multiple that surely opens it, × rating.

    ``bought`` says what to ask for in a shop, speed and holder with it.
    """

    style: str
    name: str
    bought: str
    peak_multiple: float
    sure_multiple: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class FuseRow:
    """One rating of one style; ``colour`` where the standard gives one."""

    style: str
    rated_current: float
    rated_voltage: float
    breaking_capacity: float
    cold_resistance: float | None
    colour: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class FuseTime:
    """Longest opening time [s] of a style at a multiple of its rating."""

    style: str
    multiple: float
    longest_time: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class Resettable:
    """One resettable device at 23 °C; resistances fresh (low, high) and after tripping."""

    device: str
    hold_current: float
    trip_current: float
    time_to_trip: float
    test_current: float
    rated_voltage: float
    breaking_capacity: float | None
    resistance_low: float | None
    resistance_high: float | None
    resistance_tripped: float | None
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class SwitchRow:
    """One usual kind of switch and its DC rating."""

    switch: str
    name: str
    rated_current: float
    rated_voltage: float
    source: str
    locator: str
    status: str


@cache
def styles() -> dict[str, FuseStyle]:
    """Return every style by its id."""
    return {row.style: row for row in load("fuse_styles.csv", FuseStyle)}


def style_named(style: str) -> FuseStyle:
    """Return one style.

    Raises
    ------
    UnknownPartError
        If there is none of this id.
    """
    known = styles()
    if style not in known:
        raise UnknownPartError("style of fuse", style, tuple(known))
    return known[style]


@cache
def fuse_rows() -> tuple[FuseRow, ...]:
    """Return every fuse, as listed."""
    return load("fuses.csv", FuseRow)


@cache
def fuses_of(style: str) -> tuple[FuseRow, ...]:
    """Return the fuses of one style, smallest first."""
    return tuple(
        sorted((row for row in fuse_rows() if row.style == style), key=lambda row: row.rated_current)
    )


@cache
def opening_times(style: str) -> tuple[tuple[float, float], ...]:
    """Return (multiple, longest time) of one style, smallest multiple first."""
    return tuple(
        sorted(
            (row.multiple, row.longest_time) for row in load("fuse_times.csv", FuseTime) if row.style == style
        )
    )


@cache
def resettables() -> tuple[Resettable, ...]:
    """Return every resettable device, smallest first."""
    return load("resettables.csv", Resettable)


@cache
def switch_rows() -> tuple[SwitchRow, ...]:
    """Return the usual kinds of switch, smallest first."""
    return load("switches.csv", SwitchRow)


def cold_resistance(row: FuseRow) -> float:
    """Return a fuse's cold resistance in Ω; between the listed ones a power law through them.

    >>> cold_resistance(fuses_of("glass_5x20")[-1])
    0.0063
    """
    return row.cold_resistance or 0.0964 * float(row.rated_current) ** -1.15
