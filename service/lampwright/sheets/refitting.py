"""The log read back: part values that fit its readings, and what they do to currents, hours, findings.

Theory of operation. The planned circuit with unknown parts (``unknowns``) is solved whole and its test
points held against the readings (``fitting``), each part drawn to its printed value as strongly as its
tolerance says. So a reading moves what it can tell and nothing else, and what no reading tells keeps its
value and its band. The fitted parts, with what is left of their bands, then go where planned ones go:
rows are judged and the hours on a set worked out afresh.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lampwright.planner.catalogue import family_of, led_model
from lampwright.planner.findings import finding
from lampwright.planner.hidden import METER_SPREAD
from lampwright.planner.judging import string_findings
from lampwright.planner.labels import first_row
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import Plan, PlannedString
from lampwright.planner.models.circuits import StringAsk
from lampwright.planner.models.energy import RuntimeAnswer
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.models.refit import (
    FittedLight,
    FittedRow,
    FittedSupply,
    LogFitAnswer,
    LogFitAsk,
    LogReading,
)
from lampwright.planner.sheet import plan_build, planned_runtime
from lampwright.planner.strings import Corners, hottest_dissipation, string_model
from lampwright.planner.texts import counted
from lampwright.planner.together import Loops, loops_of, solve_build
from lampwright.quantities import show
from lampwright.sheets.bench import bench_of_plan, names_of, solve
from lampwright.sheets.comparing import MOVED
from lampwright.sheets.diagnosis import CURRENT_FLOOR, VOLT_FLOOR, values_of
from lampwright.sheets.fitting import Fit, Matrix, fit
from lampwright.sheets.metering import readings
from lampwright.sheets.unknowns import OWN_SHARE, Unknowns, light_doubt
from lampwright.sheets.wording import hours_moved, rows_words

FAR = 4.0  # standard deviations: a reading so far from what all others foretell is left out
SURE = 2.0  # standard deviations of the bands told: 19 of 20
TOLD, PARTLY = 0.5, 0.85  # what may be left of the doubt for "yes", for "partly"


@dataclass(frozen=True, slots=True)
class _Found:
    """A plan, its unknowns, and the values that fit."""

    plan: Plan
    unknowns: Unknowns
    fit: Fit
    taken: tuple[tuple[str, float], ...]

    def told(self, slope: Sequence[float]) -> tuple[float, str]:
        """Return what is still in doubt of a quantity, and whether the readings tell it."""
        before = math.sqrt(sum(part * part for part in slope))
        left = self.fit.deviation(slope)
        if before == 0:
            return 0.0, "yes"  # it was never in doubt
        share = left / before
        return left, "yes" if share <= TOLD else "partly" if share <= PARTLY else "no"


def refit(ask: LogFitAsk) -> LogFitAnswer:
    """Return the part values that readings of a finished build tell, and what follows from them.

    Parameters
    ----------
    ask : LogFitAsk
        ``readings`` by the ids of the sheet's ``bench_checks``, every light lit. Of rows alike, the same
        check may be sent once for each row.

    Raises
    ------
    UnknownPartError
        For a check that is no test point of this build (kind "check").
    ContradictionError
        For a current where a voltage is read, or the reverse.
    """
    plan = plan_build(ask.build)
    if not plan.strings:
        return _nothing(plan)
    bench = bench_of_plan(plan)
    taken = values_of(ask.readings, bench)
    checks = [check for check, _ in taken]
    read_lights = frozenset(
        (int(check.split("_")[1]), int(check.split("_")[2])) for check in checks if check.startswith("led_")
    )
    unknowns = Unknowns(bench, read_lights)
    found = fit(
        lambda values: unknowns.outputs(values, checks),
        len(unknowns.numbers),
        [value for _, value in taken],
        lambda slopes: _errors(taken, unknowns, slopes),
        FAR,
    )
    return _answer(_Found(plan, unknowns, found, taken), ask)


def _errors(taken: Sequence[tuple[str, float]], unknowns: Unknowns, slopes: Matrix) -> list[float]:
    """Return how far each reading may be off: the meter, and that it is one of several rows alike."""
    found = []
    for (check, value), slope in zip(taken, slopes, strict=False):
        floor = CURRENT_FLOOR if check == "total_current" else VOLT_FLOOR
        alike = 1
        if check.startswith(("resistor_", "led_")):
            alike = unknowns.bench.rows[int(check.split("_")[1])].count
        parts = sum(part * part for part in slope[unknowns.of_supply :])
        found.append(
            math.sqrt((METER_SPREAD * value) ** 2 + floor**2 + OWN_SHARE**2 * (1 - 1 / alike) * parts)
        )
    return found


def _answer(found: _Found, ask: LogFitAsk) -> LogFitAnswer:
    plan, unknowns = found.plan, found.unknowns
    values = found.fit.values
    total, total_sd = found.fit.outputs[-1], found.fit.deviation(found.fit.slopes[-1])
    planned = readings(unknowns.bench)
    sound = solve(unknowns.bench)
    rows = tuple(_row(found, place, current) for place, current in enumerate(sound.currents))
    strings = tuple(_fitted_string(found, place) for place in range(len(plan.strings)))
    loops = loops_of(plan.strings, plan.wires)
    fitted_hours = planned_runtime(plan.ask, strings, loops)
    before = _judged(plan, plan.strings, loops, plan.ask.supply)
    after = _judged(plan, strings, replace(loops, main=unknowns.main_loop(values)), _window(found))
    own = _log_findings(found)
    return LogFitAnswer(
        supply=_supply(found),
        rows=rows,
        supply_current=total,
        supply_current_low=max(total - SURE * total_sd, 0.0),
        supply_current_high=total + SURE * total_sd,
        supply_current_expected=planned["total_current"],
        runtime=fitted_hours.runtime if fitted_hours else None,
        runtime_low=fitted_hours.runtime_low if fitted_hours else None,
        runtime_high=fitted_hours.runtime_high if fitted_hours else None,
        runtime_expected=plan.runtime.runtime if plan.runtime else None,
        effects=_effects(rows, total, planned["total_current"], plan.runtime, fitted_hours, before, after),
        not_told=_not_told(found, rows),
        readings=tuple(
            _reading(found, number, planned[check]) for number, (check, _) in enumerate(found.taken)
        ),
        findings=(*own, *after),
        working=_working(found, planned, ask),
        sources=tuple(dict.fromkeys((*plan.sources, "PRACTICE"))),
    )


def _supply(found: _Found) -> FittedSupply:
    unknowns, values = found.unknowns, found.fit.values
    left, known = found.told(unknowns.slope(("supply",)))
    voltage = unknowns.supply_voltage(values)
    return FittedSupply(
        supply_voltage=voltage,
        supply_voltage_low=voltage - SURE * left,
        supply_voltage_high=voltage + SURE * left,
        supply_voltage_expected=unknowns.bench.volts["expected"],
        supply_voltage_known=known,
        source_resistance=unknowns.source_resistance(values),
        source_resistance_expected=unknowns.bench.source["expected"],
        source_resistance_known=found.told(unknowns.slope(("source",)))[1],
    )


def _row(found: _Found, place: int, planned: float) -> FittedRow:
    unknowns, values = found.unknowns, found.fit.values
    row = unknowns.bench.rows[place]
    output = len(found.taken) + place
    current, slope = found.fit.outputs[output], found.fit.slopes[output]
    left, known = found.told(slope)
    ohms, ohms_known = found.told(unknowns.slope(("resistor", place)))
    resistance = unknowns.resistance(values, place) if row.resistance else None
    return FittedRow(
        row=row.row,
        current=current,
        current_low=max(current - SURE * left, 0.0),
        current_high=current + SURE * left,
        current_expected=planned,
        current_known=known,
        resistance=resistance,
        resistance_low=None if resistance is None else max(resistance - SURE * ohms, 0.0),
        resistance_high=None if resistance is None else resistance + SURE * ohms,
        resistance_expected=row.resistance if row.resistance else None,
        resistance_known=ohms_known,
        lights=tuple(_light(found, place, at) for at in range(len(row.leds))),
    )


def _light(found: _Found, place: int, at: int) -> FittedLight:
    led = found.unknowns.bench.rows[place].leds[at]
    voltage = led.forward_voltage + found.unknowns.shift(found.fit.values, place, at)
    left, known = _light_left(found, place, at)
    return FittedLight(
        light=names_of(found.unknowns.bench, place, at),
        forward_voltage=voltage,
        forward_voltage_low=voltage - SURE * left,
        forward_voltage_high=voltage + SURE * left,
        forward_voltage_expected=led.forward_voltage,
        known=known,
    )


def _light_left(found: _Found, place: int, at: int) -> tuple[float, str]:
    """Return what is in doubt of one light; of a light not read, how it differs from its bag as well."""
    led = found.unknowns.bench.rows[place].leds[at]
    left, known = found.told(found.unknowns.slope(("bag", led), ("light", place, at)))
    if (place, at) in found.unknowns.read_lights:
        return left, known
    left = math.hypot(left, OWN_SHARE * light_doubt(led))
    share = left / light_doubt(led) if light_doubt(led) else 0.0
    return left, "yes" if share <= TOLD else "partly" if share <= PARTLY else "no"


def _fitted_string(found: _Found, place: int) -> PlannedString:
    """Return a row with its fitted parts, and what is left of their bands."""
    string = found.plan.strings[place]
    unknowns, values = found.unknowns, found.fit.values
    row = unknowns.bench.rows[place]
    left = found.fit.deviation(unknowns.slope(("resistor", place)))
    resistance = unknowns.resistance(values, place) if row.resistance else 0.0
    tolerance = min(SURE * left / resistance, 0.5) if resistance else string.solved.tolerance
    leds = tuple(_fitted_led(found, place, at) for at in range(len(row.leds)))
    return replace(
        string,
        leds=leds,
        solved=replace(string.solved, resistance=resistance, tolerance=tolerance),
    )


def _fitted_led(found: _Found, place: int, at: int) -> Led:
    """Return a light as fitted; its curve keeps the shape it was planned with."""
    led = found.unknowns.bench.rows[place].leds[at]
    family = family_of(led.colour, led.forward_voltage)
    diodes, _ = led_model(led, "expected", led.reference_temperature)
    left = SURE * _light_left(found, place, at)[0]
    voltage = led.forward_voltage + found.unknowns.shift(found.fit.values, place, at)
    hidden = found.unknowns.hidden(found.fit.values, led)
    spread = SURE * found.fit.deviation(found.unknowns.slope(("hidden", led)))
    return replace(
        led,
        forward_voltage=voltage,
        forward_voltage_min=voltage - left,
        forward_voltage_max=voltage + left,
        ideality=family.ideality if led.ideality is None else led.ideality,
        series_resistance=diodes[0].series_resistance,
        built_in_resistance=hidden,
        built_in_resistance_low=max(hidden - spread, 0.0),
        built_in_resistance_high=hidden + spread,
    )


def _window(found: _Found) -> Supply:
    """Return the supply as planned, its window widened to what was read: one day's reading narrows none."""
    supply, voltage = found.plan.ask.supply, found.unknowns.supply_voltage(found.fit.values)
    if found.told(found.unknowns.slope(("supply",)))[1] != "yes":
        return supply
    return replace(
        supply,
        supply_voltage_min=min(supply.supply_voltage_min, voltage),
        supply_voltage_max=max(supply.supply_voltage_max, voltage),
    )


