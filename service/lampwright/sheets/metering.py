"""What a meter shows at every test point of a circuit on the bench, sound or with a fault in it.

Theory of operation. Readings follow from the solved circuit. The meter itself is 10 MΩ: it closes an open
row just enough to show almost the whole supply over the break, which is how a break is found.
"""

from __future__ import annotations

from collections.abc import Collection

from lampwright.physics.diodes import forward_voltage, string_current
from lampwright.sheets.bench import (
    SOUND,
    WRONG_RESISTOR,
    Bench,
    Fault,
    Row,
    Solved,
    fault_volts,
    poor_run,
    solve,
)

METER = 10e6  # Ω, the inner resistance of a common digital meter (common practice, no source)


def checks_of(bench: Bench) -> tuple[str, ...]:
    """Return the ids of every test point with a number, in the order one measures them."""
    found = ["supply_off", "supply_on", "after_switch"]
    found += [f"resistor_{place}" for place, row in enumerate(bench.rows) if row.resistance > 0]
    for place, row in enumerate(bench.rows):
        found += [f"led_{place}_{at}" for at in range(len(row.leds))]
    return (*found, "far_end", "total_current")


def readings(
    bench: Bench, corner: str = "expected", fault: Fault = SOUND, lit: Collection[int] | None = None
) -> dict[str, float]:
    """Return what the meter shows at every test point: volts, and for ``total_current`` amperes.

    Test points in rows alike are those of the row with the fault, where the fault is in one of them.
    Lights are measured in the rows of ``lit`` alone; in every row where nothing is said.
    """
    found = trunk_readings(bench, corner, fault)
    state = solve(bench, corner, fault)
    for place, row in enumerate(bench.rows):
        if lit is None or place in lit:
            found.update(row_readings(bench, place, corner, fault))
        elif row.resistance > 0:
            found[f"resistor_{place}"] = over_resistor(bench, place, corner, fault, state)
    return found


def trunk_readings(bench: Bench, corner: str, fault: Fault) -> dict[str, float]:
    """Return what the meter shows at the test points that all rows share."""
    state = solve(bench, corner, fault)
    sign = -1.0 if fault.kind == "supply_reversed" else 1.0
    # The meter takes the place of S1: a switch that does not close is bridged by it.
    through = solve(bench, corner).total if fault.kind == "switch_open" else state.total
    return {
        "supply_off": sign * fault_volts(bench, corner, fault),
        "supply_on": state.terminal,
        "after_switch": state.behind,
        "far_end": _far_end(bench, corner, state, fault),
        "total_current": through,
    }


def row_readings(bench: Bench, place: int, corner: str, fault: Fault) -> dict[str, float]:
    """Return what the meter shows over the resistor and over each light of a row."""
    state = solve(bench, corner, fault)
    found: dict[str, float] = {}
    if bench.rows[place].resistance > 0:
        found[f"resistor_{place}"] = over_resistor(bench, place, corner, fault, state)
    for at in range(len(bench.rows[place].leds)):
        found[f"led_{place}_{at}"] = over_light(bench, place, at, corner, fault, state)
    return found


def over_resistor(bench: Bench, place: int, corner: str, fault: Fault, state: Solved) -> float:
    """Return what the meter shows over a row's resistor."""
    row, mine = bench.rows[place], place == fault.row
    if mine and fault.kind == "resistor_open":
        return _over_break(row, corner, state.parting, skip=-1, with_resistor=False)
    spread = {"low": 1.0, "expected": 0.0, "high": -1.0}[corner]
    resistance = row.resistance * (1 + spread * row.tolerance)
    if mine:
        resistance *= WRONG_RESISTOR.get(fault.kind, 1.0)
    return (state.faulty if mine else state.currents[place]) * resistance


def over_light(bench: Bench, place: int, at: int, corner: str, fault: Fault, state: Solved) -> float:
    """Return what the meter shows over one light of a row."""
    row, mine = bench.rows[place], place == fault.row
    if mine and at == fault.light:
        if fault.kind in ("light_open", "light_reversed"):
            return _over_break(row, corner, state.parting, skip=at, with_resistor=True)
        if fault.kind == "light_short":
            return 0.0
    current = state.faulty if mine else state.currents[place]
    diodes, inner = row.lights[corner][at]
    across = sum([forward_voltage(diode, current) for diode in diodes]) if current > 0 else 0.0
    return across + inner * current


def _far_end(bench: Bench, corner: str, state: Solved, fault: Fault) -> float:
    """Return the volts between plus and minus where the farthest row begins."""
    row = bench.rows[bench.far]
    if fault.kind == "run_open" and fault.run == row.run:
        return 0.0
    if state.parting <= 0:
        return state.parting
    carried = state.faulty if fault.row >= 0 and bench.rows[fault.row].run == row.run else 0.0
    for place, other in enumerate(bench.rows):
        if place == bench.far or (row.run and other.run == row.run):
            carried += (other.count - (1 if place == fault.row else 0)) * state.currents[place]
    loop = row.loop
    if fault.kind == "run_poor" and fault.run == row.run:
        loop += poor_run(bench, corner, [at for at, other in enumerate(bench.rows) if other.run == row.run])
    return state.parting - carried * loop


def _over_break(row: Row, corner: str, volts: float, *, skip: int, with_resistor: bool) -> float:
    """Return what a meter shows over the break of an open row: it carries its own small current."""
    if volts <= 0:
        return 0.0
    diodes = tuple(diode for at, light in enumerate(row.lights[corner]) if at != skip for diode in light[0])
    inner = (row.resistance if with_resistor else 0.0) + row.loop
    return METER * string_current(volts, diodes, METER + inner)
