"""A pre-wired light of unknown inside: hidden resistor, what is lit by it, and how it does on other volts."""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.physics.resistors import preferred_above, preferred_at_least, preferred_below
from lampwright.planner.catalogue import PRINTED_MARGIN, USUAL_LIMIT
from lampwright.planner.findings import finding
from lampwright.planner.hidden import METER_SPREAD, Guess, clues_of, guesses
from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.circuits import AtVoltage, IdentificationAnswer, IdentificationAsk, NextReading
from lampwright.planner.strings import EYE_EXPONENT, string_model
from lampwright.planner.texts import counted, milliamps, ohms, percent, volts
from lampwright.tables.leds import led_families
from lampwright.tables.resistors import ladder

#: Supplies makers have (volts).
USUAL_VOLTAGES = (3.0, 5.0, 9.0, 12.0, 14.4)
#: Sure enough to stop measuring.
_SURE = 0.9
#: A hidden resistor below this hardly protects anything (common practice, no source).
_HARDLY_A_RESISTOR = 100.0
#: Of the slope between two readings, what the LED itself is good for. [Ω]
_LED_ITSELF = 15.0
#: Squared misses per clue from which on nothing we know fits.
_NO_FIT = 6.0
_SOURCES = ("LIEC", "SHOCKLEY-1949", "BANWELL-2000")


def identify_light(ask: IdentificationAsk) -> IdentificationAnswer:
    """Return what is likeliest inside a pre-wired light.

    Parameters
    ----------
    ask : IdentificationAsk
        One reading or more, or printed volts and milliamperes, or both.

    Returns
    -------
    answer : IdentificationAnswer
        ``certainty`` is that of family and number together; the resistor's bounds hold for that
        inside nine times in ten. Figures are None where nothing we know fits.
    """
    found = guesses(ask)
    if not found:
        nothing = finding("no_inside_fits", field="readings" if ask.readings else "rated_voltage")
        return IdentificationAnswer(
            None, None, None, None, None, None, 0.0, None, (), findings=(nothing,), sources=_SOURCES
        )
    top = found[0]
    inside = top.best
    rated = ask.rated_current or inside.reference_current
    asked = (*USUAL_VOLTAGES, *((ask.supply_voltage,) if ask.supply_voltage else ()))
    at_voltages = tuple(_at(top, voltage, rated) for voltage in sorted(set(asked)))
    next_reading = _next_reading(ask, found) if top.probability < _SURE else None
    matching, trim = _matching(ask, top)
    return IdentificationAnswer(
        built_in_resistance=inside.resistance,
        built_in_resistance_low=min(top.resistance_low, inside.resistance),
        built_in_resistance_high=max(top.resistance_high, inside.resistance),
        forward_voltage=inside.forward_voltage,
        built_in_series_count=top.count,
        led_family=top.kind.family,
        certainty=top.probability,
        next_reading=next_reading,
        at_voltages=at_voltages,
        matching_resistance=matching,
        findings=_findings(ask, found, rated, next_reading, matching, trim),
        working=_working(ask, top),
        sources=tuple(dict.fromkeys((*_SOURCES, *(ask.led.sources if ask.led else ())))),
    )


def _at(guess: Guess, voltage: float, rated: float) -> AtVoltage:
    """Return how the light does on one supply voltage."""
    current = guess.best.current(voltage)
    part = current / rated
    if part < 0.02:
        verdict = "dark"
    elif part < 0.5:
        verdict = "dim"
    elif part <= 1.05:
        verdict = "good"
    elif part <= USUAL_LIMIT:
        verdict = "above its rating"
    else:
        verdict = "too much"
    return AtVoltage(voltage, current, part, part**EYE_EXPONENT, verdict)


def _in_words(guess: Guess) -> str:
    """Return an inside as one would say it."""
    number = {1: "one LED", 2: "two LEDs", 3: "three LEDs"}.get(guess.count, f"{guess.count} LEDs")
    return f"{number} ({led_families()[guess.kind.family].name}) and {ohms(guess.best.resistance)}"


def _next_reading(ask: IdentificationAsk, found: Sequence[Guess]) -> NextReading | None:
    """Return the voltage at which the two likeliest insides differ most, safe for both."""
    if len(found) < 2:
        return None
    first, second = found[0].best, found[1].best
    clues = clues_of(ask)
    printed = max(
        (each for each in (ask.rated_voltage, ask.rated_voltage_max) if each is not None), default=0.0
    )
    highest = max([printed, *(clue.voltage for clue in clues)])
    best, apart = None, 0.0
    for voltage in (2.0, 3.0, 4.5, 5.0, 6.0, 7.5, 9.0, 12.0, 24.0):
        measured = any(abs(reading.voltage - voltage) < 0.3 for reading in ask.readings)
        if voltage > highest * 1.001 or measured:
            continue
        one, other = first.current(voltage), second.current(voltage)
        difference = abs(one - other) / (METER_SPREAD * max(one, other) + 2e-4)
        if difference > apart:
            best, apart = voltage, difference
    if best is None:
        return None
    one, other = first.current(best), second.current(best)
    return NextReading(
        voltage=best,
        current_low=min(one, other),
        current_high=max(one, other),
        why=f"At {volts(best)} {_in_words(found[0])} take {milliamps(one)}, "
        f"{_in_words(found[1])} {milliamps(other)}.",
    )


