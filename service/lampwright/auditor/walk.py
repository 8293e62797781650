"""The audit itself: read, rebuild, compare, walk the worst corner."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lampwright.auditor import figures, joints, limits, promises, texts
from lampwright.auditor.reading import ReadSheet, read_sheet
from lampwright.auditor.report import AuditReport, Notes, UnreadableSheetError
from lampwright.auditor.wiring import area_of
from lampwright.errors import LampwrightError


def audit(document: Mapping[str, Any]) -> AuditReport:
    """Return what a second, separate check makes of an answered sheet.

    Parameters
    ----------
    document : mapping
        The JSON of an answered build sheet; members it does not know are left alone.

    Returns
    -------
    report : AuditReport
        ``sound`` where the sheet says buildable and nothing failed.

    Raises
    ------
    UnreadableSheetError
        If the document is no sheet, or lacks what an audit needs.
    """
    try:
        sheet = read_sheet(document)
        notes = Notes()
        if sheet.rows:
            _examine(sheet, notes)
    except (LampwrightError, TypeError, ValueError, ArithmeticError) as error:
        if isinstance(error, UnreadableSheetError):
            raise
        raise UnreadableSheetError(f"the sheet's figures make no circuit: {error}") from error
    if sheet.buildable:
        found = document.get("findings") or []
        if not isinstance(found, list) or not all(isinstance(each, Mapping) for each in found):
            raise UnreadableSheetError("the sheet's findings are no list of objects")
        stops = [each for each in found if each.get("severity") == "stop"]
        notes.require(not stops, "stop_but_buildable", "findings", "a finding says stop, the sheet buildable")
        notes.require(bool(sheet.rows), "count_differs", "strings", "a buildable sheet has rows")
    return AuditReport(
        sound=sheet.buildable and not notes.failures,
        buildable=sheet.buildable,
        failures=tuple(notes.failures),
        remarks=tuple(notes.remarks),
        checked=notes.checked,
    )


def _examine(sheet: ReadSheet, notes: Notes) -> None:
    figures.check_lights(sheet, notes)
    figures.check_source(sheet, notes)
    states = figures.check_rows(sheet, notes)
    high = states["current_high"]
    promises.check_parts(sheet, notes)
    joints.check_joints(sheet, notes)
    texts.check_texts(sheet.document, ("sheet",), notes)
    limits.walk_rows(sheet, high, notes)
    if any(area_of(run) <= 0 for run in sheet.runs):
        # A sheet that found no wire says so; a buildable one has to have them all.
        text = "a run has no wire size, and the sheet says buildable"
        notes.require(not sheet.buildable, "part_differs", "wires", text)
        return
    loops = figures.loops_of(sheet)
    figures.check_supply(sheet, loops, high, notes)
    figures.check_wires(sheet, high, notes)
    figures.check_fuse(sheet, notes)
    promises.check_readings(sheet, loops, notes)
    promises.check_runtime(sheet, loops, notes)
    worst = limits.walk_shorted_light(sheet, high, notes)
    limits.walk_wires(sheet, high, worst, notes)
    limits.walk_fuse(sheet, loops, notes)
    limits.walk_supply(sheet, states["current" if sheet.source.battery else "current_fresh"].total, notes)
    limits.walk_switch(sheet, worst, notes)
