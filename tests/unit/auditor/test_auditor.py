"""The auditor: sound sheets pass, one spoiled value does not, and what is no sheet is said to be none."""

import contextlib
import copy
import json
import random
from pathlib import Path

import pytest

from lampwright.auditor import UnreadableSheetError, audit
from lampwright.auditor.reading import labels_in
from tests.audit.making import answer, good_build, random_build
from tests.audit.sabotage import KINDS, spoiled

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.json"))


@pytest.fixture(scope="module")
def sheets():
    return {path.stem: answer(json.loads(path.read_text("utf-8"))) for path in EXAMPLES}


@pytest.fixture
def diorama(sheets):
    return copy.deepcopy(sheets["observatory_diorama"])


@pytest.fixture
def lamp(sheets):
    return copy.deepcopy(sheets["miners_lamp"])


def _part(document, item):
    return next(line for line in document["parts_list"] if line["item"] == item)


def codes(document):
    return {each.code for each in audit(document).failures}


def test_examples_are_sound(sheets):
    for name, document in sheets.items():
        report = audit(document)
        assert report.failures == (), name
        assert report.sound
        assert report.checked > 100


def test_a_sheet_that_says_stop_is_not_sound():
    document = answer(
        {
            "title": "Too much",
            "supply": {"battery": "lithium_coin_cr2032"},
            "lights": [{"name": "Star", "led": "white_5mm", "count": 9}],
        }
    )
    report = audit(document)
    assert not report.buildable
    assert not report.sound


def test_stop_and_buildable_contradict(diorama):
    diorama["findings"].append({"code": "x", "severity": "stop", "message": "", "remedy": ""})
    assert "stop_but_buildable" in codes(diorama)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda d: d["strings"][0].update(resistance_ohm=47.0), "led_over_limit"),
        (lambda d: d["strings"][0].update(rated_dissipation_w=0.001), "resistor_over_rating"),
        (lambda d: d["strings"][0].update(colour_bands=["red"]), "text_differs"),
        (lambda d: d["strings"][0].update(branch_count=99), "count_differs"),
        (lambda d: d["strings"][0].update(leds=["red_5mm"]), "part_differs"),
        (lambda d: d["joints"].pop(), "count_differs"),
        (lambda d: d["joints"][-1].update(count=7), "count_differs"),
        (lambda d: d["sleeves"][0].update(count=1), "count_differs"),
        (lambda d: _part(d, "Shrink sleeve").update(value="2.4 mm before shrinking, 0.1 m"), "count_differs"),
        (lambda d: d["cut_list"][0].update(label="W9+"), "count_differs"),
        (lambda d: d["build_steps"][2].update(joints=[]), "count_differs"),
        (lambda d: d["build_steps"][0].update(powered=True), "fuse_missing"),
        (lambda d: d["fuse"].update(rated_current_ma=10_000), "fuse_outside_window"),
        (lambda d: d["fuse"].update(rated_current_ma=50), "fuse_outside_window"),
        (lambda d: d["fuse"].update(rated_current_ma=777), "part_differs"),
        (lambda d: d["fuse"].update(style="nail"), "part_differs"),
        (lambda d: d["switch"].update(rated_current_ma=10), "switch_over_rating"),
        (lambda d: d["wires"][1].update(awg=36), "figure_differs"),
        (lambda d: d["wires"][1].update(serves="ZZ"), "count_differs"),
        (lambda d: d["basis"]["supply"].update(current_limit_ma=5), "supply_over_limit"),
        (lambda d: d["basis"]["supply"].update(supply_voltage_max_v=61), "voltage_over_limit"),
        (lambda d: d["basis"]["wire"].update(insulation="pvc_60"), "figure_differs"),
        (lambda d: d["basis"].update(ambient_temperature_degc=60), "figure_differs"),
        (lambda d: d["light_figures"][0].update(forward_voltage_v=2.5), "part_differs"),
        (lambda d: d["light_figures"][0].update(colour="red"), "part_differs"),
        (lambda d: d["parts_list"][-3:] and d["parts_list"].clear(), "count_differs"),
        (lambda d: d["bench_checks"][0].update(voltage_v=9.0), "figure_differs"),
        (lambda d: d["strings"][0]["display"].update(current="99 mA"), "text_differs"),
    ],
)
def test_one_wrong_value_is_named(diorama, change, code):
    change(diorama)
    report = audit(diorama)
    assert not report.sound
    assert code in {each.code for each in report.failures}