def _voltage_to_match(ask: IdentificationAsk) -> float | None:
    """Return the supply on which bare and pre-wired light hang side by side."""
    if ask.supply_voltage is not None:
        return ask.supply_voltage
    if ask.rated_voltage is not None or ask.rated_voltage_max is not None:
        return ask.rated_voltage if ask.rated_voltage is not None else ask.rated_voltage_max
    return max((reading.voltage for reading in ask.readings), default=None)


def _matching(ask: IdentificationAsk, top: Guess) -> tuple[float | None, tuple[float | None, float | None]]:
    """Return the resistor that lets a bare LED carry the same current, and its two neighbours."""
    voltage = _voltage_to_match(ask)
    if ask.led is None or voltage is None:
        return None, (None, None)
    model = string_model((ask.led,), ask.ambient_temperature)
    current = top.best.current(voltage)
    if current < 1e-5:
        return None, (None, None)
    # Never more than the bare one is rated for, whatever the pre-wired one takes.
    wanted = min(current, model.rated_current)
    left = voltage - model.expected.voltage(wanted)
    if left <= 0:
        return None, (None, None)
    exact = left / wanted
    values = ladder("E24")
    above = preferred_at_least(exact, values)
    below = preferred_below(exact, values)
    near = above
    if below is not None and below * above > exact * exact and wanted == current:
        # The lower neighbour is the nearer one: take it where the LED stands what it brings.
        brings = model.high.current(voltage, below * 0.95)
        if brings <= model.max_forward_current:
            near = below
    return near, (preferred_below(near, values), preferred_above(near, values))


def _findings(
    ask: IdentificationAsk,
    found: Sequence[Guess],
    rated: float,
    next_reading: NextReading | None,
    matching: float | None,
    trim: tuple[float | None, float | None],
) -> tuple[Finding, ...]:
    top = found[0]
    said: list[Finding] = []
    clues = clues_of(ask)
    if top.misfit > _NO_FIT * max(1, len(clues) - 1):
        said.append(finding("readings_disagree", field="readings"))
    if top.probability < _SURE and len(found) > 1:
        where = (
            f"Measure once more at {volts(next_reading.voltage)}"
            if next_reading
            else ("Measure at a second voltage")
        )
        said.append(
            finding(
                "inside_uncertain",
                field="readings",
                certainty=percent(top.probability),
                likeliest=_in_words(top),
                other=_in_words(found[1]),
                measure=where,
            )
        )
    if top.best.resistance < _HARDLY_A_RESISTOR:
        said.append(
            finding("hardly_a_resistor_inside", field="readings", resistance=ohms(top.best.resistance))
        )
    said.extend(_supply_findings(ask, top, rated))
    if matching is not None:
        lower, higher = trim
        said.append(
            finding(
                "match_by_eye",
                field="led",
                resistance=ohms(matching),
                lower=ohms(lower or matching),
                higher=ohms(higher or matching),
            )
        )
    elif ask.led is not None:
        said.append(finding("no_match_possible", field="led", led=ask.led.name))
    return tuple(said)


def _supply_findings(ask: IdentificationAsk, top: Guess, rated: float) -> list[Finding]:
    """Return what there is to say about the supply the light is meant for."""
    if ask.supply_voltage is None:
        return []
    current = top.best.current(ask.supply_voltage)
    if current > USUAL_LIMIT * rated:
        return [
            finding(
                "prewired_too_much",
                field="supply_voltage",
                voltage=volts(ask.supply_voltage),
                current=milliamps(current),
                rated=milliamps(rated),
            )
        ]
    printed = max(
        (each for each in (ask.rated_voltage, ask.rated_voltage_max) if each is not None), default=None
    )
    if printed is not None and ask.supply_voltage > printed * PRINTED_MARGIN:
        return [
            finding(
                "prewired_above_printed",
                field="supply_voltage",
                highest=volts(ask.supply_voltage),
                printed=volts(printed),
            )
        ]
    return []


def _working(ask: IdentificationAsk, top: Guess) -> tuple[Step, ...]:
    """Return the sum one would do by hand, and what the weighing of all insides made of it."""
    steps = []
    clues = sorted(clues_of(ask), key=lambda clue: clue.voltage)
    inside = top.best
    if len(clues) >= 2 and clues[-1].current > clues[0].current:
        first, last = clues[0], clues[-1]
        slope = (last.voltage - first.voltage) / (last.current - first.current)
        steps.append(
            Step(
                what="Two readings by hand: more volts over more current, less some "
                f"{_LED_ITSELF:g} Ω of the LED itself",
                equation=f"R = ΔV / ΔI − {_LED_ITSELF:g} Ω",
                values=f"({volts(last.voltage)} − {volts(first.voltage)}) / "
                f"({milliamps(last.current)} − {milliamps(first.current)}) − {_LED_ITSELF:g} Ω",
                result=ohms(max(0.0, slope - _LED_ITSELF)),
            )
        )
    elif clues:
        clue = clues[0]
        lit = inside.forward_voltage * top.count
        steps.append(
            Step(
                what="One reading by hand: the volts the LEDs leave, over the current",
                equation="R = (V − n·V_F) / I",
                values=f"({volts(clue.voltage)} − {volts(lit)}) / {milliamps(clue.current)}",
                result=ohms(max(0.0, (clue.voltage - lit) / max(clue.current, 1e-6))),
            )
        )
    steps.append(
        Step(
            what="All insides weighed against the readings, by their curves and by how usual they are",
            equation="P(inside | readings) ∝ P(readings | inside) · P(inside)",
            values=counted(len(clues), "reading or printed figure", "readings or printed figures"),
            result=f"{_in_words(top)}, {percent(top.probability)} certain",
        )
    )
    return tuple(steps)
