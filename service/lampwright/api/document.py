"""The OpenAPI document, made from the same schemas that read requests and write answers.

``python -m lampwright.api.document [FILE]`` writes it, by default to ``openapi/openapi.json`` of the
checkout.
"""

from __future__ import annotations

import sys
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import orjson

from lampwright.api.problems import EVERY, TYPES
from lampwright.contract import jsonschema
from lampwright.contract.answers import answer_schema
from lampwright.contract.asking import AskSchema
from lampwright.contract.calculations import Calculation, offered
from lampwright.contract.parts import LISTS
from lampwright.contract.table import table_pattern
from lampwright.planner.models.build import Sheet

Json = dict[str, Any]

_TAGS = {
    "series-resistors": "circuits",
    "arrangements": "circuits",
    "circuit-checks": "circuits",
    "light-identifications": "circuits",
    "wires": "wiring",
    "fuses": "wiring",
    "runtimes": "energy",
    "supply-choices": "energy",
    "build-sheets": "sheets",
    "diagnoses": "sheets",
    "build-comparisons": "sheets",
    "log-fits": "sheets",
}
_TAG_TEXTS = {
    "circuits": "Resistors, rows of lights, circuits that exist, lights with a hidden resistor.",
    "wiring": "Wire, and what protects it.",
    "energy": "Batteries: how long, and which.",
    "sheets": "Whole builds.",
    "tables": "Many questions of one kind at once, as CSV.",
    "reference": "Parts and sources.",
    "service": "How the service does.",
}
_SVG, _TEXT, _CSV, _HTML, _SPICE, _PDF = (
    "image/svg+xml",
    "text/plain",
    "text/csv",
    "text/html",
    "application/x-spice",
    "application/pdf",
)
_STRING: Json = {"schema": {"type": "string"}}
_ERRORS = {
    "post": (400, 406, 413, 414, 415, 422, 429, 500, 503),
    "get": (400, 406, 414, 422, 429, 500, 503),
    "list": (400, 406, 414, 429, 500, 503),
    "table": (400, 406, 413, 414, 415, 422, 429, 500, 503),
    "document": (400, 414, 429, 500, 503),
    "plain": (429, 500, 503),
}


def _camel(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("-"))


def _ref(kind: str, name: str) -> Json:
    return {"$ref": f"#/components/{kind}/{name}"}


def _errors(group: str) -> Json:
    return {str(status): _ref("responses", TYPES[status].word) for status in _ERRORS[group]}


@cache
def examples_folder() -> Path:
    """Return where the examples are: in the installed package, else beside it in the checkout."""
    package = Path(str(resources.files("lampwright")))
    installed = package / "examples"
    return installed if installed.is_dir() else package.parents[1] / "examples"


def _examples(name: str) -> Json:
    """Return the example requests of one calculation, by a name of their own."""
    found: Json = {}
    folder = examples_folder()
    if name == "build-sheets":
        for file in sorted(folder.glob("*.json")):
            value = orjson.loads(file.read_bytes())
            found[file.stem] = {"summary": value["title"], "value": value}
        return found
    for file in sorted((folder / "worked").glob("*.json")):
        entry = orjson.loads(file.read_bytes())
        if entry.get("path") == f"/v1/{name}":
            summary = {"summary": entry["title"], "description": entry["scenario"]}
            found[file.stem] = {**summary, "value": entry["request"]}
    return found


def _control(name: str, description: str, schema: Json) -> Json:
    return {"name": name, "in": "query", "required": False, "description": description, "schema": schema}


def _controls(forms: tuple[str, ...]) -> list[Json]:
    return [
        _control(
            "format",
            "Form of the answer; without it, Accept decides.",
            {"type": "string", "enum": list(forms)},
        ),
        _control("detail", "short leaves the working out.", {"type": "string", "enum": ["short", "full"]}),
    ]


