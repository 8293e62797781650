"""A feed without resistance between its branches: two leads side by side (hand-worked)."""

from __future__ import annotations

import pytest

from lampwright.physics.circuits import Branch
from lampwright.physics.diodes import diode_from_point
from lampwright.physics.feeds import solve_feed

RED = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
BRANCHES = [Branch((RED, RED), 150.0), Branch((RED,), 330.0)]


def test_two_leads_act_as_one_of_their_parallel_resistance():
    # 3 Ω and 6 Ω side by side are 3·6/(3 + 6) = 2 Ω.
    both = solve_feed(9.0, 1.0, 3.0, 0.0, 6.0, BRANCHES)
    one = solve_feed(9.0, 1.0, 2.0, 0.0, None, BRANCHES)
    assert both.currents == pytest.approx(one.currents, rel=1e-12)
    assert both.branch_voltages == pytest.approx(one.branch_voltages, rel=1e-12)


def test_the_lead_takes_current_times_resistance():
    found = solve_feed(9.0, 1.0, 3.0, 0.0, 6.0, BRANCHES)
    assert found.terminal_voltage - found.branch_voltages[0] == pytest.approx(2.0 * found.supply_current)
