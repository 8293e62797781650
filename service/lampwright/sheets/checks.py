"""Expected readings: where the tips go, what is good, and what zero, low and high mean."""

from __future__ import annotations

from dataclasses import replace

from lampwright.physics.diodes import forward_voltage
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.together import CORNERS
from lampwright.sheets.bench import Bench, Row, Solved, checks_of, names_of, readings, solve
from lampwright.sheets.wording import span_words

TOTAL_BAND = 0.15  # accepted around a sum of rows (common practice, no source)


def bench_checks(bench: Bench) -> tuple[BenchCheck, ...]:
    """Return every reading in the order one takes them, bands from the circuit's own corners."""
    low, expected, high = (readings(bench, corner) for corner in CORNERS)
    states = {corner: solve(bench, corner) for corner in ("low", "high")}
    other = _turned(bench)
    turned = {corner: solve(other, corner) for corner in ("low", "high")}
    found = []
    for check in checks_of(bench):
        spread = sorted((low[check], expected[check], high[check]))
        if check.startswith("led_"):
            place, at = (int(part) for part in check.split("_")[1:])
            spread[0], spread[2] = _light_band(bench.rows[place], states, place, at)
            found.append(_light_check(bench, place, at, expected[check], spread))
        elif check.startswith("resistor_"):
            place = int(check.split("_")[1])
            least, most = _resistor_band(bench.rows[place], turned, place)
            # Where the source sags a lot, turning every row at once can pass what is expected of this one.
            band = (min(least, expected[check]), max(most, expected[check]))
            found.append(_resistor_check(bench, place, expected[check], band))
        elif check == "total_current":
            found.append(_total_check(expected[check], spread))
        else:
            found.append(_supply_check(bench, check, expected[check], spread))
    found.append(_touch_check(bench))
    return tuple(found)


def _turned(bench: Bench) -> Bench:
    """Return the bench with every resistor at the other end of its tolerance.

    At a given voltage a higher resistor gets more volts and less current, so for volts the tolerance
    goes the other way than for the corners of current.
    """
    return replace(bench, rows=tuple(replace(row, tolerance=-row.tolerance) for row in bench.rows))


def _resistor_band(row: Row, turned: dict[str, Solved], place: int) -> tuple[float, float]:
    """Return the least and most volts over a resistor."""
    low, high = turned["low"].currents[place], turned["high"].currents[place]
    return low * row.resistance * (1 - row.tolerance), high * row.resistance * (1 + row.tolerance)


def _light_band(row: Row, states: dict[str, Solved], place: int, at: int) -> tuple[float, float]:
    """Return the least and most volts over one light: lowest part at least current, and the reverse."""
    if row.reversed:
        return 0.0, 0.0
    least, most = states["low"].currents[place], states["high"].currents[place]

    def across(corner: str, current: float) -> float:
        diodes, inner = row.lights[corner][at]
        return sum(forward_voltage(diode, current) for diode in diodes) + inner * current

    # The high corner of current has the lights of lowest voltage, and the other way round.
    return min(across("high", least), across("low", least)), max(across("low", most), across("high", most))


def _supply_check(bench: Bench, check: str, expected: float, spread: list[float]) -> BenchCheck:
    battery = bool(bench.supply.battery)
    words = {
        "supply_off": (
            "supply plus and minus, lights off",
            "dead, or a holder contact is open" if battery else "not plugged in, or dead",
            "used or cold cells" if battery else "wrong supply",
            "wrong pack or charger on: off" if battery else "wrong supply: off",
        ),
        "supply_on": (
            "supply plus and minus, lights on",
            "a short: off at once",
            "too much load, or weak cells" if battery else "too much load for this supply",
            "lights are not connected" if battery else "wrong supply: off",
        ),
        "after_switch": (
            "behind S1 and supply minus, lights on",
            "F1, S1 or a joint before here is open"
            if bench.fuse_rated_current
            else "S1 or a joint before here is open",
            "poor contact there",
            "wrong supply: off",
        ),
        "far_end": (
            f"where row {bench.rows[bench.far].first} begins, plus and minus, lights on",
            "a wire is broken",
            "poor joint, thin wire",
            "wrong supply: off",
        ),
    }[check]
    return BenchCheck(
        check,
        words[0],
        voltage=expected,
        voltage_low=spread[0],
        voltage_high=spread[2],
        zero_means=words[1],
        low_means=words[2],
        high_means=words[3],
    )


def _resistor_check(bench: Bench, place: int, expected: float, band: tuple[float, float]) -> BenchCheck:
    row = bench.rows[place]
    each = f"each of R-{span_words(row.row)}" if row.count > 1 else f"R-{row.first}"
    current = expected / row.resistance
    return BenchCheck(
        f"resistor_{place}",
        f"across {each}, lights on",
        voltage=expected,
        voltage_low=band[0],
        voltage_high=band[1],
        current=current,
        current_low=band[0] / row.resistance,
        current_high=band[1] / row.resistance,
        zero_means="its row is open, or a light in it is the wrong way round",
        low_means="resistor value too high, or a weak supply",
        high_means="a light is shorted: off. Nearly full supply: resistor open",
    )


def _light_check(bench: Bench, place: int, at: int, expected: float, spread: list[float]) -> BenchCheck:
    label = names_of(bench, place, at)
    return BenchCheck(
        f"led_{place}_{at}",
        f"across {label}, lights on",
        voltage=expected,
        voltage_low=spread[0],
        voltage_high=spread[2],
        zero_means="it is shorted, or its row is open elsewhere",
        low_means="little current: check resistor, supply",
        high_means="nearly full supply: it is open or the wrong way round",
    )


def _total_check(expected: float, spread: list[float]) -> BenchCheck:
    return BenchCheck(
        "total_current",
        "meter on mA in place of S1, switch open; once",
        current=expected,
        current_low=min(spread[0], expected * (1 - TOTAL_BAND)),
        current_high=max(spread[2], expected * (1 + TOTAL_BAND)),
        zero_means="meter's own fuse, F1 or a joint",
        low_means="a row is missing",
        high_means="extra or shorted row: off",
    )


def _touch_check(bench: Bench) -> BenchCheck:
    what = "resistors, joints, battery" if bench.supply.battery else "resistors, joints, supply"
    return BenchCheck(
        "touch",
        f"touch {what}: 60 min on, then off",
        high_means="stop: check values, watts",
    )
