"""A fuse where a short circuit could heat the wire; none, and the reason, behind cells too weak for that.

Common practice, no source: nobody fuses a coin cell; lead, lithium and NiMH always; packs of alkaline cells
are better off with one. A 9 V block is soon flat, but not before it has made thin wire hot.
"""

import re

import pytest

from lampwright.contract.calculations import read
from lampwright.contract.faults import RefusalError
from lampwright.drawing.wiring import wiring_svg
from lampwright.paper.html import render_html
from lampwright.paper.parts_csv import render_csv
from lampwright.paper.text import render_text
from lampwright.planner.models.build import Sheet
from lampwright.sheets.build import build_sheet
from lampwright.sheets.comparing import compare

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
    assert fuse.spares == 0
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


LITHIUM = {"battery": "liion_18650", "cells_in_series": 2}
CELLS = {"battery": "alkaline_aa", "cells_in_series": 3}


def told(sheet: Sheet) -> list[tuple[str, str]]:
    return [(each.code, each.field) for each in sheet.findings if "fuse" in each.code or "audit" in each.code]


@pytest.mark.parametrize(
    ("supply", "fuse", "rated", "style"),
    [
        (COIN, {"rated_current_ma": 400}, 0.4, "glass_5x20"),
        (COIN, {"style": "resettable"}, 0.05, "resettable"),
        (CELLS, {"rated_current_ma": 2000}, 2.0, "glass_5x20"),
        # Sold as a flat one only.
        (CELLS, {"rated_current_ma": 3000}, 3.0, "blade"),
        (CELLS, {"rated_current_ma": 200, "style": "resettable"}, 0.2, "resettable"),
        # A glass tube may burst on what these cells give.
        (LITHIUM, {"rated_current_ma": 1000}, 1.0, "blade"),
    ],
    ids=str,
)
def test_a_fuse_that_is_sent_is_kept(supply, fuse, rated, style):
    sheet = sheet_on(supply, fuse=fuse)
    assert (sheet.plan.fuse.rated_current, sheet.plan.fuse.style) == (rated, style)
    assert sheet.safe != "no"
    for form, text in forms(sheet).items():
        assert F1.search(text), form
    # The wires are thick enough for it, and the audit agrees.
    assert rated <= sheet.plan.fuse.largest
    assert not {code for code, _ in told(sheet)} - {"fuse_not_needed", "resettable_drops_volts"}


@pytest.mark.parametrize(
    ("supply", "code", "safe", "head"),
    [
        (COIN, "fuse_not_needed", "yes", "none needed"),
        ({"battery": "alkaline_9v"}, "fuse_left_out", "yes", "none fitted"),
        (CELLS, "fuse_advised", "with_care", "none fitted"),
        (LITHIUM, "fuse_missing", "no", "none fitted"),
    ],
    ids=str,
)
def test_none_may_be_sent_and_is_judged(supply, code, safe, head):
    sheet = sheet_on(supply, fuse={"rated_current_ma": 0})
    assert sheet.plan.fuse.rated_current == 0.0
    assert told(sheet) == [(code, "fuse.rated_current")]
    assert (sheet.safe == "no") == (safe == "no")
    assert f"Fuse: {head}" in render_text(sheet)
    assert not F1.search(sheet.drawing_text)


def test_the_wire_in_the_drawer_may_be_too_thin_for_it():
    sheet = sheet_on(LITHIUM, fuse={"rated_current_ma": 2000}, wire={"on_hand_awg": [28]})
    assert sheet.safe == "no"
    assert ("fuse_too_big", "fuse.rated_current") in told(sheet)
    assert "audit_failed" not in {code for code, _ in told(sheet)}


@pytest.mark.parametrize(
    ("fuse", "likely"),
    [
        ({"rated_current_ma": 0.5}, 500),
        ({"rated_current_ma": 300}, 315),
        ({"rated_current_ma": 1200, "style": "blade"}, 1000),
    ],
    ids=str,
)
def test_what_is_not_sold_is_refused_with_the_next(fuse, likely):
    with pytest.raises(RefusalError) as refused:
        sheet_on(CELLS, fuse=fuse)
    (entry,) = refused.value.entries
    assert entry.pointer == "/fuse/rated_current_ma"
    assert entry.suggestion == pytest.approx(likely)


def test_what_changed_names_the_fuse():
    changed = compare(sheet_on(CELLS), sheet_on(CELLS, fuse={"rated_current_ma": 0}))
    assert "Fuse, mA: not set, now 0." in changed.changed
    assert "Fuse F1: 400 mA, now none." in changed.effects


def test_little_reserve_is_a_caution_and_none_a_stop():
    light = {"name": "Lamps", "led": "orange_5mm", "count": 12, "forward_current_ma": 3, "run_length_m": 0.35}
    cells = {"battery": "alkaline_aa", "cells_in_series": 4}

    def sheet(milliamps):
        build = {"title": "Lamp", "supply": cells, "lights": [light], "fuse": {"rated_current_ma": milliamps}}
        return build_sheet(read("build-sheets", build))

    assert told(sheet(50)) == [("fuse_little_reserve", "fuse.rated_current")]
    assert sheet(50).safe == "with_care"
    assert told(sheet(32)) == [("fuse_too_small", "fuse.rated_current")]
    assert sheet(32).safe == "no"


def test_a_fuse_too_big_for_a_block_gets_wire_that_needs_none():
    """Two 9 V blocks give some 10 A into a short circuit: a 5 A fuse may not open, so the wire stands it."""
    light = {"name": "Lamps", "led": "yellow_smd", "count": 2, "forward_current_ma": 5, "run_length_m": 5.65}
    blocks = {"battery": "alkaline_9v", "packs_in_parallel": 2}
    wish = {"fuse": {"rated_current_ma": 5000}, "wire": {"bundled_count": 4}}
    build = {"title": "Lamp", "supply": blocks, "lights": [light], **wish}
    sheet = build_sheet(read("build-sheets", build))
    assert {code for code, _ in told(sheet)} <= {"fuse_not_needed"}
    assert sheet.plan.fuse.short_circuit_current <= sheet.plan.fuse.largest or sheet.plan.fuse.clears_short
    thin = build_sheet(read("build-sheets", {**build, "wire": {"bundled_count": 4, "on_hand_awg": [20]}}))
    assert "audit_failed" not in {each.code for each in thin.findings}