def _judged(
    plan: Plan, strings: Sequence[PlannedString], loops: Loops, supply: Supply
) -> tuple[Finding, ...]:
    """Return what is to be said of rows with such parts, all of them on one supply."""
    air = plan.ask.ambient_temperature
    low, expected, high = (
        solve_build(strings, loops, supply, corner, air) for corner in ("low", "expected", "high")
    )
    fresh, empty = (
        solve_build(strings, loops, supply, "expected", air, volts)
        for volts in (supply.supply_voltage_max, supply.supply_voltage_min)
    )
    wishes = {light.name: light.forward_current or light.led.rated_current for light in plan.ask.lights}
    found = []
    for place, string in enumerate(strings):
        currents = Corners(
            *(state.currents[place] for state in (low, expected, high, fresh, empty)),
        )
        model, solved = string_model(string.leds, air), string.solved
        resistance = solved.resistance or 0.0
        heat = hottest_dissipation(
            model, supply, resistance, solved.tolerance, solved.branch_count, currents.high
        )
        asked = StringAsk(
            string.leds, resistance, solved.tolerance, solved.rated_dissipation, solved.branch_count
        )
        for each in string_findings(
            asked,
            model,
            supply,
            currents,
            wanted=min(wishes[name] for name in string.light_names),
            dissipation_high=heat,
            rated_dissipation=solved.rated_dissipation,
            ambient_temperature=air,
        ):
            words = rows_words(string.row)
            message = f"{words[:1].upper()}{words[1:]}: {each.message}"
            # What was built is judged, not what was sent: there is no member to send otherwise.
            found.append(replace(each, message=message, field="", suggestion={}))
    rank = {"stop": 0, "caution": 1, "note": 2}
    return tuple(sorted(found, key=lambda each: rank[each.severity]))


