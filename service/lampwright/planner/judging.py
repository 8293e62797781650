"""What is wrong with a string, or what to know about it: judged by its own figures, nothing else.

A design within its limits gets no finding. Order: what must not be built, then what deserves care,
then what is good to know.
"""

from __future__ import annotations

from collections.abc import Callable

from lampwright.physics.heating import derating
from lampwright.planner.catalogue import PRINTED_MARGIN
from lampwright.planner.choosing import WINDOW, Bounds
from lampwright.planner.findings import finding
from lampwright.planner.instead import Instead, fewer_lights, rounded_down
from lampwright.planner.models.base import Finding, stopped
from lampwright.planner.models.circuits import ResistorChoice, StringAsk
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.strings import (
    RATING_USED,
    USUALLY_USED,
    Corners,
    StringModel,
    names_of,
    rating_for,
    string_currents,
)
from lampwright.planner.texts import milliamps, ohms, percent, volts, watts

#: A current over a limit by less than this is at the limit: rounding, not a design.
LIMIT_ROUNDING = 1 + 1e-6
#: Up to this part above its rated current no eye tells a difference, and no light minds.
RATED_MARGIN = 1.10
#: A supply's limit is passed by more than this, or it is not passed.
_LIMIT_MARGIN = 1.05
_LOOKS_OFF = 0.05
#: Under this share of its rated current a pre-wired light gives no light at all: the build would be dark.
_UNLIT = 1e-3
_DIM = 0.5
_GONE = 0.1
#: Below this part of what was wanted a row is said to be dim, or to look off.
LEAST_LIGHT = {"looks_off": _LOOKS_OFF, "dimmer_than_wanted": _DIM}
NEXT_TO_NOTHING = 1e-6  # A: less is nothing to a maker
#: Above so many times its usable current a battery is asked for what it cannot do.
BATTERY_OVERLOAD = 3.0


#: Members that describe a supply, however it is described.
SUPPLY_MEMBERS = ("supply", "battery", "supply_voltage")


def supply_member(supply: Supply) -> str:
    """Return which member of a request describes its supply: a part, a battery, or its volts."""
    if supply.battery:
        return "battery"
    return "supply" if supply.part else "supply_voltage"


def string_findings(
    string: StringAsk,
    model: StringModel,
    supply: Supply,
    currents: Corners,
    *,
    wanted: float,
    dissipation_high: float,
    rated_dissipation: float | None,
    ambient_temperature: float,
    better: float | None = None,
    behind: Supply | None = None,
) -> tuple[Finding, ...]:
    """Return the findings of a string whose resistor is known.

    Parameters
    ----------
    wanted : float
        Current asked for, per branch. [A]
    better : float, optional
        Resistance to suggest where this one will not do. [Ω]
    behind : Supply, optional
        What a row with the better resistor would have before it, by itself; ``supply`` where left out.
    """
    resistance = string.resistance or 0.0
    found: list[Finding] = []
    instead = Instead(string, model, behind or supply, ambient_temperature, better) if better else None
    if string.reversed:
        found.extend(_reversed_findings(string, supply))
        turned = string_currents(model, behind or supply, resistance, string.tolerance, string.branch_count)
        if over_maximum(model, turned.high):
            # Who turns it as told must not burn it.
            found.append(_over_maximum(resistance, model, turned, instead))
        return tuple(found)
    if over_maximum(model, currents.high):
        found.append(_over_maximum(resistance, model, currents, instead))
    elif not model.prewired and currents.fresh > max(model.rated_current, wanted) * RATED_MARGIN:
        found.append(
            finding(
                "above_rated_current",
                field="resistance",
                suggestion=instead.members() if instead else {},
                current=milliamps(currents.fresh),
                rated=milliamps(model.rated_current),
                cure=_cure(instead),
            )
        )
    if resistance > 0:
        found.extend(
            _heat_findings(
                string.leds, resistance, currents, dissipation_high, rated_dissipation, ambient_temperature
            )
        )
    if model.prewired:
        found.extend(prewired_findings(string.leds, supply, resistance))
    branches = string.branch_count
    found.extend(supply_load_findings(supply, currents.expected * branches, currents.fresh * branches))
    if not stopped(tuple(found)):
        # Who is told not to build it need not hear that it would also be dim.
        found.extend(dimness_findings(model, supply, currents, wanted, instead))
    return tuple(found)


