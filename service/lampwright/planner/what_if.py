"""What one open or one shorted light does to the rest of a build: re-solved, then said in a sentence."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.planner.models.circuits import StringAnswer
from lampwright.planner.models.parts import Supply
from lampwright.planner.rows import Row
from lampwright.planner.side_by_side import rows_at
from lampwright.planner.strings import Corner, source_resistances, string_model
from lampwright.planner.texts import milliamps, percent, watts

# A change of current below this part is not worth a word.
_UNSEEN = 0.02


def _parts(
    rows: Sequence[Row], answers: Sequence[StringAnswer], ambient_temperature: float
) -> list[tuple[Corner, float, int]]:
    return [
        (string_model(row.leds, ambient_temperature).expected, answer.resistance or 0.0, row.count)
        for row, answer in zip(rows, answers, strict=True)
    ]


def if_one_opens(
    supply: Supply, rows: Sequence[Row], answers: Sequence[StringAnswer], ambient_temperature: float
) -> str:
    """Return what happens when a light of the longest row breaks: the row is dark, the rest may brighten."""
    longest = max(range(len(rows)), key=lambda at: len(rows[at].leds))
    length = len(rows[longest].leds)
    every = "Both" if length == 2 else f"All {length}"
    dark = "That light goes dark" if length == 1 else f"{every} lights of its row go dark"
    if sum(row.count for row in rows) == 1:
        return "Everything goes dark: there is only this row." if length > 1 else "It goes dark."
    parts = _parts(rows, answers, ambient_temperature)
    before = [answer.current or 0.0 for answer in answers]
    corner, resistance, count = parts[longest]
    left = [(corner, resistance, count - 1) if at == longest else part for at, part in enumerate(parts)]
    kept = [at for at, part in enumerate(left) if part[2] > 0]
    after = rows_at([left[at] for at in kept], supply.supply_voltage, supply.source_resistance)
    rise = max(
        (now / before[at] - 1 for at, now in zip(kept, after, strict=True) if before[at] > 0), default=0.0
    )
    if rise < _UNSEEN:
        return f"{dark}; the others stay as they are."
    return f"{dark}; the others get up to {percent(rise)} more current."


def if_one_shorts(
    supply: Supply, rows: Sequence[Row], answers: Sequence[StringAnswer], ambient_temperature: float
) -> str:
    """Return what happens, at the supply's highest voltage, when the light that takes most shorts through."""
    source, _, _ = source_resistances(supply)
    worst, said = -1.0, ""
    for row, answer in zip(rows, answers, strict=True):
        strain, words = _shorted(supply, row, answer, source, ambient_temperature)
        if strain > worst:
            worst, said = strain, words
    return said


def _shorted(
    supply: Supply, row: Row, answer: StringAnswer, source: float, ambient_temperature: float
) -> tuple[float, str]:
    """Return how hard the rest of one row is strained (1: at its limit), and that in words."""
    resistance = answer.resistance or 0.0
    rating = answer.rated_dissipation
    if len(row.leds) == 1:
        behind = resistance + source
        led = row.leds[0]
        if led.prewired:
            behind += led.built_in_resistance
            heat = (supply.supply_voltage_max / behind) ** 2 * led.built_in_resistance
            usual = (answer.current or 0.0) ** 2 * led.built_in_resistance
            return (
                0.5,
                f"The resistor in its sleeve gets {watts(heat)} in place of {watts(usual)}: switch off.",
            )
        if behind == 0:
            return 9.0, "The supply is shorted."
        heat = (supply.supply_voltage_max / behind) ** 2 * resistance
        text = f"Its resistor gets {watts(heat)}"
        if rating is None:
            return 0.5, f"{text}; the others stay as they are."
        strain = heat / rating
        verdict = "more than the {} it is made for" if strain > 1 else "within the {} it is made for"
        return strain, f"{text}, {verdict.format(watts(rating))}; the others stay as they are."
    voltages = answer.led_voltages or (0.0,) * len(row.leds)
    gone = max(range(len(row.leds)), key=lambda at: voltages[at])
    rest = row.leds[:gone] + row.leds[gone + 1 :]
    model = string_model(rest, ambient_temperature)
    (current,) = rows_at([(model.expected, resistance, 1)], supply.supply_voltage_max, source)
    others = "The other light" if len(rest) == 1 else f"The other {len(rest)} lights"
    gets, stands = ("gets", "it stands") if len(rest) == 1 else ("get", "they stand")
    limit = model.max_forward_current
    text = f"{others} of its row {gets} up to {milliamps(current)}"
    heat = current * current * resistance
    strain = current / limit
    if strain > 1:
        text += f", above the {milliamps(limit)} {stands}"
    else:
        text += f", within the {milliamps(limit)} {stands}"
    if rating is not None and heat > rating:
        text += f", and the resistor {watts(heat)}, more than it is made for"
        strain = max(strain, heat / rating)
    return strain, f"{text}."
