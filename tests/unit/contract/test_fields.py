"""Fields: bounds, slips, words, lists, and what a query string becomes."""

from __future__ import annotations

from typing import Any

import pytest
from marshmallow import ValidationError

from lampwright.contract.fields import Clock, Count, Fault, Flag, Many, Plain, Quantity, Text, Word

CURRENT = Quantity("ma", 0.1, 5000)
SHARE = Quantity("pct", 0.1, 50)


def fault_of(field: Any, value: object) -> Fault:
    with pytest.raises(ValidationError) as caught:
        field.deserialize(value)
    (fault,) = caught.value.messages
    assert isinstance(fault, Fault)
    return fault


def test_bounds_are_inclusive() -> None:
    assert CURRENT.deserialize(0.1) == 0.1
    assert CURRENT.deserialize(5000) == 5000.0
    assert CURRENT.deserialize("5 A") == 5000.0


@pytest.mark.parametrize(
    ("field", "value", "suggestion", "status"),
    [
        (CURRENT, "20 A", 20.0, 422),
        (CURRENT, 20_000, 20.0, 400),
        (CURRENT, 0.02, 20.0, 400),
        (SHARE, 0.03, 3.0, 400),
        (CURRENT, -5, None, 400),
        (CURRENT, 1e12, None, 400),
        (Quantity("h", 0.01, 24), 480, 8.0, 400),
        (Quantity("h", 0.01, 24), 25, None, 400),
    ],
)
def test_a_slip_of_the_unit_is_named(
    field: Quantity, value: object, suggestion: float | None, status: int
) -> None:
    fault = fault_of(field, value)
    assert fault.suggestion == suggestion
    assert fault.status == status
    assert "send" in fault.hint


@pytest.mark.parametrize("value", [True, None, [], {}, float("nan"), float("inf"), 10**400, "x"])
def test_what_is_no_quantity_breaks_the_schema(value: object) -> None:
    assert fault_of(CURRENT, value).status == 400


def test_minus_zero_is_zero() -> None:
    assert str(Quantity("v", -1, 1).deserialize(-0.0)) == "0.0"


def test_above_60_volts_says_why() -> None:
    assert "kill" in fault_of(Quantity("v", 0.5, 60, why_high="a touch can kill"), 61)


@pytest.mark.parametrize("value", [0, 10_001, 1.5, "3", True, 10**30])
def test_what_is_no_count_breaks_the_schema(value: object) -> None:
    assert fault_of(Count(), value).status == 400


def test_counts_words_flags_and_clocks() -> None:
    assert Count().deserialize(3.0) == 3
    assert Word(("E12", "E24")).deserialize("E12") == "E12"
    assert Flag().deserialize(True) is True
    assert Clock().deserialize("14:30") == "14:30"
    assert Plain(1, 10).deserialize(2) == 2.0
    assert fault_of(Word(("red_5mm", "blue_5mm"), "light"), "Red 5mm").suggestion == "red_5mm"
    for field, value in (
        (Flag(), "true"),
        (Flag(), 1),
        (Clock(), "24:00"),
        (Plain(1, 10), 11),
        (Word("a"), 1),
    ):
        assert fault_of(field, value).hint


@pytest.mark.parametrize("text", ["\x00", "a\nb", "\u202eabc", "", "x" * 61])
def test_a_title_is_one_line_that_can_be_seen(text: str) -> None:
    assert fault_of(Text(60), text).status == 400


def test_other_letters_are_welcome() -> None:
    assert Text(60).deserialize("Möwe & <Söhne> №1 灯") == "Möwe & <Söhne> №1 灯"


def test_a_list_names_each_bad_entry() -> None:
    field = Many(Quantity("ohm", 0.01, 1e8), 1, 4)
    assert field.deserialize(["4k7", 100]) == [4700.0, 100.0]
    with pytest.raises(ValidationError) as caught:
        field.deserialize([1, "4m7", None])
    assert sorted(caught.value.messages) == [1, 2]
    assert "list" in fault_of(field, 5)
    assert "entries" in fault_of(field, [])


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (CURRENT, "20", 20.0),
        (CURRENT, "20 mA", "20 mA"),
        (CURRENT, "1e999", float("inf")),
        (Count(), "3", 3),
        (Count(), "x", "x"),
        (Flag(), "true", True),
        (Flag(), "no", False),
        (Flag(), "maybe", "maybe"),
        (Plain(1, 10), "2.5", 2.5),
        (Many(Count()), "1;2; 3", [1, 2, 3]),
        (Many(CURRENT), "1;2 mA", ["1", "2 mA"]),
        (Many(Word(("a", "b"))), "a;b", ["a", "b"]),
        (Text(), "5", "5"),
    ],
)
def test_texts_of_a_query_string(field: Any, text: str, value: object) -> None:
    assert field.coerced(text) == value
