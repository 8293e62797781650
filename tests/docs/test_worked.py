"""How worked examples and lists of an answer are put into words."""

from __future__ import annotations

import re

from guide import engine, facts
from guide.members import CODES, shown
from guide.worked import listed, meter, worked
from lampwright.tables.findings import finding_rows
from tests.docs.conftest import ROOT


def test_the_recommended_arrangement_is_marked_and_is_the_one_at_the_bench():
    answer = engine.answer("ten_lanterns_grouped")
    best = answer["arrangements"][answer["recommended"]]
    assert best != answer["arrangements"][0], "the example has to tell one from the other"
    marked = [line for line in worked("ten_lanterns_grouped", "brief").split("\n") if "recommended**" in line]
    assert len(marked) == 1
    assert best["display"]["supply_current"] in marked[0]
    said = meter("/v1/arrangements", answer)
    for string in best["strings"]:
        assert f"resistor of {string['display']['resistance']} in a row of {string['series_count']}" in said


def test_wires_of_a_list_are_told_apart():
    table = worked("wire_across_the_layout").partition("| Or |")[2].partition("\n\n")[0]
    rows = [[cell.strip() for cell in line.split("|")[1:3]] for line in table.split("\n")[2:]]
    assert len(rows) == len({tuple(row) for row in rows}) == 5
    assert ["0.22 mm²", "12 V"] in rows
    assert ["26 AWG", "12 V"] in rows


def test_items_of_a_list_are_told_apart():
    assert shown("effects", ["It takes more.", "It lasts longer."]) == "It takes more. It lasts longer."
    assert shown("causes", ["a cell is dead, or a contact is open", "F1 has blown"]) == (
        "a cell is dead, or a contact is open; F1 has blown"
    )
    assert shown("colour_bands", ["red", "red", "brown"]) == "red, red, brown"


def test_codes_are_said_in_words():
    met = set()
    for path in (ROOT / "examples" / "worked").glob("*.json"):
        answer = engine.answer(path.stem)
        for name in ("ended_by", "limited_by"):
            if answer.get(name):
                met.add(answer[name])
                assert answer[name] in CODES[name], (path.stem, answer[name])
    assert met >= {"asleep", "empty", "cutoff", "brightness", "drop", "strength"}
    assert shown("ended_by", "asleep") == "the power bank switches itself off"


def test_readings_of_a_sheet_are_counted_and_none_is_left_out():
    checks = engine.answer("moth_wings")["bench_checks"]
    lines = listed("moth_wings", "bench_checks", "no", "tips", "low", "about", "high").split("\n")
    assert len(lines) == 2 + len(checks)
    for number, (line, check) in enumerate(zip(lines[2:], checks, strict=True), start=1):
        assert line.startswith(f"| {number} | ")
        assert "none" not in line
        for text in check.get("display", {}).values():
            assert text in line


def test_no_finding_of_the_guide_advises_a_gap():
    advice = [line for line in facts.findings().split("\n") if line.startswith("*What to do.*")]
    assert len(advice) == len(finding_rows())
    assert [line for line in advice if not re.search(r"\w", re.sub(r"‹.*?›|What to do", "", line))] == []
