"""Joints and cuts of a build: methods, sleeves, labels, lengths."""

import json
import math
from collections import Counter

import pytest

from lampwright.contract import reading, schemas
from lampwright.errors import UnknownPartError
from lampwright.planner.joints import (
    SLACK,
    insulated_diameter,
    joints_and_cuts,
    lead_of,
    method_for,
    sleeve_cuts,
    sleeve_for,
    tie_down,
)
from lampwright.planner.sheet import plan_build
from lampwright.planner.supplies import supply_from_battery, supply_from_part
from lampwright.tables.batteries import battery_types
from lampwright.tables.joints import connector, connector_rows, sleeve_rows, supply_leads
from lampwright.tables.supplies import supply_types
from tests.marks import published


def plan(**members):
    build = {
        "title": "Test",
        "supply": "adapter_12v",
        "lights": [
            {
                "name": "Window",
                "led": "warm_white_5mm",
                "count": 6,
                "forward_current_ma": 8,
                "run_length_m": 1,
            },
            {"name": "Beacon", "led": "red_5mm", "count": 1, "forward_current_ma": 8, "run_length_m": 0.5},
        ],
    }
    return plan_build(
        reading.build_ask(schemas.BuildSheetsSchema().load(json.loads(json.dumps(build | members))))
    )


def test_every_end_of_every_wire_is_joined():
    made = plan()
    ends = {end for joint in made.joints for end in joint.wires}
    for wire in made.wires:
        assert {f"{wire.label}+", f"{wire.label}−"} <= ends
    assert {"supply+", "supply−", "F1", "F1 other lead", "S1", "S1 other lug"} <= ends


def test_labels_follow_one_another():
    numbers = []
    for joint in plan().joints:
        first, _, last = joint.joint.partition("–")
        start = int(first[1:])
        numbers += list(range(start, int((last or first)[1:]) + 1))
        assert len(range(start, int((last or first)[1:]) + 1)) == joint.count
    assert numbers == list(range(1, len(numbers) + 1))


def test_joints_of_a_row_are_counted():
    made = plan()
    soldered = sum(joint.count for joint in made.joints if any(end.startswith("R-") for end in joint.wires))
    rows = sum(string.solved.branch_count for string in made.strings)
    assert soldered == 2 * rows
    links = sum(joint.count for joint in made.joints if "link" in joint.wires[0])
    assert links == sum(2 * (len(s.leds) - 1) * s.solved.branch_count for s in made.strings)


def test_cuts_have_slack_and_two_colours():
    made = plan()
    by_label = {cut.label: cut for cut in made.cuts}
    for wire in made.wires:
        for pole, colour in (("+", "RD"), ("−", "BK")):
            cut = by_label[wire.label + pole]
            assert cut.colour == colour
            assert cut.awg == wire.figures.awg
            assert math.isclose(cut.cut_length, wire.run_length + 2 * SLACK)
            assert math.isclose(cut.slack, 2 * SLACK)


def test_a_costume_is_soldered_and_plugs_apart():
    made = plan(
        wire={"flexing": True}, usage={"worn": True}, supply={"battery": "alkaline_aa", "cells_in_series": 6}
    )
    assert all(joint.moves for joint in made.joints)
    pairs = [
        joint.wires for joint in made.joints if {"socket+", "plug+", "socket−", "plug−"} & {*joint.wires}
    ]
    # The fuse stays with the pack, and so does the half that is live.
    assert pairs == [
        ("F1 other lead", "socket+"), ("plug+", "S1"), ("supply−", "socket−"), ("plug−", "W0−")
    ]  # fmt: skip
    assert all("S-loop" in joint.tie_down or "glue" in joint.tie_down for joint in made.joints)
    assert not any(joint.method in ("lever connector", "twist cap") for joint in made.joints)


def test_without_a_fuse():
    made = plan()
    joints, _ = joints_and_cuts(made.strings, made.wires, fused=False)
    assert not any("F1" in end for joint in joints for end in joint.wires)
    assert joints[0].wires == ("supply+", "S1")
    assert joints_and_cuts((), ()) == ((), ())


def test_what_pulls_apart_by_itself_needs_no_plug():
    for supply in ("usb_charger_5v", {"battery": "alkaline_9v"}, {"battery": "lipo_2s"}):
        made = plan(supply=supply, usage={"worn": True})
        assert made.joints
        assert not any("plug+" in joint.wires for joint in made.joints)


def test_packs_bring_leads_of_their_own():
    side = plan(supply={"battery": "alkaline_aa", "cells_in_series": 6, "packs_in_parallel": 2})
    assert side.joints[0].wires == ("supply+", "supply+", "F1")
    row = plan(supply={"battery": "lead_acid_6v", "cells_in_series": 2})
    assert row.joints[0].wires == ("pack 1−", "pack 2+")
    # Cells of one holder are joined inside it.
    assert plan(supply={"battery": "alkaline_aa", "cells_in_series": 6}).joints[0].wires == ("supply+", "F1")


