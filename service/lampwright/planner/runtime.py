"""Will it last: hours to the chosen brightness, why they end, how the light fades, how many sets.

The load is the real one, on the real discharge curve; the simple sum of printed capacity over current
stands beside it, because it misleads both ways.
"""

from __future__ import annotations

from lampwright.planner.effort import check_told
from lampwright.planner.feeding import Lights, feeding, lights_of
from lampwright.planner.lasting import (
    NO_SPREAD,
    SET_USED,
    Lasting,
    Spread,
    curves,
    energy,
    figures_for,
    lasting,
    light_spread,
    pack_mass,
    sets_needed,
    with_spread,
)
from lampwright.planner.models.base import Step
from lampwright.planner.models.energy import RuntimeAnswer, RuntimeAsk, RuntimeFigures
from lampwright.planner.models.parts import Supply
from lampwright.planner.runtime_findings import clock_texts, runtime_findings
from lampwright.planner.supplies import MAX_VOLTAGE, supply_from_battery
from lampwright.quantities import show
from lampwright.records import altered
from lampwright.tables.batteries import battery_types, figures_of, model_parameters
from lampwright.tables.loader import NO_DOCUMENT

#: Batteries that take each other's place, smallest first, by voltage of one.
_FAMILIES = (
    ("alkaline_aaa", "alkaline_aa", "alkaline_c", "alkaline_d", "lithium_iron_aa", "nimh_aaa", "nimh_aa"),
    ("carbon_zinc_9v", "alkaline_9v", "nimh_9v"),
    ("lithium_coin_cr2016", "lithium_coin_cr2025", "lithium_coin_cr2032"),
    ("liion_18650", "lipo_1s"),
)
_MANY_SWAPS = 500


def runtime(ask: RuntimeAsk) -> RuntimeAnswer:
    """Return how long a battery feeds a load, and how it fades.

    Parameters
    ----------
    ask : RuntimeAsk
        Battery, exactly one load, use, stops.

    Raises
    ------
    ContradictionError
        If the supply is no battery, the load is not exactly one, or a converter lacks its voltage.
    TooCostlyError
        If there are too many lights to tell.
    """
    check_told(ask.strings)
    # A resistor that is still to be found depends on the battery, and then the rows do.
    settled = all(string.resistance is not None for string in ask.strings)
    lights = lights_of(ask) if settled and ask.supply.battery else None
    fed = feeding(ask, lights=lights)
    found = lasting(fed, ask)
    spread = light_spread(ask, found.runtime) if found.ended_by != "asleep" else NO_SPREAD
    found = with_spread(found, fed, ask, spread)
    curve, after = curves(fed, found)
    # No number of banks that fall asleep lights an event.
    wanted = None if found.ended_by == "asleep" else ask.hours_wanted
    sets = sets_needed(found.runtime, wanted)
    swaps = _swap_times(found.runtime, wanted)
    simple = fed.label * 3600.0 / (found.start_current * ask.duty) if found.start_current > 0 else None
    supply = ask.supply
    return RuntimeAnswer(
        battery=supply.battery,
        cells_in_series=supply.cells_in_series,
        packs_in_parallel=supply.packs_in_parallel,
        runtime=found.runtime,
        runtime_low=found.runtime_low,
        runtime_high=found.runtime_high,
        ended_by=found.ended_by,
        mass=pack_mass(fed, ask),
        sets_needed=sets,
        runtime_to_cutoff=found.to_cutoff,
        runtime_to_dark=found.to_dark,
        start_voltage=found.start_voltage,
        start_current=found.start_current,
        energy=energy(fed),
        brightness=1.0 if fed.rows else None,
        curve=curve,
        swap_times=swaps,
        swap_clock=clock_texts(ask.start_clock, swaps),
        simple_division=simple,
        alternatives=_alternatives(ask, found.start_current * ask.duty, spread, lights),
        findings=runtime_findings(fed, ask, found, sets, swaps),
        working=_working(fed.label, ask, found, simple, sets),
        sources=_sources(supply.battery, ask),
        curve_after=after,
    )


def _swap_times(runtime: float, hours_wanted: float | None) -> tuple[float, ...]:
    """Return the times in use, in s, at which a fresh set goes in."""
    if hours_wanted is None or runtime <= 0:
        return ()
    each = SET_USED * runtime
    times: list[float] = []
    while (len(times) + 1) * each < hours_wanted * (1 - 1e-9) and len(times) < _MANY_SWAPS:
        times.append((len(times) + 1) * each)
    return tuple(times)