def over_maximum(model: StringModel, current: float) -> bool:
    """Return whether a current is more than the lights of a row stand."""
    return current > model.max_forward_current * LIMIT_ROUNDING


def unlit(model: StringModel, expected: float) -> bool:
    """Return whether pre-wired lights stay dark at their usual current."""
    return expected < _UNLIT * model.rated_current


def supply_load_findings(supply: Supply, expected: float, fresh: float) -> list[Finding]:
    """Return whether all current together is more than the supply is good for.

    A battery's usable current is soft: a little more costs hours, far more is no use at all. What a mains
    adapter or a port is rated for is a line it defends by switching off.
    """
    limit = supply.current_limit
    if limit is None:
        return []
    total = expected if supply.battery else fresh
    if total <= limit * _LIMIT_MARGIN:
        return []
    soft = supply.battery and total <= limit * BATTERY_OVERLOAD
    return [
        finding(
            "over_supply_limit" if soft else "supply_cannot_give",
            field=supply_member(supply),
            current=milliamps(total),
            limit=milliamps(limit),
            supply=supply.name or f"{volts(supply.supply_voltage)} supply",
        )
    ]


def too_much_wanted(model: StringModel, wanted: float) -> tuple[Finding, ...]:
    """Return the finding of a wanted current above the rated or the greatest one, if it is."""
    if wanted <= model.rated_current * (1 + 1e-9):
        return ()
    above = wanted > model.max_forward_current * (1 + 1e-9)
    return (
        finding(
            "wanted_above_max" if above else "wanted_above_rated",
            field="forward_current",
            suggestion={"forward_current": model.rated_current},
            wanted=milliamps(wanted),
            maximum=milliamps(model.max_forward_current),
            rated=milliamps(model.rated_current),
        ),
    )


def no_headroom(
    leds: tuple[Led, ...],
    model: StringModel,
    supply: Supply,
    needed: float,
    wanted: float,
    *,
    sharing: float = 1.0,
    listed: bool = False,
) -> Finding:
    """Return the stop of a supply that the lights use up, with what would go.

    Parameters
    ----------
    needed : float
        What the lights of the row take at the wanted current. [V]
    sharing : float
        How many such rows, in current, hang on the supply.
    listed : bool
        Whether the lights were sent one by one, so that fewer of them are sent one by one, too.
    """
    count = len(leds)
    suggestion: dict[str, object] = {}
    if needed < supply.supply_voltage:
        # The lights would fit; it is the supply's own resistance that takes the rest.
        return finding(
            "supply_too_weak",
            field=supply_member(supply),
            supply=supply.name or f"{volts(supply.supply_voltage)} supply",
            current=milliamps(wanted),
            left=volts(supply.supply_voltage - needed),
        )
    behind = supply.source_resistance * sharing
    if count == 1:
        # One light and too few volts: half of what would flow with no resistor leaves room for one.
        reach = rounded_down(model.expected.current(supply.supply_voltage, behind) / 2)
        if 5e-4 <= reach < wanted:
            suggestion["forward_current"] = reach
    else:
        fewer = fewer_lights(leds, model, supply, wanted, behind)
        if fewer and listed:
            suggestion["leds"] = names_of(leds[:fewer])
        elif fewer:
            suggestion["series_count"] = fewer
    return finding(
        "no_headroom",
        field=supply_member(supply),
        suggestion=suggestion,
        supply=supply.name or f"{volts(supply.supply_voltage)} supply",
        lights="one of these lights" if count == 1 else f"{count} of these lights in a row",
        needed=volts(needed),
        lowest=volts(supply.supply_voltage_min),
        cure=(
            "Use a supply of more volts, or ask for less current"
            if count == 1
            else "Put fewer in a row, or use a supply of more volts"
        ),
    )


def usual_voltage_finding(
    bounds: Bounds, supply: Supply, currents: Corners, wanted: float, count: int
) -> tuple[Finding, ...]:
    """Return a note where the supply's highest voltage, not the wanted current, set a resistor.

    ``count`` is how many lights are in its row.
    """
    if bounds.decided_by == "wanted" or currents.expected > 0.75 * wanted:
        return ()
    return (
        finding(
            "dimmed_by_spread",
            field=supply_member(supply),
            current=milliamps(currents.expected),
            wanted=milliamps(wanted),
            fewer=", or fewer lights in the row" if count > 1 else "",
        ),
    )


