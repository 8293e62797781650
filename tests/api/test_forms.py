"""Forms of an answer, caching, and the headers around it."""

from __future__ import annotations

import csv
import io
from importlib.util import find_spec
from typing import Any

import pytest
from flask.testing import FlaskClient

ASK = "/v1/series-resistors?supply_voltage_v=9&led=red_5mm&forward_current_ma=15"
LANTERN = {
    "title": "Lantern",
    "supply": {"battery": "alkaline_aa", "cells_in_series": 3},
    "lights": [{"name": "Flame", "led": "amber_5mm", "count": 2}],
}
STOPPED = "/v1/series-resistors?supply_voltage_v=9&led=white_5mm&series_count=3"


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        (None, "application/json"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("application/*", "application/json"),
        ("text/csv", "text/csv"),
        ("text/csv;q=0.9, application/json;q=0.1", "text/csv"),
        ("text/html, application/xhtml+xml, application/xml;q=0.9, */*;q=0.8", "application/json"),
        ("application/json;q=0, text/csv", "text/csv"),
        # The first text form of all there are: a row of cells.
        ("text/*", "text/csv"),
    ],
)
def test_accept_decides(client: FlaskClient, accept: str | None, media: str) -> None:
    response = client.get(ASK, headers={} if accept is None else {"Accept": accept})
    assert response.status_code == 200
    assert response.mimetype == media
    assert response.headers["Vary"] == "Accept"


@pytest.mark.parametrize("accept", ["image/png", "text/html", "application/json;q=0", "nonsense"])
def test_a_form_not_made_is_406(client: FlaskClient, problem: Any, accept: str) -> None:
    response = client.get(ASK, headers={"Accept": accept})
    problem(response, 406)
    assert response.headers["Vary"] == "Accept"


def test_format_and_path_decide_over_accept(client: FlaskClient) -> None:
    by_format = client.get(f"{ASK}&format=csv", headers={"Accept": "application/json"})
    by_path = client.get(ASK.replace("resistors?", "resistors.csv?"))
    assert by_format.mimetype == by_path.mimetype == "text/csv"
    assert by_format.data == by_path.data


def test_csv_is_one_row_of_inputs_then_answers(client: FlaskClient) -> None:
    lines = list(csv.reader(io.StringIO(client.get(f"{ASK}&format=csv").get_data(as_text=True))))
    assert len(lines) == 2
    row = dict(zip(*lines, strict=True))
    assert lines[0][:3] == ["supply_voltage_v", "led", "forward_current_ma"]
    assert row["resistance_ohm"] == "470"
    assert row["colour_bands"] == "yellow;violet;brown;gold"
    assert row["findings"] == ""
    stopped = client.get(f"{STOPPED}&format=csv").get_data(as_text=True)
    row = dict(zip(*csv.reader(io.StringIO(stopped)), strict=True))
    assert row["findings"] == "no_headroom"
    assert row["resistance_ohm"] == ""


@pytest.mark.parametrize("milliamps", [0.1, 20, 4000, 4500, 5000])
def test_what_is_supposed_of_a_light_may_be_sent_again(client: FlaskClient, milliamps: float) -> None:
    led = {"forward_voltage_v": 3, "rated_current_ma": milliamps}
    first = client.post("/v1/series-resistors", json={"supply_voltage_v": 5, "led": led}).get_json()
    again = client.post("/v1/series-resistors", json=first["inputs"])
    assert again.status_code == 200
    assert again.get_json() == first


@pytest.mark.parametrize(
    ("name", "more"),
    [
        ("diagnoses", {"readings": [{"check": "supply_on", "voltage_v": 3}]}),
        ("log-fits", {"readings": [{"check": "supply_on", "voltage_v": 3}]}),
        ("diagnoses", {"signs": ["nothing_lights"]}),
    ],
)
def test_a_stop_within_a_build_says_where(client: FlaskClient, name: str, more: dict[str, Any]) -> None:
    light = {"name": "a", "led": "red_5mm", "count": 3, "forward_current_ma": 900}
    build = {"title": "x", "supply": {"supply_voltage_v": 5}, "lights": [light]}
    found = client.post(f"/v1/{name}", json={"build": build, **more}).get_json()["findings"]
    stops = [one for one in found if one["severity"] == "stop"]
    assert stops
    assert [one["field"] for one in stops] == ["build.lights.0.forward_current_ma"]


