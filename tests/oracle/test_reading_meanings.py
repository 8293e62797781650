"""What the sheet says under zero, low and high, held against ngspice: each cause lies where its reading does.

Every phrase of the table stands for faults. One of them, put into the circuit in the simulator, must give a
reading in that very part of the band, with the row as dark, dim or bright as said; a phrase that stands for
nothing known here is an error. The other way round, a fault that shows at a test point is told there.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pytest

from lampwright.contract.calculations import read
from lampwright.planner.catalogue import led_from_part, led_model
from lampwright.planner.models.build import BuildAsk, Sheet
from lampwright.planner.models.circuits import BenchCheck
from lampwright.sheets.bench import SOUND, Bench, Fault, bench_of_plan, faults_of
from lampwright.sheets.build import build_sheet
from lampwright.sheets.fault_words import fix_of
from tests.audit.making import good_build
from tests.builds import NAMES, UNLIKE, sheet_of
from tests.marks import published
from tests.oracle.faulted import METER, Deck, measured
from tests.oracle.simulator import run_many

SEED = 20261127
BUILDS = (*NAMES, *UNLIKE, *(f"random build {number}" for number in range(8)))
TRUNK = ("supply_off", "supply_on", "after_switch", "far_end", "total_current")
ZERO = 0.05  # of what is expected
DARK, DIM, BRIGHT = 0.08, 0.75, 1.25  # of the usual current
ANOTHER = "other"
METER_ERROR = 0.02
EYE_ERROR = 0.05
HEADS = ("zero", "low", "high")

#: Words of the table and the faults they stand for; "" where no circuit can tell.
AT_RESISTOR = {
    r"a joint open": ("row_open",),
    r"(a|its) light the wrong way round": ("light_reversed",),
    r"(a|its) light broken": ("light_open",),
    r"(a|its) light shorted": ("light_short",),
    r"bridged": ("resistor_short",),
    r"value too high": ("resistor_high",),
    r"value too low": ("resistor_low",),
    r"other kind of light": (ANOTHER,),
    r"supply: readings 1 to 3": ("supply_weak", "holder_poor", "contact_poor"),
    r"supply: reading 1": ("supply_high",),
    r"open": ("resistor_open",),
}
AT_LIGHT = {
    r"the wrong way round": ("light_reversed",),
    r"row open elsewhere": ("row_open",),
    r"it is shorted": ("light_short",),
    r"other kind of light": (ANOTHER,),
    r"a damaged light": ("",),
    r"supply: readings 1 to 3": ("supply_weak", "holder_poor", "contact_poor"),
    r"supply: reading 1": ("supply_high",),
    r"open": ("light_open",),
}
AT_TRUNK = {
    r"see reading 1": ("supply_dead", "supply_high"),
    r"dead, or contact open|not plugged in, or dead|empty, asleep or not plugged in": ("supply_dead",),
    r"used or cold cells|flat or cold: charge it|wrong supply, or a failing one|a failing bank or lead": (
        "supply_weak",
    ),
    r"wrong battery, or a charger on|wrong battery|wrong supply": ("supply_high",),
    r"poor contact, worn cells|poor plug, or thin lead|poor plug, or supply of too few mA": ("holder_poor",),
    r"plus and minus touch": ("rails_short", "light_short"),
    r"(a|the) row takes too much": ("resistor_short", "resistor_low", "light_short"),
    r"the lights are not on": ("switch_open", "fuse_open", "lead_open", "main_open", "row_open"),
    r"F1 blown or loose": ("fuse_open", "rails_short"),
    r"the wire before S1 open": ("lead_open",),
    r"S1 off or faulty": ("switch_open",),
    r"poor contact, (F1 or )?S1": ("contact_poor",),
    r"poor joint, W0 or W\d+": ("main_poor",),
    r"W0 or W\d+ open": ("main_open",),
}


@cache
def sheet_named(name: str) -> Sheet:
    """Return the sheet of a build, or of a good one made by chance."""
    if not name.startswith("random"):
        return sheet_of(name)
    ask = read("build-sheets", good_build(random.Random(SEED + int(name.split()[-1]))))
    assert isinstance(ask, BuildAsk)
    return build_sheet(ask)


@dataclass(frozen=True)
class Shown:
    """What the simulator shows with a fault: the reading, and the faulty row's current over its usual one."""

    fault: Fault
    value: float
    ratio: float


def bounds(check: BenchCheck) -> tuple[float, float, float]:
    found = (
        (check.current_low, check.current, check.current_high)
        if check.check == "total_current"
        else (check.voltage_low, check.voltage, check.voltage_high)
    )
    assert None not in found
    return found  # type: ignore[return-value]


def head(check: BenchCheck, value: float) -> str:
    least, expected, most = bounds(check)
    if abs(value) <= min(ZERO * expected, max(least, 0) / 2 or ZERO * expected):
        return "zero"
    return "minus" if value < 0 else "low" if value < least else "high" if value > most else "good"


