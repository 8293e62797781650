"""Three batteries side by side for the same lights and hours: lightest, cheapest in cells, longest.

Prices are rough and counted in AA alkaline cells, so that they hold in any country and year.

Every battery of the catalogue is tried at the pack sizes people build, wired as the arrangement says,
and judged over its whole discharge. What cannot deliver the current, or carries a stop, is no choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from lampwright.errors import ContradictionError
from lampwright.planner.arrangement import recommended_way, wanted_current
from lampwright.planner.feeding import Feeding, feeding
from lampwright.planner.findings import finding
from lampwright.planner.lasting import (
    SET_USED,
    Lasting,
    energy,
    lasting,
    light_spread,
    pack_mass,
    sets_needed,
    with_spread,
)
from lampwright.planner.models.base import Finding, Step, stopped
from lampwright.planner.models.circuits import ArrangementAsk, StringAsk
from lampwright.planner.models.energy import RuntimeAsk, SupplyChoice, SupplyChoiceAnswer, SupplyChoiceAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.runtime_findings import runtime_findings
from lampwright.planner.supplies import supply_from_battery
from lampwright.quantities import show
from lampwright.tables.batteries import battery_types, figures_of

#: Holders and packs people build (common practice, no source).
_HOLDERS = (1, 2, 3, 4, 6, 8, 10)
_IN_SERIES = {"block": (1, 2), "coin": (1, 2), "pack": (1,), "bank": (1,), "cell": _HOLDERS}
_SIDE_BY_SIDE = (1, 2, 3, 4)
#: A plain load takes batteries whose nominal voltage is this near to what it is made for.
_NOMINAL_FROM, _NOMINAL_TO, _FRESH_TO = 0.9, 1.21, 1.3
#: It is fed as long as it gets this part of its volts (common practice, no source).
_FED_TO = 0.8
#: No choice is what gives lights less than this part of what is wanted: it looks three quarters as bright.
_LIT = 0.5
#: A bank's cells are not told; its label over that of one 18650 cell is their number.
_BANK_CELL = 2.5
_AIRLINE_LIMIT = 100.0
_LITHIUM_LIMIT = 0.002
#: Heaviest pack offered where no limit is sent and a lighter one does (common practice, no source). [kg]
_USUAL_MASS = 1.0


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A pack that could do it, with what it would give."""

    supply: Supply
    ask: RuntimeAsk
    found: Lasting
    mass: float
    sets: int
    cells: int
    price: float
    findings: tuple[Finding, ...]
    energy: float

    @property
    def lasts(self) -> bool:
        """Whether one set does the whole event, with a fifth in hand."""
        return self.ask.hours_wanted is None or SET_USED * self.found.runtime >= self.ask.hours_wanted


@dataclass(slots=True)
class _Tried:
    """What was worked out already: it is no matter of how heavy a pack may be.

    ``wired`` are the rows recommended for each window of voltage, None where there are none; ``packs`` those
    judged, by battery, cells in series and packs side by side.
    """

    wired: dict[tuple[float, float, float], tuple[StringAsk, ...] | None] = field(default_factory=dict)
    packs: dict[tuple[str, int, int], _Candidate | None] = field(default_factory=dict)


def supply_choices(ask: SupplyChoiceAsk) -> SupplyChoiceAnswer:
    """Return three batteries side by side, each within the mass limit and able to deliver the current.

    Parameters
    ----------
    ask : SupplyChoiceAsk
        Lights, or a current and its voltage; hours wanted.

    Raises
    ------
    ContradictionError
        If neither or both of lights and a current with its voltage are given.
    """
    plain = ask.load_current is not None and ask.supply_voltage is not None
    if plain == bool(ask.lights) or (ask.lights and ask.load_current is not None):
        raise ContradictionError(
            "lights",
            "give either lights, or a load current together with its voltage",
            "send lights, or load_current and supply_voltage",
        )
    usual = ask if ask.mass_limit is not None else replace(ask, mass_limit=_USUAL_MASS)
    tried = _Tried()
    candidates = list(_candidates(usual, tried))
    if ask.mass_limit is None and not any(each.lasts for each in candidates):
        usual = ask
        candidates = list(_candidates(usual, tried))
    if not candidates:
        return SupplyChoiceAnswer(
            choices=(),
            findings=(finding("no_battery_fits", limit=_limit_text(ask)),),
            sources=("PRACTICE",),
        )
    single = [each for each in candidates if each.lasts]
    found = () if single else (finding("needs_swaps", wanted=show(ask.hours_wanted, "h")),)
    choices = _three(single, candidates)
    if not _honest(choices):
        # More packs side by side than the hours ask for are heavier and dearer, and may last longest.
        candidates = list(_candidates(usual, tried, whole=True))
        single = [each for each in candidates if each.lasts]
        choices = _three(single, candidates)
    if not _honest(choices):
        choices = choices[:-1]
    sources = {source for choice in choices for source in choice[1].supply.sources}
    return SupplyChoiceAnswer(
        choices=tuple(_choice(why, each) for why, each in choices),
        findings=found,
        working=_working(candidates, single),
        sources=tuple(sorted(sources)),
    )


