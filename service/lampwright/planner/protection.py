"""Fuse and switch: whether one is needed, which, where it goes, and the wires it can do its work behind."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from lampwright.physics.protection import (
    CONTINUOUS_FRACTION,
    longest_opening_time,
)
from lampwright.planner.fuse_findings import better_fuse, judged, left_out, no_value, none_fitted_findings
from lampwright.planner.fuse_window import (
    USUAL_STYLE,
    Place,
    Rating,
    chosen,
    derating_of,
    figures_of,
    fuse_sent,
    harmless,
    has_guard,
    in_window,
    place_of,
    short_at_far_end,
    smallest_for,
    sound,
    useless,
)
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import PlannedWire
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import FuseAnswer, FuseAsk, FuseFigures, SwitchAnswer
from lampwright.quantities import show, three_digits
from lampwright.records import altered
from lampwright.tables.batteries import battery_types
from lampwright.tables.fuses import (
    opening_times,
    style_named,
    styles,
    switch_rows,
)
from lampwright.tables.supplies import supply_types

PLACEMENT = "in the plus wire, within a hand-width of the battery or supply"
SPARES = 2
SWITCH_RESERVE = 1.5  # DC rating over current (common practice, no source)
# A source of unknown kind that can give this much into a short burns thin wire like a lead battery.
_STRONG_SOURCE = 15.0
_THICKENINGS = 12  # gauges, at most
_ONE_GAUGE_UP = 1.05  # of what the thinnest wire carries: the next gauge up
_REQUIRED = ("lead_acid", "liion", "nimh")
_OPTIONAL_BATTERIES = ("alkaline_9v", "carbon_zinc_9v")


def _weak_cells(supply: Supply) -> bool:
    """Return whether the supply is coin cells or a 9 V block, which hold back a short circuit themselves."""
    return supply.battery in _OPTIONAL_BATTERIES or (
        bool(supply.battery) and battery_types()[supply.battery].form == "coin"
    )


def needed(supply: Supply | None, wire_ampacity: float | None, at_source: float) -> str:
    """Return whether a fuse is required, advised or optional on this source.

    Lead, lithium-ion and NiMH start fires: required. Other batteries of cells from AAA to D: advised;
    coin cells warm no wire, and 9 V blocks are soon flat: optional. A vehicle is a lead battery. A supply
    with a limit of its own below what the wire carries cannot harm it: optional; otherwise advised.

    >>> needed(None, None, 500.0), needed(None, 2.0, 1.0)
    ('required', 'optional')
    """
    if supply is not None and supply.battery:
        kind = battery_types()[supply.battery]
        if has_guard(supply):
            return "optional" if wire_ampacity is not None and at_source <= wire_ampacity else "advised"
        if kind.chemistry in _REQUIRED:
            return "required"
        return "optional" if _weak_cells(supply) else "advised"
    if supply is not None and supply.chemistry in _REQUIRED:
        return "required"
    if supply is not None and supply.part and supply_types()[supply.part].kind == "vehicle":
        return "required"
    if at_source != math.inf and at_source > _STRONG_SOURCE:
        return "required"
    if wire_ampacity is not None and at_source <= wire_ampacity:
        return "optional"
    return "advised"


def fuse(ask: FuseAsk) -> FuseAnswer:
    """Return the fuse to fit, or how the one sent does; ``rated_current`` 0 means none is fitted.

    Raises
    ------
    UnknownPartError
        If a gauge, an insulation, a rule or a style is not in the tables.
    ContradictionError
        If gauge and area are both sent and disagree.

    Examples
    --------
    >>> answer = fuse(FuseAsk(current=0.3, awg=24, short_circuit_current=20.0))
    >>> answer.rated_current, answer.needed, answer.clears_short
    (0.4, 'required', True)
    """
    if ask.style is not None:
        style_named(ask.style)
    place = place_of(ask)
    need = needed(ask.supply, place.ampacity, place.at_source)
    name = ask.supply.name if ask.supply is not None and ask.supply.name else "this supply"
    best = chosen(ask, place)
    findings: tuple[Finding, ...] = ()
    fitted: Rating | None
    if ask.rated_current is not None:
        fitted = fuse_sent(ask)
        if fitted is None:
            findings, figures = none_fitted_findings(ask, place, need, best, name), _none_fitted(place, 0.0)
        else:
            findings = judged(place, fitted, need, name, better_fuse(ask, place))
            figures = figures_of(place, fitted)
    elif best is not None:
        fitted = best
        findings, figures = judged(place, best, need, name), figures_of(place, best)
    elif need == "optional":
        fitted = None
        findings = (left_out(ask, place, None, name),)
        figures = _none_fitted(place, 0.0)
    else:
        fitted = None
        findings = (no_value(ask, place),)
        figures = _none_fitted(place, None)
    if fitted is not None and need == "optional" and (harmless(place) or useless(place)):
        findings += (left_out(ask, place, best, name),)
    return FuseAnswer(
        rated_current=figures.rated_current,
        style=figures.style if fitted is not None else ask.style,
        smallest=figures.smallest,
        largest=figures.largest,
        short_circuit_current=figures.short_circuit_current,
        clears_short=figures.clears_short,
        needed=need,
        placement=PLACEMENT,
        spares=SPARES if fitted is not None else 0,
        alternatives=_alternatives(place, fitted, best, need),
        findings=findings,
        working=_working(place, figures, fitted),
        sources=_sources(fitted),
    )


_THICKER_HELPS = (
    "no_fuse_fits",
    "no_fuse_between",
    "fuse_will_not_open",
    "fuse_slow_to_open",
    "fuse_too_big",
)


def guarded(
    wires_for: Callable[[float], Sequence[PlannedWire]],
    ask_for: Callable[[Sequence[PlannedWire]], FuseAsk],
) -> tuple[tuple[PlannedWire, ...], FuseAnswer]:
    """Return wires and the fuse before them, the wires thickened until a fuse fits and can do its work.

    Behind cells too weak to harm the wire none is fitted unless it is wished: a holder for nothing is two
    joints more that can break. Behind a supply with a plug one is, for what is printed on it is no promise
    of its short circuit.

    Parameters
    ----------
    wires_for : callable
        Plans all wires so that each carries at least the current given [A]; 0: as the load needs.
    ask_for : callable
        Turns planned wires into the question about their fuse.
    """
    wires = tuple(wires_for(0.0))
    answer = fuse(ask_for(wires))
    for _ in range(_THICKENINGS):
        unfit = any(each.code in _THICKER_HELPS for each in answer.findings)
        if not unfit or answer.largest is None:
            break
        # One gauge up at a time: thicker wire carries more, and lets more flow in a short circuit.
        share = 0.5 if answer.style == "resettable" else 1.0
        thicker = tuple(wires_for(_ONE_GAUGE_UP * answer.largest / share))
        if any(each.figures.conductor_area is None for each in thicker):
            break
        wires, answer = thicker, fuse(ask_for(thicker))
    asked = ask_for(wires)
    wished = asked.rated_current is not None or asked.style is not None
    weak = asked.supply is not None and _weak_cells(asked.supply)
    if weak and not wished and any(each.code == "fuse_not_needed" for each in answer.findings):
        answer = fuse(altered(asked, rated_current=0.0))
    return wires, answer


def _none_fitted(place: Place, rated_current: float | None) -> FuseFigures:
    smallest = smallest_for(place, USUAL_STYLE)
    return FuseFigures(
        rated_current=rated_current,
        style=None,
        smallest=smallest if smallest != math.inf else None,
        largest=place.ampacity,
        short_circuit_current=short_at_far_end(place, 0.0),
        clears_short=False if rated_current == 0 else None,
    )


def _alternatives(
    place: Place, fitted: Rating | None, best: Rating | None, need: str
) -> tuple[FuseFigures, ...]:
    """Return what would do in the other styles, and the best one where another was sent.

    None that would have to open for sure and would not.
    """
    found = []
    if best is not None and best != fitted:
        found.append(best)
    for style in styles():
        rating = in_window(place, style)
        if rating is not None and rating != fitted and rating not in found:
            found.append(rating)
    offered = [rating for rating in found if need == "optional" or sound(place, rating)]
    return tuple(figures_of(place, rating) for rating in offered)


def _working(place: Place, figures: FuseFigures, fitted: Rating | None) -> tuple[Step, ...]:
    """Return the sentence chain behind the figures."""
    style = fitted.style if fitted else USUAL_STYLE
    derating = derating_of(style, place.ambient_temperature)
    steps = [
        Step(
            what="smallest rating: the load uses three quarters of what it is worth where it is warm",
            equation=f"I_n ≥ I / ({CONTINUOUS_FRACTION:g} k)",
            values=f"{show(place.load, 'ma')} / ({CONTINUOUS_FRACTION:g} × {three_digits(derating)})",
            result=show(figures.smallest, "ma") if figures.smallest not in (None, math.inf) else "none",
            link="fuses",
        )
    ]
    if figures.largest is not None:
        steps.append(
            Step(
                what="largest rating: what the thinnest wire after the fuse carries",
                equation="I_n ≤ I_z",
                values="resettable: its trip current, twice the rating" if style == "resettable" else "",
                result=show(figures.largest, "ma"),
                link="fuses",
            )
        )
    if fitted is not None and figures.short_circuit_current is not None:
        multiple = figures.short_circuit_current / fitted.rated_current
        points = opening_times(fitted.style)
        longest = longest_opening_time(multiple, points) if points else math.inf
        opens = f", opens within {show(longest, 'h')}" if longest != math.inf else ""
        steps.append(
            Step(
                what="if the wires touch at the far end",
                equation="I = V / (R_S + R)",
                values=f"{three_digits(multiple)} times the rating",
                result=show(figures.short_circuit_current, "ma") + opens,
                link="fuses",
            )
        )
    return tuple(steps)


def _sources(fitted: Rating | None) -> tuple[str, ...]:
    parts = {
        "glass_5x20": ("IEC-60127-2", "LITTELFUSE-617"),
        "ceramic_5x20": ("IEC-60127-2",),
        "blade": ("ISO-8820-3",),
        "resettable": ("BOURNS-MF-R",),
    }
    return ("FUSEOLOGY", "UMT-250-ARTICLE", *parts.get(fitted.style if fitted else "", ()))


def switch(design_current: float, supply_voltage_max: float) -> SwitchAnswer:
    """Return the switch: the smallest usual kind whose DC rating leaves half as much again.

    Examples
    --------
    >>> switch(0.1, 6.4).kind
    'small slide switch'
    """
    wanted = design_current * SWITCH_RESERVE
    for row in switch_rows():
        if row.rated_current >= wanted and row.rated_voltage >= supply_voltage_max:
            return SwitchAnswer(
                rated_current=row.rated_current,
                rated_voltage=row.rated_voltage,
                kind=row.name,
                why=f"{show(design_current, 'ma')} flow; a DC rating of at least {show(wanted, 'ma')} leaves "
                "half as much again. A figure for 250 V AC says little about DC.",
            )
    return SwitchAnswer(
        rated_current=wanted,
        rated_voltage=supply_voltage_max,
        kind="relay or contactor with this DC rating, worked by a small switch",
        why=f"{show(design_current, 'ma')} at {show(supply_voltage_max, 'v')} is more than usual switches "
        "break.",
    )
