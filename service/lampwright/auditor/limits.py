"""The worst corner: highest supply, lowest forward voltages, lowest resistors, hottest day, one thing wrong.

A sound part in this corner stays within its limit. With one light shorted, wires, fuse, supply and switch
have to stand what then flows; what that does to the lights and resistor of the row itself is a remark.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from lampwright.auditor.circuit import State, carried, row_branch
from lampwright.auditor.figures import hottest
from lampwright.auditor.reading import ReadSheet, Row, Run
from lampwright.auditor.report import Failure, Notes
from lampwright.auditor.wiring import (
    FuseSeen,
    area_of,
    at_far_end,
    at_source,
    carries,
    fuse_need,
    fuse_seen,
)
from lampwright.errors import LampwrightError
from lampwright.physics.conductors import awg_area
from lampwright.physics.diodes import string_current
from lampwright.physics.heating import derating
from lampwright.physics.protection import CONTINUOUS_FRACTION
from lampwright.tables.fuses import switch_rows

MOST_VOLTS = 60.0
THINNEST_FLEXING = 28
SWITCH_RESERVE = 1.5
# A battery's usable current is soft: a little more costs hours (common practice, no source).
BATTERY_OVERLOAD = 3.0
#: Out and back to a fuse beside the battery: 0.4 m of 18 AWG. [Ω]
LEADS = 0.008
_EDGE = 1 + 1e-9


def walk_rows(sheet: ReadSheet, high: State, notes: Notes) -> None:
    """Hold every light and every resistor against its limit."""
    left = derating(sheet.ambient_temperature)
    for place, row in enumerate(sheet.rows):
        current = high.currents[place]
        for at, light in enumerate(row.lights):
            notes.require(
                current <= light.max_forward_current * _EDGE,
                "led_over_limit",
                f"strings.{place}.leds.{at}",
                f"{light.name} in row {row.label} gets up to {current * 1000:.3g} mA; its limit is "
                f"{light.max_forward_current * 1000:.3g} mA",
                light.max_forward_current,
                current,
            )
        if row.resistance > 0:
            heat, _ = hottest(sheet, place, high)
            allowed = (row.rated_dissipation or 0.0) * left
            notes.require(
                heat <= allowed * _EDGE,
                "resistor_over_rating",
                f"strings.{place}",
                f"the resistor of row {row.label} gets up to {heat:.3g} W; {allowed:.3g} W are allowed",
                allowed,
                heat,
            )


def walk_shorted_light(sheet: ReadSheet, high: State, notes: Notes) -> float:
    """Short each light in turn; return the largest supply current that follows."""
    source, worst = sheet.source, high.total
    left = derating(sheet.ambient_temperature)
    for place, row in enumerate(sheet.rows):
        seen: set[object] = set()
        for at, light in enumerate(row.lights):
            if light in seen:
                continue
            seen.add(light)
            branch = row_branch(row, "high", sheet.ambient_temperature, without=at)
            # Only the one row has the fault, and it alone on the source takes more than beside others.
            resistance = branch.resistance + source.resistance_low
            if resistance <= 0:
                notes.require(
                    False,
                    "nothing_limits_current",
                    f"strings.{place}.leds.{at}",
                    f"with {light.name} shorted nothing limits the current in row {row.label}",
                )
                continue
            current = string_current(source.highest, branch.diodes, resistance)
            # What nothing else limits, the source itself does.
            faulty = min(high.total - high.currents[place] + current, at_source(sheet))
            worst = max(worst, faulty)
            _check_run_of(sheet, place, row, high, current, notes)
            heat = current**2 * row.resistance * (1 - row.tolerance)
            rated = (row.rated_dissipation or 0.0) * left
            if row.resistance > 0 and heat > rated:
                notes.remarks.append(
                    Failure(
                        "resistor_hot_if_light_shorts",
                        f"strings.{place}",
                        f"if a light in row {row.label} shorts, its resistor turns {heat:.3g} W to heat",
                        rated,
                        heat,
                    )
                )
    return worst


def _check_run_of(sheet: ReadSheet, place: int, row: Row, high: State, current: float, notes: Notes) -> None:
    for run in sheet.runs:
        if place not in run.rows:
            continue
        others = carried(sheet, run, high) - high.currents[place]
        if _guarded(sheet):
            # The fuse opens before the wire suffers: its rating is not above what the wire carries.
            continue
        flowing = min(others + current, at_source(sheet))
        _within(sheet, run, flowing, f"with a light in row {row.label} shorted", notes)


def _guarded(sheet: ReadSheet) -> bool:
    """Return whether a fuse stands before every wire; its window is held against the wires elsewhere."""
    return sheet.fuse is not None and bool(sheet.fuse["rated_current"])


def _within(sheet: ReadSheet, run: Run, current: float, when: str, notes: Notes) -> None:
    allowed = carries(sheet, area_of(run))
    notes.require(
        current <= allowed * _EDGE,
        "wire_over_ampacity",
        f"wires.{run.label}",
        f"{run.label} carries {allowed:.3g} A where it lies and gets {current:.3g} A {when}",
        allowed,
        current,
    )


def walk_wires(sheet: ReadSheet, high: State, worst: float, notes: Notes) -> None:
    """Hold every run against its ampacity and, where it bends, against breaking."""
    served = {at for run in sheet.runs for at in run.rows}
    notes.require(
        len(served) == len(sheet.rows) or not sheet.runs,
        "count_differs",
        "wires",
        "some row hangs on no run",
    )
    for run in sheet.runs:
        main = high.total if _guarded(sheet) else worst
        current = main if run.label == "W0" else carried(sheet, run, high)
        _within(sheet, run, current, "in the worst corner", notes)
        if sheet.flexing and not _cautioned(sheet, "wire_too_thin_to_flex"):
            notes.require(
                area_of(run) >= awg_area(THINNEST_FLEXING) * (1 - 1e-3),
                "wire_too_thin",
                f"wires.{run.label}",
                f"{run.label} bends and is thinner than {THINNEST_FLEXING} AWG",
            )


def _cautioned(sheet: ReadSheet, code: str) -> bool:
    findings = sheet.document.get("findings") or ()
    return any(isinstance(each, Mapping) and each.get("code") == code for each in findings)


def walk_fuse(sheet: ReadSheet, loops: Mapping[str, float], notes: Notes) -> None:
    """Hold the fuse against its window, the source, and a short at the far end of every wire."""
    if not sheet.runs:
        return
    thinnest = min(carries(sheet, area_of(run)) for run in sheet.runs)
    need = fuse_need(sheet, thinnest)
    try:
        fuse = fuse_seen(sheet)
    except LampwrightError as error:
        notes.require(False, "part_differs", "fuse", str(error))
        return
    if fuse is None:
        # Where a fuse is only advised its absence is a caution of the sheet, not a failure.
        notes.require(
            need != "required", "fuse_missing", "fuse", "this supply needs a fuse and none is fitted"
        )
        return
    load = sheet.design_current or 0.0
    worth = CONTINUOUS_FRACTION * fuse.derating * fuse.rated_current
    if _cautioned(sheet, "fuse_little_reserve"):
        # A maker's own fuse that may open some warm day is a caution; one that opens in use is none.
        worth = fuse.rated_current
    notes.require(
        load <= worth * _EDGE,
        "fuse_outside_window",
        "fuse.rated_current_ma",
        f"the fuse is good for {worth:.3g} A for ever, the load is {load:.3g} A",
        worth,
        load,
    )
    notes.require(
        fuse.let_through <= thinnest * _EDGE,
        "fuse_outside_window",
        "fuse.rated_current_ma",
        f"the fuse lets {fuse.let_through:.3g} A through, the thinnest wire carries {thinnest:.3g} A",
        thinnest,
        fuse.let_through,
    )
    _walk_source(sheet, fuse, notes)
    for run in sheet.runs:
        _walk_far_end(sheet, run, loops, fuse, notes)


def _walk_source(sheet: ReadSheet, fuse: FuseSeen, notes: Notes) -> None:
    notes.require(
        sheet.source.highest <= fuse.rated_voltage,
        "fuse_cannot_break",
        "fuse.style",
        f"the fuse is made for {fuse.rated_voltage:g} V",
        fuse.rated_voltage,
        sheet.source.highest,
    )
    flowing = at_source(sheet)
    if flowing not in (0.0, math.inf):
        flowing = sheet.source.highest / (sheet.source.highest / flowing + LEADS)
    notes.require(
        flowing == math.inf or flowing <= fuse.breaking_capacity,
        "fuse_cannot_break",
        "fuse.style",
        f"the supply gives {flowing:.3g} A into a short; the fuse interrupts {fuse.breaking_capacity:g} A",
        fuse.breaking_capacity,
        flowing,
    )


def _walk_far_end(
    sheet: ReadSheet, run: Run, loops: Mapping[str, float], fuse: FuseSeen, notes: Notes
) -> None:
    """Short a run at its far end: either the fuse surely opens, or the wire carries what flows."""
    loop = loops.get("W0", 0.0) + (loops[run.label] if run.label != "W0" else 0.0)
    flowing = at_far_end(sheet, loop + fuse.resistance)
    allowed = carries(sheet, area_of(run))
    # Where no fuse is needed one that may not open is a caution of the sheet.
    told = _cautioned(sheet, "fuse_slow_to_open")
    notes.require(
        told or flowing >= fuse.opens_from or flowing <= allowed * _EDGE,
        "fuse_cannot_clear",
        f"wires.{run.label}",
        f"a short at the far end of {run.label} lets {flowing:.3g} A flow: the fuse opens from "
        f"{fuse.opens_from:.3g} A on, the wire carries {allowed:.3g} A",
        fuse.opens_from,
        flowing,
    )


def walk_supply(sheet: ReadSheet, fresh: float, notes: Notes) -> None:
    """Hold the supply against its own limit and against the limit of touchable voltage."""
    source = sheet.source
    notes.require(
        source.highest <= MOST_VOLTS * _EDGE,
        "voltage_over_limit",
        "basis.supply",
        f"{source.highest:.3g} V is above 60 V DC",
        MOST_VOLTS,
        source.highest,
    )
    limit = source.current_limit
    if limit is None:
        return
    allowed = limit * (BATTERY_OVERLOAD if source.battery else 1.05)
    notes.require(
        fresh <= allowed * _EDGE,
        "supply_over_limit",
        "supply_current_ma",
        f"{fresh:.3g} A are asked of a supply good for {limit:.3g} A",
        allowed,
        fresh,
    )


def walk_switch(sheet: ReadSheet, worst: float, notes: Notes) -> None:
    """Hold the switch against the design current with its reserve, and the highest voltage."""
    printed = sheet.switch
    if printed is None:
        return
    rated, volts = printed["rated_current"] or 0.0, printed["rated_voltage"] or 0.0
    wanted = (sheet.design_current or 0.0) * SWITCH_RESERVE
    if not _guarded(sheet):
        wanted = max(wanted, worst)
    text = f"the switch is rated {rated:.3g} A at {volts:.3g} V DC; {wanted:.3g} A at "
    text += f"{sheet.source.highest:.3g} V are asked of it"
    usual = any(math.isclose(row.rated_current, rated) for row in switch_rows())
    stated = usual or math.isclose(rated, (sheet.design_current or 0.0) * SWITCH_RESERVE)
    notes.require(stated, "part_differs", "switch", f"no usual switch is rated {rated:.3g} A", rated)
    holds = rated * _EDGE >= wanted and volts * _EDGE >= sheet.source.highest
    notes.require(holds, "switch_over_rating", "switch", text, rated, wanted)