def _limit_text(ask: SupplyChoiceAsk) -> str:
    return "" if ask.mass_limit is None else f" within {show(ask.mass_limit, 'g')}"


def _packs(ask: SupplyChoiceAsk) -> Iterator[Supply]:
    """Return every pack of one row, that suits the voltage where that is given."""
    for battery, kind in battery_types().items():
        figures = figures_of(battery)
        for count in _IN_SERIES[kind.form]:
            fresh = figures["fresh_voltage"].value * count
            nominal = figures["nominal_voltage"].value * count
            if fresh > 30.0 or (kind.chemistry == "lead_acid" and count > 1 and battery != "lead_acid_6v"):
                continue
            if ask.supply_voltage is not None:
                share = nominal / ask.supply_voltage
                if not _NOMINAL_FROM <= share <= _NOMINAL_TO or fresh > _FRESH_TO * ask.supply_voltage:
                    continue
            yield supply_from_battery(battery, count)


def _honest(choices: list[tuple[str, _Candidate]]) -> bool:
    """Return whether what is called the longest outlasts the others."""
    longest = max(each.found.runtime for _, each in choices)
    return all(each.found.runtime >= longest for why, each in choices if why == "longest")


def _candidates(ask: SupplyChoiceAsk, tried: _Tried, *, whole: bool = False) -> Iterator[_Candidate]:
    """Return the packs that deliver the current, without a stop, within the mass limit.

    As many side by side as the hours ask for, or ``whole``: as many as are built.
    """
    wired = tried.wired
    for single in _packs(ask):
        window = (single.supply_voltage_min, single.supply_voltage, single.supply_voltage_max)
        if ask.lights:
            if window not in wired:
                wired[window] = _wiring(ask, single)
            strings = wired[window]
            if strings is None:
                continue
        else:
            strings = ()
        kind = battery_types()[single.battery]
        sides = (1,) if kind.form in ("coin", "block", "bank") else _SIDE_BY_SIDE
        for side in sides:
            candidate = _candidate(ask, single, side, strings, tried)
            if candidate is not None:
                yield candidate
                if candidate.lasts and not whole:
                    break


def _wiring(ask: SupplyChoiceAsk, supply: Supply) -> tuple[StringAsk, ...] | None:
    """Return the rows the arrangement recommends on a supply, None where there are none."""
    lights = tuple(
        replace(light, led=replace(light.led, as_sent=place)) for place, light in enumerate(ask.lights)
    )
    # What a row needs is the battery's window; its sag is judged by the discharge itself.
    chosen = recommended_way(
        ArrangementAsk(
            supply=replace(supply, current_limit=None),
            lights=lights,
            ambient_temperature=ask.ambient_temperature,
        )
    )
    if chosen is None:
        return None
    for string in chosen.strings:
        wanted = max(wanted_current(ask.lights[place]) for place in string.leds if isinstance(place, int))
        if (string.current or 0.0) < _LIT * wanted:
            return None
    return tuple(
        StringAsk(
            leds=tuple(ask.lights[place].led for place in string.leds if isinstance(place, int)),
            resistance=string.resistance or 0.0,
            branch_count=string.branch_count,
        )
        for string in chosen.strings
    )


def _lowest_volts(ask: SupplyChoiceAsk, single: Supply) -> float | None:
    """Return where a plain load has too few volts, if that is above where the battery counts as empty."""
    if ask.supply_voltage is None:
        return None
    least = _FED_TO * ask.supply_voltage
    empty = figures_of(single.battery)["stop_voltage"].value * single.cells_in_series
    return least if least > empty else None


def _candidate(
    ask: SupplyChoiceAsk, single: Supply, side: int, strings: tuple[StringAsk, ...], tried: _Tried
) -> _Candidate | None:
    """Return a pack with its hours, None where it is no choice."""
    key = (single.battery, single.cells_in_series, side)
    if key in tried.packs:
        return tried.packs[key]
    supply = single if side == 1 else supply_from_battery(single.battery, single.cells_in_series, side)
    question = RuntimeAsk(
        supply=supply,
        strings=strings,
        load_current=None if strings else ask.load_current,
        stop_at=_lowest_volts(ask, single),
        duty=ask.duty,
        hours_wanted=ask.hours_wanted,
        air_travel=ask.air_travel,
        ambient_temperature=ask.ambient_temperature,
    )
    fed = feeding(question)
    mass = pack_mass(fed, question)
    if ask.mass_limit is not None and mass > ask.mass_limit:
        return None
    found = tried.packs[key] = _judged(fed, question, mass)
    return found


