"""The circuit as it lies on the bench: solved whole, at its corners, sound or with one fault in it.

Theory of operation. A `Bench` holds each row's lights at three corners of current and what stands before
them; `solve` solves it once. A `Fault` changes one thing (a light open, a resistor ten times too small,
the fuse open, ...) in ONE row of its kind; the other rows stay as they are.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from lampwright.physics.circuits import Branch
from lampwright.physics.diodes import Diode, string_current
from lampwright.planner.catalogue import led_model
from lampwright.planner.labels import first_row, light_label, row_span
from lampwright.planner.models.build import Plan
from lampwright.planner.models.circuits import CircuitAsk
from lampwright.planner.models.parts import Led, Supply
from lampwright.planner.strings import source_resistances
from lampwright.planner.together import CORNERS, Prepared, loops_of, prepared, served, solve_prepared
from lampwright.records import altered, quickly_made
from lampwright.tables.batteries import battery_type

POOR_CONTACT = 3.0  # times a tenth of the load's own resistance: dim, as a corroded contact makes it
POOR_SPREAD = {"low": 2.0, "expected": 1.0, "high": 0.5}  # one is poorer than another; judged, both
SURE_TO_BLOW = 2.0  # times its rating a fuse carries only for seconds (common practice, no source)
SMALL_RESISTANCE = 1e-3  # Ω, a solder bridge: zero would leave a row without anything to limit it

# A resistor bridged, or read one multiplier band too high or too low: times its value.
WRONG_RESISTOR = {"resistor_short": 0.0, "resistor_high": 10.0, "resistor_low": 0.1}

Light = tuple[tuple[Diode, ...], float]


@quickly_made
@dataclass(frozen=True, slots=True)
class Row:
    """Rows alike: their labels, their lights at each corner, and what stands before the lights."""

    row: str
    leds: tuple[Led, ...]
    lights: Mapping[str, tuple[Light, ...]]
    resistance: float
    tolerance: float
    rated_dissipation: float | None
    loop: float  # of the run these rows hang on, out and back
    count: int
    run: str
    reversed: tuple[int, ...] = ()

    @property
    def first(self) -> str:
        """Label of the first of these rows."""
        return first_row(self.row)


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything connected: rows, main run, and the supply as one meets it at the bench."""

    rows: tuple[Row, ...]
    main_loop: float
    volts: Mapping[str, float]
    source: Mapping[str, float]
    supply: Supply
    fuse_rated_current: float | None
    far: int
    fuse_clears: bool = True  # whether a short circuit at the far end gives enough current to blow it
    tame: bool = False  # whether there is no fuse because a short circuit harms nothing
    #: What was solved already, and rows prepared for it; a bench that is changed begins afresh.
    known: dict[tuple[str, Fault], Solved] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    ready: dict[tuple[str, Fault, int, int], Prepared | None] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    sound: dict[str, list[_Run]] = field(default_factory=dict, init=False, repr=False, compare=False)
    burning: dict[Fault, bool] = field(default_factory=dict, init=False, repr=False, compare=False)
    alone: dict[tuple[int, Fault], float] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def blows(self) -> bool:
        """Whether a short circuit behind the fuse ends with a blown fuse."""
        return bool(self.fuse_rated_current) and self.fuse_clears

    @property
    def runs(self) -> tuple[str, ...]:
        """Labels of the runs that serve more than one row."""
        found: dict[str, int] = {}
        for row in self.rows:
            found[row.run] = found.get(row.run, 0) + row.count
        return tuple(run for run, rows in found.items() if run and rows > 1 and len(found) > 1)


class Fault(NamedTuple):
    """One thing wrong; ``row`` and ``light`` are indexes, -1 where it is not in a row or light.

    A tuple, because faults are looked up again and again.
    """

    kind: str
    row: int = -1
    light: int = -1
    run: str = ""

    @property
    def id(self) -> str:
        """A stable id: "light_open_0_2"."""
        parts = [self.kind]
        if self.run:
            parts.append(self.run)
        if self.row >= 0:
            parts.append(str(self.row))
        if self.light >= 0:
            parts.append(str(self.light))
        return "_".join(parts)