def test_sleeves_to_cut_are_those_of_the_joints():
    joints = plan().joints
    pieces = sleeve_cuts(joints)
    assert sum(each.count for each in pieces) == sum(joint.count for joint in joints if joint.sleeve_diameter)
    for each in pieces:
        covered = [joint for joint in joints if joint.joint in each.joints]
        assert sum(joint.count for joint in covered) == each.count
        assert {(joint.sleeve_diameter, joint.sleeve_length) for joint in covered} == {
            (each.sleeve_diameter, each.sleeve_length)
        }
    assert sleeve_cuts(()) == ()


def test_methods():
    # Common practice, no source: lever connectors from 0.2 mm² on, solder for anything smaller.
    assert method_for([24, 24], moves=False).row.name == "lever connector"
    assert method_for([26, 26], moves=False).row.name == "solder and sleeve"
    assert method_for([22], moves=False, legs=1).row.name == "solder and sleeve"
    assert method_for([22] * 6, moves=False).row.name == "solder and sleeve"
    # The lead of a bought part may be thinner than a lever connector holds.
    assert method_for([22, 22], moves=False, bought=True).row.name == "solder and sleeve"
    assert tie_down(True) != tie_down(False)


def test_sleeves_pass_and_grip():
    for awg in (30, 28, 26, 24, 22, 20, 18):
        sleeve = sleeve_for([awg, awg])
        assert sleeve.before / 1000 >= 2 * insulated_diameter(awg)
        method = method_for([awg, awg], moves=True)
        assert method.sleeve_length > method.strip_length
    assert sleeve_for([10] * 4) is not None
    assert sleeve_for([10] * 40) is None


def test_a_sleeve_goes_on_first_wherever_there_is_one():
    for joint in plan().joints:
        assert joint.sleeve_first == (joint.sleeve_diameter is not None)
        if joint.sleeve_first:
            assert joint.sleeve_shrunk < joint.sleeve_diameter


def test_many_runs_are_joined_in_a_chain():
    lights = [{"name": f"Star {n}", "led": "red_5mm", "count": 1, "forward_current_ma": 5} for n in range(8)]
    made = plan(lights=lights)
    bridged = [joint for joint in made.joints if any("bridge" in end for end in joint.wires)]
    assert bridged
    rows = {row.name: row for row in connector_rows().values()}
    assert all(len(joint.wires) <= rows[joint.method].most_wires for joint in made.joints)
    # Each bridge is a piece of wire with two ends, and is cut.
    ends = Counter(end for joint in bridged for end in joint.wires if "bridge" in end)
    assert set(ends.values()) == {2}
    assert set(ends) == {cut.label for cut in made.cuts if "bridge" in cut.label}


def test_unknown_method():
    with pytest.raises(UnknownPartError):
        connector("glue")


METHODS = {
    "solder_sleeve": (36, 12, 2, 4, 8, True, True, False),
    "lever": (24, 12, 2, 5, 11, False, False, True),
    "twist_cap": (22, 12, 2, 4, 12, False, False, True),
    "crimp": (22, 10, 2, 2, 7, False, True, False),
    "plug": (28, 16, 2, 2, 5, True, True, True),
    "screw": (26, 10, 2, 3, 7, False, False, True),
}


@published("PRACTICE", "usual ways to join", of="lampwright.tables.joints.connector_rows", kind="practice")
def test_connector_rows():
    found = {
        key: (
            row.thinnest_awg, row.thickest_awg, row.least_wires, row.most_wires, row.strip_length,
            row.sleeved, row.stands_moving, row.comes_apart,
        )
        for key, row in connector_rows().items()
    }  # fmt: skip
    assert found == METHODS


@published(
    "PRACTICE", "sleeves that shrink to half", of="lampwright.tables.joints.sleeve_rows", kind="practice"
)
def test_sleeve_rows():
    found = [(row.before, row.after) for row in sleeve_rows()]
    assert found == [
        (1.2, 0.6), (1.6, 0.8), (2.4, 1.2), (3.2, 1.6), (4.8, 2.4), (6.4, 3.2), (9.5, 4.8), (12.7, 6.4),
        (19.1, 9.5),
    ]  # fmt: skip
    for before, after in found:
        assert abs(after / before - 0.5) < 0.01


@published("PRACTICE", "how supplies are joined", of="lampwright.tables.joints.supply_leads", kind="practice")
def test_supply_leads():
    found = {key: (row.item, row.apart, row.each, row.mark) for key, row in supply_leads().items()}
    assert found == {
        "cell": ("Battery holder", False, False, "in the battery door"),
        "coin": ("Coin cell holder", False, False, "in the battery door"),
        "block": ("Battery snap", True, True, "beside the snap"),
        "pack": ("Pack lead", True, True, "beside the plug"),
        "lead_acid": ("Battery leads", True, True, "on the battery"),
        "bank": ("USB lead", True, False, "on the plug"),
        "usb_port": ("USB lead", True, False, "on the plug"),
        "usb_charger": ("USB lead", True, False, "on the plug"),
        "adapter": ("Socket", True, False, "on the plug"),
        "vehicle": ("Vehicle plug", True, False, "on the plug"),
    }
    # Every battery and every supply part has its lead.
    for battery in battery_types():
        assert lead_of(supply_from_battery(battery)).lead in found
    for part in supply_types():
        assert lead_of(supply_from_part(part)).lead in found
