"""Members that several asks have: bounds and defaults, each in one place."""

from __future__ import annotations

from typing import Any

from lampwright.contract import words
from lampwright.contract.fields import ABOVE_60, HIGHEST_VOLTS, Count, Quantity, Word

LED_AMPS = "for a light that needs more, use a driver made for it"


#: What nearly every table is printed for. [°C]
ROOM = 25.0


def volts(**settings: Any) -> Quantity:
    """Return volts of a supply."""
    return Quantity("v", 0.5, HIGHEST_VOLTS, why_high=ABOVE_60, **settings)


def led_current(**settings: Any) -> Quantity:
    """Return a current through lights."""
    return Quantity("ma", 0.1, 5000, why_high=LED_AMPS, **settings)


def load_current(**settings: Any) -> Quantity:
    """Return a current of a load."""
    return Quantity("ma", 0.01, 50_000, **settings)


def ohms(low: float = 0, **settings: Any) -> Quantity:
    """Return a resistance."""
    return Quantity("ohm", low, 100_000_000, **settings)


def share(low: float, high: float, **settings: Any) -> Quantity:
    """Return a part of a whole."""
    return Quantity("pct", low, high, **settings)


def metres(**settings: Any) -> Quantity:
    """Return a length that may be nothing."""
    return Quantity("m", 0, 500, **settings)


def run_length(**settings: Any) -> Quantity:
    """Return a length of wire, one way."""
    return Quantity("m", 0.01, 500, **settings)


def air(**settings: Any) -> Quantity:
    """Return the temperature of the air around."""
    return Quantity("degc", -40, 85, **settings)


def ambient() -> Quantity:
    """Return the air around, that of a room where nothing is said of it."""
    return air(load_default=ROOM)


def awg(**settings: Any) -> Count:
    """Return a gauge of wire."""
    return Count(10, 36, **settings)


def area() -> Quantity:
    """Return copper of a wire."""
    return Quantity("mm2", 0.005, 60)


def allowed_drop() -> Quantity:
    """Return the loss a wire may cause."""
    return share(0.1, 50, load_default=3.0)


def bundled() -> Count:
    """Return how many wires lie together."""
    return Count(1, 1000, load_default=2)


def insulation() -> Word:
    """Return the cover of a wire."""
    return Word(words.insulations, "insulation", load_default="pvc_80")


def ampacity_rule() -> Word:
    """Return whose figures a wire's current follows."""
    return Word(words.ampacity_rules, "rule of wire current", load_default="bundled")


def fuse_rating(**settings: Any) -> Quantity:
    """Return what is printed on a fuse; 0 for none."""
    return Quantity("ma", 0, 100_000, **settings)


def tolerance() -> Quantity:
    """Return how far a resistor may be off."""
    return share(0, 20, load_default=5.0)


def watts() -> Quantity:
    """Return what a resistor is made for."""
    return Quantity("w", 0.01, 100)


def cells(**settings: Any) -> Count:
    """Return how many cells or packs."""
    return Count(1, 10_000, **settings)


def capacity() -> Quantity:
    """Return what is printed on a battery."""
    return Quantity("mah", 1, 1_000_000)


def duty() -> Quantity:
    """Return part of the time that lights are on."""
    return share(0.1, 100, load_default=100.0)


def event(**settings: Any) -> Quantity:
    """Return hours wanted."""
    return Quantity("h", 0.01, 100_000, **settings)


def daily() -> Quantity:
    """Return hours of use in a day."""
    return Quantity("h", 0.01, 24, load_default=24.0)