def drawer_finding(
    drawer: tuple[ResistorChoice, ...],
    recommended: float | None,
    wanted: float,
    instead: Callable[[float], Instead] | None = None,
) -> Finding:
    """Return the note of a drawer with no single part in the window, and what comes nearest.

    ``instead`` says of a resistance what it would have to stand, where one can be sent.
    """
    nearest = f"Get {ohms(recommended)}" if recommended else "Get the recommended value"
    window = f"{percent(WINDOW[0])} to {percent(WINDOW[1])}"
    suggestion: dict[str, object] = {}
    if drawer:
        first = drawer[0]
        joint = {"series": " in a row", "parallel": " side by side"}.get(first.joined, "")
        made = " and ".join(ohms(part) for part in first.parts) + joint
        current = milliamps(first.current)
        suggestion.update(instead(first.resistance).members() if instead else {})
        if first.within:
            return finding(
                "drawer_pair_fits",
                field="on_hand_resistance",
                suggestion=suggestion,
                window=window,
                pair=made,
                current=current,
                one=nearest,
            )
        if first.current >= _LOOKS_OFF * wanted:
            nearest += f", or take the nearest safe choice, {made}: {current}"
        else:
            suggestion.clear()
    return finding(
        "drawer_none_fits", field="on_hand_resistance", suggestion=suggestion, window=window, nearest=nearest
    )


def _cure(instead: Instead | None) -> str:
    """Return what to use in place of a resistor that lets too much through."""
    if instead is None:
        return "Use a larger resistor"
    members = instead.members()
    if not members:
        return "Use a supply of fewer volts, or put more lights in the row"
    made = f", made for {watts(instead.rating() or 0.0)}" if "rated_dissipation" in members else ""
    return f"Use {ohms(instead.resistance)} or more{made}"


def _over_maximum(
    resistance: float, model: StringModel, currents: Corners, instead: Instead | None
) -> Finding:
    """Return the stop of a current no corner may reach."""
    code = "above_max_current"
    cure = _cure(instead)
    if model.prewired and not instead:
        cure = "Use a supply of the volts printed on the light"
    elif resistance == 0 and not model.prewired:
        code = "led_straight_on_supply"
    return finding(
        code,
        field="resistance",
        suggestion=instead.members() if instead else {},
        current=milliamps(currents.high),
        maximum=milliamps(model.max_forward_current),
        cure=cure,
    )


def _heat_findings(
    leds: tuple[Led, ...],
    resistance: float,
    currents: Corners,
    dissipation_high: float,
    rated_dissipation: float | None,
    ambient_temperature: float,
) -> list[Finding]:
    """Return what there is to say about the resistor's heat."""
    if rated_dissipation is None:
        lights = " + ".join(dict.fromkeys(led.name or "these lights" for led in leds))
        heat = watts(dissipation_high)
        return [finding("no_resistor_that_cool", field="rated_dissipation", heat=heat, lights=lights)]
    fresh = currents.fresh * currents.fresh * resistance
    left = rated_dissipation * derating(ambient_temperature) * LIMIT_ROUNDING
    if fresh <= USUALLY_USED * left and dissipation_high <= RATING_USED * left:
        return []
    needed = rating_for(dissipation_high, ambient_temperature, fresh)
    suggestion = {"rated_dissipation": needed} if needed else {}
    heat, rating = watts(dissipation_high), watts(rated_dissipation)
    if dissipation_high > left:
        return [
            finding(
                "resistor_overloaded",
                field="rated_dissipation",
                suggestion=suggestion,
                heat=heat,
                rating=rating,
                bigger=f"one of {watts(needed)}" if needed else "several of them, or a driver",
            )
        ]
    return [
        finding("resistor_hot", field="rated_dissipation", suggestion=suggestion, heat=heat, rating=rating)
    ]


def prewired_findings(leds: tuple[Led, ...], supply: Supply, resistance: float) -> list[Finding]:
    """Return what there is to say about lights with a resistor of their own."""
    found = []
    if len(leds) > 1:
        found.append(finding("prewired_in_row", field="leds"))
    printed = min((_printed_volts(led) for led in leds if led.prewired), default=None)
    if printed is not None:
        if supply.supply_voltage_max > printed * PRINTED_MARGIN and resistance == 0:
            found.append(
                finding(
                    "prewired_above_printed",
                    field=supply_member(supply),
                    highest=volts(supply.supply_voltage_max),
                    printed=volts(printed),
                )
            )
        if resistance > 0 and supply.supply_voltage_max <= printed * PRINTED_MARGIN:
            found.append(finding("prewired_has_its_own", field="resistance", suggestion={"resistance": 0.0}))
    return found


