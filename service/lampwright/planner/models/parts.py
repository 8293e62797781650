"""Lights, batteries and supplies as the planner sees them."""

from __future__ import annotations

from dataclasses import dataclass, field

from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class Led:
    """A light: one LED, or a pre-wired one with its hidden resistor.

    Voltages are per LED at ``rated_current`` and ``reference_temperature``; a pre-wired light has
    ``built_in_series_count`` such LEDs and ``built_in_resistance`` inside its sleeve.
    ``ideality`` and ``series_resistance`` are None where the colour family decides.
    ``as_sent`` is the caller's own JSON (an id or an object), echoed untouched.
    """

    name: str
    forward_voltage: float
    forward_voltage_min: float
    forward_voltage_max: float
    rated_current: float
    max_forward_current: float
    max_reverse_voltage: float = 5.0
    ideality: float | None = None
    series_resistance: float | None = None
    reference_temperature: float = 25.0
    temperature_coefficient: float = -0.002
    colour: str = ""
    built_in_resistance: float = 0.0
    built_in_resistance_low: float = 0.0
    built_in_resistance_high: float = 0.0
    built_in_series_count: int = 1
    rated_voltage: float | None = None
    rated_voltage_min: float | None = None
    rated_voltage_max: float | None = None
    sources: tuple[str, ...] = ()
    as_sent: object = field(default=None, compare=False)

    def __hash__(self) -> int:
        """Return a hash of a few members: lights are looked up far oftener than two differ in the rest."""
        return hash((self.name, self.forward_voltage, self.rated_current, self.max_forward_current))

    @property
    def prewired(self) -> bool:
        """Whether a resistor is hidden inside."""
        return self.built_in_resistance > 0


@quickly_made
@dataclass(frozen=True, slots=True)
class Supply:
    """A supply's window: lowest, expected and highest open-circuit voltage, and what is behind it.

    For a battery the window runs from empty to fresh and ``battery`` holds its id; the pack is
    ``cells_in_series`` by ``packs_in_parallel`` of ``capacity`` [A·h] each (None: as printed).
    ``part`` is the id of a supply part such as a wall adapter, or "". ``source_resistance_low`` and
    ``source_resistance_high`` bound the source resistance over life.
    """

    supply_voltage: float
    supply_voltage_min: float
    supply_voltage_max: float
    source_resistance: float = 0.0
    source_resistance_low: float = 0.0
    source_resistance_high: float = 0.0
    current_limit: float | None = None
    short_circuit_current: float | None = None
    battery: str = ""
    cells_in_series: int = 1
    packs_in_parallel: int = 1
    capacity: float | None = None
    part: str = ""
    name: str = ""
    chemistry: str = ""
    sources: tuple[str, ...] = ()