SOUND = Fault("none")


def fades(supply: Supply) -> bool:
    """Return whether a supply's voltage tells its age: that of cells does, that of a power bank does not."""
    return bool(supply.battery) and battery_type(supply.battery).form != "bank"


def bench_volts(supply: Supply) -> dict[str, float]:
    """Return the supply's voltage at the bench: of cells, from their nominal voltage to fresh."""
    if fades(supply):
        return {
            "low": supply.supply_voltage,
            "expected": supply.supply_voltage_max,
            "high": supply.supply_voltage_max,
        }
    return {
        "low": supply.supply_voltage_min,
        "expected": supply.supply_voltage,
        "high": supply.supply_voltage_max,
    }


def _lights(leds: tuple[Led, ...], ambient_temperature: float) -> dict[str, tuple[Light, ...]]:
    return {corner: tuple(led_model(led, corner, ambient_temperature) for led in leds) for corner in CORNERS}


def _bench(
    rows: tuple[Row, ...], main: float, supply: Supply, fuse: float | None, *, clears: bool = True
) -> Bench:
    small, middle, large = source_resistances(supply)
    if fades(supply):  # at the bench cells are fresh
        middle = small
    far = max(range(len(rows)), key=lambda place: (rows[place].loop, place), default=0)
    source = {"low": large, "expected": middle, "high": small}
    return Bench(rows, main, bench_volts(supply), source, supply, fuse, far, clears)


def bench_of_plan(plan: Plan) -> Bench:
    """Return the circuit of a planned build."""
    loops = loops_of(plan.strings, plan.wires)
    loop_of = {place: loop for loop, places in loops.runs for place in places}
    rows = []
    for place, string in enumerate(plan.strings):
        run = next((wire.label for wire in plan.wires if served(wire, string)), "")
        rows.append(
            Row(
                row=string.row,
                leds=string.leds,
                lights=_lights(string.leds, plan.ask.ambient_temperature),
                resistance=string.solved.resistance or 0.0,
                tolerance=string.solved.tolerance,
                rated_dissipation=string.solved.rated_dissipation,
                loop=loop_of.get(place, 0.0),
                count=string.solved.branch_count,
                run=run,
            )
        )
    fuse = plan.fuse
    rated = fuse.rated_current if fuse is not None else None
    clears = fuse is None or fuse.clears_short is not False
    tame = fuse is not None and not rated and any(each.code == "fuse_not_needed" for each in fuse.findings)
    return altered(_bench(tuple(rows), loops.main, plan.ask.supply, rated, clears=clears), tame=tame)


def bench_of_circuit(ask: CircuitAsk) -> Bench:
    """Return the circuit a caller already has; rows of a feed get the wire up to them."""
    rows, start = [], 0
    for place, string in enumerate(ask.strings):
        loop = 0.0
        if ask.feed is not None:
            loop = ask.feed.segment_loop * place
        rows.append(
            Row(
                row=row_span(start, string.branch_count),
                leds=string.leds,
                lights=_lights(string.leds, ask.ambient_temperature),
                resistance=string.resistance or 0.0,
                tolerance=string.tolerance,
                rated_dissipation=string.rated_dissipation,
                loop=loop,
                count=string.branch_count,
                run="",
                reversed=string.reversed,
            )
        )
        start += string.branch_count
    main = ask.shared_resistance + (ask.feed.lead_loop if ask.feed is not None else 0.0)
    short = ask.supply.short_circuit_current
    clears = short is None or short >= SURE_TO_BLOW * (ask.fuse_rated_current or 0.0)
    return _bench(tuple(rows), main, ask.supply, ask.fuse_rated_current, clears=clears)


@quickly_made
@dataclass(frozen=True, slots=True)
class Solved:
    """One solved state: volts at the supply, after the switch and where the runs part, and the currents.

    ``currents`` are each row's, ``faulty`` that of the row with the fault.
    """

    terminal: float
    behind: float
    parting: float
    currents: tuple[float, ...]
    faulty: float
    total: float


