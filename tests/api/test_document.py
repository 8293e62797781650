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


def test_requests_have_inclusive_bounds() -> None:
    for name, schema in DOCUMENT["components"]["schemas"].items():
        if not name.endswith("Ask"):
            continue
        assert schema["additionalProperties"] is False
        for member in schema["properties"].values():
            for part in (member, *member.get("anyOf", ())):
                if part.get("type") in ("number", "integer"):
                    assert part["minimum"] <= part["maximum"]


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