def _pick_and_rows(kind: type) -> list[Json]:
    """Return what may be picked; paths into lists and objects, too, but a schema cannot list them."""
    plain, lists = jsonschema.columns(kind)
    return [
        _control(
            "pick",
            "One value as plain text, by its name, or by a path such as `findings.0.code`; "
            "`stop: CODE` where the answer holds a stop.",
            {"type": "string", "enum": plain},
        ),
        _control(
            "rows",
            "A list of objects as CSV, by its name or a path to it; not together with pick.",
            {"type": "string", "enum": lists},
        ),
    ]


def _answered(entry: Calculation, forms: Json) -> Json:
    content: Json = {"application/json": {"schema": _ref("schemas", f"{_camel(entry.name)}Answer")}, **forms}
    return {
        "description": "The answer; a bad outcome is told by a finding of severity stop.",
        "headers": {"X-Request-Id": _ref("headers", "X-Request-Id")},
        "content": content,
    }


def _forms(name: str) -> tuple[Json, tuple[str, ...]]:
    from lampwright.api.circuits import netlist_writer
    from lampwright.api.sheets import sheet_writers

    media = {"csv": _CSV, "html": _HTML, "text": _TEXT, "svg": _SVG, "spice": _SPICE, "pdf": _PDF}
    words = ["csv"]
    if name == "build-sheets":
        words = list(dict.fromkeys(["csv", *sheet_writers()]))
    elif name == "circuit-checks":
        words += netlist_writer()
    # Octets have no type in a schema (OpenAPI 3.1, 4.8.14.3).
    content: Json = {media[word]: {} if word == "pdf" else _STRING for word in words}
    return {**content, _TEXT: _STRING}, ("json", *words)


def _calculation(entry: Calculation, schemas: Json) -> Json:
    parts = entry.parts()
    schema: AskSchema = parts.schema
    name = _camel(entry.name)
    schemas[f"{name}Ask"] = jsonschema.ask(schema)
    forms, words = _forms(entry.name)
    examples = _examples(entry.name)
    tag = _TAGS[entry.name]
    again = {
        "again": {
            "operationId": f"post{name}",
            "requestBody": "$response.body#/inputs",
            "description": "What was understood can be sent again for the same answer.",
        }
    }
    answered = _answered(entry, forms)
    controls = [*_controls(words), *_pick_and_rows(parts.answer)]
    operations: Json = {
        "post": {
            "operationId": f"post{name}",
            "summary": entry.summary,
            "description": f"{entry.summary} Members are named with their units.",
            "tags": [tag],
            "parameters": controls,
            "requestBody": {
                "required": True,
                "content": {
                    "application/json": {"schema": _ref("schemas", f"{name}Ask"), "examples": examples}
                },
            },
            "responses": {"200": {**answered, "links": again}, **_errors("post")},
        }
    }
    if entry.by_get:
        asked = jsonschema.ask(schema, query=True)
        flat = [
            value
            for value in (example["value"] for example in examples.values())
            if not any(isinstance(part, (dict, list)) for part in value.values())
        ]
        members: Json = {
            "name": "members",
            "in": "query",
            "required": True,
            "style": "form",
            "explode": True,
            "description": "Every member as a parameter of its own name; parts of a list parted by `;`.",
            "schema": asked,
        }
        if flat:
            members["example"] = flat[0]
        operations["get"] = {
            "operationId": f"get{name}",
            "summary": entry.summary,
            "description": f"{entry.summary} The same members, each as a query parameter.",
            "tags": [tag],
            "parameters": [members, *controls],
            "responses": {
                "200": {**answered, "links": again},
                "304": {"description": "What the caller has is still right."},
                **_errors("get"),
            },
        }
    return operations


def _csv_path(entry: Calculation, operations: Json) -> Json:
    name = _camel(entry.name)
    get = operations["get"]
    return {
        "get": {
            **get,
            "operationId": f"get{name}Csv",
            "summary": f"{entry.summary} As CSV.",
            "parameters": [get["parameters"][0]],
            "responses": {
                "200": {
                    "description": "One row: inputs, then answers.",
                    "content": {_CSV: _STRING},
                },
                **{status: found for status, found in get["responses"].items() if status != "200"},
            },
        }
    }


