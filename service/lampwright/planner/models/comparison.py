"""Ask and answer about two versions of a build."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.build import BuildAsk


@dataclass(frozen=True, slots=True)
class BuildComparisonAsk:
    """The build as it was, and as it is to be."""

    before: BuildAsk
    after: BuildAsk


@dataclass(frozen=True, slots=True)
class Version:
    """What one version comes to. Hours are None on a supply that does not run flat."""

    title: str
    safe: str
    buildable: bool
    supply_current: float | None
    design_current: float | None
    runtime: float | None
    runtime_low: float | None
    runtime_high: float | None


@dataclass(frozen=True, slots=True)
class BuildComparisonAnswer:
    """What was changed and what it does, as sentences; ``findings`` are those of the version after.

    ``safer`` is True where the change makes it safer, False where less safe, None where neither.
    """

    changes: tuple[str, ...]
    effects: tuple[str, ...]
    safer: bool | None
    before: Version
    after: Version
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
