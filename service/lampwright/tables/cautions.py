"""Workshop cautions: what can hurt, why, what to do, and when it applies."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class CautionRow:
    """One caution; ``applies`` names the fact that calls for it, the lowest ``rank`` is the worst."""

    code: str
    rank: int
    applies: str
    severity: str
    hazard: str
    why: str
    action: str
    source: str
    locator: str
    status: str


@cache
def caution_rows() -> tuple[CautionRow, ...]:
    """Return every caution, worst first."""
    return tuple(sorted(load("cautions.csv", CautionRow), key=lambda row: row.rank))
