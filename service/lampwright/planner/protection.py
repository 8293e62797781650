"""Fuse and switch: a value in the window between load and wire, and whether it can do its work.

The window: the load uses at most three quarters of what the rating is worth where it is warm, and the
rating is at most what the thinnest wire behind it carries. No value in it: thicker wire or split feeds,
never a bigger fuse. A fuse also has to open when the wires touch at the far end, and must not burst when
they touch at the battery.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from lampwright.physics.conductors import loop_resistance
from lampwright.physics.protection import (
    CONTINUOUS_FRACTION,
    fuse_derating,
    hold_derating,
    longest_opening_time,
    short_circuit_current,
    smallest_rating,
)
from lampwright.planner.ampacity import Surroundings, ampacity
from lampwright.planner.findings import finding
from lampwright.planner.models.base import NOTHING, Finding, Step
from lampwright.planner.models.build import PlannedWire
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import FuseAnswer, FuseAsk, FuseFigures, SwitchAnswer
from lampwright.planner.wire import conductor_resistance, resolve_size
from lampwright.quantities import show, three_digits
from lampwright.records import altered
from lampwright.tables.batteries import battery_types
from lampwright.tables.fuses import (
    cold_resistance,
    fuses_of,
    opening_times,
    resettables,
    style_named,
    styles,
    switch_rows,
)
from lampwright.tables.supplies import supply_types

PLACEMENT = "in the plus wire, within a hand-width of the battery or supply"
SPARES = 2
# Battery leads and holder up to a fuse placed so, out and back: 0.4 m of 18 AWG at least [Ω]. Of a big
# battery's short circuit they let through a part (computed; thicker leads are for motors).
LEADS = 0.008
# Smaller glass fuses are hard to buy and lose volts of their own (the 0.4 A one has 0.28 Ω).
SMALLEST_USUAL = 0.4
SWITCH_RESERVE = 1.5  # DC rating over current (common practice, no source)
# A source of unknown kind that can give this much into a short burns thin wire like a lead battery.
_STRONG_SOURCE = 15.0
_THICKENINGS = 12  # gauges, at most
_ONE_GAUGE_UP = 1.05  # of what the thinnest wire carries: the next gauge up
_REQUIRED = ("lead_acid", "liion", "nimh")
_OPTIONAL_BATTERIES = ("alkaline_9v", "carbon_zinc_9v")
#: What a fuse is taken for of which only the rating is known.
USUAL_STYLE = "glass_5x20"
_FALLBACK_STYLES = (USUAL_STYLE, "blade", "ceramic_5x20")


@dataclass(frozen=True, slots=True)
class _Rating:
    """One fuse or resettable device, as far as choosing goes."""

    style: str
    rated_current: float
    rated_voltage: float
    breaking_capacity: float
    resistance: float
    opens_from: float
    lost: float


@dataclass(frozen=True, slots=True)
class _Place:
    """What a fuse has to do with: load, wire, source. Currents [A], resistances [Ω]."""

    load: float
    inrush: float
    ampacity: float | None
    loop: float | None
    at_source: float
    voltage: float
    far_voltage: float
    source_resistance: float
    source_limit: float | None
    sent_short: float | None
    ambient_temperature: float


def _place(ask: FuseAsk) -> _Place:
    """Gather what the fuse has to do with."""
    carries = loop = None
    if ask.awg is not None or ask.conductor_area is not None:
        size = resolve_size(ask.awg, ask.conductor_area)
        where = Surroundings(
            ask.insulation, ask.bundled_count, ask.enclosed, ask.ambient_temperature, ask.ampacity_rule
        )
        carries = ampacity(size.conductor_area, where).ampacity
        if ask.run_length is not None:
            each = conductor_resistance(
                None if size.metric else size.awg, size.conductor_area, None, ask.ambient_temperature
            )
            loop = loop_resistance(each, ask.run_length)
    if ask.loop_resistance is not None:
        loop = ask.loop_resistance
    supply = ask.supply
    limit = ask.short_circuit_current
    if limit is None and supply is not None:
        limit = supply.short_circuit_current
        if limit is None and not supply.battery:
            limit = supply.current_limit
    low = supply.source_resistance_low if supply else 0.0
    highest = supply.supply_voltage_max if supply else 0.0
    at_source = short_circuit_current(highest, low, 0.0) if supply and low > 0 else math.inf
    if limit is not None:
        # What limits itself gives no more, however little its voltage sags before.
        limits_itself = supply is not None and bool(supply.battery) and _guarded(supply)
        at_source = limit if at_source == math.inf or limits_itself else max(limit, at_source)
    return _Place(
        load=ask.current,
        inrush=ask.inrush or 0.0,
        ampacity=carries,
        loop=loop,
        at_source=at_source,
        voltage=highest,
        far_voltage=supply.supply_voltage if supply else 0.0,
        source_resistance=supply.source_resistance if supply else 0.0,
        source_limit=limit,
        sent_short=ask.short_circuit_current,
        ambient_temperature=ask.ambient_temperature,
    )


def _short_at_far_end(place: _Place, resistance: float) -> float | None:
    """Return what flows if the wires touch at the far end, None where nothing tells."""
    if place.sent_short is not None:
        return place.sent_short
    if place.far_voltage <= 0:
        return None
    flowing = short_circuit_current(
        place.far_voltage, place.source_resistance, (place.loop or 0.0) + resistance, place.source_limit
    )
    return None if flowing == math.inf else flowing


@cache
def _ratings(style: str) -> tuple[_Rating, ...]:
    """Return what is sold in a style, smallest first."""
    if style == "resettable":
        return tuple(
            _Rating(
                style=style,
                rated_current=row.hold_current,
                rated_voltage=row.rated_voltage,
                breaking_capacity=row.breaking_capacity or 40.0,
                resistance=row.resistance_high or 0.0,
                opens_from=row.trip_current,
                lost=row.resistance_tripped or 0.0,
            )
            for row in resettables()
        )
    sure = style_named(style).sure_multiple
    return tuple(
        _Rating(
            style=style,
            rated_current=row.rated_current,
            rated_voltage=row.rated_voltage,
            breaking_capacity=row.breaking_capacity,
            resistance=cold_resistance(row),
            opens_from=sure * row.rated_current,
            lost=0.0,
        )
        for row in fuses_of(style)
    )


def _derating(style: str, ambient_temperature: float) -> float:
    return hold_derating(ambient_temperature) if style == "resettable" else fuse_derating(ambient_temperature)


def _smallest(place: _Place, style: str) -> float:
    """Return the smallest rating that carries the load and stands the peak at switching on."""
    derating = _derating(style, place.ambient_temperature)
    if derating <= 0:
        return math.inf
    carried = smallest_rating(place.load, derating)
    return max(carried, place.inrush / style_named(style).peak_multiple)


def _protects(place: _Place, rating: _Rating) -> bool:
    """Return whether the wire stands what the rating lets through."""
    if place.ampacity is None:
        return True
    # Between hold and trip a resettable device promises nothing: the wire has to stand its trip current.
    let_through = rating.opens_from if rating.style == "resettable" else rating.rated_current
    return let_through <= place.ampacity


def _suits_source(place: _Place, rating: _Rating) -> bool:
    """Return whether it stands the source's volts and breaks its short circuit."""
    if place.voltage > rating.rated_voltage:
        return False
    return place.at_source == math.inf or _at_fuse(place) <= rating.breaking_capacity