@dataclass(frozen=True, slots=True)
class _Run:
    """A run at a corner with all its rows sound: loop resistance [Ω], its rows, their branches and whose."""

    label: str
    loop: float
    places: tuple[int, ...]
    branches: list[Prepared]
    owners: list[int]


def _row_branch(row: Row, corner: str) -> tuple[tuple[Diode, ...], float]:
    sign = {"low": 1.0, "expected": 0.0, "high": -1.0}[corner]
    diodes: tuple[Diode, ...] = ()
    inner = 0.0
    for light in row.lights[corner]:
        diodes += light[0]
        inner += light[1]
    return diodes, row.resistance * (1 + sign * row.tolerance) + inner


def _faulty_branch(row: Row, corner: str, fault: Fault) -> tuple[tuple[Diode, ...], float] | None:
    """Return the row with the fault in it, None where no current flows in it."""
    diodes, resistance = _row_branch(row, corner)
    kind = fault.kind
    if kind in _OPEN:
        return None
    inner = sum(light[1] for light in row.lights[corner])
    if kind in WRONG_RESISTOR:
        return diodes, max((resistance - inner) * WRONG_RESISTOR[kind], SMALL_RESISTANCE) + inner
    if kind == "light_short":
        kept = tuple(
            diode for at, light in enumerate(row.lights[corner]) if at != fault.light for diode in light[0]
        )
        return kept, max(resistance - row.lights[corner][fault.light][1], SMALL_RESISTANCE)
    return diodes, resistance


# A poor contact in the one way all current takes: before the supply's tips, before those behind the
# switch, before the rows.
_POOR = ("holder_poor", "contact_poor", "main_poor")
# Each leaves its row without current: one circuit.
_OPEN = ("light_open", "light_reversed", "resistor_open", "row_open")
_DEAD = (
    "supply_dead",
    "fuse_open",
    "lead_open",
    "switch_open",
    "main_open",
    "supply_reversed",
    "rails_short",
)


def shorts(bench: Bench, fault: Fault) -> bool:
    """Return whether a fault joins plus and minus: a light shorted that stands alone in its row does."""
    if fault.kind == "light_short":
        row = bench.rows[fault.row]
        return len(row.leds) == 1 and row.resistance == 0
    return fault.kind == "rails_short"


def solve(bench: Bench, corner: str = "expected", fault: Fault = SOUND) -> Solved:
    """Return the state of the circuit at a corner with a fault in it."""
    found = bench.known.get((corner, fault))
    if found is None:
        found = bench.known[corner, fault] = _found(bench, corner, fault)
    return found


def _found(bench: Bench, corner: str, fault: Fault) -> Solved:
    """Solve the circuit at a corner with a fault in it."""
    if fault.kind in _OPEN and fault != (opened := Fault("row_open", fault.row)):
        return solve(bench, corner, opened)
    volts = fault_volts(bench, corner, fault)
    shorted = shorts(bench, fault)
    if fault.kind not in _DEAD and not shorted:
        return _solved(bench, corner, fault, volts)
    dark = (0.0,) * len(bench.rows)
    # A fuse has blown; without one cells are pulled down, and a regulated supply folds back.
    if shorted and not bench.blows:
        source = bench.source[corner]
        current = volts / max(source + bench.main_loop, 0.02)
        left = volts - current * source if bench.supply.battery else 0.0
        return Solved(left, 0.0, 0.0, dark, 0.0, current)
    if fault.kind == "supply_reversed":
        return Solved(-volts, -volts, -volts, dark, 0.0, 0.0)
    return Solved(volts, volts if fault.kind == "main_open" else 0.0, 0.0, dark, 0.0, 0.0)


def alone(bench: Bench, corner: str, fault: Fault) -> Solved:
    """Return the state with a fault in one row, the volts where the runs part as in the sound circuit.

    Of many rows one alone moves them little, and nothing has to be solved for it.
    """
    sound, row = solve(bench, corner), bench.rows[fault.row]
    found = _faulty_branch(row, corner, fault)
    current = 0.0 if found is None else string_current(sound.parting, found[0], found[1] + row.loop)
    return altered(sound, faulty=current, total=sound.total + current - sound.currents[fault.row])


