"""Requests meant to hurt: every one is answered, as a problem, with no 5xx and no hang."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

PATH = "/v1/series-resistors"
GOOD = {"supply_voltage_v": 9, "led": "red_5mm"}
J = "application/json"


def body(**members: Any) -> bytes:
    return json.dumps({**GOOD, **members}).encode()


# name, body, content type, statuses
POSTS: list[tuple[str, bytes, str | None, tuple[int, ...]]] = [
    ("nothing", b"", J, (400,)),
    ("spaces", b"   ", J, (400,)),
    ("null", b"null", J, (400,)),
    ("a number", b"5", J, (400,)),
    ("a text", b'"x"', J, (400,)),
    ("a list", b"[]", J, (400,)),
    ("a list of requests", b"[" + body() + b"]", J, (400,)),
    ("cut off", b'{"supply_voltage_v": 9', J, (400,)),
    ("two documents", body() + body(), J, (400,)),
    ("a comment", b'{"supply_voltage_v": 9 /* volts */}', J, (400,)),
    ("single quotes", b"{'supply_voltage_v': 9}", J, (400,)),
    ("a trailing comma", b'{"supply_voltage_v": 9,}', J, (400,)),
    ("NaN", b'{"supply_voltage_v": NaN, "led": "red_5mm"}', J, (400,)),
    ("Infinity", b'{"supply_voltage_v": Infinity, "led": "red_5mm"}', J, (400,)),
    ("1e999", b'{"supply_voltage_v": 1e999, "led": "red_5mm"}', J, (400,)),
    ("-1e999", b'{"supply_voltage_v": -1e999, "led": "red_5mm"}', J, (400,)),
    ("5,000 digits", b'{"supply_voltage_v": ' + b"9" * 5000 + b"}", J, (400,)),
    (
        "300 digits for a count",
        b'{"supply_voltage_v": 9, "led": "red_5mm", "series_count": ' + b"9" * 300 + b"}",
        J,
        (400,),
    ),
    ("a long fraction", b'{"supply_voltage_v": 9.' + b"1" * 5000 + b', "led": "nope"}', J, (400,)),
    ("lists 2,000 deep", b"[" * 2000 + b"]" * 2000, J, (400,)),
    ("lists 20,000 deep, open", b"[" * 20000, J, (400,)),
    ("objects 900 deep", b'{"led":' * 900 + b"1" + b"}" * 900, J, (400,)),
    ("objects 13 deep", b'{"led":' * 13 + b"1" + b"}" * 13, J, (400,)),
    ("a member twice", b'{"supply_voltage_v": 9, "supply_voltage_v": 5, "led": "red_5mm"}', J, (400,)),
    (
        "a member twice, escaped",
        b'{"supply_voltage_v": 9, "supply_voltage\\u005fv": 5, "led": "red_5mm"}',
        J,
        (400,),
    ),
    (
        "an inner member twice",
        b'{"supply_voltage_v": 9, "led": {"forward_voltage_v": 2, "forward_voltage_v": 3}}',
        J,
        (400,),
    ),
    ("a lone surrogate", b'{"supply_voltage_v": 9, "led": "\\ud800"}', J, (400,)),
    ("NUL in a text", b'{"supply_voltage_v": 9, "led": "red\\u0000_5mm"}', J, (400,)),
    ("NUL in a name", b'{"supply_voltage_v": 9, "led\\u0000": "red_5mm"}', J, (400,)),
    ("a raw NUL", b'{"supply_voltage_v": 9, "led": "red\x00"}', J, (400,)),
    ("bad UTF-8", b'{"supply_voltage_v": 9, "led": "\xff\xfe"}', J, (400,)),
    ("UTF-16", '{"supply_voltage_v": 9}'.encode("utf-16"), J, (400,)),
    ("a byte order mark", b"\xef\xbb\xbf" + body(), J, (400,)),
    ("overlong UTF-8", b'{"supply_voltage_v": 9, "led": "\xc0\xaf"}', J, (400,)),
    ("an empty name", body(**{"": 1}), J, (400,)),
    ("a very long name", body(**{"x" * 10_000: 1}), J, (400,)),
    ("a thousand unknown names", body(**{f"x{n}": 1 for n in range(1000)}), J, (400,)),
    ("__proto__", body(__proto__={"admin": True}), J, (400,)),
    ("__class__", body(__class__="x"), J, (400,)),
    ("an object for a number", body(supply_voltage_v={"$gt": 0}), J, (400,)),
    ("a list for a number", body(supply_voltage_v=[9]), J, (400,)),
    ("true for a number", body(supply_voltage_v=True), J, (400,)),
    ("true for a count", body(series_count=True), J, (400,)),
    ("null for a number", body(forward_current_ma=None), J, (400,)),
    ("a fraction of a light", body(series_count=1.5), J, (400,)),
    ("minus one light", body(series_count=-1), J, (400,)),
    ("a denormal", body(supply_voltage_v=5e-324), J, (400,)),
    ("minus zero", b'{"supply_voltage_v": -0.0, "led": "red_5mm"}', J, (400,)),
    ("ten thousand values on hand", body(on_hand_ohm=[100] * 10_000), J, (400,)),
    ("no values on hand", body(on_hand_ohm=[]), J, (400,)),
    ("a path for a part", body(led="../../etc/passwd"), J, (400,)),
    ("SQL for a part", body(led="' OR 1=1 --"), J, (400,)),
    ("a template for a part", body(led="{{7*7}}${7*7}"), J, (400,)),
    ("a script for a part", body(led="<script>alert(1)</script>"), J, (400,)),
    ("a formula for a part", body(led="=HYPERLINK(1)"), J, (400,)),
    ("a megabyte for a part", body(led="x" * 200_000), J, (400,)),
    ("a right-to-left mark", body(led="\u202emm5_der"), J, (400,)),
    ("fullwidth digits", body(supply_voltage_v="９ V"), J, (400,)),
    ("Arabic digits", body(supply_voltage_v="٩ V"), J, (400,)),
    ("a long text for a number", body(supply_voltage_v="9" * 10_000), J, (400,)),
    ("a slow pattern", body(supply_voltage_v="1" * 30 + "," * 29 + "x"), J, (400,)),
    ("mains", body(supply_voltage_v="230 VAC"), J, (400,)),
    ("above 60 V, a number", body(supply_voltage_v=60.0001), J, (400,)),
    ("above 60 V, a text", body(supply_voltage_v="230 V"), J, (422,)),
    (
        "above 60 V, a pack",
        json.dumps({"battery": "alkaline_9v", "cells_in_series": 10_000, "led": "red_5mm"}).encode(),
        J,
        (422,),
    ),
    ("too large", b" " * 300_000 + body(), J, (413,)),
    ("no media type", body(), None, (415,)),
    ("a form", b"supply_voltage_v=9", "application/x-www-form-urlencoded", (415,)),
    ("plain text", body(), "text/plain", (415,)),
    ("XML", b"<a/>", "application/xml", (415,)),
    ("a merge patch", body(), "application/merge-patch+json", (415,)),
    ("Latin-1", body(), "application/json; charset=latin-1", (415,)),
    ("a nonsense media type", body(), "application/json/json", (415,)),
    ("a list of media types", body(), "application/json, text/plain", (415,)),
]


@pytest.mark.parametrize(("name", "raw", "kind", "statuses"), POSTS, ids=[entry[0] for entry in POSTS])
def test_hostile_posts(
    client: FlaskClient, problem: Any, name: str, raw: bytes, kind: str | None, statuses: tuple[int, ...]
) -> None:
    headers = {} if kind is None else {"Content-Type": kind}
    found = problem(client.post(PATH, data=raw, headers=headers), *statuses)
    if statuses[0] in (400, 422):
        assert found["errors"]
        assert all("pointer" in error for error in found["errors"])
    assert len(json.dumps(found)) < 120_000


GETS = [
    ("", (400,)),
    ("?supply_voltage_v=9", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&led=blue_5mm", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&nope=1", (400,)),
    ("?supply_voltage_v=9&led=%ff%fe", (400,)),
    ("?supply_voltage_v=9&led=%00", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&%00=1", (400,)),
    # A digit to some functions, and no number to others.
    ("?%C2%B9=1&%C2%B9=2", (400,)),
    ("?%D9%A3=1&%D9%A3=2", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&pick=neighbours.%C2%B9", (400,)),
    ("?supply_voltage_v=NaN&led=red_5mm", (400,)),
    ("?supply_voltage_v=1e999&led=red_5mm", (400,)),
    ("?supply_voltage_v=-1&led=red_5mm", (400,)),
    ("?supply_voltage_v=&led=red_5mm", (400,)),
    ("?supply_voltage_v=70&led=red_5mm", (400,)),
    ("?supply_voltage_v=70+V&led=red_5mm", (422,)),
    ("?supply_voltage_v=9&led=red_5mm&series_count=99999999999999999999999", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&series_count=-9223372036854775809", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&format=yaml", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&format=", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&detail=all", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&pick=nope", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&pick=__class__", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&pick=neighbours.0.__class__", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&pick=neighbours", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&rows=resistance_ohm", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&rows=neighbours&pick=resistance_ohm", (422,)),
    ("?led={\"forward_voltage_v\":2}&supply_voltage_v=9", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&on_hand_ohm=1;2;x", (400,)),
    ("?supply_voltage_v=9&led=red_5mm&on_hand_ohm=" + ";".join(["1"] * 100), (400,)),
    ("?" + "&".join(f"a{n}=1" for n in range(200)), (400,)),
    ("?supply_voltage_v=9&led=red_5mm&e_series=" + "E" * 9000, (414,)),
]  # fmt: skip


@pytest.mark.parametrize(("query", "statuses"), GETS)
def test_hostile_gets(client: FlaskClient, problem: Any, query: str, statuses: tuple[int, ...]) -> None:
    found = problem(client.get(PATH + query), *statuses)
    if statuses[0] in (400, 422):
        assert all("parameter" in error for error in found["errors"])


BUILD: dict[str, Any] = {
    "title": "x",
    "supply": {"supply_voltage_v": 12},
    "lights": [{"name": "a", "led": "red_5mm", "count": 3}],
}
BUILDS: list[tuple[str, dict[str, Any], str]] = [
    ("no title", {"title": None}, "/title"),
    ("a title of controls", {"title": "a\u0007b"}, "/title"),
    ("a title that turns", {"title": "\u202etxt"}, "/title"),
    ("a title without end", {"title": "x" * 10_000}, "/title"),
    ("no lights", {"lights": []}, "/lights"),
    ("too many kinds of light", {"lights": BUILD["lights"] * 100}, "/lights"),
    ("lights that are none", {"lights": [1]}, "/lights/0"),
    (
        "a million lights",
        {"lights": [{"name": "a", "led": "red_5mm", "count": 1_000_000}]},
        "/lights/0/count",
    ),
    ("a supply of 61 V", {"supply": {"supply_voltage_v": 61}}, "/supply/supply_voltage_v"),
    ("a supply that is none", {"supply": "nuclear"}, "/supply"),
    ("an empty supply", {"supply": {}}, "/supply/supply_voltage_v"),
    ("a supply in a supply", {"supply": {"supply": {"supply": {}}}}, "/supply/supply"),
    ("wire from nowhere", {"wire": {"on_hand_awg": [99]}}, "/wire/on_hand_awg/0"),
    ("minus one hour", {"usage": {"hours_wanted_h": -1}}, "/usage/hours_wanted_h"),
    ("25 hours a day", {"usage": {"hours_per_day_h": 25}}, "/usage/hours_per_day_h"),
]


@pytest.mark.parametrize(("name", "change", "pointer"), BUILDS, ids=[entry[0] for entry in BUILDS])
def test_hostile_builds(
    client: FlaskClient, problem: Any, name: str, change: dict[str, Any], pointer: str
) -> None:
    found = problem(client.post("/v1/build-sheets", json={**BUILD, **change}), 400, 422)
    assert pointer in [error["pointer"] for error in found["errors"]]


def test_a_weak_supply_with_a_wide_window(client: FlaskClient) -> None:
    weak = {
        "supply_voltage_v": 5,
        "supply_voltage_max_v": 20,
        "source_resistance_ohm": 20,
        "current_limit_ma": 5,
    }
    lights = [
        {"name": "a", "led": "blue_3mm", "count": 20},
        {"name": "b", "led": "rgb_green_smd", "count": 20},
        {"name": "c", "led": "ir_940_3mm", "count": 3},
    ]
    said = client.post("/v1/build-sheets", json={"title": "x", "supply": weak, "lights": lights})
    assert said.status_code == 200


@pytest.mark.parametrize(
    "sign", ["row_out_²", "row_out_９９", "_", "row_out_-1", "row_out_99999999999999999999"]
)
def test_signs_that_are_none(client: FlaskClient, problem: Any, sign: str) -> None:
    found = problem(client.post("/v1/diagnoses", json={"build": BUILD, "signs": [sign]}), 422)
    assert found["errors"][0]["pointer"] == "/signs/0"


@pytest.mark.parametrize("form", ["html", "svg", "text", "csv", "spice", "json"])
def test_a_callers_text_is_never_markup(client: FlaskClient, form: str) -> None:
    name = '<script>alert("1")</script>'
    build = {
        **BUILD,
        "title": f"=cmd|'/c calc'!A1 {name}",
        "lights": [{"name": name, "led": "red_5mm", "count": 3}],
    }
    response = client.post(f"/v1/build-sheets?format={form}", json=build)
    assert response.status_code == 200
    said = response.get_data(as_text=True)
    if form in ("html", "svg"):
        assert "<script" not in said
    if form == "csv":
        assert not any(cell.startswith(("=", "@")) for line in said.splitlines() for cell in line.split(","))


@pytest.mark.parametrize(
    ("method", "path", "statuses"),
    [
        ("GET", "/v1/nothing-here", (404,)),
        ("GET", "/v1/", (404,)),
        ("GET", "/v1/series-resistors/", (404,)),
        ("GET", "//v1/series-resistors", (404,)),
        ("GET", "/v1/../v1/wires", (404,)),
        ("GET", "/v1/%2e%2e/etc/passwd", (404,)),
        ("POST", "/v1/controller-outputs", (404,)),
        ("POST", "/v1/pixel-feeds", (404,)),
        ("POST", "/v1/parts/leds", (405,)),
        ("PUT", "/v1/series-resistors", (405,)),
        ("DELETE", "/v1/series-resistors", (405,)),
        ("PATCH", "/v1/wires", (405,)),
        ("GET", "/v1/build-sheets", (405,)),
        ("POST", "/v1/wires.csv", (405,)),
        ("POST", "/healthz", (405,)),
        ("GET", "/v1/parts/leds?nope=1", (400,)),
        ("GET", "/v1/parts/leds?format=html", (400,)),
        ("GET", "/v1/openapi.json?x=1", (400,)),
        ("GET", "/v1/parts/unobtainium", (404,)),
    ],
)
def test_hostile_paths(
    client: FlaskClient, problem: Any, method: str, path: str, statuses: tuple[int, ...]
) -> None:
    response = client.open(path, method=method)
    problem(response, *statuses)
    if response.status_code == 405:
        assert response.headers["Allow"]


def test_the_guide_gives_no_other_files(client: FlaskClient) -> None:
    # Built or not, the guide answers in its own words: a page says it is not there.
    for path in ("/docs/../../etc/passwd", "/docs/%2e%2e/%2e%2e/etc/passwd", "/docs//etc/passwd"):
        response = client.get(path)
        assert response.status_code == 404
        assert b"root:" not in response.data


def test_there_are_enough_of_them() -> None:
    assert len(POSTS) + len(GETS) + len(BUILDS) >= 60