def _table(entry: Calculation) -> Json:
    name = _camel(entry.name)
    examples = _examples(entry.name)
    flat = [
        e["value"]
        for e in examples.values()
        if not any(isinstance(v, (dict, list)) for v in e["value"].values())
    ]
    header = ",".join(flat[0]) if flat else ""
    cells = ",".join(str(value) for value in flat[0].values()) if flat else ""
    return {
        "post": {
            "operationId": f"post{name}Table",
            "summary": f"{entry.summary} A row a question.",
            "description": "A header of member names, then rows; the answer's columns are added. "
            "A bad row gets an error cell and spoils no other.",
            "tags": ["tables"],
            "requestBody": {
                "required": True,
                "content": {
                    _CSV: {
                        "schema": {"type": "string", "pattern": table_pattern(entry.name)},
                        "example": f"{header}\r\n{cells}\r\n",
                    }
                },
            },
            "responses": {
                "200": {"description": "The table with its answers.", "content": {_CSV: _STRING}},
                **_errors("table"),
            },
        }
    }


def _list(name: str, path: str, *, csv: bool) -> Json:
    words = {"parts": "Every list of parts.", "sources": "Every source of a figure."}
    summary = words.get(name, f"The list of {name}.")
    content = {_CSV: _STRING} if csv else {"application/json": {"schema": {"type": "object"}}, _CSV: _STRING}
    responses: Json = {
        "200": {"description": summary, "content": content},
        "304": {"description": "What the caller has is still right."},
        **_errors("list"),
    }
    if name == "leds" and not csv and "series-resistors" in offered():
        responses["200"]["links"] = {
            "resistorFor": {
                "operationId": "postSeriesResistors",
                "requestBody": {"supply_voltage_v": 9, "led": "$response.body#/leds/0/id"},
                "description": "The resistor for a listed light on 9 V.",
            }
        }
    operation: Json = {
        "operationId": f"list{name.capitalize()}{'Csv' if csv else ''}",
        "summary": summary + (" As CSV." if csv else ""),
        "description": f"{summary} Each entry has id, name, figures and source.",
        "tags": ["reference"],
        "responses": responses,
    }
    if not csv:
        operation["parameters"] = [
            _control("format", "Form of the list.", {"type": "string", "enum": ["json", "csv"]})
        ]
    return {"get": operation}


def _plain(operation_id: str, summary: str, media: str, schema: Json, tag: str) -> Json:
    return {
        "get": {
            "operationId": operation_id,
            "summary": summary,
            "description": summary,
            "tags": [tag],
            "responses": {
                "200": {"description": summary, "content": {media: {"schema": schema}}},
                **_errors("plain"),
            },
        }
    }


def _problem_schemas() -> Json:
    return {
        "Problem": {
            "type": "object",
            "description": "RFC 9457: what is wrong, and every bad member at once.",
            "required": ["type", "title", "status", "detail", "instance", "errors"],
            "properties": {
                "type": {"type": "string", "format": "uri-reference"},
                "title": {"type": "string"},
                "status": {"type": "integer"},
                "detail": {"type": "string"},
                "instance": {"type": "string", "format": "uri"},
                "errors": {"type": "array", "items": _ref("schemas", "ProblemEntry")},
            },
        },
        "ProblemEntry": {
            "type": "object",
            "description": "One bad member: a pointer into the body, or a parameter.",
            "required": ["detail", "value", "hint"],
            "properties": {
                "pointer": {"type": "string"},
                "parameter": {"type": "string"},
                "detail": {"type": "string"},
                "value": {},
                "hint": {"type": "string"},
                "suggestion": {},
            },
        },
    }


