"""Ways to join wires, the sleeves that cover a joint, and how a supply gives its two leads."""

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


@dataclass(frozen=True, slots=True)
class SupplyLeadRow:
    """How a kind of supply is joined: the part to buy, and what one does to switch it on and off.

    ``lead`` is a form of battery or a kind of supply; ``apart``: it pulls apart by itself; ``each``: every
    battery of a pack has such a lead of its own. ``mark`` says where to write what belongs there.
    """

    lead: str
    item: str
    value: str
    apart: bool
    each: bool
    on: str
    off: str
    mark: str
    source: str
    locator: str
    status: str


@cache
def supply_leads() -> dict[str, SupplyLeadRow]:
    """Return how each kind of supply is joined, by its id."""
    return {row.lead: row for row in load("supply_leads.csv", SupplyLeadRow)}
