"""Printed figures against the auditor's own: lights, supply, rows, wires, fuse."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from lampwright.auditor.circuit import State, carried, light_voltage, on_source, row_branch, with_wires
from lampwright.auditor.reading import FUSE_FIGURES, Light, Members, ReadSheet, Row, Run, labels_in
from lampwright.auditor.report import Notes, UnreadableSheetError
from lampwright.auditor.wiring import (
    FuseSeen,
    area_of,
    at_far_end,
    carries,
    fuse_need,
    fuse_seen,
    per_metre,
    run_loop,
)
from lampwright.errors import LampwrightError
from lampwright.physics.conductors import awg_area, loop_resistance, voltage_drop
from lampwright.physics.diodes import string_current
from lampwright.physics.protection import fuse_derating, smallest_rating
from lampwright.quantities import json_name
from lampwright.tables.batteries import battery_types, figures_of
from lampwright.tables.leds import led_types
from lampwright.tables.markings import colour_bands, rkm_code
from lampwright.tables.supplies import supply_figures

_SEEN = 1e-3  # brightness below which a row counts as dark (common practice, no source)
EYE_EXPONENT = 0.45  # how bright light looks (common practice, no source)


def loops_of(sheet: ReadSheet) -> dict[str, float]:
    """Return every run's loop resistance as the auditor reckons it."""
    return {run.label: run_loop(sheet, run) for run in sheet.runs}


def check_lights(sheet: ReadSheet, notes: Notes) -> None:
    """Compare each light's figures with the part or the members that were sent, and the counts."""
    for light in sheet.lights.values():
        if isinstance(light.sent, str):
            _check_part(light, light.sent, notes)
        elif isinstance(light.sent, Mapping):
            _check_sent(light, light.sent, notes)
    for light in sheet.lights.values():
        used = sum(row.count * row.lights.count(light) for row in sheet.rows)
        notes.require(
            used == light.count,
            "count_differs",
            f"light_figures.{light.name}",
            f"{light.count} of {light.name} are listed, {used} are in the rows",
            light.count,
            used,
        )


def _check_part(light: Light, part: str, notes: Notes) -> None:
    row = led_types().get(part)
    if row is None:
        return
    for stem in (
        "forward_voltage",
        "forward_voltage_min",
        "forward_voltage_max",
        "rated_current",
        "max_forward_current",
        "ideality",
        "series_resistance",
        "built_in_resistance",
        "built_in_resistance_low",
        "built_in_resistance_high",
        "built_in_series_count",
        "temperature_coefficient",
        "reference_temperature",
    ):
        listed = getattr(row, stem)
        if listed is not None:
            _same(light, stem, getattr(light, stem), listed, notes)
    notes.require(
        light.colour == row.colour,
        "part_differs",
        f"light_figures.{light.name}.colour",
        f"{part} is {row.colour}, not {light.colour}",
    )


def _check_sent(light: Light, sent: Mapping[str, Any], notes: Notes) -> None:
    members = Members(sent, "led")
    for stem in ("forward_voltage", "rated_current", "max_forward_current", "built_in_resistance"):
        # Texts with units are the contract's to read; only plain numbers are compared.
        if isinstance(sent.get(json_name(stem)), (int, float)):
            _same(light, stem, getattr(light, stem), members.get(stem), notes)
    if sent.get("max_forward_current_ma") is None:
        # Nothing said: a quarter above the rated current, and no more.
        _same(light, "max_forward_current", light.max_forward_current, 1.25 * light.rated_current, notes)


def _same(light: Light, stem: str, stated: float | None, listed: float, notes: Notes) -> None:
    near = stated is not None and math.isclose(stated, listed, rel_tol=1e-9, abs_tol=1e-12)
    place = f"light_figures.{light.name}.{json_name(stem)}"
    notes.require(near, "part_differs", place, f"{place} is not that of the part", stated, listed)


def check_source(sheet: ReadSheet, notes: Notes) -> None:
    """Compare a battery's window with its table, and the window with itself."""
    source = sheet.source
    _check_limits(sheet, notes)
    ordered = 0 < source.lowest <= source.voltage * (1 + 1e-9) and source.voltage <= source.highest * (
        1 + 1e-9
    )
    notes.require(
        ordered, "figure_differs", "basis.supply", "lowest, usual and highest volts are out of order"
    )
    if not source.battery:
        return
    figures = figures_of(source.battery)
    place = "basis.supply"
    cells = source.cells_in_series
    notes.agree(f"{place}.supply_voltage_v", source.voltage, figures["nominal_voltage"].value * cells)
    notes.agree(f"{place}.supply_voltage_min_v", source.lowest, figures["empty_voltage"].value * cells)
    fresh = figures["fresh_voltage"].value * cells
    # A charger left on is above fresh; below it nothing but the nominal voltage is possible.
    notes.require(
        source.highest >= min(fresh, source.voltage) * (1 - 1e-9),
        "figure_differs",
        f"{place}.supply_voltage_max_v",
        "the highest voltage is below that of a fresh set",
        source.highest,
        fresh,
    )


