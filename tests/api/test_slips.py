"""Likely slips are refused with the value to send; fair questions are answered."""

import pytest

from lampwright.contract.calculations import offered
from lampwright.contract.fields import Inner, Many

BUILD = {
    "title": "Slips",
    "supply": {"battery": "alkaline_aa", "cells_in_series": 4},
    "lights": [{"name": "eyes", "led": "white_5mm", "count": 4}],
}
ON_TWO_VOLTS = {"supply_voltage_v": 2, "strings": [{"led": {"forward_voltage_v": 9}, "resistance_ohm": 330}]}
FUSED = {"supply_voltage_v": 9, "strings": [{"led": "red_5mm"}], "fuse": {"rated_current_ma": 1}}

SLIPS = [
    (
        "series-resistors",
        {"supply_voltage_v": 2, "forward_voltage_v": 9},
        422,
        {"/supply_voltage_v": 9, "/forward_voltage_v": 2},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 2, "forward_voltage_v": 24},
        400,
        {"/supply_voltage_v": 24, "/forward_voltage_v": 2},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 9, "forward_voltage_v": 20, "forward_current_ma": 2},
        400,
        {"/forward_voltage_v": 2, "/forward_current_ma": 20},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 9, "forward_voltage_v": 10, "forward_current_ma": 2},
        422,
        {"/forward_voltage_v": 2, "/forward_current_ma": 10},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 9, "forward_voltage_v": 2, "forward_current_ma": 0.02},
        400,
        {"/forward_current_ma": 20},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 9, "led": "red_5mm", "ambient_temperature_degc": 95},
        400,
        {"/ambient_temperature_degc": 35},
    ),
    (
        "series-resistors",
        {"supply_voltage_v": 9, "forward_voltage_v": 2, "rated_current_ma": 20, "max_forward_current_ma": 15},
        422,
        {"/rated_current_ma": 15, "/max_forward_current_ma": 20},
    ),
    (
        "arrangements",
        {"supply_voltage_v": 2, "forward_voltage_v": 9, "count": 4},
        422,
        {"/supply_voltage_v": 9, "/forward_voltage_v": 2},
    ),
    (
        "circuit-checks",
        ON_TWO_VOLTS,
        422,
        {"/supply_voltage_v": 9, "/strings/0/led/forward_voltage_v": 2},
    ),
    ("circuit-checks", FUSED, 422, {"/fuse/rated_current_ma": 1000}),
    ("fuses", {"current_ma": 500, "rated_current_ma": 1}, 422, {"/rated_current_ma": 1000}),
    (
        "supply-choices",
        {"load_current_ma": 5, "supply_voltage_v": 300, "hours_wanted_h": 6},
        400,
        {"/load_current_ma": 300, "/supply_voltage_v": 5},
    ),
    (
        "light-identifications",
        {"rated_voltage_v": 20, "rated_current_ma": 12},
        422,
        {"/rated_voltage_v": 12, "/rated_current_ma": 20},
    ),
    (
        "light-identifications",
        {"readings": [{"voltage_v": 18, "current_ma": 12}, {"voltage_v": 12, "current_ma": 9}]},
        422,
        {"/readings/0/voltage_v": 12, "/readings/0/current_ma": 18},
    ),
    (
        "light-identifications",
        {"readings": [{"voltage_v": 200, "current_ma": 12}]},
        400,
        {"/readings/0/voltage_v": 12, "/readings/0/current_ma": 200},
    ),
    (
        "light-identifications",
        {"readings": [{"voltage_v": 12, "current_ma": 0.018}]},
        422,
        {"/readings/0/current_ma": 18},
    ),
    (
        "light-identifications",
        {"rated_voltage_v": 12, "readings": [{"voltage_v": 20, "current_ma": 12}]},
        422,
        {"/readings/0/voltage_v": 12, "/readings/0/current_ma": 20},
    ),
    (
        "build-sheets",
        {
            **BUILD,
            "supply": {"supply_voltage_v": 3},
            "lights": [{"name": "x", "led": {"forward_voltage_v": 12}, "count": 1}],
        },
        422,
        {"/supply/supply_voltage_v": 12, "/lights/0/led/forward_voltage_v": 3},
    ),
]


