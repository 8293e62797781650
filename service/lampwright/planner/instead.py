"""What to send in place of a resistor, a row or a current that will not do: only what would.

A finding's suggestion is merged into the request and sent again. It must be accepted and mend what the
finding is about; where nothing of the kind does, there is none.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lampwright.planner.models.circuits import StringAsk
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.strings import Corners, StringModel, hottest_dissipation, rating_for, string_currents
from lampwright.tables.resistors import usual_ratings


@dataclass(frozen=True, slots=True)
class Instead:
    """The resistor to send in place of one that will not do, and what it would have to stand."""

    string: StringAsk
    model: StringModel
    supply: Supply
    ambient_temperature: float
    resistance: float

    def currents(self) -> Corners:
        """Return the currents it would let flow."""
        string = self.string
        return string_currents(
            self.model, self.supply, self.resistance, string.tolerance, string.branch_count
        )

    def rating(self) -> float | None:
        """Return the watts it has to be made for, None where no usual one stays cool enough."""
        string, currents = self.string, self.currents()
        heat = hottest_dissipation(
            self.model, self.supply, self.resistance, string.tolerance, string.branch_count, currents.high
        )
        fresh = currents.fresh * currents.fresh * self.resistance
        return rating_for(heat, self.ambient_temperature, fresh)

    def members(self, least: float = 0.0) -> dict[str, object]:
        """Return what to send, the watts too where those there are too few.

        Nothing where it would have to stand more than a resistor can, or would let less than ``least`` flow.
        """
        needed = self.rating()
        if needed is None or self.currents().expected < least:
            return {}
        if needed > (self.string.rated_dissipation or usual_ratings()[0]):
            return {"resistance": self.resistance, "rated_dissipation": needed}
        return {"resistance": self.resistance}


def fewer_lights(
    leds: tuple[Led, ...], model: StringModel, supply: Supply, wanted: float, behind: float
) -> int:
    """Return how many of a row's lights, from the first, leave a fifth of the supply for the resistor.

    0 where not even one does, or where the supply's own resistance takes that fifth.
    """
    enough = 0
    for fewer in range(1, len(leds)):
        # Without the smallest lights the others may be wanted at more.
        current = max(wanted, min(led.rated_current for led in leds[:fewer]))
        left = supply.supply_voltage - sum(light.voltage(current) for light in model.lights[:fewer])
        if left < 0.2 * supply.supply_voltage or left <= behind * current:
            break
        enough = fewer
    return enough


def rounded_down(current: float) -> float:
    """Return a current with one digit, never more than it was.

    >>> rounded_down(0.00196), rounded_down(0.0005), rounded_down(0.0)
    (0.001, 0.0005, 0.0)
    """
    if current <= 0:
        return 0.0
    step = 10.0 ** math.floor(math.log10(current))
    return float(f"{math.floor(current / step * (1 + 1e-9)) * step:.1g}")
