"""Turn a sheet into the JSON-ready document that is answered, audited and kept.

One function, ``sheet_document(sheet)``, used by the auditor's caller (``sheets.build``) and by the
contract for ``/v1/build-sheets``, so that what was audited is what is answered. Shape:

- the sheet's own members flat: ``title``, ``buildable``, ``safe``, ``summary``, ``reserve``,
  ``parts_list``, ``build_steps``, ``bench_checks``, ``fault_finding``, ``cautions``, ``deference``,
  ``assumptions``, ``drawing_text``, ``findings``, ``working``, ``sources``;
- the plan's figures flat beside them: ``strings`` (each: ``row``, ``light_names``, ``run_length_m`` and
  the members of a solved string), ``supply_current_ma`` and spread, ``design_current_ma``, ``wires``
  (each: ``label``, ``serves``, ``run_length_m``, ``current_ma`` and the members of a wire answer),
  ``fuse``, ``switch``, ``runtime``, ``comparison``, ``cut_list``, ``joints``;
- ``light_figures``: one object a kind of light: ``name``, ``count``, ``led`` (as sent), ``led_name`` and
  its figures; light ``i`` of a string is the entry whose ``name`` is ``light_names[i]``;
- ``basis``: what else the figures rest on, resolved: ``supply`` (the whole window), ``wire``, ``usage``,
  ``resistors``, ``mix_colours``, ``ambient_temperature_degc``. From these and the members above the
  circuit can be rebuilt without the planner.

``as_json`` does the same for any answer of frozen dataclasses.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache

from lampwright.planner.models.build import Plan, Sheet
from lampwright.planner.models.parts import Led
from lampwright.quantities import Unit, json_name, show, unit_of

_INLINE = ("solved", "figures")  # members whose own members stand flat beside the others
_OMITTED = ("as_sent",)
_MERGED = ("working", "sources")  # told once, at the top of the sheet


@cache
def _names(kind: type) -> tuple[tuple[str, str, Unit | None], ...]:
    """Return (stem, JSON name, unit) of each field of a dataclass."""
    return tuple(
        (field.name, json_name(field.name), unit_of(field.name))
        for field in fields(kind)
        if field.name not in _OMITTED
    )


def _scaled(value: object, unit: Unit) -> object:
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, (int, float)):
        return unit.outer(value)
    if isinstance(value, (tuple, list)):
        return [_scaled(item, unit) for item in value]
    return value


def as_json(value: object, *, top: bool = True) -> object:
    """Return dataclasses, tuples and mappings as dicts and lists with public names and units.

    >>> from lampwright.planner.models.circuits import BenchCheck
    >>> as_json(BenchCheck("resistor_0", "across R-A", voltage=2.7))["voltage_v"]
    2.7
    """
    if is_dataclass(value) and not isinstance(value, type):
        found: dict[str, object] = {}
        display: dict[str, str] = {}
        for stem, name, unit in _names(type(value)):
            item = getattr(value, stem)
            if stem in _INLINE:
                inner = as_json(item, top=False)
                if isinstance(inner, dict):
                    display.update(inner.pop("display", {}))
                    found.update(inner)
                continue
            if not top and stem in _MERGED:
                continue
            if stem == "suggestion":
                found[name] = named(item)
            elif unit is not None:
                found[name] = _scaled(item, unit)
                if isinstance(item, (int, float)) and not isinstance(item, bool):
                    display[stem] = show(item, unit)
            else:
                found[name] = as_json(item, top=False)
        if "drop_fraction" in display:  # one stem, one text: "0.36 V (3 %)"
            share = display.pop("drop_fraction")
            display["drop"] = f"{display['drop']} ({share})" if "drop" in display else share
        if display:
            found["display"] = display
        return found
    if isinstance(value, (tuple, list)):
        return [as_json(item, top=False) for item in value]
    if isinstance(value, Mapping):
        return {str(key): as_json(item, top=False) for key, item in value.items()}
    return value


def named(stems: Mapping[str, object]) -> dict[str, object]:
    """Return a mapping of stems and inner values with public names and units.

    >>> named({"forward_current": 0.01, "series_count": 2})
    {'forward_current_ma': 10.0, 'series_count': 2}
    """
    found: dict[str, object] = {}
    for stem, item in stems.items():
        unit = unit_of(stem)
        found[json_name(stem)] = _scaled(item, unit) if unit is not None else as_json(item, top=False)
    return found


def led_figures(name: str, count: int, led: Led) -> dict[str, object]:
    """Return a light's resolved figures under their public names."""
    figures = as_json(led, top=False)
    if not isinstance(figures, dict):
        raise TypeError("a light is a dataclass")
    figures["led"] = led.as_sent if led.as_sent is not None else figures["name"]
    figures["led_name"] = figures["name"]
    figures["name"] = name
    figures["count"] = count
    return figures


_FROM_PLAN = (
    "strings",
    "supply_current",
    "supply_current_low",
    "supply_current_high",
    "design_current",
    "wires",
    "fuse",
    "switch",
    "runtime",
    "comparison",
)
_FROM_SHEET = (
    "parts_list",
    "build_steps",
    "bench_checks",
    "fault_finding",
    "cautions",
    "deference",
    "assumptions",
    "drawing_text",
)


def basis(plan: Plan) -> dict[str, object]:
    """Return what the figures rest on beside the lights: supply, wire and use, as resolved."""
    ask = plan.ask
    found = named({"ambient_temperature": ask.ambient_temperature, "mix_colours": ask.mix_colours})
    for member in ("supply", "wire", "usage", "resistors"):
        found[member] = as_json(getattr(ask, member), top=False)
    return found


def sheet_document(sheet: Sheet) -> dict[str, object]:
    """Return the whole sheet as a JSON-ready dict; see the head of this module for its shape."""
    plan = sheet.plan
    found: dict[str, object] = {
        "title": sheet.title,
        "buildable": sheet.buildable,
        "safe": sheet.safe,
        "summary": sheet.summary,
        "reserve": sheet.reserve,
    }
    display: dict[str, str] = {}
    for stem in _FROM_PLAN:
        item, unit = getattr(plan, stem), unit_of(stem)
        # The word runtime is a quantity elsewhere; here it is the whole answer about it, or nothing.
        if unit is None or stem == "runtime":
            found[stem] = as_json(item, top=False)
        else:
            found[json_name(stem)] = _scaled(item, unit)
            if item is not None:
                display[stem] = show(item, unit)
    found["cut_list"] = as_json(plan.cuts, top=False)
    found["joints"] = as_json(plan.joints, top=False)
    for stem in _FROM_SHEET:
        found[stem] = as_json(getattr(sheet, stem), top=False)
    found["light_figures"] = as_json(sheet.light_figures, top=False)
    found["basis"] = basis(plan)
    found["display"] = display
    found["findings"] = as_json(sheet.findings, top=False)
    found["working"] = as_json(sheet.working, top=False)
    found["sources"] = list(sheet.sources)
    return found
