"""What is answered: schemas made from the answer dataclasses, dumpers made from the schemas.

Theory of operation. An answer dataclass has stems as names and type hints; that is enough to make its
marshmallow schema, which the OpenAPI document prints. Walking such a schema field by field costs far more
than working out a resistor does, so ``dumper`` writes, once, a plain function with the same outcome: one
expression a field. A test holds the two equal, and equal to ``sheets.writing.as_json``.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from dataclasses import fields as members_of
from dataclasses import is_dataclass
from functools import cache, partial
from typing import Any, Union, get_args, get_origin, get_type_hints

from marshmallow import Schema, fields

from lampwright.planner.models.base import Finding
from lampwright.planner.models.build import Sheet
from lampwright.planner.models.circuits import StringAnswer
from lampwright.quantities import Unit, json_name, show, show_by_rule, shower_text, unit_of
from lampwright.sheets.document import sheet_document
from lampwright.sheets.writing import INLINE, MERGED, named, public_path

SHARED = (StringAnswer,)  # one object often stands in several ways of wiring; it is written once
# For the planner's and the paper's own use; a caller has them in other words.
HIDDEN = ("as_sent", "circuit", "row_curves", "event_card", "break_it", "document")


class Out(fields.Field[Any]):
    """Base of all answer fields: how to dump a value, as a function and as an expression."""

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return Python that dumps the expression ``value``; helpers go into ``names``."""
        return value

    def schema(self) -> dict[str, Any]:
        """Return the JSON schema of this field."""
        return {}


class AsIs(Out):
    """A text, count, flag or plain number, or what the caller sent."""

    def __init__(self, types_: tuple[type, ...] = (), **settings: Any) -> None:
        super().__init__(**settings)
        self.types = types_

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return list(value) if isinstance(value, tuple) else value

    def schema(self) -> dict[str, Any]:
        """Return the JSON type."""
        known = {str: "string", int: "integer", float: "number", bool: "boolean"}
        named_types = [known[kind] for kind in self.types if kind in known]
        return {"type": named_types[0]} if named_types else {}


class Scaled(Out):
    """A quantity, from the inner unit to the public one."""

    def __init__(self, unit: Unit, **settings: Any) -> None:
        super().__init__(**settings)
        self.unit = unit

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else self.unit.outer(value)

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return one multiplication or division, rounded as ``Unit.outer`` rounds."""
        factor = self.unit.per_inner
        if factor == 1:
            return value
        scaled = f"v * {factor!r}" if factor >= 1 else f"v / {round(1 / factor)}"
        if not self.allow_none:
            return scaled.replace("v ", f"{value} ", 1)
        return f"(None if (v := {value}) is None else {scaled})"

    def schema(self) -> dict[str, Any]:
        """Return a number with its unit."""
        return {"type": "number", "x-unit": self.unit.symbol}


class Listed(Out):
    """A list of one kind of value."""

    def __init__(self, inner: Out, **settings: Any) -> None:
        super().__init__(**settings)
        self.inner = inner

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else [self.inner._serialize(item, attr, obj) for item in value]

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return a list comprehension."""
        inner = self.inner.expression("i", names)
        if isinstance(self.inner, Object) and self.inner.kind in SHARED:
            inner = f"(known.get(id(i)) or known.setdefault(id(i), {inner}))"
        body = f"[{inner} for i in v]" if inner != "i" else "list(v)"
        return f"(None if (v := {value}) is None else {body})"

    def schema(self) -> dict[str, Any]:
        """Return an array."""
        return {"type": "array", "items": self.inner.schema()}


class Object(Out):
    """An answer within an answer."""

    def __init__(self, kind: type, **settings: Any) -> None:
        super().__init__(**settings)
        self.kind = kind

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else answer_schema(self.kind, top=False).dump(value)

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return a call of the other dumper."""
        name = f"dump_{self.kind.__name__}"
        names[name] = dumper(self.kind, top=False)
        if not self.allow_none:
            return f"{name}({value}, known)"
        return f"(None if (o := {value}) is None else {name}(o, known))"

    def schema(self) -> dict[str, Any]:
        """Return a reference."""
        return {"$ref": f"#/components/schemas/{self.kind.__name__}"}


class Stems(Out):
    """A mapping of stems to inner values, told under public names."""

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else named(value)

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return a call where there is anything to name."""
        names["named"] = named
        return f"(None if (v := {value}) is None else named(v) if v else {{}})"

    def schema(self) -> dict[str, Any]:
        """Return an open object."""
        return {"type": "object", "additionalProperties": True}