def prewired_limit(leds: tuple[Led, ...]) -> float:
    """Return the highest supply voltage the pre-wired lights among these are meant to see, in V."""
    return PRINTED_MARGIN * min((_printed_volts(led) for led in leds if led.prewired), default=0.0)


def _printed_volts(led: Led) -> float:
    """Return the highest supply voltage a pre-wired light is made for."""
    if led.rated_voltage_max is not None:
        return led.rated_voltage_max
    if led.rated_voltage is not None:
        return led.rated_voltage
    # Nothing is printed: its own figures say at what supply the rated current flows.
    return led.forward_voltage * led.built_in_series_count + led.built_in_resistance * led.rated_current


def dimness_findings(
    model: StringModel, supply: Supply, currents: Corners, wanted: float, instead: Instead | None
) -> list[Finding]:
    """Return whether the row looks off, is dim, or goes dim before the supply is at its lowest."""
    expected = currents.expected
    if model.prewired and expected < _DIM * model.rated_current:
        return [_dim_prewired(model, supply, expected)]
    if expected < _LOOKS_OFF * wanted:
        return [
            finding(
                "looks_off",
                field="resistance",
                suggestion=instead.members(_LOOKS_OFF * wanted) if instead else {},
                current=milliamps(expected),
                wanted=milliamps(wanted),
            )
        ]
    found = []
    if expected < _DIM * wanted:
        found.append(
            finding(
                "dimmer_than_wanted",
                field="resistance",
                suggestion=instead.members(_DIM * wanted) if instead else {},
                current=milliamps(expected),
                wanted=milliamps(wanted),
            )
        )
    code = fades(currents.empty, expected)
    if code:
        part = percent(currents.empty / expected)
        only = code == "goes_out_early"
        found.append(
            finding(
                code,
                field=supply_member(supply),
                lowest=volts(supply.supply_voltage_min),
                left=f"only {part} of the light is left" if only else f"the row is at {part} of its light",
                steadier=steadier(len(model.lights)),
            )
        )
    return found


def fades(empty: float, expected: float) -> str:
    """Return the code of what is to be said of a row that loses light with its supply, "" for nothing."""
    if empty < _GONE * expected:
        return "goes_out_early"
    return "fades_with_supply" if empty < _DIM * expected else ""


def steadier(lights: int) -> str:
    """Return what leaves the resistor of a row of so many lights more of the supply."""
    return "Fewer lights in a row" if lights > 1 else "More volts"


def _dim_prewired(model: StringModel, supply: Supply, expected: float) -> Finding:
    """Return what too few volts do to a pre-wired light: nothing bad, but nothing bright."""
    where = supply.name or f"{volts(supply.supply_voltage)} supply"
    if expected < _LOOKS_OFF * model.rated_current:
        return finding(
            "prewired_unlit" if unlit(model, expected) else "prewired_dark",
            field=supply_member(supply),
            supply=where,
            current=milliamps(expected) if expected >= NEXT_TO_NOTHING else "nothing",
            rated=milliamps(model.rated_current),
        )
    return finding(
        "prewired_dim",
        field=supply_member(supply),
        supply=where,
        current=milliamps(expected),
        part=percent(expected / model.rated_current),
    )


def _reversed_findings(string: StringAsk, supply: Supply) -> tuple[Finding, ...]:
    """Return the findings of a row with a light the wrong way round."""
    numbers = ", ".join(str(at + 1) for at in string.reversed)
    turned: dict[str, object] = {"reversed": ()}
    found = [finding("light_reversed", field="reversed", suggestion=turned, number=numbers)]
    backwards = [string.leds[at] for at in string.reversed]
    limit = sum(led.max_reverse_voltage for led in backwards)
    if supply.supply_voltage_max > limit:
        found.append(
            finding(
                "reverse_voltage_exceeded",
                field="reversed",
                suggestion=turned,
                voltage=volts(supply.supply_voltage_max),
                limit=volts(limit),
            )
        )
    return tuple(found)
