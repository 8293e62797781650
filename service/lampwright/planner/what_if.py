"""What one open or one shorted light does to the rest of a build: re-solved, then said in a sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.planner.models.circuits import StringAnswer
from lampwright.planner.models.parts import Supply
from lampwright.planner.one_row import Lights, Shorted, SolvedRow
from lampwright.planner.side_by_side import rows_at
from lampwright.planner.strings import StringModel, source_resistances, string_model
from lampwright.planner.texts import milliamps, percent, watts

# A change of current below this part is not worth a word.
_UNSEEN = 0.02


def if_one_opens(supply: Supply, rows: Sequence[SolvedRow]) -> str:
    """Return what happens when a light of the longest row breaks: the row is dark, the rest may brighten."""
    longest = max(rows, key=lambda row: row.answer.series_count)
    length = longest.answer.series_count
    every = "Both" if length == 2 else f"All {length}"
    dark = "That light goes dark" if length == 1 else f"{every} lights of its row go dark"
    if len(rows) == 1 and longest.count == 1:
        return "Everything goes dark: there is only this row." if length > 1 else "It goes dark."
    rise = _rise(supply, rows, longest)
    if rise < _UNSEEN:
        return f"{dark}; the others stay as they are."
    return f"{dark}; the others get up to {percent(rise)} more current."


def _rise(supply: Supply, rows: Sequence[SolvedRow], opened: SolvedRow) -> float:
    """Return by how much the other rows' current rises when one row opens, 0 where surely by too little."""
    source = supply.source_resistance
    if source == 0:
        return 0.0
    # The source lifts by no more than what it lost to the row; of that a row takes what its resistor lets it.
    lifted = source * opened.currents.expected
    kept = []
    most = 0.0
    for row in rows:
        corner, resistance = row.lights.model.expected, row.answer.resistance or 0.0
        count = row.count - 1 if row is opened else row.count
        if count:
            kept.append((corner, resistance, count))
        share = row.currents.expected * (resistance + corner.built_in_resistance)
        most = max(most, lifted / share if share > 0 else math.inf if lifted else 0.0)
    if most < _UNSEEN:
        return 0.0
    before = [row.currents.expected for row in rows if row is not opened or row.count > 1]
    after = rows_at(kept, supply.supply_voltage, source, None, before)
    return max([now / usual - 1 for usual, now in zip(before, after, strict=True) if usual > 0], default=0.0)


def if_one_shorts(rows: Sequence[SolvedRow]) -> str:
    """Return what happens, at the supply's highest voltage, when the light that takes most shorts through."""
    worst = max(rows, key=lambda row: row.shorted.strain)
    return _shorted_in_words(worst)


def shorted(supply: Supply, ambient_temperature: float, lights: Lights, answer: StringAnswer) -> Shorted:
    """Return how hard the rest of one row is strained when the light that takes most shorts through."""
    source, _, _ = source_resistances(supply)
    resistance = answer.resistance or 0.0
    rating = answer.rated_dissipation
    if len(lights.leds) == 1:
        inside = lights.leds[0].built_in_resistance
        behind = resistance + source + inside
        if behind == 0:
            return Shorted(9.0, math.inf, 0)
        heat = (supply.supply_voltage_max / behind) ** 2 * (inside or resistance)
        return Shorted(0.5 if inside or rating is None else heat / rating, heat, 0)
    gone = 0
    if not lights.model.alike and answer.led_voltages:
        gone = answer.led_voltages.index(max(answer.led_voltages))
    model = _rest(lights, gone, ambient_temperature)
    current = model.expected.current(supply.supply_voltage_max, resistance + source)
    strain = current / model.max_forward_current
    heat = current * current * resistance
    return Shorted(
        max(strain, heat / rating) if rating is not None and heat > rating else strain, current, gone
    )


def _rest(lights: Lights, gone: int, ambient_temperature: float) -> StringModel:
    """Return the lights of a row without one of them."""
    return string_model(lights.leds[:gone] + lights.leds[gone + 1 :], ambient_temperature)


def _shorted_in_words(row: SolvedRow) -> str:
    """Return in words what strains the rest of a row."""
    answer, by = row.answer, row.shorted.by
    leds = row.lights.leds
    resistance = answer.resistance or 0.0
    rating = answer.rated_dissipation
    if len(leds) == 1:
        if leds[0].prewired:
            usual = row.currents.expected**2 * leds[0].built_in_resistance
            return f"The resistor in its sleeve gets {watts(by)} in place of {watts(usual)}: switch off."
        if by == math.inf:
            return "The supply is shorted."
        text = f"Its resistor gets {watts(by)}"
        if rating is None:
            return f"{text}; the others stay as they are."
        verdict = "more than" if by > rating else "within"
        return f"{text}, {verdict} the {watts(rating)} it is made for; the others stay as they are."
    rest = leds[: row.shorted.gone] + leds[row.shorted.gone + 1 :]
    others = "The other light" if len(rest) == 1 else f"The other {len(rest)} lights"
    gets, stands = ("gets", "it stands") if len(rest) == 1 else ("get", "they stand")
    limit = min([led.max_forward_current for led in rest])
    text = f"{others} of its row {gets} up to {milliamps(by)}"
    text += f", {'above' if by > limit else 'within'} the {milliamps(limit)} {stands}"
    heat = by * by * resistance
    if rating is not None and heat > rating:
        text += f", and the resistor {watts(heat)}, more than it is made for"
    return f"{text}."
