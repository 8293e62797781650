"""Reference made from the service's own description: endpoints, problem types, settings."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from guide import engine
from guide.text import cell, code, slug, table

_METHODS = ("get", "post", "put", "delete")


@cache
def document() -> dict[str, Any]:
    """Return the OpenAPI document as the service answers it; a test holds the committed one to that."""
    return dict(json.loads(engine.get("/v1/openapi.json")))


def _resolve(node: Mapping[str, Any]) -> Mapping[str, Any]:
    while "$ref" in node:
        found: Any = document()
        for part in node["$ref"].removeprefix("#/").split("/"):
            found = found[part]
        node = found
    return node


def _bounds(schema: Mapping[str, Any]) -> str:
    low, high = schema.get("minimum"), schema.get("maximum")
    if low is None and high is None:
        return ""
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return f"from {low:g}" if low is not None else f"up to {high:g}"


def _kind(schema: Mapping[str, Any]) -> str:
    """Return what a member takes, in a few words."""
    name = schema.get("$ref", "").rpartition("/")[2]
    schema = _resolve(schema)
    choices = schema.get("anyOf") or schema.get("oneOf") or schema.get("allOf")
    if choices and not name:
        said = dict.fromkeys(_kind(choice) for choice in choices)
        return " or ".join(word for word in said if word)
    if schema.get("enum"):
        words = [code(word) for word in schema["enum"] if word is not None]
        return "one of " + ", ".join(words) if len(words) <= 12 else f"one of {len(words)} words"
    kinds = schema.get("type", "")
    if name and (kinds == "object" or "properties" in schema):
        return f"[{name}](#{slug('schema-' + name)})"
    if kinds == "array":
        return "list of " + (_kind(schema.get("items", {})) or "values")
    words = [kinds] if isinstance(kinds, str) else [kind for kind in kinds if kind != "null"]
    text = " or ".join(
        {"integer": "whole number", "boolean": "true or false", "string": "text"}.get(w, w) for w in words
    )
    bounds = _bounds(schema)
    return f"{text}, {bounds}" if bounds else text


def _default(schema: Mapping[str, Any]) -> str:
    value = _resolve(schema).get("default", schema.get("default"))
    return "" if value is None else code(json.dumps(value, ensure_ascii=False))


def _members(schema: Mapping[str, Any]) -> str:
    schema = _resolve(schema)
    required = set(schema.get("required", ()))
    rows = []
    for name, member in schema.get("properties", {}).items():
        text = member.get("description") or _resolve(member).get("description", "")
        rows.append(
            [
                f"**{code(name)}**" if name in required else code(name),
                _kind(member),
                _default(member),
                cell(text),
            ]
        )
    return table(("Member", "Takes", "Default", "Meaning"), rows) if rows else ""


def api() -> str:
    """Return every endpoint: what it does, what it takes, what it answers."""
    parts = []
    for path, item in document()["paths"].items():
        parts += [f"## {code(path)} {{ #{slug(path)} }}", ""]
        for method in _METHODS:
            if method not in item:
                continue
            operation = item[method]
            parts += [f"### {method.upper()} {code(path)} {{ #{slug(method + '-' + path)} }}", ""]
            summary, text = operation.get("summary", ""), operation.get("description", "")
            # A description that begins with the summary says it already.
            parts += [*([] if text.startswith(summary) else [cell(summary), ""]), text, ""]
            parameters = [
                _resolve(p) for p in [*item.get("parameters", []), *operation.get("parameters", [])]
            ]
            if parameters:
                rows = [
                    [
                        f"**{code(p['name'])}**" if p.get("required") else code(p["name"]),
                        _kind(p.get("schema", {})),
                        _default(p.get("schema", {})),
                        cell(p.get("description") or _resolve(p.get("schema", {})).get("description", "")),
                    ]
                    for p in parameters
                ]
                found = table(("Parameter", "Takes", "Default", "Meaning"), rows)
                parts += [
                    f'??? note "{len(rows)} parameters"',
                    "",
                    *("    " + line for line in found.split("\n")),
                    "",
                ]
            for form, body in _resolve(operation.get("requestBody", {})).get("content", {}).items():
                parts += [f"Takes {code(form)}: {_kind(body.get('schema', {}))}.", ""]
            for status, reply in operation.get("responses", {}).items():
                reply = _resolve(reply)
                forms = ", ".join(code(form) for form in reply.get("content", {}))
                schema = next((b.get("schema", {}) for b in reply.get("content", {}).values()), {})
                kind = _kind(schema) if "$ref" in schema else ""
                said = f"{code(status)} {cell(reply.get('description', ''))}"
                parts.append(f"* {said}" + (f" As {forms}" if forms else "") + (f": {kind}" if kind else ""))
            parts.append("")
    parts += ["## Objects { #objects }", ""]
    for name, schema in sorted(document().get("components", {}).get("schemas", {}).items()):
        members = _members(schema)
        parts += [
            f"### {name} {{ #{slug('schema-' + name)} }}",
            "",
            cell(schema.get("description", "")),
            "",
            members,
            "",
        ]
    return "\n".join(parts)


def problems() -> str:
    """Return every problem type."""
    from lampwright.api.problems import EVERY

    parts = []
    for kind in EVERY:
        parts += [
            f"## {kind.word} {{ #{kind.word} }}",
            "",
            f"Status {kind.status}. {cell(kind.title)}.",
            "",
            cell(kind.meaning),
            "",
        ]
    return "\n".join(parts)


def settings() -> str:
    """Return every setting of the service, from its environment variables."""
    from lampwright.config import settings as known

    rows = [
        [f"{code(name)} {{ #{slug(name)} }}", code(default) if default else "none", cell(meaning)]
        for name, default, meaning in known()
    ]
    return table(("Variable", "Default", "Meaning"), rows)


def file(name: str) -> str:
    """Return a file of the examples as it is."""
    return f"```text\n{(engine.EXAMPLES / name).read_text('utf-8')}```"


GENERATORS: dict[str, Callable[..., str]] = {
    "api": api,
    "problems": problems,
    "settings": settings,
    "file": file,
}
