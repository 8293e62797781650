"""Joints and cuts of a build: methods, sleeves, labels, lengths."""

import json
import math

import pytest

from lampwright.contract import reading, schemas
from lampwright.errors import UnknownPartError
from lampwright.planner.joints import (
    SLACK,
    insulated_diameter,
    joints_and_cuts,
    method_for,
    sleeve_for,
    tie_down,
)
from lampwright.planner.sheet import plan_build
from lampwright.tables.joints import connector, connector_rows, sleeve_rows
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
    assert {"supply+", "supply−", "F1 lead", "S1 lead"} <= ends


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
    assert made.joints[0].method == "plug and socket"
    assert all("S-loop" in joint.tie_down or "glue" in joint.tie_down for joint in made.joints)
    assert not any(joint.method in ("lever connector", "twist cap") for joint in made.joints)


def test_without_fuse_or_switch():
    made = plan()
    joints, cuts = joints_and_cuts(made.strings, made.wires, fused=False, switched=False)
    assert not any("F1" in end or "S1" in end for joint in joints for end in joint.wires)
    assert "F1 to S1" not in [cut.label for cut in cuts]
    assert joints_and_cuts((), ()) == ((), ())


def test_methods():
    # Common practice, no source: lever connectors from 0.2 mm² on, solder for anything smaller.
    assert method_for([24, 24], moves=False).row.name == "lever connector"
    assert method_for([26, 26], moves=False).row.name == "solder and sleeve"
    assert method_for([22], moves=False, legs=1).row.name == "solder and sleeve"
    assert method_for([22] * 6, moves=False).row.name == "solder and sleeve"
    assert method_for([22, 22], moves=True, comes_apart=True).row.name == "plug and socket"
    assert method_for([12, 12], moves=True, comes_apart=True).row.name == "solder and sleeve"
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
    assert all(len(joint.wires) <= 5 for joint in made.joints)


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
