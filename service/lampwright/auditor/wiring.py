"""Wires and fuse as the auditor reckons them: what a run resists and carries, what a short lets flow."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lampwright.auditor.reading import ReadSheet, Run
from lampwright.errors import LampwrightError
from lampwright.physics.conductors import (
    at_temperature,
    awg_area,
    heat_factor,
    loop_resistance,
    resistance_per_length,
)
from lampwright.physics.protection import fuse_derating, hold_derating, short_circuit_current
from lampwright.records import quickly_made
from lampwright.tables.batteries import battery_types
from lampwright.tables.fuses import cold_resistance, fuses_of, resettables, style_named
from lampwright.tables.supplies import supply_types
from lampwright.tables.wires import (
    DEFAULT_RULE,
    bundle_factor,
    insulation_named,
    metric_sizes,
    rated_currents,
    rule_named,
)

# What the default rule counts with: a hot day, and foam or cloth as hotter air (see the planner's page).
_HOT_DAY = 40.0
_ENCLOSED = 20.0
_STRONG_SOURCE = 15.0


def per_metre(awg: int | None, area: float, temperature: float) -> float:
    """Return the resistance of one wire per metre. [Ω/m]."""
    if awg is not None:
        return resistance_per_length(awg_area(awg), temperature)
    listed = [row.stranded for row in metric_sizes() if math.isclose(row.conductor_area, area)]
    if listed:
        return at_temperature(listed[0] / 1000, temperature)
    return resistance_per_length(area, temperature, 1.192)


def area_of(run: Run) -> float:
    """Return a run's metal cross-section, by its gauge where one is printed. [mm²]."""
    return awg_area(run.awg) if run.awg is not None else run.conductor_area


def run_loop(sheet: ReadSheet, run: Run) -> float:
    """Return the loop resistance of a run. [Ω]."""
    each = per_metre(run.awg, run.conductor_area, sheet.ambient_temperature)
    return loop_resistance(each, run.run_length)


def carries(sheet: ReadSheet, area: float) -> float:
    """Return what a conductor of the sheet carries where it lies, by the default rule. [A]."""
    return _carries(area, sheet.insulation, sheet.bundled_count, sheet.enclosed, sheet.ambient_temperature)


@lru_cache(maxsize=4096)
def _carries(
    area: float, insulation: str, bundled_count: int, enclosed: bool, ambient_temperature: float
) -> float:
    rule = rule_named(DEFAULT_RULE)
    kind = insulation_named(insulation)
    rows = rated_currents(DEFAULT_RULE)
    no_thicker = [amps for listed, amps in rows if listed <= area * (1 + 1e-4)]
    rated = no_thicker[-1] if no_thicker else rows[0][1] * area / rows[0][0]
    more = _ENCLOSED if enclosed else 0.0
    around = max(ambient_temperature, _HOT_DAY) + more
    heat = heat_factor(kind.temperature, around, rule.conductor_temperature, rule.ambient_temperature)
    heat = min(1.0, heat)
    if kind.printed_factor is not None and around >= rule.ambient_temperature:
        heat = min(heat, kind.printed_factor)
    return rated * heat * bundle_factor(rule.bundle, bundled_count)


@quickly_made
@dataclass(frozen=True, slots=True)
class FuseSeen:
    """The fuse of a sheet with what its style makes of it. [A, V, Ω]."""

    style: str
    rated_current: float
    derating: float
    opens_from: float
    let_through: float
    rated_voltage: float
    breaking_capacity: float
    resistance: float


def fuse_seen(sheet: ReadSheet, stated: Mapping[str, Any] | None = None) -> FuseSeen | None:
    """Return the fuse that is fitted (or another that is stated), None where none is.

    Raises
    ------
    LampwrightError
        If no such fuse is sold: a style or a rating that is not in the tables.
    """
    printed = sheet.fuse if stated is None else stated
    if printed is None or not printed["rated_current"]:
        return None
    rating, style = float(printed["rated_current"]), str(printed["style"] or "")
    style_named(style)
    if style == "resettable":
        for device in resettables():
            if math.isclose(device.hold_current, rating):
                return FuseSeen(
                    style,
                    rating,
                    hold_derating(sheet.ambient_temperature),
                    device.trip_current,
                    device.trip_current,
                    device.rated_voltage,
                    device.breaking_capacity or 40.0,
                    device.resistance_high or 0.0,
                )
    for row in fuses_of(style):
        if math.isclose(row.rated_current, rating):
            return FuseSeen(
                style,
                rating,
                fuse_derating(sheet.ambient_temperature),
                style_named(style).sure_multiple * rating,
                rating,
                row.rated_voltage,
                row.breaking_capacity,
                cold_resistance(row),
            )
    raise LampwrightError(f"no {style} fuse of {rating:g} A is sold")


def source_limit(sheet: ReadSheet) -> float | None:
    """Return the most the source gives into a short circuit, where known. [A]."""
    source = sheet.source
    if source.short_circuit_current is not None or source.battery:
        return source.short_circuit_current
    return source.current_limit


def at_source(sheet: ReadSheet) -> float:
    """Return what flows if the wires touch right at the source: infinite where nothing tells. [A]."""
    source, limit = sheet.source, source_limit(sheet)
    flowing = (
        short_circuit_current(source.highest, source.resistance_low, 0.0)
        if source.resistance_low > 0
        else math.inf
    )
    if limit is None:
        return flowing
    if source.battery and battery_types()[source.battery].protection == "always":
        return limit
    return limit if flowing == math.inf else max(limit, flowing)


def at_far_end(sheet: ReadSheet, loop: float) -> float:
    """Return what an ordinary set gives into a short behind some loop resistance. [A]."""
    source = sheet.source
    return short_circuit_current(source.voltage, source.resistance, loop, source_limit(sheet))


def fuse_need(sheet: ReadSheet, thinnest: float) -> str:
    """Return whether a fuse is required, advised or optional; ``thinnest`` is that wire's ampacity."""
    source = sheet.source
    if source.battery:
        kind = battery_types()[source.battery]
        if kind.protection == "always":
            return "optional" if at_source(sheet) <= thinnest else "advised"
        if kind.chemistry in ("lead_acid", "liion", "nimh"):
            return "required"
        block = kind.form == "block" and kind.chemistry in ("alkaline", "carbon_zinc")
        return "optional" if kind.form == "coin" or block else "advised"
    if source.part and supply_types()[source.part].kind == "vehicle":
        return "required"
    flowing = at_source(sheet)
    if flowing != math.inf and flowing > _STRONG_SOURCE:
        return "required"
    return "optional" if flowing <= thinnest else "advised"
