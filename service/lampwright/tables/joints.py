"""Ways to join wires, and the sleeves that cover a joint."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.errors import UnknownPartError
from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class ConnectorRow:
    """One way to join: gauges and number of wires it takes, strip length in mm, what it stands."""

    method: str
    name: str
    thinnest_awg: int
    thickest_awg: int
    least_wires: int
    most_wires: int
    strip_length: float
    sleeved: bool
    stands_moving: bool
    comes_apart: bool
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class SleeveRow:
    """One sleeve: inner diameter before and after shrinking, in mm."""

    size: str
    before: float
    after: float
    source: str
    locator: str
    status: str


@cache
def connector_rows() -> dict[str, ConnectorRow]:
    """Return every way to join, by its id."""
    return {row.method: row for row in load("connectors.csv", ConnectorRow)}


def connector(method: str) -> ConnectorRow:
    """Return one way to join.

    Raises
    ------
    UnknownPartError
        If there is none of this id.
    """
    rows = connector_rows()
    if method not in rows:
        raise UnknownPartError("way to join", method, tuple(rows))
    return rows[method]


@cache
def sleeve_rows() -> tuple[SleeveRow, ...]:
    """Return every sleeve, thinnest first."""
    return load("sleeves.csv", SleeveRow)