def _at_fuse(place: _Place) -> float:
    """Return the most a short circuit right behind the fuse sends through it, in A."""
    if place.sent_short is not None or place.at_source == math.inf or place.voltage <= 0:
        return place.at_source
    return place.voltage / (place.voltage / place.at_source + LEADS)


def _clears(place: _Place, rating: _Rating) -> bool | None:
    """Return whether a short circuit at the far end surely opens it, None where nothing tells."""
    flowing = _short_at_far_end(place, rating.resistance)
    return None if flowing is None else flowing >= rating.opens_from


def _into_short(place: _Place) -> float:
    """Return the most that flows into a short circuit anywhere along the wire."""
    return place.at_source if place.sent_short is None else place.sent_short


def _harmless(place: _Place) -> bool:
    """Return whether the wire carries for ever whatever a short circuit anywhere along it lets flow."""
    return place.ampacity is not None and _into_short(place) <= place.ampacity


def _useless(place: _Place) -> bool:
    """Return whether no usual fuse could open: the source gives less than the smallest lets through."""
    return _into_short(place) <= SMALLEST_USUAL


def _optional(ask: FuseAsk, place: _Place, best: _Rating | None, supply_name: str) -> Finding:
    """Say why no fuse is needed, or what a short circuit does where one is left out all the same."""
    short = show(_into_short(place), "ma") if _into_short(place) != math.inf else "an unknown current"
    carries = "" if place.ampacity is None else f", and this wire carries {show(place.ampacity, 'ma')}"
    if _harmless(place) or _useless(place):
        return finding(
            "fuse_not_needed", supply=supply_name, short=short, carries=carries, field="rated_current"
        )
    return finding(
        "fuse_left_out",
        supply=supply_name,
        short=short,
        carries=carries,
        advice=f"a {show(best.rated_current, 'ma')} fuse" if best else "a fuse",
        suggestion=_instead(ask, place),
        field="rated_current",
    )


