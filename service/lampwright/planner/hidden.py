"""What may hide in a sleeve: every likely inside weighed against what the meter or the print says.

Theory of operation. An inside is a colour family, a number of LEDs in series, their forward voltage and
a resistor. Each predicts a current at every voltage that was read. How well the prediction meets the
readings, within what a cheap meter and a tired battery leave open, times how usual such an inside is,
gives its weight (Bayes' rule, summed over a grid). The printed volts and milliamperes count as a
reading too, a coarse one. Weights of one family and number add up to the certainty that is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.physics.diodes import Diode, diode_from_point, forward_voltage, like_string_current
from lampwright.planner.models.circuits import IdentificationAsk
from lampwright.tables.leds import led_colours, led_families

#: What a cheap meter leaves open: part of the reading, and volts or amperes beside it (common practice).
METER_SPREAD = 0.02
_METER_AMPERES = 1e-4
_METER_VOLTS = 0.02
_VOLTS_SPREAD = 0.01
#: Printed figures are rounded, and parts differ.
PRINTED_SPREAD = 0.12
#: How usual it is that so many LEDs share a sleeve (common practice, no source).
USUAL_COUNTS = {1: 0.80, 2: 0.05, 3: 0.12, 4: 0.01, 5: 0.005, 6: 0.01, 7: 0.005}
_VOLTAGE_STEPS = (-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0)
_RESISTANCE_STEPS = 25
#: Below this a resistor is hardly one: its odds per ohm stop growing.
_LEAST_RESISTANCE = 50.0


@dataclass(frozen=True, slots=True)
class Clue:
    """A current at a voltage, and how far off it may be. [V, A]."""

    voltage: float
    current: float
    spread: float


@dataclass(frozen=True, slots=True)
class Kind:
    """A colour family whose LEDs may be inside, and their forward voltage. [V]."""

    family: str
    forward_voltage: float
    spread: float
    usual: float


@dataclass(frozen=True, slots=True)
class Inside:
    """One possible inside; ``current`` tells what it takes at a voltage."""

    kind: Kind
    count: int
    forward_voltage: float
    resistance: float
    reference_current: float
    ambient_temperature: float

    def current(self, voltage: float) -> float:
        """Return the current at a supply voltage. [A]."""
        emission, log_saturation, ohms = _joint(self)
        return like_string_current(voltage, emission, log_saturation, self.resistance + ohms)


@dataclass(frozen=True, slots=True)
class Guess:
    """All insides of one family and number together."""

    kind: Kind
    count: int
    probability: float
    best: Inside
    misfit: float
    resistance_low: float
    resistance_high: float


def _joint(inside: Inside) -> tuple[float, float, float]:
    """Return the one diode that all LEDs in the sleeve are together."""
    family = led_families()[inside.kind.family]
    ohms = min(family.series_voltage, 0.1 * inside.forward_voltage) / inside.reference_current
    diode = diode_from_point(
        inside.forward_voltage,
        inside.reference_current,
        family.ideality,
        ohms,
        inside.ambient_temperature,
    )
    return diode.emission_voltage * inside.count, diode.log_saturation_current, ohms * inside.count


def kinds_of(colour: str) -> tuple[Kind, ...]:
    """Return the families a colour may belong to; without a colour all that light up visibly."""
    known = led_colours().get(colour)
    red = Kind("red_to_yellow", 2.05, 0.13, 0.5)
    white = Kind("green_to_white", 3.15, 0.17, 0.5)
    if known is None:
        return (red, white)
    if colour == "green":
        # The word stands for two kinds of chip a volt apart.
        return (red, white)
    spread = (known.forward_voltage_max - known.forward_voltage_min) / 6
    return (Kind(known.family, known.forward_voltage, max(0.08, min(spread, 0.2)), 1.0),)


def clues_of(ask: IdentificationAsk) -> tuple[Clue, ...]:
    """Return readings and print as clues, each with its own trust."""
    clues = [
        Clue(reading.voltage, reading.current, METER_SPREAD * reading.current + _METER_AMPERES)
        for reading in ask.readings
    ]
    printed = ask.rated_voltage if ask.rated_voltage is not None else ask.rated_voltage_max
    if printed is not None and ask.rated_current is not None:
        clues.append(Clue(printed, ask.rated_current, PRINTED_SPREAD * ask.rated_current))
    return tuple(clues)


def _grid(
    kind: Kind, count: int, vf: float, clues: Sequence[Clue], reference: float, warmth: float
) -> list[float]:
    """Return resistances around those that would explain each clue by itself."""
    inside = Inside(kind, count, vf, 0.0, reference, warmth)
    emission, log_saturation, ohms = _joint(inside)
    joint = Diode(emission, log_saturation, ohms)
    exact = []
    for clue in clues:
        if clue.current > 2 * _METER_AMPERES:
            left = clue.voltage - forward_voltage(joint, clue.current)
            blur = (
                clue.voltage * _VOLTS_SPREAD / clue.current
                + clue.spread / clue.current * abs(left) / clue.current
            )
            exact.append((left / clue.current, blur))
    if not exact:
        return [10.0 * 1.25**step for step in range(_RESISTANCE_STEPS)]
    low = max(0.0, min(value - 3 * blur for value, blur in exact))
    high = max(value + 3 * blur for value, blur in exact)
    if high <= 0:
        return []
    width = (high - low) / (_RESISTANCE_STEPS - 1)
    return [low + width * step for step in range(_RESISTANCE_STEPS)]


def _misfit(inside: Inside, clues: Sequence[Clue]) -> float:
    """Return the sum of squared misses, each in units of what the meter leaves open."""
    emission, log_saturation, ohms = _joint(inside)
    total_ohms = inside.resistance + ohms
    misses = 0.0
    for clue in clues:
        current = like_string_current(clue.voltage, emission, log_saturation, total_ohms)
        slope = 1.0 / (total_ohms + emission / (current + math.exp(log_saturation) + 1e-12))
        volts = _VOLTS_SPREAD * clue.voltage + _METER_VOLTS
        misses += (current - clue.current) ** 2 / (clue.spread**2 + (slope * volts) ** 2)
    return misses


def _lights_at(inside: Inside, ask: IdentificationAsk) -> float:
    """Return how well an inside agrees with the printed window: it lights at the lowest printed volts."""
    lowest = ask.rated_voltage_min
    highest = ask.rated_voltage if ask.rated_voltage is not None else ask.rated_voltage_max
    odds = 1.0
    if lowest is not None and highest is not None and lowest < highest:
        part = inside.current(lowest) / max(inside.current(highest), 1e-9)
        odds *= min(1.0, 0.02 + part / 0.3)
    if highest is not None and ask.rated_current is None:
        # Some 15 mA at the printed volts, within a factor of two.
        current = inside.current(highest)
        odds *= math.exp(-0.5 * (math.log(max(current, 1e-6) / 0.015) / 0.7) ** 2)
    return odds


def guesses(ask: IdentificationAsk) -> tuple[Guess, ...]:
    """Return every family and number that could be inside, likeliest first.

    Parameters
    ----------
    ask : IdentificationAsk
        Readings, print or both.

    Returns
    -------
    guesses : tuple of Guess
        Their probabilities add up to one; empty where nothing fits at all.
    """
    clues = clues_of(ask)
    reference = ask.rated_current or 0.02
    top_voltage = max((clue.voltage for clue in clues), default=ask.rated_voltage or 0.0)
    found = []
    total = 0.0
    for kind in kinds_of(ask.colour):
        for count, usual in USUAL_COUNTS.items():
            if count > 1 and count * kind.forward_voltage * 0.7 > top_voltage:
                break
            weighed = _weigh(ask, kind, count, clues, reference)
            weight = kind.usual * usual * sum(each for each, _, _ in weighed)
            if weight > 0:
                total += weight
                found.append((weight, kind, count, weighed))
    made = [_guess(weight / total, kind, count, weighed) for weight, kind, count, weighed in found]
    return tuple(sorted(made, key=lambda guess: -guess.probability))


def _weigh(
    ask: IdentificationAsk, kind: Kind, count: int, clues: Sequence[Clue], reference: float
) -> list[tuple[float, float, Inside]]:
    """Return (weight, misfit, inside) over the grid of forward voltages and resistances."""
    weighed = []
    for step in _VOLTAGE_STEPS:
        vf = kind.forward_voltage + step * kind.spread
        grid = _grid(kind, count, vf, clues, reference, ask.ambient_temperature)
        if len(grid) < 2:
            continue
        for place, resistance in enumerate(grid):
            inside = Inside(kind, count, vf, resistance, reference, ask.ambient_temperature)
            misfit = _misfit(inside, clues)
            if misfit > 200:
                continue
            width = grid[min(place + 1, len(grid) - 1)] - grid[max(place - 1, 0)]
            weight = math.exp(-0.5 * (misfit + step * step)) * width / (resistance + _LEAST_RESISTANCE)
            weighed.append((weight * _lights_at(inside, ask), misfit, inside))
    return weighed


def _guess(
    probability: float, kind: Kind, count: int, weighed: Sequence[tuple[float, float, Inside]]
) -> Guess:
    """Sum up one family and number: middle, bounds of nine in ten, least misfit."""
    total = sum(weight for weight, _, _ in weighed)
    vf = sum(weight * inside.forward_voltage for weight, _, inside in weighed) / total
    resistance = sum(weight * inside.resistance for weight, _, inside in weighed) / total
    ordered = sorted((inside.resistance, weight) for weight, _, inside in weighed)
    some = weighed[0][2]
    middle = Inside(kind, count, vf, resistance, some.reference_current, some.ambient_temperature)
    return Guess(
        kind=kind,
        count=count,
        probability=probability,
        best=middle,
        misfit=min(misfit for _, misfit, _ in weighed),
        resistance_low=_quantile(ordered, 0.05 * total),
        resistance_high=_quantile(ordered, 0.95 * total),
    )


def _quantile(ordered: Sequence[tuple[float, float]], wanted: float) -> float:
    passed = 0.0
    for value, weight in ordered:
        passed += weight
        if passed >= wanted:
            return value
    return ordered[-1][0]
