"""What a finding suggests, merged into the request and sent again, is taken and mends what it is about."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient

Json = dict[str, Any]

LEDS = (
    "red_5mm",
    "white_5mm",
    "red_low_current_5mm",
    "white_1w",
    "prewired_white_12v",
    {"forward_voltage_v": 2, "rated_current_ma": 150},
    {"rated_voltage_v": 5, "rated_current_ma": 10},
)
BATTERIES = ("alkaline_aa", "alkaline_9v", "liion_18650", "nimh_aa", "lead_acid_12v", "lithium_coin_cr2032")


def _some(chance: random.Random, **choices: Any) -> Json:
    return {name: chance.choice(values) for name, values in choices.items() if chance.random() < 0.3}


def _supply(chance: random.Random) -> Json:
    if chance.random() < 0.4:
        return {"battery": chance.choice(BATTERIES), **_some(chance, cells_in_series=(2, 3, 4))}
    volts = chance.choice((1.5, 3, 5, 9, 12, 24, 48))
    return {
        "supply_voltage_v": volts,
        **_some(chance, supply_voltage_max_v=(60,), source_resistance_ohm=(0.01, 1, 30)),
    }


def _resistor(chance: random.Random) -> Json:
    lights: Json = {"led": chance.choice(LEDS), **_some(chance, series_count=(2, 3, 5, 10))}
    if chance.random() < 0.3:
        lights = {"leds": [chance.choice(LEDS) for _ in range(chance.choice((1, 2, 3, 4)))]}
    return {
        **_supply(chance),
        **lights,
        **_some(
            chance,
            resistance_ohm=(0, 1, 47, 330, 4700, 100_000),
            rated_dissipation_w=(0.05, 0.25, 1),
            forward_current_ma=(1, 10, 20, 200),
            branch_count=(2, 20),
            on_hand_ohm=([100], [22, 470], [100_000]),
            reversed=([0],),
        ),
    }


def _arrangement(chance: random.Random) -> Json:
    asked = {**_supply(chance), **_some(chance, rated_dissipation_w=(0.05, 0.125, 0.5), mix_colours=(True,))}
    if chance.random() < 0.5:
        return {**asked, "led": chance.choice(LEDS), "count": chance.choice((1, 3, 20))}
    lights = [
        {
            "name": f"light {place}",
            "led": chance.choice(LEDS),
            "count": chance.choice((1, 4, 9)),
            **_some(chance, forward_current_ma=(1, 10, 30, 200)),
        }
        for place in range(chance.choice((1, 2, 3)))
    ]
    return {**asked, "lights": lights}


def _wire(chance: random.Random) -> Json:
    size = chance.choice(({"awg": 30}, {"awg": 22}, {"conductor_area_mm2": 0.1}, {"on_hand_awg": [30]}))
    return {
        "current_ma": chance.choice((100, 2000, 8000)),
        "run_length_m": chance.choice((0.2, 2, 10)),
        "supply_voltage_v": chance.choice((3, 12, 24)),
        **size,
        **_some(chance, flexing=(True,), core=("solid", "tinned"), bundled_count=(20,)),
    }


def _fuse(chance: random.Random) -> Json:
    return {
        "current_ma": chance.choice((20, 500, 3000)),
        **_supply(chance),
        **_some(
            chance, run_length_m=(0.5, 10), style=("glass_5x20", "blade", "resettable"), inrush_ma=(4000,)
        ),
        "awg": chance.choice((18, 24, 30)),
        "rated_current_ma": chance.choice((0, 100, 1000, 10_000)),
    }


def _circuit(chance: random.Random) -> Json:
    strings = []
    for _ in range(chance.choice((1, 2))):
        string: Json = {"led": chance.choice(LEDS), "resistance_ohm": chance.choice((0, 10, 330, 10_000))}
        string.update(_some(chance, series_count=(2, 3), branch_count=(5,), rated_dissipation_w=(0.05, 1)))
        strings.append(string)
    shared: Json = {"strings": strings, **_some(chance, shared_resistance_ohm=(10, 330))}
    wire = ({"awg": 30, "run_length_m": 3}, {"awg": 22, "run_length_m": 1})
    fuse = ({"rated_current_ma": 0}, {"rated_current_ma": 100}, {"rated_current_ma": 10_000})
    return {**_supply(chance), **shared, **_some(chance, wire=wire, fuse=fuse)}


MAKERS = {
    "series-resistors": _resistor,
    "arrangements": _arrangement,
    "wires": _wire,
    "fuses": _fuse,
    "circuit-checks": _circuit,
}


def _findings(value: Any) -> Iterator[Json]:
    """Yield what is said of an answer; of ways of wiring, what is said of the one recommended."""
    if isinstance(value, dict) and value.get("arrangements"):
        best = value["recommended"]
        yield from value["findings"] if best is None else value["arrangements"][best]["findings"]
    elif isinstance(value, dict):
        for name, inside in value.items():
            if name == "findings":
                yield from inside
            elif name != "inputs":
                yield from _findings(inside)
    elif isinstance(value, list):
        for inside in value:
            yield from _findings(inside)


def merged(asked: Json, found: Json) -> Json:
    """Return a request with what a finding suggests, put beside the member that the finding is about."""
    request = copy.deepcopy(asked)
    owner: Any = request
    for step in found["field"].split(".")[:-1]:
        owner = owner[int(step)] if isinstance(owner, list) else owner.setdefault(step, {})
    owner.update(found["suggestion"])
    return request


@pytest.mark.parametrize("name", MAKERS)
def test_what_is_suggested_is_taken_and_mends(client: FlaskClient, name: str) -> None:
    chance = random.Random(name)
    suggested = set()
    for _ in range(400):
        asked = MAKERS[name](chance)
        said = client.post(f"/v1/{name}", json=asked)
        if said.status_code != 200:
            continue
        for found in _findings(said.get_json()):
            if not found["suggestion"]:
                continue
            again = client.post(f"/v1/{name}", json=merged(asked, found))
            assert again.status_code == 200, (asked, found, again.get_json()["errors"])
            suggested.add(found["code"])
            left = [
                each
                for each in _findings(again.get_json())
                if (each["code"], each["field"]) == (found["code"], found["field"])
            ]
            assert not left, (asked, found, left)
    assert len(suggested) >= 3, suggested