def _figures(place: _Place, rating: _Rating) -> FuseFigures:
    return FuseFigures(
        rated_current=rating.rated_current,
        style=rating.style,
        smallest=_smallest(place, rating.style),
        largest=_largest(place, rating.style),
        short_circuit_current=_short_at_far_end(place, rating.resistance),
        clears_short=_clears(place, rating),
    )


def _largest(place: _Place, style: str) -> float | None:
    if place.ampacity is None:
        return None
    return place.ampacity / 2 if style == "resettable" else place.ampacity


def _in_window(place: _Place, style: str) -> _Rating | None:
    """Return the rating of a style that carries the load, protects the wire and suits the source.

    The smallest one that is easy to buy and loses few millivolts; a smaller one only where the wire or
    the source asks for it.
    """
    smallest = _smallest(place, style)
    fitting = [
        rating
        for rating in _ratings(style)
        if rating.rated_current >= smallest and _protects(place, rating) and _suits_source(place, rating)
    ]
    for rating in fitting:
        works = _clears(place, rating) is not False or _harmless(place)
        if rating.rated_current >= SMALLEST_USUAL and works:
            return rating
    return fitting[0] if fitting else None


def _guarded(supply: Supply) -> bool:
    """Return whether the battery has a guard of its own inside, as a power bank has."""
    return battery_types()[supply.battery].protection == "always"


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
        if _guarded(supply):
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


def _chosen(ask: FuseAsk, place: _Place) -> _Rating | None:
    """Return the fuse to fit: in the style asked for, else in the first style that has one that works."""
    if ask.style is not None:
        return _in_window(place, style_named(ask.style).style)
    fitting = [rating for style in _FALLBACK_STYLES if (rating := _in_window(place, style)) is not None]
    working = [rating for rating in fitting if _clears(place, rating) is not False or _harmless(place)]
    return next(iter(working or fitting), None)


def _sent(ask: FuseAsk) -> _Rating | None:
    """Return the fuse that was sent, its class taken from the nearest rating that is sold."""
    if not ask.rated_current:
        return None
    style = ask.style or USUAL_STYLE
    known = _ratings(style)
    nearest = min(known, key=lambda each: abs(math.log(each.rated_current / (ask.rated_current or 1.0))))
    scale = ask.rated_current / nearest.rated_current
    return altered(nearest, rated_current=ask.rated_current, opens_from=nearest.opens_from * scale)


def _sound(place: _Place, rating: _Rating) -> bool:
    """Return whether a rating of the window has nothing to be said against it."""
    return _clears(place, rating) is not False or _harmless(place)


def _instead(ask: FuseAsk, place: _Place) -> dict[str, object]:
    """Return the fuse to send in place of one that will not do, {} where no style has a sound one.

    In the style sent, if it has one; a fuse without a style is taken for a glass one, so that any other
    style has to be named.
    """
    asked = _in_window(place, ask.style) if ask.style is not None else None
    best = asked if asked is not None and _sound(place, asked) else _chosen(altered(ask, style=None), place)
    if best is None or not _sound(place, best):
        return {}
    if best.style == (ask.style or USUAL_STYLE):
        return {"rated_current": best.rated_current}
    return {"rated_current": best.rated_current, "style": best.style}


