"""The steps at the bench: every end joined once, nothing live too early, counts that agree everywhere."""

import math
import re
from collections import Counter

import pytest

from lampwright.contract.calculations import read
from lampwright.drawing.wiring import wiring_pages
from lampwright.paper import tables
from lampwright.planner.labels import first_row
from lampwright.quantities import show
from lampwright.sheets.build import build_sheet
from lampwright.sheets.document import sheet_document
from lampwright.tables.joints import supply_leads
from tests.builds import NAMES, UNLIKE, example_sheet, rows_sheet, unlike_sheet

EVERY = (*NAMES, *UNLIKE, "12 rows")  # the last: runs joined in a chain


def sheet_of(name):
    if name == "12 rows":
        return rows_sheet(12)
    return example_sheet(name) if name in NAMES else unlike_sheet(name)


def ends_of(plan):
    """Return every end of every part and wire there is to join, by its name, and how many of it."""
    supply = plan.ask.supply
    found = Counter({"S1": 1, "S1 other lug": 1})
    if plan.fuse.rated_current:
        found += Counter({"F1": 1, "F1 other lead": 1})
    for pole in "+−":
        found[f"supply{pole}"] = supply.packs_in_parallel
        for wire in plan.wires:
            # One end at each point; a run's far end, and what is tapped on its way, once for each row.
            rows = sum(
                string.solved.branch_count
                for string in plan.strings
                if {string.row} & {*wire.serves.split(", ")}
            )
            found[f"{wire.label}{pole}"] = 1 + (rows or 1)
    for string in plan.strings:
        row, count, lights = first_row(string.row), string.solved.branch_count, len(string.leds)
        if string.solved.resistance:
            found[f"R-{row}"] = 2 * count
        found[f"{row}1+"] = found[f"{row}{lights}−"] = count
        if lights > 1:
            found[f"{row} link"] = found[f"{row}1− to {row}{lights}+"] = 2 * (lights - 1) * count
    return found


@pytest.mark.parametrize("name", EVERY)
def test_the_builds_of_these_tests_are_sound(name):
    assert sheet_of(name).plan.buildable


@pytest.mark.parametrize("name", EVERY)
def test_every_end_is_in_a_joint_and_every_joint_in_one_step(name):
    sheet = sheet_of(name)
    plan = sheet.plan
    joined = Counter()
    for joint in plan.joints:
        for end in joint.wires:
            joined[end] += joint.count
    wanted = ends_of(plan)
    assert {end: joined[end] for end in wanted} == dict(wanted)
    # What is left over are ends of connectors between, each half with two poles, and bridges.
    for end in set(joined) - set(wanted):
        assert re.fullmatch(r"(socket|plug)[+−]|bridge \d+[+−]|pack \d+[+−]", end), end
    steps = Counter(label for step in sheet.build_steps for label in step.joints)
    assert steps == Counter(joint.joint for joint in plan.joints)
    for step in sheet.build_steps:
        told = {*re.findall(r"X\d+(?:–X\d+)?", step.text)}
        for first, last in re.findall(r"X(\d+) to X(\d+)", step.text):
            told |= {f"X{number}" for number in range(int(first), int(last) + 1)}
        assert {*step.joints} <= told, step.text


@pytest.mark.parametrize("name", EVERY)
def test_plus_is_known_first_and_the_fuse_is_in_before_current_flows(name):
    sheet = sheet_of(name)
    made = {label: step.number for step in sheet.build_steps for label in step.joints}
    at_plus = next(joint.joint for joint in sheet.plan.joints if "supply+" in joint.wires)
    known = next(step.number for step in sheet.build_steps if step.reading.startswith("supply_off"))
    assert known < made[at_plus]
    live = [step.number for step in sheet.build_steps if step.powered]
    if sheet.plan.fuse.rated_current:
        fuse = next(joint.joint for joint in sheet.plan.joints if "F1" in joint.wires)
        assert made[fuse] < min(live)
    # Whatever is live is a test, is tested cold before all of it is, and nothing is soldered after.
    assert all(step.gate for step in sheet.build_steps if step.powered)
    whole = next(step.number for step in sheet.build_steps if step.reading.startswith("after_switch"))
    assert max(made.values()) < whole
    cold = next(step.number for step in sheet.build_steps if "Beeper" in step.text)
    assert max(made.values()) < cold < whole


