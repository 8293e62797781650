"""The bench companion: readings and signs in, likely causes out, and the reading to take next.

Theory of operation. Every single fault is put into the circuit and solved at three corners, which gives
what each test point would show and how widely it may spread. A reading weighs each fault by how well it
fits (a normal curve over the corners' spread and 2 % of meter error), starting from how often such faults
happen. Faults that no test point used so far can tell apart, such as which light of a dark row, are one
cause. The next reading is the one after which, on average, the likeliest cause is likeliest.

Use: ``diagnose(ask: DiagnosisAsk) -> DiagnosisAnswer`` (models in ``planner.models.diagnosis``); ``ask``
holds a ``BuildAsk`` or a ``CircuitAsk``, ``readings`` with check ids of the sheet's ``bench_checks`` and
signs with ids of its ``fault_finding``, with the index of the string added where one row is meant
("row_out_1"). Unknown ids raise ``UnknownPartError`` (kind "check" or "sign").
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.planner.effort import check_solved, check_told
from lampwright.planner.findings import finding
from lampwright.planner.hidden import METER_SPREAD
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.diagnosis import Cause, DiagnosisAnswer, DiagnosisAsk, NextCheck, Reading
from lampwright.planner.sheet import plan_build
from lampwright.planner.together import CORNERS
from lampwright.quantities import show
from lampwright.sheets.bench import SOUND, Bench, Fault, bench_of_circuit, bench_of_plan, faults_of
from lampwright.sheets.checks import bench_checks
from lampwright.sheets.fault_words import fix_of, what_of
from lampwright.sheets.faults import DIM, OFTEN, effect_of, effects, fault_table
from lampwright.sheets.metering import checks_of, readings
from lampwright.sheets.wording import listed

VOLT_FLOOR = 0.03  # V, a common meter's last digits and shaky tips (common practice, no source)
CURRENT_FLOOR = 0.0003  # A, likewise
UNEXPLAINED = 1e-4  # weight of a reading that fits nothing: slips of the tip happen
SIGN_MISSED = 0.01  # weight of a sign that the fault does not show
WORTH_IT = 0.02  # least gain in certainty a further reading must promise
LONG_WAY = 0.05  # what measuring light by light must gain on top
SOUND_OFTEN = 2.0
KEPT = 0.005  # causes less likely than this are not told


@dataclass(frozen=True, slots=True)
class Expected:
    """What a fault shows at each test point: least, middle, most."""

    fault: Fault
    shown: Mapping[str, tuple[float, float, float]]


def expected_of(bench: Bench, fault: Fault, lit: Collection[str] | None = None) -> Expected:
    """Return what a fault shows over the corners at every test point, of lights only at those of ``lit``."""
    rows = None if lit is None else {int(check.split("_")[1]) for check in lit}
    corners = [readings(bench, corner, fault, rows) for corner in CORNERS]
    shown = {}
    for check, middle in corners[1].items():
        values = (corners[0][check], middle, corners[2][check])
        shown[check] = (min(values), middle, max(values))
    return Expected(fault, shown)


def _spread(check: str, three: tuple[float, float, float]) -> float:
    floor = CURRENT_FLOOR if check == "total_current" else VOLT_FLOOR
    low, middle, high = three
    return math.hypot((high - low) / 4, METER_SPREAD * abs(middle), floor)


def fit(check: str, three: tuple[float, float, float], value: float) -> float:
    """Return how well a reading fits what a fault shows, as a density."""
    sigma = _spread(check, three)
    z = (value - three[1]) / sigma
    return math.exp(-0.5 * min(z * z, 600.0)) / sigma + UNEXPLAINED


def values_of(readings: Sequence[Reading], bench: Bench) -> tuple[tuple[str, float], ...]:
    """Return each reading's check and number; a current read at a resistor counts as its volts.

    Raises
    ------
    UnknownPartError
        For a check that is no test point of this build (kind "check").
    ContradictionError
        For a current where a voltage is read, or the reverse; it names the very member.
    """
    known = checks_of(bench)
    for reading in readings:
        if reading.check not in known:
            raise UnknownPartError("check", reading.check, known)
    return tuple((reading.check, _value(at, reading, bench)) for at, reading in enumerate(readings))


def _value(at: int, reading: Reading, bench: Bench) -> float:
    check = reading.check
    if check == "total_current":
        if reading.current is None:
            sent = "" if reading.voltage is None else ".voltage"
            raise ContradictionError(
                f"readings.{at}{sent}", "total_current is a current, and none was sent", "send current_ma"
            )
        return reading.current
    if reading.voltage is not None:
        return reading.voltage
    if reading.current is not None and check.startswith("resistor_"):
        return reading.current * bench.rows[int(check.split("_")[1])].resistance
    sent = "" if reading.current is None else ".current"
    raise ContradictionError(
        f"readings.{at}{sent}", f"{check} is a voltage, and none was sent", "send voltage_v"
    )


def _bench(ask: DiagnosisAsk) -> tuple[Bench, tuple[Finding, ...]]:
    if (ask.build is None) == (ask.circuit is None):
        raise ContradictionError("build", "send a build or a circuit, one of the two", "")
    if ask.circuit is not None:
        check_told(ask.circuit.strings, field="circuit.strings")
        return bench_of_circuit(ask.circuit), ()
    assert ask.build is not None  # noqa: S101  (one of the two, said above)
    plan = plan_build(ask.build)
    if not plan.strings:
        stops = tuple(
            replace(each, field=f"build.{each.field}") if each.field else each for each in plan.findings
        )
        return bench_of_plan(plan), stops
    return bench_of_plan(plan), ()


def diagnose(ask: DiagnosisAsk) -> DiagnosisAnswer:
    """Return likely causes of what the meter and the eye say, and the next reading to take.

    Raises
    ------
    TooCostlyError
        If there are too many faults to be tried.
    """
    bench, stops = _bench(ask)
    if not bench.rows:
        return DiagnosisAnswer((), None, stops)
    faults = (SOUND, *faults_of(bench))
    longest = max(len(row.leds) for row in bench.rows)
    check_solved(len(faults), len(bench.rows), longest, "circuit" if ask.circuit is not None else "build")
    taken = values_of(ask.readings, bench)
    signs = {row.sign for row in fault_table(bench, effects(bench))}
    for sign in ask.signs:
        if _split(sign, bench)[0] not in signs:
            raise UnknownPartError("sign", sign, tuple(sorted(signs)))
    # Light by light only where one was measured: the others tell no more about what is likely.
    lit = {check for check, _ in taken if check.startswith("led_")}
    every = [expected_of(bench, fault, lit) for fault in faults]
    weights = [_weight(bench, each, taken, ask.signs) for each in every]
    total = sum(weights)
    likely = [weight / total for weight in weights]
    groups = _merged(bench, every, likely, {check for check, _ in taken})
    causes = tuple(_cause(bench, group, every, likely) for group in groups)
    kept = tuple(cause for cause in causes if cause.likelihood >= KEPT) or causes[:1]
    return DiagnosisAnswer(
        causes=kept,
        next_check=_next(bench, groups, every, likely, {check for check, _ in taken}),
        findings=_findings(kept),
        working=(_working(ask, len(every), kept[0]),),
        # How often each fault happens is common practice.
        sources=("PRACTICE",),
    )


def _working(ask: DiagnosisAsk, faults: int, first: Cause) -> Step:
    """Return how the causes were weighed, in one step."""
    said = [
        f"{len(told)} {word}{'' if len(told) == 1 else 's'}"
        for told, word in ((ask.readings, "reading"), (ask.signs, "sign"))
        if told
    ]
    return Step(
        what="Every fault is put into the circuit and solved, then weighed by how well it fits "
        "and how often it happens",
        equation="P(fault | told) ∝ P(told | fault) · P(fault)",
        values=f"{faults} cases, {' and '.join(said)}" if said else f"{faults} cases",
        result=f"{show(first.likelihood, 'pct')} for the first cause",
    )


def _weight(bench: Bench, each: Expected, taken: Sequence[tuple[str, float]], signs: Sequence[str]) -> float:
    """Return a fault's prior times the fit of every reading and sign."""
    fault = each.fault
    weight = SOUND_OFTEN if fault.kind == "none" else OFTEN[fault.kind]
    if fault.kind.startswith("light"):  # a row of many lights has no more bad rows than one of few
        weight /= len(bench.rows[fault.row].leds)
    if fault.row >= 0 or fault.run:
        weight /= max(len(bench.rows), 1)
    for check, value in taken:
        weight *= fit(check, each.shown[check], value)
    if signs:
        effect = effect_of(bench, fault)
        for wanted in signs:
            sign, row = _split(wanted, bench)
            there = row < 0 or fault.row == row or (fault.row < 0 and effect.ratios[row] < DIM)
            weight *= 1.0 if effect.sign == sign and there else SIGN_MISSED
    return weight


