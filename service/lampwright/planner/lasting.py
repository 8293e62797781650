"""How long a battery feeds its load, and why it ends: the figures, before any judgement.

An event is over at the first of: the first row at the chosen part of its light, the cut-off asked for (or
the voltage at which such a battery counts as empty), the load that can no longer be fed, a bank asleep.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate

from lampwright.physics.discharge import Discharge, discharge
from lampwright.physics.loads import Converter
from lampwright.planner.feeding import Feeding, Lights, brightness_at, dark_voltage, feeding, stop_voltage
from lampwright.planner.models.energy import Curve, RuntimeAsk, RuntimeFigures
from lampwright.records import altered, quickly_made
from lampwright.tables.batteries import BatteryFigure

#: A bank with too little to do switches off after this long (two models: 30 s and 60 s). [s]
BANK_TIMEOUT = 30.0
#: Part of the runtime a set is used for before it is swapped (common practice, no source).
SET_USED = 0.8
CURVE_POINTS = 200
FADE_POINTS = 40
_DAY = 86400.0
#: Of what rests on memory in the cold, the low end of the hours gives way: per kelvin below 10 °C.
_COLD_DOUBT = 0.01


@quickly_made
@dataclass(frozen=True, slots=True)
class Lasting:
    """Times in use [s] and how they come about; ``at_once`` says why nothing runs at all, or ""."""

    runtime: float
    runtime_low: float
    runtime_high: float
    to_cutoff: float
    to_dark: float | None
    ended_by: str
    at_once: str
    start_voltage: float
    start_current: float
    cut_off: float
    end_voltage: float
    followed: Discharge | None


Spread = tuple[float, float]
NO_SPREAD: Spread = (0.0, 0.0)


def lasting(fed: Feeding, ask: RuntimeAsk, *, to_dark: bool = True, spread: Spread = NO_SPREAD) -> Lasting:
    """Return the times of a discharge; without ``to_dark`` it is followed no further than needed.

    ``spread`` is what the lights' own spread takes from the hours, and adds, as parts of them: it joins
    the battery's as independent spreads do.
    """
    bank = fed.kind.form == "bank"
    usual = fed.figures["stop_voltage"].value * fed.cells_in_series
    # A bank's cell stops inside; at its terminals there is 5 V or nothing.
    cut_off = fed.pack_stop if bank else usual if ask.stop_at is None else ask.stop_at
    if isinstance(fed.outer, Converter) and not bank:
        # Below its dropout a converter puts out nothing at all.
        cut_off = max(cut_off, fed.outer.input_at(0.0))
    by_light = stop_voltage(fed, ask.stop_at_brightness) if fed.rows and not bank else 0.0
    end_voltage = max(cut_off, by_light)
    start = fed.load.solve(fed.pack.open_circuit_voltage(0.0), fed.pack.source_resistance(0.0), fed.nominal)
    at_once = _at_once(fed, ask, start and start[1], cut_off, end_voltage)
    current, voltage = (0.0, 0.0) if start is None else start[:2]
    if fed.terminal is not None:
        voltage = fed.terminal
        current = fed.load.load.current_at(voltage)  # type: ignore[attr-defined]
    if at_once:
        ended = {"never_lights": "brightness", "dim": "brightness", "cutoff": "cutoff"}.get(
            at_once, "overload"
        )
        return Lasting(0, 0, 0, 0, 0, ended, at_once, max(voltage, 0.0), current, cut_off, end_voltage, None)
    dark = dark_voltage(fed) if fed.rows and not bank and to_dark else None
    stops = [end_voltage, cut_off]
    if dark:
        # A protected or rechargeable battery is cut off, not drained to the last glow.
        stops.append(max(dark, cut_off) if fed.kind.rechargeable else dark)
    if not to_dark:
        stops = [end_voltage]
    session = min(1.0, max(ask.hours_per_day, 1.0) / _DAY)
    followed = discharge(fed.pack, fed.load, stops, ask.duty, session, curve=to_dark)
    passed = [followed.end if passing is None else passing for passing in followed.passings]
    runtime = passed[0].time
    if followed.passings[0] is None:
        ended = "overload" if followed.ended_by == "collapse" else "empty"
    elif by_light > cut_off:
        ended = "brightness"
    else:
        ended = "cutoff" if ask.stop_at is not None and not bank else "empty"
    low, high = _band(fed, ask, runtime, spread)
    if bank and _asleep(fed, ask, current):
        runtime, low, high = (min(each, BANK_TIMEOUT) for each in (runtime, low, high))
        ended = "asleep"
    return Lasting(
        runtime=runtime,
        runtime_low=low,
        runtime_high=high,
        to_cutoff=passed[1].time if to_dark else runtime,
        to_dark=passed[2].time if dark else None,
        ended_by=ended,
        at_once="",
        start_voltage=voltage,
        start_current=current,
        cut_off=cut_off,
        end_voltage=end_voltage,
        followed=followed,
    )


def _band(fed: Feeding, ask: RuntimeAsk, runtime: float, spread: Spread) -> tuple[float, float]:
    """Return low and high hours: how batteries of the type differ, and lights, and what is in doubt."""
    low = runtime * (1.0 - min(math.hypot(1.0 - fed.band_low, spread[0]), 0.95))
    high = runtime * (1.0 + math.hypot(fed.band_high - 1.0, spread[1]))
    low /= 1.0 + _COLD_DOUBT * max(0.0, 10.0 - ask.ambient_temperature)
    if fed.kind.form == "bank":
        share = fed.figures["converter_efficiency"]
        low *= (share.low or share.value) / share.value
        high *= (share.high or share.value) / share.value
    return low, high


def with_spread(found: Lasting, fed: Feeding, ask: RuntimeAsk, spread: Spread) -> Lasting:
    """Return the same times with the lights' spread in their band."""
    if spread == NO_SPREAD:
        return found
    low, high = _band(fed, ask, found.runtime, spread)
    return altered(found, runtime_low=low, runtime_high=high)


