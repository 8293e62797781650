"""A fuse where a short circuit could heat the wire; none, and the reason, behind cells too weak for that.

Common practice, no source: nobody fuses a coin cell; lead, lithium and NiMH always; packs of alkaline cells
are better off with one. A 9 V block is soon flat, but not before it has made thin wire hot.
"""

import re

import pytest

from lampwright.contract.calculations import read
from lampwright.drawing.wiring import wiring_svg
from lampwright.paper.html import render_html
from lampwright.paper.parts_csv import render_csv
from lampwright.paper.text import render_text
from lampwright.planner.models.build import Sheet
from lampwright.sheets.build import build_sheet

F1 = re.compile(r"\bF1\b")
COIN = {"battery": "lithium_coin_cr2032"}
FUSED = (
    {"battery": "alkaline_9v"},
    {"battery": "carbon_zinc_9v"},
    {"battery": "alkaline_aa", "cells_in_series": 3},
    {"battery": "nimh_9v"},
    {"battery": "power_bank_5v"},
    "adapter_12v",
    # What is printed on a supply is no promise of what it gives into touching wires.
    {"supply_voltage_v": 5, "current_limit_ma": 500},
)


def sheet_on(supply, **more) -> Sheet:
    light = {"name": "Glow", "led": "red_5mm", "count": 1, "forward_current_ma": 2}
    return build_sheet(read("build-sheets", {"title": "Pin", "supply": supply, "lights": [light], **more}))


def forms(sheet: Sheet) -> dict[str, str]:
    return {
        "text": render_text(sheet),
        "page": render_html(sheet),
        "drawing": wiring_svg(sheet),
        "parts": render_csv(sheet),
        "steps": " ".join(step.text for step in sheet.build_steps),
        "readings": " ".join(f"{each.zero_means} {each.low_means}" for each in sheet.bench_checks),
        "card": " ".join(f"{line.what} {line.says}" for line in sheet.event_card),
    }


@pytest.mark.parametrize("worn", [False, True])
def test_a_coin_cell_brooch_has_no_fuse_anywhere(worn):
    sheet = sheet_on(COIN, usage={"worn": worn})
    fuse = sheet.plan.fuse
    assert (fuse.rated_current, fuse.needed, fuse.style) == (0.0, "optional", None)
    assert sheet.safe != "no"
    for form, text in forms(sheet).items():
        assert not F1.search(text), form
    wires = [wire for joint in sheet.plan.joints for wire in joint.wires]
    assert "F1" not in wires
    assert not any("fuse" in row.shows.lower() for row in sheet.fault_finding)
    assert "F1" not in {line.part for line in sheet.break_it}


def test_and_says_why():
    (said,) = [each for each in sheet_on(COIN).findings if each.code == "fuse_not_needed"]
    assert said.severity == "note"
    assert "at most 300 mA into touching wires" in said.message
    assert "this wire carries 695 mA" in said.message


@pytest.mark.parametrize("supply", FUSED, ids=str)
def test_where_a_short_could_heat_the_wire_it_is_there_in_every_form(supply):
    sheet = sheet_on(supply)
    assert sheet.plan.fuse.rated_current
    for form, text in forms(sheet).items():
        assert F1.search(text), form


def test_a_nine_volt_block_heats_thin_wire_and_not_thick():
    thin, thick = (
        sheet_on({"battery": "alkaline_9v"}),
        sheet_on({"battery": "alkaline_9v"}, wire={"on_hand_awg": [12]}),
    )
    assert thin.plan.fuse.needed == thick.plan.fuse.needed == "optional"
    assert thin.plan.fuse.rated_current
    assert thick.plan.fuse.rated_current == 0.0
    assert thin.plan.fuse.short_circuit_current > thin.plan.fuse.largest
