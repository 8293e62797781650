"""Turn what a maker has for a supply (volts, a battery, a part) into one window of voltage.

A battery's window runs from empty to fresh with its nominal voltage expected; what is behind it is a
source resistance, bounded over its life. Capacities scale a battery: a cell of half the capacity has
twice the resistance and gives half the current.
"""

from __future__ import annotations

from functools import lru_cache

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.planner.models.parts import Supply
from lampwright.quantities import UNITS, show
from lampwright.tables.batteries import BatteryFigure, battery_type, battery_types, figures_of
from lampwright.tables.supplies import supply_figures, supply_types

MAX_VOLTAGE = 60.0
# Beyond this many times the largest (or below the smallest) label of a type a capacity is a slip.
_CAPACITY_SLIP = 4.0


def supply_from_voltage(
    supply_voltage: float,
    supply_voltage_min: float | None = None,
    supply_voltage_max: float | None = None,
    source_resistance: float = 0.0,
    current_limit: float | None = None,
) -> Supply:
    """Return a supply given by its volts; a bound left out is the voltage itself.

    Raises
    ------
    ContradictionError
        If the bounds are not in order, or any of them is above 60 V.

    Examples
    --------
    >>> supply_from_voltage(12.0, 11.4, 12.6).supply_voltage_min
    11.4
    """
    low = supply_voltage if supply_voltage_min is None else supply_voltage_min
    high = supply_voltage if supply_voltage_max is None else supply_voltage_max
    if low > supply_voltage:
        raise ContradictionError(
            "supply_voltage_min",
            f"the lowest voltage, {show(low, 'v')}, is above the expected {show(supply_voltage, 'v')}",
            "lowest, expected and highest voltage go upwards in this order",
        )
    if high < supply_voltage:
        raise ContradictionError(
            "supply_voltage_max",
            f"the highest voltage, {show(high, 'v')}, is below the expected {show(supply_voltage, 'v')}",
            "lowest, expected and highest voltage go upwards in this order",
        )
    _refuse_high_voltage("supply_voltage_max", high)
    return Supply(
        supply_voltage,
        low,
        high,
        source_resistance,
        source_resistance,
        source_resistance,
        current_limit,
        high / source_resistance if source_resistance > 0 else None,
        name=f"{show(supply_voltage, 'v')} supply",
    )


@lru_cache(maxsize=512)
def supply_from_battery(
    battery: str,
    cells_in_series: int = 1,
    packs_in_parallel: int = 1,
    capacity: float | None = None,
    supply_voltage_max: float | None = None,
) -> Supply:
    """Return the supply a battery makes: nominal expected, fresh highest, empty lowest.

    Parameters
    ----------
    battery : str
        Id of a battery.
    cells_in_series, packs_in_parallel : int
        Batteries one after the other, and such rows side by side.
    capacity : float, optional
        Printed on the battery, if it differs from the usual one. [A·h]
    supply_voltage_max : float, optional
        Highest voltage instead of the fresh battery's: a charger left on. [V]

    Raises
    ------
    UnknownPartError
        If no battery has this id.
    ContradictionError
        If the pack is above 60 V, the capacity is far from any battery of this type, or the highest
        voltage is below the nominal one.

    Examples
    --------
    >>> pack = supply_from_battery("alkaline_aa", 3)
    >>> pack.supply_voltage_min, pack.supply_voltage, round(pack.supply_voltage_max, 3)
    (3.0, 4.5, 4.8)
    """
    kind = battery_type(battery)
    figures = figures_of(battery)
    if battery == "power_bank_5v" and cells_in_series > 1:
        raise ContradictionError(
            "cells_in_series",
            "power banks cannot be joined one after the other",
            "use one bank, or a converter behind it, for more than 5 V",
        )
    nominal = figures["nominal_voltage"].value * cells_in_series
    fresh = figures["fresh_voltage"].value * cells_in_series
    empty = figures["empty_voltage"].value * cells_in_series
    _refuse_high_voltage("cells_in_series", fresh)
    highest = fresh
    if supply_voltage_max is not None:
        if supply_voltage_max < nominal:
            raise ContradictionError(
                "supply_voltage_max",
                f"{show(supply_voltage_max, 'v')} is below the pack's nominal {show(nominal, 'v')}",
                "leave it out, or send the voltage of the charger left on",
            )
        _refuse_high_voltage("supply_voltage_max", supply_voltage_max)
        highest = supply_voltage_max
    label = figures["capacity"]
    _refuse_capacity(kind.name, capacity, label)
    scale = 1.0 if capacity is None or battery == "power_bank_5v" else label.value / capacity
    behind = figures["source_resistance"]
    joined = scale * cells_in_series / packs_in_parallel
    used = {row.source for row in figures.values()}
    return Supply(
        supply_voltage=nominal,
        supply_voltage_min=empty,
        supply_voltage_max=highest,
        source_resistance=behind.value * joined,
        source_resistance_low=(behind.low or behind.value) * joined,
        source_resistance_high=(behind.high or behind.value) * joined,
        current_limit=figures["usable_current"].value * packs_in_parallel / scale,
        short_circuit_current=figures["short_circuit_current"].value * packs_in_parallel / scale,
        battery=battery,
        cells_in_series=cells_in_series,
        packs_in_parallel=packs_in_parallel,
        capacity=capacity,
        name=pack_name(kind.name, cells_in_series, packs_in_parallel),
        chemistry=kind.chemistry,
        sources=tuple(sorted(used)),
    )


