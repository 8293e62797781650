"""Lights may be called what the sheet calls a part of its own; nobody can mistake the one for the other."""

import csv
import io
import re

import pytest

from lampwright.drawing.wiring import wiring_svg
from lampwright.paper.html import render_html
from lampwright.paper.netlist import render_netlist
from lampwright.paper.parts_csv import render_csv
from lampwright.paper.text import render_text
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.models.build import BuildAsk, Sheet
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.names import TERMS
from lampwright.planner.supplies import supply_from_voltage
from lampwright.sheets.build import build_sheet
from lampwright.sheets.comparing import compare
from tests.builds import NAMES, UNLIKE, example_sheet, sheet_of

LABELS = ("S1", "F1", "A0", "A", "R_A", "W1", "H3", "X4", "G1", "Fuse", "Resistor", "Switch", "row B", "w9")
PLAIN = tuple(f"Lamps no. {at}" for at in range(len(LABELS)))


def sheet_with(names: tuple[str, ...]) -> Sheet:
    lights = tuple(
        LightGroup(name=name, led=led_from_part(("red_5mm", "white_5mm")[at % 2]), count=3)
        for at, name in enumerate(names)
    )
    return build_sheet(BuildAsk(title="Gate", supply=supply_from_voltage(12.0), lights=lights))


@pytest.fixture(scope="module")
def clashing() -> Sheet:
    return sheet_with(LABELS)


def test_a_note_tells_every_such_name_once_and_nothing_is_stopped(clashing):
    (note,) = [each for each in clashing.findings if each.code == "name_is_label"]
    assert clashing.safe == sheet_with(PLAIN).safe == "yes"
    for name in LABELS:
        assert note.message.count(f"“{name}” (") == 1, name
    for said in (
        "“S1” (a switch)",
        "“A” (row A)",
        "“R_A” (the resistor of row A)",
        "“H3” (a light of row H)",
    ):
        assert said in note.message
    assert note.field == "lights.0.name"


def test_the_name_stands_in_marks_in_every_form(clashing):
    text, page, drawing = render_text(clashing), render_html(clashing), wiring_svg(clashing)
    rows = list(csv.DictReader(io.StringIO(render_csv(clashing))))
    items = [row["item"] for row in rows]
    for at, name in enumerate(LABELS):
        marked = f"light “{name}”"
        assert items.count(marked) == 1
        assert re.search(rf">Row {clashing.plan.strings[at].row}: {marked}[;<]", page)  # the picture
        assert re.search(rf" {marked}\n", text)  # where a row sits
        assert at >= 12 or f"- {marked}: " in text  # what the figures rest on
    assert f"Row A: light “{LABELS[0]}”" in drawing
    assert [row["count"] for row in rows if row["item"] == "Fuse"] == ["1"]


def test_but_for_the_marks_the_sheet_is_that_of_other_names(clashing):
    other = sheet_with(PLAIN)
    assert render_netlist(clashing) == render_netlist(other)
    for told in ("joints", "cuts", "supply_current"):
        assert getattr(clashing.plan, told) == getattr(other.plan, told)
    assert clashing.drawing_text == other.drawing_text
    assert clashing.build_steps == other.build_steps
    assert [each.code for each in clashing.findings if each.code == "audit_failed"] == []


def test_two_versions_tell_it_apart_as_well(clashing):
    fewer = sheet_with(LABELS[1:])
    assert "light “S1”: taken out." in compare(clashing, fewer).changed


@pytest.mark.parametrize("name", ["Beacon", "red", "Lamp 1", "M3", "Tower A", "B-side", "Wing edge", "LED"])
def test_other_names_are_printed_as_they_are(name):
    sheet = sheet_with((name,))
    assert "name_is_label" not in {each.code for each in sheet.findings}
    assert name in [line.item for line in sheet.parts_list]


def test_every_part_the_lists_name_is_known():
    for sheet in [*map(example_sheet, NAMES), *map(sheet_of, UNLIKE)]:
        lights = {light.name for light in sheet.plan.ask.lights}
        items = {line.item.casefold() for line in sheet.parts_list if line.item not in lights}
        assert items <= TERMS