def heads(check: BenchCheck, value: float) -> set[str]:
    """Return where a reading may fall: so near an edge no meter tells on which side of it."""
    return {head(check, value * (1 + side * METER_ERROR)) for side in (-1, 0, 1)}


def look(bench: Bench, shown: Shown) -> str:
    if shown.fault.kind == "light_short":
        return "one light dark" if len(bench.rows[shown.fault.row].leds) > 1 else "dark"
    ratio = shown.ratio
    return "dark" if ratio < DARK else "dim" if ratio < DIM else "too bright" if ratio > BRIGHT else ""


def looks(bench: Bench, shown: Shown) -> set[str]:
    """Return how a row may look: so near a limit no eye tells on which side of it."""
    return {look(bench, replace(shown, ratio=shown.ratio * (1 + side * EYE_ERROR))) for side in (-1, 0, 1)}


def with_another_light(bench: Bench, place: int, at: int, part: str) -> Bench:
    """Return the bench with a light of another family in a row."""
    led = led_from_part(part)
    row = bench.rows[place]
    lights = list(row.lights["expected"])
    lights[at] = led_model(led, "expected", led.reference_temperature)
    changed = replace(row, lights={**row.lights, "expected": tuple(lights)})
    return replace(bench, rows=(*bench.rows[:place], changed, *bench.rows[place + 1 :]))


class Simulated:
    """One build: its checks, and what ngspice shows at each for the faults that concern it."""

    def __init__(self, name: str, folder: Path) -> None:
        self.sheet = sheet_named(name)
        self.plan = self.sheet.plan
        self.bench = bench_of_plan(self.plan)
        self.folder = folder
        kinds: set[tuple[int, object]] = set()
        self.checks = []
        for check in self.sheet.bench_checks:
            if check.check.startswith("led_"):  # lights alike in a row are told in one line
                place, at = (int(part) for part in check.check.split("_")[1:])
                key = (place, self.bench.rows[place].leds[at])
                if key in kinds:
                    continue
                kinds.add(key)
            if check.check != "touch":
                self.checks.append(check)
        faults = faults_of(self.bench, every_light=False)
        wanted = [
            (fault, check.check)
            for check in self.checks
            for fault in (SOUND, *faults)
            if self.concerns(fault, check.check)
        ]
        found = measured(self.plan, self.bench, wanted, folder)
        usual = next(rows for (fault, _), (_, rows) in zip(wanted, found, strict=True) if fault == SOUND)
        self.usual = usual
        self.shown: dict[str, list[Shown]] = {check.check: [] for check in self.checks}
        for (fault, check), (value, rows) in zip(wanted, found, strict=True):
            place = fault.row
            if place < 0:  # of what touches more, the first row it touches
                runs = [row.run for row in self.bench.rows]
                place = runs.index(fault.run) if fault.run else 0
            self.shown[check].append(Shown(fault, value, rows[place] / usual[place]))

    def concerns(self, fault: Fault, check: str) -> bool:
        """Return whether a fault belongs to a test point: at a row its own and the supply's alone."""
        if check in TRUNK:
            return True
        place, *light = (int(part) for part in check.split("_")[1:])
        if fault.row < 0:
            return not fault.run
        return fault.row == place and (
            not light or fault.light in (light[0], -1) or not fault.kind.startswith("light")
        )

    def others(self, check: str) -> list[Shown]:
        """Return what a light of another kind shows at a test point of its row, in all rows alike."""
        place, *light = (int(part) for part in check.split("_")[1:])
        at = light[0] if light else 0
        found = []
        for part in ("red_5mm", "white_5mm"):
            bench = with_another_light(self.bench, place, at, part)
            ((value, rows),) = measured(self.plan, bench, [(SOUND, check)], self.folder)
            found.append(Shown(Fault(ANOTHER, place), value, rows[place] / self.usual[place]))
        return found


@pytest.fixture(scope="module")
def simulated(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Simulated]:
    return {name: Simulated(name, tmp_path_factory.mktemp("meanings")) for name in BUILDS}


def groups(text: str) -> Iterable[tuple[str, str]]:
    """Return the looks with their causes: "dark: a; b" is ("dark", "a"), ("", "b")."""
    for part in text.split("; "):
        told, _, words = (
            part.rpartition(": ") if re.match(r"(dark|dim|too bright|one light)", part) else ("", "", part)
        )
        yield told.replace(" (off!)", ""), words


