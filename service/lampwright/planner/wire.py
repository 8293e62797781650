"""Which wire: thin enough to handle, thick enough for the loss, the heat and the bending.

Three limits, each with the thinnest size it allows: the loss on the way (both wires counted), the heat
where the wire lies, and strength (a thin wire breaks when it bends with a costume). The thickest of the
three wins and is named. A size sent is kept and judged.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from lampwright.errors import ContradictionError
from lampwright.physics.conductors import (
    at_temperature,
    awg_area,
    loop_resistance,
    resistance_per_length,
    voltage_drop,
)
from lampwright.planner.ampacity import Surroundings, ampacity
from lampwright.planner.findings import finding
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.wiring import WireAnswer, WireAsk, WireFigures
from lampwright.quantities import show, three_digits
from lampwright.records import altered, quickly_made
from lampwright.tables.wires import (
    insulation_named,
    metric_sizes,
    next_metric,
    next_thinner_awg,
    rule_named,
    wire_size,
    wire_sizes,
)

# Thinnest gauges we choose ourselves: 28 where it bends all day, 30 to be handled at all.
THINNEST_FLEXING = 28
THINNEST_STILL = 30
# What lay and tinning add to solid copper: NFPA 70 chapter 9 table 8, 18 AWG, 26.1 and 27.7 over 25.5.
STRANDED_EXCESS = 26.1 / 25.5
TINNED_EXCESS = 27.7 / 25.5
# An odd area counts as badly made as the worst metric conductor: 19.2 % above ideal copper.
_ODD_AREA_EXCESS = 1.192
_HOPELESS = 0.5  # half the volts lost: nothing lights as planned
# Two sizes sent agree within one step of gauge, 26 % of area.
_ONE_STEP = 1.26
#: What stands more heat than usual hook-up wire, and is sold in small lengths.
_HOT_INSULATION = "silicone_180"
_USUAL_VOLTAGES = (5.0, 9.0, 12.0, 24.0, 48.0)


@quickly_made
@dataclass(frozen=True, slots=True)
class _Size:
    """One candidate: a gauge, a metric size or an area as sent."""

    awg: int | None
    conductor_area: float
    metric: bool = False


def conductor_resistance(
    awg: int | None, conductor_area: float, core: str | None, temperature: float
) -> float:
    """Return the resistance per metre of one wire at a temperature, in Ω/m.

    A gauge by its formula; a metric size by the largest its standard allows; any other area as badly
    made as the worst of those.
    """
    if awg is not None:
        excess = {"stranded": STRANDED_EXCESS, "tinned": TINNED_EXCESS}.get(core or "", 1.0)
        return resistance_per_length(awg_area(awg), temperature, excess)
    for row in metric_sizes():
        if abs(row.conductor_area - conductor_area) < 1e-6:
            return at_temperature(getattr(row, core or "stranded") / 1000, temperature)
    return resistance_per_length(conductor_area, temperature, _ODD_AREA_EXCESS)


def surroundings(ask: WireAsk) -> Surroundings:
    """Return where the wire of a question lies."""
    return Surroundings(
        ask.insulation, ask.bundled_count, ask.enclosed, ask.ambient_temperature, ask.ampacity_rule
    )


def _figures(ask: WireAsk, size: _Size) -> WireFigures:
    """Return one size's figures on this run."""
    per_metre = conductor_resistance(
        None if size.metric else size.awg, size.conductor_area, ask.core, ask.ambient_temperature
    )
    loop = loop_resistance(per_metre, ask.run_length)
    lost = voltage_drop(ask.current, loop)
    carries = ampacity(size.conductor_area, surroundings(ask)).ampacity
    limited_by = _tightest(ask, size.conductor_area, lost / ask.supply_voltage, carries)
    return WireFigures(
        awg=size.awg,
        conductor_area=size.conductor_area,
        metric_area=size.conductor_area if size.metric else next_metric(size.conductor_area),
        loop_resistance=loop,
        drop=lost,
        drop_fraction=lost / ask.supply_voltage,
        ampacity=carries,
        limited_by=limited_by,
        supply_voltage=ask.supply_voltage,
    )


