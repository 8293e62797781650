"""Likely slips: figures that are sound one by one, and together look like two that changed places.

A slip is refused with the value to send, never mended in silence. Each rule fires only where the figures as
sent describe nothing that is made, and exchanged something that is: a fair question with a bad outcome (a
supply below the light's voltage) is answered, not refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from lampwright.contract.fields import HIGHEST_VOLTS, plain_number
from lampwright.errors import ContradictionError

Loaded = Mapping[str, Any]

#: No single LED needs more at so little current; chips in series are made for more of it.
LONG_LIGHT = 5.0
LITTLE_CURRENT = 5.0
#: No LED is lit on less.
LEAST_VOLTS = 0.8
#: A supply of no more than this beside a light of more than ``LONG_LIGHT`` is a light and a supply swapped.
SMALL_SUPPLY = 4.0
#: Printed on pre-wired lights: these volts, and these milliamperes (common practice, no source).
USUAL_VOLTS = (3.0, 4.5, 5.0, 6.0, 9.0, 12.0, 24.0)
USUAL_MILLIAMPS = (20.0, 25.0, 30.0)
#: The smallest fuse that is sold, in mA; a figure below it is in amperes.
SMALLEST_FUSE = 20.0
#: Only a coin cell is good for less than this, in mA; it gives no more volts than the next.
SMALLEST_LIMIT = 5.0
COIN_CELL = 3.3
#: A meter that shows less, in mA, while a light is lit was read in amperes.
SMALLEST_READING = 0.1
#: A reading so many times above the printed volts is no reading of volts.
_ABOVE_PRINTED = 1.5


class within:  # noqa: N801 - reads as a verb where it is used
    """Say of a contradiction inside a member where the member stands in the request."""

    def __init__(self, *steps: str | int) -> None:
        self.steps = steps

    def __enter__(self) -> None:
        """Nothing to prepare."""

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        """Put the place before the member's own path."""
        if isinstance(error, ContradictionError):
            error.move(".".join(map(str, self.steps)))


def swapped(one: str, value: float, other: str, other_value: float, detail: str) -> ContradictionError:
    """Return the refusal of two members that look exchanged, each with the value to send."""
    beside = ContradictionError(
        other, "looks like the other one's value", f"did you mean {plain_number(value)}?", value
    )
    hint = f"were the two swapped? Then send {plain_number(other_value)}"
    return ContradictionError(one, detail, hint, other_value, beside)


def _vouched(members: Loaded, stem: str) -> bool:
    """Return whether a spread beside some volts speaks for them: three figures do not slip at once."""
    return f"{stem}_min" in members or f"{stem}_max" in members


def check_light(light: Loaded) -> None:
    """Refuse a light whose volts and milliamperes changed places.

    Raises
    ------
    ContradictionError
        With both values to send.
    """
    volts = light.get("forward_voltage")
    # A large light may be wanted dim: what it is rated at comes first.
    stem = "rated_current" if "rated_current" in light else "forward_current"
    milliamps = light.get(stem)
    if volts is not None and milliamps is not None and volts > LONG_LIGHT and milliamps <= LITTLE_CURRENT:
        most = light.get("max_forward_current", volts)
        if milliamps >= LEAST_VOLTS and volts <= most and not _vouched(light, "forward_voltage"):
            detail = f"no LED has {volts:g} V at {milliamps:g} mA"
            raise swapped("forward_voltage", volts, stem, milliamps, detail)
    rated, limit = light.get("rated_current"), light.get("max_forward_current")
    if rated is not None and limit is not None and limit < rated:
        detail = f"{limit:g} mA is below the {rated:g} mA the light is rated at"
        raise swapped("max_forward_current", limit, "rated_current", rated, detail)
    check_printed(light)


def check_printed(light: Loaded) -> None:
    """Refuse printed volts and milliamperes that changed places: 20 V at 12 mA for 12 V at 20 mA."""
    volts, milliamps = light.get("rated_voltage"), light.get("rated_current")
    if volts in USUAL_MILLIAMPS and milliamps in USUAL_VOLTS and not _vouched(light, "rated_voltage"):
        detail = f"no light is printed {volts:g} V and {milliamps:g} mA"
        raise swapped("rated_voltage", volts, "rated_current", milliamps, detail)


