"""Ask and answer about a log: readings of a finished build, and the part values they tell."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.diagnosis import Reading


@dataclass(frozen=True, slots=True)
class LogFitAsk:
    """A build, and what the meter said at the sheet's test points with every light lit."""

    build: BuildAsk
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class FittedLight:
    """One light: its forward voltage at its rated current, and whether the readings tell it.

    ``known`` is yes, partly or no; ``expected`` is what was planned with.
    """

    light: str
    forward_voltage: float
    forward_voltage_low: float
    forward_voltage_high: float
    forward_voltage_expected: float
    known: str


@dataclass(frozen=True, slots=True)
class FittedRow:
    """One row, or each of rows alike: its current at the bench, its resistor, its lights."""

    row: str
    current: float
    current_low: float
    current_high: float
    current_expected: float
    current_known: str
    resistance: float | None
    resistance_low: float | None
    resistance_high: float | None
    resistance_expected: float | None
    resistance_known: str
    lights: tuple[FittedLight, ...]


@dataclass(frozen=True, slots=True)
class FittedSupply:
    """The supply at the bench: its voltage with nothing on it, and what is behind it."""

    supply_voltage: float
    supply_voltage_low: float
    supply_voltage_high: float
    supply_voltage_expected: float
    supply_voltage_known: str
    source_resistance: float
    source_resistance_expected: float
    source_resistance_known: str


@dataclass(frozen=True, slots=True)
class LogReading:
    """One reading beside what was planned and what the fitted parts make; ``used`` False: left out."""

    check: str
    voltage: float | None
    voltage_expected: float | None
    voltage_fitted: float | None
    current: float | None
    current_expected: float | None
    current_fitted: float | None
    used: bool


@dataclass(frozen=True, slots=True)
class LogFitAnswer:
    """Part values, currents and hours as the log tells them.

    ``effects`` says in words what moves, ``not_told`` which values the readings say nothing new about.
    """

    supply: FittedSupply | None
    rows: tuple[FittedRow, ...]
    supply_current: float | None
    supply_current_low: float | None
    supply_current_high: float | None
    supply_current_expected: float | None
    runtime: float | None
    runtime_low: float | None
    runtime_high: float | None
    runtime_expected: float | None
    effects: tuple[str, ...]
    not_told: tuple[str, ...]
    readings: tuple[LogReading, ...]
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
