"""The short way in front of the framework answers as the long way does."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask import Flask
from werkzeug.test import Client

from lampwright.api.front import Front
from lampwright.app import create_app
from lampwright.config import Config

GOOD = {"supply_voltage_v": 9, "led": "red_5mm"}


@pytest.fixture(scope="module")
def both() -> tuple[Client, Client]:
    app: Flask = create_app(Config())
    front: Any = app.wsgi_app
    assert isinstance(front, Front)
    return Client(front), Client(front.app)


def headers_of(response: Any) -> dict[str, str]:
    return {name: value for name, value in response.headers.items() if name != "X-Request-Id"}


@pytest.mark.parametrize(
    ("path", "body", "headers"),
    [
        ("/v1/series-resistors", GOOD, {}),
        ("/v1/series-resistors?detail=short", GOOD, {}),
        ("/v1/series-resistors?detail=long", GOOD, {}),
        ("/v1/series-resistors?pick=resistance_ohm", GOOD, {}),
        ("/v1/series-resistors", {}, {}),
        ("/v1/series-resistors", [], {}),
        ("/v1/series-resistors", GOOD, {"Accept": "text/csv"}),
        ("/v1/series-resistors", GOOD, {"Accept": "image/png"}),
        ("/v1/series-resistors", GOOD, {"Content-Encoding": "gzip"}),
        ("/v1/build-sheets", {"title": "x"}, {}),
        ("/v1/nothing", GOOD, {}),
        ("/v1/wires", {"current_ma": 500, "run_length_m": 4, "supply_voltage_v": 12}, {}),
    ],
)
def test_posts_are_answered_alike(
    both: tuple[Client, Client], path: str, body: Any, headers: dict[str, str]
) -> None:
    sent = {"data": json.dumps(body), "content_type": "application/json", "headers": headers}
    short, long = (client.post(path, **sent) for client in both)
    assert short.status_code == long.status_code
    assert headers_of(short) == headers_of(long)
    first, second = short.get_data(as_text=True), long.get_data(as_text=True)
    if short.status_code != 200:
        first, second = (json.loads(text)["errors"] for text in (first, second))
    assert first == second


def test_a_get_asked_again_is_answered_alike(both: tuple[Client, Client]) -> None:
    path = "/v1/wires?current_ma=501&run_length_m=4&supply_voltage_v=12"
    first, again = both[0].get(path), both[0].get(path)
    long = both[1].get(path)
    assert first.data == again.data == long.data
    assert headers_of(first) == headers_of(again) == headers_of(long)


def test_both_ways_are_counted_and_named(both: tuple[Client, Client]) -> None:
    before = both[0].get("/metrics").get_data(as_text=True)
    said = both[0].post("/v1/series-resistors", json=GOOD, headers={"X-Request-Id": "club-1"})
    assert said.headers["X-Request-Id"] == "club-1"
    assert both[0].get("/metrics").get_data(as_text=True) != before
