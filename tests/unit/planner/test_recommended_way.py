"""The recommended way worked out alone is the one recommended among all; and less is worked out for it."""

import random
from dataclasses import replace

import pytest

from lampwright.planner import arrangement, supply_choice
from lampwright.planner.arrangement import arrangements, recommended_way
from lampwright.planner.catalogue import led_from_part, led_types
from lampwright.planner.models.circuits import ArrangementAsk, LightGroup
from lampwright.planner.models.energy import SupplyChoiceAsk
from lampwright.planner.supplies import supply_from_battery, supply_from_voltage
from lampwright.tables.batteries import battery_types

LEDS = sorted(led_types())
SUPPLIES = [
    *(
        supply_from_battery(name, count)
        for name, kind in battery_types().items()
        for count in ((1, 3, 6) if kind.form == "cell" else (1,))
    ),
    *(supply_from_voltage(volts) for volts in (3.0, 5.0, 9.0, 12.0, 24.0)),
    supply_from_voltage(12.0, 11.0, 13.0, source_resistance=3.0),
]


def lights_of(chance: random.Random, kinds: int, *, prewired: bool) -> tuple[LightGroup, ...]:
    parts = [part for part in LEDS if prewired or not led_from_part(part).prewired]
    return tuple(
        LightGroup(
            name=f"Lamps {at}",
            led=led_from_part(chance.choice(parts)),
            count=chance.randint(1, 40),
            forward_current=chance.choice((None, 0.003, 0.008, 0.015)),
        )
        for at in range(kinds)
    )


@pytest.mark.parametrize("prewired", [False, True])
@pytest.mark.parametrize("mix_colours", [False, True])
def test_it_is_the_one_recommended_among_all(prewired, mix_colours):
    chance = random.Random(f"{prewired} {mix_colours}")
    told = 0
    for _ in range(120):
        ask = ArrangementAsk(
            supply=replace(chance.choice(SUPPLIES), current_limit=None),
            lights=lights_of(chance, chance.randint(1, 6), prewired=prewired),
            mix_colours=mix_colours,
        )
        every = arrangements(ask)
        best = None if every.recommended is None else every.arrangements[every.recommended]
        assert recommended_way(ask) == best
        told += best is not None
    assert told > 10


def test_ways_that_cannot_be_better_are_not_worked_out(monkeypatch):
    tried = []
    worked_out = arrangement._arranged
    monkeypatch.setattr(
        arrangement, "_arranged", lambda known, split: (tried.append(split), worked_out(known, split))[1]
    )
    monkeypatch.setattr(arrangement, "_mixed", lambda *_: pytest.fail("packed for nothing"))
    lights = tuple(
        LightGroup(name=part, led=led_from_part(part), count=6) for part in ("red_5mm", "amber_5mm")
    )
    assert recommended_way(ArrangementAsk(supply=supply_from_voltage(12.0), lights=lights)) is not None
    assert len(tried) == 2  # rows of 3 and 3, and of 4 and 2: as many rows, one steadier than the other


def test_no_voltage_is_wired_and_no_pack_judged_twice(monkeypatch):
    wired, judged = [], []
    wire, judge = supply_choice._wiring, supply_choice._judged
    monkeypatch.setattr(
        supply_choice,
        "_wiring",
        lambda ask, supply: (wired.append(supply.supply_voltage_max), wire(ask, supply))[1],
    )
    monkeypatch.setattr(
        supply_choice,
        "_judged",
        lambda fed, question, mass: (judged.append(question.supply), judge(fed, question, mass))[1],
    )
    lights = (LightGroup(name="Hall", led=led_from_part("white_5mm"), count=40, forward_current=0.015),)
    # For so long no pack of a usual weight lasts, and heavier ones are looked at, too.
    answer = supply_choice.supply_choices(SupplyChoiceAsk(lights=lights, hours_wanted=400 * 3600.0))
    assert answer.choices
    assert len(set(judged)) == len(judged) > 20
    assert len(set(wired)) > 20
    assert len(wired) < 1.3 * len(set(wired))  # windows differ at their other ends
