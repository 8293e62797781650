"""Asks and answers of the bench companion: readings and signs in, likely causes out."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import BuildAsk
from lampwright.planner.models.circuits import CircuitAsk


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading at a test point of the sheet: ``check`` is its id; volts or a current."""

    check: str
    voltage: float | None = None
    current: float | None = None


@dataclass(frozen=True, slots=True)
class DiagnosisAsk:
    """What was built (a build, or a circuit as it is) and what the meter or the eye says."""

    build: BuildAsk | None = None
    circuit: CircuitAsk | None = None
    readings: tuple[Reading, ...] = ()
    signs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cause:
    """A likely cause; causes no test point can tell apart are one, named together.

    ``faults`` are the ids of what it stands for, ``burns`` whether leaving it so overloads a part.
    """

    what: str
    likelihood: float
    fix: str
    faults: tuple[str, ...] = ()
    burns: bool = False


@dataclass(frozen=True, slots=True)
class NextCheck:
    """The reading that separates the causes best, and what it would say for each of them."""

    check: str
    tips: str
    tells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DiagnosisAnswer:
    """Causes, likeliest first; ``next_check`` is None where nothing is left to measure."""

    causes: tuple[Cause, ...]
    next_check: NextCheck | None
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
