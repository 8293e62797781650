"""Faults put into the example builds in ngspice; the companion is asked what is wrong.

The simulator gets the circuit as it is wired (runs shared, meter of 10 MΩ really connected), one fault
at a time; each reading then gets 2 % of meter noise. The person starts with what is seen, measures where
the fault table says, and goes on where the companion says, three readings at most.
"""

import math
import random
import re

import pytest

from lampwright.planner.models.diagnosis import DiagnosisAsk, Reading
from lampwright.planner.together import served
from lampwright.sheets.bench import bench_of_plan, faults_of
from lampwright.sheets.diagnosis import diagnose
from lampwright.sheets.faults import effect_of
from tests.builds import NAMES, example_ask, example_sheet
from tests.marks import published
from tests.oracle.simulator import run_many

#: Boltzmann constant over elementary charge as ngspice has them (CODATA 2014), at 25 °C.
THERMAL_VOLTAGE = 1.38064852e-23 * 298.15 / 1.6021766208e-19
METER = 10e6
OPEN = 1e10
NOISE = 0.02
#: Dark rows hang on meter and leakage alone; a meter needs no ten digits.
LOOSER = ".options reltol=1e-5 abstol=1e-12 vntol=1e-7 gmin=1e-12"
SEED = 20261125


class Deck:
    """The circuit of a plan in the simulator's words, with one fault and one meter in it."""

    def __init__(self, plan, bench, fault):
        self.lines, self.models = [], {}
        self.plan, self.bench, self.fault = plan, bench, fault
        self.at = {}
        supply = bench.supply
        open_volts = bench.volts["expected"]
        if fault.kind == "supply_dead":
            open_volts = 0.0
        elif fault.kind == "supply_weak":
            open_volts = supply.supply_voltage_min * (1 if supply.battery else 0.85)
        elif fault.kind == "supply_high":
            open_volts = 1.25 * supply.supply_voltage_max
        elif fault.kind == "supply_reversed":
            open_volts = -open_volts
        self.lines.append(f"V0 g 0 {open_volts}")
        self.resistor("g", "t", bench.source["expected"])
        self.series("t", "s", 1e-4, is_open=fault.kind in ("fuse_open", "switch_open", "rails_short"))
        self.current_probe("s", "p")
        broken = fault.kind == "main_open"
        self.series("p", "d", bench.main_loop, is_open=broken)
        runs = [wire for wire in plan.wires if wire.label != "W0"]
        self.ends = {}
        for wire in runs:
            self.series(
                "d",
                wire.label.lower(),
                wire.figures.loop_resistance,
                is_open=fault.kind == "run_open" and fault.run == wire.label,
            )
        for place, string in enumerate(plan.strings):
            wire = next(each for each in runs if served(each, string))
            for copy in range(string.solved.branch_count):
                self.row(place, copy, wire.label.lower())

    def resistor(self, a, b, ohms):
        self.lines.append(f"R{len(self.lines)} {a} {b} {max(ohms, 1e-6)}")

    def series(self, a, b, ohms, *, is_open):
        self.resistor(a, b, OPEN if is_open else ohms)

    def current_probe(self, a, b):
        self.lines.append(f"Vall {a} {b} 0")

    def row(self, place, copy, start):
        row, fault = self.bench.rows[place], self.fault
        mine = place == fault.row and copy == 0
        kind = fault.kind if mine else ""
        name = f"r{place}c{copy}"
        if kind == "row_open":
            self.series(start, f"{name}x", 0, is_open=True)
            start = f"{name}x"
        at = start
        if row.resistance:
            ohms = row.resistance * {"resistor_high": 10, "resistor_low": 0.1}.get(kind, 1)
            self.series(
                at, f"{name}l0", 1e-3 if kind == "resistor_short" else ohms, is_open=kind == "resistor_open"
            )
            if copy == 0:
                self.at[f"resistor_{place}"] = (at, f"{name}l0")
            at = f"{name}l0"
        for light, (diodes, inner) in enumerate(row.lights["expected"]):
            end = "0" if light + 1 == len(row.leds) else f"{name}l{light + 1}"
            if copy == 0:
                self.at[f"led_{place}_{light}"] = (at, end)
            if kind == "light_short" and light == fault.light:
                self.resistor(at, end, 1e-3)
            elif kind == "light_open" and light == fault.light:
                self.resistor(at, end, OPEN)
            else:
                a, b = (end, at) if kind == "light_reversed" and light == fault.light else (at, end)
                for number, diode in enumerate(diodes):
                    last = b if number + 1 == len(diodes) and not inner else f"{name}d{light}n{number}"
                    self.lines.append(f"D{len(self.lines)} {a} {last} {self.model(diode)}")
                    self.resistor(a, last, OPEN)  # leakage, so that no node floats in a dark row
                    a = last
                if inner:
                    self.resistor(a, b, inner)
            at = end

    def model(self, diode):
        saturation = math.exp(diode.log_saturation_current)
        card = f"D(IS={saturation} N={diode.emission_voltage / THERMAL_VOLTAGE} RS={diode.series_resistance})"
        return self.models.setdefault(card, f"m{len(self.models)}")

    def with_meter(self, check):
        """Return element lines with a meter at a test point, and the probe whose current it is."""
        models = [f".model {name} {card}" for card, name in self.models.items()] + [LOOSER]
        if check == "total_current":
            return [*self.lines, *models], "Vall"
        a, b = {
            "supply_off": ("g", "0"),
            "supply_on": ("t", "0"),
            "after_switch": ("p", "0"),
            "far_end": (self._far(), "0"),
        }.get(check) or self.at[check]
        return [*self.lines, f"Rm {a} mm {METER}", f"Vm mm {b} 0", *models], "Vm"

    def _far(self):
        string = self.plan.strings[self.bench.far]
        return next(w for w in self.plan.wires if w.label != "W0" and served(w, string)).label.lower()


