"""Two versions of a build: what changed and what it does."""

from dataclasses import replace

import pytest

from lampwright.contract.calculations import read
from lampwright.planner.models.comparison import BuildComparisonAsk
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.quantities import show
from lampwright.sheets.build import build_sheet
from lampwright.sheets.comparing import compare, compare_builds
from tests.builds import example_ask, example_sheet

ASK = example_ask("moth_wings")
BEFORE = example_sheet("moth_wings")


def test_the_same_is_the_same():
    found = compare(BEFORE, BEFORE)
    assert found.changed == ()
    assert found.effects == ("It does the same as before.",)
    assert found.safer is None


def test_more_lights_take_more_and_last_shorter():
    lights = (replace(ASK.lights[0], count=12), *ASK.lights[1:])
    found = compare(BEFORE, build_sheet(replace(ASK, lights=lights)))
    assert found.changed == ("Wing edge, count: 8, now 12.",)
    assert any("It takes more" in line for line in found.effects)
    assert any("lasts less long" in line for line in found.effects)


def test_another_supply_is_named():
    found = compare(BEFORE, build_sheet(replace(ASK, supply=supply_from_battery("alkaline_c", 4))))
    assert len(found.changed) == 1
    assert "Supply: 4 × AA alkaline" in found.changed[0]
    assert any("lasts longer" in line for line in found.effects)


def test_a_version_that_stops_is_less_safe():
    found = compare(BEFORE, build_sheet(replace(ASK, supply=supply_from_voltage(1.5))))
    assert found.safer is False
    assert found.effects[0] == "It was safe to build and is now not safe to build."
    assert any(line.startswith("Stop, new:") for line in found.effects)
    back = compare(build_sheet(replace(ASK, supply=supply_from_voltage(1.5))), BEFORE)
    assert back.safer is True
    assert any(line.startswith("No longer:") for line in back.effects)


def test_lights_come_and_go():
    lights = (ASK.lights[0], replace(ASK.lights[1], name="Antlers"))
    found = compare(BEFORE, build_sheet(replace(ASK, lights=lights, title="Stag")))
    said = " ".join(found.changed)
    assert "Title: Moth wings, now Stag." in said
    assert "Eye spots: taken out." in said
    assert "Feelers: taken out." in said
    assert "Antlers: new, 4 of" in said


@pytest.mark.parametrize("name", ["Gate", "Lamps no. 1.5"])
def test_what_changed_of_a_light_described_by_its_figures(name):
    def sheet(led):
        lights = [{"name": name, "led": led, "count": 3}]
        build = {"title": "Gate", "supply": {"supply_voltage_v": 12}, "lights": lights}
        return build_sheet(read("build-sheets", build))

    own = {"forward_voltage_v": 3.0, "rated_current_ma": 20, "colour": "white"}
    warmer = sheet({**own, "rated_current_ma": 15})
    assert f"{name}, rated current, mA: 20, now 15." in compare(sheet(own), warmer).changed
    listed = compare(sheet("white_5mm"), sheet(own)).changed
    assert f"{name}, kind of light: white 5mm, now figures of its own." in listed
    assert f"{name}, forward voltage, V: not set, now 3." in listed


def test_an_answer_holds_both_versions_and_what_is_said_of_the_second():
    weak = replace(ASK, supply=supply_from_voltage(1.5))
    found = compare_builds(BuildComparisonAsk(ASK, weak))
    assert (found.before.safe, found.after.safe, found.safer) == ("yes", "no", False)
    assert found.before.supply_current == BEFORE.plan.supply_current
    assert found.before.runtime == BEFORE.plan.runtime.runtime
    assert found.after.runtime is None
    assert found.findings
    assert all(each.field.startswith("after.") for each in found.findings if each.field)
    assert any(each.severity == "stop" for each in found.findings)


def test_the_working_tells_the_change_as_a_part():
    fewer = replace(ASK, lights=(replace(ASK.lights[0], count=4), *ASK.lights[1:]))
    found = compare_builds(BuildComparisonAsk(ASK, fewer))
    now, was = found.after.supply_current, found.before.supply_current
    assert found.working[1].result == show(now / was - 1, "pct")
    assert found.working[2].result == show(found.after.runtime / found.before.runtime - 1, "pct")