def _solved(bench: Bench, corner: str, fault: Fault, volts: float) -> Solved:
    """Solve the circuit at a corner with a fault in it that leaves something to solve."""
    source = bench.source[corner]
    runs, owners = _runs_with(bench, corner, fault)
    poor = dict.fromkeys(_POOR, 0.0)
    # Most rows carry about what they do in the sound circuit: a good place to begin.
    sound = solve(bench, corner) if fault is not SOUND else None
    near = [sound.currents[owner] if owner >= 0 else 0.0 for owner in owners] if sound is not None else ()
    if fault.kind in poor and sound is not None:
        poor[fault.kind] = POOR_CONTACT * POOR_SPREAD[corner] * 0.1 * volts / max(sound.total, 1e-6)
    source += poor["holder_poor"]
    solved = solve_prepared(
        volts, source + bench.main_loop + poor["contact_poor"] + poor["main_poor"], runs, near
    )
    currents = [0.0] * len(bench.rows)
    faulty = 0.0
    for owner, current in zip(owners, solved.currents, strict=True):
        if owner >= 0:
            currents[owner] = current
        else:
            faulty = current
    terminal = volts - solved.supply_current * source
    behind = terminal - solved.supply_current * poor["contact_poor"]
    parting = behind - solved.supply_current * (bench.main_loop + poor["main_poor"])
    return Solved(terminal, behind, parting, tuple(currents), faulty, solved.supply_current)


def most_current(bench: Bench, place: int, fault: Fault = SOUND) -> float:
    """Return what a row cannot pass at the high corner whatever the others do: its current all alone."""
    if (place, fault) not in bench.alone:
        row = bench.rows[place]
        found = _row_branch(row, "high") if fault is SOUND else _faulty_branch(row, "high", fault)
        common = bench.source["high"] + bench.main_loop + row.loop
        current = 0.0
        if found is not None and not row.reversed:
            resistance = max(found[1] + common, SMALL_RESISTANCE)
            current = string_current(bench.volts["high"], found[0], resistance)
        bench.alone[place, fault] = current
    return bench.alone[place, fault]


def least_current(bench: Bench, fault: Fault) -> float:
    """Return what the row with a fault surely carries at the high corner: all take what they could alone."""
    mine = bench.rows[fault.row]
    found = _faulty_branch(mine, "high", fault)
    if found is None or mine.reversed:
        return 0.0
    beside, total = 0.0, most_current(bench, fault.row, fault)
    for place, row in enumerate(bench.rows):
        taken = (row.count - (1 if place == fault.row else 0)) * most_current(bench, place)
        total += taken
        if place == fault.row or (mine.run and row.run == mine.run):
            beside += taken
    lost = (bench.source["high"] + bench.main_loop) * total + mine.loop * beside
    resistance = max(found[1] + mine.loop, SMALL_RESISTANCE)
    return string_current(bench.volts["high"] - lost, found[0], resistance)


def _ready(bench: Bench, corner: str, place: int, count: int, fault: Fault) -> Prepared | None:
    """Return so many rows of a kind, prepared; with the fault in them unless it is ``SOUND``."""
    key = (corner, fault, place, count)
    if key not in bench.ready:
        row = bench.rows[place]
        found = _row_branch(row, corner) if fault is SOUND else _faulty_branch(row, corner, fault)
        bench.ready[key] = None if found is None else prepared(Branch(found[0], found[1], count))
    return bench.ready[key]


def _sound_runs(bench: Bench, corner: str) -> list[_Run]:
    """Return the runs at a corner with all their rows sound."""
    if corner not in bench.sound:
        grouped: dict[str, list[int]] = {}
        for place, row in enumerate(bench.rows):
            grouped.setdefault(row.run or f"row {place}", []).append(place)
        bench.sound[corner] = [
            _Run(run, bench.rows[places[0]].loop, tuple(places), *_on_run(bench, corner, places, SOUND))
            for run, places in grouped.items()
        ]
    return bench.sound[corner]