@pytest.mark.parametrize("name", EVERY)
def test_sleeves_go_on_first_and_are_shrunk_when_the_test_is_passed(name):
    sheet = sheet_of(name)
    sleeved = {joint.joint for joint in sheet.plan.joints if joint.sleeve_first}
    on = False
    waiting = False
    for step in sheet.build_steps:
        text = step.text.lower()
        on = "sleeves on" in text or (on and bool(step.joints))
        if set(step.joints) & sleeved:
            assert on, step.text
            waiting = True
        if "shrink" in text:
            waiting = False
            assert step.gate or "left" in text
    assert not waiting


@pytest.mark.parametrize("name", EVERY)
def test_sleeves_count_the_same_in_joints_list_and_parts(name):
    sheet = sheet_of(name)
    metres = Counter()
    pieces = Counter()
    for joint in sheet.plan.joints:
        if joint.sleeve_diameter:
            size = show(joint.sleeve_diameter, "mm")
            pieces[size] += joint.count
            metres[size] += joint.count * joint.sleeve_length
    assert {show(each.sleeve_diameter, "mm"): each.count for each in sheet.sleeves} == dict(pieces)
    listed = {}
    for line in sheet.parts_list:
        if line.item == "Shrink sleeve":
            size, length = re.match(r"(.*) before shrinking, (.*) m$", line.value).groups()
            listed[size] = float(length)
    assert set(listed) == set(metres)
    for size, length in metres.items():
        assert math.isclose(listed[size], math.ceil(round(length * 10, 6)) / 10)


@pytest.mark.parametrize("name", EVERY)
def test_wire_to_buy_is_the_wire_to_cut(name):
    sheet = sheet_of(name)
    cut, bought, spools = Counter(), Counter(), Counter()
    for each in sheet.plan.cuts:
        cut[each.awg] += each.count * each.cut_length
    for line in sheet.parts_list:
        if line.item == "Wire":
            awg = int(line.value.split(" AWG")[0])
            spools[awg] += line.count
            metres, each = re.search(r"([\d.]+) m( each)?$", line.value).groups()
            assert bool(each) == (line.count > 1)
            bought[awg] += line.count * float(metres)
    assert set(cut) == set(bought)
    for awg, length in cut.items():
        assert length <= bought[awg] + 1e-9 <= length + 0.1 * spools[awg] + 2e-9


@pytest.mark.parametrize("name", EVERY)
def test_what_holds_the_supply_is_in_the_parts_list(name):
    sheet = sheet_of(name)
    leads = {row.item for row in supply_leads().values()}
    lead = next(line for line in sheet.parts_list if line.item in leads)
    joined = sum(joint.wires.count("supply+") for joint in sheet.plan.joints)
    series = sum(joint.count for joint in sheet.plan.joints if joint.wires[0].startswith("pack "))
    assert lead.count == joined + series
    plugs = [line for line in sheet.parts_list if line.item == "Plug, socket"]
    wanted = any("plug+" in joint.wires for joint in sheet.plan.joints)
    assert [line.count for line in plugs] == ([1] if wanted else [])


def test_a_meter_too_weak_for_a_colour_is_named_and_prewired_lights_are_tested_in_their_row():
    said = " ".join(step.text for step in example_sheet("moth_wings").build_steps)
    assert "Meter too weak for blue or warm white?" in said
    assert "too weak" not in " ".join(step.text for step in unlike_sheet("hat on a 9 V block").build_steps)
    prewired = unlike_sheet("pre-wired lights on a USB port").build_steps
    assert any("A1's plus lead" in step.text and step.powered for step in prewired)


def test_the_document_tells_joints_tools_and_sleeves():
    document = sheet_document(example_sheet("moth_wings"))
    assert document["build_steps"][2]["joints"] == ["X1", "X2", "X5"]
    assert any(step["powered"] for step in document["build_steps"])
    assert document["sleeves"][0]["count"] == 42
    assert math.isclose(document["sleeves"][0]["sleeve_length_mm"], 20)
    assert any("meter" in tool for tool in document["tools"])


