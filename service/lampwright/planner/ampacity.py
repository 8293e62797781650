"""What a wire carries where it lies: a published current, lowered for insulation, heat and bundle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lampwright.physics.conductors import heat_factor
from lampwright.records import quickly_made
from lampwright.tables.wires import (
    DEFAULT_RULE,
    bundle_factor,
    insulation_named,
    rated_currents,
    rule_named,
)

# The default rule thinks of a hot day in a hall or under a coat (common practice, no source).
HOT_DAY = 40.0
# Foam, fabric and glue round a wire count as this much hotter air (common practice, no source).
ENCLOSED_RISE = 20.0


@quickly_made
@dataclass(frozen=True, slots=True)
class Surroundings:
    """Where a wire lies and which rule judges it."""

    insulation: str = "pvc_80"
    bundled_count: int = 2
    enclosed: bool = False
    ambient_temperature: float = 25.0
    rule: str = DEFAULT_RULE


@dataclass(frozen=True, slots=True)
class Ampacity:
    """A wire's current, and the three numbers it is the product of."""

    ampacity: float
    rated: float
    heat: float
    bundle: float


@lru_cache(maxsize=4096)  # few sizes in few places, asked for again and again
def ampacity(conductor_area: float, where: Surroundings) -> Ampacity:
    """Return what a conductor carries there.

    Examples
    --------
    >>> hot = Surroundings("pvc_105", 10, ambient_temperature=70.0)
    >>> round(ampacity(0.325534, hot).ampacity, 3)
    1.527
    """
    rated = _rated(conductor_area, where.rule)
    heat = _heat(where)
    bundle = bundle_factor(rule_named(where.rule).bundle, where.bundled_count)
    return Ampacity(rated * heat * bundle, rated, heat, bundle)


def _rated(conductor_area: float, rule: str) -> float:
    """Return the printed current of the thickest listed size that is no thicker.

    Below the thinnest listed size: the same amperes per area, which errs low (thin wire cools better).
    """
    rows = rated_currents(rule)
    fitting = [amps for area, amps in rows if area <= conductor_area * (1 + 1e-4)]
    if fitting:
        return fitting[-1]
    area, amps = rows[0]
    return amps * conductor_area / area


def _heat(where: Surroundings) -> float:
    """Return the factor for insulation and heat, never above 1."""
    rule = rule_named(where.rule)
    kind = insulation_named(where.insulation)
    around = where.ambient_temperature + (ENCLOSED_RISE if where.enclosed else 0.0)
    if where.rule != DEFAULT_RULE:
        around = max(around, rule.ambient_temperature)
        hottest = min(kind.temperature, rule.conductor_temperature)
        return min(1.0, heat_factor(hottest, around, rule.conductor_temperature, rule.ambient_temperature))
    around = max(around, HOT_DAY + (ENCLOSED_RISE if where.enclosed else 0.0))
    factor = min(
        1.0, heat_factor(kind.temperature, around, rule.conductor_temperature, rule.ambient_temperature)
    )
    # At the rule's own 70 °C its printed factor is a little below the root; the lower one counts.
    if kind.printed_factor is not None and around >= rule.ambient_temperature:
        factor = min(factor, kind.printed_factor)
    return factor