def _log_findings(found: _Found) -> tuple[Finding, ...]:
    """Return what the log itself gives cause to say: readings no sound parts explain, used cells."""
    said = []
    for number in found.fit.left_out:
        check, value = found.taken[number]
        unit = "ma" if check == "total_current" else "v"
        said.append(
            finding(
                "log_reading_left_out",
                check=check,
                value=show(value, unit),
                fitted=show(found.fit.outputs[number], unit),
                field=f"readings.{number}",
            )
        )
    supply = found.plan.ask.supply
    voltage = found.unknowns.supply_voltage(found.fit.values)
    known = found.told(found.unknowns.slope(("supply",)))[1]
    if supply.battery and known == "yes" and voltage < supply.supply_voltage:
        said.append(finding("log_cells_used", voltage=show(voltage, "v")))
    return tuple(said)


def _effects(
    rows: Sequence[FittedRow],
    total: float,
    planned: float,
    old_hours: RuntimeAnswer | None,
    new_hours: RuntimeAnswer | None,
    before: Sequence[Finding],
    after: Sequence[Finding],
) -> tuple[str, ...]:
    """Return in words what moves."""
    said = []
    for row in rows:
        if abs(row.current - row.current_expected) > MOVED * row.current_expected:
            words = rows_words(row.row)
            said.append(
                f"{words[:1].upper()}{words[1:]}: {show(row.current, 'ma')} in place of "
                f"{show(row.current_expected, 'ma')}."
            )
    if abs(total - planned) > MOVED * planned:
        said.append(f"All lights take {show(total, 'ma')} in place of {show(planned, 'ma')} at the bench.")
    was, now = (old_hours.runtime if old_hours else None), (new_hours.runtime if new_hours else None)
    if was and now and abs(now - was) > MOVED * was:
        said.append(f"A fresh set {hours_moved(now, was)}.")
    for word, these, others in (("New", after, before), ("No longer", before, after)):
        known = {_row_and_code(each) for each in others}
        said += [
            f"{word}: {each.message}"
            for each in these
            if each.severity != "note" and _row_and_code(each) not in known
        ]
    return tuple(said) or ("Nothing moves: the parts are as planned.",)