def check_supply(supply: Loaded, place: str, lights: Iterable[tuple[str, object]]) -> None:
    """Refuse a limit in amperes where milliamperes are meant, and volts that changed places with a light's.

    Parameters
    ----------
    supply : mapping
        The members of the supply.
    place : str
        Where they stand, with a dot at its end; empty where they stand flat.
    lights : iterable of (str, object)
        Where each light stands, in the same way, and its members (or its id).
    """
    volts, limit = supply.get("supply_voltage"), supply.get("current_limit")
    if volts is None:
        return
    if limit is not None and limit < SMALLEST_LIMIT and volts > COIN_CELL:
        raise ContradictionError(
            f"{place}current_limit",
            f"no {volts:g} V supply for lights is good for only {limit:g} mA",
            f"did you mean {plain_number(limit * 1000)} mA?",
            limit * 1000,
        )
    if not LEAST_VOLTS <= volts <= SMALL_SUPPLY or _vouched(supply, "supply_voltage"):
        return
    for at, light in lights:
        if not isinstance(light, Mapping) or _vouched(light, "forward_voltage"):
            continue
        needed = light.get("forward_voltage")
        if needed is not None and needed >= LONG_LIGHT:
            detail = f"no LED of {needed:g} V is run on {volts:g} V"
            raise swapped(f"{at}forward_voltage", needed, f"{place}supply_voltage", volts, detail)


def check_fuse(rated_current: float | None) -> None:
    """Refuse a fuse in amperes where milliamperes are meant."""
    if rated_current is not None and 0 < rated_current < SMALLEST_FUSE:
        likely = rated_current * 1000
        raise ContradictionError(
            "rated_current",
            f"no fuse is made for {rated_current:g} mA",
            f"did you mean {plain_number(likely)} mA?",
            likely,
        )


def check_sold(rated_current: float, sold: Iterable[float]) -> None:
    """Refuse a fuse of a rating that is not sold; ``sold`` are those that are, in A."""
    nearest = sorted({each * 1000 for each in sold}, key=lambda each: abs(math.log(each / rated_current)))
    if not math.isclose(nearest[0], rated_current, rel_tol=1e-6):
        near = [plain_number(round(each, 3)) for each in sorted(nearest[:2])]
        raise ContradictionError(
            "rated_current",
            f"no such fuse of {rated_current:g} mA is sold",
            f"next to it are {' and '.join(near)} mA",
            nearest[0],
        )


def check_readings(readings: list[dict[str, Any]], printed: float | None) -> None:
    """Refuse readings in amperes, and readings whose volts and milliamperes changed places."""
    for at, reading in enumerate(readings):
        volts, milliamps = reading["voltage"], reading["current"]
        if printed is not None and volts > _ABOVE_PRINTED * printed and milliamps <= _ABOVE_PRINTED * printed:
            with within("readings", at):
                detail = f"{volts:g} V is far above the printed {printed:g} V"
                raise swapped("voltage", volts, "current", milliamps, detail)
    amperes = [reading for reading in readings if 0 < reading["current"] < SMALLEST_READING]
    if amperes and len(amperes) == len(readings):
        likely = readings[0]["current"] * 1000
        raise ContradictionError(
            "readings.0.current",
            f"{readings[0]['current']:g} mA is too little for a light that is lit",
            f"did the meter show amperes? Then send {plain_number(likely)}",
            likely,
        )
    high = _below_nothing(readings)
    if high is None:
        return
    volts, milliamps = readings[high]["voltage"], readings[high]["current"]
    exchanged = list(readings)
    exchanged[high] = {**readings[high], "voltage": milliamps, "current": volts}
    if milliamps <= HIGHEST_VOLTS and _below_nothing(exchanged) is None:
        with within("readings", high):
            detail = "at no current the readings leave less than no voltage"
            raise swapped("voltage", volts, "current", milliamps, detail)


def _below_nothing(readings: list[dict[str, Any]]) -> int | None:
    """Return the highest reading where the line through it and the lowest leaves no volts for an LED.

    At no current an LED is left with volts of its own; a line through the readings must end above zero.
    """
    order = sorted(range(len(readings)), key=lambda at: readings[at]["voltage"])
    low, high = readings[order[0]], readings[order[-1]]
    if not 0 < low["current"] < high["current"] or low["voltage"] >= high["voltage"]:
        return None
    rise = (high["voltage"] - low["voltage"]) / (high["current"] - low["current"])
    below = low["voltage"] - rise * low["current"] < 0 < low["current"] - low["voltage"] / rise - 1
    return order[-1] if below else None
