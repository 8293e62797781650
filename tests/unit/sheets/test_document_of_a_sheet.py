"""The document of a sheet: names with units, nothing left out, sound in the auditor's eyes."""

import json
from dataclasses import replace

import pytest

from lampwright.auditor import audit
from lampwright.planner.models.build import Plan, Sheet
from lampwright.quantities import json_name, unit_of
from lampwright.sheets.document import sheet_document
from lampwright.sheets.writing import as_json, named, writer, written
from tests.builds import NAMES, example_sheet


@pytest.mark.parametrize("name", NAMES)
def test_an_example_is_buildable_and_sound(name):
    sheet = example_sheet(name)
    assert sheet.buildable
    assert sheet.safe == "yes"
    report = audit(sheet_document(sheet))
    assert report.sound, report.failures


@pytest.mark.parametrize("name", NAMES)
def test_the_document_is_plain_json(name):
    document = sheet_document(example_sheet(name))
    again = json.loads(json.dumps(document, allow_nan=False))
    assert again == document


def members(value):
    if isinstance(value, dict):
        for key, item in value.items():
            yield key, item
            yield from members(item)
    elif isinstance(value, list):
        for item in value:
            yield from members(item)


def test_currents_are_milliamperes_and_names_say_so():
    sheet = example_sheet("observatory_diorama")
    document = sheet_document(sheet)
    string, planned = document["strings"][0], sheet.plan.strings[0]
    assert string["current_ma"] == planned.solved.current * 1000
    assert string["run_length_m"] == planned.run_length
    assert document["supply_current_ma"] == sheet.plan.supply_current * 1000
    assert document["wires"][0]["drop_pct"] == sheet.plan.wires[0].figures.drop_fraction * 100
    assert document["fuse"]["rated_current_ma"] == sheet.plan.fuse.rated_current * 1000


def test_a_text_of_one_stem_says_both_numbers():
    wire = sheet_document(example_sheet("observatory_diorama"))["wires"][1]
    assert "(" in wire["display"]["drop"]
    assert "drop_fraction" not in wire["display"]


@pytest.mark.parametrize("name", NAMES)
def test_every_quantity_has_its_unit_in_its_name(name):
    """A stem with a unit never appears without it, save for the objects that share a word."""
    for key, item in members(sheet_document(example_sheet(name))):
        if key == "display" or not isinstance(item, (int, float)) or isinstance(item, bool):
            continue
        assert unit_of(key) is None or key == json_name(key), key


def test_runtime_is_an_object_on_a_battery_and_null_on_an_adapter():
    assert sheet_document(example_sheet("moth_wings"))["runtime"]["runtime_h"] > 0
    assert sheet_document(example_sheet("observatory_diorama"))["runtime"] is None


def test_what_the_interface_names_is_there():
    document = sheet_document(example_sheet("miners_lamp"))
    wanted = (
        "buildable summary strings supply_current_ma wires fuse runtime switch comparison parts_list "
        "cut_list joints build_steps bench_checks fault_finding cautions drawing_text findings "
        "working sources"
    )
    assert set(wanted.split()) <= set(document)


def test_suggestions_carry_public_names():
    assert named({"rated_current": 0.5, "lights": ({"a": 1},)}) == {
        "rated_current_ma": 500.0,
        "lights": [{"a": 1}],
    }


def test_a_word_or_count_is_left_alone():
    assert as_json({"a": (1, "b", None)}) == {"a": [1, "b", None]}


def test_plan_and_sheet_agree_on_their_fields():
    """A new field of the plan or the sheet has to be told in the document (or be left out on purpose)."""
    from dataclasses import fields

    told = set(sheet_document(example_sheet("miners_lamp")))
    apart = {"document", "ask", "plan", "cuts", "row_curves", "event_card", "break_it"}
    for kind in (Plan, Sheet):
        for field in fields(kind):
            assert field.name in apart or json_name(field.name) in told or field.name in told, field.name


@pytest.mark.parametrize("name", NAMES)
def test_what_is_written_quickly_is_what_is_defined(name):
    """Regression: the functions made for each dataclass against the walk that defines what is written."""
    sheet = example_sheet(name)
    plan = sheet.plan
    parts = (
        *(
            plan.strings,
            plan.wires,
            plan.fuse,
            plan.switch,
            plan.runtime,
            plan.comparison,
            plan.cuts,
            plan.joints,
        ),
        *(sheet.parts_list, sheet.build_steps, sheet.bench_checks, sheet.fault_finding, sheet.cautions),
        *(
            sheet.assumptions,
            sheet.light_figures,
            sheet.findings,
            sheet.working,
            tuple(sheet.row_curves),
            tuple(sheet.break_it),
        ),
        *(plan.ask.supply, plan.ask.wire, plan.ask.usage, plan.ask.resistors, plan.ask.lights[0].led),
    )
    for part in parts:
        slow, quick = as_json(part, top=False), written(part)
        assert json.dumps(quick) == json.dumps(slow)
    whole = plan.runtime or plan.fuse
    assert json.dumps(writer(type(whole), top=True)(whole)) == json.dumps(as_json(whole))


def test_a_sheet_keeps_the_document_that_was_audited_and_a_changed_one_does_not():
    sheet = example_sheet("miners_lamp")
    assert sheet.document == sheet_document(sheet)
    assert replace(sheet, title="Another").document is None
