"""Questions that would take too long are told so at once, counted and not timed; large ones are answered."""

from __future__ import annotations

import time
from typing import Any

import pytest
from flask.testing import FlaskClient

from lampwright.api import tabular
from lampwright.planner.effort import MOST_TOLD

ROW = {"led": "white_5mm", "resistance_ohm": 100}
FEED = {"segment_loop_ohm": 0.01}
UNLIKE = [{"leds": ["red_5mm"] * 20, "resistance_ohm": 100 + at} for at in range(100)]
LONG = [{"led": "red_5mm", "series_count": 10_000, "resistance_ohm": 100}] * 3
READING = [{"check": "supply_on", "voltage_v": 5}]

TOO_COSTLY: list[tuple[str, dict[str, Any], str]] = [
    (
        "circuit-checks",
        {"supply_voltage_v": 5, "strings": [{**ROW, "branch_count": 10_000}], "feed": FEED},
        "/strings",
    ),
    (
        "circuit-checks",
        {"supply_voltage_v": 5, "strings": [{**ROW, "branch_count": 10_000}] * 100, "feed": FEED},
        "/strings",
    ),
    ("circuit-checks", {"supply_voltage_v": 60, "strings": LONG}, "/strings"),
    ("runtimes", {"battery": "alkaline_9v", "strings": LONG}, "/strings"),
    (
        "diagnoses",
        {"circuit": {"supply_voltage_v": 60, "strings": LONG}, "readings": READING},
        "/circuit/strings",
    ),
    ("diagnoses", {"circuit": {"supply_voltage_v": 60, "strings": UNLIKE}, "readings": READING}, "/circuit"),
    (
        "diagnoses",
        {"circuit": {"supply_voltage_v": 60, "strings": LONG[:1]}, "readings": READING},
        "/circuit",
    ),
]


@pytest.mark.parametrize(("name", "ask", "pointer"), TOO_COSTLY)
def test_too_much_is_told_before_it_is_begun(
    client: FlaskClient, problem: Any, name: str, ask: dict[str, Any], pointer: str
) -> None:
    begun = time.process_time()
    body = problem(client.post(f"/v1/{name}", json=ask), 422)
    assert time.process_time() - begun < 2
    assert body["type"].endswith("#too-costly")
    assert [error["pointer"] for error in body["errors"]] == [pointer]
    assert "at most" in body["errors"][0]["hint"]


def test_much_is_answered(client: FlaskClient) -> None:
    # 1,000 branches one by one; many branches alike without a wire between them are one row.
    strings = [{**ROW, "branch_count": 1000}]
    said = client.post(
        "/v1/circuit-checks?detail=short", json={"supply_voltage_v": 5, "strings": strings, "feed": FEED}
    )
    assert said.status_code == 200
    assert len(said.get_json()["strings"]) == 1000
    alike = {"supply_voltage_v": 5, "strings": [{**ROW, "branch_count": 10_000}] * 100}
    assert client.post("/v1/circuit-checks", json=alike).status_code == 200
    row = {"led": "red_5mm", "series_count": MOST_TOLD // 2}
    assert (
        client.post("/v1/circuit-checks", json={"supply_voltage_v": 9, "strings": [row]}).status_code == 200
    )


def test_a_table_of_too_many_rows(client: FlaskClient, problem: Any) -> None:
    most = tabular.MOST_ROWS["runtimes"]
    table = "battery,load_current_ma\n" + "alkaline_aa,5\n" * (most + 1)
    body = problem(client.post("/v1/tables/runtimes", data=table, content_type="text/csv"), 413)
    assert f"at most {most}" in body["detail"]
