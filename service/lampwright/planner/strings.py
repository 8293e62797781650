"""One string on one supply, solved at its corners: every figure a sheet states about a row.

Theory of operation. The current is monotone in supply voltage, forward voltages, resistances and source
resistance, so two corners bound it exactly: *low* (lowest supply, highest forward voltages, resistor high)
and *high* (the reverse). Beside them stand the expected parts at the expected, highest and lowest supply.
Of ``branch_count`` equal strings on one source each sees that many times the source resistance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from lampwright.physics.diodes import Diode, forward_voltage, like_string_current, string_current
from lampwright.physics.heating import derating
from lampwright.planner.catalogue import led_model
from lampwright.planner.models.circuits import StringAnswer, StringAsk
from lampwright.planner.models.parts import Led, Supply
from lampwright.records import quickly_made
from lampwright.tables.markings import colour_bands, rkm_code
from lampwright.tables.resistors import usual_ratings

#: How bright light looks: its amount to this power (common practice, no source).
EYE_EXPONENT = 0.45

# Below this part of its rated current a light is dark.
_SEEN = 1e-3

#: A resistor is chosen so that its worst corner takes at most this part of what is left of its rating,
RATING_USED = 0.6
#: and expected parts at the highest supply at most this one: above it a resistor counts as hot.
USUALLY_USED = 0.5


@dataclass(frozen=True, slots=True)
class Corner:
    """A string's lights at one corner: every diode in it, and the resistance hidden in its lights.

    ``joint`` is the one diode that like LEDs in series are together, None where they are not alike.
    """

    diodes: tuple[Diode, ...]
    built_in_resistance: float
    joint: Diode | None

    def voltage(self, current: float) -> float:
        """Return the voltage over all lights at a current, in V, hidden resistors included."""
        total = self.built_in_resistance * current
        if self.joint is not None:
            return total + forward_voltage(self.joint, current)
        for diode in self.diodes:
            total += forward_voltage(diode, current)
        return total

    def current(self, voltage: float, resistance: float) -> float:
        """Return the current in A; ``resistance`` is what stands outside the lights."""
        joint = self.joint
        if joint is None:
            return string_current(voltage, self.diodes, resistance + self.built_in_resistance)
        return like_string_current(
            voltage,
            joint.emission_voltage,
            joint.log_saturation_current,
            resistance + self.built_in_resistance + joint.series_resistance,
        )

    def slope(self, current: float) -> float:
        """Return dV/dI of all lights in Ω at a current above zero."""
        joint = self.joint
        if joint is not None:
            return self.built_in_resistance + joint.series_resistance + joint.emission_voltage / current
        total = self.built_in_resistance
        for diode in self.diodes:
            total += diode.series_resistance + diode.emission_voltage / current
        return total


def _corner(models: Sequence[tuple[tuple[Diode, ...], float]]) -> Corner:
    """Return the corner that some lights make together."""
    diodes = tuple(diode for model in models for diode in model[0])
    first = diodes[0]
    joint = None
    if all(diode == first for diode in diodes):
        # The same diode with everything summed, and ln Is kept: exact, and one logarithm for all.
        joint = Diode(
            first.emission_voltage * len(diodes),
            first.log_saturation_current,
            first.series_resistance * len(diodes),
        )
    else:
        # In one order whatever the row's, so that turning a row round changes not even the last digit.
        diodes = tuple(
            sorted(diodes, key=lambda diode: (diode.emission_voltage, diode.log_saturation_current))
        )
    return Corner(diodes, sum(model[1] for model in models), joint)


@dataclass(frozen=True, slots=True)
class StringModel:
    """The lights of a string at its three corners, and the limits all of them share.

    ``rated_voltage`` is what expected lights take at the rated current, ``voltage_at_maximum`` what those
    of the high corner take at their greatest; ``alike`` says whether all ``lights`` are one kind.
    """

    low: Corner
    expected: Corner
    high: Corner
    lights: tuple[Corner, ...]
    alike: bool
    rated_voltage: float
    voltage_at_maximum: float
    rated_current: float
    brightest_rated_current: float
    max_forward_current: float
    prewired: bool
    sources: tuple[str, ...]


def string_model(leds: tuple[Led, ...], ambient_temperature: float) -> StringModel:
    """Return the lights of a string at its corners, expected parts also one by one."""
    first, count = leds[0], len(leds)
    # Lights of one kind are known by one of them: a long row need not be looked through again and again.
    if leds == (first,) * count:
        return _model_of_like(first, count, ambient_temperature)
    return _model_of_unlike(leds, ambient_temperature)


@lru_cache(maxsize=4096)
def _model_of_like(led: Led, count: int, ambient_temperature: float) -> StringModel:
    return _model((led,) * count, ambient_temperature)


@lru_cache(maxsize=4096)
def _model_of_unlike(leds: tuple[Led, ...], ambient_temperature: float) -> StringModel:
    return _model(leds, ambient_temperature)


def _model(leds: tuple[Led, ...], ambient_temperature: float) -> StringModel:
    low, expected, high = (
        [led_model(led, name, ambient_temperature) for led in leds] for name in ("low", "expected", "high")
    )
    rated_current = min(led.rated_current for led in leds)
    max_forward_current = min(led.max_forward_current for led in leds)
    row, highest = _corner(expected), _corner(high)
    return StringModel(
        low=_corner(low),
        expected=row,
        high=highest,
        lights=tuple(_corner([light]) for light in expected),
        alike=all(light == expected[0] for light in expected),
        rated_voltage=row.voltage(rated_current),
        voltage_at_maximum=highest.voltage(max_forward_current),
        rated_current=rated_current,
        brightest_rated_current=max(led.rated_current for led in leds),
        max_forward_current=max_forward_current,
        prewired=any(led.prewired for led in leds),
        sources=tuple(dict.fromkeys(source for led in leds for source in led.sources)),
    )


@quickly_made
@dataclass(frozen=True, slots=True)
class Corners:
    """Currents of one branch: the two bounds, and the expected parts over the supply's window, in A."""

    low: float
    expected: float
    high: float
    fresh: float
    empty: float


