"""What a sheet promises beside its circuit: readings of a meter, hours, parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from lampwright.auditor.circuit import light_voltage, row_branch, with_wires
from lampwright.auditor.reading import Members, ReadSheet
from lampwright.auditor.report import Notes
from lampwright.physics.circuits import solve_parallel
from lampwright.quantities import json_name, show
from lampwright.tables.batteries import battery_types

# Hours are reckoned with lights at room temperature: lit ones warm themselves.
_LIGHTS_IN_USE = 25.0


def _fades(sheet: ReadSheet) -> bool:
    """Return whether the supply's volts fall as it is used: those of cells do, those of a bank do not."""
    battery = sheet.source.battery
    return bool(battery) and battery_types()[battery].form != "bank"


def check_readings(sheet: ReadSheet, loops: Mapping[str, float], notes: Notes) -> None:
    """Compare the readings to expect at the bench, where cells are fresh."""
    source, fades = sheet.source, _fades(sheet)
    volts = source.highest if fades else source.voltage
    behind = source.resistance_low if fades else source.resistance
    state = with_wires(sheet, loops, volts, behind, "expected")
    ours: dict[str, float] = {
        "supply_off": volts,
        "supply_on": volts - behind * state.total,
        "total_current": state.total,
    }
    for place, row in enumerate(sheet.rows):
        ours[f"resistor_{place}"] = state.currents[place] * row.resistance
        for at, light in enumerate(row.lights):
            ours[f"led_{place}_{at}"] = light_voltage(
                light, "expected", sheet.ambient_temperature, state.currents[place]
            )
    for index, each in enumerate(_checks(sheet.document)):
        name = str(each.get("check"))
        members = Members(each, f"bench_checks.{index}")
        current = members.get("current")
        stem = "current" if name == "total_current" else "voltage"
        if name in ours:
            notes.agree(f"bench_checks.{index}.{json_name(stem)}", members.get(stem), ours[name], 1e-6, 1e-9)
        if name.startswith("resistor_") and current is not None and name in ours:
            resistance = sheet.rows[int(name.removeprefix("resistor_"))].resistance
            found = ours[name] / resistance
            notes.agree(f"bench_checks.{index}.current_ma", current, found, 1e-6, 1e-10)
            for side in ("low", "high"):
                volts_there = members.get(f"voltage_{side}")
                if volts_there is not None:
                    there = f"bench_checks.{index}.current_{side}_ma"
                    notes.agree(there, members.get(f"current_{side}"), volts_there / resistance)
        if name == "total_current":
            _check_total(sheet, loops, members, index, state.total, notes)
        for kind in ("voltage", "current"):
            _check_band(members, kind, f"bench_checks.{index}", notes)


def _check_total(
    sheet: ReadSheet,
    loops: Mapping[str, float],
    members: Members,
    index: int,
    expected: float,
    notes: Notes,
) -> None:
    """Compare the band of the total current: both corners at the bench, at least 15 % each way."""
    source = sheet.source
    lowest = source.voltage if _fades(sheet) else source.lowest
    low = with_wires(sheet, loops, lowest, source.resistance_high, "low").total
    high = with_wires(sheet, loops, source.highest, source.resistance_low, "high").total
    at = f"bench_checks.{index}"
    notes.agree(f"{at}.current_low_ma", members.get("current_low"), min(low, 0.85 * expected))
    notes.agree(f"{at}.current_high_ma", members.get("current_high"), max(high, 1.15 * expected))


def _check_band(members: Members, kind: str, at: str, notes: Notes) -> None:
    low, usual, high = (members.get(stem) for stem in (f"{kind}_low", kind, f"{kind}_high"))
    if usual is None or low is None or high is None:
        return
    text = f"{at}: lowest, expected and highest {kind} are out of order"
    notes.require(low <= usual * (1 + 1e-6) + 1e-9, "figure_differs", at, text, low, usual)
    notes.require(usual <= high * (1 + 1e-6) + 1e-9, "figure_differs", at, text, high, usual)


def _checks(document: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    return [each for each in document.get("bench_checks") or () if isinstance(each, Mapping)]


def check_runtime(sheet: ReadSheet, loops: Mapping[str, float], notes: Notes) -> None:
    """Compare currents at the start with what the rows take at the voltage printed beside them."""
    runtime = sheet.document.get("runtime")
    told = {"runtime": runtime}
    for place, others in (
        ("runtime.alternatives", runtime.get("alternatives") if isinstance(runtime, Mapping) else None),
        ("comparison", sheet.document.get("comparison")),
    ):
        if isinstance(others, Sequence) and not isinstance(others, str):
            told.update({f"{place}.{at}": other for at, other in enumerate(others)})
    rows = [
        row_branch(row, "expected", _LIGHTS_IN_USE, _row_loop(sheet, loops, place))
        for place, row in enumerate(sheet.rows)
    ]
    solved: dict[float, float] = {}  # the same batteries stand in both lists
    for place, battery in told.items():
        if not isinstance(battery, Mapping):
            continue
        members = Members(battery, place)
        voltage, current = members.get("start_voltage"), members.get("start_current")
        if voltage is not None and current is not None:
            if voltage not in solved:
                solved[voltage] = solve_parallel(voltage, 0.0, rows).supply_current
            taken = solved[voltage]
            notes.agree(f"{place}.start_current_ma", current, taken, 0.01, 1e-5)


def _row_loop(sheet: ReadSheet, loops: Mapping[str, float], place: int) -> float:
    for run in sheet.runs:
        if place in run.rows:
            return loops[run.label] * sum([sheet.rows[at].count for at in run.rows])
    return 0.0


def check_parts(sheet: ReadSheet, notes: Notes) -> None:
    """Compare the counts of the parts list with rows and lights."""
    lines = [each for each in sheet.document.get("parts_list") or () if isinstance(each, Mapping)]
    resistors = sum(row.count for row in sheet.rows if row.resistance > 0)
    listed = sum(int(each.get("count") or 0) for each in lines if each.get("item") == "Resistor")
    text = f"{listed} resistors are listed, {resistors} are needed"
    notes.require(listed == resistors, "count_differs", "parts_list", text, listed, resistors)
    values = {show(row.resistance, "ohm") for row in sheet.rows if row.resistance > 0}
    bought = {str(each.get("value")).split(",")[0].split(" (")[0] for each in _items(lines, "Resistor")}
    text = f"resistors of {sorted(bought)} are listed, {sorted(values)} are in the rows"
    notes.require(bought == values, "part_differs", "parts_list", text)
    rated = sheet.fuse["rated_current"] if sheet.fuse is not None else None
    fuses = [str(each.get("value")).split(",")[0] for each in _items(lines, "Fuse")]
    fitted = [show(rated, "ma")] if rated else []
    text = f"fuses {fuses} are listed, {fitted} is fitted"
    notes.require(fuses == fitted, "part_differs", "parts_list.Fuse", text)
    for light in sheet.lights.values():
        # A name that is a label of the sheet as well stands there in marks.
        called = (light.name, f"light “{light.name}”")
        counts = [each.get("count") for each in lines if each.get("item") in called]
        text = f"{light.count} of {light.name} are needed"
        notes.require(light.count in counts, "count_differs", f"parts_list.{light.name}", text)


def _items(lines: Sequence[Mapping[str, Any]], item: str) -> list[Mapping[str, Any]]:
    return [each for each in lines if each.get("item") == item]