def light_spread(ask: RuntimeAsk, runtime: float) -> Spread:
    """Return how much of the hours lights of another bag and resistors off their value take or add."""
    if not ask.strings or runtime <= 0:
        return NO_SPREAD
    parts = []
    for corner in ("high", "low"):
        other = lasting(feeding(ask, corner), ask, to_dark=False).runtime / runtime
        parts.append(other - 1.0)
    return max(0.0, -min(parts)), max(0.0, *parts)


def _at_once(
    fed: Feeding, ask: RuntimeAsk, start_voltage: float | None, cut_off: float, end_voltage: float
) -> str:
    """Return why nothing runs from the first moment, or ""."""
    if any(row.full_current < 1e-3 * row.rated_current for row in fed.rows):
        return "never_lights"
    if fed.terminal is not None:
        if not fed.terminal > 0:
            return "collapse"
        if ask.stop_at is not None and ask.stop_at >= fed.terminal:
            return "cutoff"
        if start_voltage is None or start_voltage <= cut_off:
            return "collapse"
        return ""
    rested = fed.pack.open_circuit_voltage(0.0)
    if ask.stop_at is not None and ask.stop_at >= rested:
        return "cutoff"
    if start_voltage is None:
        return "collapse"
    if start_voltage <= cut_off:
        return "sag"
    return "dim" if start_voltage <= end_voltage else ""


def usual_wake_current(figures: Mapping[str, BatteryFigure]) -> float | None:
    """Return the current, in A, below which banks of a kind surely switch off; None of other batteries."""
    known = figures.get("wake_current")
    return None if known is None else known.low or known.value


def wake_current(fed: Feeding, ask: RuntimeAsk) -> float:
    """Return the current, in A, below which this bank switches off."""
    return ask.wake_current if ask.wake_current is not None else usual_wake_current(fed.figures) or 0.0


def _asleep(fed: Feeding, ask: RuntimeAsk, current: float) -> bool:
    return current * ask.duty < wake_current(fed, ask)


