"""What one open or one shorted light does to the rest of a build: re-solved, then said in a sentence."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.planner.models.circuits import ArrangementAsk, StringAnswer
from lampwright.planner.rows import Known, Row
from lampwright.planner.side_by_side import rows_at
from lampwright.planner.strings import source_resistances, string_model
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
    # The source lifts by no more than what it lost to the row; of that a row takes what its resistor lets it.
    lifted = source * (answers[opened].current or 0.0)
    parts = []
    most = 0.0
    for row, answer in zip(rows, answers, strict=True):
        corner, resistance = known.model(row).expected, answer.resistance or 0.0
        parts.append((corner, resistance, row.count))
        behind = resistance + corner.built_in_resistance
        share = (answer.current or 0.0) * behind
        most = max(most, lifted / share if share > 0 else lifted * math.inf if lifted else 0.0)
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
        voltages = answer.led_voltages or (0.0,) * len(row.leds)
        gone = voltages.index(max(voltages))
        # Of a sleeve it is also told what it usually gets.
        usual = answer.current if row.leds[gone].prewired else None
        key = (row.kinds, answer.resistance, answer.rated_dissipation, gone, usual)
        found = known.shorted.get(key) if row.kinds else None
        if found is None:
            found = known.shorted[key] = _shorted(known.ask, row, answer, gone)
        strain, words = found
        if strain > worst:
            worst, said = strain, words
    return said


def _shorted(ask: ArrangementAsk, row: Row, answer: StringAnswer, gone: int) -> tuple[float, str]:
    """Return how hard the rest of one row is strained (1: at its limit), and that in words."""
    supply = ask.supply
    source, _, _ = source_resistances(supply)
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
    rest = row.leds[:gone] + row.leds[gone + 1 :]
    model = string_model(rest, ask.ambient_temperature)
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
