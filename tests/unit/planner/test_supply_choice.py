"""Three batteries side by side: each can do it, each within the limit, each best at something."""

from __future__ import annotations

import pytest

from lampwright.errors import ContradictionError
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.models.base import stopped
from lampwright.planner.models.circuits import LightGroup
from lampwright.planner.models.energy import RuntimeAsk, SupplyChoiceAnswer, SupplyChoiceAsk
from lampwright.planner.runtime import runtime
from lampwright.planner.supplies import supply_from_battery
from lampwright.planner.supply_choice import supply_choices, travel_note

HOUR = 3600.0
HEM = (LightGroup("Hem", led_from_part("amber_5mm"), 8, 0.008),)


def sound(answer: SupplyChoiceAnswer, current: float) -> None:
    assert [choice.why for choice in answer.choices] == ["lightest", "cheapest", "longest"]
    kinds = {(each.battery, each.cells_in_series, each.packs_in_parallel) for each in answer.choices}
    assert len(kinds) == 3
    for choice in answer.choices:
        supply = supply_from_battery(choice.battery, choice.cells_in_series, choice.packs_in_parallel)
        assert supply.current_limit is not None
        assert supply.current_limit >= current
        assert choice.runtime_low < choice.runtime < choice.runtime_high
        assert choice.travel_note
        assert not stopped(choice.findings)
        assert choice.cell_count >= choice.cells_in_series * choice.packs_in_parallel
    lightest, cheapest, longest = answer.choices
    assert lightest.mass * (lightest.sets_needed - 1) <= cheapest.mass * (cheapest.sets_needed - 1) * 1.0001
    assert longest.runtime >= max(lightest.runtime, cheapest.runtime)


def test_lights() -> None:
    answer = supply_choices(SupplyChoiceAsk(9 * HOUR, lights=HEM))
    sound(answer, 0.0)
    assert all(0.8 * choice.runtime >= 9 * HOUR for choice in answer.choices)
    assert all(choice.mass <= 1.0 for choice in answer.choices)


def test_plain_load() -> None:
    answer = supply_choices(SupplyChoiceAsk(9 * HOUR, load_current=0.1, supply_voltage=5.0))
    sound(answer, 0.1)
    for choice in answer.choices:
        volts = supply_from_battery(choice.battery, choice.cells_in_series).supply_voltage
        assert 4.5 <= volts <= 6.05
    assert {each.battery for each in answer.choices}.isdisjoint({"alkaline_9v", "lithium_coin_cr2032"})


@pytest.mark.parametrize("limit", [0.03, 0.05, 0.2])
def test_within_the_mass_limit(limit: float) -> None:
    answer = supply_choices(SupplyChoiceAsk(9 * HOUR, lights=HEM, mass_limit=limit))
    assert answer.choices
    assert all(choice.mass <= limit for choice in answer.choices)


def test_swaps_where_no_set_lasts() -> None:
    answer = supply_choices(SupplyChoiceAsk(200 * HOUR, lights=HEM, mass_limit=0.03))
    assert answer.choices
    assert [found.code for found in answer.findings] == ["needs_swaps"]
    assert all(choice.sets_needed > 2 for choice in answer.choices)


def test_nothing_fits() -> None:
    answer = supply_choices(SupplyChoiceAsk(5 * HOUR, load_current=60.0, supply_voltage=12.0))
    assert answer.choices == ()
    assert [(found.code, found.severity) for found in answer.findings] == [("no_battery_fits", "stop")]
    assert supply_choices(SupplyChoiceAsk(5 * HOUR, lights=HEM, mass_limit=0.001)).choices == ()


@pytest.mark.parametrize(
    "question",
    [
        SupplyChoiceAsk(HOUR),
        SupplyChoiceAsk(HOUR, load_current=0.1),
        SupplyChoiceAsk(HOUR, lights=HEM, load_current=0.1, supply_voltage=5.0),
        SupplyChoiceAsk(HOUR, lights=HEM, load_current=0.1),
    ],
)
def test_refused(question: SupplyChoiceAsk) -> None:
    with pytest.raises(ContradictionError):
        supply_choices(question)


@pytest.mark.parametrize(
    ("battery", "cells", "energy", "words"),
    [
        ("alkaline_aa", 3, 13.0, "no limit"),
        ("lead_acid_12v", 1, 84.0, "ask the airline"),
        ("lithium_iron_aa", 2, 9.0, "below the 2 g"),
        ("liion_18650", 3, 27.75, "9.25 Wh, below the 100 Wh"),
        ("power_bank_5v", 1, 111.0, "above 100 Wh"),
    ],
)
def test_travel(battery: str, cells: int, energy: float, words: str) -> None:
    assert words in travel_note(supply_from_battery(battery, cells), energy)


def test_a_plain_load_is_not_fed_far_below_its_volts() -> None:
    """Three alkaline cells give 4.5 V, and at 2.7 V nothing made for 5 V runs: told are the hours to 4 V."""
    answer = supply_choices(
        SupplyChoiceAsk(8 * HOUR, load_current=0.03, supply_voltage=5.0, mass_limit=0.035)
    )
    three = next(each for each in answer.choices if each.battery == "alkaline_aaa")
    assert three.cells_in_series == 3
    whole = runtime(RuntimeAsk(supply_from_battery("alkaline_aaa", 3), load_current=0.03))
    stopped = runtime(RuntimeAsk(supply_from_battery("alkaline_aaa", 3), load_current=0.03, stop_at=4.0))
    assert three.runtime == pytest.approx(stopped.runtime)
    assert stopped.runtime < 0.5 * whole.runtime


def test_pre_wired_lights_get_a_battery_of_about_their_volts() -> None:
    """A white light printed 9-12 V takes next to nothing from 3 V, and two thirds of it from 9 V."""
    lamps = (LightGroup("Lamps", led_from_part("prewired_white_12v"), 10, None),)
    answer = supply_choices(SupplyChoiceAsk(5 * HOUR, lights=lamps))
    assert answer.choices
    for choice in answer.choices:
        assert supply_from_battery(choice.battery, choice.cells_in_series).supply_voltage >= 7.2


@pytest.mark.parametrize(
    "question",
    [
        SupplyChoiceAsk(6 * HOUR, load_current=0.5, supply_voltage=12.0),
        SupplyChoiceAsk(500 * HOUR, load_current=0.5, supply_voltage=12.0),
        SupplyChoiceAsk(5000 * HOUR, load_current=1.0, supply_voltage=12.0),
        SupplyChoiceAsk(
            100 * HOUR, lights=(LightGroup("Star", led_from_part("red_5mm"), 1, 0.001),), mass_limit=0.01
        ),
    ],
)
def test_what_is_called_the_longest_outlasts_the_others(question: SupplyChoiceAsk) -> None:
    answer = supply_choices(question)
    assert len(answer.choices) >= 2
    for choice in answer.choices:
        if choice.why == "longest":
            assert choice.runtime >= max(each.runtime for each in answer.choices)
