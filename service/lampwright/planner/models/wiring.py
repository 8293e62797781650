"""Asks and answers about wire, fuses, switches and joints."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.parts import Supply
from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class WireAsk:
    """Which wire for this current and run; ``awg`` or ``conductor_area`` given: how does it do.

    ``core`` is solid, stranded or tinned (stranded and tinned); None: nobody knows, taken as stranded.
    ``ampacity_min`` [A] asks for a wire that carries at least this, for instance the fuse before it.
    ``drop_share`` is the part that ``max_drop`` is of what is allowed on the whole way to the lights.
    """

    current: float
    run_length: float
    supply_voltage: float
    max_drop: float = 0.03
    bundled_count: int = 2
    insulation: str = "pvc_80"
    flexing: bool = False
    enclosed: bool = False
    on_hand_awg: tuple[int, ...] | None = None
    awg: int | None = None
    conductor_area: float | None = None
    ampacity_rule: str = "bundled"
    ambient_temperature: float = 25.0
    core: str | None = None
    ampacity_min: float = 0.0
    drop_share: float = 1.0


@quickly_made
@dataclass(frozen=True, slots=True)
class WireFigures:
    """One wire size on this run. ``metric_area`` is the metric size that is no thinner.

    ``supply_voltage`` is what the figures are for: as asked, or that of another supply.
    """

    awg: int | None
    conductor_area: float | None
    metric_area: float | None
    loop_resistance: float | None
    drop: float | None
    drop_fraction: float | None
    ampacity: float | None
    limited_by: str | None
    supply_voltage: float | None = None


@quickly_made
@dataclass(frozen=True, slots=True)
class WireAnswer(WireFigures):
    """The wire to use, and others."""

    alternatives: tuple[WireFigures, ...] = ()
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FuseAsk:
    """Which fuse; ``rated_current`` given: how does it do (0: none fitted).

    ``loop_resistance`` [Ω] is that of all wire up to the far end, where wires of several sizes lie one
    after the other; the gauge is then that of the thinnest.
    """

    current: float
    awg: int | None = None
    conductor_area: float | None = None
    run_length: float | None = None
    bundled_count: int = 2
    insulation: str = "pvc_80"
    enclosed: bool = False
    ampacity_rule: str = "bundled"
    supply: Supply | None = None
    short_circuit_current: float | None = None
    inrush: float | None = None
    style: str | None = None
    rated_current: float | None = None
    ambient_temperature: float = 25.0
    loop_resistance: float | None = None


@quickly_made
@dataclass(frozen=True, slots=True)
class FuseFigures:
    """One fuse in this place; ``rated_current`` is None only beside a stop or where none is fitted."""

    rated_current: float | None
    style: str | None
    smallest: float | None
    largest: float | None
    short_circuit_current: float | None
    clears_short: bool | None


@dataclass(frozen=True, slots=True)
class FuseAnswer(FuseFigures):
    """The fuse to fit, whether it must be, and where."""

    needed: str = "optional"
    placement: str = ""
    spares: int = 0
    alternatives: tuple[FuseFigures, ...] = ()
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SwitchAnswer:
    """The switch: what its DC rating must be at least."""

    rated_current: float
    rated_voltage: float
    kind: str
    why: str


@quickly_made
@dataclass(frozen=True, slots=True)
class Joint:
    """One joint of the build; ``joint`` is its label (X1), ``wires`` the labels that meet there.

    ``count`` joints alike share a line ("X4–X9"). ``sleeve_diameter`` is before shrinking,
    ``sleeve_shrunk`` after it.
    """

    joint: str
    wires: tuple[str, ...]
    method: str
    strip_length: float
    sleeve_diameter: float | None
    sleeve_length: float | None
    sleeve_first: bool
    tie_down: str
    moves: bool
    sleeve_shrunk: float | None = None
    count: int = 1


@quickly_made
@dataclass(frozen=True, slots=True)
class Cut:
    """One piece of wire to cut."""

    label: str
    awg: int
    colour: str
    cut_length: float
    slack: float
    strip_length: float
    sleeve_diameter: float | None
    sleeve_length: float | None
    count: int = 1


@quickly_made
@dataclass(frozen=True, slots=True)
class SleeveCut:
    """Pieces of sleeve to cut, all alike, and the joints they go on."""

    sleeve_diameter: float
    sleeve_length: float
    count: int
    joints: tuple[str, ...]