def _row_and_code(found: Finding) -> tuple[str, str]:
    return found.message.partition(":")[0], found.code


def _not_told(found: _Found, rows: Sequence[FittedRow]) -> tuple[str, ...]:
    """Return in words what the readings say nothing new about."""
    said = []
    if found.told(found.unknowns.slope(("supply",)))[1] == "no":
        said.append("The supply's voltage: read supply_off.")
    for place, row in enumerate(rows):
        first = first_row(row.row)
        if row.current_known == "no":
            said.append(f"The current of row {first}: read resistor_{place} and total_current.")
        if row.resistance is not None and row.resistance_known == "no":
            said.append(f"R-{first}: any value within its tolerance fits; it is kept as printed.")
        unread = [light.light for light in row.lights if light.known == "no"]
        if unread:
            which = unread[0] if len(unread) == 1 else f"{unread[0]} to {unread[-1]}"
            said.append(f"{which}: read across one of them (led_{place}_0).")
    return tuple(said)


def _reading(found: _Found, number: int, planned: float) -> LogReading:
    check, value = found.taken[number]
    fitted = found.fit.outputs[number]
    amperes = check == "total_current"
    volts = None if amperes else value
    return LogReading(
        check=check,
        voltage=volts,
        voltage_expected=None if amperes else planned,
        voltage_fitted=None if amperes else fitted,
        current=value if amperes else None,
        current_expected=planned if amperes else None,
        current_fitted=fitted if amperes else None,
        used=number not in found.fit.left_out,
    )


def _working(found: _Found, planned: dict[str, float], ask: LogFitAsk) -> tuple[Step, ...]:
    """Return how it was worked out, in words and numbers."""
    used = [at for at in range(len(found.taken)) if at not in found.fit.left_out]

    def off(shown: Sequence[float]) -> float:
        parts = [(found.taken[at][1] / shown[at] - 1) ** 2 for at in used if shown[at]]
        return math.sqrt(sum(parts) / len(parts)) if parts else 0.0

    before = [planned[check] for check, _ in found.taken]
    steps = [
        Step(
            what="Part values: those that fit readings and printed values best, each as far as it is sure",
            equation="least Σ((read − worked out)/s)² + Σ((part − printed)/(tolerance/√3))²",
            values=f"{counted(len(used), 'reading')}, s = {100 * METER_SPREAD:g} % and "
            f"{show(VOLT_FLOOR, 'v')}; {counted(len(found.unknowns.numbers), 'unknown value')}",
            result=f"readings off by {show(off(found.fit.outputs), 'pct')}, with the parts as printed "
            f"{show(off(before), 'pct')}",
        ),
        Step(
            what="How much of the doubt about a value the readings leave: J is how far each reading moves "
            "with each part, in units of its own s; a picks the value",
            equation="left = √(aᵀ·(1 − Jᵀ·S⁻¹·J)·a), S = J·Jᵀ + 1",
            values=f"yes: at most {show(TOLD, 'pct')} is left; no: more than {show(PARTLY, 'pct')}",
            result=f"bands are ± {SURE:g} times what is left",
        ),
    ]
    return tuple(steps)


def _nothing(plan: Plan) -> LogFitAnswer:
    """Return the answer for a build that cannot be wired: why, and no figures."""
    none = (None,) * 8
    stops = tuple(
        replace(each, field=f"build.{each.field}") if each.field else each for each in plan.findings
    )
    return LogFitAnswer(None, (), *none, (), (), (), stops, plan.working, plan.sources)
