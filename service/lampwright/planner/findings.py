"""Make findings from the one table of codes and wordings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from lampwright.planner.models.base import NOTHING, Finding, Severity
from lampwright.tables.findings import finding_rows


def finding(
    code: str, *, suggestion: Mapping[str, object] = NOTHING, field: str = "", **gaps: object
) -> Finding:
    """Return a finding with its wording filled in.

    Parameters
    ----------
    code : str
        A code of ``findings.csv``; severity, message and remedy come from there.
    suggestion : mapping
        Stems and values (inner units) to send instead.
    field : str
        Stem path of the member the finding is about.
    **gaps
        Texts for the named gaps of message and remedy, already short ("18.5 mA").
    """
    row = finding_rows()[code]
    return Finding(
        code,
        cast(Severity, row.severity),
        row.message.format_map(gaps),
        row.remedy.format_map(gaps),
        suggestion,
        field,
    )
