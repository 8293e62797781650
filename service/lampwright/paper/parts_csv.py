"""The parts list as CSV, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io

from lampwright.drawing.svg import clean
from lampwright.planner.models.build import Sheet

COLUMNS = ("item", "value", "count", "spares", "label", "replacement")


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula (CWE-1236).

    >>> guarded("=1+1"), guarded("LED"), guarded("-5")
    ("'=1+1", 'LED', "'-5")
    """
    text = clean(text)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "|", "%") else text


def render_csv(sheet: Sheet) -> str:
    """Return the parts list: a header, then a line a part."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for line in sheet.parts_list:
        writer.writerow(
            (
                guarded(line.item),
                guarded(line.value),
                line.count,
                line.spares,
                guarded(line.label),
                guarded(line.replacement),
            )
        )
    return out.getvalue()
