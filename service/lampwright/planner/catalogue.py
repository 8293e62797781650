"""Lights by part id or by figures, and the curve each has at the corners of its spread.

What a maker does not know is filled in from the colour family: how the curve is shaped, how far parts
spread, how voltage falls with warmth. The spread moves the saturation current alone; shape and series
resistance stay. Corners are named for the *current* they bring: "high" has the lowest forward voltage.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache, lru_cache

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.physics.diodes import Diode, diode_from_point, thermal_voltage
from lampwright.planner.models.parts import Led
from lampwright.tables.leds import LedFamily, led_colours, led_families, led_types
from lampwright.tables.loader import NO_DOCUMENT

#: Current an ordinary small LED is stated at, where nothing is said (common practice, no source).
USUAL_CURRENT = 0.02
#: Continuous limit over rated current, where nothing is said.
USUAL_LIMIT = 1.25
#: No light is asked about that stands more, in A: nor is more supposed of one.
MOST_CURRENT = 5.0
#: Hidden resistor: spread of one that was stated, and of one worked out from printed volts.
_STATED_SPREAD = 0.05
_PRINTED_SPREAD = 0.10
#: A bond wire is never without any resistance; this little moves no current by 1e-6.
_LEAST_SERIES_RESISTANCE = 1e-12
#: Whatever warmth does, a junction keeps this part of its stated voltage.
_LEAST_JUNCTION = 0.2

#: A supply up to so many times the printed volts of a pre-wired light is the one it is made for: a USB
#: charger gives up to 5.5 V, two fresh cells 3.2 V, a full 12 V battery 12.9 V (common practice, no source).
PRINTED_MARGIN = 1.1
#: On such a supply it keeps to this part of its limit, whatever the spread: room for a warm day.
_KEPT = 0.97

#: Between these forward voltages at its rated current an LED of unknown colour belongs to a family.
_BELOW_IS_INFRARED = 1.6
_BELOW_IS_RED_TO_YELLOW = 2.55


def family_of(colour: str, forward_voltage: float) -> LedFamily:
    """Return the family of a colour; where the word leaves it open, the voltage decides.

    >>> family_of("green", 2.1).id, family_of("green", 3.2).id, family_of("", 2.0).id
    ('red_to_yellow', 'green_to_white', 'red_to_yellow')
    """
    families = led_families()
    known = led_colours().get(colour)
    # "Green" is two kinds of chip a volt apart, and amber by phosphor is a white in disguise.
    open_words = ("green", "amber", "orange", "yellow", "pink")
    if known is not None and colour not in open_words:
        return families[known.family]
    if forward_voltage < _BELOW_IS_INFRARED and known is None:
        return families["infrared"]
    if forward_voltage < _BELOW_IS_RED_TO_YELLOW:
        return families["red_to_yellow"]
    return families["green_to_white"]


@cache
def led_from_part(part_id: str) -> Led:
    """Return a light of the catalogue.

    Parameters
    ----------
    part_id : str
        An id such as ``red_5mm``.

    Raises
    ------
    UnknownPartError
        If no light has this id.
    """
    row = led_types().get(part_id)
    if row is None:
        raise UnknownPartError("light", part_id, tuple(led_types()))
    family = family_of(row.colour, row.forward_voltage)
    resistance = row.built_in_resistance or 0.0
    coefficient = row.temperature_coefficient
    used = {row.source} if row.status not in NO_DOCUMENT else {NO_DOCUMENT[row.status]}
    used.add(family.source)
    return Led(
        name=row.name,
        forward_voltage=row.forward_voltage,
        forward_voltage_min=row.forward_voltage_min or row.forward_voltage - family.spread,
        forward_voltage_max=row.forward_voltage_max or row.forward_voltage + family.spread,
        rated_current=row.rated_current,
        max_forward_current=row.max_forward_current,
        max_reverse_voltage=row.max_reverse_voltage,
        ideality=row.ideality,
        series_resistance=row.series_resistance,
        reference_temperature=row.reference_temperature,
        temperature_coefficient=family.temperature_coefficient if coefficient is None else coefficient,
        colour=row.colour,
        built_in_resistance=resistance,
        built_in_resistance_low=row.built_in_resistance_low or resistance,
        built_in_resistance_high=row.built_in_resistance_high or resistance,
        built_in_series_count=row.built_in_series_count,
        rated_voltage=row.rated_voltage,
        rated_voltage_min=row.rated_voltage_min,
        rated_voltage_max=row.rated_voltage_max,
        sources=tuple(sorted(used)),
        as_sent=part_id,
    )


def led_from_figures(
    *,
    forward_voltage: float | None = None,
    forward_voltage_min: float | None = None,
    forward_voltage_max: float | None = None,
    rated_current: float | None = None,
    max_forward_current: float | None = None,
    max_reverse_voltage: float | None = None,
    ideality: float | None = None,
    series_resistance: float | None = None,
    reference_temperature: float | None = None,
    temperature_coefficient: float | None = None,
    colour: str = "",
    built_in_resistance: float | None = None,
    built_in_resistance_low: float | None = None,
    built_in_resistance_high: float | None = None,
    built_in_series_count: int | None = None,
    rated_voltage: float | None = None,
    rated_voltage_min: float | None = None,
    rated_voltage_max: float | None = None,
    name: str = "",
    as_sent: object = None,
) -> Led:
    """Return a light by its figures, the rest filled in from its colour family.

    Parameters
    ----------
    forward_voltage : float, optional
        Per LED at ``rated_current``; without it the colour's usual one, without a colour white's where
        printed volts say that it is a pre-wired light. [V]
    built_in_resistance : float, optional
        Of a pre-wired light; without it worked out from ``rated_voltage``. [Ω]
    name, colour : str, optional
        Words.
    as_sent : object, optional
        The caller's own form of it, echoed in answers.

    Raises
    ------
    ContradictionError
        If figures that are sound alone cannot be one light.
    """
    printed = rated_voltage if rated_voltage is not None else rated_voltage_max
    known = led_colours().get(colour)
    usual_spread = None
    if forward_voltage is None:
        if known is None and printed is None and built_in_resistance is None:
            raise ContradictionError(
                "forward_voltage",
                "Neither a forward voltage nor a colour is given.",
                "Name the colour, or send the volts across the lit LED.",
            )
        # What hides in a sleeve is more often white than anything else.
        usual = known or led_colours()["white"]
        forward_voltage = usual.forward_voltage
        usual_spread = (usual.forward_voltage_min, usual.forward_voltage_max)
    current = USUAL_CURRENT if rated_current is None else rated_current
    supposed = min(USUAL_LIMIT * current, max(MOST_CURRENT, current))
    limit = supposed if max_forward_current is None else max_forward_current
    family = family_of(colour, forward_voltage)
    lowest, highest = usual_spread or (
        max(forward_voltage - family.spread, 0.7 * forward_voltage),
        forward_voltage + family.spread,
    )
    lowest = lowest if forward_voltage_min is None else forward_voltage_min
    highest = highest if forward_voltage_max is None else forward_voltage_max
    _check_point(forward_voltage, lowest, highest, current, limit, series_resistance)
    count = 1 if built_in_series_count is None else built_in_series_count
    resistance, spread = 0.0, 0.0
    if built_in_resistance is not None:
        resistance, spread = built_in_resistance, _STATED_SPREAD
    elif printed is not None:
        # Printed volts below the LEDs' own: nothing is hidden in there.
        resistance, spread = max(0.0, (printed - count * forward_voltage) / current), _PRINTED_SPREAD
    coefficient = temperature_coefficient
    led = Led(
        name=name or _name(colour, forward_voltage, resistance),
        forward_voltage=forward_voltage,
        forward_voltage_min=lowest,
        forward_voltage_max=highest,
        rated_current=current,
        max_forward_current=limit,
        max_reverse_voltage=5.0 if max_reverse_voltage is None else max_reverse_voltage,
        ideality=ideality,
        series_resistance=series_resistance,
        reference_temperature=25.0 if reference_temperature is None else reference_temperature,
        temperature_coefficient=family.temperature_coefficient if coefficient is None else coefficient,
        colour=colour,
        built_in_resistance=resistance,
        built_in_resistance_low=(
            resistance * (1 - spread) if built_in_resistance_low is None else built_in_resistance_low
        ),
        built_in_resistance_high=(
            resistance * (1 + spread) if built_in_resistance_high is None else built_in_resistance_high
        ),
        built_in_series_count=count,
        rated_voltage=printed,
        rated_voltage_min=printed if rated_voltage_min is None else rated_voltage_min,
        rated_voltage_max=printed if rated_voltage_max is None else rated_voltage_max,
        sources=() if ideality is not None and series_resistance is not None else (family.source,),
        as_sent=as_sent,
    )
    return led if forward_voltage_min is not None else _sound_as_printed(led)


def _sound_as_printed(led: Led) -> Led:
    """Return a pre-wired light whose spread is that of lights which keep to their limit as printed.

    Lowest forward voltages and the least hidden resistance together can pass the limit on the very volts a
    light is sold for; its maker picked the resistor so that they do not. The lowest forward voltage is
    raised as far as that takes, never past the usual one.
    """
    printed = led.rated_voltage_max
    if printed is None:
        return led
    limit = _KEPT * led.max_forward_current
    highest = printed * PRINTED_MARGIN
    each = (highest - led.built_in_resistance_low * limit) / led.built_in_series_count
    family = family_of(led.colour, led.forward_voltage)
    series_resistance = _series_resistance(led, family)
    ideality = family.ideality if led.ideality is None else led.ideality
    # What each of them has at its rated current, if together they take the limit as printed.
    curve = ideality * thermal_voltage(led.reference_temperature) * math.log(limit / led.rated_current)
    least = each - curve - series_resistance * (limit - led.rated_current)
    if least <= led.forward_voltage_min:
        return led
    return replace(led, forward_voltage_min=min(least, led.forward_voltage))


def _series_resistance(led: Led, family: LedFamily) -> float:
    """Return the resistance inside one LED, in Ω: as sent, else its family's."""
    if led.series_resistance is not None:
        return max(led.series_resistance, _LEAST_SERIES_RESISTANCE)
    # The family's figure is a voltage; a tenth of a low forward voltage keeps odd parts sound.
    return max(
        min(family.series_voltage, 0.1 * led.forward_voltage) / led.rated_current, _LEAST_SERIES_RESISTANCE
    )