def supply_from_part(part_id: str) -> Supply:
    """Return a supply by the id of a part: a plug-in adapter, a USB port, a battery.

    Raises
    ------
    UnknownPartError
        If neither a supply part nor a battery has this id.

    Examples
    --------
    >>> supply_from_part("adapter_12v").supply_voltage_max
    12.6
    """
    if part_id in battery_types():
        return supply_from_battery(part_id)
    types = supply_types()
    if part_id not in types:
        raise UnknownPartError("supply", part_id, (*types, *battery_types()))
    figures = supply_figures()[part_id]
    behind = figures["source_resistance"].value
    return Supply(
        supply_voltage=figures["supply_voltage"].value,
        supply_voltage_min=figures["supply_voltage_min"].value,
        supply_voltage_max=figures["supply_voltage_max"].value,
        source_resistance=behind,
        source_resistance_low=0.0,
        source_resistance_high=behind,
        current_limit=figures["current_limit"].value,
        short_circuit_current=figures["short_circuit_current"].value,
        part=part_id,
        name=types[part_id].name,
        chemistry="",
        sources=tuple(sorted({row.source for row in figures.values()})),
    )


def pack_name(name: str, cells_in_series: int, packs_in_parallel: int) -> str:
    """Return what a pack is called on the sheet.

    >>> pack_name("AA alkaline cell", 4, 1), pack_name("AA alkaline cell", 4, 2)
    ('4 × AA alkaline cell', '8 × AA alkaline cell (2 packs of 4 side by side)')
    """
    count = cells_in_series * packs_in_parallel
    if count == 1:
        return name
    if packs_in_parallel == 1:
        return f"{count} × {name}"
    each = f"{packs_in_parallel} packs of {cells_in_series}" if cells_in_series > 1 else "all"
    return f"{count} × {name} ({each} side by side)"


def _refuse_high_voltage(field: str, voltage: float) -> None:
    """Refuse what is no longer safe to touch."""
    if voltage > MAX_VOLTAGE:
        raise ContradictionError(
            field,
            f"{show(voltage, 'v')} is above 60 V DC, the limit for a build without protection against shock",
            "use fewer batteries one after the other, and more rows of lights side by side",
        )


def _refuse_capacity(name: str, capacity: float | None, label: BatteryFigure) -> None:
    """Refuse a capacity no battery of this type comes near: a slip of unit or of type."""
    if capacity is None:
        return
    low, high = label.low or label.value, label.high or label.value
    if not low / _CAPACITY_SLIP <= capacity <= high * _CAPACITY_SLIP:
        # Ampere-hours in place of milliampere-hours.
        slip = low / _CAPACITY_SLIP <= 1000 * capacity <= high * _CAPACITY_SLIP
        meant = f"did you mean {show(1000 * capacity, 'mah')}? Otherwise " if slip else ""
        raise ContradictionError(
            "capacity",
            f"{name}: {show(low, 'mah')} to {show(high, 'mah')} is usual, not {show(capacity, 'mah')}",
            f"{meant}send what is printed on the battery, usually about {show(label.value, 'mah')}",
            UNITS["mah"].outer(1000 * capacity) if slip else None,
        )