@pytest.mark.parametrize(("name", "body", "status", "suggested"), SLIPS)
def test_a_slip_is_refused_with_what_to_send(client, problem, name, body, status, suggested):
    found = problem(client.post(f"/v1/{name}", json=body), status)
    assert {error["pointer"]: error["suggestion"] for error in found["errors"]} == suggested
    assert all(error["value"] is not None and error["hint"] for error in found["errors"])


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("series-resistors", {"supply_voltage_v": 2, "forward_voltage_v": 3.2}),
        ("series-resistors", {"supply_voltage_v": 3, "led": "white_5mm"}),
        ("series-resistors", {"supply_voltage_v": 12, "forward_voltage_v": 9, "rated_current_ma": 350}),
        (
            "series-resistors",
            {
                "supply_voltage_v": 12,
                "forward_voltage_v": 9,
                "rated_current_ma": 150,
                "forward_current_ma": 5,
            },
        ),
        # Exchanged, these would not be taken either: the figures beside them speak for what was sent.
        (
            "series-resistors",
            {
                "supply_voltage_v": 12,
                "led": {"forward_voltage_v": 6, "forward_voltage_min_v": 5.8, "rated_current_ma": 5},
            },
        ),
        (
            "series-resistors",
            {
                "supply_voltage_v": 12,
                "led": {"forward_voltage_v": 6, "rated_current_ma": 5, "max_forward_current_ma": 5},
            },
        ),
        (
            "series-resistors",
            {"supply_voltage_v": 12, "led": {"forward_voltage_v": 6, "rated_current_ma": 0.5}},
        ),
        (
            "series-resistors",
            {"supply_voltage_v": 2, "supply_voltage_max_v": 2.1, "forward_voltage_v": 6},
        ),
        (
            "light-identifications",
            {
                "readings": [
                    {"voltage_v": 24, "current_ma": 60},
                    {"voltage_v": 9, "current_ma": 10},
                    {"voltage_v": 3, "current_ma": 20},
                ]
            },
        ),
        ("fuses", {"current_ma": 500, "rated_current_ma": 0}),
        (
            "light-identifications",
            {"readings": [{"voltage_v": 12, "current_ma": 18}, {"voltage_v": 5, "current_ma": 0.02}]},
        ),
        ("light-identifications", {"rated_voltage_v": 12, "rated_current_ma": 20}),
        ("light-identifications", {"rated_voltage_v": 18, "rated_current_ma": 12}),
    ],
)
def test_a_fair_question_is_answered(client, name, body):
    assert client.post(f"/v1/{name}", json=body).status_code == 200


@pytest.mark.parametrize(
    ("name", "body", "pointer"),
    [
        (
            "build-sheets",
            {**BUILD, "supply": {"battery": "alkaline_aa", "cells_in_series": 40}},
            "/supply/cells_in_series",
        ),
        (
            "diagnoses",
            {
                "build": {**BUILD, "supply": {"battery": "alkaline_aa", "capacity_mah": 4}},
                "signs": ["row_out"],
            },
            "/build/supply/capacity_mah",
        ),
        (
            "circuit-checks",
            {"supply_voltage_v": 9, "strings": [{"led": "red_5mm"}, {"led": "red_5mm", "reversed": [3]}]},
            "/strings/1/reversed",
        ),
        (
            "runtimes",
            {
                "battery": "alkaline_9v",
                "strings": [
                    {
                        "leds": [
                            "red_5mm",
                            {"forward_voltage_v": 2, "rated_current_ma": 20, "series_resistance_ohm": 200},
                        ]
                    }
                ],
            },
            "/strings/0/leds/1/series_resistance_ohm",
        ),
    ],
)
def test_a_contradiction_says_where_it_stands(client, problem, name, body, pointer):
    (error,) = problem(client.post(f"/v1/{name}", json=body), 422)["errors"]
    assert error["pointer"] == pointer
    assert error["value"] is not None