def _missing(
    ask: FuseAsk, place: _Place, need: str, best: _Rating | None, supply_name: str
) -> tuple[Finding, ...]:
    """Judge a build without a fuse."""
    if need == "optional":
        return (_optional(ask, place, best, supply_name),)
    style = f", {styles()[best.style].name}," if best and best.style != USUAL_STYLE else ""
    advice = f"a {show(best.rated_current, 'ma')} fuse{style}" if best else "a fuse"
    code = "fuse_missing" if need == "required" else "fuse_advised"
    instead = _instead(ask, place)
    said = finding(code, supply=supply_name, advice=advice, suggestion=instead, field="rated_current")
    # Where no fuse would fit, "add a fuse" alone sends the reader to a shelf that has none.
    return (said,) if best is not None else (said, _no_value(ask, place))


def _at_fuse_in_words(place: _Place) -> str:
    return "an unknown current" if place.at_source == math.inf else show(_at_fuse(place), "ma")


def _no_value(ask: FuseAsk, place: _Place) -> Finding:
    """Say why no rating fits: wire too thin, none sold in between, or none that breaks this source."""
    tried = (ask.style,) if ask.style is not None else _FALLBACK_STYLES
    # Where no rating was sent another style is enough: its rating is found.
    other = _instead(ask, place)
    if ask.rated_current is None:
        other.pop("rated_current", None)
    wide = [
        style
        for style in tried
        for each in _ratings(style)
        if each.rated_current >= _smallest(place, style) and _protects(place, each)
    ]
    if wide:
        return finding(
            "fuse_style_unfit",
            cure="Use another style of fuse: a blade fuse breaks more than a glass one"
            if other
            else "Use a supply that gives less into touching wires: a smaller pack, or one for several",
            style=styles()[wide[-1]].name,
            short=_at_fuse_in_words(place),
            suggestion=other,
            field="style",
        )
    style = tried[0]
    smallest, largest = _smallest(place, style), _largest(place, style)
    if largest is not None and smallest <= largest:
        return finding(
            "no_fuse_between",
            style=styles()[style].name,
            smallest=show(smallest, "ma"),
            largest=show(largest, "ma"),
            suggestion=other,
            field="style" if other else "awg",
        )
    return finding(
        "no_fuse_fits",
        smallest=show(smallest, "ma") if smallest != math.inf else "a larger one",
        ampacity=show(place.ampacity, "ma") if place.ampacity is not None else "an unknown current",
        load=show(place.load, "ma"),
        field="awg",
    )


