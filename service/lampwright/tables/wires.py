"""Wire facts: sizes, insulation, and what published rules let a wire carry.

Published currents for one size differ by up to seven times, because they assume different surroundings.
Each rule stands here under its own name with what it assumes; the planner starts from the careful one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from lampwright.errors import UnknownPartError
from lampwright.tables.loader import load

DEFAULT_RULE = "bundled"


@dataclass(frozen=True, slots=True)
class WireSize:
    """One wire gauge; ``usual`` ones are those we choose from. Diameter of the copper in mm."""

    awg: int
    diameter: float
    conductor_area: float
    usual: bool
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class MetricSize:
    """One metric conductor: largest resistance allowed at 20 °C in Ω/km, by kind of core."""

    conductor_area: float
    solid: float
    stranded: float
    tinned: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class AmpacityRow:
    """What one rule lets one size carry, in A; the size is a gauge or an area."""

    rule: str
    awg: int | None
    conductor_area: float | None
    amps: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class AmpacityRule:
    """One published rule and what it assumes; ``bundle`` names its bundle curve, or none."""

    rule: str
    name: str
    condition: str
    conductor_temperature: float
    ambient_temperature: float
    bundle: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class BundleFactor:
    """Factor on the current of each wire of a bundle."""

    curve: str
    bundled_count: int
    factor: float
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class Insulation:
    """One kind of insulation: hottest it stands, whether it is soft enough to flex for years.

    ``printed_factor`` is what the default rule prints for it at 70 °C, where it prints one.
    """

    insulation: str
    name: str
    temperature: float
    soft: bool
    printed_factor: float | None
    source: str
    locator: str
    status: str


@cache
def wire_sizes() -> dict[int, WireSize]:
    """Return every gauge, thinnest first."""
    return {row.awg: row for row in load("wire_sizes.csv", WireSize)}


@cache
def metric_sizes() -> tuple[MetricSize, ...]:
    """Return every metric conductor, thinnest first."""
    return load("metric_sizes.csv", MetricSize)


@cache
def insulations() -> dict[str, Insulation]:
    """Return every kind of insulation by its id."""
    return {row.insulation: row for row in load("insulation.csv", Insulation)}


@cache
def ampacity_rules() -> dict[str, AmpacityRule]:
    """Return every published rule by its id, the default first."""
    return {row.rule: row for row in load("ampacity_rules.csv", AmpacityRule)}


@cache
def ampacity_rows() -> tuple[AmpacityRow, ...]:
    """Return every published current, as listed."""
    return load("ampacity.csv", AmpacityRow)


@cache
def rated_currents(rule: str) -> tuple[tuple[float, float], ...]:
    """Return (area, amperes) of one rule, thinnest first.

    >>> [amps for area, amps in rated_currents("bundled") if 0.32 < area < 0.33]
    [4.5]
    """
    rows = [row for row in ampacity_rows() if row.rule == rule]
    if not rows:
        raise UnknownPartError("rule of wire current", rule, tuple(ampacity_rules()))
    return tuple(sorted((_area(row), row.amps) for row in rows))


def _area(row: AmpacityRow) -> float:
    if row.conductor_area is not None:
        return row.conductor_area
    if row.awg is None:
        raise UnknownPartError("wire size", f"{row.rule}: neither gauge nor area")
    return wire_sizes()[row.awg].conductor_area


@cache
def bundle_curve(curve: str) -> dict[int, float]:
    """Return the factors of one curve by number of wires; no wires for the curve ``none``."""
    return {
        row.bundled_count: row.factor
        for row in load("bundle_factors.csv", BundleFactor)
        if row.curve == curve
    }


@lru_cache(maxsize=1024)
def bundle_factor(curve: str, bundled_count: int) -> float:
    """Return the factor for a number of wires: of the nearest listed number that is not smaller.

    >>> bundle_factor("mil_975m", 15), bundle_factor("mil_5088l", 11), bundle_factor("none", 40)
    (0.5, 0.43, 1.0)
    """
    points = bundle_curve(curve)
    if not points:
        return 1.0
    fitting = [count for count in points if count >= bundled_count]
    return points[min(fitting) if fitting else max(points)]


def insulation_named(insulation: str) -> Insulation:
    """Return one kind of insulation.

    Raises
    ------
    UnknownPartError
        If there is none of this id.
    """
    known = insulations()
    if insulation not in known:
        raise UnknownPartError("insulation", insulation, tuple(known))
    return known[insulation]


def rule_named(rule: str) -> AmpacityRule:
    """Return one published rule.

    Raises
    ------
    UnknownPartError
        If there is none of this id.
    """
    known = ampacity_rules()
    if rule not in known:
        raise UnknownPartError("rule of wire current", rule, tuple(known))
    return known[rule]


def wire_size(awg: int) -> WireSize:
    """Return one gauge.

    Raises
    ------
    UnknownPartError
        If the gauge is not one of those sold for this work.
    """
    known = wire_sizes()
    if awg not in known:
        raise UnknownPartError("wire gauge", str(awg), tuple(str(each) for each in known))
    return known[awg]


@lru_cache(maxsize=1024)
def next_metric(conductor_area: float) -> float | None:
    """Return the thinnest metric size that is no thinner, None beyond the thickest.

    >>> next_metric(0.3255), next_metric(5.26)
    (0.34, 6.0)
    """
    # A hair of rounding must not ask for the next size.
    fitting = [
        row.conductor_area for row in metric_sizes() if row.conductor_area >= conductor_area * (1 - 1e-6)
    ]
    return min(fitting) if fitting else None


@lru_cache(maxsize=1024)
def next_thinner_awg(conductor_area: float) -> int | None:
    """Return the thickest gauge that is no thicker than an area, None below the thinnest.

    >>> next_thinner_awg(0.5), next_thinner_awg(0.34)
    (21, 22)
    """
    fitting = [row.awg for row in wire_sizes().values() if row.conductor_area <= conductor_area * (1 + 1e-6)]
    return min(fitting) if fitting else None
