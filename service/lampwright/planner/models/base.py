"""What every answer carries: findings, working, sources."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from lampwright.records import quickly_made

Severity = Literal["stop", "caution", "note"]
NOTHING: Mapping[str, object] = MappingProxyType({})


@quickly_made
@dataclass(frozen=True, slots=True)
class Finding:
    """A judgement of this build.

    ``suggestion`` maps stems (inner units) to the values to send instead; ``field`` is the stem path
    the finding is about, such as ``forward_current`` or ``lights.0.count``.
    """

    code: str
    severity: Severity
    message: str
    remedy: str
    suggestion: Mapping[str, object] = field(default_factory=lambda: NOTHING)
    field: str = ""


@quickly_made
@dataclass(frozen=True, slots=True)
class Step:
    """One step of working: what is found, the equation, the same with numbers in, the result."""

    what: str
    equation: str
    values: str
    result: str
    link: str = ""


def stopped(findings: Sequence[Finding]) -> bool:
    """Return whether any finding says: do not build this."""
    return any([finding.severity == "stop" for finding in findings]) if findings else False