def source_resistances(supply: Supply) -> tuple[float, float, float]:
    """Return the smallest, expected and largest source resistance, in this order whatever was left out."""
    expected = supply.source_resistance
    low = supply.source_resistance_low
    high = supply.source_resistance_high
    return (low if low < expected else expected), expected, (high if high > expected else expected)


def string_currents(
    model: StringModel, supply: Supply, resistance: float, tolerance: float, branch_count: float
) -> Corners:
    """Return the currents of one branch at every corner."""
    source_low, source, source_high = source_resistances(supply)
    expected = model.expected
    empty_behind = branch_count * source_high
    fresh_behind = branch_count * source_low
    # A pre-wired light carries its spread in its hidden resistor; the tolerance is that of ours alone.
    behind = branch_count * source
    usual, lowest, highest = supply.supply_voltage, supply.supply_voltage_min, supply.supply_voltage_max
    current = expected.current(usual, resistance + behind)
    # Of many supplies one voltage is known, and no window: what is one case is solved once.
    fresh = empty = current
    if highest != usual or fresh_behind != behind:
        fresh = expected.current(highest, resistance + fresh_behind)
    if lowest != usual or empty_behind != behind:
        empty = expected.current(lowest, resistance + empty_behind)
    return Corners(
        model.low.current(lowest, resistance * (1 + tolerance) + empty_behind),
        current,
        model.high.current(highest, resistance * (1 - tolerance) + fresh_behind),
        fresh,
        empty,
    )


def hottest_dissipation(
    model: StringModel, supply: Supply, resistance: float, tolerance: float, branch_count: float, high: float
) -> float:
    """Return the most heat in W that the resistor gets, ``high`` being the high corner's current.

    Heat over resistance has one peak, where the resistor equals the slope of all the rest. Above it the
    smallest part of the tolerance is the hottest, below it the largest. (With the peak between the two
    it stands above the better one by at most a quarter of the tolerance squared: left out.)
    """
    smallest = resistance * (1 - tolerance)
    heat = high * high * smallest
    behind = branch_count * source_resistances(supply)[0]
    if heat == 0 or smallest >= model.high.slope(high) + behind:
        return heat
    largest = resistance * (1 + tolerance)
    other = model.high.current(supply.supply_voltage_max, largest + behind)
    return max(heat, other * other * largest)


def rating_for(
    dissipation_high: float, ambient_temperature: float, dissipation_fresh: float = 0.0
) -> float | None:
    """Return the smallest usual power rating that stays cool enough, None where none does, in W.

    ``dissipation_high`` is the heat in the worst corner, ``dissipation_fresh`` that of expected parts at
    the highest supply.
    """
    needed = max(dissipation_high / RATING_USED, dissipation_fresh / USUALLY_USED)
    left = derating(ambient_temperature)
    for rating in usual_ratings():
        if rating * left >= needed:
            return rating
    return None


