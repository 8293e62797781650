"""Answers written as JSON-ready dicts by functions made once for each dataclass.

Theory of operation. ``as_json`` says what is written: it looks at every value as it comes. A sheet
has some thousand of them, of thirty dataclasses whose type hints say beforehand what each member is. So
``writer`` makes, once, a plain function of one line a member; whatever a hint leaves open it asks
``as_json`` for. A test holds the two equal.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache, lru_cache
from typing import Any, Union, get_args, get_origin, get_type_hints

from lampwright.planner.models.base import Finding
from lampwright.quantities import Unit, json_name, show, shower, unit_of

INLINE = ("solved", "figures")  # members whose own members stand flat beside the others
_OMITTED = ("as_sent",)
MERGED = ("working", "sources")  # told once, at the top of the sheet


@cache
def names_of(kind: type) -> tuple[tuple[str, str, Unit | None], ...]:
    """Return (stem, JSON name, unit) of each field of a dataclass."""
    return tuple(
        (field.name, json_name(field.name), unit_of(field.name))
        for field in fields(kind)
        if field.name not in _OMITTED
    )


def scaled(value: object, unit: Unit) -> object:
    """Return a number, or numbers in lists, in the public unit; anything else as it is."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, (int, float)):
        return unit.outer(value)
    if isinstance(value, (tuple, list)):
        return [scaled(item, unit) for item in value]
    return value


@lru_cache(maxsize=1024)
def public_path(stems: str) -> str:
    """Return a stem path with public names: ``lights.0.forward_current`` with its unit."""
    return ".".join(json_name(step) for step in stems.split("."))


def share_drop(display: dict[str, str]) -> None:
    """Tell volts lost and their part of the supply's in one text: "0.36 V (3 %)"."""
    if "drop_fraction" in display:
        share = display.pop("drop_fraction")
        display["drop"] = f"{display['drop']} ({share})" if "drop" in display else share


