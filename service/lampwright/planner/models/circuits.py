"""Asks and answers about resistors, arrangements, circuits that exist, and unknown pre-wired lights."""

from __future__ import annotations

from dataclasses import dataclass, field

from lampwright.planner.models.base import Finding, Step
from lampwright.planner.models.parts import Led, Supply
from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class StringAsk:
    """A string as sent: LEDs from plus; ``resistance`` None means: find it; 0 means: none.

    ``listed``: its lights were sent one by one, not as so many of one kind.
    """

    leds: tuple[Led, ...]
    resistance: float | None = None
    tolerance: float = 0.05
    rated_dissipation: float | None = None
    branch_count: int = 1
    reversed: tuple[int, ...] = ()
    forward_current: float | None = None
    listed: bool = False


@quickly_made
@dataclass(frozen=True, slots=True)
class StringAnswer:
    """One branch of a string, solved. ``leds`` repeats names, or objects as sent."""

    leds: tuple[object, ...]
    series_count: int
    branch_count: int
    resistance: float | None
    resistance_rkm: str | None
    colour_bands: tuple[str, ...] | None
    tolerance: float
    current: float | None
    current_low: float | None
    current_high: float | None
    current_fresh: float | None
    current_empty: float | None
    brightness: float | None
    seen_brightness: float | None
    string_voltage: float | None
    led_voltages: tuple[float, ...] | None
    resistor_voltage: float | None
    dissipation: float | None
    dissipation_high: float | None
    rated_dissipation: float | None
    headroom: float | None
    lowest_lit_voltage: float | None


@quickly_made
@dataclass(frozen=True, slots=True)
class ResistorAsk:
    """Which resistor for this string, or: how does this one do."""

    supply: Supply
    string: StringAsk
    e_series: str = "E24"
    on_hand: tuple[float, ...] | None = None
    ambient_temperature: float = 25.0


@quickly_made
@dataclass(frozen=True, slots=True)
class ResistorChoice:
    """A neighbouring preferred value, or parts from the drawer, and what it would do."""

    resistance: float
    current: float
    current_low: float
    current_high: float
    dissipation: float
    brightness: float
    parts: tuple[float, ...] = ()
    joined: str = ""
    dissipation_each: tuple[float, ...] = ()
    within: bool = True


@quickly_made
@dataclass(frozen=True, slots=True)
class ResistorAnswer(StringAnswer):
    """A string answer, flat, with what led to its resistor."""

    ideal_resistance: float | None = None
    neighbours: tuple[ResistorChoice, ...] = ()
    on_hand: tuple[ResistorChoice, ...] = ()
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()


@quickly_made
@dataclass(frozen=True, slots=True)
class LightGroup:
    """Some equal lights of a build; ``place`` is where the request names them, such as ``lights.1``."""

    name: str
    led: Led
    count: int
    forward_current: float | None = None
    run_length: float | None = None
    dim_to: float | None = None
    place: str = field(default="", compare=False)


@quickly_made
@dataclass(frozen=True, slots=True)
class ArrangementAsk:
    """How to split lights into strings."""

    supply: Supply
    lights: tuple[LightGroup, ...]
    mix_colours: bool = False
    e_series: str = "E24"
    tolerance: float = 0.05
    rated_dissipation: float | None = None
    on_hand: tuple[float, ...] | None = None
    ambient_temperature: float = 25.0


@quickly_made
@dataclass(frozen=True, slots=True)
class Arrangement:
    """One way to wire the lights."""

    kind: str
    strings: tuple[StringAnswer, ...]
    supply_current: float
    supply_power: float
    wasted_power: float
    efficiency: float
    resistor_count: int
    joint_count: int
    evenness: float
    lowest_lit_voltage: float
    if_one_opens: str
    if_one_shorts: str
    proved_fewest: bool
    mixed_colours: bool
    findings: tuple[Finding, ...] = ()


@quickly_made
@dataclass(frozen=True, slots=True)
class ArrangementAnswer:
    """The sensible alternatives, side by side; ``recommended`` indexes them, None where all stop."""

    arrangements: tuple[Arrangement, ...]
    recommended: int | None
    reason: str
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feed:
    """A two-wire feed: loop resistances, out and back; branches in order along it."""

    lead_loop: float = 0.0
    segment_loop: float = 0.0
    far_end_lead_loop: float | None = None


@dataclass(frozen=True, slots=True)
class CircuitAsk:
    """What the user already has."""

    supply: Supply
    strings: tuple[StringAsk, ...]
    shared_resistance: float = 0.0
    feed: Feed | None = None
    wire_awg: int | None = None
    wire_run_length: float | None = None
    fuse_rated_current: float | None = None
    fuse_style: str | None = None
    ambient_temperature: float = 25.0


@quickly_made
@dataclass(frozen=True, slots=True)
class BenchCheck:
    """One reading at the bench: where the tips go and what the meter should say."""

    check: str
    tips: str
    voltage: float | None = None
    voltage_low: float | None = None
    voltage_high: float | None = None
    current: float | None = None
    current_low: float | None = None
    current_high: float | None = None
    zero_means: str = ""
    low_means: str = ""
    high_means: str = ""
    good_but: str = ""


@dataclass(frozen=True, slots=True)
class CircuitAnswer:
    """The circuit as it is; currents are always told, even of what will burn.

    ``circuit`` is what was asked, its resistors filled in: for the netlist, not for the answer.
    """

    survives: bool
    supply_current: float
    supply_current_low: float
    supply_current_high: float
    design_current: float
    terminal_voltage: float
    strings: tuple[StringAnswer, ...]
    evenness: float | None = None
    bench_checks: tuple[BenchCheck, ...] = ()
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
    circuit: CircuitAsk | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True)
class MeterReading:
    """One reading of a pre-wired light: supply volts and the current it took."""

    voltage: float
    current: float


@dataclass(frozen=True, slots=True)
class IdentificationAsk:
    """What is known of a pre-wired light whose inside is asked for."""

    readings: tuple[MeterReading, ...] = ()
    rated_voltage: float | None = None
    rated_voltage_min: float | None = None
    rated_voltage_max: float | None = None
    rated_current: float | None = None
    colour: str = ""
    supply_voltage: float | None = None
    led: Led | None = None
    ambient_temperature: float = 25.0


@dataclass(frozen=True, slots=True)
class AtVoltage:
    """How a pre-wired light does on one supply voltage."""

    supply_voltage: float
    current: float
    brightness: float
    seen_brightness: float
    verdict: str


@dataclass(frozen=True, slots=True)
class NextReading:
    """The reading that would tell the likeliest insides apart: what it says for the one and the other."""

    voltage: float
    current_low: float
    current_high: float
    why: str


@dataclass(frozen=True, slots=True)
class IdentificationAnswer:
    """The likeliest inside of a pre-wired light, and the reading that would settle it."""

    built_in_resistance: float | None
    built_in_resistance_low: float | None
    built_in_resistance_high: float | None
    forward_voltage: float | None
    built_in_series_count: int | None
    led_family: str | None
    certainty: float
    next_reading: NextReading | None
    at_voltages: tuple[AtVoltage, ...]
    matching_resistance: float | None = None
    findings: tuple[Finding, ...] = ()
    working: tuple[Step, ...] = ()
    sources: tuple[str, ...] = ()