def _judged(fed: Feeding, question: RuntimeAsk, mass: float) -> _Candidate | None:
    """Return a pack that is light enough with its hours, None where it is no choice."""
    supply = question.supply
    found = lasting(fed, question, to_dark=False)
    # The current as lit, not as averaged over blinks: each blink has to be delivered.
    limit = supply.current_limit
    if (
        found.runtime <= 0
        or found.ended_by == "asleep"
        or (limit is not None and found.start_current > limit)
    ):
        return None
    if fed.rows and min(row.full_current / row.rated_current for row in fed.rows) < 0.01:
        return None
    sets = sets_needed(found.runtime, question.hours_wanted) or 2
    judged = runtime_findings(fed, question, found, None, ())
    if stopped(judged):
        return None
    kind = fed.kind
    inside = round(fed.label / _BANK_CELL) if kind.form == "bank" else kind.cells
    return _Candidate(
        supply=supply,
        ask=question,
        found=found,
        mass=mass,
        sets=sets,
        cells=inside * supply.cells_in_series * supply.packs_in_parallel,
        price=fed.figures["relative_price"].value * supply.cells_in_series * supply.packs_in_parallel,
        findings=judged,
        energy=energy(fed),
    )


def _three(single: list[_Candidate], every: list[_Candidate]) -> list[tuple[str, _Candidate]]:
    """Return the best for each reason, unlike each other where there are enough to choose from."""
    chosen: list[tuple[str, _Candidate]] = []
    pool = single or every
    orders = (
        ("lightest", lambda each: (each.mass * _carried(each), each.cells)),
        ("cheapest", lambda each: (each.price * _carried(each), each.mass)),
        ("longest", lambda each: (-each.found.runtime, each.mass)),
    )
    for why, order in orders:
        taken = {each.supply for _, each in chosen}
        left = [each for each in pool if each.supply not in taken]
        left = left or [each for each in every if each.supply not in taken]
        if left:
            chosen.append((why, min(left, key=order)))
    return chosen


def _carried(candidate: _Candidate) -> int:
    """Return how many sets the event eats, the spare left out."""
    return candidate.sets - 1


def _choice(why: str, each: _Candidate) -> SupplyChoice:
    found = each.found
    spread = light_spread(each.ask, found.runtime)
    found = with_spread(found, feeding(each.ask), each.ask, spread)
    return SupplyChoice(
        why=why,
        battery=each.supply.battery,
        name=each.supply.name,
        cells_in_series=each.supply.cells_in_series,
        packs_in_parallel=each.supply.packs_in_parallel,
        mass=each.mass,
        runtime=found.runtime,
        runtime_low=found.runtime_low,
        runtime_high=found.runtime_high,
        sets_needed=each.sets,
        cell_count=each.cells,
        travel_note=travel_note(each.supply, each.energy),
        findings=each.findings,
    )


def travel_note(supply: Supply, pack_energy: float) -> str:
    """Return what to know before a flight with this battery.

    >>> travel_note(supply_from_battery("power_bank_5v"), 37.0)
    'cabin only, ends covered; 37 Wh, below the 100 Wh that need no asking'
    """
    each = pack_energy / supply.packs_in_parallel
    chemistry = supply.chemistry
    if chemistry == "liion":
        if supply.battery == "liion_18650":
            each /= supply.cells_in_series
        if each <= _AIRLINE_LIMIT:
            return f"cabin only, ends covered; {show(each, 'wh')}, below the 100 Wh that need no asking"
        return f"{show(each, 'wh')} is above 100 Wh: ask the airline before the flight"
    if chemistry in ("lithium_iron", "lithium_coin"):
        lithium = figures_of(supply.battery)["lithium_content"].value
        rule = "below" if lithium <= _LITHIUM_LIMIT else "above"
        return f"spares in the cabin, ends covered; {show(lithium, 'g')} lithium each, {rule} the 2 g limit"
    if chemistry == "lead_acid":
        return "sealed lead batteries: ask the airline; ends covered, disconnected"
    return "no limit on dry cells; cover the ends so that keys cannot short them"


def _working(every: list[_Candidate], single: list[_Candidate]) -> tuple[Step, ...]:
    return (
        Step(
            what="Packs that deliver the current, carry no stop and are within the mass limit",
            equation="each battery of the table, at the pack sizes people build",
            values=f"{len(every)} packs",
            result=f"{len(single)} of them last the event in one set",
        ),
        Step(
            what="How they are ranked",
            equation="lightest: mass × sets; cheapest: price in AA cells × sets; longest: expected hours",
            values=f"sets as in hours / ({SET_USED:g} × runtime), the spare left out",
            result="the best of each, unlike each other",
        ),
    )
