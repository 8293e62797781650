"""From a build to its sheet: plan, expected readings, faults re-solved, words, and the audit of it all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lampwright.auditor import audit
from lampwright.planner.cautions import cautions_for, deference, facts_of
from lampwright.planner.findings import finding
from lampwright.planner.joints import sleeve_cuts
from lampwright.planner.models.base import Finding, stopped
from lampwright.planner.models.build import BreakLine, BuildAsk, FaultRow, Plan, RowCurve, Sheet
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.sheet import plan_build
from lampwright.planner.strings import string_model
from lampwright.planner.texts import counted
from lampwright.planner.together import loops_of
from lampwright.quantities import show
from lampwright.records import Later, altered
from lampwright.sheets.bench import bench_of_plan
from lampwright.sheets.checks import bench_checks
from lampwright.sheets.document import led_figures, sheet_document
from lampwright.sheets.faults import break_it, effects, fault_table
from lampwright.sheets.parts import parts_list, row_count, supply_words, tools
from lampwright.sheets.steps import assumptions, build_steps, drawing_text, event_card
from lampwright.sheets.wording import hours, listed, percent

CURVE_POINTS = 29


def build_sheet(ask: BuildAsk) -> Sheet:
    """Return the whole sheet of a build, audited; ``buildable`` is False where anything says stop."""
    plan = plan_build(ask)
    sheet = _worded(plan)
    if not plan.strings:
        return sheet
    document = sheet_document(sheet)
    failures = audit_findings(document) if sheet.buildable else ()
    if failures:
        findings = (*failures, *sheet.findings)
        sheet = altered(
            sheet, buildable=False, safe="no", findings=findings, reserve=_reserve(plan, findings)
        )
        document = sheet_document(sheet)
    # What was audited is what is answered; set once, here, so that no other sheet can have it.
    object.__setattr__(sheet, "document", document)
    return sheet


def audit_findings(document: Mapping[str, object]) -> tuple[Finding, ...]:
    """Return what the auditor objects to, as stop findings."""
    report = audit(document)
    return tuple(
        finding("audit_failed", what=f"{failure.message} ({failure.place})", field=failure.place)
        for failure in report.failures
    )


def _worded(plan: Plan) -> Sheet:
    """Put a plan into the words and readings of a sheet."""
    findings = plan.findings
    buildable = plan.buildable and bool(plan.strings)
    checks: tuple[BenchCheck, ...] = ()
    faults: tuple[FaultRow, ...] = ()
    broken: Sequence[BreakLine] = ()
    if plan.strings:
        bench = bench_of_plan(plan)
        checks = bench_checks(bench)
        found = effects(bench)
        faults, broken = fault_table(bench, found), Later(lambda: break_it(bench, found))
    return Sheet(
        title=plan.ask.title,
        plan=plan,
        buildable=buildable,
        safe=_safe(plan, findings),
        summary=_summary(plan),
        reserve=_reserve(plan, findings),
        parts_list=parts_list(plan) if plan.strings else (),
        tools=tools(plan) if plan.strings else (),
        sleeves=sleeve_cuts(plan.joints),
        build_steps=build_steps(plan, checks) if plan.strings else (),
        bench_checks=checks,
        fault_finding=faults,
        cautions=cautions_for(plan),
        deference=deference(),
        assumptions=assumptions(plan),
        drawing_text=drawing_text(plan),
        light_figures=tuple(led_figures(light.name, light.count, light.led) for light in plan.ask.lights),
        findings=findings,
        working=plan.working,
        sources=plan.sources,
        row_curves=Later(lambda: _curves(plan)),
        event_card=event_card(plan) if plan.strings else (),
        break_it=broken,
    )


def _safe(plan: Plan, findings: tuple[Finding, ...]) -> str:
    if not plan.strings or not plan.buildable or stopped(findings):
        return "no"
    cautioned = any(each.severity == "caution" for each in findings)
    return "with_care" if cautioned or facts_of(plan).needs_care else "yes"


def _summary(plan: Plan) -> str:
    """Return in one line what the build does."""
    lights = sum(light.count for light in plan.ask.lights)
    if not plan.strings or plan.supply_current is None:
        them = "it" if lights == 1 else "them"
        return f"{counted(lights, 'light')} on {supply_words(plan)}: no safe way to wire {them} was found."
    text = (
        f"{counted(lights, 'light')} in {counted(row_count(plan), 'row')} on {supply_words(plan)}, "
        f"{show(plan.supply_current, 'ma')} in all"
    )
    if plan.runtime is not None and plan.runtime.runtime:
        if plan.runtime.ended_by == "asleep":
            text += f"; the bank falls asleep after about {hours(plan.runtime.runtime)}"
        else:
            text += f", about {hours(plan.runtime.runtime)} on a set"
    return text + "."


def _reserve(plan: Plan, findings: tuple[Finding, ...]) -> str:
    """Return in one line what is left in reserve: the reassurance of a good build."""
    if stopped(findings) or not plan.strings or not plan.design_current:
        return ""
    parts = []
    fuse = plan.fuse
    if fuse is not None and fuse.rated_current:
        parts.append(f"{percent(plan.design_current / fuse.rated_current)} of the fuse")
    limit = plan.ask.supply.current_limit
    if limit and plan.design_current <= limit:  # what dry cells are good for is soft
        parts.append(f"{percent(plan.design_current / limit)} of the supply")
    used = [
        string.solved.dissipation_high / string.solved.rated_dissipation
        for string in plan.strings
        if string.solved.dissipation_high is not None and string.solved.rated_dissipation
    ]
    if used:
        parts.append(f"at most {percent(max(used))} of a resistor's watts")
    text = f"uses at most {show(plan.design_current, 'ma')}, with every part at its limit"
    text += f": {listed(parts)}" if parts else ""
    runtime, wanted = plan.runtime, plan.ask.usage.hours_wanted
    if runtime is not None and runtime.runtime and wanted:
        ratio = runtime.runtime / wanted
        if ratio >= 1 and not runtime.swap_times:
            text += f"; a set lasts {float(f'{ratio:.2g}'):g} times the event"
        elif runtime.sets_needed:
            text += f"; {runtime.sets_needed} sets carry it through the event"
    return text[:1].upper() + text[1:] + "."


def _curves(plan: Plan) -> tuple[RowCurve, ...]:
    """Return each row's current over supply voltage, a little beyond where the supply works."""
    supply = plan.ask.supply
    span = max(supply.supply_voltage_max - supply.supply_voltage_min, 0.15 * supply.supply_voltage_max)
    low = max(0.0, supply.supply_voltage_min - 0.4 * span)
    high = min(supply.supply_voltage_max + 0.25 * span, 60.0)
    volts = tuple(low + (high - low) * place / (CURVE_POINTS - 1) for place in range(CURVE_POINTS))
    loops = loops_of(plan.strings, plan.wires)
    found = []
    for place, string in enumerate(plan.strings[:12]):
        lights = string_model(string.leds, plan.ask.ambient_temperature).expected
        before = (string.solved.resistance or 0.0) + loops.rows[place] + 1e-3
        currents = tuple(lights.current(value, before) for value in volts)
        found.append(RowCurve(string.row, volts, currents))
    return tuple(found)