def solve_string(string: StringAsk, supply: Supply, ambient_temperature: float) -> StringAnswer:
    """Return every figure of one branch of a string whose resistor is known.

    Parameters
    ----------
    string : StringAsk
        ``resistance`` must be set: 0 for none. Where ``rated_dissipation`` is None the smallest usual
        rating is chosen whose 60 %, derated for hot air, covers the high corner, and whose half covers
        expected parts at the highest supply.
    supply : Supply
        Its whole window is used.
    ambient_temperature : float
        Of the air. [°C]

    Returns
    -------
    answer : StringAnswer
        Voltages, heat and brightness at the expected current; ``headroom`` is what the resistors get,
        those hidden in pre-wired lights included. ``lowest_lit_voltage`` counts the source resistance in.
    """
    return solved_string(string, supply, ambient_temperature)


def solved_string(
    string: StringAsk,
    supply: Supply,
    ambient_temperature: float,
    currents: Corners | None = None,
    model: StringModel | None = None,
) -> StringAnswer:
    """Return what ``solve_string`` does, from currents and a model that may be known already."""
    resistance, tolerance, branch_count = string.resistance, string.tolerance, string.branch_count
    if resistance is None:
        raise ValueError("a string is solved with its resistance; series_resistor finds one")
    if model is None:
        model = string_model(string.leds, ambient_temperature)
    if string.reversed:
        return _dark_string(string, supply, resistance)
    if currents is None:
        currents = string_currents(model, supply, resistance, tolerance, branch_count)
    current = currents.expected
    if model.alike:
        led_voltages = (model.lights[0].voltage(current),) * len(model.lights)
    else:
        led_voltages = tuple([light.voltage(current) for light in model.lights])
    string_voltage = sum(led_voltages)
    heat_high = hottest_dissipation(model, supply, resistance, tolerance, branch_count, currents.high)
    brightness = current / model.brightest_rated_current
    half = current / 2
    return StringAnswer(
        names_of(string.leds),
        len(string.leds),
        branch_count,
        resistance,
        rkm_code(resistance),
        colour_bands(resistance, tolerance),
        tolerance,
        current,
        currents.low,
        currents.high,
        currents.fresh,
        currents.empty,
        brightness,
        brightness**EYE_EXPONENT,
        string_voltage,
        led_voltages,
        current * resistance,
        current * current * resistance,
        heat_high,
        _rating(string, resistance, heat_high, currents.fresh, ambient_temperature),
        supply.supply_voltage - string_voltage + model.expected.built_in_resistance * current,
        # Half of what cannot be seen is no light to name a voltage for.
        model.expected.voltage(half) + (resistance + branch_count * supply.source_resistance) * half
        if brightness >= _SEEN
        else None,
    )


def names_of(leds: tuple[Led, ...]) -> tuple[object, ...]:
    """Return lights as they were sent, or by their names."""
    return tuple([led.name if led.as_sent is None else led.as_sent for led in leds])


def _rating(
    string: StringAsk, resistance: float, heat_high: float, fresh: float, ambient_temperature: float
) -> float | None:
    """Return the rating sent, else the one chosen; None without a resistor."""
    if string.rated_dissipation is not None:
        return string.rated_dissipation
    if resistance <= 0:
        return None
    return rating_for(heat_high, ambient_temperature, fresh * fresh * resistance)


def _dark_string(string: StringAsk, supply: Supply, resistance: float) -> StringAnswer:
    """Return the figures of a string with a light the wrong way round: dark, the whole supply on it."""
    backwards = set(string.reversed)
    # Which of several takes more depends on their leakage; an even share is said, the limit is judged whole.
    each = -supply.supply_voltage / len(backwards)
    return StringAnswer(
        names_of(string.leds),
        len(string.leds),
        string.branch_count,
        resistance,
        rkm_code(resistance),
        colour_bands(resistance, string.tolerance),
        string.tolerance,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        0.0,
        supply.supply_voltage,
        tuple(each if at in backwards else 0.0 for at in range(len(string.leds))),
        0.0,
        0.0,
        0.0,
        string.rated_dissipation if resistance == 0 else string.rated_dissipation or usual_ratings()[0],
        0.0,
        None,
    )