def _used(ask: WireAsk, area: float, drop_fraction: float, carries: float) -> tuple[float, float, bool]:
    """Return how much of the loss and of the heat allowed is used, and whether it is strong enough."""
    drop = drop_fraction / ask.max_drop
    heat = max(ask.current, ask.ampacity_min) / carries if carries > 0 else float("inf")
    thinnest = wire_size(THINNEST_FLEXING).conductor_area
    strong = not ask.flexing or area >= thinnest * (1 - 1e-3)
    return drop, heat, strong


def _tightest(ask: WireAsk, area: float, drop_fraction: float, carries: float) -> str:
    """Name the limit this size breaks, or comes nearest to."""
    drop, heat, strong = _used(ask, area, drop_fraction, carries)
    if heat > 1 and heat >= drop:
        return "heat"
    if drop > 1:
        return "drop"
    if heat > 1:
        return "heat"
    if not strong:
        return "strength"
    return "drop" if drop >= heat else "heat"


def _uses(ask: WireAsk, figures: WireFigures) -> tuple[float, float, bool]:
    """Return what ``_used`` does, of a size whose figures are known."""
    return _used(ask, figures.conductor_area or 0.0, figures.drop_fraction or 0.0, figures.ampacity or 0.0)


def _fits(ask: WireAsk, figures: WireFigures) -> bool:
    drop, heat, strong = _uses(ask, figures)
    return drop <= 1 and heat <= 1 and strong


def _gauges(numbers: Iterable[int]) -> tuple[_Size, ...]:
    """Return gauges as candidates, thinnest first."""
    sizes = [wire_size(number) for number in sorted(set(numbers), reverse=True)]
    return tuple([_Size(size.awg, size.conductor_area) for size in sizes])


def usual_awgs() -> tuple[int, ...]:
    """Return the gauges we choose from, thinnest first."""
    return tuple(size.awg for size in _usual_gauges() if size.awg is not None)


@cache
def _usual_gauges(thinnest: float = math.inf) -> tuple[_Size, ...]:
    """Return the gauges we choose from, thinnest first; none thinner than this one."""
    return _gauges(row.awg for row in wire_sizes().values() if row.usual and row.awg <= thinnest)


def _candidates(ask: WireAsk) -> tuple[_Size, ...]:
    """Return the sizes to choose from, thinnest first."""
    if ask.on_hand_awg is not None:
        return _gauges(ask.on_hand_awg)
    return _usual_gauges(THINNEST_FLEXING if ask.flexing else THINNEST_STILL)


def _sent(ask: WireAsk) -> _Size | None:
    """Return the size sent, if one was."""
    if ask.awg is None and ask.conductor_area is None:
        return None
    return resolve_size(ask.awg, ask.conductor_area)


def resolve_size(awg: int | None, conductor_area: float | None) -> _Size:
    """Return the size named by a gauge, an area or both.

    Raises
    ------
    UnknownPartError
        If the gauge does not exist.
    ContradictionError
        If both are sent and they are more than a step of gauge apart, or neither is.
    """
    if awg is not None:
        area = wire_size(awg).conductor_area
        if conductor_area is not None and not 1 / _ONE_STEP <= conductor_area / area <= _ONE_STEP:
            raise ContradictionError(
                "conductor_area",
                f"{awg} AWG has {three_digits(area)} mm², not {three_digits(conductor_area)} mm²",
                "send one of the two",
            )
        return _Size(awg, area)
    if conductor_area is None:
        raise ContradictionError("awg", "no wire size was sent", "send awg or conductor_area_mm2")
    return _Size(next_thinner_awg(conductor_area), conductor_area, metric=True)


def _choose(ask: WireAsk, candidates: Sequence[_Size]) -> tuple[WireFigures | None, str | None]:
    """Return the thinnest size that fits and the limit that rules out the next thinner one."""
    ruled_out: WireFigures | None = None
    for size in candidates:
        figures = _figures(ask, size)
        if _fits(ask, figures):
            if ruled_out is not None:
                return figures, ruled_out.limited_by
            if ask.on_hand_awg is None and max(_uses(ask, figures)[:2]) < 1:
                return figures, "strength"
            return figures, figures.limited_by
        ruled_out = figures
    return None, None