def _split(sign: str, bench: Bench) -> tuple[str, int]:
    """Return a sign and the index of the row it was seen in: "row_out_1"; -1 where none is said."""
    head, _, last = sign.rpartition("_")
    if head and last.isdecimal() and int(last) < len(bench.rows):
        return head, int(last)
    return sign, -1


def _alike(one: Expected, other: Expected, checks: Sequence[str]) -> bool:
    for check in checks:
        a, b = one.shown[check][1], other.shown[check][1]
        floor = CURRENT_FLOOR if check == "total_current" else VOLT_FLOOR
        if abs(a - b) > METER_SPREAD * max(abs(a), abs(b)) + floor:
            return False
    return True


def _merged(
    bench: Bench, every: Sequence[Expected], likely: Sequence[float], used: set[str]
) -> list[list[int]]:
    """Group faults that the test points cannot tell apart; light by light only where one was measured."""
    checks = [check for check in checks_of(bench) if not check.startswith("led_") or check in used]
    groups: list[list[int]] = []
    for at in sorted(range(len(every)), key=lambda place: -likely[place]):
        for group in groups:
            head = every[group[0]].fault
            # A sound circuit is never lumped with a fault: "nothing is wrong" would hide it.
            if (head.kind == "none") == (every[at].fault.kind == "none") and _alike(
                every[group[0]], every[at], checks
            ):
                group.append(at)
                break
        else:
            groups.append([at])
    return sorted(groups, key=lambda group: -sum(likely[at] for at in group))


