"""Asks and answers about runtime and the choice of a supply."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.circuits import LightGroup, StringAsk
from lampwright.planner.models.parts import Supply
from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class RuntimeAsk:
    """How long: exactly one of the three loads or ``strings`` is given. Times in s."""

    supply: Supply
    load_current: float | None = None
    load_power: float | None = None
    load_resistance: float | None = None
    strings: tuple[StringAsk, ...] = ()
    duty: float = 1.0
    hours_per_day: float = 86400.0
    stop_at_brightness: float = 0.5
    stop_at: float | None = None
    wake_current: float | None = None
    converter: str | None = None
    converter_voltage: float | None = None
    converter_efficiency: float | None = None
    hours_wanted: float | None = None
    air_travel: bool = False
    age_years: float = 0.0
    start_clock: str | None = None
    ambient_temperature: float = 25.0
    dropout_voltage: float | None = None


@dataclass(frozen=True, slots=True)
class Curve:
    """Equal arrays over time in use; ``brightness`` is None for a plain load."""

    time: tuple[float, ...]
    voltage: tuple[float, ...]
    current: tuple[float, ...]
    brightness: tuple[float, ...] | None


@quickly_made
@dataclass(frozen=True, slots=True)
class RuntimeFigures:
    """Hours and why they end; used for the answer and for what another supply would give.

    ``brightness`` is the light at nominal voltage over that on the supply asked about; None of a plain load.
    """

    battery: str
    cells_in_series: int
    packs_in_parallel: int
    runtime: float | None
    runtime_low: float | None
    runtime_high: float | None
    ended_by: str | None
    mass: float | None
    sets_needed: int | None
    start_voltage: float | None = None
    start_current: float | None = None
    energy: float | None = None
    brightness: float | None = None


@dataclass(frozen=True, slots=True)
class RuntimeAnswer(RuntimeFigures):
    """The answer, with the fade over time. ``swap_times`` are times in use at which to swap.

    ``curve`` ends with the runtime; ``curve_after`` is how rows of lights fade on until they are dark.
    """

    runtime_to_cutoff: float | None = None
    runtime_to_dark: float | None = None
    curve: Curve | None = None
    swap_times: tuple[float, ...] = ()
    swap_clock: tuple[str, ...] = ()
    simple_division: float | None = None
    alternatives: tuple[RuntimeFigures, ...] = ()
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
    curve_after: Curve | None = None


@dataclass(frozen=True, slots=True)
class SupplyChoiceAsk:
    """Which supply for these lights (or this load) and these hours."""

    hours_wanted: float
    lights: tuple[LightGroup, ...] = ()
    load_current: float | None = None
    supply_voltage: float | None = None
    duty: float = 1.0
    mass_limit: float | None = None
    air_travel: bool = False
    ambient_temperature: float = 25.0


@dataclass(frozen=True, slots=True)
class SupplyChoice:
    """One supply that does it, and why it is among the three."""

    why: str
    battery: str
    name: str
    cells_in_series: int
    packs_in_parallel: int
    mass: float
    runtime: float
    runtime_low: float
    runtime_high: float
    sets_needed: int
    cell_count: int
    travel_note: str
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class SupplyChoiceAnswer:
    """Three choices side by side."""

    choices: tuple[SupplyChoice, ...]
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