@pytest.mark.parametrize("name", EVERY)
def test_pieces_have_one_label_in_cut_list_and_joint_table(name):
    """What is cut is joined under the same name; rows alike go by the first of them."""
    sheet = sheet_of(name)
    ends = {end for joint in sheet.plan.joints for end in joint.wires}
    count = Counter()
    for label, size, _ in tables.cuts(sheet).rows:
        said, _, times = label.partition(" × ")
        if said == "sleeve":
            count[size] += int(times)
            continue
        for each in said.split(", "):
            if each.endswith(" link"):
                assert f"{first_row(each.removesuffix(' link'))} link" in ends
            elif " to " not in each:
                assert each in ends
    assert sum(count.values()) == sum(joint.count for joint in sheet.plan.joints if joint.sleeve_first)


@pytest.mark.parametrize("name", EVERY)
def test_the_drawing_and_its_words_name_the_joints_of_the_table(name):
    sheet = sheet_of(name)
    labels = {joint.joint for joint in sheet.plan.joints}
    for told in (sheet.drawing_text, re.sub(r"<desc.*?</desc>", "", " ".join(wiring_pages(sheet)))):
        found = {*re.findall(r"X\d+(?:–X\d+)?", told)}
        assert found
        assert found <= labels
    rows = {joint.joint for joint in sheet.plan.joints if any(end[:2] == "R-" for end in joint.wires)}
    assert rows <= {*re.findall(r"X\d+(?:–X\d+)?", sheet.drawing_text)}


def test_letters_that_name_no_row_are_told_where_rows_pass_over_them():
    """F, G, I, O, R, S, W and X are fuse, supply and so on, or look like digits (labels.py)."""
    assert "F, G, I, O, R, S, W or X" in tables.rows_table(example_sheet("moth_wings")).note
    assert "F, G" not in tables.rows_table(example_sheet("miners_lamp")).note
    assert tables.rows_table(example_sheet("moth_wings")).rows[0][0] == "A to K (8)"


def test_fuse_speed_holder_and_connector_are_said():
    """Quick is letter F, slow letter T (IEC 60127-1, from memory)."""
    parts = {line.item: line for line in example_sheet("moth_wings").parts_list}
    assert parts["Fuse"].value.endswith("quick (F) + holder")
    assert parts["Plug, socket"].value.startswith("2-way, fits one way")
    assert parts["Battery holder"].value.startswith("for 4 × AA")
    assert (
        "12.6 V DC"
        in {line.item: line for line in example_sheet("observatory_diorama").parts_list}["Switch"].value
    )
    assert any(", protected" in line.value for line in unlike_sheet("staff on two lithium cells").parts_list)


def test_one_run_may_be_one_piece_with_the_main_wire():
    assert (
        "W0 and W1 may be one piece: then X6 and X7 fall away"
        in tables.joints(unlike_sheet("pin on a coin cell")).note
    )
    assert "one piece" not in tables.joints(example_sheet("moth_wings")).note


def test_lever_connectors_are_not_tinned_and_named_by_size():
    build = {
        "title": "Stage box",
        "supply": "adapter_12v",
        "lights": [
            {"name": "Front", "led": "white_5mm", "count": 9, "forward_current_ma": 15, "run_length_m": 2},
            {"name": "Back", "led": "red_5mm", "count": 4, "forward_current_ma": 10, "run_length_m": 3},
        ],
        "wire": {"on_hand_awg": [22]},
    }
    sheet = build_sheet(read("build-sheets", build))
    assert sheet.build_steps[0].text.endswith("tin only what is soldered.")
    line = next(line for line in sheet.parts_list if line.item == "Lever connector")
    assert (line.value, line.count, line.label) == ("for 3 wires of 22 AWG", 2, "X5, X6")
    assert "11 mm for a lever connector" in tables.cuts(sheet).note
    assert any("tug each wire" in step.text for step in sheet.build_steps)
