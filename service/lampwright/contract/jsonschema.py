"""JSON schemas of what may be asked and what is answered, made from the marshmallow schemas."""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, missing

from lampwright.contract.answers import SHEET_MEMBERS, Display, Listed, Object, Out, answer_schema
from lampwright.contract.asking import AskSchema
from lampwright.contract.fields import Field, Inner, Many
from lampwright.planner.models.build import BuildAsk, Plan, Sheet
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.models.parts import Led, Supply
from lampwright.quantities import glossary, json_name

Json = dict[str, Any]


def _meaning(stem: str) -> str:
    term = glossary().get(stem)
    if term is None:
        head, _, last = stem.rpartition("_")
        term = glossary().get(head)
        return f"{term.meaning} ({last})" if term else ""
    return term.meaning


def member(field: Field, *, query: bool = False) -> Json:
    """Return the schema of one member of a request, with its meaning and default."""
    found = field.schema(query=query)
    stem = str(field.name)
    note = field.note or _meaning(stem)
    if note and "$ref" not in found:
        found = {"description": note, **found}
    default = field.load_default
    if default is not missing and not callable(default) and not (query and isinstance(default, list)):
        found["default"] = default
    return found


def ask(schema: AskSchema, *, query: bool = False) -> Json:
    """Return the schema of a request, or of its query string."""
    properties: Json = {}
    for field in schema.fields.values():
        if not isinstance(field, Field) or (query and not by_query(field)):
            continue
        properties[str(field.data_key)] = member(field, query=query)
    found: Json = {
        "type": "object",
        "description": (type(schema).__doc__ or "").strip(),
        "properties": properties,
        "additionalProperties": False,
    }
    required = [str(field.data_key) for field in schema.fields.values() if field.required]
    if required:
        found["required"] = required
    groups = []
    for group in schema.any_of:
        names = [json_name(stem) for stem in group]
        groups.append({"anyOf": [{"required": [name]} for name in names if name in properties]})
    if groups:
        found.update(groups[0] if len(groups) == 1 else {"allOf": groups})
    return found


def by_query(field: Field) -> bool:
    """Return whether a member can stand in a query string."""
    if isinstance(field, Many):
        return not isinstance(field.inner, Inner) or hasattr(field.inner, "word")
    return not isinstance(field, Inner) or hasattr(field, "word")


def inner_asks(schema: AskSchema, found: dict[str, AskSchema]) -> None:
    """Add every schema that a request refers to, by its name in the document."""
    for field in schema.fields.values():
        here = field.inner if isinstance(field, Many) else field
        if isinstance(here, Inner):
            name = here.made.document_name
            if name not in found:
                found[name] = here.made
                inner_asks(here.made, found)


def _nullable(schema: Json) -> Json:
    if "$ref" in schema or "anyOf" in schema:
        return {"anyOf": [schema, {"type": "null"}]}
    if "type" in schema:
        return {**schema, "type": [schema["type"], "null"]}
    return schema


def answer(kind: type, *, top: bool = True) -> Json:
    """Return the schema of an answer."""
    schema = answer_schema(kind, top=top)
    properties: Json = {"inputs": {"type": "object"}} if top else {}
    required = ["inputs"] if top else []
    for field in schema.fields.values():
        if not isinstance(field, Out):
            continue
        name = "display" if isinstance(field, Display) else str(field.data_key)
        found = field.schema()
        note = _meaning(str(field.name))
        if note and "$ref" not in found:
            found = {"description": note, **found}
        properties[name] = _nullable(found) if field.allow_none else found
        # Short answers leave the working out, and an object without quantities has no display.
        if name not in ("working", "display"):
            required.append(name)
    return {
        "type": "object",
        "description": (kind.__doc__ or "").strip().split("\n")[0],
        "properties": properties,
        "required": required,
    }


def sheet(found: dict[str, type]) -> Json:
    """Return the schema of an answered sheet, and add what it refers to; see ``sheets.document``."""
    plan, made = answer(Plan, top=False), answer(Sheet)
    for schema in (answer_schema(Plan, top=False), answer_schema(Sheet)):
        inner_answers(schema, found)
    found.pop("Plan", None)
    for name in [name for name, kind in found.items() if kind in (BuildAsk, LightGroup, Led, Supply)]:
        del found[name]
    for name in ("ResistorWishes", "WireWishes", "FuseWishes", "Usage"):
        found.pop(name, None)
    own = {name: value for name, value in made["properties"].items() if name not in ("plan", "light_figures")}
    made_here = {
        "cut_list": plan["properties"]["cuts"],
        "light_figures": {"type": "array", "items": {"type": "object"}},
        "basis": {"type": "object"},
    }
    own.update({name: made_here.get(name) or plan["properties"][name] for name in SHEET_MEMBERS})
    own["display"] = {"type": "object", "additionalProperties": {"type": "string"}}
    required = [name for name in own if name not in ("working", "display")]
    return {**made, "properties": own, "required": required}


def columns(kind: type) -> tuple[list[str], list[str]]:
    """Return the members of an answer that are one value, and those that are lists of objects."""
    properties = sheet({})["properties"] if kind is Sheet else answer(kind)["properties"]
    plain: list[str] = []
    lists: list[str] = []
    for name, schema in properties.items():
        kinds = [part.get("type") for part in schema.get("anyOf", ())] or [schema.get("type")]
        kinds = [one for part in kinds for one in (part if isinstance(part, list) else [part])]
        inner: Json = schema.get("items") or next(
            (p["items"] for p in schema.get("anyOf", ()) if "items" in p), {}
        )
        if "array" in kinds and ("$ref" in inner or inner.get("type") == "object"):
            lists.append(name)
        elif {"number", "integer", "string", "boolean", "array"} & set(kinds):
            plain.append(name)
    return plain, lists


def inner_answers(schema: Schema, found: dict[str, type]) -> None:
    """Add every dataclass that an answer refers to, by its name in the document."""
    for field in schema.fields.values():
        here = field.inner if isinstance(field, Listed) else field
        if isinstance(here, Object) and here.kind.__name__ not in found:
            found[here.kind.__name__] = here.kind
            inner_answers(answer_schema(here.kind, top=False), found)
