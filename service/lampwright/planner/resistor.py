"""Which resistor for a string, or how one that is there does: value, currents, heat, reasons.

Reads top to bottom: bounds, preferred value, solved string, findings, neighbours and drawer, working.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache, partial

from lampwright.physics.resistors import preferred_above, preferred_at_least, preferred_below
from lampwright.planner.choosing import Bounds, choice, from_drawer, resistance_bounds
from lampwright.planner.instead import Instead
from lampwright.planner.judging import (
    drawer_finding,
    no_headroom,
    prewired_limit,
    string_findings,
    too_much_wanted,
    usual_voltage_finding,
)
from lampwright.planner.models.base import Finding, Step, stopped
from lampwright.planner.models.circuits import (
    ResistorAnswer,
    ResistorAsk,
    ResistorChoice,
    StringAnswer,
    StringAsk,
)
from lampwright.planner.models.parts import Supply
from lampwright.planner.side_by_side import enough_beside_others
from lampwright.planner.strings import (
    Corners,
    StringModel,
    names_of,
    solved_string,
    string_currents,
    string_model,
)
from lampwright.planner.texts import milliamps, ohms, volts, watts
from lampwright.records import quickly_made
from lampwright.tables.resistors import ladder, usual_ratings

_NEXT = 1.0001  # times a value: above it
_SOURCES = ("BANWELL-2000", "IEC-60062", "IEC-60063", "YAGEO-CFR")


@quickly_made
@dataclass(frozen=True, slots=True)
class Recommended:
    """The resistance we would take, None where we would take none at all, and why."""

    resistance: float | None
    bounds: Bounds
    findings: tuple[Finding, ...]


def recommended_resistance(
    string: StringAsk, model: StringModel, supply: Supply, wanted: float, e_series: str
) -> Recommended:
    """Return the preferred value for a wanted current: 0 where the lights carry their own resistor."""
    branches = string.branch_count
    bounds = resistance_bounds(model, supply, wanted, string.tolerance, branches)
    found = too_much_wanted(model, wanted)
    if stopped(found):
        return Recommended(None, bounds, found)
    if model.prewired and (bounds.ideal <= 0 or supply.supply_voltage_max <= prewired_limit(string.leds)):
        return Recommended(0.0, bounds, ())
    if bounds.wanted <= 0:
        stop = no_headroom(
            string.leds,
            model,
            supply,
            bounds.string_voltage,
            wanted,
            sharing=branches,
            listed=string.listed,
        )
        return Recommended(None, bounds, (stop,))
    return Recommended(_for_every_branch(string, model, supply, bounds, e_series), bounds, found)


def _for_every_branch(
    string: StringAsk, model: StringModel, supply: Supply, bounds: Bounds, e_series: str
) -> float:
    """Return the preferred value from the ideal one up, enough beside branches that take less."""
    values = ladder(e_series)
    resistance = preferred_at_least(bounds.ideal, values)
    if string.branch_count > 1 and supply.source_resistance > 0:
        counts = (string.branch_count,)
        while enough := enough_beside_others(0, (model,), (resistance,), counts, string.tolerance, supply):
            resistance = preferred_at_least(max(enough, resistance * _NEXT), values)
    return resistance


def series_resistor(ask: ResistorAsk) -> ResistorAnswer:
    """Return the resistor for a string, or the judgement of the one that was sent.

    Parameters
    ----------
    ask : ResistorAsk
        ``string.resistance`` None: found from ``string.forward_current`` (default: the rated current)
        and taken from ``e_series``. Set: kept and judged.

    Returns
    -------
    answer : ResistorAnswer
        Every figure None where there is nothing to recommend; the finding says why.
    """
    return _answered(ask, whole=True)


def resistor_row(ask: ResistorAsk) -> ResistorAnswer:
    """Return the answer of ``series_resistor`` as far as one row of a table can carry it.

    Figures and findings are the same; neighbours, drawer, working and sources are left out, since a cell
    holds no list of objects and nobody reads the sum of ten thousand rows.
    """
    return _answered(ask, whole=False)


def _answered(ask: ResistorAsk, *, whole: bool) -> ResistorAnswer:
    """Return the answer, with what explains it and what else there would be where it is wanted whole."""
    string, supply, ambient = ask.string, ask.supply, ask.ambient_temperature
    model = string_model(string.leds, ambient)
    wanted = string.forward_current or model.rated_current
    best = recommended_resistance(string, model, supply, wanted, ask.e_series)
    sent = string.resistance
    resistance = best.resistance if sent is None else sent
    if resistance is None:
        return _nothing(string, supply, model, best, wanted, whole)
    rating = string.rated_dissipation
    if rating is None and sent:
        rating = usual_ratings()[0]
    solved = StringAsk(
        string.leds, resistance, string.tolerance, rating, string.branch_count, string.reversed
    )
    currents = string_currents(model, supply, resistance, string.tolerance, string.branch_count)
    row = solved_string(solved, supply, ambient, currents, model)
    findings = string_findings(
        solved,
        model,
        supply,
        currents,
        wanted=wanted,
        dissipation_high=row.dissipation_high or 0.0,
        rated_dissipation=row.rated_dissipation,
        ambient_temperature=ambient,
        better=best.resistance if sent is not None and best.resistance != sent else None,
    )
    if sent is None:
        count = len(string.leds)
        said = usual_voltage_finding(best.bounds, supply, currents, wanted, count) if resistance else ()
        findings = (*best.findings, *said, *findings)
        if stopped(findings) and not string.reversed:
            return _nothing(string, supply, model, Recommended(None, best.bounds, findings), wanted, whole)
    else:
        findings = _of_one_sent(best, findings) if best.findings else findings
    drawer = _drawer(ask, model, wanted, best.bounds)
    # Who sends what the drawer makes knows what it makes.
    known = sent is not None and any(math.isclose(entry.resistance, sent) for entry in drawer)
    if ask.on_hand is not None and not known and not any(entry.within for entry in drawer):
        instead = partial(Instead, string, model, supply, ambient)
        findings = (*findings, drawer_finding(drawer, best.resistance, wanted, instead))
    return ResistorAnswer(
        row.leds,
        row.series_count,
        row.branch_count,
        row.resistance,
        row.resistance_rkm,
        row.colour_bands,
        row.tolerance,
        row.current,
        row.current_low,
        row.current_high,
        row.current_fresh,
        row.current_empty,
        row.brightness,
        row.seen_brightness,
        row.string_voltage,
        row.led_voltages,
        row.resistor_voltage,
        row.dissipation,
        row.dissipation_high,
        row.rated_dissipation,
        row.headroom,
        row.lowest_lit_voltage,
        max(best.bounds.ideal, 0.0) if not best.findings or best.resistance else None,
        _neighbours(ask, model, resistance, wanted, best.bounds) if whole else (),
        drawer if whole else (),
        findings,
        _working(string, supply, best, resistance, wanted, currents, row) if whole else (),
        (*_SOURCES, *model.sources, *supply.sources) if whole else (),
    )


def _of_one_sent(best: Recommended, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return the findings of a resistor that was sent, with what there is to say of the wish itself.

    A row that looks off because the supply is not enough is told so, not to look for a wrong resistor.
    """
    wish = tuple(item for item in best.findings if item.code != "no_headroom")
    lacking = tuple(item for item in best.findings if item.code == "no_headroom")
    if lacking and any(item.code == "looks_off" for item in findings):
        return (*wish, *lacking, *(item for item in findings if item.code != "looks_off"))
    return (*wish, *findings)


