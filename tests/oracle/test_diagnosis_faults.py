"""Faults put into builds in ngspice; the companion is asked what is wrong.

The simulator gets the circuit as it is wired (``faulted.py``), one fault at a time; poor contacts are as
poor as chance has it, and each reading gets 2 % of meter noise. The person starts with what is seen,
measures where the fault table says, and goes on where the companion says, three readings at most.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from lampwright.planner.models.diagnosis import DiagnosisAnswer, DiagnosisAsk, Reading
from lampwright.sheets.bench import Bench, Fault, bench_of_plan, faults_of
from lampwright.sheets.diagnosis import diagnose
from lampwright.sheets.faults import effect_of
from tests.builds import NAMES, UNLIKE, build_ask, sheet_of
from tests.marks import published, tabled
from tests.oracle.faulted import measured

NOISE = 0.02
SEED = 20261125
BUILDS = (*NAMES, *UNLIKE)


@dataclass(frozen=True)
class Case:
    """One fault walked through: its answer, where the true cause stands in it, and the readings taken."""

    fault: Fault
    answer: DiagnosisAnswer
    rank: int
    readings: tuple[Reading, ...]


def first_check(bench: Bench, fault: Fault, sign: str) -> str:
    """Return where the fault table sends one first, for what is seen."""
    row = max(fault.row, 0)
    if fault.kind.startswith("run"):
        row = next(place for place, each in enumerate(bench.rows) if each.run == fault.run)
    if sign == "light_out":
        return f"led_{row}_{fault.light}"
    if sign in ("row_out", "row_dim", "row_bright", "kind_out"):
        return f"resistor_{row}" if bench.rows[row].resistance else f"led_{row}_0"
    return "supply_off" if sign in ("all_dim", "all_bright", "fuse_at_once") else "supply_on"


def sign_of(bench: Bench, fault: Fault) -> str:
    sign = effect_of(bench, fault).sign
    of_row = fault.row >= 0 and sign not in ("nothing_lights", "fuse_at_once", "supply_hot")
    return f"{sign}_{fault.row}" if of_row else sign


def walked(name: str, folder: Path) -> list[Case]:
    """Return every fault of a build with what the companion says of it."""
    plan, ask = sheet_of(name).plan, build_ask(name)
    bench = bench_of_plan(plan)
    faults = faults_of(bench)
    chance = random.Random(SEED)
    signs = {fault: sign_of(bench, fault) for fault in faults}
    checks = {fault: first_check(bench, fault, effect_of(bench, fault).sign) for fault in faults}
    sizes = {fault: chance.uniform(0.6, 1.6) for fault in faults}
    readings: dict[Fault, tuple[Reading, ...]] = {fault: () for fault in faults}
    answers: dict[Fault, DiagnosisAnswer] = {}
    for _ in range(3):
        wanted = [(fault, check) for fault, check in checks.items() if check]
        found = measured(plan, bench, wanted, folder, sizes)
        for (fault, check), (value, _) in zip(wanted, found, strict=True):
            noisy = value * (1 + chance.uniform(-NOISE, NOISE))
            current = check == "total_current"
            reading = Reading(check, None if current else noisy, noisy if current else None)
            readings[fault] += (reading,)
            answer = diagnose(DiagnosisAsk(build=ask, readings=readings[fault], signs=(signs[fault],)))
            answers[fault] = answer
            checks[fault] = answer.next_check.check if answer.next_check else ""
    return [
        Case(
            fault,
            answer,
            next((at for at, cause in enumerate(answer.causes) if fault.id in cause.faults), 99),
            readings[fault],
        )
        for fault, answer in answers.items()
    ]


BY_NGSPICE = published(
    "SHOCKLEY-1949",
    "the diode law, solved by ngspice with one fault and one meter a circuit",
    of="lampwright.sheets.diagnosis.diagnose",
    kind="oracle",
)


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Case]]:
    return {name: walked(name, tmp_path_factory.mktemp("faults")) for name in BUILDS}


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_the_true_cause_comes_first_with_three_readings_at_most(name, cases):
    wrong = [
        (each.fault.id, each.rank, each.answer.causes[0].what, each.readings)
        for each in cases[name]
        if each.rank
    ]
    ranks = [each.rank for each in cases[name]]
    assert sum(rank == 0 for rank in ranks) >= 0.8 * len(ranks), wrong
    assert sum(rank < 3 for rank in ranks) >= 0.95 * len(ranks), wrong


@BY_NGSPICE
@pytest.mark.parametrize("name", BUILDS)
def test_no_fault_that_can_burn_is_answered_with_carry_on(name, cases):
    bench = bench_of_plan(sheet_of(name).plan)
    burning = [each for each in cases[name] if effect_of(bench, each.fault).burns]
    assert burning
    for each in burning:
        told = " ".join(cause.fix for cause in each.answer.causes[:3])
        assert re.search("[Ss]witch off|unplug", told), (each.fault.id, told)


@BY_NGSPICE
def test_the_ranks_by_kind_of_fault(cases, capsys):
    """How often the true cause came first, how often in the first three, and after how many readings."""
    kinds: dict[str, list[Case]] = {}
    for each in (case for found in cases.values() for case in found):
        kinds.setdefault(each.fault.kind, []).append(each)
    rows = []
    for kind, found in kinds.items():
        first, three = (sum(each.rank < most for each in found) for most in (1, 3))
        taken = [len(each.readings) for each in found]
        rows.append((kind, len(found), first, three, round(sum(taken) / len(taken), 1), max(taken)))
    columns = ("fault", "cases", "named first", "in first three", "readings", "at most")
    tabled(f"Faults put into {len(BUILDS)} builds by ngspice, readings 2 % off", columns, rows)
    with capsys.disabled():
        print()
        for row in (columns, *rows):
            print("".join(f"{cell!s:<20}" for cell in row))
    assert set(kinds) >= {
        "row_open",
        "resistor_low",
        "light_short",
        "holder_poor",
        "main_poor",
        "rails_short",
    }
    for kind, cases_, first, three, _, most in rows:
        assert first >= 0.5 * cases_, kind
        assert three >= 0.75 * cases_, kind
        assert most <= 3
