"""The sheet as plain text: the same tables in columns, for a terminal, a mail or a screen reader."""

from __future__ import annotations

import textwrap
from dataclasses import replace

from lampwright.drawing.svg import clean
from lampwright.paper import tables
from lampwright.paper.code import carry_text
from lampwright.paper.tables import BLANK, SAFE_WORDS, Table
from lampwright.planner.models.build import Sheet

WIDTH = 100
GAP = 2
LEAST = 6  # no column gets narrower


def _widths(table: Table) -> list[int]:
    """Return column widths that fit the line: the widest give way first."""
    cells = [table.columns, *table.rows]
    widths = [max(len(clean(row[at])) for row in cells) for at in range(len(table.columns))]
    room = WIDTH - GAP * (len(widths) - 1)
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda at: widths[at])
        if widths[widest] <= LEAST:
            break
        widths[widest] -= 1
    return widths


def _wrapped(text: str, width: int) -> list[str]:
    """Return a cleaned text in lines; most cells are one, and need no wrapping."""
    return [text] if len(text) <= width else textwrap.wrap(text, width, break_long_words=True)


def _line(cells: tuple[str, ...], widths: list[int]) -> list[str]:
    wrapped = [_wrapped(clean(cell), width) for cell, width in zip(cells, widths, strict=True)]
    lines = []
    for at in range(max(len(cell) for cell in wrapped)):
        row = (cell[at] if at < len(cell) else "" for cell in wrapped)
        lines.append(
            (" " * GAP).join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        )
    return lines


def _table(table: Table) -> list[str]:
    if not table.rows:
        return []
    widths = _widths(table)
    lines = [*_heading(table.heading), *_line(table.columns, widths)]
    lines.append((" " * GAP).join("-" * width for width in widths))
    for row in table.rows:
        lines += _line(row, widths)
    if table.note:
        lines += _said(table.note)
    return lines


def _once(table: Table) -> Table:
    """Say what neighbouring readings mean once."""
    rows = []
    before: tuple[str, ...] = ("",) * 3
    for row in table.rows:
        means = (
            "as above" if text == last != "-" else text for text, last in zip(row[-3:], before, strict=True)
        )
        rows.append((*row[:-3], *means))
        before = row[-3:]
    return replace(table, rows=tuple(rows))


def _heading(text: str) -> list[str]:
    return ["", text.upper(), "=" * len(text)]


def _said(text: str, first: str = "", rest: str | None = None) -> list[str]:
    hanging = " " * len(first) if rest is None else rest
    return textwrap.wrap(clean(text), WIDTH, initial_indent=first, subsequent_indent=hanging) or [
        first.rstrip()
    ]


def render_text(sheet: Sheet, address: str | None = None) -> str:
    """Return the sheet as plain text; with the calculator's address also the link that opens it there."""
    title = clean(sheet.title, 160) or "Untitled build"
    lines = [title, "#" * min(len(title), WIDTH), SAFE_WORDS[sheet.safe].upper()]
    lines += [f"{what}: {clean(says)}" for what, says in tables.key_figures(sheet)]
    lines += _said(f"{sheet.summary} {sheet.reserve}".strip())
    lines.append(f"Version {BLANK}  Date {BLANK}  Maker {BLANK}")
    lines += _heading("Before you start")
    for advice in tables.warnings(sheet):
        lines += _said(f"{advice.word.upper()}: {advice.what} {advice.do}", "- ")
    lines += _said(sheet.deference)
    if not sheet.plan.strings:
        return "\n".join([*lines, *_notes(sheet)]) + "\n"
    lines += _table(tables.parts(sheet))
    lines += _table(tables.cuts(sheet))
    lines += _heading("Picture in words")
    for part in sheet.drawing_text.split("\n"):
        lines += _said(part, "", "    ")
    for table in (tables.rows_table(sheet), tables.joints(sheet)):
        lines += _table(table)
    lines += _heading("Build steps")
    for step, reading in tables.steps(sheet):
        lines += _said(f"{step.text} {reading}", f"[ ] {step.number:2d}. ")
    for table in (_once(tables.readings(sheet)), tables.faults(sheet)):
        lines += _table(table)
    lines += _heading("Event card")
    for line in sheet.event_card:
        lines += _said(f"{line.what}: {line.says or BLANK}", "", "    ")
    lines += _notes(sheet)
    lines += _table(tables.log(sheet))
    lines += _heading("What the figures rest on")
    for text in sheet.assumptions:
        lines += _said(text, "- ")
    for table in (tables.comparison(sheet), tables.weak_points(sheet)):
        lines += _table(table)
    lines += [*_heading("Open this build again"), *carry_text(sheet, address)]
    return "\n".join(lines) + "\n"


def _notes(sheet: Sheet) -> list[str]:
    notes = tables.notes(sheet)
    if not notes:
        return []
    lines = _heading("More to know")
    for note in notes:
        lines += _said(note, "- ")
    return lines
