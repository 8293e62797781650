"""GET, POST and tables are one thing: the same members give the same answer to the last bit."""

from __future__ import annotations

import csv
import io
import json
from typing import Any
from urllib.parse import urlencode

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lampwright.contract.calculations import offered

RANDOM = settings(
    max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def written(value: object) -> str:
    """Return a member as the text of a query string."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return ";".join(written(item) for item in value)
    return repr(value) if isinstance(value, float) else str(value)


amps = st.one_of(
    st.floats(0.1, 5000, allow_nan=False),
    st.integers(1, 100),
    st.sampled_from(["20mA", "0.02 A", "12,5 mA", "500 µA"]),
)
volts = st.one_of(st.floats(0.5, 60, allow_nan=False), st.integers(1, 60), st.sampled_from(["9 V", "3V3"]))
lights = st.sampled_from(["red_5mm", "white_5mm", "blue_5mm", "prewired_white_12v"])

resistors = st.fixed_dictionaries(
    {"supply_voltage_v": volts, "led": lights},
    optional={
        "series_count": st.integers(1, 6),
        "forward_current_ma": amps,
        "e_series": st.sampled_from(["E6", "E12", "E24", "E96"]),
        "on_hand_ohm": st.lists(st.floats(1, 1e6, allow_nan=False), min_size=1, max_size=5),
        "ambient_temperature_degc": st.floats(-20, 60, allow_nan=False),
        "tolerance_pct": st.floats(0, 20, allow_nan=False),
    },
)
figures = st.fixed_dictionaries(
    {"supply_voltage_v": volts, "forward_voltage_v": st.floats(1.2, 4, allow_nan=False)},
    optional={"rated_current_ma": st.floats(6, 100, allow_nan=False), "series_count": st.integers(1, 4)},
)
wires = st.fixed_dictionaries(
    {
        "current_ma": st.floats(1, 5000, allow_nan=False),
        "run_length_m": st.floats(0.1, 20, allow_nan=False),
        "supply_voltage_v": volts,
    },
    optional={
        "flexing": st.booleans(),
        "on_hand_awg": st.lists(st.integers(18, 32), min_size=1, max_size=4, unique=True),
        "max_drop_pct": st.floats(1, 20, allow_nan=False),
    },
)
batteries = st.sampled_from(["alkaline_aa", "alkaline_9v", "lead_acid_12v", "power_bank_5v", "nimh_aaa"])
rows_of_lights = st.fixed_dictionaries(
    {"supply_voltage_v": volts, "led": lights, "count": st.integers(1, 60)},
    optional={
        "forward_current_ma": amps,
        "mix_colours": st.booleans(),
        "tolerance_pct": st.sampled_from([1, "2 %", 5]),
    },
)
fuses = st.fixed_dictionaries(
    {"current_ma": amps},
    optional={
        "awg": st.integers(18, 30),
        "run_length_m": st.one_of(st.floats(0, 20, allow_nan=False), st.sampled_from(["80 cm", "1,5 m"])),
        "battery": batteries,
        "rated_current_ma": st.one_of(st.just(0), st.floats(20, 5000, allow_nan=False)),
        "enclosed": st.booleans(),
    },
)
runtimes = st.fixed_dictionaries(
    {"battery": batteries, "load_current_ma": amps},
    optional={
        "cells_in_series": st.integers(1, 8),
        "duty_pct": st.floats(1, 100, allow_nan=False),
        "hours_per_day_h": st.floats(0.5, 24, allow_nan=False),
        "hours_wanted_h": st.one_of(st.floats(0.1, 500, allow_nan=False), st.sampled_from(["90 min", "2 h"])),
        "stop_at_v": volts,
        "start_clock": st.just("18:30"),
    },
)
asks = st.one_of(
    st.tuples(st.just("series-resistors"), resistors),
    st.tuples(st.just("series-resistors"), figures),
    st.tuples(st.just("arrangements"), rows_of_lights),
    st.tuples(st.just("wires"), wires),
    st.tuples(st.just("fuses"), fuses),
    st.tuples(st.just("runtimes"), runtimes),
)
#: A question of each calculation that has a GET, and a member of it that is a current.
PLAIN: dict[str, tuple[dict[str, Any], str]] = {
    "series-resistors": ({"supply_voltage_v": 9, "led": "red_5mm"}, "forward_current_ma"),
    "arrangements": ({"supply_voltage_v": 12, "led": "blue_5mm", "count": 7}, "forward_current_ma"),
    "wires": ({"run_length_m": 2, "supply_voltage_v": 5}, "current_ma"),
    "fuses": ({"awg": 26}, "current_ma"),
    "runtimes": ({"battery": "alkaline_aa", "cells_in_series": 3}, "load_current_ma"),
}


def normal(body: dict[str, Any]) -> Any:
    """Return an answer, or the faults of a problem, without what names the request."""
    if "errors" in body:
        return [
            (e.get("parameter") or e["pointer"].split("/")[1], e["detail"], e["hint"]) for e in body["errors"]
        ]
    return body


@RANDOM
@given(asks)
def test_get_and_post_agree(client: FlaskClient, ask: tuple[str, dict[str, Any]]) -> None:
    name, members = ask
    post = client.post(f"/v1/{name}", data=json.dumps(members), content_type="application/json")
    get = client.get(f"/v1/{name}?{urlencode({key: written(value) for key, value in members.items()})}")
    assert get.status_code == post.status_code
    assert normal(get.get_json()) == normal(post.get_json())


tabled = st.fixed_dictionaries(
    {
        "supply_voltage_v": volts,
        "leds": st.lists(
            st.sampled_from(["red_5mm", "white_5mm", "prewired_white_12v", "nope"]), min_size=1, max_size=3
        ),
    },
    optional={
        "supply_voltage_min_v": st.floats(0.5, 20, allow_nan=False),
        "resistance_ohm": st.one_of(st.floats(0, 1e5, allow_nan=False), st.just(330.0)),
        "forward_current_ma": amps,
        "branch_count": st.integers(0, 50),
        "reversed": st.lists(st.integers(0, 3), min_size=1, max_size=1),
        "rated_dissipation_w": st.floats(0.01, 10, allow_nan=False),
    },
)


@pytest.mark.parametrize("name", PLAIN)
def test_a_current_may_be_written_in_many_ways(client: FlaskClient, name: str) -> None:
    members, current = PLAIN[name]
    said = []
    for value in (20, 20.0, "20", "20mA", "20 mA", "0.02 A", "0,02 A", "20000 µA", "2e1 mA"):
        ask = {**members, current: value}
        said.append(client.post(f"/v1/{name}", json=ask).get_json())
        query = urlencode({key: written(each) for key, each in ask.items()})
        said.append(client.get(f"/v1/{name}?{query}").get_json())
    assert all(each == said[0] for each in said)
    assert said[0]["inputs"][current] == 20


def test_every_calculation_by_get_is_compared() -> None:
    assert {name for name, entry in offered().items() if entry.by_get} == set(PLAIN)


@settings(RANDOM, max_examples=100)
@given(st.lists(st.one_of(resistors, tabled, figures), min_size=3, max_size=8))
def test_a_table_agrees_with_single_questions(client: FlaskClient, rows: list[dict[str, Any]]) -> None:
    header = list(dict.fromkeys(name for row in rows for name in row))
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(header)
    writer.writerows([written(row[name]) if name in row else "" for name in header] for row in rows)
    said = client.post("/v1/tables/series-resistors", data=out.getvalue(), content_type="text/csv")
    assert said.status_code == 200
    answered = list(csv.DictReader(io.StringIO(said.get_data(as_text=True))))
    assert len(answered) == len(rows)
    for row, found in zip(rows, answered, strict=True):
        query = urlencode({key: written(value) for key, value in row.items()})
        single = client.get(f"/v1/series-resistors.csv?{query}")
        if single.status_code != 200:
            assert found["error"]
            assert not found["current_ma"]
            continue
        assert not found["error"]
        alone = next(csv.DictReader(io.StringIO(single.get_data(as_text=True))))
        answers = [name for name in found if name not in (*header, "error")]
        assert {name: found[name] for name in answers} == {name: alone[name] for name in answers}
