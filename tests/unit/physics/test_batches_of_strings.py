"""Batches and long feeds by numpy say what the single sums say; and nothing else loads numpy."""

import math
import random
import subprocess
import sys

import pytest

from lampwright.physics.batches import ManyStrings, string_currents, wright_omega_many
from lampwright.physics.circuits import Branch
from lampwright.physics.diodes import StringLaw, diode_from_point, like_string_current, wright_omega
from lampwright.physics.feeds import solve_feed

CHANCE = random.Random(3)


def test_omega_of_many_is_omega_of_each():
    values = [CHANCE.uniform(-200.0, 900.0) for _ in range(500)] + [
        CHANCE.uniform(-3.0, 3.0) for _ in range(500)
    ]
    for one, many in zip(values, wright_omega_many(values), strict=True):
        assert math.isclose(wright_omega(one), many, rel_tol=3e-15)
    large = [CHANCE.uniform(2.5, 900.0) for _ in range(50)]
    for one, many in zip(large, wright_omega_many(large), strict=True):
        assert math.isclose(wright_omega(one), many, rel_tol=3e-15)


def test_currents_of_many_strings_are_those_of_each():
    cases = [
        (
            CHANCE.uniform(-1.0, 12.0),
            CHANCE.uniform(0.03, 0.5),
            CHANCE.uniform(-90.0, -14.0),
            10 ** CHANCE.uniform(-1, 5),
        )
        for _ in range(20_000)
    ]
    found = string_currents(*zip(*cases, strict=True))
    for case, current in zip(cases[:3000], found, strict=False):
        assert math.isclose(like_string_current(*case), current, rel_tol=1e-12)
    assert all(current == 0.0 for case, current in zip(cases, found, strict=True) if case[0] <= 0)


def test_slopes_of_many_are_those_of_each():
    white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    laws = [(StringLaw((white,), ohms), count) for ohms, count in ((50.0, 1), (100.0, 3))]
    currents, slopes = ManyStrings(laws).currents_and_slopes([4.8, 5.1])
    for (law, count), voltage, current, slope in zip(laws, (4.8, 5.1), currents, slopes, strict=True):
        assert math.isclose(current, count * law.current(voltage), rel_tol=1e-13)
        assert math.isclose(slope, count * law.conductance(law.current(voltage)), rel_tol=1e-13)


@pytest.mark.parametrize("far", [None, 0.0, 0.4])
@pytest.mark.parametrize(("lead", "source"), [(0.0, 0.0), (0.3, 0.2), (0.0, 0.2)])
def test_a_long_feed_is_solved_alike_with_numpy_and_without(far, lead, source, monkeypatch):
    white = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
    rows = [Branch((white,), CHANCE.uniform(80.0, 200.0), CHANCE.choice((1, 1, 2))) for _ in range(400)]
    quick = solve_feed(6.0, source, lead, 0.001, far, rows)
    monkeypatch.setattr("lampwright.physics.feeds._LONG", 10**9)
    plain = solve_feed(6.0, source, lead, 0.001, far, rows)
    for one, other in zip(quick.currents, plain.currents, strict=True):
        assert math.isclose(one, other, rel_tol=1e-10)
    assert math.isclose(quick.supply_current, plain.supply_current, rel_tol=1e-11)
    assert math.isclose(quick.terminal_voltage, 6.0 - source * quick.supply_current, rel_tol=1e-11)


def test_one_answer_loads_neither_numpy_nor_flask():
    program = (
        "import sys\n"
        "from lampwright.planner.catalogue import led_from_part\n"
        "from lampwright.planner.circuit_check import circuit_check\n"
        "from lampwright.planner.identification import identify_light\n"
        "from lampwright.planner.models.circuits import CircuitAsk, Feed, IdentificationAsk, StringAsk\n"
        "from lampwright.planner.supplies import supply_from_voltage\n"
        "from lampwright.paper.netlist import render_netlist\n"
        "led = led_from_part('white_5mm')\n"
        "rows = (StringAsk((led,), 100.0, branch_count=50),)\n"
        "ask = CircuitAsk(supply_from_voltage(5.0), rows, feed=Feed(0.1, 0.01))\n"
        "render_netlist(circuit_check(ask))\n"
        "identify_light(IdentificationAsk(rated_voltage=12.0, rated_current=0.02))\n"
        "print(sorted({'numpy', 'flask', 'scipy', 'marshmallow'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