class StemPath(Out):
    """The path of a member, told with public names."""

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return public_path(value)

    def expression(self, value: str, names: dict[str, Any]) -> str:
        """Return a call where there is a path."""
        names["public_path"] = public_path
        return f"(public_path(p) if (p := {value}) else '')"

    def schema(self) -> dict[str, Any]:
        """Return a text."""
        return {"type": "string"}


class Display(Out):
    """Short texts of the quantities beside it; names of one stem share a text."""

    _CHECK_ATTRIBUTE = False

    def __init__(self, shown: tuple[tuple[str, str, str], ...], **settings: Any) -> None:
        super().__init__(**settings)
        self.shown = shown  # (stem, attribute path, unit suffix)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return _display(self.shown, obj)

    def schema(self) -> dict[str, Any]:
        """Return an object of texts."""
        return {"type": "object", "additionalProperties": {"type": "string"}}


def _reach(obj: Any, path: str) -> Any:
    for step in path.split("."):
        obj = getattr(obj, step)
    return obj


def _display(shown: tuple[tuple[str, str, str], ...], obj: Any) -> dict[str, str]:
    found: dict[str, str] = {}
    for stem, path, suffix in shown:
        value = _reach(obj, path)
        if value is not None:
            found[stem] = show(value, suffix)
    _share_drop(found)
    return found


def _share_drop(found: dict[str, str]) -> None:
    """Tell volts lost and their part of the supply's in one text."""
    if "drop_fraction" in found:
        share = found.pop("drop_fraction")
        found["drop"] = f"{found['drop']} ({share})" if "drop" in found else share


def _without_none(hint: Any) -> tuple[Any, bool]:
    if get_origin(hint) in (Union, types.UnionType):
        kept = [part for part in get_args(hint) if part is not type(None)]
        return (kept[0] if len(kept) == 1 else object), len(kept) < len(get_args(hint))
    return hint, False


def _field(stem: str, hint: Any, owner: type, **place: Any) -> Out:
    kind, may_be_none = _without_none(hint)
    settings = {**place, "allow_none": may_be_none}
    unit = unit_of(stem)
    if owner is Finding and stem == "field":
        return StemPath(**settings)
    origin = get_origin(kind)
    if origin is tuple:
        return Listed(_field(stem, get_args(kind)[0], owner), **settings)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return Stems(**settings)
    if is_dataclass(kind) and isinstance(kind, type):
        return Object(kind, **settings)
    if unit is not None and kind in (float, int):
        return Scaled(unit, **settings)
    return AsIs((kind,) if isinstance(kind, type) else (str,) if origin is not None else (), **settings)


def _listed(kind: type, top: bool, prefix: str = "") -> dict[str, Out]:
    hints = get_type_hints(kind)
    found: dict[str, Out] = {}
    for member in members_of(kind):
        stem = member.name
        if stem in HIDDEN or (not top and stem in MERGED):
            continue
        if stem in INLINE:
            found.update(_listed(_without_none(hints[stem])[0], False, f"{prefix}{stem}."))
            continue
        # The word runtime is a quantity in one place and a whole answer in another.
        whole = is_dataclass(_without_none(hints[stem])[0])
        name = stem if whole else json_name(stem)
        found[stem] = _field(stem, hints[stem], kind, attribute=f"{prefix}{stem}", data_key=name)
    return found


@cache
def answer_schema(kind: type, *, top: bool = True) -> Schema:
    """Return the one schema of an answer dataclass."""
    found = _listed(kind, top)
    shown = tuple(
        (stem, str(field.attribute), field.unit.suffix)
        for stem, field in found.items()
        if isinstance(field, Scaled)
    )
    if shown:
        found["display"] = Display(shown)
    return Schema.from_dict(dict(found), name=f"{kind.__name__}{'Top' if top else ''}Schema")()


