"""Which fuses fit: the window between load and wire, and what a short circuit does to a rating.

The load uses at most three quarters of what the rating is worth where it is warm, and the rating is at most
what the thinnest wire behind it carries. No value in the window: thicker wire or split feeds, never a bigger
fuse. A fuse also has to open when the wires touch at the far end, and must not burst when they touch at the
battery.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from lampwright.physics.conductors import loop_resistance
from lampwright.physics.protection import (
    fuse_derating,
    hold_derating,
    short_circuit_current,
    smallest_rating,
)
from lampwright.planner.ampacity import Surroundings, ampacity
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import FuseAsk, FuseFigures
from lampwright.planner.wire import conductor_resistance, resolve_size
from lampwright.records import altered
from lampwright.tables.batteries import battery_types
from lampwright.tables.fuses import (
    cold_resistance,
    fuses_of,
    resettables,
    style_named,
)

# Battery leads and holder up to a fuse placed so, out and back: 0.4 m of 18 AWG at least [Ω]. Of a big
# battery's short circuit they let through a part (computed; thicker leads are for motors).
LEADS = 0.008
# Smaller glass fuses are hard to buy and lose volts of their own (the 0.4 A one has 0.28 Ω).
SMALLEST_USUAL = 0.4
#: What a fuse is taken for of which only the rating is known.
USUAL_STYLE = "glass_5x20"
FALLBACK_STYLES = (USUAL_STYLE, "blade", "ceramic_5x20")


@dataclass(frozen=True, slots=True)
class Rating:
    """One fuse or resettable device, as far as choosing goes."""

    style: str
    rated_current: float
    rated_voltage: float
    breaking_capacity: float
    resistance: float
    opens_from: float
    lost: float


@dataclass(frozen=True, slots=True)
class Place:
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


def _limit(ask: FuseAsk) -> float | None:
    """Return what is known of the source's short circuit: as sent, as its part has it, or what limits it."""
    if ask.short_circuit_current is not None or ask.supply is None:
        return ask.short_circuit_current
    return limit_of(ask.supply)


def limit_of(supply: Supply) -> float | None:
    """Return what a supply is said to give into touching wires [A], None where nothing is said."""
    if supply.short_circuit_current is None and not supply.battery:
        return supply.current_limit
    return supply.short_circuit_current


def most_into_short(supply: Supply | None, limit: float | None) -> float:
    """Return the most that flows where the wires touch right at the source [A], ∞ where nothing tells."""
    low = supply.source_resistance_low if supply else 0.0
    at_source = short_circuit_current(supply.supply_voltage_max, low, 0.0) if supply and low > 0 else math.inf
    if limit is None:
        return at_source
    # What limits itself gives no more, however little its voltage sags before.
    limits_itself = supply is not None and bool(supply.battery) and has_guard(supply)
    return limit if at_source == math.inf or limits_itself else max(limit, at_source)


def place_of(ask: FuseAsk) -> Place:
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
    limit = _limit(ask)
    highest = supply.supply_voltage_max if supply else 0.0
    return Place(
        load=ask.current,
        inrush=ask.inrush or 0.0,
        ampacity=carries,
        loop=loop,
        at_source=most_into_short(supply, limit),
        voltage=highest,
        far_voltage=supply.supply_voltage if supply else 0.0,
        source_resistance=supply.source_resistance if supply else 0.0,
        source_limit=limit,
        sent_short=ask.short_circuit_current,
        ambient_temperature=ask.ambient_temperature,
    )


