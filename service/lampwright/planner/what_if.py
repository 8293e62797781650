"""What one open or one shorted light does to the rest of a build: re-solved, then said in a sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.planner.models.circuits import StringAnswer
from lampwright.planner.rows import Known, Row
from lampwright.planner.side_by_side import rows_at
from lampwright.planner.strings import source_resistances
from lampwright.planner.texts import milliamps, percent, watts

# A change of current below this part is not worth a word.
_UNSEEN = 0.02


def if_one_opens(known: Known, rows: Sequence[Row], answers: Sequence[StringAnswer]) -> str:
    """Return what happens when a light of the longest row breaks: the row is dark, the rest may brighten."""
    longest = max(range(len(rows)), key=lambda at: len(rows[at].leds))
    length = len(rows[longest].leds)
    every = "Both" if length == 2 else f"All {length}"
    dark = "That light goes dark" if length == 1 else f"{every} lights of its row go dark"
    if sum([row.count for row in rows]) == 1:
        return "Everything goes dark: there is only this row." if length > 1 else "It goes dark."
    rise = _rise(known, rows, answers, longest)
    if rise < _UNSEEN:
        return f"{dark}; the others stay as they are."
    return f"{dark}; the others get up to {percent(rise)} more current."


def _rise(known: Known, rows: Sequence[Row], answers: Sequence[StringAnswer], opened: int) -> float:
    """Return by how much the other rows' current rises when one row opens, 0 where surely by too little."""
    supply = known.ask.supply
    source = supply.source_resistance
    if source == 0:
        return 0.0
    # The source lifts by no more than what it lost to the row; of that a row takes what its resistor lets it.
    lifted = source * (answers[opened].current or 0.0)
    parts = []
    most = 0.0
    for row, answer in zip(rows, answers, strict=True):
        corner, resistance = known.model(row).expected, answer.resistance or 0.0
        parts.append((corner, resistance, row.count))
        behind = resistance + corner.built_in_resistance
        share = (answer.current or 0.0) * behind
        most = max(most, lifted / share if share > 0 else math.inf if lifted else 0.0)
    if most < _UNSEEN:
        return 0.0
    corner, resistance, count = parts[opened]
    parts[opened] = (corner, resistance, count - 1)
    kept = [at for at, part in enumerate(parts) if part[2] > 0]
    before = [answers[at].current or 0.0 for at in kept]
    after = rows_at([parts[at] for at in kept], supply.supply_voltage, source, None, before)
    return max([now / usual - 1 for usual, now in zip(before, after, strict=True) if usual > 0], default=0.0)


def if_one_shorts(known: Known, rows: Sequence[Row], answers: Sequence[StringAnswer]) -> str:
    """Return what happens, at the supply's highest voltage, when the light that takes most shorts through."""
    worst, said = -1.0, ""
    for row, answer in zip(rows, answers, strict=True):
        gone = 0
        if len(row.leds) > 1 and answer.led_voltages:
            gone = answer.led_voltages.index(max(answer.led_voltages))
        key = (row.kinds, answer.resistance, answer.rated_dissipation, gone)
        found = known.shorted.get(key) if row.kinds else None
        if found is None:
            found = known.shorted[key] = _shorted(known, row, answer, gone)
        if found[0] > worst:
            worst = found[0]
            of_worst = (row, answer, gone, found[1])
    if worst >= 0:
        said = _shorted_in_words(known, *of_worst)
    return said


def _shorted(known: Known, row: Row, answer: StringAnswer, gone: int) -> tuple[float, float]:
    """Return how hard the rest of one row is strained (1: at its limit), and by what.

    That is the heat its resistor gets, in W, where nothing else is left, else the current, in A.
    """
    supply = known.ask.supply
    source, _, _ = source_resistances(supply)
    resistance = answer.resistance or 0.0
    rating = answer.rated_dissipation
    if len(row.leds) == 1:
        inside = row.leds[0].built_in_resistance
        behind = resistance + source + inside
        if behind == 0:
            return 9.0, math.inf
        heat = (supply.supply_voltage_max / behind) ** 2 * (inside or resistance)
        return (0.5 if inside or rating is None else heat / rating), heat
    rest = row.leds[:gone] + row.leds[gone + 1 :]
    model = known.lights(rest, row.kinds[:gone] + row.kinds[gone + 1 :])
    (current,) = rows_at([(model.expected, resistance, 1)], supply.supply_voltage_max, source)
    strain = current / model.max_forward_current
    heat = current * current * resistance
    return (max(strain, heat / rating) if rating is not None and heat > rating else strain), current


def _shorted_in_words(known: Known, row: Row, answer: StringAnswer, gone: int, by: float) -> str:
    """Return in words what strains the rest of a row."""
    resistance = answer.resistance or 0.0
    rating = answer.rated_dissipation
    if len(row.leds) == 1:
        led = row.leds[0]
        if led.prewired:
            usual = (answer.current or 0.0) ** 2 * led.built_in_resistance
            return f"The resistor in its sleeve gets {watts(by)} in place of {watts(usual)}: switch off."
        if by == math.inf:
            return "The supply is shorted."
        text = f"Its resistor gets {watts(by)}"
        if rating is None:
            return f"{text}; the others stay as they are."
        verdict = "more than" if by > rating else "within"
        return f"{text}, {verdict} the {watts(rating)} it is made for; the others stay as they are."
    rest = row.leds[:gone] + row.leds[gone + 1 :]
    others = "The other light" if len(rest) == 1 else f"The other {len(rest)} lights"
    gets, stands = ("gets", "it stands") if len(rest) == 1 else ("get", "they stand")
    limit = known.lights(rest, row.kinds[:gone] + row.kinds[gone + 1 :]).max_forward_current
    text = f"{others} of its row {gets} up to {milliamps(by)}"
    text += f", {'above' if by > limit else 'within'} the {milliamps(limit)} {stands}"
    heat = by * by * resistance
    if rating is not None and heat > rating:
        text += f", and the resistor {watts(heat)}, more than it is made for"
    return f"{text}."