def _display_lines(shown: tuple[tuple[str, str, str], ...], names: dict[str, Any]) -> str:
    """Return Python that fills ``display`` as ``_display`` does."""
    lines = ["    d = {}"]
    paths: dict[tuple[str, str], str] = {}
    for stem, path, suffix in shown:
        names[f"show_{suffix}"] = partial(show_by_rule, unit=suffix)
        text = shower_text(suffix, "v", f"show_{suffix}")
        # On a supply without a window the fresh current, say, is the current: the very same number.
        usual = stem.rpartition("_")[0]
        if (usual, suffix) in paths:
            text = f"d[{usual!r}] if v is a.{paths[usual, suffix]} else {text}"
        paths[stem, suffix] = path
        lines.append(f"    if (v := a.{path}) is not None: d[{stem!r}] = {text}")
    if any(stem == "drop_fraction" for stem, _, _ in shown):
        names["share_drop"] = _share_drop
        lines.append("    share_drop(d)")
    return "\n".join([*lines, "    if d: f['display'] = d"])


@cache
def dumper(kind: type, *, top: bool = True) -> Callable[[Any], dict[str, Any]]:
    """Return a plain function that dumps as the schema of this dataclass does.

    Objects of ``SHARED`` kinds that stand in several places of an answer become one dictionary.
    """
    schema = answer_schema(kind, top=top)
    names: dict[str, Any] = {}
    members, last = [], ""
    for field in schema.fields.values():
        if isinstance(field, Display):
            last = _display_lines(field.shown, names)
        elif isinstance(field, Out):
            value = field.expression(f"a.{field.attribute}", names)
            members.append(f"        {str(field.data_key)!r}: {value},")
    head = "def dump(a, known=None):\n    known = {} if known is None else known\n    f = {"
    source = "\n".join([head, *members, "    }", last, "    return f", ""])
    exec(compile(source, f"<dumper of {kind.__name__}>", "exec"), names)  # noqa: S102 - our own text
    made: Callable[[Any], dict[str, Any]] = names["dump"]
    return made


SHEET_MEMBERS = (
    "strings",
    "supply_current_ma",
    "supply_current_low_ma",
    "supply_current_high_ma",
    "design_current_ma",
    "wires",
    "fuse",
    "switch",
    "runtime",
    "comparison",
    "cut_list",
    "joints",
    "light_figures",
    "basis",
)


def members_told(kind: type) -> list[str]:
    """Return the public names of all members of an answer."""
    fields_ = answer_schema(kind).fields
    found = [stem if stem == "display" else str(field.data_key) for stem, field in fields_.items()]
    if kind is not Sheet:
        return found
    return [*(name for name in found if name != "plan"), *SHEET_MEMBERS, "display"]


def echoed(loaded: Mapping[str, Any]) -> dict[str, Any]:
    """Return loaded members under their public names, objects within them too."""
    return {json_name(stem): _echo(value) for stem, value in loaded.items() if value is not None}


def _echo(value: Any) -> Any:
    if isinstance(value, dict):
        return echoed(value)
    if isinstance(value, list):
        return [_echo(item) for item in value]
    return value


def dump(inputs: Mapping[str, Any], found: Any, *, working: bool = True) -> dict[str, Any]:
    """Return the whole answer: what was understood, what was found, why, and from where.

    Parameters
    ----------
    inputs : mapping
        Every input as understood, under its public name; see ``calculations.understand``.
    found : dataclass
        The planner's answer, or a sheet.
    working : bool
        Whether to tell how it was worked out.
    """
    answer: dict[str, Any] = {"inputs": inputs}
    if isinstance(found, Sheet):
        document: Mapping[str, Any] = found.document or sheet_document(found)
        answer.update(document)
    else:
        kind: type = type(found)
        answer.update(dumper(kind)(found))
    if not working:
        answer.pop("working", None)
    return answer