def phrases(words: str, known: dict[str, tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return the faults each phrase stands for; what no phrase of ours is fails."""
    found, left = [], words.removesuffix(": off").removeprefix("or ")
    for pattern, kinds in known.items():
        left, hits = re.subn(rf"(?:{pattern})(?: \([\d.]+ V\))?", "", left)
        if hits:
            found.append(kinds)
    assert not re.sub(r"[ ,]|\bor\b|\([\d.]+ V\)", "", left), (words, left)
    return found


def known_at(check: str) -> dict[str, tuple[str, ...]]:
    return (
        AT_RESISTOR if check.startswith("resistor_") else AT_LIGHT if check.startswith("led_") else AT_TRUNK
    )


BY_NGSPICE = published(
    "SHOCKLEY-1949",
    "the diode law, solved by ngspice with each fault in the circuit and a meter at each test point",
    of="lampwright.sheets.meanings.at_resistor",
    kind="oracle",
)


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_each_printed_cause_lies_where_its_reading_falls(name, simulated):
    build = simulated[name]
    checked = 0
    for check in build.checks:
        if check.check == "total_current":
            continue
        for told in HEADS:
            for seen, words in groups(getattr(check, f"{told}_means")):
                for kinds in phrases(words, known_at(check.check)) if words else ():
                    if kinds == ("",):
                        continue
                    shown = build.others(check.check) if kinds == (ANOTHER,) else build.shown[check.check]
                    there = [
                        each
                        for each in shown
                        if each.fault.kind in kinds
                        and told in heads(check, each.value)
                        and (not seen or seen in looks(build.bench, each))
                    ]
                    assert there, (check.check, told, seen, words, kinds)
                    checked += 1
    assert checked > 12


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_what_is_wrong_though_the_reading_is_good(name, simulated):
    build = simulated[name]
    for check in build.checks:
        if not check.good_but or check.check == "total_current":
            continue
        for seen, words in groups(check.good_but):
            for kinds in phrases(words, known_at(check.check)):
                there = [
                    each
                    for each in build.shown[check.check]
                    if each.fault.kind in kinds
                    and "good" in heads(check, each.value)
                    and look(build.bench, each) == seen
                ]
                assert there, (check.check, seen, words)


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_a_fault_of_a_row_is_told_where_it_reads(name, simulated):
    """The other way round: how the row looks with the fault stands under the head the reading falls under."""
    build = simulated[name]
    for check in build.checks:
        if not check.check.startswith("resistor_"):
            continue
        for each in build.shown[check.check]:
            told = head(check, each.value)
            if each.fault.row < 0 or heads(check, each.value) != {told}:
                continue
            text = check.good_but if told == "good" else getattr(check, f"{told}_means")
            assert look(build.bench, each) in [seen for seen, _ in groups(text)], (check.check, each, text)


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_all_current_is_low_or_high_as_it_says(name, simulated):
    """A row called dark stands under a head only where a dark row brings the sum there."""
    build = simulated[name]
    check = next(each for each in build.checks if each.check == "total_current")
    seen: dict[str, set[str]] = {}
    hidden = False
    for each in build.shown["total_current"]:
        if each.fault.row >= 0 or each.fault.kind.startswith("run_"):
            shown = {"dark"} if each.fault.kind == "run_open" else looks(build.bench, each)
            hidden = hidden or (shown == {"dark"} and heads(check, each.value) == {"good"})
            for told in heads(check, each.value):
                seen.setdefault(told, set()).update(shown)
    for told in (*HEADS, "good"):
        text = check.good_but if told == "good" else getattr(check, f"{told}_means")
        for word in ("dark", "dim", "too bright"):
            if re.search(rf"\brow is [^,]*{word}", text):
                assert word in seen.get(told, ()), (told, text)
    if hidden:
        assert "count the lit ones" in check.good_but


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_a_sound_build_reads_good_everywhere(name, simulated):
    build = simulated[name]
    for check in build.checks:
        sound = next(each for each in build.shown[check.check] if each.fault == SOUND)
        assert head(check, sound.value) == "good", check.check


@published(
    "SHOCKLEY-1949",
    "the diode law, solved by ngspice with a meter of 10 MΩ from minus to each joint of an open row",
    of="lampwright.sheets.fault_words.fix_of",
    kind="oracle",
)
@pytest.mark.parametrize("name", BUILDS)
def test_the_walk_along_a_row_ends_at_the_break(name, tmp_path):
    """Black tip on minus, red tip from joint to joint from plus on: the break lies before the first 0 V."""
    plan = sheet_named(name).plan
    bench = bench_of_plan(plan)
    walked = 0
    for place, row in enumerate(bench.rows):
        parts = 1 if row.resistance else 0  # the resistor comes first, then the lights
        breaks = [(Fault("light_open", place, at), parts + at) for at in range(len(row.leds))]
        breaks += [(Fault("light_reversed", place, at), parts + at) for at in range(len(row.leds))]
        if row.resistance:
            breaks.append((Fault("resistor_open", place), 0))
        for fault, part in breaks:
            deck = Deck(plan, bench, fault)
            joints = deck.joints(place)
            circuits, probes = zip(*(deck.with_tips(joint, "0") for joint in joints), strict=True)
            shown = [each["vm"] * METER for each in run_many(circuits, probes, tmp_path)]
            assert "first 0 V" in fix_of(bench, Fault("row_open", place))
            first_zero = next((at for at, volts in enumerate(shown) if abs(volts) < 0.1), len(shown))
            assert first_zero == part + 1, (fault, shown)
            walked += 1
    assert walked
