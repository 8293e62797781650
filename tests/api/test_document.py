"""The OpenAPI document: valid, committed as made, and true to the service."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from flask import Flask
from flask.testing import FlaskClient
from openapi_spec_validator import validate

from lampwright.api.document import document, document_bytes
from lampwright.contract.parts import parts_list
from lampwright.quantities import UNITS

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"
TESTS = Path(__file__).parents[1]
SPECTRAL = TESTS / "node_modules" / ".bin" / "spectral"
DOCUMENT: dict[str, Any] = document()


def operations() -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (path, method, operation)
        for path, item in DOCUMENT["paths"].items()
        for method, operation in item.items()
    ]


def test_it_is_valid() -> None:
    validate(DOCUMENT)


def linted(document: Path) -> subprocess.CompletedProcess[str]:
    if not SPECTRAL.exists():
        pytest.skip("spectral is not installed: tests/run puts it there")
    rules = ["--ruleset", str(TESTS / "spectral.yaml"), "--fail-severity", "warn"]
    return subprocess.run(
        [str(SPECTRAL), "lint", *rules, str(document)], capture_output=True, text=True, timeout=120
    )


def test_the_linter_finds_no_error_and_no_warning() -> None:
    said = linted(COMMITTED)
    assert said.returncode == 0, said.stdout + said.stderr
    assert "No results" in said.stdout


def test_the_linter_would_find_a_flaw(tmp_path: Path) -> None:
    bad = json.loads(COMMITTED.read_bytes())
    del bad["paths"]["/healthz"]["get"]["operationId"]
    flawed = tmp_path / "openapi.json"
    flawed.write_text(json.dumps(bad), "utf-8")
    said = linted(flawed)
    assert said.returncode == 1
    assert "operation-operationId" in said.stdout


def test_it_is_committed_as_made() -> None:
    # Mended by: python -m lampwright.api.document
    assert COMMITTED.read_bytes() == document_bytes()


def test_it_is_served(client: FlaskClient) -> None:
    assert client.get("/v1/openapi.json").get_json() == json.loads(COMMITTED.read_bytes())


def test_every_operation_is_named_once_and_described() -> None:
    ids = [operation["operationId"] for _, _, operation in operations()]
    assert len(set(ids)) == len(ids)
    for _, _, operation in operations():
        assert operation["summary"]
        assert operation["description"]
        assert operation["tags"]
        assert "200" in operation["responses"]
        assert {"429", "500"} <= set(operation["responses"])


def test_it_has_the_paths_of_the_service_and_no_other(app: Flask) -> None:
    rules = {
        rule.rule
        for rule in app.url_map.iter_rules()
        if rule.rule.startswith(("/v1", "/healthz", "/metrics"))
    }
    assert rules == set(DOCUMENT["paths"])
    assert "/v1/controller-outputs" not in rules
    assert "/v1/pixel-feeds" not in rules


def _schemas(value: Any) -> list[dict[str, Any]]:
    found = []
    if isinstance(value, dict):
        if "properties" in value:
            found.append(value)
        for inner in value.values():
            found += _schemas(inner)
    elif isinstance(value, list):
        for inner in value:
            found += _schemas(inner)
    return found


def test_a_name_with_a_unit_says_so() -> None:
    symbols = {f"_{suffix}": unit.symbol for suffix, unit in UNITS.items()}
    checked = 0
    for schema in _schemas(DOCUMENT):
        for name, member in schema["properties"].items():
            numbers = [part for part in (member, *member.get("anyOf", ())) if part.get("type") == "number"]
            if not numbers:
                continue
            ending = max((end for end in symbols if name.endswith(end)), key=len, default="")
            if ending:
                assert member.get("x-unit") == symbols[ending], name
                checked += 1
    assert checked > 100


def asked() -> dict[str, dict[str, Any]]:
    """Return every schema that a request body refers to, at any depth."""
    found: dict[str, dict[str, Any]] = {}

    def walk(value: Any) -> None:
        if isinstance(value, dict):
            name = str(value.get("$ref", "")).rpartition("/")[2]
            if name and name not in found:
                found[name] = DOCUMENT["components"]["schemas"][name]
                walk(found[name])
            for inner in value.values():
                walk(inner)
        elif isinstance(value, list):
            for inner in value:
                walk(inner)

    for _, _, operation in operations():
        for content in operation.get("requestBody", {}).get("content", {}).values():
            walk(content["schema"])
        for parameter in operation.get("parameters", []):
            walk(parameter["schema"])
    return found


def test_requests_have_inclusive_bounds() -> None:
    schemas = asked()
    assert {"SeriesResistorsAsk", "Led", "String", "Feed", "Light", "BuildSupply", "MeterReading"} <= set(
        schemas
    )
    for schema in schemas.values():
        assert schema["additionalProperties"] is False
        for name, member in schema["properties"].items():
            for part in (member, member.get("items", {}), *member.get("anyOf", ())):
                if part.get("type") in ("number", "integer"):
                    assert part["minimum"] <= part["maximum"], name
                elif part.get("type") == "array":
                    assert part["minItems"] <= part["maxItems"], name
                elif part.get("type") == "string":
                    assert {"enum", "pattern", "maxLength"} & set(part), name


def test_every_place_of_a_part_enumerates_the_ids() -> None:
    listed = {
        "led": "leds",
        "battery": "batteries",
        "supply": "supplies",
    }
    seen = 0
    for schema in asked().values():
        for name, member in schema["properties"].items():
            if name not in (*listed, "leds"):
                continue
            part = member.get("items", member)
            enums = [one["enum"] for one in (part, *part.get("anyOf", ())) if "enum" in one]
            ids = {entry["id"] for entry in parts_list(listed.get(name, name))}
            if name == "supply":  # a battery by itself is one, too
                ids |= {entry["id"] for entry in parts_list("batteries")}
            assert len(enums) == 1, name
            assert set(enums[0]) == ids, name
            seen += 1
    assert seen >= 12


def test_every_calculation_links_to_itself() -> None:
    linked = 0
    for path, method, operation in operations():
        links = operation["responses"]["200"].get("links", {})
        for link in links.values():
            assert link["operationId"] in {each["operationId"] for _, _, each in operations()}
            linked += 1
        if method == "post" and not path.startswith("/v1/tables/"):
            assert links, path
    assert linked >= 15


def test_every_error_that_can_be_answered_is_documented() -> None:
    common = {"200", "429", "500", "503"}
    by_method = {
        "post": common | {"400", "406", "413", "414", "415", "422"},
        "get": common | {"304", "400", "406", "414"},
    }
    for path, method, operation in operations():
        told = set(operation["responses"])
        needed = common if path in ("/healthz", "/metrics") else by_method[method]
        # The document has one form.
        assert needed - ({"406"} if path == "/v1/openapi.json" else set()) <= told, path
        for status in told - {"200", "304"}:
            name = operation["responses"][status]["$ref"].rpartition("/")[2]
            content = DOCUMENT["components"]["responses"][name]["content"]
            assert set(content) == {"application/problem+json"}


def test_parts_are_enumerated() -> None:
    properties = DOCUMENT["components"]["schemas"]["SeriesResistorsAsk"]["properties"]
    assert "red_5mm" in properties["led"]["anyOf"][0]["enum"]
    assert "alkaline_aa" in properties["battery"]["enum"]
    assert properties["e_series"]["default"] == "E24"


EXAMPLES = [
    pytest.param(path, example["value"], id=f"{path}-{name}")
    for path, method, operation in operations()
    if method == "post"
    for name, example in operation["requestBody"]["content"]
    .get("application/json", {})
    .get("examples", {})
    .items()
]


@pytest.mark.parametrize(("path", "members"), EXAMPLES)
def test_each_example_is_answered(client: FlaskClient, path: str, members: dict[str, Any]) -> None:
    said = client.post(path, json=members)
    assert said.status_code == 200
    body = said.get_json()
    schema = DOCUMENT["components"]["schemas"][
        "".join(part.capitalize() for part in path.removeprefix("/v1/").split("-")) + "Answer"
    ]
    assert set(schema["required"]) <= set(body)
    assert set(body) <= set(schema["properties"])


def test_each_query_and_table_example_is_answered(client: FlaskClient) -> None:
    seen = 0
    for path, method, operation in operations():
        if method == "get":
            for parameter in operation.get("parameters", []):
                if parameter["name"] == "members" and "example" in parameter:
                    seen += 1
                    assert client.get(f"{path}?{urlencode(parameter['example'])}").status_code == 200
        elif path.startswith("/v1/tables/"):
            table = operation["requestBody"]["content"]["text/csv"]["example"]
            said = client.post(path, data=table, content_type="text/csv").get_data(as_text=True)
            assert said.splitlines()[1].endswith(",")
            seen += 1
    assert seen >= 15


def test_every_operation_has_an_example() -> None:
    for path, method, operation in operations():
        if method == "post":
            content = operation["requestBody"]["content"]
            assert any(entry.get("examples") or entry.get("example") for entry in content.values()), path
