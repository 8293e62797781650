"""Rows of a table: their cells, their order, and one answer whichever way it is asked for."""

from __future__ import annotations

import csv
import io
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.contract.answers import members_told
from lampwright.contract.calculations import Parts, answer, offered, rows_found
from lampwright.contract.faults import RefusalError
from lampwright.contract.fields import plain_number
from lampwright.contract.flat import flat_answer, line
from lampwright.contract.table import Table, answer_columns, several, told


@given(st.lists(st.one_of(st.none(), st.integers(-(2**53), 2**53), st.floats()), min_size=1, max_size=9))
def test_numbers_at_once_are_numbers_one_by_one(numbers: list[float | int | None]) -> None:
    assert told(numbers) == ["" if number is None else plain_number(number) for number in numbers]


@pytest.mark.parametrize("number", [1e-4, 9.9e-5, 1e-5, 1e15, 1e16, 1e22, 5e-324, 1e308, 10.00001, 0.1 + 0.2])
def test_numbers_at_the_edges(number: float) -> None:
    for one in (number, -number):
        assert told([one, 20.0]) == [plain_number(one), "20"]


def test_a_list_of_numbers_in_one_cell() -> None:
    assert several([1.5, 2.0, 1e-7]) == "1.5;2;1e-07"
    assert several([-12.0]) == "-12"
    assert several([-12.0, 0.0]) == "'-12;0"  # a spreadsheet would work it out
    assert several([]) == several(None) == ""


cells = st.lists(st.text(st.sampled_from('ab 1.5,;"\n\r\tµ='), max_size=6), min_size=2, max_size=5)


@given(cells)
def test_a_line_is_what_the_library_writes(row: list[str]) -> None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(row)
    assert line(row) == out.getvalue()


def test_a_line_of_one_empty_cell_is_no_empty_line() -> None:
    assert line([""]) == '""\r\n'


def _random_row(chance: random.Random) -> dict[str, str]:
    """Return a question; one in ten cannot be answered."""
    row = {"led": chance.choice(("red_5mm", "white_5mm", "blue_1w", "prewired_white_12v", "ir_950_3mm"))}
    if chance.random() < 0.3:
        row["battery"] = chance.choice(("alkaline_9v", "alkaline_aa", "lithium_coin_cr2032"))
    else:
        row["supply_voltage_v"] = repr(chance.uniform(1.0, 64.0))
    for name, text in (
        ("series_count", str(chance.randint(1, 4))),
        ("branch_count", str(chance.randint(1, 30))),
        ("resistance_ohm", repr(chance.choice((0.0, 47.0, 330.0, chance.uniform(0.0, 2000.0))))),
        ("forward_current_ma", f"{chance.uniform(0.2, 60.0)} mA"),
        ("tolerance_pct", chance.choice(("1", "2", "5", "10"))),
        ("on_hand_ohm", "100;220;470;1k"),
        ("ambient_temperature_degc", repr(chance.uniform(-30.0, 80.0))),
        ("e_series", chance.choice(("E6", "E12", "E96", "E13"))),
    ):
        if chance.random() < 0.25:
            row[name] = text
    return row


def test_500_random_rows_are_500_single_answers() -> None:
    chance = random.Random(20)
    header = [
        "led",
        "battery",
        "supply_voltage_v",
        "series_count",
        "branch_count",
        "resistance_ohm",
        "forward_current_ma",
        "tolerance_pct",
        "on_hand_ohm",
        "ambient_temperature_degc",
        "e_series",
    ]
    asked = [_random_row(chance) for _ in range(500)]
    table = Table("series-resistors", header)
    rows = table.rows([[row.get(name, "") for name in header] for row in asked])
    answered = 0
    for row, said in zip(asked, rows, strict=True):
        found = dict(zip(table.columns, said, strict=True))
        request = {name: table.fields[name].coerced(text) for name, text in row.items()}
        answers = [name for name in table.columns if name not in (*header, "error")]
        if found["error"]:
            with pytest.raises(RefusalError) as refused:
                answer("series-resistors", request)
            assert all(entry.detail in found["error"] for entry in refused.value.entries)
            assert not any(found[name] for name in answers)
            continue
        alone = flat_answer(answer("series-resistors", request))
        left_out = [name for name in header if name not in row and name in answer_columns("series-resistors")]
        assert {name: found[name] for name in left_out} == {name: alone[name] for name in left_out}
        assert {name: found[name] for name in answers} == {name: alone[name] for name in answers}
        answered += 1
    assert 300 < answered < 490


@pytest.mark.parametrize("name", [name for name, entry in offered().items() if entry.by_get])
def test_columns_are_members_of_the_answer(name: str) -> None:
    known = members_told(offered()[name].parts().answer)
    assert {column.partition(".")[0] for column in answer_columns(name)} <= set(known)


def test_a_bad_row_spoils_no_other() -> None:
    table = Table("series-resistors", ["led", "supply_voltage_v"])
    block = [["red_5mm", "9"], ["red_5mm", "9", "?"], ["nope", "9"], ["red_5mm"], ["red_5mm", "9"]]
    first, *bad, last = table.rows(block)
    assert first == last
    assert [row[:2] for row in bad] == [["red_5mm", "9"], ["nope", "9"], ["red_5mm", ""]]
    assert all(row[-1] and not any(row[2:-1]) for row in bad)


def test_what_is_no_fault_of_the_row_is_not_told_as_one() -> None:
    parts = Parts(offered()["wires"])

    def broken(ask: Any) -> Any:
        raise ValueError("a mistake of ours")

    parts.row_planner = broken
    with pytest.raises(ValueError, match="of ours"):
        rows_found(parts, [{"current_ma": 500, "run_length_m": 4, "supply_voltage_v": 12}])