def test_a_light_turned_back_is_sent_as_none_reversed(client, problem):
    ask = {"supply_voltage_v": 9, "led": "red_5mm", "resistance_ohm": 470, "reversed": [0]}
    for found in client.post("/v1/series-resistors", json=ask).get_json()["findings"]:
        mended = client.post("/v1/series-resistors", json={**ask, **found["suggestion"]}).get_json()
        assert mended["inputs"]["reversed"] == []
        assert mended["findings"] == []
    # In a query string nothing is no list.
    (error,) = problem(client.get("/v1/series-resistors?supply_voltage_v=9&led=red_5mm&reversed="), 400)[
        "errors"
    ]
    assert (error["parameter"], error["detail"]) == ("reversed", "is empty")


@pytest.mark.parametrize("text", ["230V mains", "230V~", "24 VAC", "wall socket", "230 V 50 Hz"])
def test_mains_by_any_name_is_refused_with_the_reason(client, problem, text):
    (error,) = problem(client.post("/v1/build-sheets", json={**BUILD, "supply": text}), 400)["errors"]
    assert error["pointer"] == "/supply"
    assert "mains" in error["detail"]


def test_volts_in_place_of_a_supplys_name(client, problem):
    (error,) = problem(client.post("/v1/build-sheets", json={**BUILD, "supply": "230V"}), 400)["errors"]
    assert "above 60 V" in error["detail"]
    (error,) = problem(client.post("/v1/build-sheets", json={**BUILD, "supply": "12 V"}), 400)["errors"]
    assert error["hint"].endswith("supply_voltage_v: 12")


@pytest.mark.parametrize(
    ("sent", "hint", "suggestion"),
    [
        ("red", "did you mean red_5mm, ", None),
        ("red_5mmm", "did you mean red_5mm, ", "red_5mm"),
        ("Amber 5mm", "did you mean amber_5mm", "amber_5mm"),
    ],
)
def test_a_light_by_another_name(client, problem, sent, hint, suggestion):
    query = {"supply_voltage_v": 9, "led": sent}
    (error,) = problem(client.get("/v1/series-resistors", query_string=query), 400)["errors"]
    assert error["hint"].startswith(hint)
    assert error["suggestion"] == suggestion


def test_an_unclear_prefix_keeps_its_digits(client, problem):
    query = "/v1/series-resistors?supply_voltage_v=9&led=red_5mm&resistance_ohm=4m7"
    (error,) = problem(client.get(query), 400)["errors"]
    assert "4M7" in error["hint"]
    assert "4.7 mΩ" in error["hint"]


def test_the_wire_keeps_the_volts_it_was_asked_for(client):
    query = "/v1/wires?current_ma=500&run_length_m=3&supply_voltage_v=5"
    assert client.get(query).get_json()["supply_voltage_v"] == 5
    header, row = client.get(f"{query}&format=csv").get_data(as_text=True).splitlines()
    assert dict(zip(header.split(","), row.split(","), strict=True))["supply_voltage_v"] == "5"


def test_findings_name_members_that_can_be_sent(client):
    build = {
        **BUILD,
        "lights": [
            {"name": "a", "led": "red_5mm", "count": 3},
            {"name": "b", "led": "white_5mm", "count": 3, "forward_current_ma": 40},
        ],
    }
    (found,) = client.post("/v1/build-sheets", json=build).get_json()["findings"]
    assert found["field"] == "lights.1.forward_current_ma"
    assert found["suggestion"] == {"forward_current_ma": 20}
    low = {"supply_voltage_v": 12, "strings": [{"led": "prewired_red_5v", "resistance_ohm": 0}]}
    fields = {each["field"] for each in client.post("/v1/circuit-checks", json=low).get_json()["findings"]}
    assert "supply_voltage_v" in fields