def test_a_strong_battery_needs_its_fuse():
    document = answer(
        {
            "title": "Staff",
            "supply": {"battery": "nimh_aa", "cells_in_series": 4},
            "lights": [{"name": "Glow", "led": "red_5mm", "count": 4, "forward_current_ma": 10}],
        }
    )
    assert audit(document).sound
    document["fuse"].update(rated_current_ma=0, style=None)
    assert "fuse_missing" in codes(document)


def test_a_glass_fuse_on_a_lead_battery_bursts():
    document = answer(
        {
            "title": "Cart",
            "supply": {"battery": "lead_acid_12v"},
            "lights": [{"name": "Lamp", "led": "white_5mm", "count": 9, "forward_current_ma": 10}],
        }
    )
    assert audit(document).sound
    document["fuse"].update(rated_current_ma=500, style="glass_5x20")
    assert "fuse_cannot_break" in codes(document)


def test_battery_figures_come_from_the_table(lamp):
    lamp["basis"]["supply"]["supply_voltage_v"] = 6.0
    assert "figure_differs" in codes(lamp)


def test_costume_wire_may_not_be_thin(lamp):
    for wire in lamp["wires"]:
        wire["awg"] = 32
    assert "wire_too_thin" in codes(lamp)


def test_a_missing_wire_size(lamp):
    for wire in lamp["wires"]:
        wire.update(awg=None, conductor_area_mm2=None)
    assert "part_differs" in codes(lamp)


@pytest.mark.parametrize(
    "document",
    [
        {},
        [],
        {"buildable": "yes"},
        {"buildable": True},
        {"buildable": True, "basis": {}, "strings": [], "wires": [], "light_figures": []},
    ],
)
def test_what_is_no_sheet(document):
    with pytest.raises(UnreadableSheetError):
        audit(document)


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d.pop("basis"),
        lambda d: d.pop("light_figures"),
        lambda d: d["strings"][0].update(light_names=["nobody"]),
        lambda d: d["strings"][0].update(tolerance_pct="five"),
        lambda d: d["strings"][0].update(branch_count=1.5),
        lambda d: d["strings"][0].update(row="7"),
        lambda d: d["wires"][1].update(serves="7"),
        lambda d: d["basis"]["supply"].update(battery="potato"),
        lambda d: d["basis"]["wire"].update(insulation="wool"),
        lambda d: d["light_figures"][0].update(rated_current_ma=0),
    ],
)
def test_what_cannot_be_read(lamp, change):
    change(lamp)
    with pytest.raises(UnreadableSheetError):
        audit(lamp)


@pytest.mark.parametrize("odd", ["²", "", -1, 1e308, True, [], [None], {"a": 1}, "NaN", 10**30])
def test_odd_values_anywhere_are_judged_or_refused(lamp, odd):
    places = random.Random(str(odd)).sample(_places(lamp), 60)
    for *way, last in places:
        sheet = json.loads(json.dumps(lamp))
        at = sheet
        for step in way:
            at = at[step]
        at[last] = odd
        with contextlib.suppress(UnreadableSheetError):
            audit(sheet)


@pytest.mark.parametrize("odd", [5, "none", [None], ["stop"], {"severity": "note"}])
def test_findings_that_are_none_are_refused(lamp, odd):
    with pytest.raises(UnreadableSheetError):
        audit({**lamp, "findings": odd})


def test_a_display_that_is_none_is_told(lamp):
    lamp["joints"][0]["display"] = "lots"
    assert not audit(lamp).sound