def _alternatives(
    ask: RuntimeAsk, current: float, spread: Spread, lights: Lights | None
) -> tuple[RuntimeFigures, ...]:
    """Return what other sizes and chemistries, and a second pack, would give; none that cannot deliver."""
    supply = ask.supply
    # Outlets of banks are never joined: each would feed into the other.
    bank = battery_types()[supply.battery].form == "bank"
    offers = [] if bank else [altered(supply, packs_in_parallel=supply.packs_in_parallel * 2)]
    family = next((names for names in _FAMILIES if supply.battery in names), ())
    if supply.capacity is None:
        for battery in family:
            figures = figures_of(battery)
            fresh = figures["fresh_voltage"].value * supply.cells_in_series
            if battery != supply.battery and fresh <= MAX_VOLTAGE:
                offers.append(supply_from_battery(battery, supply.cells_in_series, supply.packs_in_parallel))
    if supply.battery in ("alkaline_9v", "carbon_zinc_9v") and supply.cells_in_series <= 6:
        offers.append(supply_from_battery("alkaline_aa", 6 * supply.cells_in_series))
    # The rows stay as they are; what they would give on another battery is the point.
    found = []
    for offer in offers:
        if offer.current_limit is not None and offer.current_limit < current:
            continue
        figures_there = figures_for(altered(ask, supply=offer), spread, lights)
        if figures_there.runtime:
            found.append(altered(figures_there, brightness=_light_beside(lights, supply, offer)))
    return tuple(found)


def _light_beside(lights: Lights | None, supply: Supply, offer: Supply) -> float | None:
    """Return the light of the dimmest row on another battery, over what it gives on this one."""
    if lights is None:
        return None
    parts = []
    for row, resistance, _, _ in lights.rows:
        here = row.current(supply.supply_voltage, resistance)
        parts.append(row.current(offer.supply_voltage, resistance) / here if here > 0 else 0.0)
    return min(parts)


def _working(
    label: float, ask: RuntimeAsk, found: Lasting, simple: float | None, sets: int | None
) -> tuple[Step, ...]:
    """Return the steps in words and numbers."""
    steps = [
        Step(
            what="Where it ends: the terminal voltage at the stop",
            equation="larger of the cut-off and the voltage at which the first row is that dim",
            values=f"{show(found.cut_off, 'v')} cut-off",
            result=show(found.end_voltage, "v"),
        ),
        Step(
            what="Hours: a power bank that sees too small a load is off after about this long",
            equation="current below what keeps it awake",
            values=f"{show(found.start_current, 'ma')} is asked of it",
            result=show(found.runtime, "h"),
        )
        if found.ended_by == "asleep"
        else Step(
            what="Hours: time from full down to there",
            equation="t = ∫ q′(z)/I(z) dz, q = z·Q/(1 + a·(I/Q)ⁿ), V = U(z) − I·R(z)",
            values=f"starts at {show(found.start_voltage, 'v')} and {show(found.start_current, 'ma')}",
            result=show(found.runtime, "h"),
        ),
        Step(
            what="Band: how cells of one type differ",
            equation="low, high = expected × the type's band",
            values=f"{show(found.runtime, 'h')} expected",
            result=f"{show(found.runtime_low, 'h')} to {show(found.runtime_high, 'h')}",
        ),
    ]
    if simple is not None:
        steps.append(
            Step(
                what="The simple sum, for comparison: it takes the current as constant and the label as true",
                equation="t = printed capacity / current at the start",
                values=f"{show(label, 'mah')} / {show(found.start_current * ask.duty, 'ma')}",
                result=show(simple, "h"),
            )
        )
    if sets is not None and ask.hours_wanted is not None:
        steps.append(
            Step(
                what="Sets for the event",
                equation=f"sets = hours / ({SET_USED:g} × runtime), rounded up, plus one spare",
                values=f"{show(ask.hours_wanted, 'h')} / ({SET_USED:g} × {show(found.runtime, 'h')})",
                result=str(sets),
            )
        )
    return tuple(steps)


def _sources(battery: str, ask: RuntimeAsk) -> tuple[str, ...]:
    """Return the keys of everything the hours rest on."""
    used = {row.source for row in figures_of(battery).values()}
    used |= {row.source for row in model_parameters()[battery_types()[battery].model].values()}
    for string in ask.strings:
        for led in string.leds:
            used.update(led.sources)
    ordered = sorted(used)
    return tuple(ordered) if ordered else tuple(NO_DOCUMENT.values())