def test_a_default_that_was_used_is_told_and_may_be_sent_again(client: FlaskClient) -> None:
    # A bank's label does not say below which current it switches off.
    for current in (20, 60, 200):
        ask = {"battery": "power_bank_5v", "load_current_ma": current}
        first = client.post("/v1/runtimes", json=ask).get_json()
        assert first["inputs"]["wake_current_ma"] == 50
        assert client.post("/v1/runtimes", json=first["inputs"]).get_json() == first
    cells = client.get("/v1/runtimes?battery=alkaline_aa&load_current_ma=5").get_json()
    assert "wake_current_ma" not in cells["inputs"]


@pytest.mark.parametrize(
    ("name", "ask"),
    [
        ("wires", {"current_ma": 500, "run_length_m": 2, "supply_voltage_v": 5}),
        ("fuses", {"current_ma": 500}),
    ],
)
def test_a_gauge_and_its_area_are_one_thing(
    client: FlaskClient, problem: Any, name: str, ask: dict[str, Any]
) -> None:
    wire = client.get("/v1/wires?current_ma=500&run_length_m=2&supply_voltage_v=5").get_json()
    size = {key: wire[key] for key in ("awg", "conductor_area_mm2")}
    both, gauge = (client.post(f"/v1/{name}", json={**ask, **part}) for part in (size, {"awg": size["awg"]}))
    answers = [{**said.get_json(), "inputs": None} for said in (both, gauge)]
    assert answers[0] == answers[1]
    odd = client.post(f"/v1/{name}", json={**ask, **size, "conductor_area_mm2": 6})
    assert problem(odd, 422)["errors"][0]["pointer"] == "/conductor_area_mm2"


def test_what_a_shared_resistor_needs_instead_can_be_sent(client: FlaskClient) -> None:
    strings = [{"led": "red_bright_5mm", "resistance_ohm": 0}, {"led": "white_5mm", "resistance_ohm": 0}]
    ask = {"supply_voltage_v": 5, "shared_resistance_ohm": 150, "strings": strings}
    first = client.post("/v1/circuit-checks", json=ask).get_json()
    found = next(one for one in first["findings"] if one["code"] == "shared_resistor_one_colour")
    mended = client.post("/v1/circuit-checks", json={**ask, **found["suggestion"]})
    assert mended.status_code == 200
    assert not [one for one in mended.get_json()["findings"] if one["severity"] == "stop"]


def test_pick_answers_one_cell(client: FlaskClient) -> None:
    response = client.get(f"{ASK}&pick=resistance_ohm")
    assert response.mimetype == "text/plain"
    assert response.data == b"470"
    assert client.get(f"{ASK}&pick=neighbours.0.resistance_ohm").data == b"430"
    assert client.get(f"{STOPPED}&pick=resistance_ohm").data == b"stop: no_headroom"
    assert client.get(f"{ASK}&pick=working.0.what&detail=short").status_code == 200


def test_rows_answers_a_list(client: FlaskClient) -> None:
    said = client.get(f"{ASK}&rows=neighbours")
    assert said.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(said.get_data(as_text=True))))
    assert [row["resistance_ohm"] for row in rows] == ["430", "510"]
    deep = client.get("/v1/arrangements?supply_voltage_v=12&led=red_5mm&count=10&rows=arrangements.0.strings")
    assert next(csv.DictReader(io.StringIO(deep.get_data(as_text=True))))["leds"].startswith("red_5mm")


def test_short_answers_leave_the_working_out(client: FlaskClient) -> None:
    assert "working" in client.get(ASK).get_json()
    assert "working" not in client.get(f"{ASK}&detail=short").get_json()
    members = {"supply_voltage_v": 9, "led": "red_5mm"}
    assert "working" not in client.post("/v1/series-resistors?detail=short", json=members).get_json()