def _cause(bench: Bench, group: Sequence[int], every: Sequence[Expected], likely: Sequence[float]) -> Cause:
    faults = [every[at].fault for at in group]
    burns = any(effect_of(bench, fault).burns for fault in faults)
    what = listed(_said(bench, faults), "or")
    fix = fix_of(bench, faults[0])
    rows = {fault.row for fault in faults}
    dark = {"light_open", "light_reversed", "row_open"}
    if len(faults) > 1 and len(rows) == 1 and {fault.kind for fault in faults} <= dark:
        row = bench.rows[faults[0].row]
        fix = (
            f"Walk along row {row.first}, lights on, meter across one light after the other: the one that "
            f"shows nearly the full supply is open or the wrong way round. None does: a joint is open."
        )
    if burns and "Switch off" not in fix:
        fix = f"Switch off first. {fix}"
    return Cause(
        what=what[:1].upper() + what[1:],
        likelihood=sum(likely[at] for at in group),
        fix=fix,
        faults=tuple(fault.id for fault in faults),
        burns=burns,
    )


def _said(bench: Bench, faults: Sequence[Fault]) -> list[str]:
    """Return causes in words, the lights of one row together."""
    said: dict[str, None] = {}
    by_row: dict[int, dict[str, list[Fault]]] = {}
    for fault in faults:
        if fault.kind in ("light_open", "light_reversed", "light_short"):
            by_row.setdefault(fault.row, {}).setdefault(fault.kind, []).append(fault)
    for fault in faults:
        kinds = by_row.get(fault.row, {})
        if fault.kind in kinds and len(kinds[fault.kind]) > 1:
            row = bench.rows[fault.row].first
            words = {
                "light_open": f"one of the lights of row {row} is broken or not joined",
                "light_reversed": f"one of the lights of row {row} is the wrong way round",
                "light_short": f"one of the lights of row {row} is shorted",
            }[fault.kind]
            said[words] = None
        else:
            said[what_of(bench, fault)] = None
    return list(said)


def _unsure(shares: Sequence[float]) -> float:
    """Return how far from certain some shares leave one: their entropy."""
    return -sum(share * math.log(share) for share in shares if share > 1e-12)


def _next(
    bench: Bench,
    groups: Sequence[Sequence[int]],
    every: Sequence[Expected],
    likely: Sequence[float],
    used: set[str],
) -> NextCheck | None:
    """Return the test point that, on average, leaves least doubt."""
    told = [
        (every[group[0]].fault, sum(likely[at] for at in group))
        for group in groups[:24]
        if sum(likely[at] for at in group) > 1e-3
    ]
    if len(told) < 2:
        return None
    heads = [(expected_of(bench, fault), weight) for fault, weight in told]
    total = sum(weight for _, weight in heads)
    shares = [weight / total for _, weight in heads]
    best, least = "", _unsure(shares) - WORTH_IT
    for check in checks_of(bench):
        if check in used:
            continue
        threes = [each.shown[check] for each, _ in heads]
        left = 0.0
        for share, (_, value, _) in zip(shares, threes, strict=True):
            fits = [other * fit(check, three, value) for other, three in zip(shares, threes, strict=True)]
            whole = sum(fits)
            left += share * _unsure([part / whole for part in fits])
        # A row is measured at its resistor first: light by light is the long way.
        left += LONG_WAY if check.startswith("led_") else 0.0
        if left < least - 1e-9:
            best, least = check, left
    if not best:
        return None
    tips = next(each.tips for each in bench_checks(bench) if each.check == best)
    unit = "ma" if best == "total_current" else "v"
    tells = tuple(
        f"about {show(each.shown[best][1], unit)}: {what_of(bench, each.fault)}" for each, _ in heads[:3]
    )
    return NextCheck(best, tips, tells)


def _findings(causes: Sequence[Cause]) -> tuple[Finding, ...]:
    """Say it first where leaving the fault as it is would overload a part."""
    burning = [cause for cause in causes[:3] if cause.burns and cause.likelihood > 0.05]
    if not burning:
        return ()
    return (finding("fault_may_burn", cause=burning[0].what, field="readings"),)
