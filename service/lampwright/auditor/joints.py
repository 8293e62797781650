"""Joints, cuts, sleeves and steps of a sheet against each other: every end joined once, fuse before power."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from lampwright.auditor.reading import ReadSheet, Row, labels_in
from lampwright.auditor.report import Notes
from lampwright.quantities import show

Line = Mapping[str, Any]


def check_joints(sheet: ReadSheet, notes: Notes) -> None:
    """Compare the joint table with rows, wires, cut list, sleeves and steps."""
    joints = _lines(sheet, "joints")
    if not joints:
        return  # sheets that found no wire have none
    ends: Counter[str] = Counter()
    for joint in joints:
        for end in joint.get("wires") or ():
            ends[str(end)] += int(joint.get("count") or 0)
    for row in sheet.rows:
        _check_row(row, ends, notes)
    for cut in _lines(sheet, "cut_list"):
        label = str(cut.get("label"))
        if " in row " in label:
            continue  # links are counted with their rows
        text = f"{label} is cut, and not joined at both ends"
        notes.require(ends[label] >= 2, "count_differs", f"cut_list.{label}", text, 2, ends[label])
    _check_sleeves(sheet, joints, notes)
    _check_steps(sheet, joints, notes)


def _lines(sheet: ReadSheet, member: str) -> list[Line]:
    found = sheet.document.get(member)
    listed: Sequence[Any] = found if isinstance(found, Sequence) and not isinstance(found, str) else ()
    return [each for each in listed if isinstance(each, Mapping)]


def _check_row(row: Row, ends: Counter[str], notes: Notes) -> None:
    """Require that both ends of a row, of its resistor and of its links are joined, in every row."""
    first, lights = labels_in(row.label)[0], len(row.lights)
    wanted = {f"{first}1+": row.count, f"{first}{lights}−": row.count}
    if row.resistance > 0:
        wanted[f"R-{first}"] = 2 * row.count
    if lights > 1:
        wanted[f"{first} link"] = 2 * (lights - 1) * row.count
    for end, count in wanted.items():
        text = f"{count} joints of {end} are needed, {ends[end]} are listed"
        notes.require(ends[end] == count, "count_differs", f"joints.{end}", text, ends[end], count)


def _check_sleeves(sheet: ReadSheet, joints: Sequence[Line], notes: Notes) -> None:
    """Compare sleeves to cut, and to buy, with the joints that need them."""
    pieces: Counter[float] = Counter()
    metres: Counter[float] = Counter()
    for joint in joints:
        width, length = joint.get("sleeve_diameter_mm"), joint.get("sleeve_length_mm")
        if width and length:
            pieces[round(width, 6)] += int(joint.get("count") or 0)
            metres[round(width, 6)] += length / 1000 * int(joint.get("count") or 0)
    cut: Counter[float] = Counter()
    for each in _lines(sheet, "sleeves"):
        cut[round(float(each.get("sleeve_diameter_mm") or 0.0), 6)] += int(each.get("count") or 0)
    text = f"sleeves to cut are {dict(cut)}, the joints need {dict(pieces)}"
    notes.require(cut == pieces, "count_differs", "sleeves", text)
    bought = {
        str(line.get("value")).partition(" before")[0]: str(line.get("value"))
        for line in _lines(sheet, "parts_list")
        if line.get("item") == "Shrink sleeve"
    }
    for width, length in metres.items():
        said = bought.get(show(width / 1000, "mm"), "").rpartition(", ")[2].removesuffix(" m")
        enough = said.replace(".", "", 1).isdecimal() and float(said) >= length - 1e-9
        told = f"{said or 'no'} m of {width:g} mm sleeve are listed, {length:.3g} m are needed"
        notes.require(enough, "count_differs", "parts_list.Shrink sleeve", told)


def _check_steps(sheet: ReadSheet, joints: Sequence[Line], notes: Notes) -> None:
    """Require that every joint is made in one step, and the fuse before any step with power on."""
    steps = _lines(sheet, "build_steps")
    made: Counter[str] = Counter(str(label) for step in steps for label in step.get("joints") or ())
    listed = Counter(str(joint.get("joint")) for joint in joints)
    text = "every joint is made in one step, no more and no less"
    notes.require(made == listed, "count_differs", "build_steps", text)
    if sheet.fuse is None or not sheet.fuse["rated_current"]:
        return
    at_fuse = {str(joint.get("joint")) for joint in joints if "F1" in (joint.get("wires") or ())}
    fitted = min(
        (place for place, step in enumerate(steps) if at_fuse & {*(step.get("joints") or ())}),
        default=math.inf,
    )
    live = min((place for place, step in enumerate(steps) if step.get("powered")), default=math.inf)
    text = "a step puts power on before the fuse is in"
    notes.require(fitted < live, "fuse_missing", "build_steps", text)
