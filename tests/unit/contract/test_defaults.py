"""What is taken for granted over the wire is what the planner takes for granted."""

from __future__ import annotations

from dataclasses import MISSING, fields

import pytest

from lampwright.contract.calculations import understand

LEAST = {
    "series-resistors": {"supply_voltage_v": 9, "led": "red_5mm"},
    "arrangements": {"supply_voltage_v": 9, "led": "red_5mm", "count": 2},
    "wires": {"current_ma": 100, "run_length_m": 1, "supply_voltage_v": 12},
    "fuses": {"current_ma": 100},
    "runtimes": {"battery": "alkaline_aa", "load_current_ma": 20},
    "circuit-checks": {"supply_voltage_v": 9, "strings": [{"led": "red_5mm", "resistance_ohm": 470}]},
    "build-sheets": {
        "title": "Lamp",
        "supply": {"supply_voltage_v": 9},
        "lights": [{"name": "Light", "led": "red_5mm", "count": 1}],
    },
    "supply-choices": {"load_current_ma": 100, "supply_voltage_v": 5, "hours_wanted_h": 4},
}


@pytest.mark.parametrize("name", LEAST)
def test_a_member_left_out_is_the_planners_own_default(name):
    """Where a default is derived, such as volts from a battery, the planner leaves it open: None."""
    _, ask = understand(name, LEAST[name])
    sent = {key.rpartition("_")[0] for key in LEAST[name]} | set(LEAST[name])
    held = 0
    for member in fields(type(ask)):
        default = member.default
        if default is MISSING or default is None or member.name in sent:
            continue
        given = getattr(ask, member.name)
        assert given == (pytest.approx(default) if isinstance(default, float) else default), member.name
        held += 1
    assert held >= 2
