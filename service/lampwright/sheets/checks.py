"""Expected readings: where the tips go, what is good, and what zero, low and high mean."""

from __future__ import annotations

from lampwright.physics.diodes import forward_voltage, string_current
from lampwright.physics.heating import thermal_resistance, touch_temperature
from lampwright.physics.resistors import dissipation
from lampwright.planner.cautions import HAND_WARM
from lampwright.planner.labels import rows_in
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.models.parts import Led
from lampwright.planner.together import CORNERS
from lampwright.records import altered
from lampwright.sheets.bench import SMALL_RESISTANCE, Bench, Row, Solved, fades, names_of, solve
from lampwright.sheets.fault_words import rechargeable
from lampwright.sheets.faults import rows_tried
from lampwright.sheets.meanings import TRUNK, Band, Meanings, at_light, at_resistor, at_trunk
from lampwright.sheets.metering import checks_of, readings
from lampwright.sheets.wording import listed, span_words

TOTAL_BAND = 0.15  # accepted around a sum of rows (common practice, no source)
METER = 0.01  # what a common hand-held meter may be off, of its reading (common practice, no source)
BENCH_AIR = 25.0  # °C, where the finished build is touched
LABEL = 0.05  # a regulated adapter keeps to its printed volts so well (common practice, no source)
#: Cells fresh from the pack lie so far above what a pack counts as fresh: 1.65 V an alkaline cell
#: [FUSPOWER-LR6, clause 5, 1.56 V to 1.65 V], where the table has 1.6 V.
FRESHEST = 0.03


def bench_checks(bench: Bench) -> tuple[BenchCheck, ...]:
    """Return every reading in the order one takes them, bands from the circuit's own corners."""
    bands = bands_of(bench)
    trunk = at_trunk(bench, {check: bands[check] for check in TRUNK})
    tried = rows_tried(bench)
    lights: dict[tuple[int, Led], Meanings] = {}
    found = []
    for check in checks_of(bench):
        if check.startswith("led_"):
            place, at = (int(part) for part in check.split("_")[1:])
            key = (place, bench.rows[place].leds[at])
            if key not in lights:
                lights[key] = at_light(bench, place, at, bands[check], exact=place in tried)
            tips = f"across {names_of(bench, place, at)}, lights on"
            found.append(_check(check, tips, bands[check], lights[key]))
        elif check.startswith("resistor_"):
            place = int(check.split("_")[1])
            means = at_resistor(bench, place, bands[check], exact=place in tried)
            found.append(_resistor_check(bench, place, bands[check], means))
        else:
            found.append(_check(check, _trunk_tips(bench, check), bands[check], trunk[check]))
    found.append(_touch_check(bench))
    return tuple(found)


def bands_of(bench: Bench) -> dict[str, Band]:
    """Return least, expected and most of every reading, the meter's own error counted in."""
    low, expected, high = (readings(bench, corner) for corner in CORNERS)
    states = {corner: solve(bench, corner) for corner in ("low", "high")}
    other = _turned(bench)
    turned = {corner: solve(other, corner) for corner in ("low", "high")}
    lights: dict[tuple[int, Led], tuple[float, float]] = {}
    found = {}
    for check in checks_of(bench):
        middle = expected[check]
        least, _, most = sorted((low[check], middle, high[check]))
        if check.startswith("led_"):
            place, at = (int(part) for part in check.split("_")[1:])
            key = (place, bench.rows[place].leds[at])
            if key not in lights:
                lights[key] = _light_band(bench, states, place, at)
            least, most = lights[key]
        elif check.startswith("resistor_"):
            place = int(check.split("_")[1])
            least, most = _resistor_band(bench.rows[place], turned, place)
        elif check == "total_current":  # wide enough to hold the meter's error as well
            found[check] = (
                min(least, middle * (1 - TOTAL_BAND)),
                middle,
                max(most, middle * (1 + TOTAL_BAND)),
            )
            continue
        else:
            least, most = _wider(bench, least, most)
        # Where the source sags a lot, turning every row at once can pass what is expected of this one.
        found[check] = (min(least, middle) * (1 - METER), middle, max(most, middle) * (1 + METER))
    return found


def _wider(bench: Bench, least: float, most: float) -> tuple[float, float]:
    """Return the bounds of the supply's own voltage, as wide as real ones are where nothing was said."""
    if fades(bench.supply):
        return least, most * (1 + (0.0 if rechargeable(bench) else FRESHEST))
    if bench.volts["low"] < bench.volts["high"]:
        return least, most
    return least * (1 - LABEL), most * (1 + LABEL)