def _lowest_stop(ask: WireAsk, candidates: Sequence[_Size]) -> tuple[WireFigures | None, tuple[Finding, ...]]:
    """Return the thickest of the drawer where only the loss or strength is missed, else a stop."""
    if ask.on_hand_awg is None:
        return None, (_none_thick_enough(ask),)
    thickest = _figures(ask, candidates[-1]) if candidates else None
    if thickest is not None and _uses(ask, thickest)[1] <= 1 and (thickest.drop_fraction or 0) < _HOPELESS:
        return thickest, ()
    bought = wire(altered(ask, on_hand_awg=None))
    if bought.awg is None:
        return None, bought.findings
    return None, (
        finding(
            "wire_on_hand_too_thin",
            current=show(ask.current, "ma"),
            length=show(ask.run_length, "m"),
            awg=bought.awg,
            metric=three_digits(bought.metric_area or 0.0),
            suggestion={"on_hand_awg": (bought.awg,)},
            field="on_hand_awg",
        ),
    )


def _most_carried(ask: WireAsk) -> float:
    """Return what the thickest wire carries where this one lies. [A]."""
    return max(ampacity(size.conductor_area, surroundings(ask)).ampacity for size in _usual_gauges())


def _none_thick_enough(ask: WireAsk) -> Finding:
    """Say why no size does: the heat where the wire lies, or the loss on the way."""
    carried = _most_carried(ask)
    asked = max(ask.current, ask.ampacity_min)
    if carried < asked:
        insulation = insulation_named(ask.insulation)
        hotter = altered(ask, insulation=_HOT_INSULATION)
        better = _most_carried(hotter) >= asked
        return finding(
            "wire_none_cool_enough",
            current=show(asked, "ma"),
            carried=show(carried, "ma") if carried > 0 else "nothing",
            insulation=insulation.name,
            cure=f"Use wire with insulation for more heat ({insulation_named(_HOT_INSULATION).name}), "
            "or lead it where it is cooler"
            if better
            else "Lead it where it is cooler, or split the current over several runs",
            suggestion={"insulation": _HOT_INSULATION} if better and wire(hotter).awg is not None else {},
            field="insulation",
        )
    needed = next((volts for volts in _USUAL_VOLTAGES if volts > ask.supply_voltage), None)
    return finding(
        "wire_none_thick_enough",
        current=show(ask.current, "ma"),
        length=show(ask.run_length, "m"),
        voltage=show(ask.supply_voltage, "v"),
        cure=f"{show(needed, 'v')}" if needed else "more volts, within 60 V",
        field="run_length",
    )


def _allowed(ask: WireAsk) -> str:
    """Return the loss allowed, and of a part of the way what the whole of it may lose."""
    here = show(ask.max_drop, "pct")
    return here if ask.drop_share == 1 else f"{here} (of {show(ask.max_drop / ask.drop_share, 'pct')} in all)"


def _judge(ask: WireAsk, figures: WireFigures, sent: bool) -> tuple[Finding, ...]:
    """Return what is to be said of a size, chosen or sent."""
    found: list[Finding] = []
    drop, heat, strong = _uses(ask, figures)
    name = (
        f"{figures.awg} AWG"
        if figures.awg is not None
        else f"{three_digits(figures.conductor_area or 0)} mm²"
    )
    suggestion: dict[str, object] = {}
    advice = ""
    if drop > 1 or heat > 1 or not strong:
        suggestion, advice = _instead(ask) if sent else _to_get(ask)
    field = "awg" if ask.awg is not None else "conductor_area" if sent else "on_hand_awg"
    if heat > 1:
        found.append(
            finding(
                "wire_too_hot",
                wire=name,
                ampacity=show(figures.ampacity or 0.0, "ma"),
                current=show(max(ask.current, ask.ampacity_min), "ma"),
                cure=_cure(ask, advice, "or split the current over several runs"),
                suggestion=suggestion,
                field=field,
            )
        )
    if drop > 1:
        lost = figures.drop_fraction or 0.0
        found.append(
            finding(
                "wire_drop_hopeless" if lost >= _HOPELESS else "wire_drop_high",
                wire=name,
                drop=f"{show(figures.drop or 0.0, 'v')} ({show(lost, 'pct')})",
                allowed=_allowed(ask),
                arrives=show(max(0.0, ask.supply_voltage - (figures.drop or 0.0)), "v"),
                cure=_cure(ask, advice, "a shorter run, or more volts"),
                suggestion=suggestion,
                field=field,
            )
        )
    if not strong:
        found.append(
            finding(
                "wire_too_thin_to_flex",
                wire=name,
                thinnest=THINNEST_FLEXING,
                suggestion=suggestion,
                field=field,
            )
        )
    if ask.flexing and ask.core == "solid":
        found.append(finding("solid_core_flexing", field="core", suggestion={"core": "stranded"}))
    elif ask.flexing and not insulation_named(ask.insulation).soft:
        found.append(finding("soft_wire_advised", field="insulation"))
    saving = _saving(ask, figures)
    if saving is not None:
        found.append(
            finding(
                "higher_voltage_saves",
                wire=name,
                voltage=show(saving.supply_voltage or 0.0, "v"),
                thinner=f"{saving.awg} AWG",
                field="supply_voltage",
            )
        )
    return tuple(found)


