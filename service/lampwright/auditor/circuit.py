"""The auditor's own assembly: lights at their corners, rows on a source, runs with their loss.

Without wires every row hangs directly on the source: that is what a row's printed currents mean, and
more than ever flows. With wires the runs part after the main run, and every run carries its rows' sum.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lampwright.auditor.reading import Light, ReadSheet, Row, Run
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import Diode, diode_from_point, forward_voltage
from lampwright.records import quickly_made
from lampwright.tables.leds import LedFamily, led_colours, led_families

# Corner of current -> sign of a resistor's tolerance there.
CORNERS: Mapping[str, float] = {"low": 1.0, "expected": 0.0, "high": -1.0}
# Colours whose word leaves open which chip is inside: the voltage decides.
_OPEN_WORDS = ("green", "amber", "orange", "yellow", "pink")


def shape_of(light: Light) -> LedFamily:
    """Return the family that shapes a light's curve."""
    families = led_families()
    known = led_colours().get(light.colour)
    if known is not None and light.colour not in _OPEN_WORDS:
        return families[known.family]
    if known is None and light.forward_voltage < 1.6:
        return families["infrared"]
    return families["red_to_yellow" if light.forward_voltage < 2.55 else "green_to_white"]


Curve = tuple[tuple[Diode, ...], float]
"""The diodes of a light, and the resistance hidden with them [Ω]."""


def diodes_of(light: Light, corner: str, temperature: float) -> Curve:
    """Return the diodes of a light at a corner of current, and the resistance hidden with them."""
    found: Curve | None = light.curves.get((corner, temperature))
    if found is None:
        found = light.curves[corner, temperature] = _diodes(light, corner, temperature)
    return found


def _diodes(light: Light, corner: str, temperature: float) -> Curve:
    """Work out what a light is at a corner of current."""
    volts, hidden = {
        "low": (light.forward_voltage_max, light.built_in_resistance_high),
        "expected": (light.forward_voltage, light.built_in_resistance),
        "high": (light.forward_voltage_min, light.built_in_resistance_low),
    }[corner]
    shape = shape_of(light)
    ohms = light.series_resistance
    if ohms is None:
        ohms = min(shape.series_voltage, 0.1 * light.forward_voltage) / light.rated_current
    ohms = max(ohms, 1e-9)
    resistive = light.rated_current * ohms
    warmed = volts + light.temperature_coefficient * (temperature - light.reference_temperature)
    # However warm, a fifth of the junction's voltage stays.
    at_point = max(warmed, resistive + 0.2 * (volts - resistive))
    ideality = shape.ideality if light.ideality is None else light.ideality
    diode = diode_from_point(at_point, light.rated_current, ideality, ohms, temperature)
    return (diode,) * light.built_in_series_count, hidden


def row_branch(
    row: Row, corner: str, temperature: float, extra: float = 0.0, without: int | None = None
) -> Branch:
    """Return a row as a branch at a corner; of light ``without`` one LED is shorted.

    A pre-wired light keeps its hidden resistor, and the LEDs beside the shorted one.
    """
    diodes: tuple[Diode, ...] = ()
    ohms = row.resistance * (1 + CORNERS[corner] * row.tolerance) + extra
    for place, light in enumerate(row.lights):
        inside, hidden = diodes_of(light, corner, temperature)
        if place == without:
            inside = inside[1:]
        diodes += inside
        ohms += hidden
    return Branch(diodes, ohms, row.count)


def light_voltage(light: Light, corner: str, temperature: float, current: float) -> float:
    """Return the voltage over one light, its hidden resistor included."""
    diodes, hidden = diodes_of(light, corner, temperature)
    return sum([forward_voltage(diode, current) for diode in diodes]) + hidden * current


@quickly_made
@dataclass(frozen=True, slots=True)
class State:
    """One solved state: a current per row (of one of its count), volts at the distribution, the sum."""

    currents: tuple[float, ...]
    distribution: float
    total: float


def on_source(sheet: ReadSheet, voltage: float, source: float, corner: str) -> State:
    """Return every row directly on the source, without any wire."""
    branches = [row_branch(row, corner, sheet.ambient_temperature) for row in sheet.rows]
    solved = solve_parallel(voltage, source, branches)
    return State(solved.currents, solved.terminal_voltage, solved.supply_current)


def carried(sheet: ReadSheet, run: Run, state: State) -> float:
    """Return what a run carries: the sum of its rows. [A]."""
    return sum([sheet.rows[at].count * state.currents[at] for at in run.rows])


def with_wires(
    sheet: ReadSheet, loops: Mapping[str, float], voltage: float, source: float, corner: str
) -> State:
    """Return every row behind its run and the main run, each run carrying the sum of its rows."""
    groups = [(loops[run.label], run.rows) for run in sheet.runs if run.label != "W0"]
    placed = {place for _, rows in groups for place in rows}
    loose = tuple([place for place in range(len(sheet.rows)) if place not in placed])
    if loose:
        groups.append((0.0, loose))
    common = source + loops.get("W0", 0.0)
    alike = all(len(rows) == 1 or loop == 0.0 for loop, rows in groups)
    if alike:
        return _folded(sheet, groups, voltage, common, corner)
    return _nested(sheet, groups, voltage, common, corner)


def _folded(
    sheet: ReadSheet,
    groups: Sequence[tuple[float, tuple[int, ...]]],
    voltage: float,
    common: float,
    corner: str,
) -> State:
    """Solve runs whose rows are alike: a run's loop counts once for each of its rows."""
    order, branches = [], []
    for loop, rows in groups:
        for place in rows:
            row = sheet.rows[place]
            order.append(place)
            branches.append(row_branch(row, corner, sheet.ambient_temperature, loop * row.count))
    solved = solve_parallel(voltage, common, branches)
    currents = [0.0] * len(sheet.rows)
    for place, current in zip(order, solved.currents, strict=True):
        currents[place] = current
    return State(tuple(currents), solved.terminal_voltage, solved.supply_current)


def _nested(
    sheet: ReadSheet,
    groups: Sequence[tuple[float, tuple[int, ...]]],
    voltage: float,
    common: float,
    corner: str,
) -> State:
    """Solve runs with unlike rows exactly: each run for itself, around them the distribution's volts."""
    parts = [
        (loop, rows, [row_branch(sheet.rows[at], corner, sheet.ambient_temperature) for at in rows])
        for loop, rows in groups
    ]

    def total(at: float) -> tuple[float, list[float]]:
        currents = [0.0] * len(sheet.rows)
        flowing = 0.0
        for loop, rows, branches in parts:
            solved = solve_parallel(at, loop, branches)
            flowing += solved.supply_current
            for place, current in zip(rows, solved.currents, strict=True):
                currents[place] = current
        return flowing, currents

    low, high = 0.0, voltage
    flowing, currents = total(high)
    if common == 0.0:
        return State(tuple(currents), voltage, flowing)
    f_low, f_high = -voltage, high + common * flowing - voltage
    at = high
    for turn in range(80):
        # Regula falsi with a plain halving every third turn: slow ends cannot trap it.
        at = (low + high) / 2 if turn % 3 == 2 else high - f_high * (high - low) / (f_high - f_low)
        flowing, currents = total(at)
        f_at = at + common * flowing - voltage
        if f_at < 0:
            low, f_low = at, f_at
        else:
            high, f_high = at, f_at
        if abs(f_at) <= 1e-12 * voltage or high - low <= 1e-13 * voltage:
            break
    return State(tuple(currents), at, flowing)