def _on_run(
    bench: Bench, corner: str, places: Sequence[int], fault: Fault
) -> tuple[list[Prepared], list[int]]:
    """Return the branches on a run, one row of them faulty, and whose each is (-1: faulty)."""
    branches: list[Prepared] = []
    owners: list[int] = []
    for place in places:
        row = bench.rows[place]
        if row.reversed:
            continue
        alike = row.count - (1 if place == fault.row else 0)
        sound = _ready(bench, corner, place, alike, SOUND) if alike else None
        if sound is not None:
            branches.append(sound)
            owners.append(place)
        changed = _ready(bench, corner, place, 1, fault) if place == fault.row else None
        if changed is not None:
            branches.append(changed)
            owners.append(-1)
    return branches, owners


def _runs_with(
    bench: Bench, corner: str, fault: Fault
) -> tuple[list[tuple[float, list[Prepared]]], list[int]]:
    """Return the runs with their branches, one row of them faulty, and whose each branch is (-1: faulty)."""
    runs: list[tuple[float, list[Prepared]]] = []
    owners: list[int] = []
    for run in _sound_runs(bench, corner):
        loop, branches, whose = run.loop, run.branches, run.owners
        if fault.row in run.places:
            branches, whose = _on_run(bench, corner, run.places, fault)
        elif fault.run == run.label:
            if fault.kind == "run_open":
                continue
            loop += poor_run(bench, corner, run.places)
        if branches:
            runs.append((loop, branches))
            owners += whose
    return runs, owners


def poor_run(bench: Bench, corner: str, places: Sequence[int]) -> float:
    """Return what a poor contact adds to a run that serves these rows."""
    rows = sum([bench.rows[place].count for place in places])
    usual = _usual_resistance(bench, corner, bench.rows[places[0]])
    return POOR_CONTACT * POOR_SPREAD[corner] * usual / rows


def _usual_resistance(bench: Bench, corner: str, row: Row) -> float:
    """Return a row's volts over its current, the measure of what counts as a poor contact."""
    diodes, resistance = _row_branch(row, corner)
    current = string_current(bench.volts[corner], diodes, resistance)
    return bench.volts[corner] / max(current, 1e-6) * 0.1


def fault_volts(bench: Bench, corner: str, fault: Fault) -> float:
    """Return the supply's voltage, which some faults are about."""
    low, high = bench.supply.supply_voltage_min, bench.supply.supply_voltage_max
    if fault.kind == "supply_dead":
        return 0.0
    if fault.kind == "supply_weak":
        # From well run down to nearly there; a regulated supply that fails sits lower than its window.
        middle = low if fades(bench.supply) else 0.85 * low
        return middle * {"low": 0.85, "expected": 1.0, "high": 1.06}[corner]
    if fault.kind == "supply_high":
        return high * {"low": 1.08, "expected": 1.25, "high": 1.5}[corner]
    if fault.kind == "supply_reversed":
        return bench.volts[corner]
    return bench.volts[corner]


def faults_of(bench: Bench, *, every_light: bool = True) -> tuple[Fault, ...]:
    """Return every single fault there can be; of lights alike in a row only the first unless asked."""
    found = [
        Fault(kind)
        for kind in (
            "supply_dead",
            "supply_reversed",
            "supply_weak",
            "supply_high",
            "holder_poor",
            "fuse_open" if bench.fuse_rated_current else "lead_open",
            "switch_open",
            "main_open",
            "contact_poor",
            "main_poor",
            "rails_short",
        )
    ]
    for run in bench.runs:
        found += [Fault("run_open", run=run), Fault("run_poor", run=run)]
    for place, row in enumerate(bench.rows):
        found.append(Fault("row_open", place))
        if row.resistance > 0:
            found += [
                Fault(kind, place)
                for kind in ("resistor_open", "resistor_short", "resistor_high", "resistor_low")
            ]
        seen: set[Led] = set()
        for at, led in enumerate(row.leds):
            if not every_light and led in seen:
                continue
            seen.add(led)
            found += [Fault(kind, place, at) for kind in ("light_reversed", "light_open", "light_short")]
    return tuple(found)


def names_of(bench: Bench, place: int, at: int) -> str:
    """Return the label of a light: "A2"."""
    return light_label(bench.rows[place].first, at)