def _instead(ask: WireAsk) -> tuple[dict[str, object], str]:
    """Return a wire that does by the members this one was sent by, and in words."""
    free = altered(ask, awg=None, conductor_area=None, on_hand_awg=None)
    if ask.awg is None:
        for row in metric_sizes():
            size = _Size(next_thinner_awg(row.conductor_area), row.conductor_area, metric=True)
            if _fits(free, _figures(free, size)):
                return {"conductor_area": row.conductor_area}, f"{three_digits(row.conductor_area)} mm²"
        return {}, ""
    better = wire(free)
    if better.awg is None:
        return {}, ""
    members: dict[str, object] = {"awg": better.awg}
    if ask.conductor_area is not None:
        members["conductor_area"] = better.conductor_area
    return members, f"{better.awg} AWG"


def _cure(ask: WireAsk, advice: str, otherwise: str) -> str:
    """Return what to do about a wire: the size that does, or what helps where no wire does."""
    if advice:
        return f"Use {advice}, {otherwise}"
    if ask.awg is None and ask.conductor_area is not None:
        area = metric_sizes()[-1].conductor_area
        thickest, most = _Size(next_thinner_awg(area), area, metric=True), f"{three_digits(area)} mm²"
    else:
        thickest = _usual_gauges()[-1]
        most = f"{thickest.awg} AWG"
    _, heat, _ = _uses(ask, _figures(ask, thickest))
    nearer = "split the current over several runs" if heat > 1 else "put the supply nearer, split the feed"
    return f"No wire up to {most} will do: {nearer}, or send more volts and lower them on the spot"


def _to_get(ask: WireAsk) -> tuple[dict[str, object], str]:
    """Return the gauge to have in the drawer, and in words."""
    better = wire(altered(ask, on_hand_awg=None))
    return ({}, "") if better.awg is None else ({"on_hand_awg": (better.awg,)}, f"{better.awg} AWG")


def _at_voltage(ask: WireAsk, volts: float) -> WireFigures | None:
    """Return the wire the same power needs at another voltage."""
    other = altered(
        ask,
        supply_voltage=volts,
        current=ask.current * ask.supply_voltage / volts,
        awg=None,
        conductor_area=None,
    )
    chosen, limit = _choose(other, _candidates(other))
    return None if chosen is None else altered(chosen, limited_by=limit)


def _saving(ask: WireAsk, figures: WireFigures) -> WireFigures | None:
    """Return the wire at the next usual voltage, where loss asks for thick wire and it saves two gauges."""
    if figures.limited_by != "drop" or figures.awg is None or figures.awg > 20:
        return None
    higher = next((volts for volts in _USUAL_VOLTAGES if volts > ask.supply_voltage * 1.9), None)
    if higher is None:
        return None
    other = _at_voltage(altered(ask, on_hand_awg=None), higher)
    return other if other is not None and other.awg is not None and other.awg >= figures.awg + 2 else None