def _nothing(
    string: StringAsk, supply: Supply, model: StringModel, best: Recommended, wanted: float, whole: bool
) -> ResistorAnswer:
    """Return the answer of a question we recommend nothing for."""
    return ResistorAnswer(
        names_of(string.leds),
        len(string.leds),
        string.branch_count,
        None,
        None,
        None,
        string.tolerance,
        *(None,) * 12,
        # What was sent is kept, also where nothing is found to go with it.
        string.rated_dissipation,
        *(None,) * 2,
        findings=best.findings,
        working=tuple(_first_steps(string, supply, best.bounds, wanted)) if whole else (),
        sources=(*_SOURCES, *model.sources, *supply.sources) if whole else (),
    )


def _neighbours(
    ask: ResistorAsk, model: StringModel, resistance: float, wanted: float, bounds: Bounds
) -> tuple[ResistorChoice, ...]:
    """Return what the preferred values next to a resistance would do."""
    if resistance == 0 or ask.string.reversed:
        return ()
    values = ladder(ask.e_series)
    around = (preferred_below(resistance, values), preferred_above(resistance, values))
    string = ask.string
    return tuple(
        [
            choice(
                model,
                ask.supply,
                value,
                tolerance=string.tolerance,
                branch_count=string.branch_count,
                wanted=wanted,
                bounds=bounds,
            )
            for value in around
            if value is not None
        ]
    )


