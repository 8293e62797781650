"""Answers: dumpers equal to their schemas, units everywhere, inputs that can be sent again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import ValidationError

from lampwright.contract.answers import AsIs, Listed, answer_schema, dump, dumper
from lampwright.contract.calculations import answer, offered, refusing, understand
from lampwright.contract.faults import RefusalError
from lampwright.contract.jsonschema import inner_answers
from lampwright.planner.models.base import Finding
from lampwright.planner.models.build import Sheet
from lampwright.planner.models.wiring import WireFigures
from lampwright.quantities import UNITS, show, show_by_rule
from lampwright.sheets.writing import as_json

EXAMPLES = Path(__file__).parents[3] / "examples"


def requests() -> list[Any]:
    """Return every example request: path, name and members."""
    found = []
    for file in sorted((EXAMPLES / "worked").glob("*.json")):
        entry = json.loads(file.read_text("utf-8"))
        found.append(pytest.param(entry["path"].removeprefix("/v1/"), entry["request"], id=file.stem))
    for file in sorted(EXAMPLES.glob("*.json")):
        found.append(pytest.param("build-sheets", json.loads(file.read_text("utf-8")), id=file.stem))
    return found


@pytest.mark.parametrize(("name", "request_"), requests())
def test_the_fast_dumper_does_as_the_schema_does(name: str, request_: dict[str, Any]) -> None:
    inputs, ask = understand(name, request_)
    with refusing(request_):
        found = offered()[name].parts().planner(ask)
    kind = type(found)
    if kind is Sheet:
        for inner in (found.plan.fuse, found.plan.runtime, *found.plan.wires, *found.bench_checks):
            if inner is not None:
                plain = dumper(type(inner), top=False)(inner)
                assert plain == as_json(inner, top=False)
                assert plain == _without_empty(answer_schema(type(inner), top=False).dump(inner))
        return
    plain = dumper(kind)(found)
    assert plain == _without_empty(answer_schema(kind).dump(found))
    assert dump(inputs, found)["findings"] == plain["findings"]


def _without_empty(value: Any) -> Any:
    """Return an answer without empty displays, which the fast dumper leaves out."""
    if isinstance(value, dict):
        return {k: _without_empty(v) for k, v in value.items() if not (k == "display" and v == {})}
    return [_without_empty(item) for item in value] if isinstance(value, list) else value


@pytest.mark.parametrize(("name", "request_"), requests())
def test_what_was_understood_can_be_sent_again(name: str, request_: dict[str, Any]) -> None:
    first = answer(name, request_)
    # Through JSON, as a caller would send it.
    second = answer(name, json.loads(json.dumps(first["inputs"])))
    assert json.dumps(second, sort_keys=True) == json.dumps(first, sort_keys=True)


@pytest.mark.parametrize(("name", "request_"), requests())
def test_every_sent_member_is_repeated(name: str, request_: dict[str, Any]) -> None:
    assert set(request_) <= set(answer(name, request_, working=False)["inputs"])


@pytest.mark.parametrize(("name", "request_"), requests())
def test_working_can_be_left_out(name: str, request_: dict[str, Any]) -> None:
    assert "working" in answer(name, request_)
    assert "working" not in answer(name, request_, working=False)


# Ratios of the LED curve have no unit; the drawer is told in the request's own words.
UNITLESS = {"ideality", "temperature_coefficient", "certainty", "on_hand"}


def test_every_figure_of_an_answer_has_a_unit() -> None:
    kinds: dict[str, type] = {}
    for entry in offered().values():
        kind = entry.parts().answer
        kinds[kind.__name__] = kind
        inner_answers(answer_schema(kind), kinds)
    bare = {
        stem
        for kind in kinds.values()
        for stem, field in answer_schema(kind, top=False).fields.items()
        for one in [field.inner if isinstance(field, Listed) else field]
        if isinstance(one, AsIs) and float in one.types
    }
    assert bare <= UNITLESS


def test_display_shows_one_text_for_a_stem() -> None:
    display = answer("wires", {"current_ma": 500, "run_length_m": 4, "supply_voltage_v": 12})["display"]
    assert display["drop"].endswith("%)")
    assert "drop_fraction" not in display


def test_one_number_under_two_names_is_told_in_the_unit_of_each() -> None:
    nothing = 0.0
    found = WireFigures(22, nothing, nothing, nothing, nothing, nothing, nothing, None, nothing)
    display = dumper(WireFigures, top=False)(found)["display"]
    assert display == answer_schema(WireFigures, top=False).dump(found)["display"]
    assert display["drop"] == "0 V (0 %)"


def test_a_finding_names_members_by_their_public_names() -> None:
    found = answer("series-resistors", {"supply_voltage_v": 9, "led": "white_5mm", "series_count": 3})
    (finding,) = [entry for entry in found["findings"] if entry["severity"] == "stop"]
    assert set(finding) == {"code", "severity", "message", "remedy", "suggestion", "field"}
    mended = {**found["inputs"], **finding["suggestion"]}
    again = answer("series-resistors", mended)
    assert not [entry for entry in again["findings"] if entry["severity"] == "stop"]


def test_stem_paths_and_suggestions_get_units() -> None:
    suggestion = {"forward_current": 0.01, "series_count": 2, "strings": ({"tolerance": 0.05},)}
    made = Finding("x", "note", "m", "r", suggestion, "lights.0.forward_current")
    plain = dumper(Finding, top=False)(made)
    assert plain["suggestion"] == {
        "forward_current_ma": 10.0,
        "series_count": 2,
        "strings": [{"tolerance_pct": 5.0}],
    }
    assert plain["field"] == "lights.0.forward_current_ma"
    assert plain == answer_schema(Finding, top=False).dump(made)


def test_texts_numbers_and_other_prefixes_give_the_same_bits() -> None:
    told = [
        json.dumps(
            answer("series-resistors", {"supply_voltage_v": volts, "led": "red_5mm", "forward_current_ma": i})
        )
        for volts, i in ((9, 20), ("9 V", "20mA"), ("9000 mV", "0.02 A"), ("9", "20"), (9.0, 20.0))
    ]
    assert len(set(told)) == 1


# members, status, path of the fault, suggestion
REFUSED: list[tuple[dict[str, Any], int, tuple[Any, ...], object]] = [
    ({}, 400, ("supply_voltage_v",), None),
    ({"supply_voltage_v": 9}, 400, ("led",), None),
    ({"supply_voltage_v": 61, "led": "red_5mm"}, 400, ("supply_voltage_v",), None),
    ({"supply_voltage_v": "230 V", "led": "red_5mm"}, 422, ("supply_voltage_v",), None),
    ({"supply_voltage_v": "230 VAC", "led": "red_5mm"}, 400, ("supply_voltage_v",), None),
    ({"supply_voltage_v": 9, "led": "red_5m"}, 400, ("led",), "red_5mm"),
    (
        {"supply_voltage_v": 9, "led": "red_5mm", "forward_curent_ma": 5},
        400,
        ("forward_curent_ma",),
        "forward_current_ma",
    ),
    ({"supply_voltage": 9, "led": "red_5mm"}, 400, ("supply_voltage",), "supply_voltage_v"),
    ({"supply_voltage_v": 9, "battery": "alkaline_9v", "led": "red_5mm"}, 422, ("supply_voltage_v",), None),
    ({"supply_voltage_v": 9, "cells_in_series": 2, "led": "red_5mm"}, 422, ("cells_in_series",), None),
    ({"supply_voltage_v": 9, "led": "red_5mm", "forward_voltage_v": 2}, 422, ("forward_voltage_v",), None),
    ({"supply_voltage_v": 9, "led": "red_5mm", "leds": ["red_5mm"]}, 422, ("led",), None),
    ({"battery": "alkaline_aa", "cells_in_series": 50, "led": "red_5mm"}, 422, ("cells_in_series",), None),
    (
        {"supply_voltage_v": 9, "supply_voltage_min_v": 10, "led": "red_5mm"},
        422,
        ("supply_voltage_min_v",),
        9.0,
    ),
    ({"supply_voltage_v": 9, "forward_voltage_v": 20, "rated_current_ma": 2}, 400, ("forward_voltage_v",), 2),
    (
        {"supply_voltage_v": 9, "forward_voltage_v": 10, "rated_current_ma": 2},
        422,
        ("forward_voltage_v",),
        2.0,
    ),
    ({"supply_voltage_v": 9, "led": {"rated_current_ma": 20}}, 400, ("led", "forward_voltage_v"), None),
    ({"supply_voltage_v": 9, "led": {"forward_voltage_v": "2 A"}}, 400, ("led", "forward_voltage_v"), None),
    ({"supply_voltage_v": 9, "led": "red_5mm", "reversed": [1]}, 422, ("reversed",), None),
    (
        {"supply_voltage_v": 9, "led": "red_5mm", "max_forward_current_ma": 5},
        422,
        ("max_forward_current_ma",),
        None,
    ),
    (
        {"supply_voltage_v": 20, "forward_current_ma": 9000, "led": "red_5mm"},
        400,
        ("forward_current_ma",),
        9.0,
    ),
    (
        {"supply_voltage_v": 9, "led": "red_5mm", "forward_current_ma": "20 A"},
        422,
        ("forward_current_ma",),
        20.0,
    ),
]


@pytest.mark.parametrize(("members", "status", "path", "suggestion"), REFUSED)
def test_is_refused(members: dict[str, Any], status: int, path: tuple[Any, ...], suggestion: object) -> None:
    with pytest.raises(RefusalError) as caught:
        answer("series-resistors", members)
    assert caught.value.status == status
    found = {entry.path: entry for entry in caught.value.entries}
    assert path in found
    assert found[path].detail
    assert found[path].hint
    assert found[path].suggestion == suggestion


def test_every_bad_member_is_named_at_once() -> None:
    members = {"supply_voltage_v": 70, "led": "rd", "series_count": 0, "e_series": "E13", "nope": 1}
    with pytest.raises(RefusalError) as caught:
        answer("series-resistors", members)
    assert {entry.pointer for entry in caught.value.entries} == {f"/{name}" for name in members}
    assert [entry.value for entry in caught.value.entries if entry.pointer == "/nope"] == [1]


def test_two_swapped_fields_are_told_apart() -> None:
    with pytest.raises(RefusalError) as caught:
        answer("wires", {"current_ma": 12, "run_length_m": 2, "supply_voltage_v": 500})
    found = {entry.pointer: entry.suggestion for entry in caught.value.entries}
    assert found == {"/current_ma": 500, "/supply_voltage_v": 12}


def test_a_build_points_deep() -> None:
    build = {
        "title": "x",
        "supply": {"supply_voltage_v": 12},
        "lights": [{"name": "a", "led": "red_5mm", "count": 0}],
    }
    with pytest.raises(RefusalError) as caught:
        answer("build-sheets", build)
    assert [entry.pointer for entry in caught.value.entries] == ["/lights/0/count"]


@pytest.mark.parametrize(("name", "request_"), requests())
def test_the_quick_reader_reads_as_the_schema_does(name: str, request_: dict[str, Any]) -> None:
    schema = offered()[name].parts().schema
    assert schema.load(request_) == schema.load_slowly(request_)


@given(
    st.sampled_from(requests()),
    st.sampled_from(
        ["supply_voltage_v", "battery", "led", "leds", "series_count", "supply_voltage_min_v", "x"]
    ),
    st.sampled_from([9, 2.5, -0.0, "9 V", "alkaline_aa", "red_5mm", ["red_5mm"], None, True, 1e9, {}, 70]),
)
def test_the_quick_reader_refuses_nothing_by_itself(entry: Any, member: str, value: object) -> None:
    name, request_ = entry.values
    changed = {**request_, member: value}
    schema = offered()[name].parts().schema

    def told(load: Any) -> object:
        try:
            return load(changed)
        except ValidationError as error:
            return error.messages

    assert told(schema.load) == told(schema.load_slowly)


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e6, 1e6, allow_nan=False) | st.floats(1e-6, 1e-2))
def test_the_quick_text_is_the_text(unit: str, value: float) -> None:
    assert show(value, unit) == show_by_rule(value, unit)


@given(st.sampled_from(sorted(UNITS)), st.integers(1, 9999), st.integers(-7, 5))
def test_the_quick_text_rounds_alike(unit: str, digits: int, power: int) -> None:
    value = float(f"{digits}5e{power - 4}")
    assert show(value, unit) == show_by_rule(value, unit)
