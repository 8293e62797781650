"""What the auditor says: failures with a code word, and remarks that fail nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from lampwright.errors import LampwrightError
from lampwright.quantities import UNITS


class UnreadableSheetError(LampwrightError):
    """The document is not a sheet, or lacks what an audit needs."""


@dataclass(frozen=True, slots=True)
class Failure:
    """One thing that does not hold: where, what was printed or allowed, what the auditor found.

    ``code`` is one of: figure_differs, count_differs, text_differs, part_differs, led_over_limit,
    resistor_over_rating, wire_over_ampacity, wire_too_thin, fuse_missing, fuse_outside_window,
    fuse_cannot_clear, fuse_cannot_break, supply_over_limit, switch_over_rating, voltage_over_limit,
    nothing_limits_current, stop_but_buildable.
    """

    code: str
    place: str
    message: str
    printed: float | None = None
    found: float | None = None


@dataclass(frozen=True, slots=True)
class AuditReport:
    """``sound`` is True where the sheet says buildable and nothing failed; ``checked`` counts checks.

    ``remarks`` tell what one fault would overload (a light shorted, say): worth knowing, no failure of
    a sound build.
    """

    sound: bool
    buildable: bool
    failures: tuple[Failure, ...]
    remarks: tuple[Failure, ...]
    checked: int


@dataclass(slots=True)
class Notes:
    """Collects failures and remarks on the way."""

    failures: list[Failure] = field(default_factory=list)
    remarks: list[Failure] = field(default_factory=list)
    checked: int = 0

    def require(
        self,
        holds: bool,
        code: str,
        place: str,
        message: str,
        printed: float | None = None,
        found: float | None = None,
    ) -> bool:
        """Count a check and keep it where it fails."""
        self.checked += 1
        if not holds:
            self.failures.append(Failure(code, place, message, printed, found))
        return holds

    def agree(
        self, place: str, printed: float | None, found: float, rel: float = 1e-6, least: float = 1e-9
    ) -> None:
        """Require that a printed figure is the auditor's own, within a relative and an absolute bound."""
        near = printed is not None and abs(printed - found) <= max(rel * abs(found), least)
        if near:
            self.checked += 1
            return
        # Told in the unit the member's name ends in, as it is printed.
        named = re.search(r"_([a-z0-9]+?)(?:\.\d+)?$", place)
        unit = UNITS.get(named[1]) if named else None
        ours = unit.outer(found) if unit else found
        theirs = unit.outer(printed) if unit and printed is not None else printed
        text = "nothing" if theirs is None else f"{theirs:.6g}"
        message = f"the sheet says {text}, found {ours:.6g}"
        self.require(False, "figure_differs", place, message, printed, found)
