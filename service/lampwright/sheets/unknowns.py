"""What readings of a finished build can tell: its unknown part values, and the circuit they make.

Each unknown is counted in standard deviations of what was known before. Parts out of one bag are more
like each other than like the printed value, so lights of one kind share most of their shift.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from lampwright.physics.diodes import Diode
from lampwright.planner.models.parts import Led
from lampwright.planner.together import CORNERS
from lampwright.sheets.bench import Bench, Light, Row, solve
from lampwright.sheets.metering import readings

EVEN = math.sqrt(3.0)  # a part is taken to lie evenly within its tolerance: its deviation over this
OWN_SHARE = 0.5  # how far one part of a bag may be off the bag, of the whole (common practice, no source)
BAG_SHARE = math.sqrt(1 - OWN_SHARE**2)
SUPPLY_DOUBT = 0.1  # adapters are this far off their label (common practice, no source)
LEAD_DOUBT = (0.3, 0.1)  # of the wires' own resistance, and Ω for switch, fuse and joints (the same)


def light_doubt(led: Led) -> float:
    """Return the standard deviation of a light's forward voltage, in V, for each LED in it."""
    return (led.forward_voltage_max - led.forward_voltage_min) / 2 / EVEN


def hidden_doubt(led: Led) -> float:
    """Return the standard deviation of a light's hidden resistor, in Ω."""
    return (led.built_in_resistance_high - led.built_in_resistance_low) / 2 / EVEN


@dataclass(frozen=True)
class Unknowns:
    """The unknowns of a bench, numbered: supply first, then resistors, bags of lights, single lights.

    An unknown is named by what it is about, as ("resistor", 2); what has no spread is none.
    """

    bench: Bench
    read_lights: frozenset[tuple[int, int]]

    @cached_property
    def deviations(self) -> dict[tuple[object, ...], float]:
        """Every unknown by its name, with its standard deviation in inner units."""
        bench = self.bench
        volts = [bench.volts[corner] for corner in CORNERS]
        window = max(volts[2] - volts[1], volts[1] - volts[0], SUPPLY_DOUBT * volts[1])
        sources = [bench.source[corner] for corner in CORNERS]
        found: dict[tuple[object, ...], float] = {
            ("supply",): window / EVEN,
            ("source",): max(sources[0] - sources[1], sources[1] - sources[2]) / EVEN,
            ("leads",): LEAD_DOUBT[0] * bench.main_loop + LEAD_DOUBT[1],
        }
        for place, row in enumerate(bench.rows):
            found["resistor", place] = row.tolerance * row.resistance / EVEN
        for led in dict.fromkeys(led for row in bench.rows for led in row.leds):
            found["bag", led] = BAG_SHARE * light_doubt(led)
            found["hidden", led] = hidden_doubt(led)
        for place, row in enumerate(bench.rows):
            for at, led in enumerate(row.leds):
                if (place, at) in self.read_lights:
                    found["light", place, at] = OWN_SHARE * light_doubt(led)
        return {name: deviation for name, deviation in found.items() if deviation > 0}

    @cached_property
    def numbers(self) -> dict[tuple[object, ...], int]:
        """The number of each unknown."""
        return {name: number for number, name in enumerate(self.deviations)}

    @cached_property
    def of_supply(self) -> int:
        """How many unknowns are the supply's and its leads'; they come first."""
        return sum(name[0] in ("supply", "source", "leads") for name in self.deviations)

    def slope(self, *names: tuple[object, ...]) -> list[float]:
        """Return how the sum of some quantities moves with each unknown."""
        found = [0.0] * len(self.numbers)
        for name in names:
            if name in self.numbers:
                found[self.numbers[name]] = self.deviations[name]
        return found

    def _moved(self, values: Sequence[float], *name: object) -> float:
        number = self.numbers.get(name)
        return 0.0 if number is None else values[number] * self.deviations[name]

    def shift(self, values: Sequence[float], place: int, at: int) -> float:
        """Return by how many volts one light's LEDs are off."""
        led = self.bench.rows[place].leds[at]
        return self._moved(values, "bag", led) + self._moved(values, "light", place, at)

    def hidden(self, values: Sequence[float], led: Led) -> float:
        """Return a light's hidden resistor; never none."""
        return max(led.built_in_resistance + self._moved(values, "hidden", led), 0.0)

    def resistance(self, values: Sequence[float], place: int) -> float:
        """Return a row's resistor; a part with a value never has none."""
        stated = self.bench.rows[place].resistance
        return max(stated + self._moved(values, "resistor", place), 0.01 * stated)

    def supply_voltage(self, values: Sequence[float]) -> float:
        """Return the supply's voltage with nothing on it."""
        return self.bench.volts["expected"] + self._moved(values, "supply")

    def source_resistance(self, values: Sequence[float]) -> float:
        """Return what is behind the supply's voltage, in Ω."""
        return max(self.bench.source["expected"] + self._moved(values, "source"), 0.0)

    def main_loop(self, values: Sequence[float]) -> float:
        """Return the resistance of the main run with its joints; no less than the wire's own."""
        return self.bench.main_loop + max(self._moved(values, "leads"), -0.3 * self.bench.main_loop)

    def _light(self, values: Sequence[float], place: int, at: int) -> Light:
        row = self.bench.rows[place]
        diodes, _ = row.lights["expected"][at]
        shift = self.shift(values, place, at)
        # A spread of forward voltage is one of the saturation current: the same at every current.
        moved = tuple(
            Diode(
                diode.emission_voltage,
                diode.log_saturation_current - shift / diode.emission_voltage,
                diode.series_resistance,
            )
            for diode in diodes
        )
        return moved, self.hidden(values, row.leds[at])

    def _row(self, values: Sequence[float], place: int, row: Row) -> Row:
        lights: Mapping[str, tuple[Light, ...]] = {
            "expected": tuple(self._light(values, place, at) for at in range(len(row.leds)))
        }
        return replace(row, lights=lights, resistance=self.resistance(values, place))

    def bench_with(self, values: Sequence[float]) -> Bench:
        """Return the bench with these parts; it has the expected corner alone."""
        rows = tuple(self._row(values, place, row) for place, row in enumerate(self.bench.rows))
        return replace(
            self.bench,
            rows=rows,
            main_loop=self.main_loop(values),
            volts={"expected": self.supply_voltage(values)},
            source={"expected": self.source_resistance(values)},
        )

    def outputs(self, values: Sequence[float], checks: Sequence[str]) -> list[float]:
        """Return what the meter would show at some checks, then each row's current, then all of it."""
        bench = self.bench_with(values)
        shown = readings(bench)
        state = solve(bench)
        return [*(shown[check] for check in checks), *state.currents, state.total]