def curves(fed: Feeding, found: Lasting) -> tuple[Curve, Curve | None]:
    """Return the curve to the end of the runtime, and how rows fade on until dark."""
    if found.followed is None:
        light = (brightness_at(fed, found.start_voltage),) if fed.rows else None
        start = Curve((0.0,), (found.start_voltage,), (found.start_current,), light)
        return start, None
    followed = found.followed
    points = [(0.0, found.start_voltage, found.start_current)]
    after: list[tuple[float, float, float]] = []
    if fed.terminal is not None:
        points.append((found.runtime, found.start_voltage, found.start_current))
    else:
        for point in zip(followed.time, followed.voltage, followed.current, strict=True):
            (points if point[0] < found.runtime else after).append(point)
        passing = followed.passings[0]
        if passing is not None:
            last = (found.runtime, found.end_voltage, fed.load.current_at(found.end_voltage))
            points.append(last)
            after.insert(0, last)
    fade = [point for point in after if found.to_dark is None or point[0] <= found.to_dark]
    fade = _thinned(fade, FADE_POINTS)
    return _curve(fed, points), _curve(fed, fade) if fed.rows and len(fade) > 2 else None


def _thinned(points: list[tuple[float, float, float]], most: int) -> list[tuple[float, float, float]]:
    """Return at most so many points, spread evenly, both ends kept."""
    if len(points) <= most:
        return points
    step = (len(points) - 1) / (most - 1)
    return [points[round(i * step)] for i in range(most)]


def _curve(fed: Feeding, points: list[tuple[float, float, float]]) -> Curve:
    """Return points as arrays."""
    time, voltage, current = (tuple(column) for column in zip(*_thinned(points, CURVE_POINTS), strict=True))
    # Where the current all but stops, points between knots may cross by a hair; time never runs back.
    time = tuple(accumulate(time, max))
    light = tuple(brightness_at(fed, each) for each in voltage) if fed.rows else None
    return Curve(time, voltage, current, light)


def sets_needed(runtime: float, hours_wanted: float | None) -> int | None:
    """Return how many battery sets an event takes, one spare among them.

    >>> sets_needed(5 * 3600, 6 * 3600)
    3
    """
    if hours_wanted is None or runtime <= 0:
        return None
    return math.ceil(hours_wanted / (SET_USED * runtime) - 1e-9) + 1


def figures_for(ask: RuntimeAsk, spread: Spread = NO_SPREAD, lights: Lights | None = None) -> RuntimeFigures:
    """Return hours alone, for comparing batteries: no curve, no findings; ``lights`` as in `feeding`."""
    fed = feeding(ask, lights=lights)
    found = lasting(fed, ask, to_dark=False, spread=spread)
    return RuntimeFigures(
        battery=ask.supply.battery,
        cells_in_series=ask.supply.cells_in_series,
        packs_in_parallel=ask.supply.packs_in_parallel,
        runtime=found.runtime,
        runtime_low=found.runtime_low,
        runtime_high=found.runtime_high,
        ended_by=found.ended_by,
        mass=pack_mass(fed, ask),
        sets_needed=None if found.ended_by == "asleep" else sets_needed(found.runtime, ask.hours_wanted),
        start_voltage=found.start_voltage,
        start_current=found.start_current,
        energy=energy(fed),
    )


def pack_mass(fed: Feeding, ask: RuntimeAsk) -> float:
    """Return the mass of one set, in kg; a battery of another capacity weighs in proportion.

    Cells of a fixed size weigh the same whatever their label says.
    """
    supply = ask.supply
    each = fed.figures["mass"].value
    sized = fed.kind.form in ("pack", "bank") or fed.kind.chemistry == "lead_acid"
    if supply.capacity is not None and sized:
        each *= supply.capacity / fed.figures["capacity"].value
    return each * supply.cells_in_series * supply.packs_in_parallel


def energy(fed: Feeding) -> float:
    """Return the printed energy of one set, in W·h: label times nominal voltage."""
    volts = fed.figures["cell_voltage"].value if "cell_voltage" in fed.figures else fed.nominal
    return fed.label * volts