def as_json(value: object, *, top: bool = True) -> object:
    """Return dataclasses, tuples and mappings as dicts and lists with public names and units.

    >>> from lampwright.planner.models.circuits import BenchCheck
    >>> as_json(BenchCheck("resistor_0", "across R-A", voltage=2.7))["voltage_v"]
    2.7
    """
    if is_dataclass(value) and not isinstance(value, type):
        found: dict[str, object] = {}
        display: dict[str, str] = {}
        for stem, name, unit in names_of(type(value)):
            item = getattr(value, stem)
            if stem in INLINE:
                inner = as_json(item, top=False)
                if isinstance(inner, dict):
                    display.update(inner.pop("display", {}))
                    found.update(inner)
                continue
            if not top and stem in MERGED:
                continue
            if stem == "suggestion":
                found[name] = named(item)
            elif stem == "field" and type(value) is Finding:
                found[name] = public_path(item)
            elif unit is not None:
                found[name] = scaled(item, unit)
                if isinstance(item, (int, float)) and not isinstance(item, bool):
                    display[stem] = show(item, unit)
            else:
                found[name] = as_json(item, top=False)
        share_drop(display)
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
    >>> named({"strings": ({"resistance": 330.0, "tolerance": 0.05},)})
    {'strings': [{'resistance_ohm': 330.0, 'tolerance_pct': 5.0}]}
    """
    found: dict[str, object] = {}
    for stem, item in stems.items():
        unit = unit_of(stem)
        found[json_name(stem)] = scaled(item, unit) if unit is not None else _within(item)
    return found


def _within(item: object) -> object:
    """Return what stands inside such a mapping: mappings of stems once more, and lists of them."""
    if isinstance(item, Mapping):
        return named(item)
    if isinstance(item, (tuple, list)):
        return [_within(each) for each in item]
    return as_json(item, top=False)


Writer = Callable[[Any], dict[str, Any]]

_KNOWN = (str, int, float, bool)


@cache
def writer(kind: Any, *, top: bool = False) -> Writer:
    """Return a function that writes a dataclass as ``as_json`` does."""
    hints = get_type_hints(kind)
    names: dict[str, Any] = {"as_json": as_json, "named": named, "public_path": public_path, "show": show}
    lines = []
    shown = False
    stems = {field.name for field in fields(kind)}
    for stem, name, unit in names_of(kind):
        hint, may_be_none = _without_none(hints[stem])
        value = f"a.{stem}"
        if stem in INLINE:
            shown = True
            names[f"write_{stem}"] = writer(hint)
            lines += _inlined(stem, may_be_none=may_be_none)
        elif not top and stem in MERGED:
            continue
        elif stem == "suggestion":
            lines.append(f"f[{name!r}] = named(v) if (v := {value}) else {{}}")
        elif stem == "field" and kind is Finding:
            lines.append(f"f[{name!r}] = public_path({value})")
        elif unit is not None:
            shown = True
            lines += _quantity(stem, name, unit, hint, names, may_be_none=may_be_none)
        else:
            lines.append(f"f[{name!r}] = {_plain(value, hint, names, may_be_none=may_be_none)}")
    if "drop_fraction" in stems or stems & set(INLINE):
        lines.append("share_drop(d)")
        names["share_drop"] = share_drop
    if shown:
        lines.append("if d: f['display'] = d")
    body = "\n".join(f"    {line}" for line in ["f = {}", "d = {}", *lines, "return f"])
    exec(compile(f"def write(a):\n{body}\n", f"<writer of {kind.__name__}>", "exec"), names)  # noqa: S102 - our own text
    made: Writer = names["write"]
    return made


def _without_none(hint: Any) -> tuple[Any, bool]:
    """Return a hint without None, and whether None was in it."""
    if get_origin(hint) in (Union, types.UnionType):
        kept = [part for part in get_args(hint) if part is not type(None)]
        return (kept[0] if len(kept) == 1 else object), len(kept) < len(get_args(hint))
    return hint, False


def _inlined(stem: str, *, may_be_none: bool) -> list[str]:
    """Return lines that put the members of a member beside the others."""
    lines = [f"i = write_{stem}(a.{stem})", "e = i.pop('display', None)", "if e: d.update(e)", "f.update(i)"]
    if may_be_none:
        return [f"if a.{stem} is not None:", *(f"    {line}" for line in lines)]
    return lines


def _scaled(value: str, unit: Unit) -> str:
    """Return the expression of a number in its public unit, rounded as ``Unit.outer`` rounds."""
    factor = unit.per_inner
    if factor == 1:
        return value
    return f"{value} * {factor!r}" if factor > 1 else f"{value} / {round(1 / factor)}"


def _quantity(
    stem: str, name: str, unit: Unit, hint: Any, names: dict[str, Any], *, may_be_none: bool
) -> list[str]:
    """Return lines that write a quantity and the short text of it."""
    value = f"a.{stem}"
    if hint in (float, int):
        names[f"show_{unit.suffix}"] = shower(unit.suffix)
        write = f"f[{name!r}] = {_scaled('v', unit)}; d[{stem!r}] = show_{unit.suffix}(v)"
        if not may_be_none:
            return [f"v = {value}; {write}"]
        return [f"v = {value}", f"if v is None: f[{name!r}] = None", f"else: {write}"]
    if get_origin(hint) is tuple and get_args(hint) in ((float, ...), (int, ...)):
        written = f"[{_scaled('v', unit)} for v in t]" if unit.per_inner != 1 else "list(t)"
        return [
            f"t = {value}",
            f"f[{name!r}] = {f'None if t is None else {written}' if may_be_none else written}",
        ]
    names[f"unit_{stem}"], names["scaled"] = unit, scaled
    return [
        f"v = {value}; f[{name!r}] = scaled(v, unit_{stem})",
        f"if isinstance(v, (int, float)) and not isinstance(v, bool): d[{stem!r}] = show(v, unit_{stem})",
    ]


def _plain(value: str, hint: Any, names: dict[str, Any], *, may_be_none: bool) -> str:
    """Return the expression of a member without a unit."""
    if hint in _KNOWN:
        return value
    unless = f"None if {value} is None else " if may_be_none else ""
    if is_dataclass(hint) and isinstance(hint, type):
        names[f"write_{hint.__name__}"] = writer(hint)
        return f"{unless}write_{hint.__name__}({value})"
    inner = get_args(hint)[0] if get_origin(hint) is tuple else None
    if inner in _KNOWN and get_args(hint)[1:] == (...,):
        return f"{unless}list({value})"
    if is_dataclass(inner) and isinstance(inner, type) and get_args(hint)[1:] == (...,):
        names[f"write_{inner.__name__}"] = writer(inner)
        return f"{unless}[write_{inner.__name__}(v) for v in {value}]"
    return f"as_json({value}, top=False)"


def written(value: object) -> Any:
    """Return what ``as_json(value, top=False)`` does, by the functions made for it."""
    if isinstance(value, tuple):
        return [_one(item) for item in value]
    return _one(value)


def _one(value: Any) -> Any:
    kind: Any = type(value)
    if kind in _KNOWN:
        return value
    return writer(kind)(value) if hasattr(kind, "__dataclass_fields__") else as_json(value, top=False)
