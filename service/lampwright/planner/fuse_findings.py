"""What is said of a fuse: one that is missing, one that was sent, and why none fits."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lampwright.planner.findings import finding
from lampwright.planner.fuse_window import (
    FALLBACK_STYLES,
    USUAL_STYLE,
    Place,
    Rating,
    at_fuse,
    chosen,
    clears,
    harmless,
    in_window,
    into_short,
    largest_for,
    protects,
    ratings_of,
    short_at_far_end,
    smallest_for,
    sound,
    suits_source,
    useless,
)
from lampwright.planner.models.base import NOTHING, Finding
from lampwright.planner.models.wiring import FuseAsk
from lampwright.quantities import show
from lampwright.records import altered
from lampwright.tables.fuses import (
    styles,
)


def left_out(ask: FuseAsk, place: Place, best: Rating | None, supply_name: str) -> Finding:
    """Say why no fuse is needed, or what a short circuit does where one is left out all the same."""
    short = show(into_short(place), "ma") if into_short(place) != math.inf else "an unknown current"
    carries = "" if place.ampacity is None else f", and this wire carries {show(place.ampacity, 'ma')}"
    if harmless(place) or useless(place):
        return finding(
            "fuse_not_needed", supply=supply_name, short=short, carries=carries, field="rated_current"
        )
    return finding(
        "fuse_left_out",
        supply=supply_name,
        short=short,
        carries=carries,
        advice=f"a {show(best.rated_current, 'ma')} fuse" if best else "a fuse",
        suggestion=better_fuse(ask, place),
        field="rated_current",
    )


def better_fuse(ask: FuseAsk, place: Place) -> dict[str, object]:
    """Return the fuse to send in place of one that will not do, {} where no style has a sound one.

    In the style sent, if it has one; a fuse without a style is taken for a glass one, so that any other
    style has to be named.
    """
    asked = in_window(place, ask.style) if ask.style is not None else None
    best = asked if asked is not None and sound(place, asked) else chosen(altered(ask, style=None), place)
    if best is None or not sound(place, best):
        return {}
    if best.style == (ask.style or USUAL_STYLE):
        return {"rated_current": best.rated_current}
    return {"rated_current": best.rated_current, "style": best.style}


def none_fitted_findings(
    ask: FuseAsk, place: Place, need: str, best: Rating | None, supply_name: str
) -> tuple[Finding, ...]:
    """Judge a build without a fuse."""
    if need == "optional":
        return (left_out(ask, place, best, supply_name),)
    style = f", {styles()[best.style].name}," if best and best.style != USUAL_STYLE else ""
    advice = f"a {show(best.rated_current, 'ma')} fuse{style}" if best else "a fuse"
    code = "fuse_missing" if need == "required" else "fuse_advised"
    instead = better_fuse(ask, place)
    said = finding(code, supply=supply_name, advice=advice, suggestion=instead, field="rated_current")
    # Where no fuse would fit, "add a fuse" alone sends the reader to a shelf that has none.
    return (said,) if best is not None else (said, no_value(ask, place))


def _at_fuse_in_words(place: Place) -> str:
    return "an unknown current" if place.at_source == math.inf else show(at_fuse(place), "ma")


def no_value(ask: FuseAsk, place: Place) -> Finding:
    """Say why no rating fits: wire too thin, none sold in between, or none that breaks this source."""
    tried = (ask.style,) if ask.style is not None else FALLBACK_STYLES
    # Where no rating was sent another style is enough: its rating is found.
    other = better_fuse(ask, place)
    if ask.rated_current is None:
        other.pop("rated_current", None)
    wide = [
        style
        for style in tried
        for each in ratings_of(style)
        if each.rated_current >= smallest_for(place, style) and protects(place, each)
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
    smallest, largest = smallest_for(place, style), largest_for(place, style)
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


def judged(
    place: Place, rating: Rating, need: str, supply_name: str, instead: Mapping[str, object] = NOTHING
) -> tuple[Finding, ...]:
    """Return what is to be said of a fuse, chosen or sent; ``instead`` is what to send in its place."""
    found: list[Finding] = []
    fuse = f"A {show(rating.rated_current, 'ma')} fuse"
    smallest = smallest_for(place, rating.style)
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
    if not protects(place, rating):
        found.append(
            finding(
                "fuse_too_big",
                fuse=fuse,
                ampacity=show(place.ampacity or 0.0, "ma"),
                suggestion=instead,
                field="rated_current",
            )
        )
    if not suits_source(place, rating):
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
    # A source too weak to heat the wire is too weak to blow a fuse: nothing to warn of.
    weak = harmless(place) or (need == "optional" and useless(place))
    if clears(place, rating) is False and not weak:
        flowing = short_at_far_end(place, rating.resistance) or 0.0
        found.append(
            finding(
                "fuse_will_not_open"
                if need == "required" or (place.ampacity is not None and need != "optional")
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