def _check_limits(sheet: ReadSheet, notes: Notes) -> None:
    """Compare what a battery or a supply part is good for, and what it gives into a short circuit."""
    source = sheet.source
    if source.battery:
        if source.battery not in battery_types():
            raise UnreadableSheetError(f"no battery {source.battery!r}")
        listed = {stem: row.value for stem, row in figures_of(source.battery).items()}
        scale = float(source.packs_in_parallel)
        if source.capacity is not None and source.battery != "power_bank_5v":
            scale *= source.capacity / listed["capacity"]
        limit = listed["usable_current"] * scale
        short = listed["short_circuit_current"] * scale
    elif source.part:
        if source.part not in supply_figures():
            raise UnreadableSheetError(f"no supply {source.part!r}")
        figures = supply_figures()[source.part]
        limit, short = figures["current_limit"].value, figures["short_circuit_current"].value
    else:
        return
    notes.agree("basis.supply.current_limit_ma", source.current_limit, limit)
    notes.agree("basis.supply.short_circuit_current_ma", source.short_circuit_current, short)


def check_rows(sheet: ReadSheet, notes: Notes) -> dict[str, State]:
    """Compare every figure of every row; return the states without wires, by the stem of a row's current."""
    source = sheet.source
    states = {
        "current_low": on_source(sheet, source.lowest, source.resistance_high, "low"),
        "current": on_source(sheet, source.voltage, source.resistance, "expected"),
        "current_high": on_source(sheet, source.highest, source.resistance_low, "high"),
        "current_fresh": on_source(sheet, source.highest, source.resistance_low, "expected"),
        "current_empty": on_source(sheet, source.lowest, source.resistance_high, "expected"),
    }
    usual = states["current"]
    # Where its neighbours leave a row more at its low corner than usually, the usual current is its lowest.
    for stem, ordered in (("current_low", min), ("current_high", max)):
        currents = tuple(map(ordered, states[stem].currents, usual.currents))
        if currents != states[stem].currents:
            total = sum(row.count * current for row, current in zip(sheet.rows, currents, strict=True))
            states[stem] = replace(states[stem], currents=currents, total=total)
    high = states["current_high"]
    for place, row in enumerate(sheet.rows):
        for stem, state in states.items():
            # Far below the LEDs' voltage a current is a trace: microamperes say enough.
            notes.agree(_at(place, stem), row.printed[stem], state.currents[place], 1e-6, 1e-10)
        _check_row_figures(sheet, row, place, usual.currents[place], high, notes)
    return states


def _at(place: int, stem: str) -> str:
    return f"strings.{place}.{json_name(stem)}"


