"""A whole build: what is asked, the plan that answers it, and the sheet made from the plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.circuits import BenchCheck, LightGroup, StringAnswer
from lampwright.planner.models.energy import RuntimeAnswer, RuntimeFigures
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.models.wiring import (
    Cut,
    FuseAnswer,
    Joint,
    SleeveCut,
    SwitchAnswer,
    WireAnswer,
)
from lampwright.records import quickly_made


@dataclass(frozen=True, slots=True)
class ResistorWishes:
    """What resistors there are to choose from."""

    e_series: str = "E24"
    tolerance: float = 0.05
    rated_dissipation: float | None = None
    on_hand: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class WireWishes:
    """What wire there is, and where it goes."""

    on_hand_awg: tuple[int, ...] | None = None
    max_drop: float = 0.03
    flexing: bool = False
    enclosed: bool = False
    bundled_count: int = 2
    insulation: str = "pvc_80"


@dataclass(frozen=True, slots=True)
class FuseWishes:
    """The fuse a maker has or wants; 0: none fitted. Rating and style are found where left out."""

    rated_current: float | None = None
    style: str | None = None


@dataclass(frozen=True, slots=True)
class Usage:
    """How the build is used. Times in s."""

    hours_wanted: float | None = None
    duty: float = 1.0
    hours_per_day: float = 86400.0
    air_travel: bool = False
    flash_rate: float | None = None
    worn: bool = False
    start_clock: str | None = None


@dataclass(frozen=True, slots=True)
class BuildAsk:
    """A build in plain terms."""

    title: str
    supply: Supply
    lights: tuple[LightGroup, ...]
    resistors: ResistorWishes = ResistorWishes()
    wire: WireWishes = WireWishes()
    usage: Usage = Usage()
    fuse: FuseWishes = FuseWishes()
    mix_colours: bool = False
    ambient_temperature: float = 25.0


@quickly_made
@dataclass(frozen=True, slots=True)
class PlannedString:
    """A row of the build: its label (A, B, ...), which lights are in it, and its solved string."""

    row: str
    light_names: tuple[str, ...]
    leds: tuple[Led, ...]
    solved: StringAnswer
    run_length: float


@quickly_made
@dataclass(frozen=True, slots=True)
class PlannedWire:
    """A wire run of the build: W0 from supply to distribution, W1... to each row."""

    label: str
    serves: str
    run_length: float
    current: float
    figures: WireAnswer


@dataclass(frozen=True, slots=True)
class Plan:
    """What the planner decided for a whole build; no words for the bench yet."""

    ask: BuildAsk
    buildable: bool
    strings: tuple[PlannedString, ...]
    supply_current: float | None
    supply_current_low: float | None
    supply_current_high: float | None
    design_current: float | None
    wires: tuple[PlannedWire, ...]
    fuse: FuseAnswer | None
    switch: SwitchAnswer | None
    runtime: RuntimeAnswer | None
    comparison: tuple[RuntimeFigures, ...]
    cuts: tuple[Cut, ...]
    joints: tuple[Joint, ...]
    findings: tuple[Finding, ...]
    working: tuple[Step, ...]
    sources: tuple[str, ...]


@quickly_made
@dataclass(frozen=True, slots=True)
class PartLine:
    """One line of the parts list."""

    item: str
    value: str
    count: int
    spares: int
    label: str
    replacement: str


@quickly_made
@dataclass(frozen=True, slots=True)
class BuildStep:
    """One step at the bench; ``gate`` steps are stop-and-test.

    ``joints`` are the labels of the joints made in this step, ``powered`` tells whether current flows
    through anything of the build.
    """

    number: int
    text: str
    gate: bool
    reading: str = ""
    joints: tuple[str, ...] = ()
    powered: bool = False


@quickly_made
@dataclass(frozen=True, slots=True)
class FaultRow:
    """One row of the fault table; ``sign`` is its id."""

    sign: str
    shows: str
    look_first: str
    check: str
    causes: tuple[str, ...]
    cure: str


@quickly_made
@dataclass(frozen=True, slots=True)
class CautionLine:
    """A workshop safety line that applies to this build, from the one table."""

    code: str
    severity: str
    hazard: str
    why: str
    action: str
    source: str


@dataclass(frozen=True, slots=True)
class RowCurve:
    """Current of one row over supply voltage, expected parts, for the plot."""

    row: str
    supply_voltages: tuple[float, ...]
    currents: tuple[float, ...]


@quickly_made
@dataclass(frozen=True, slots=True)
class EventLine:
    """One line of the event card: what, and what it says (blank: a line to write on)."""

    what: str
    says: str


@dataclass(frozen=True, slots=True)
class BreakLine:
    """What one would see if a part opened, shorted or were fitted the wrong way round.

    ``fault`` is open, short, reversed and the like; ``dark`` the rows that go out, ``share_lost`` the
    part of all the light that is lost, ``burns`` whether anything is overloaded.
    """

    part: str
    fault: str
    shows: str
    dark: tuple[str, ...]
    share_lost: float
    burns: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything a build sheet says. ``safe`` is yes, with_care or no.

    ``document`` is its JSON where that was made already; a sheet that is changed has none. What only paper
    and page show (curves, break-it view) is worked out when it is looked at.
    """

    title: str
    plan: Plan
    buildable: bool
    safe: str
    summary: str
    reserve: str
    parts_list: tuple[PartLine, ...]
    tools: tuple[str, ...]
    sleeves: tuple[SleeveCut, ...]
    build_steps: tuple[BuildStep, ...]
    bench_checks: tuple[BenchCheck, ...]
    fault_finding: tuple[FaultRow, ...]
    cautions: tuple[CautionLine, ...]
    deference: str
    assumptions: tuple[str, ...]
    drawing_text: str
    light_figures: tuple[Mapping[str, object], ...]
    findings: tuple[Finding, ...]
    working: tuple[Step, ...]
    sources: tuple[str, ...]
    row_curves: Sequence[RowCurve] = ()
    event_card: tuple[EventLine, ...] = ()
    break_it: Sequence[BreakLine] = ()
    document: Mapping[str, object] | None = field(default=None, init=False, repr=False, compare=False)
