"""Finding codes: severity, wording and remedy of every judgement, in one table."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One kind of finding; ``message`` and ``remedy`` are templates with named gaps."""

    code: str
    severity: str
    message: str
    remedy: str
    why: str
    source: str
    locator: str
    status: str


@cache
def finding_rows() -> dict[str, FindingRow]:
    """Return every kind of finding by its code."""
    return {row.code: row for row in load("findings.csv", FindingRow)}
