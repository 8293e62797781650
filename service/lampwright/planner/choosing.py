"""Which resistance a string wants: the three bounds, preferred values, and what is in the drawer.

Theory of operation. A resistor must be large enough for three things at once: expected parts at the
expected supply get the wanted current; expected parts keep to the rated current with the supply at its
highest; and in no corner does any light pass its maximum. The largest of the three is the *ideal*
resistance; the next higher preferred value is taken, since the nearest would overshoot by up to 12 % in E12.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.physics.resistors import dissipation, in_parallel, in_series
from lampwright.planner.models.circuits import ResistorChoice
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import StringModel, source_resistances
from lampwright.records import quickly_made

#: Currents from the drawer: from this part of the wanted one to that (common practice).
WINDOW = (0.60, 1.05)

# A resistance and the parts that make it.
_Made = tuple[float, tuple[float, ...]]


@quickly_made
@dataclass(frozen=True, slots=True)
class Bounds:
    """The smallest resistance each of the three rules allows, in Ω; negative where none is needed.

    ``string_voltage`` is what expected lights take at the wanted current.
    """

    wanted: float
    rated: float
    maximum: float
    string_voltage: float

    @property
    def ideal(self) -> float:
        """The largest of the three."""
        return max(self.wanted, self.rated, self.maximum)

    @property
    def decided_by(self) -> str:
        """Which rule that was: wanted, rated or maximum."""
        if self.wanted >= self.rated and self.wanted >= self.maximum:
            return "wanted"
        return "rated" if self.rated >= self.maximum else "maximum"


def resistance_bounds(
    model: StringModel,
    supply: Supply,
    forward_current: float,
    tolerance: float,
    branch_count: float,
    margin: float = 1.0,
) -> Bounds:
    """Return the three bounds for a wanted current; ``margin`` loosens the rated current by a factor."""
    source_low, source, _ = source_resistances(supply)
    source_low *= branch_count
    usual = model.rated_current
    voltage = model.rated_voltage if forward_current == usual else model.expected.voltage(forward_current)
    # Who asks for more than the rated current has been told so, and gets it.
    rated = (forward_current if forward_current > usual else usual) * margin
    rated_voltage = model.rated_voltage if rated == usual else model.expected.voltage(rated)
    maximum = model.max_forward_current
    highest = supply.supply_voltage_max
    return Bounds(
        (supply.supply_voltage - voltage) / forward_current - branch_count * source,
        (highest - rated_voltage) / rated - source_low,
        ((highest - model.voltage_at_maximum) / maximum - source_low) / (1 - tolerance),
        voltage,
    )


def choice(
    model: StringModel,
    supply: Supply,
    resistance: float,
    *,
    tolerance: float,
    branch_count: float,
    wanted: float,
    bounds: Bounds,
    parts: tuple[float, ...] = (),
    joined: str = "",
) -> ResistorChoice:
    """Return what a resistance, or parts joined to make it, would do; ``bounds`` are those of ``wanted``."""
    source_low, source, source_high = source_resistances(supply)
    fresh_behind = branch_count * source_low
    current = model.expected.current(supply.supply_voltage, resistance + branch_count * source)
    each: tuple[float, ...] = ()
    if joined == "parallel":
        voltage = current * resistance
        each = tuple(voltage * voltage / part for part in parts)
    elif parts:
        each = tuple(dissipation(current, part) for part in parts)
    # The bounds say which resistances keep to the limits; only just below one a current has to be looked at.
    within = resistance >= bounds.maximum * (1 - 1e-9) and current >= WINDOW[0] * wanted
    if within and resistance < bounds.rated:
        fresh = model.expected.current(supply.supply_voltage_max, resistance + fresh_behind)
        within = fresh <= max(model.rated_current, wanted) * WINDOW[1]
    return ResistorChoice(
        resistance,
        current,
        model.low.current(
            supply.supply_voltage_min, resistance * (1 + tolerance) + branch_count * source_high
        ),
        model.high.current(supply.supply_voltage_max, resistance * (1 - tolerance) + fresh_behind),
        current * current * resistance,
        current / model.brightest_rated_current,
        parts,
        joined,
        each,
        within,
    )


def from_drawer(
    model: StringModel,
    supply: Supply,
    on_hand: Sequence[float],
    *,
    tolerance: float,
    branch_count: float,
    wanted: float,
) -> tuple[ResistorChoice, ...]:
    """Return the best single part, two in series and two in parallel, those inside the window first.

    Within the window one part comes before two in a row, and those before two side by side (common
    practice: fewer joints). Of what lies outside, the nearest comes first, and only what is safe: more
    resistance than wanted, never less. A value may be used twice.
    """
    drawer = sorted({part for part in on_hand if part > 0})
    if not drawer:
        return ()
    bounds = resistance_bounds(model, supply, wanted, tolerance, branch_count)
    ideal = bounds.ideal
    loose = resistance_bounds(model, supply, wanted * WINDOW[1], tolerance, branch_count)
    rated = resistance_bounds(model, supply, wanted, tolerance, branch_count, WINDOW[1]).rated
    lowest = max(loose.wanted, rated, loose.maximum)
    found = []
    for joined, parts in _candidates(drawer, ideal, lowest):
        if parts is None:
            continue
        resistance = in_parallel(*parts) if joined == "parallel" else in_series(*parts)
        found.append(
            choice(
                model,
                supply,
                resistance,
                tolerance=tolerance,
                branch_count=branch_count,
                wanted=wanted,
                bounds=bounds,
                parts=parts,
                joined=joined if len(parts) > 1 else "",
            )
        )
    inside = [entry for entry in found if entry.within]
    outside = [entry for entry in found if not entry.within]
    outside.sort(key=lambda entry: entry.resistance)
    return (*inside, *outside)


def _candidates(
    drawer: list[float], ideal: float, lowest: float
) -> list[tuple[str, tuple[float, ...] | None]]:
    """Return the best single and pairs: nearest the ideal, none below ``lowest``."""
    singles: list[_Made] = [(part, (part,)) for part in drawer]
    series: list[_Made] = []
    parallel: list[_Made] = []
    for part in drawer:
        for other in _beside(drawer, ideal - part, lowest - part):
            series.append((part + other, (part, other)))
        if part > lowest:
            # The partner that makes the wanted value: 1/other = 1/wanted - 1/part.
            aim = 1 / (1 / ideal - 1 / part) if part > ideal else float("inf")
            least = 1 / (1 / lowest - 1 / part) if lowest > 0 else 0.0
            for other in _beside(drawer, aim, least):
                parallel.append((in_parallel(part, other), (part, other)))
    return [
        ("single", _nearest(singles, ideal, lowest)),
        ("series", _nearest(series, ideal, lowest)),
        ("parallel", _nearest(parallel, ideal, lowest)),
    ]


def _beside(drawer: list[float], aim: float, least: float) -> tuple[float, ...]:
    """Return the drawer's values next to an aim on both sides, and the first one that is enough."""
    at = bisect_left(drawer, aim)
    enough = bisect_left(drawer, least * (1 - 1e-12))
    places = {at - 1, at, enough}
    return tuple(drawer[place] for place in places if 0 <= place < len(drawer))


def _nearest(made: list[_Made], ideal: float, lowest: float) -> tuple[float, ...] | None:
    """Return the parts whose resistance lies nearest the ideal by ratio, among those that are safe."""
    safe = [entry for entry in made if entry[0] >= lowest * (1 - 1e-12)]
    if not safe:
        return None
    # Equals are told apart by the parts themselves, so that the drawer's order changes nothing.
    return min(safe, key=lambda entry: (round(max(entry[0] / ideal, ideal / entry[0]), 12), entry[1]))[1]