def test_a_get_may_be_kept_and_is_known_again(client: FlaskClient) -> None:
    first = client.get(ASK)
    tag = first.headers["ETag"]
    assert "max-age" in first.headers["Cache-Control"]
    for sent in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = client.get(ASK, headers={"If-None-Match": sent})
        assert again.status_code == 304
        assert again.data == b""
        assert again.headers["ETag"] == tag
    assert client.get(ASK, headers={"If-None-Match": '"other"'}).status_code == 200
    assert client.get(ASK).data == first.data
    assert client.get(f"{ASK}&format=csv").headers["ETag"] != tag


def test_a_post_is_not_kept(client: FlaskClient) -> None:
    said = client.post("/v1/series-resistors", json={"supply_voltage_v": 9, "led": "red_5mm"})
    assert said.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("path", [ASK, "/v1/parts/leds", "/v1/openapi.json", "/healthz", "/v1/nothing"])
def test_any_page_may_read_but_without_credentials(client: FlaskClient, path: str) -> None:
    said = client.get(path, headers={"Origin": "https://club.example"})
    assert said.headers["Access-Control-Allow-Origin"] == "*"
    assert "Access-Control-Allow-Credentials" not in said.headers
    assert said.headers["X-Content-Type-Options"] == "nosniff"
    assert said.headers["Referrer-Policy"] == "no-referrer"
    assert "default-src 'none'" in said.headers["Content-Security-Policy"]
    assert "Set-Cookie" not in said.headers


def test_options_says_what_is_taken(client: FlaskClient) -> None:
    said = client.options("/v1/series-resistors", headers={"Access-Control-Request-Method": "POST"})
    assert said.status_code == 200
    assert {"GET", "HEAD", "OPTIONS", "POST"} == set(said.headers["Allow"].split(", "))
    assert "POST" in said.headers["Access-Control-Allow-Methods"]
    assert "Content-Type" in said.headers["Access-Control-Allow-Headers"]


def test_head_is_get_without_a_body(client: FlaskClient) -> None:
    head, get = client.head(ASK), client.get(ASK)
    assert head.data == b""
    for name in ("ETag", "Content-Type", "Content-Length", "Cache-Control"):
        assert head.headers[name] == get.headers[name]


def test_each_answer_has_an_id(client: FlaskClient) -> None:
    assert client.get("/healthz", headers={"X-Request-Id": "club-7"}).headers["X-Request-Id"] == "club-7"
    first, second = (client.get("/healthz").headers["X-Request-Id"] for _ in range(2))
    assert first != second
    bad = client.get("/healthz", headers={"X-Request-Id": "a b\tc"}).headers["X-Request-Id"]
    assert bad.isalnum()


def test_utf8_may_be_named(client: FlaskClient) -> None:
    for kind in ("application/json; charset=utf-8", 'application/json;charset="UTF-8"', "Application/JSON"):
        raw = b'{"supply_voltage_v": 9, "led": "red_5mm"}'
        assert client.post("/v1/series-resistors", data=raw, content_type=kind).status_code == 200


def test_a_colon_in_a_text_is_no_second_member(client: FlaskClient) -> None:
    build = {
        "title": 'He said "led": on\\',
        "supply": {"supply_voltage_v": 12},
        "lights": [{"name": '"led":', "led": "red_5mm", "count": 1}],
    }
    assert client.post("/v1/build-sheets?pick=title", json=build).data == b'He said "led": on\\'


def test_counts_for_prometheus(client: FlaskClient) -> None:
    client.get("/v1/wires?current_ma=500&run_length_m=4&supply_voltage_v=12")
    said = client.get("/metrics")
    assert said.mimetype == "text/plain"
    lines = said.get_data(as_text=True).splitlines()
    assert any(line.startswith('lampwright_requests_total{group="wires",status="2xx"}') for line in lines)
    assert any('le="+Inf"' in line for line in lines)
    assert client.get("/healthz").get_json()["status"] == "ok"