def _turned(bench: Bench) -> Bench:
    """Return the bench with every resistor at the other end of its tolerance.

    At a given voltage a higher resistor gets more volts and less current, so for volts the tolerance
    goes the other way than for the corners of current.
    """
    return altered(bench, rows=tuple(altered(row, tolerance=-row.tolerance) for row in bench.rows))


def _resistor_band(row: Row, turned: dict[str, Solved], place: int) -> tuple[float, float]:
    """Return the least and most volts over a resistor."""
    low, high = turned["low"].currents[place], turned["high"].currents[place]
    return low * row.resistance * (1 - row.tolerance), high * row.resistance * (1 + row.tolerance)


def _light_band(bench: Bench, states: dict[str, Solved], place: int, at: int) -> tuple[float, float]:
    """Return the least and most volts over one light: it at one end of its bag, the others at the other."""
    row = bench.rows[place]
    if row.reversed:
        return 0.0, 0.0

    def across(mine: str, others: str, supply: str) -> float:
        """Return volts over the light; ``others`` is the corner of the rest of its row."""
        volts = states[supply].parting - states[supply].currents[place] * row.loop * row.count
        own, inner = row.lights[mine][at]
        rest = [light for other, light in enumerate(row.lights[others]) if other != at]
        ohms = row.resistance * (1 - row.tolerance if supply == "high" else 1 + row.tolerance)
        before = ohms + sum(light[1] for light in rest)
        diodes = (*own, *(diode for light in rest for diode in light[0]))
        current = string_current(volts, diodes, max(before + inner, SMALL_RESISTANCE))
        return sum(forward_voltage(diode, current) for diode in own) + inner * current

    if len(row.leds) == 1 and not row.resistance:  # nothing else in the row: it gets all there is
        return _wider(bench, across("high", "low", "low"), across("low", "high", "high"))
    # The high corner of current has the lights of lowest voltage, and the other way round.
    return across("high", "low", "low"), across("low", "high", "high")


def _check(check: str, tips: str, band: Band, means: Meanings) -> BenchCheck:
    least, middle, most = band
    found = BenchCheck(
        check,
        tips,
        zero_means=means.zero,
        low_means=means.low,
        high_means=means.high,
        good_but=means.good_but,
    )
    if check == "total_current":
        return altered(found, current=middle, current_low=least, current_high=most)
    return altered(found, voltage=middle, voltage_low=least, voltage_high=most)


def _trunk_tips(bench: Bench, check: str) -> str:
    far = bench.rows[bench.far]
    end = f"far end of {far.run}" if far.run else f"where row {far.first} begins"
    return {
        "supply_off": "supply leads, lights off",
        "supply_on": "supply leads, lights on",
        "after_switch": "S1's other lug and minus, lights on",
        "far_end": f"{end}, lights on",
        "total_current": "once: S1 off, meter on mA across its lugs",
    }[check]


def _resistor_check(bench: Bench, place: int, band: Band, means: Meanings) -> BenchCheck:
    row = bench.rows[place]
    each = f"each of R-{span_words(row.row)}" if row.count > 1 else f"R-{row.first}"
    found = _check(f"resistor_{place}", f"across {each}, lights on", band, means)
    least, middle, most = (volts / row.resistance for volts in band)
    return altered(found, current=middle, current_low=least, current_high=most)


def _ends(span: str) -> tuple[str, ...]:
    """Return the first and the last row of a span, one row once."""
    rows = rows_in(span)
    return tuple(dict.fromkeys((rows[0], rows[-1])))


def _hot(row: Row, current: float) -> bool:
    """Return whether a row's resistor is meant to get more than hand-warm: nothing to put a finger on."""
    if not (row.resistance and row.rated_dissipation):
        return False
    heat = thermal_resistance(row.rated_dissipation)
    return touch_temperature(BENCH_AIR, dissipation(current, row.resistance), heat) > HAND_WARM


def _touch_check(bench: Bench) -> BenchCheck:
    what = "joints, battery" if bench.supply.battery else "joints, plug"
    currents = solve(bench).currents
    hot = [row for row, current in zip(bench.rows, currents, strict=True) if _hot(row, current)]
    if len(hot) < len(bench.rows):
        what = f"resistors, {what}"
    if hot:
        named = listed(" to ".join(f"R-{row}" for row in _ends(each.row)) for each in hot)
        what += f"; not {named}: made to run hotter"
    return BenchCheck(
        "touch",
        f"60 min on, off, touch {what}",
        high_means="stop: check values, watts",
    )