def _drawer(
    ask: ResistorAsk, model: StringModel, wanted: float, bounds: Bounds
) -> tuple[ResistorChoice, ...]:
    if ask.on_hand is None or bounds.wanted <= 0:
        return ()
    string = ask.string
    return from_drawer(
        model,
        ask.supply,
        ask.on_hand,
        tolerance=string.tolerance,
        branch_count=string.branch_count,
        wanted=wanted,
    )


_RULE = {
    rule: f"The largest of three demands; here {words} decides"
    for rule, words in (
        ("wanted", "the wanted current at the usual voltage"),
        ("rated", "the rated current at the highest voltage"),
        ("maximum", "the lights' maximum in the worst corner"),
    )
}


def _or_none(resistance: float) -> str:
    """Return what a rule asks for, in words where it asks for nothing."""
    return ohms(resistance) if resistance > 0 else "none"


@lru_cache(maxsize=1024)
def _taken(count: int, string_voltage: float, wanted: float) -> Step:
    """Return what the lights take at the wanted current: the same on every supply."""
    taken = volts(string_voltage)
    each = taken if count == 1 else volts(string_voltage / count)
    return Step(
        "What the lights take at the wanted current, from their curve",
        "V_LEDs = Σ V_F(I)",
        f"{count} × {each} at {milliamps(wanted)}",
        taken,
    )


def _first_steps(string: StringAsk, supply: Supply, bounds: Bounds, wanted: float) -> list[Step]:
    """Return what the lights take at the wanted current, and what is left for the resistor."""
    taken = _taken(len(string.leds), bounds.string_voltage, wanted)
    return [
        taken,
        Step(
            "What the supply leaves for the resistor",
            "V_R = V_S − V_LEDs",
            f"{volts(supply.supply_voltage)} − {taken.result}",
            volts(supply.supply_voltage - bounds.string_voltage),
        ),
    ]


def _working(
    string: StringAsk,
    supply: Supply,
    best: Recommended,
    resistance: float,
    wanted: float,
    currents: Corners,
    row: StringAnswer,
) -> tuple[Step, ...]:
    """Return the sum as one would do it by hand, then what the curve makes of it."""
    bounds = best.bounds
    high, taken = milliamps(currents.high), ohms(resistance)
    steps = _first_steps(string, supply, bounds, wanted)
    left = supply.supply_voltage - bounds.string_voltage
    if left > 0 and resistance > 0:
        decided_by = bounds.decided_by
        by_wish, by_rating, by_limit = ohms(bounds.wanted), _or_none(bounds.rated), _or_none(bounds.maximum)
        ideal = by_wish if decided_by == "wanted" else by_rating if decided_by == "rated" else by_limit
        steps.append(
            Step(
                "The simple sum: that voltage over the wanted current",
                "R = V_R / I",
                f"{steps[1].result} / {milliamps(wanted)}",
                ohms(left / wanted),
            )
        )
        steps.append(
            Step(
                _RULE[decided_by],
                "R_0 = max(R_wanted, R_rated, R_maximum)",
                f"max({by_wish}, {by_rating}, {by_limit})",
                ideal,
            )
        )
        if string.resistance is None:
            steps.append(Step("The next higher value one can buy", "R ≥ R_0", f"from {ideal} up", taken))
    steps.append(
        Step(
            "The current that flows, from the lights' curve; lowest and highest are the worst corners",
            "V_S = Σ V_F(I) + I·(R + R_S)",
            f"{volts(supply.supply_voltage_min)} to {volts(supply.supply_voltage_max)}, "
            f"R {taken} ± {string.tolerance * 100:.3g} %",
            f"{milliamps(currents.low)} to {high}, about {milliamps(currents.expected)}",
        )
    )
    if resistance > 0:
        rating = row.rated_dissipation
        steps.append(
            Step(
                "The resistor's heat in the worst corner",
                "P = I²·R",
                f"({high})² × {ohms(resistance * (1 - string.tolerance))}",
                watts(row.dissipation_high or 0.0) + (f" of {watts(rating)}" if rating else ""),
            )
        )
    return tuple(steps)