@pytest.mark.parametrize(
    ("form", "media"),
    [
        ("html", "text/html"),
        ("text", "text/plain"),
        ("csv", "text/csv"),
        ("svg", "image/svg+xml"),
        ("spice", "application/x-spice"),
        ("json", "application/json"),
    ],
)
def test_a_sheet_in_every_form(client: FlaskClient, form: str, media: str) -> None:
    by_format = client.post(f"/v1/build-sheets?format={form}", json=LANTERN)
    by_accept = client.post("/v1/build-sheets", json=LANTERN, headers={"Accept": media})
    assert by_format.status_code == by_accept.status_code == 200
    assert by_format.mimetype == by_accept.mimetype == media
    assert by_format.data == by_accept.data
    assert b"Lantern" in by_format.data or form == "csv"


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        ("text/*", "text/html"),
        ("text/plain;q=0.5, text/*;q=0.4", "text/plain"),
        ("image/*", "image/svg+xml"),
        ("*/*", "application/json"),
        ("application/*", "application/json"),
    ],
)
def test_a_sheet_in_its_most_natural_form(client: FlaskClient, accept: str, media: str) -> None:
    said = client.post("/v1/build-sheets", json=LANTERN, headers={"Accept": accept})
    assert said.status_code == 200
    assert said.mimetype == media


def test_without_the_extra_a_pdf_is_one_of_the_forms_not_made(
    monkeypatch: pytest.MonkeyPatch, problem: Any
) -> None:
    from lampwright.api import sheets
    from lampwright.app import create_app
    from lampwright.config import Config

    monkeypatch.setattr(sheets, "find_spec", lambda name: None if name == "weasyprint" else find_spec(name))
    client = create_app(Config()).test_client()
    said = client.post(
        "/v1/build-sheets", json=LANTERN, headers={"Accept": "application/pdf, text/html;q=0.5"}
    )
    assert (said.status_code, said.mimetype) == (200, "text/html")
    for way in ({"headers": {"Accept": "application/pdf"}}, {"query_string": "format=pdf"}):
        body = problem(client.post("/v1/build-sheets", json=LANTERN, **way), 406)
        assert "lampwright[pdf]" in body["detail"]


@pytest.mark.parametrize("kind", ["leds", "batteries", "supplies", "wires", "fuses", "resistors"])
def test_lists_of_parts(client: FlaskClient, kind: str) -> None:
    entries = client.get(f"/v1/parts/{kind}").get_json()[kind]
    assert len({entry["id"] for entry in entries}) == len(entries)
    known = {entry["id"] for entry in client.get("/v1/sources").get_json()["sources"]}
    for entry in entries:
        assert entry["name"]
        assert entry["source"] in known
    rows = list(csv.DictReader(io.StringIO(client.get(f"/v1/parts/{kind}.csv").get_data(as_text=True))))
    assert [row["id"] for row in rows] == [entry["id"] for entry in entries]
    assert client.get("/v1/parts").get_json()[kind] == entries


def test_the_ids_of_the_interface_are_there(client: FlaskClient) -> None:
    parts = client.get("/v1/parts").get_json()
    leds = {entry["id"] for entry in parts["leds"]}
    assert {"red_5mm", "white_5mm", "blue_5mm", "prewired_white_12v"} <= leds
    batteries = {entry["id"] for entry in parts["batteries"]}
    assert batteries >= {
        "alkaline_aaa", "alkaline_aa", "alkaline_c", "alkaline_d", "alkaline_9v", "carbon_zinc_9v",
        "lithium_iron_aa", "nimh_aaa", "nimh_aa", "nimh_9v", "lithium_coin_cr2025", "lithium_coin_cr2032",
        "alkaline_button_lr44", "liion_18650", "lipo_1s", "lead_acid_6v", "lead_acid_12v", "power_bank_5v",
    }  # fmt: skip


def test_every_part_figure_has_a_unit(client: FlaskClient) -> None:
    parts = client.get("/v1/parts").get_json()
    suffixes = (
        "_v",
        "_ma",
        "_ohm",
        "_w",
        "_mah",
        "_degc",
        "_pct",
        "_mm",
        "_mm2",
        "_h",
        "_s",
        "_g",
        "_k_per_w",
    )
    bare = {
        name
        for entries in parts.values()
        for entry in entries
        for name, value in entry.items()
        if isinstance(value, float) and not name.endswith(suffixes)
    }
    assert bare <= {"ideality", "temperature_coefficient", "relative_price"}
