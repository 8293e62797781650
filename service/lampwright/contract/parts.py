"""The lists of parts and sources, under public names and units."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from lampwright.quantities import json_name, unit_of
from lampwright.tables.loader import sources

Entry = dict[str, Any]


# Trades print these in mm, and so do the tables that hold them.
_IN_MM = ("diameter", "body_length", "body_diameter")


def _told(stem: str, value: Any) -> Any:
    unit = None if stem in _IN_MM else unit_of(stem)
    if unit is not None and isinstance(value, (int, float)) and not isinstance(value, bool):
        return unit.outer(value)
    return list(value) if isinstance(value, tuple) else value


def _entry(part_id: str, name: str, figures: dict[str, Any], row: Any) -> Entry:
    found: Entry = {"id": part_id, "name": name}
    found.update({json_name(stem): _told(stem, value) for stem, value in figures.items()})
    found.update(source=row.source, locator=row.locator, status=row.status)
    return found


def _members(row: Any, *, without: tuple[str, ...]) -> dict[str, Any]:
    names = [name for name in row.__slots__ if name not in (*without, "source", "locator", "status")]
    return {name: getattr(row, name) for name in names}


def led_parts() -> list[Entry]:
    """Return every light, its figures as the planner uses them."""
    from lampwright.planner.catalogue import led_from_part
    from lampwright.tables.leds import led_types

    found = []
    for part_id, row in led_types().items():
        led = led_from_part(part_id)
        figures = _members(led, without=("name", "sources", "as_sent"))
        found.append(_entry(part_id, row.name, {**figures, "assumed": row.assumed}, row))
    return found


def battery_parts() -> list[Entry]:
    """Return every battery with its figures; each figure's own source stands beside it."""
    from lampwright.tables.batteries import battery_figures, battery_types

    found = []
    for part_id, row in battery_types().items():
        figures = _members(row, without=("battery", "name"))
        origins = {}
        for quantity, figure in battery_figures()[part_id].items():
            figures[quantity] = figure.value
            if figure.low is not None:
                figures[f"{quantity}_low"] = figure.low
            if figure.high is not None:
                figures[f"{quantity}_high"] = figure.high
            origins[json_name(quantity)] = figure.source
        found.append({**_entry(part_id, row.name, figures, row), "figure_sources": origins})
    return found


def supply_parts() -> list[Entry]:
    """Return every adapter, port and socket."""
    from lampwright.tables.supplies import supply_figures, supply_types

    found = []
    for part_id, row in supply_types().items():
        figures: dict[str, Any] = {"kind": row.kind}
        origins = {}
        for quantity, figure in supply_figures()[part_id].items():
            figures[quantity] = figure.value
            origins[json_name(quantity)] = figure.source
        found.append({**_entry(part_id, row.name, figures, row), "figure_sources": origins})
    return found


def wire_parts() -> list[Entry]:
    """Return every wire size, thickest first."""
    from lampwright.tables.wires import wire_sizes

    return [
        _entry(f"awg_{row.awg}", f"{row.awg} AWG", _members(row, without=()), row)
        for row in sorted(wire_sizes().values(), key=lambda row: row.awg)
    ]


def fuse_parts() -> list[Entry]:
    """Return every fuse, and every resettable device."""
    from lampwright.quantities import show
    from lampwright.tables.fuses import fuse_rows, resettables, styles

    found = []
    for row in fuse_rows():
        size = show(row.rated_current, "ma")
        part_id = f"{row.style}_{row.rated_current * 1000:g}ma"
        found.append(_entry(part_id, f"{styles()[row.style].name}, {size}", _members(row, without=()), row))
    for device in resettables():
        size = show(device.hold_current, "ma")
        figures = {"style": "resettable", **_members(device, without=("device",))}
        found.append(_entry(device.device, f"resettable fuse, holds {size}", figures, device))
    return found


def resistor_parts() -> list[Entry]:
    """Return every preferred value within a decade, and every size by its watts."""
    from lampwright.tables.resistors import preferred_rows, resistor_sizes

    found = []
    for row in preferred_rows():
        figures = {"e_series": row.series, "resistance": row.value}
        found.append(
            _entry(f"{row.series.lower()}_{row.value:g}", f"{row.series} {row.value:g}", figures, row)
        )
    for size in resistor_sizes():
        found.append(_entry(size.id, size.name, _members(size, without=("id", "name")), size))
    return found


def source_list() -> list[Entry]:
    """Return the bibliography."""
    return [
        {
            "id": source.key,
            "title": source.title,
            "publisher": source.publisher,
            "edition": source.edition,
            "year": source.year,
            "licence": source.licence,
            "taken": source.taken,
        }
        for source in sources().values()
    ]


LISTS: dict[str, Callable[[], list[Entry]]] = {
    "leds": led_parts,
    "batteries": battery_parts,
    "supplies": supply_parts,
    "wires": wire_parts,
    "fuses": fuse_parts,
    "resistors": resistor_parts,
}


@cache
def parts_list(name: str) -> tuple[Entry, ...]:
    """Return one list of parts."""
    return tuple(LISTS[name]())