def _places(value, way=()):
    """Return the way to every value within a sheet."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [place for name, item in inner for place in ((*way, name), *_places(item, (*way, name)))]


def test_labels():
    assert labels_in("Z–AB") == ("Z", "AA", "AB")
    assert labels_in("E–J, Q") == ("E", "H", "J", "Q")
    assert labels_in("") == ()


@pytest.mark.parametrize("place", ["comparison", "alternatives"])
def test_what_another_battery_would_give_is_judged(sheets, place):
    document = copy.deepcopy(sheets["miners_lamp"])
    others = document["comparison"] if place == "comparison" else document["runtime"]["alternatives"]
    assert audit(document).sound
    others[0]["start_current_ma"] *= 0.9
    del others[0]["display"]
    (failure,) = audit(document).failures
    assert failure.place.endswith(f"{place}.0.start_current_ma")


@pytest.mark.parametrize("kind", KINDS)
def test_sabotage_is_caught(sheets, kind):
    chance = random.Random(7)
    for document in sheets.values():
        for _ in range(5):
            changed, place = spoiled(document, chance, kind)
            try:
                assert not audit(changed).sound, place
            except UnreadableSheetError:
                continue


def test_random_builds_are_sound_or_refused():
    chance = random.SystemRandom()
    for _ in range(20):
        seed = chance.randrange(10**9)
        for make in (random_build, good_build):
            document = answer(make(random.Random(seed)))
            if document is not None and document["buildable"]:
                assert audit(document).sound, seed


def test_good_builds_are_not_shouted_at():
    for number in range(12):
        document = answer(good_build(random.Random(f"plain {number}")))
        severities = {each["severity"] for each in document["findings"]} - {"note"}
        assert document["buildable"]
        assert len(document["cautions"]) <= 5
        assert "stop" not in severities


#: Twelve plain good builds: supply, light, how many, mA, metres.
PLAIN = {
    "red row on a 9 V block": ({"battery": "alkaline_9v"}, "red_5mm", 2, 8, 0.3),
    "lantern on three AA": ({"battery": "alkaline_aa", "cells_in_series": 3}, "amber_5mm", 3, 10, 0.4),
    "lamps on four AA": ({"battery": "alkaline_aa", "cells_in_series": 4}, "warm_white_5mm", 6, 8, 0.6),
    "eyes on four NiMH": ({"battery": "nimh_aa", "cells_in_series": 4}, "red_5mm", 2, 10, 0.5),
    "cart on a lead battery": ({"battery": "lead_acid_12v"}, "warm_white_5mm", 12, 12, 1.5),
    "sign on two lithium cells": ({"battery": "lipo_2s"}, "white_5mm", 8, 10, 0.8),
    "town on 12 V": ("adapter_12v", "warm_white_5mm", 20, 8, 2.0),
    "signals on 12 V": ("adapter_12v", "green_5mm", 6, 5, 1.0),
    "windows on 24 V": ("adapter_24v", "yellow_5mm", 24, 5, 2.0),
    "lamps on a USB charger": ("usb_charger_5v", "warm_white_3mm", 10, 8, 1.0),
    "pre-wired on 12 V": ("adapter_12v", "prewired_white_12v", 5, None, 1.0),
    "fire on 5 V": ("adapter_5v", "orange_5mm", 4, 12, 0.5),
}


@pytest.mark.parametrize("name", PLAIN)
def test_plain_good_builds_raise_no_alarm(name):
    supply, led, count, wanted, length = PLAIN[name]
    light = {"name": "Light", "led": led, "count": count, "run_length_m": length}
    if wanted is not None:
        light["forward_current_ma"] = wanted
    document = answer({"title": name, "supply": supply, "lights": [light]})
    assert document["buildable"]
    assert [each["code"] for each in document["findings"] if each["severity"] != "note"] == []
    assert len(document["cautions"]) <= 5
    assert audit(document).sound