def test_a_supply_good_for_one_milliampere_is_one_of_an_ampere(client):
    build = {**BUILD, "supply": {"supply_voltage_v": 12, "current_limit_ma": 1}}
    answer = client.post("/v1/build-sheets", json=build)
    (entry,) = answer.get_json()["errors"]
    assert answer.status_code == 422
    assert (entry["pointer"], entry["suggestion"]) == ("/supply/current_limit_ma", 1000)
    # A coin cell by its figures is good for little, and no slip.
    coin = {**BUILD, "supply": {"supply_voltage_v": 3, "current_limit_ma": 3}}
    assert client.post("/v1/build-sheets", json=coin).status_code == 200


def known(schema, path):
    """Return whether a request has a member of this path."""
    for step in path:
        if step.isdigit():
            continue
        field = {str(each.data_key): each for each in schema.fields.values()}.get(step)
        if field is None:
            return False
        inner = field.inner if isinstance(field, Many) else field
        schema = inner.made if isinstance(inner, Inner) else schema
    return True


def findings_in(value):
    if isinstance(value, dict):
        for name, inside in value.items():
            yield from inside if name == "findings" else findings_in(inside)
    elif isinstance(value, list):
        for inside in value:
            yield from findings_in(inside)


THIN = {"on_hand_awg": [24, 30], "flexing": True}
LIGHTS = [
    {"name": "a", "led": "white_5mm", "count": 7},
    {"name": "b", "led": "red_5mm", "count": 3, "forward_current_ma": 1, "run_length_m": 60},
]


@pytest.mark.parametrize("supply", ["adapter_12v", "usb_port_5v", {"battery": "alkaline_9v"}])
@pytest.mark.parametrize("on_hand", [[100, 330], [1, 2]])
def test_every_finding_of_a_build_is_about_a_member_of_a_build(client, supply, on_hand):
    build = {
        "title": "Fields",
        "supply": supply,
        "lights": LIGHTS,
        "wire": THIN,
        "resistors": {"on_hand_ohm": on_hand},
    }
    schema = offered()["build-sheets"].parts().schema
    found = list(findings_in(client.post("/v1/build-sheets", json=build).get_json()))
    assert found
    for each in found:
        path = each["field"].split(".") if each["field"] else []
        assert known(schema, path), each
        assert all(known(schema, [*path[:-1], name]) for name in each["suggestion"]), each


@pytest.mark.parametrize("volts", [2, 3, 5, 12, 48])
@pytest.mark.parametrize("part", ["white_5mm", "prewired_white_12v", "red_5mm"])
def test_every_finding_of_a_circuit_is_about_a_member_of_a_circuit(client, volts, part):
    circuit = {
        "supply_voltage_v": volts,
        "strings": [{"led": part, "resistance_ohm": ohms, "branch_count": 3} for ohms in (0, 33, 100_000)],
        "wire": {"awg": 30, "run_length_m": 20},
        "fuse": {"rated_current_ma": 50},
    }
    schema = offered()["circuit-checks"].parts().schema
    for each in findings_in(client.post("/v1/circuit-checks", json=circuit).get_json()):
        assert known(schema, each["field"].split(".") if each["field"] else []), each


@pytest.mark.parametrize("path", ["arrangements.0.kind", "arrangements.3.strings.0.resistance_ohm"])
def test_what_a_stop_leaves_out_is_picked_as_the_stop(client, path):
    answer = client.get(f"/v1/arrangements?supply_voltage_v=2&led=white_5mm&count=10&pick={path}")
    assert (answer.status_code, answer.get_data(as_text=True)) == (200, "stop: no_headroom")


def test_a_place_beyond_a_sound_list_is_refused(client, problem):
    problem(
        client.get("/v1/arrangements?supply_voltage_v=12&led=white_5mm&count=10&pick=arrangements.9.kind"),
        400,
    )