#: What the deck can show as it is: poor contacts and a short without a fuse are judged sizes, not facts.
SKIPPED = ("contact_poor", "run_poor")


def measured(plan, bench, wanted, tmp_path):
    """Return what ngspice's meter shows for each (fault, check) wanted."""
    circuits, probes = [], []
    for fault, check in wanted:
        lines, probe = Deck(plan, bench, fault).with_meter(check)
        circuits.append(lines)
        probes.append([probe])
    found = run_many(circuits, probes, tmp_path)
    values = []
    for (fault, check), currents in zip(wanted, found, strict=True):
        assert len(currents) == 1, (fault, check)
        (current,) = currents.values()
        values.append(current if check == "total_current" else current * METER)
    return values


def first_check(bench, fault, sign):
    """Return where the fault table sends one first, for what is seen."""
    row = max(fault.row, 0)
    if fault.kind.startswith("run"):
        row = next(place for place, each in enumerate(bench.rows) if each.run == fault.run)
    if sign == "light_out":
        return f"led_{row}_{fault.light}"
    if sign in ("row_out", "row_dim", "row_bright", "kind_out"):
        return f"resistor_{row}" if bench.rows[row].resistance else f"led_{row}_0"
    return "supply_off" if sign in ("all_dim", "all_bright", "fuse_at_once") else "supply_on"


def sign_of(bench, fault):
    sign = effect_of(bench, fault).sign
    return f"{sign}_{fault.row}" if fault.row >= 0 and sign != "nothing_lights" else sign


@published(
    "SHOCKLEY-1949",
    "the diode law, solved by ngspice with one fault and one meter a circuit",
    of="lampwright.sheets.diagnosis.diagnose",
    kind="oracle",
)
@pytest.mark.parametrize("name", NAMES)
def test_the_true_cause_comes_first_with_three_readings_at_most(name, tmp_path):
    plan, ask = example_sheet(name).plan, example_ask(name)
    bench = bench_of_plan(plan)
    faults = [fault for fault in faults_of(bench) if fault.kind not in SKIPPED]
    chance = random.Random(SEED)
    signs = {fault: sign_of(bench, fault) for fault in faults}
    checks = {fault: first_check(bench, fault, effect_of(bench, fault).sign) for fault in faults}
    readings = {fault: () for fault in faults}
    answers = {}
    for _ in range(3):
        wanted = [(fault, check) for fault, check in checks.items() if check]
        for (fault, check), value in zip(wanted, measured(plan, bench, wanted, tmp_path), strict=True):
            noisy = value * (1 + chance.uniform(-NOISE, NOISE))
            current = check == "total_current"
            reading = Reading(check, None if current else noisy, noisy if current else None)
            readings[fault] += (reading,)
            answer = diagnose(DiagnosisAsk(build=ask, readings=readings[fault], signs=(signs[fault],)))
            answers[fault] = answer
            checks[fault] = answer.next_check.check if answer.next_check else ""
    ranks, wrong = [], []
    for fault, answer in answers.items():
        place = next((at for at, cause in enumerate(answer.causes) if fault.id in cause.faults), 99)
        ranks.append(place)
        if place:
            wrong.append((fault.id, place, answer.causes[0].what, readings[fault]))
        if effect_of(bench, fault).burns:
            told = " ".join(cause.fix for cause in answer.causes[:3])
            assert re.search("[Ss]witch off|unplug", told), (fault.id, told)
    assert sum(rank == 0 for rank in ranks) >= 0.8 * len(ranks), wrong
    assert sum(rank < 3 for rank in ranks) >= 0.95 * len(ranks), wrong
