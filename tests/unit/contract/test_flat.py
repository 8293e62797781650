"""One value, one row, many rows out of an answer; no cell is ever a formula."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.contract import flat

ANSWER = {
    "inputs": {"led": {"forward_voltage_v": 2.0}, "wire": {"awg": 26}, "on_hand_ohm": [100.0, 220.5]},
    "resistance_ohm": 470.0,
    "leds": ["red_5mm", {"forward_voltage_v": 2.0}],
    "within": True,
    "joined": None,
    "neighbours": [{"resistance_ohm": 430.0, "parts_ohm": [1.0, 2.0]}, {"resistance_ohm": 510.0}],
    "findings": [{"code": "a_note", "severity": "note"}],
    "working": [{"what": "x"}],
    "display": {"resistance": "470 Ω"},
}
STOPPED = {
    "resistance_ohm": None,
    "arrangements": [{"kind": "series", "findings": [{"code": "inner", "severity": "stop"}]}],
    "findings": [],
}


def test_one_row_holds_inputs_then_answers() -> None:
    assert flat.flat_answer(ANSWER) == {
        "forward_voltage_v": "2",
        "wire.awg": "26",
        "on_hand_ohm": "100;220.5",
        "resistance_ohm": "470",
        "leds": "red_5mm;light",
        "within": "true",
        "joined": "",
        "findings": "a_note",
    }


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("resistance_ohm", "470"),
        ("neighbours.1.resistance_ohm", "510"),
        ("neighbours.0.parts_ohm", "1;2"),
        ("display.resistance", "470 Ω"),
        ("findings.0.code", "a_note"),
        ("joined", ""),
        ("within", "true"),
        ("leds", "red_5mm;light"),
    ],
)
def test_one_value(path: str, text: str) -> None:
    assert flat.pick(ANSWER, path) == text


@pytest.mark.parametrize(
    "path", ["nope", "neighbours", "neighbours.7.x", "display", "resistance_ohm.x", "", "."]
)
def test_no_such_value(path: str) -> None:
    with pytest.raises(flat.NoSuchValueError) as caught:
        flat.pick(ANSWER, path)
    assert caught.value.hint


def test_a_stop_on_the_way_is_told_instead() -> None:
    assert flat.pick(STOPPED, "resistance_ohm") == ""
    assert flat.pick(STOPPED, "arrangements.0.kind") == "stop: inner"
    stopped = {
        "resistance_ohm": None,
        "strings": None,
        "findings": [{"code": "no_headroom", "severity": "stop"}],
    }
    assert flat.pick(stopped, "resistance_ohm") == "stop: no_headroom"
    assert flat.pick(stopped, "strings.0.current_ma") == "stop: no_headroom"


def test_rows_of_a_list() -> None:
    text = flat.rows(ANSWER, "neighbours")
    assert text == "resistance_ohm,parts_ohm\r\n430,1;2\r\n510,\r\n"
    for path in ("resistance_ohm", "inputs.on_hand_ohm"):
        with pytest.raises(flat.NoSuchValueError):
            flat.rows(ANSWER, path)


@given(st.text(max_size=20))
def test_no_cell_is_a_formula(text: str) -> None:
    said = flat.cell(text)
    if said.startswith(("=", "+", "-", "@", "\t", "\r", "\n")):
        float(said)  # a number is left alone
    out = flat.written(["a"], [{"a": said}])
    if "\r" not in said and "\n" not in said:
        assert next(iter(csv.DictReader(io.StringIO(out))))["a"] == said
