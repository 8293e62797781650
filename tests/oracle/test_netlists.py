"""The netlists we hand out, run by ngspice as they are: they give the currents we answered."""

import json
import math
import random
from pathlib import Path

import pytest

from lampwright.paper.netlist import render_netlist
from lampwright.planner.catalogue import led_from_part, led_types
from lampwright.planner.circuit_check import circuit_check
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import CircuitAsk, Feed, LightGroup, StringAsk
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.planner.together import loops_of, solve_build
from lampwright.sheets.build import build_sheet
from tests.marks import agree, published
from tests.oracle.simulator import run_deck

RED, WHITE = led_from_part("red_5mm"), led_from_part("white_5mm")
STRIPED = led_from_part("prewired_white_12v")

CIRCUITS = {
    "one red on a 9 V block": CircuitAsk(supply_from_battery("alkaline_9v"), (StringAsk((RED,), 330.0),)),
    "rows of all sorts": CircuitAsk(
        supply_from_voltage(9.0, source_resistance=2.0),
        (
            StringAsk((RED,), 330.0, branch_count=3),
            StringAsk((RED, WHITE), 150.0),
            StringAsk((STRIPED,), 0.0),
        ),
        shared_resistance=3.0,
    ),
    "no resistor": CircuitAsk(supply_from_voltage(3.1), (StringAsk((WHITE,), 0.0),)),
    "a cold feed from both ends": CircuitAsk(
        supply_from_voltage(5.0, source_resistance=0.1),
        (StringAsk((WHITE,), 100.0, branch_count=30),),
        feed=Feed(0.0, 0.02, 0.3),
        ambient_temperature=-10.0,
    ),
    "both leads of no resistance": CircuitAsk(
        supply_from_voltage(5.0), (StringAsk((WHITE,), 100.0, branch_count=9),), feed=Feed(0.0, 0.02, 0.0)
    ),
    "all at one point": CircuitAsk(
        supply_from_voltage(5.0), (StringAsk((WHITE,), 100.0, branch_count=3),), feed=Feed(0.0, 0.0, 0.0)
    ),
    "five hundred rows": CircuitAsk(
        supply_from_voltage(12.0),
        (StringAsk((RED, RED), 330.0, branch_count=500),),
        wire_awg=16,
        wire_run_length=1.0,
    ),
    "one the wrong way round": CircuitAsk(
        supply_from_voltage(5.0), (StringAsk((RED,), 330.0), StringAsk((RED,), 330.0, reversed=(0,)))
    ),
}


@published(
    "BANWELL-2000", "checked by ngspice, live", of="lampwright.paper.netlist.render_netlist", kind="oracle"
)
@pytest.mark.parametrize("name", CIRCUITS)
def test_a_circuit_checks_netlist_gives_its_currents(name, tmp_path):
    answer = circuit_check(CIRCUITS[name])
    found = run_deck(render_netlist(answer), tmp_path)
    agree(-found.pop("vsupply"), answer.supply_current, rel=1e-8, why="ngspice's own tolerance")
    rows = [row for row in answer.strings for _ in range(row.branch_count)]
    if len(found) == 1:
        (all_of_them,) = found.values()
        agree(all_of_them, answer.supply_current, rel=1e-8, why="written as one of so many times the area")
        return
    assert len(found) == len(rows)
    for probe, row in zip(found.values(), rows, strict=True):
        agree(probe, row.current, rel=1e-8, abs=1e-12, why="ngspice's own tolerance")


@published(
    "BANWELL-2000", "checked by ngspice, live", of="lampwright.paper.netlist.render_netlist", kind="oracle"
)
def test_any_light_of_the_catalogue_at_any_temperature(tmp_path):
    chance = random.Random(11)
    for part in chance.sample(sorted(led_types()), 12):
        led = led_from_part(part)
        ohms = 3.0 / led.rated_current
        ask = CircuitAsk(
            supply_from_voltage(15.0),
            (StringAsk((led,), ohms),),
            ambient_temperature=chance.choice((-20.0, 0.0, 25.0, 40.0, 60.0)),
        )
        answer = circuit_check(ask)
        found = run_deck(render_netlist(answer), tmp_path)
        agree(found["vrow0"], answer.strings[0].current, rel=1e-8, why="ngspice's own tolerance", what=part)


@published(
    "BANWELL-2000", "checked by ngspice, live", of="lampwright.paper.netlist.render_netlist", kind="oracle"
)
def test_a_build_sheets_netlist_gives_its_currents(tmp_path):
    ask = BuildAsk(
        title="Tower\n.include /etc/hostname\r\n+ .control\u2028shell true",
        supply=supply_from_voltage(12.0, 11.4, 12.6, source_resistance=0.2),
        lights=(
            LightGroup("windows", led_from_part("warm_white_5mm"), 10, 0.01, run_length=1.5),
            LightGroup("beacon", RED, 2, 0.015, run_length=3.0),
        ),
    )
    sheet = build_sheet(ask)
    text = render_netlist(sheet)
    assert text.splitlines()[0].startswith("* Lampwright: Tower .include /etc/hostname + .control shell true")
    assert sum("include" in line for line in text.splitlines()) == 1
    found = run_deck(text, tmp_path)
    plan = sheet.plan
    agree(-found.pop("vsupply"), plan.supply_current, rel=1e-8, why="ngspice's own tolerance")
    solved = solve_build(plan.strings, loops_of(plan.strings, plan.wires), ask.supply, "expected", 25.0)
    assert len(found) == sum(string.solved.branch_count for string in plan.strings)
    for probe, current in found.items():
        row = int(probe.removeprefix("vrow").split("_")[0])
        agree(current, solved.currents[row], rel=1e-8, why="ngspice's own tolerance", what=probe)


@published(
    "PRACTICE",
    "nothing a caller writes is a line of its own",
    of="lampwright.paper.netlist.render_netlist",
    kind="hand",
)
def test_every_line_is_one_of_ours():
    answer = circuit_check(CIRCUITS["rows of all sorts"])
    for line in render_netlist(answer).splitlines():
        assert line[0] in "*VRD." or line in ("op", "quit", "set numdgt=15") or line.startswith("print i(")
    assert render_netlist(answer).isascii()


@published("PRACTICE", "our own examples", of="lampwright.paper.netlist.render_netlist", kind="hand")
def test_example_circuits_have_netlists_too(tmp_path):
    from lampwright.contract.calculations import understand

    folder = Path(__file__).parents[2] / "examples" / "worked"
    seen = 0
    for path in sorted(folder.glob("*.json")):
        example = json.loads(path.read_text("utf-8"))
        if example["path"] != "/v1/circuit-checks":
            continue
        seen += 1
        understood = understand("circuit-checks", example["request"])
        ask = next(
            part
            for part in (understood if isinstance(understood, tuple) else (understood,))
            if isinstance(part, CircuitAsk)
        )
        answer = circuit_check(ask)
        found = run_deck(render_netlist(answer), tmp_path)
        assert math.isclose(-found["vsupply"], answer.supply_current, rel_tol=1e-8)
    assert seen