def _problem_responses() -> Json:
    found: Json = {}
    told = {status for group in _ERRORS.values() for status in group}
    for status, kind in TYPES.items():
        if status not in told:  # 404 and 405 are of paths and methods the document does not have
            continue
        response: Json = {
            "description": " ".join(f"{one.title}. {one.meaning}" for one in EVERY if one.status == status),
            "headers": {"X-Request-Id": _ref("headers", "X-Request-Id")},
            "content": {"application/problem+json": {"schema": _ref("schemas", "Problem")}},
        }
        if status in (429, 503):
            response["headers"]["Retry-After"] = _ref("headers", "Retry-After")
        found[kind.word] = response
    return found


def document() -> Json:
    """Return the whole document."""
    from lampwright import __version__

    schemas: Json = {}
    paths: Json = {}
    for entry in offered().values():
        operations = _calculation(entry, schemas)
        paths[f"/v1/{entry.name}"] = operations
        if entry.by_get:
            paths[f"/v1/{entry.name}.csv"] = _csv_path(entry, operations)
    for entry in offered().values():
        if entry.by_get:
            paths[f"/v1/tables/{entry.name}"] = _table(entry)
    for name, path in (
        ("parts", "/v1/parts"),
        *((kind, f"/v1/parts/{kind}") for kind in LISTS),
        ("sources", "/v1/sources"),
    ):
        paths[path] = _list(name, path, csv=False)
        paths[f"{path}.csv"] = _list(name, path, csv=True)
    json_object: Json = {"type": "object"}
    own = _plain("getOpenapi", "This document.", "application/json", json_object, "reference")
    told = own["get"]["responses"]
    told.update({"304": {"description": "What the caller has is still right."}, **_errors("document")})
    paths["/v1/openapi.json"] = own
    paths["/healthz"] = _plain(
        "getHealth", "Whether the service is up.", "application/json", json_object, "service"
    )
    paths["/metrics"] = _plain("getMetrics", "Counts for Prometheus.", _TEXT, {"type": "string"}, "service")
    _components(schemas)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Lampwright",
            "version": __version__,
            "description": "Plans low-voltage LED builds for props, costumes and dioramas, with its reasons. "
            "Quantities are numbers in the unit their name ends in, or texts with a unit. "
            "Direct current up to 60 V; mains is refused.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],
        "tags": [{"name": name, "description": text} for name, text in _TAG_TEXTS.items()],
        "paths": paths,
        "components": {
            "schemas": dict(sorted(schemas.items())),
            "responses": _problem_responses(),
            "headers": {
                "X-Request-Id": {
                    "description": "Names this request in answers and log lines.",
                    "schema": {"type": "string"},
                },
                "Retry-After": {
                    "description": "Seconds to wait.",
                    "schema": {"type": "integer"},
                },
            },
        },
    }


def _components(schemas: Json) -> None:
    """Add the schemas that requests and answers refer to."""
    asks: dict[str, AskSchema] = {}
    answers: dict[str, type] = {}
    for entry in offered().values():
        parts = entry.parts()
        jsonschema.inner_asks(parts.schema, asks)
        if parts.answer is Sheet:
            schemas[f"{_camel(entry.name)}Answer"] = jsonschema.sheet(answers)
            continue
        schemas[f"{_camel(entry.name)}Answer"] = jsonschema.answer(parts.answer)
        jsonschema.inner_answers(answer_schema(parts.answer), answers)
    for name, schema in asks.items():
        schemas.setdefault(name, jsonschema.ask(schema))
    for name, kind in answers.items():
        schemas[name] = jsonschema.answer(kind, top=False)
    schemas.update(_problem_schemas())


@cache
def document_bytes() -> bytes:
    """Return the document as it is answered and committed."""
    return orjson.dumps(document(), option=orjson.OPT_INDENT_2) + b"\n"


def main() -> None:
    """Write the document to a file."""
    checkout = Path(__file__).resolve().parents[3] / "openapi" / "openapi.json"
    file = Path(sys.argv[1]) if len(sys.argv) > 1 else checkout
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(document_bytes())


if __name__ == "__main__":
    main()