def _check_row_figures(
    sheet: ReadSheet, row: Row, place: int, current: float, high: State, notes: Notes
) -> None:
    printed, ambient = row.printed, sheet.ambient_temperature
    voltages = [light_voltage(light, "expected", ambient, current) for light in row.lights]
    told = printed["led_voltages"] or ()
    notes.require(
        len(told) == len(voltages) == printed["series_count"],
        "count_differs",
        _at(place, "series_count"),
        f"row {row.label} has {len(voltages)} lights",
        printed["series_count"],
        len(voltages),
    )
    notes.require(
        len(labels_in(row.label)) == row.count,
        "count_differs",
        _at(place, "branch_count"),
        f"the label {row.label} stands for {len(labels_in(row.label))} rows",
        row.count,
        len(labels_in(row.label)),
    )
    named = row.printed["leds"] or ()
    notes.require(
        len(named) == len(row.lights)
        and all(each == light.sent for each, light in zip(named, row.lights, strict=True)),
        "part_differs",
        _at(place, "leds"),
        f"the lights of row {row.label} are not those that were sent",
    )
    for at, (ours, theirs) in enumerate(zip(voltages, told, strict=False)):
        notes.agree(f"{_at(place, 'led_voltages')}.{at}", theirs, ours)
    notes.agree(_at(place, "string_voltage"), printed["string_voltage"], sum(voltages))
    notes.agree(_at(place, "resistor_voltage"), printed["resistor_voltage"], current * row.resistance)
    notes.agree(_at(place, "dissipation"), printed["dissipation"], current**2 * row.resistance)
    heat, most = hottest(sheet, place, high)
    stated = printed["dissipation_high"]
    notes.require(
        stated is not None and 0.98 * heat - 1e-9 <= stated <= 1.02 * most + 1e-9,
        "figure_differs",
        _at(place, "dissipation_high"),
        f"the resistor of row {row.label} gets up to {heat:.3g} W",
        stated,
        heat,
    )
    bright = current / max(light.rated_current for light in row.lights)
    notes.agree(_at(place, "brightness"), printed["brightness"], bright)
    notes.agree(_at(place, "seen_brightness"), printed["seen_brightness"], bright**EYE_EXPONENT)
    hidden = sum(light.built_in_resistance for light in row.lights)
    headroom = sheet.source.voltage - sum(voltages) + hidden * current
    notes.agree(_at(place, "headroom"), printed["headroom"], headroom, 1e-6, 1e-6)
    half = sum([light_voltage(light, "expected", ambient, current / 2) for light in row.lights])
    half += row.resistance * current / 2
    sag = sum(each.count for each in sheet.rows) * sheet.source.resistance * current
    lit = printed["lowest_lit_voltage"]
    holds = bright < _SEEN if lit is None else half - 1e-6 <= lit <= half + sag + 1e-6
    notes.require(
        holds,
        "figure_differs",
        _at(place, "lowest_lit_voltage"),
        f"row {row.label} is half bright from {half:.3g} V on",
        lit,
        half,
    )
    if row.resistance > 0:
        same = printed["resistance_rkm"] == rkm_code(row.resistance) and _bands(row) == tuple(
            printed["colour_bands"] or ()
        )
        text = f"code or colour bands of row {row.label} are not those of {row.resistance:g} Ω"
        notes.require(same, "text_differs", _at(place, "colour_bands"), text)


def _bands(row: Row) -> tuple[str, ...]:
    return tuple(colour_bands(row.resistance, row.tolerance) or ())


def hottest(sheet: ReadSheet, place: int, high: State) -> tuple[float, float]:
    """Return the most heat a row's resistor gets, and what no resistor of its tolerance can pass. [W].

    At the low end of its tolerance it is solved with all rows; at the high end the other rows hold the
    source where it was, or, for the bound, were not there.
    """
    row, current = sheet.rows[place], high.currents[place]
    least = row.resistance * (1 - row.tolerance)
    most = row.resistance * (1 + row.tolerance)
    branch = row_branch(row, "high", sheet.ambient_temperature, most - least)
    among = string_current(high.distribution, branch.diodes, branch.resistance)
    behind = row.count * sheet.source.resistance_low
    alone = string_current(sheet.source.highest, branch.diodes, branch.resistance + behind)
    heat = max(current**2 * least, among**2 * most)
    return heat, max(heat, alone**2 * most)


def check_supply(sheet: ReadSheet, loops: Mapping[str, float], high: State, notes: Notes) -> None:
    """Compare the supply's currents: with wires as they flow, and the design current without."""
    source = sheet.source
    members = Members(sheet.document, "sheet")
    for stem, corner, voltage, behind in (
        ("supply_current_low", "low", source.lowest, source.resistance_high),
        ("supply_current", "expected", source.voltage, source.resistance),
        ("supply_current_high", "high", source.highest, source.resistance_low),
    ):
        state = with_wires(sheet, loops, voltage, behind, corner)
        notes.agree(json_name(stem), members.get(stem), state.total, 1e-6, 1e-10)
    notes.agree(json_name("design_current"), sheet.design_current, high.total)


def check_wires(sheet: ReadSheet, high: State, notes: Notes) -> None:
    """Compare every run's resistance, loss and ampacity, and the current it is planned for."""
    for place, run in enumerate(sheet.runs):
        at = f"wires.{place}"
        loop, current = run_loop(sheet, run), high.total if run.label == "W0" else carried(sheet, run, high)
        notes.agree(f"{at}.current_ma", run.current, current, 1e-6, 1e-9)
        notes.agree(f"{at}.conductor_area_mm2", run.conductor_area, area_of(run), 1e-4)
        notes.agree(f"{at}.loop_resistance_ohm", run.printed["loop_resistance"], loop)
        lost = voltage_drop(current, loop)
        notes.agree(f"{at}.drop_v", run.printed["drop"], lost, 1e-6, 1e-9 * loop + 1e-9)
        share = lost / sheet.source.voltage
        least = (1e-9 * loop + 1e-9) / sheet.source.voltage
        notes.agree(f"{at}.drop_pct", run.printed["drop_fraction"], share, 1e-6, least)
        notes.agree(f"{at}.ampacity_ma", run.printed["ampacity"], carries(sheet, area_of(run)))

        for index, other in enumerate(_list(sheet.document["wires"][place], "alternatives")):
            _check_other_wire(sheet, run, current, Members(other, f"{at}.alternatives.{index}"), notes)