def _alternatives(ask: WireAsk, chosen: WireFigures) -> tuple[WireFigures, ...]:
    """Return the gauges beside the chosen one, the metric size, and higher voltages."""
    area = chosen.conductor_area or 0.0
    if ask.on_hand_awg is not None:
        beside = [size for size in _gauges(ask.on_hand_awg) if size.awg != chosen.awg]
    else:
        thinner = [size for size in _usual_gauges() if size.conductor_area < area * 0.999][-1:]
        thicker = [size for size in _usual_gauges() if size.conductor_area > area * 1.001][:1]
        beside = thinner + thicker
    found = [_figures(ask, size) for size in beside]
    metric = next_metric(area)
    if metric is not None and metric != chosen.conductor_area:
        found.append(_figures(ask, _Size(next_thinner_awg(metric), metric, metric=True)))
    for volts in [each for each in _USUAL_VOLTAGES if each > ask.supply_voltage * 1.2][:2]:
        other = _at_voltage(ask, volts)
        if other is not None:
            found.append(other)
    return tuple(found)


def _working(ask: WireAsk, figures: WireFigures) -> tuple[Step, ...]:
    """Return the sentence chain behind the figures."""
    rule = rule_named(ask.ampacity_rule)
    parts = ampacity(figures.conductor_area or 0.0, surroundings(ask))
    each = (figures.loop_resistance or 0.0) / (2 * ask.run_length)
    return (
        Step(
            what="resistance of both wires, out and back",
            equation="R = 2 R′ l",
            values=f"2 × {show(each, 'ohm')}/m × {show(ask.run_length, 'm')}",
            result=show(figures.loop_resistance or 0.0, "ohm"),
            link="conductors",
        ),
        Step(
            what="loss in the wire",
            equation="V = I R",
            values=f"{show(ask.current, 'ma')} × {show(figures.loop_resistance or 0.0, 'ohm')}",
            result=f"{show(figures.drop or 0.0, 'v')} ({show(figures.drop_fraction or 0.0, 'pct')})",
            link="conductors",
        ),
        Step(
            what=f"what the wire carries there (rule: {rule.name}; {rule.condition})",
            equation="I = I_printed × heat × bundle",
            values=f"{show(parts.rated, 'ma')} × {three_digits(parts.heat)} × {three_digits(parts.bundle)}",
            result=show(parts.ampacity, "ma"),
            link="ampacity",
        ),
    )


def _sources(ask: WireAsk, figures: WireFigures) -> tuple[str, ...]:
    rule = rule_named(ask.ampacity_rule)
    size = "ASTM-B258" if figures.awg is not None else "IEC-60228"
    return tuple(dict.fromkeys((size, "IEC-60028", rule.source, insulation_named(ask.insulation).source)))


def wire(ask: WireAsk) -> WireAnswer:
    """Return the wire to use, or how the one sent does.

    Raises
    ------
    UnknownPartError
        If a gauge, an insulation or a rule is not in the tables.
    ContradictionError
        If gauge and area are both sent and disagree.

    Examples
    --------
    >>> answer = wire(WireAsk(current=0.5, run_length=4.0, supply_voltage=12.0))
    >>> answer.awg, answer.limited_by, round(answer.drop_fraction, 4)
    (24, 'drop', 0.0286)
    """
    insulation_named(ask.insulation)
    rule_named(ask.ampacity_rule)
    sent = _sent(ask)
    candidates = () if sent is not None else _candidates(ask)
    extra: tuple[Finding, ...] = ()
    if sent is not None:
        chosen: WireFigures | None = _figures(ask, sent)
    else:
        chosen, limit = _choose(ask, candidates)
        if chosen is None:
            chosen, extra = _lowest_stop(ask, candidates)
        else:
            chosen = altered(chosen, limited_by=limit)
    if chosen is None:
        return WireAnswer(*(None,) * 8, supply_voltage=ask.supply_voltage, findings=extra)
    return WireAnswer(
        awg=chosen.awg,
        conductor_area=chosen.conductor_area,
        metric_area=chosen.metric_area,
        loop_resistance=chosen.loop_resistance,
        drop=chosen.drop,
        drop_fraction=chosen.drop_fraction,
        ampacity=chosen.ampacity,
        limited_by=chosen.limited_by,
        supply_voltage=ask.supply_voltage,
        alternatives=_alternatives(ask, chosen),
        findings=extra + _judge(ask, chosen, sent is not None),
        working=_working(ask, chosen),
        sources=_sources(ask, chosen),
    )
