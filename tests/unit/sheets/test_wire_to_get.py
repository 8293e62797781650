"""A drawer whose wire will not do: the gauge suggested does for every run of the build, and for its fuse."""

import random
from dataclasses import replace

import pytest

from lampwright.contract.calculations import read
from lampwright.planner.sheet import plan_build
from tests.builds import rows_ask

OF_WIRE = ("wire_on_hand_too_thin", "wire_drop_high", "wire_drop_hopeless", "wire_too_hot")
OF_FUSE = ("no_fuse_fits", "no_fuse_between", "fuse_will_not_open", "fuse_too_big")

# A thick run beside a long one; a run whose own gauge leaves no room for a fuse; one that only bends.
BUILDS = (
    (
        "vehicle_12v",
        [("prewired_white_12v", 113, 39.8), ("blue_5mm", 72, 0.6)],
        {"on_hand_awg": [31], "flexing": True, "max_drop_pct": 30},
    ),
    ("vehicle_12v", [("prewired_white_12v", 182, 5.1)], {"on_hand_awg": [23, 25, 36]}),
    ("vehicle_12v", [("white_5mm", 4, 0.4), ("amber_5mm", 74, 22.2)], {"on_hand_awg": [32, 30]}),
    ("adapter_12v", [("white_5mm", 6, 3.0)], {"on_hand_awg": [34], "flexing": True}),
)


def asked(supply, lights, wire):
    named = [
        {"name": f"Lamps {at}", "led": led, "count": count, "run_length_m": run}
        for at, (led, count, run) in enumerate(lights)
    ]
    return read("build-sheets", {"title": "Float", "supply": supply, "lights": named, "wire": wire})


def about_the_drawer(plan):
    return [each for each in plan.findings if each.code in (*OF_WIRE, *OF_FUSE)]


@pytest.mark.parametrize("build", BUILDS, ids=range(len(BUILDS)))
def test_one_suggestion_cures_wires_and_fuse(build):
    ask = asked(*build)
    found = [each for each in about_the_drawer(plan_build(ask)) if each.suggestion]
    assert found
    (gauge,) = {each.suggestion["on_hand_awg"] for each in found}
    again = plan_build(replace(ask, wire=replace(ask.wire, on_hand_awg=gauge)))
    assert about_the_drawer(again) == []
    for each in found:
        if each.code == "wire_on_hand_too_thin":
            assert f"Get {gauge[0]} AWG" in each.remedy


def test_suggestions_cure_by_chance_builds():
    chance = random.Random(20)
    cured = 0
    for _ in range(40):
        lights = [
            (
                chance.choice(("red_5mm", "white_5mm", "prewired_white_12v")),
                chance.randint(1, 150),
                round(10 ** chance.uniform(-1, 1.5), 1),
            )
            for _ in range(chance.randint(1, 3))
        ]
        wire = {"on_hand_awg": chance.sample(range(20, 37), 2)}
        ask = asked(chance.choice(("vehicle_12v", "adapter_12v", {"battery": "lead_acid_12v"})), lights, wire)
        for each in about_the_drawer(plan_build(ask)):
            gauge = each.suggestion.get("on_hand_awg")
            if gauge is not None:
                cured += 1
                again = plan_build(replace(ask, wire=replace(ask.wire, on_hand_awg=gauge)))
                assert about_the_drawer(again) == []
    assert cured > 10


def test_where_no_gauge_does_none_is_suggested():
    ask = asked("vehicle_12v", [("prewired_white_12v", 900, 200.0)], {"on_hand_awg": [30]})
    found = about_the_drawer(plan_build(ask))
    assert not any("on_hand_awg" in each.suggestion for each in found)


def test_a_drawer_that_does_is_left_alone():
    ask = rows_ask(2)
    plan = plan_build(replace(ask, wire=replace(ask.wire, on_hand_awg=(22,))))
    assert about_the_drawer(plan) == []
