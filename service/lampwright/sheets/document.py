"""Turn a sheet into the JSON-ready document that is answered, audited and kept.

One function, ``sheet_document(sheet)``, used by the auditor's caller (``sheets.build``) and by the
contract for ``/v1/build-sheets``, so that what was audited is what is answered. Shape:

- the sheet's own members flat: ``title``, ``buildable``, ``safe``, ``summary``, ``reserve``,
  ``parts_list``, ``tools``, ``sleeves``, ``build_steps``, ``bench_checks``, ``fault_finding``, ``cautions``,
  ``deference``, ``assumptions``, ``drawing_text``, ``findings``, ``working``, ``sources``;
- the plan's figures flat beside them: ``strings`` (each: ``row``, ``light_names``, ``run_length_m`` and
  the members of a solved string), ``supply_current_ma`` and spread, ``design_current_ma``, ``wires``
  (each: ``label``, ``serves``, ``run_length_m``, ``current_ma`` and the members of a wire answer),
  ``fuse``, ``switch``, ``runtime``, ``comparison``, ``cut_list``, ``joints``;
- ``light_figures``: one object a kind of light: ``name``, ``count``, ``led`` (as sent), ``led_name`` and
  its figures; light ``i`` of a string is the entry whose ``name`` is ``light_names[i]``;
- ``basis``: what else the figures rest on, resolved: ``supply`` (the whole window), ``wire``, ``usage``,
  ``resistors``, ``mix_colours``, ``ambient_temperature_degc``. From these and the members above the
  circuit can be rebuilt without the planner.
"""

from __future__ import annotations

from lampwright.planner.models.build import Plan, Sheet
from lampwright.planner.models.parts import Led
from lampwright.quantities import json_name, show, unit_of
from lampwright.sheets.writing import named, scaled, written


def led_figures(name: str, count: int, led: Led) -> dict[str, object]:
    """Return a light's resolved figures under their public names."""
    figures: dict[str, object] = written(led)
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
    "tools",
    "sleeves",
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
    found["display"] = {"ambient_temperature": show(ask.ambient_temperature, "degc")}
    for member in ("supply", "wire", "fuse", "usage", "resistors"):
        found[member] = written(getattr(ask, member))
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
            found[stem] = written(item)
        else:
            found[json_name(stem)] = scaled(item, unit)
            if item is not None:
                display[stem] = show(item, unit)
    found["cut_list"] = written(plan.cuts)
    found["joints"] = written(plan.joints)
    for stem in _FROM_SHEET:
        found[stem] = written(getattr(sheet, stem))
    found["light_figures"] = written(sheet.light_figures)
    found["basis"] = basis(plan)
    found["display"] = display
    found["findings"] = written(sheet.findings)
    found["working"] = written(sheet.working)
    found["sources"] = list(sheet.sources)
    return found