def test_defaults_of_runs_and_converters_are_told(client):
    build = client.post("/v1/build-sheets", json=BUILD).get_json()
    assert build["inputs"]["lights"][0]["run_length_m"] == 0.5
    load = {"battery": "alkaline_aa", "cells_in_series": 2, "load_power_w": 0.5}
    inputs = client.post(
        "/v1/runtimes", json={**load, "converter": "boost", "converter_voltage_v": 5}
    ).get_json()["inputs"]
    assert inputs["converter_efficiency_pct"] == 85
    assert inputs["dropout_voltage_v"] == 0
    assert "converter_efficiency_pct" not in client.post("/v1/runtimes", json=load).get_json()["inputs"]


def test_no_run_has_no_length(client, problem):
    lights = [{**BUILD["lights"][0], "run_length_m": 0}]
    (error,) = problem(client.post("/v1/build-sheets", json={**BUILD, "lights": lights}), 400)["errors"]
    assert error["pointer"] == "/lights/0/run_length_m"


def test_the_next_reading_shows_its_quantities(client):
    found = client.post("/v1/light-identifications", json={"rated_voltage_v": 12, "rated_current_ma": 20})
    told = found.get_json()["next_reading"]
    assert set(told["display"]) == {"voltage", "current_low", "current_high"}
    assert told["current_low_ma"] <= told["current_high_ma"]


def test_the_air_of_a_diagnosis_is_that_of_its_build_or_circuit(client, problem):
    circuit = {"supply_voltage_v": 9, "strings": [{"led": "red_5mm", "resistance_ohm": 330}]}
    ask = {"circuit": circuit, "readings": [{"check": "resistor_0", "voltage_v": 6.9}]}
    usual = client.post("/v1/diagnoses", json=ask).get_json()
    assert usual["inputs"]["ambient_temperature_degc"] == 25
    inside = client.post(
        "/v1/diagnoses", json={**ask, "circuit": {**circuit, "ambient_temperature_degc": 60}}
    ).get_json()
    beside = client.post("/v1/diagnoses", json={**ask, "ambient_temperature_degc": 60}).get_json()
    assert beside["inputs"] == inside["inputs"]
    assert beside["causes"] == inside["causes"]
    both = {**inside["inputs"], "ambient_temperature_degc": 10}
    (error,) = problem(client.post("/v1/diagnoses", json=both), 422)["errors"]
    assert error["pointer"] == "/ambient_temperature_degc"


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("runtimes", {"battery": "alkaline_aa", "load_current_ma": 5, "converter_voltage_v": 5}),
        ("runtimes", {"battery": "alkaline_aa", "load_current_ma": 5, "converter_efficiency_pct": 80}),
        (
            "light-identifications",
            {"readings": [{"voltage_v": 9, "current_ma": 14}], "rated_voltage_max_v": 14},
        ),
    ],
)
def test_what_would_be_passed_over_in_silence_is_refused(client, problem, name, body):
    (error,) = problem(client.post(f"/v1/{name}", json=body), 422)["errors"]
    assert error["pointer"] == f"/{list(body)[-1]}"
    assert "means nothing without" in error["detail"]


def test_ampere_hours_are_told_as_a_slip(client, problem):
    body = {"battery": "alkaline_aa", "load_current_ma": 5, "capacity_mah": 2.5}
    (error,) = problem(client.post("/v1/runtimes", json=body), 422)["errors"]
    assert error["suggestion"] == 2500
    assert client.post("/v1/runtimes", json={**body, "capacity_mah": 2500}).status_code == 200


@pytest.mark.parametrize(
    ("battery", "suggestion"),
    [("CR2032", "lithium_coin_cr2032"), ("18650", "liion_18650"), ("AA", None), ("9V", None)],
)
def test_what_is_printed_on_a_battery_leads_to_its_name(client, problem, battery, suggestion):
    body = {"battery": battery, "load_current_ma": 5}
    (error,) = problem(client.post("/v1/runtimes", json=body), 400)["errors"]
    assert error["suggestion"] == suggestion
    assert error["hint"].startswith("did you mean ")