def _check_other_wire(sheet: ReadSheet, run: Run, current: float, other: Members, notes: Notes) -> None:
    """Compare another size's figures on the same run."""
    area, awg = other.number("conductor_area"), other.get("awg")
    metric = awg is None or not math.isclose(awg_area(int(awg)), area, rel_tol=1e-4)
    each = per_metre(None if metric else int(awg), area, sheet.ambient_temperature)
    loop = loop_resistance(each, run.run_length)
    volts = other.get("supply_voltage") or sheet.source.voltage
    lost = voltage_drop(current * sheet.source.voltage / volts, loop)
    at = other.place
    notes.agree(f"{at}.loop_resistance_ohm", other.get("loop_resistance"), loop)
    notes.agree(f"{at}.drop_v", other.get("drop"), lost, 1e-6, 1e-9 * loop + 1e-9)
    notes.agree(f"{at}.ampacity_ma", other.get("ampacity"), carries(sheet, area))


def _list(mapping: Mapping[str, Any], name: str) -> Sequence[Any]:
    value = mapping.get(name)
    return value if isinstance(value, (list, tuple)) else ()


def check_fuse(sheet: ReadSheet, notes: Notes) -> None:
    """Compare the fuse's window and short circuit as printed."""
    printed = sheet.fuse
    try:
        fuse = fuse_seen(sheet)
    except LampwrightError:
        return  # the walk says so
    if printed is None or not sheet.runs or sheet.design_current is None:
        return
    thinnest = min(carries(sheet, area_of(run)) for run in sheet.runs)
    notes.require(
        printed["needed"] == fuse_need(sheet, thinnest),
        "text_differs",
        "fuse.needed",
        f"a fuse is {fuse_need(sheet, thinnest)} on this supply, not {printed['needed']}",
    )
    _check_window(sheet, fuse, printed, thinnest, "fuse", notes)
    for index, other in enumerate(_list(sheet.document["fuse"], "alternatives")):
        at = f"fuse.alternatives.{index}"
        stated = Members(other, at).every(FUSE_FIGURES)
        try:
            seen = fuse_seen(sheet, stated)
        except LampwrightError as error:
            notes.require(False, "part_differs", at, str(error))
            continue
        _check_window(sheet, seen, stated, thinnest, at, notes)


def _check_window(
    sheet: ReadSheet,
    fuse: FuseSeen | None,
    printed: Mapping[str, Any],
    thinnest: float,
    at: str,
    notes: Notes,
) -> None:
    """Compare one fuse's window and short circuit; without a fuse, what one would have to be."""
    if fuse is None:
        needed = smallest_rating(sheet.design_current or 0.0, fuse_derating(sheet.ambient_temperature))
        notes.agree(f"{at}.smallest_ma", printed["smallest"], needed)
        notes.agree(f"{at}.largest_ma", printed["largest"], thinnest)
        if printed["short_circuit_current"] is not None:
            flowing = at_far_end(sheet, _longest_loop(sheet))
            notes.agree(f"{at}.short_circuit_current_ma", printed["short_circuit_current"], flowing)
        return
    smallest = smallest_rating(sheet.design_current or 0.0, fuse.derating)
    notes.agree(f"{at}.smallest_ma", printed["smallest"], smallest)
    # A resettable device lets through up to its trip current, twice what it is named for.
    share = 0.5 if fuse.style == "resettable" else 1.0
    notes.agree(f"{at}.largest_ma", printed["largest"], thinnest * share)
    if printed["short_circuit_current"] is None:
        return
    flowing = at_far_end(sheet, _longest_loop(sheet) + fuse.resistance)
    notes.agree(f"{at}.short_circuit_current_ma", printed["short_circuit_current"], flowing)
    notes.require(
        printed["clears_short"] == (flowing >= fuse.opens_from),
        "text_differs",
        f"{at}.clears_short",
        f"{flowing:.3g} A flow in a short circuit, {fuse.opens_from:.3g} A open it",
    )


def _longest_loop(sheet: ReadSheet) -> float:
    """Return the loop of the main run and the run that resists most: where a short lets least flow."""
    loops = loops_of(sheet)
    return loops.get("W0", 0.0) + max((loop for label, loop in loops.items() if label != "W0"), default=0.0)