def short_at_far_end(place: Place, resistance: float) -> float | None:
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
def ratings_of(style: str) -> tuple[Rating, ...]:
    """Return what is sold in a style, smallest first."""
    if style == "resettable":
        return tuple(
            Rating(
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
        Rating(
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


def derating_of(style: str, ambient_temperature: float) -> float:
    """Return what is left of a rating at a temperature."""
    return hold_derating(ambient_temperature) if style == "resettable" else fuse_derating(ambient_temperature)


def smallest_for(place: Place, style: str) -> float:
    """Return the smallest rating that carries the load and stands the peak at switching on."""
    derating = derating_of(style, place.ambient_temperature)
    if derating <= 0:
        return math.inf
    carried = smallest_rating(place.load, derating)
    return max(carried, place.inrush / style_named(style).peak_multiple)


def protects(place: Place, rating: Rating) -> bool:
    """Return whether the wire stands what the rating lets through."""
    if place.ampacity is None:
        return True
    # Between hold and trip a resettable device promises nothing: the wire has to stand its trip current.
    let_through = rating.opens_from if rating.style == "resettable" else rating.rated_current
    return let_through <= place.ampacity


def suits_source(place: Place, rating: Rating) -> bool:
    """Return whether it stands the source's volts and breaks its short circuit."""
    if place.voltage > rating.rated_voltage:
        return False
    return place.at_source == math.inf or at_fuse(place) <= rating.breaking_capacity


def at_fuse(place: Place) -> float:
    """Return the most a short circuit right behind the fuse sends through it, in A."""
    if place.sent_short is not None or place.at_source == math.inf or place.voltage <= 0:
        return place.at_source
    return place.voltage / (place.voltage / place.at_source + LEADS)


def clears(place: Place, rating: Rating) -> bool | None:
    """Return whether a short circuit at the far end surely opens it, None where nothing tells."""
    flowing = short_at_far_end(place, rating.resistance)
    return None if flowing is None else flowing >= rating.opens_from


def into_short(place: Place) -> float:
    """Return the most that flows into a short circuit anywhere along the wire."""
    return place.at_source if place.sent_short is None else place.sent_short


def harmless(place: Place) -> bool:
    """Return whether the wire carries for ever whatever a short circuit anywhere along it lets flow."""
    return place.ampacity is not None and into_short(place) <= place.ampacity


def useless(place: Place) -> bool:
    """Return whether no usual fuse could open: the source gives less than the smallest lets through."""
    return into_short(place) <= SMALLEST_USUAL


def sound(place: Place, rating: Rating) -> bool:
    """Return whether a rating of the window has nothing to be said against it."""
    return clears(place, rating) is not False or harmless(place)


def figures_of(place: Place, rating: Rating) -> FuseFigures:
    """Return a rating with its window and what a short circuit does to it."""
    return FuseFigures(
        rated_current=rating.rated_current,
        style=rating.style,
        smallest=smallest_for(place, rating.style),
        largest=largest_for(place, rating.style),
        short_circuit_current=short_at_far_end(place, rating.resistance),
        clears_short=clears(place, rating),
    )


def largest_for(place: Place, style: str) -> float | None:
    """Return the largest rating that still protects the wire, None where no wire is told."""
    if place.ampacity is None:
        return None
    return place.ampacity / 2 if style == "resettable" else place.ampacity


def in_window(place: Place, style: str) -> Rating | None:
    """Return the rating of a style that carries the load, protects the wire and suits the source.

    The smallest one that is easy to buy and loses few millivolts; a smaller one only where the wire or
    the source asks for it.
    """
    smallest = smallest_for(place, style)
    fitting = [
        rating
        for rating in ratings_of(style)
        if rating.rated_current >= smallest and protects(place, rating) and suits_source(place, rating)
    ]
    for rating in fitting:
        if rating.rated_current >= SMALLEST_USUAL and sound(place, rating):
            return rating
    return fitting[0] if fitting else None


def has_guard(supply: Supply) -> bool:
    """Return whether the battery has a guard of its own inside, as a power bank has."""
    return battery_types()[supply.battery].protection == "always"


def chosen(ask: FuseAsk, place: Place) -> Rating | None:
    """Return the fuse to fit: in the style asked for, else in the first style that has one that works."""
    if ask.style is not None:
        return in_window(place, style_named(ask.style).style)
    fitting = [rating for style in FALLBACK_STYLES if (rating := in_window(place, style)) is not None]
    working = [rating for rating in fitting if sound(place, rating)]
    return next(iter(working or fitting), None)


def fuse_sent(ask: FuseAsk) -> Rating | None:
    """Return the fuse that was sent, its class taken from the nearest rating that is sold."""
    if not ask.rated_current:
        return None
    style = ask.style or USUAL_STYLE
    known = ratings_of(style)
    nearest = min(known, key=lambda each: abs(math.log(each.rated_current / (ask.rated_current or 1.0))))
    scale = ask.rated_current / nearest.rated_current
    return altered(nearest, rated_current=ask.rated_current, opens_from=nearest.opens_from * scale)


@cache
def sold_ratings(style: str | None) -> tuple[float, ...]:
    """Return the ratings a fuse is sold in, of one style or of any that is fitted unasked. [A]."""
    tried = FALLBACK_STYLES if style is None else (style,)
    return tuple(each.rated_current for one in tried for each in ratings_of(one))


def style_for(ask: FuseAsk) -> str | None:
    """Return the style for a fuse of which only the rating is wished, None where none is fitted or sold.

    The first that is fitted unasked, sold in this rating, stands the source and is opened by it; else the
    first that is sold, which is then judged.

    >>> style_for(FuseAsk(current=0.1, rated_current=2.0)), style_for(FuseAsk(current=0.1, rated_current=3.0))
    ('glass_5x20', 'blade')
    """
    if not ask.rated_current:
        return None
    wished = ask.rated_current
    sold = [
        style
        for style in FALLBACK_STYLES
        if any(math.isclose(each, wished, rel_tol=1e-6) for each in sold_ratings(style))
    ]
    place = place_of(ask)
    for style in sold:
        rating = fuse_sent(altered(ask, style=style))
        if rating is not None and suits_source(place, rating) and sound(place, rating):
            return style
    return next(iter(sold), None)