def _name(colour: str, forward_voltage: float, built_in_resistance: float) -> str:
    known = led_colours().get(colour)
    words = known.name if known else f"{forward_voltage:.3g} V"
    return f"pre-wired {words} light" if built_in_resistance > 0 else f"{words} LED"


def _check_point(
    forward_voltage: float,
    lowest: float,
    highest: float,
    current: float,
    limit: float,
    series_resistance: float | None,
) -> None:
    """Refuse figures that cannot belong to one LED."""
    if not lowest <= forward_voltage <= highest:
        side = "forward_voltage_min" if lowest > forward_voltage else "forward_voltage_max"
        raise ContradictionError(
            side,
            "The forward voltage lies outside its own bounds.",
            "Lowest, usual and highest go in this order.",
        )
    if limit < current:
        raise ContradictionError(
            "max_forward_current",
            "The current limit is below the current the LED is rated at.",
            "The limit is the larger of the two; were they swapped?",
        )
    if series_resistance is not None and current * series_resistance >= lowest:
        raise ContradictionError(
            "series_resistance",
            "The series resistance alone would take the whole forward voltage.",
            "A small LED has some 2 to 15 Ω inside; for a resistor beside it send resistance_ohm.",
        )


@lru_cache(maxsize=4096)
def led_model(led: Led, corner: str, ambient_temperature: float) -> tuple[tuple[Diode, ...], float]:
    """Return the diodes inside a light, and the resistance hidden with them, at a corner.

    Parameters
    ----------
    led : Led
        The light.
    corner : {"low", "expected", "high"}
        Named for the current: "high" has the lowest forward voltage and the least hidden resistance.
    ambient_temperature : float
        Taken as the junction's. [°C]

    Returns
    -------
    diodes : tuple of Diode
        One, or as many as a pre-wired light has in series.
    built_in_resistance : float
        Zero for a bare LED. [Ω]
    """
    stated, resistance = {
        "low": (led.forward_voltage_max, led.built_in_resistance_high),
        "expected": (led.forward_voltage, led.built_in_resistance),
        "high": (led.forward_voltage_min, led.built_in_resistance_low),
    }[corner]
    family = family_of(led.colour, led.forward_voltage)
    ideality = family.ideality if led.ideality is None else led.ideality
    series_resistance = _series_resistance(led, family)
    taken = led.rated_current * series_resistance
    warmer = ambient_temperature - led.reference_temperature
    voltage = max(stated + led.temperature_coefficient * warmer, taken + _LEAST_JUNCTION * (stated - taken))
    diode = diode_from_point(voltage, led.rated_current, ideality, series_resistance, ambient_temperature)
    return (diode,) * led.built_in_series_count, resistance