def _judge(
    place: _Place, rating: _Rating, need: str, supply_name: str, instead: Mapping[str, object] = NOTHING
) -> tuple[Finding, ...]:
    """Return what is to be said of a fuse, chosen or sent; ``instead`` is what to send in its place."""
    found: list[Finding] = []
    fuse = f"A {show(rating.rated_current, 'ma')} fuse"
    smallest = _smallest(place, rating.style)
    if rating.rated_current < smallest * (1 - 1e-9):
        code = "fuse_too_small" if place.load > rating.rated_current else "fuse_little_reserve"
        found.append(
            finding(
                code,
                fuse=fuse,
                load=show(place.load, "ma"),
                smallest=show(smallest, "ma") if smallest != math.inf else "a larger one",
                suggestion=instead,
                field="rated_current",
            )
        )
    if not _protects(place, rating):
        found.append(
            finding(
                "fuse_too_big",
                fuse=fuse,
                ampacity=show(place.ampacity or 0.0, "ma"),
                suggestion=instead,
                field="rated_current",
            )
        )
    if not _suits_source(place, rating):
        found.append(
            finding(
                "fuse_cannot_break",
                fuse=fuse,
                style=styles()[rating.style].name,
                voltage=show(place.voltage, "v"),
                short=_at_fuse_in_words(place),
                suggestion=instead,
                field="style",
            )
        )
    # A source too weak to need a fuse is too weak to blow one: nothing to warn of.
    if _clears(place, rating) is False and need != "optional" and not _harmless(place):
        flowing = _short_at_far_end(place, rating.resistance) or 0.0
        found.append(
            finding(
                "fuse_will_not_open"
                if need == "required" or place.ampacity is not None
                else "fuse_slow_to_open",
                fuse=fuse,
                short=show(flowing, "ma"),
                sure=show(rating.opens_from, "ma"),
                supply=supply_name,
                suggestion=instead,
                field="rated_current",
            )
        )
    if rating.style == "resettable":
        found.append(
            finding(
                "resettable_drops_volts",
                fuse=fuse,
                drop=show(place.load * rating.lost, "v") if rating.lost else "a little",
            )
        )
    return tuple(found)


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
    place = _place(ask)
    need = needed(ask.supply, place.ampacity, place.at_source)
    name = ask.supply.name if ask.supply is not None and ask.supply.name else "this supply"
    best = _chosen(ask, place)
    findings: tuple[Finding, ...] = ()
    fitted: _Rating | None
    if ask.rated_current is not None:
        fitted = _sent(ask)
        if fitted is None:
            findings, figures = _missing(ask, place, need, best, name), _none_fitted(place, 0.0)
        else:
            findings = _judge(place, fitted, need, name, _instead(ask, place))
            figures = _figures(place, fitted)
    elif best is not None:
        fitted = best
        findings, figures = _judge(place, best, need, name), _figures(place, best)
    elif need == "optional":
        fitted = None
        findings = (_optional(ask, place, None, name),)
        figures = _none_fitted(place, 0.0)
    else:
        fitted = None
        findings = (_no_value(ask, place),)
        figures = _none_fitted(place, None)
    if fitted is not None and need == "optional" and (_harmless(place) or _useless(place)):
        findings += (_optional(ask, place, best, name),)
    return FuseAnswer(
        rated_current=figures.rated_current,
        style=figures.style if fitted is not None else ask.style,
        smallest=figures.smallest,
        largest=figures.largest,
        short_circuit_current=figures.short_circuit_current,
        clears_short=figures.clears_short,
        needed=need,
        placement=PLACEMENT,
        spares=SPARES,
        alternatives=_alternatives(place, fitted, best, need),
        findings=findings,
        working=_working(place, figures, fitted),
        sources=_sources(fitted),
    )


@cache
def sold_ratings(style: str | None) -> tuple[float, ...]:
    """Return the ratings a fuse is sold in, of one style or of any that is fitted unasked. [A]."""
    tried = _FALLBACK_STYLES if style is None else (style,)
    return tuple(each.rated_current for one in tried for each in _ratings(one))


def style_sold(rated_current: float | None) -> str | None:
    """Return the first style that is fitted unasked and sold in this rating [A], None where none is.

    >>> style_sold(2.0), style_sold(3.0), style_sold(0.3)
    ('glass_5x20', 'blade', None)
    """
    for style in _FALLBACK_STYLES:
        if any(math.isclose(each, rated_current or 0.0, rel_tol=1e-6) for each in sold_ratings(style)):
            return style
    return None


_THICKER_HELPS = ("no_fuse_fits", "no_fuse_between", "fuse_will_not_open", "fuse_too_big")


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


def _none_fitted(place: _Place, rated_current: float | None) -> FuseFigures:
    smallest = _smallest(place, USUAL_STYLE)
    return FuseFigures(
        rated_current=rated_current,
        style=None,
        smallest=smallest if smallest != math.inf else None,
        largest=place.ampacity,
        short_circuit_current=_short_at_far_end(place, 0.0),
        clears_short=False if rated_current == 0 else None,
    )


def _alternatives(
    place: _Place, fitted: _Rating | None, best: _Rating | None, need: str
) -> tuple[FuseFigures, ...]:
    """Return what would do in the other styles, and the best one where another was sent.

    None that would have to open for sure and would not.
    """
    found = []
    if best is not None and best != fitted:
        found.append(best)
    for style in styles():
        rating = _in_window(place, style)
        if rating is not None and rating != fitted and rating not in found:
            found.append(rating)
    offered = [rating for rating in found if need == "optional" or _sound(place, rating)]
    return tuple(_figures(place, rating) for rating in offered)


def _working(place: _Place, figures: FuseFigures, fitted: _Rating | None) -> tuple[Step, ...]:
    """Return the sentence chain behind the figures."""
    style = fitted.style if fitted else USUAL_STYLE
    derating = _derating(style, place.ambient_temperature)
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


def _sources(fitted: _Rating | None) -> tuple[str, ...]:
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
