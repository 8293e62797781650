"""The tables of a sheet as plain cells, the same for the printed page and the plain text.

Each function returns a `Table`: its heading, column names and rows of text. Words and numbers are made
here once, so no form of the sheet can say anything else than another.
"""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.labels import first_row, light_label, rows_in
from lampwright.planner.models.build import Plan, PlannedString, Sheet
from lampwright.planner.models.circuits import BenchCheck
from lampwright.quantities import show
from lampwright.sheets.steps import band, wire_words
from lampwright.sheets.wording import colour_words, hours, listed, mixed, span_words

BLANK = "______"
TICK = "[ ]"  # drawn as a box on the printed page


@dataclass(frozen=True, slots=True)
class Table:
    """Column names and rows of text; ``TICK`` and ``BLANK`` cells are there to be written on."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


def parts(sheet: Sheet) -> Table:
    """Return the parts list with room to tick what is in the drawer."""
    rows = [
        (
            line.item,
            line.value,
            f"{line.count} + {line.spares}" if line.spares else str(line.count),
            line.label,
            TICK,
            TICK,
            line.replacement,
        )
        for line in sheet.parts_list
    ]
    columns = ("item", "value or colour", "count + spare", "for", "have", "buy", "or instead")
    return Table("Parts list", columns, tuple(rows))


def cuts(sheet: Sheet) -> Table:
    """Return the cut list."""
    rows = []
    for cut in sheet.plan.cuts:
        sleeve = "none"
        if cut.sleeve_diameter and cut.sleeve_length:
            sleeve = f"{show(cut.sleeve_diameter, 'mm')} × {show(cut.sleeve_length, 'mm')}"
        rows.append(
            (
                f"{cut.label} × {cut.count}" if cut.count > 1 else cut.label,
                f"{cut.awg} AWG {cut.colour}",
                f"{show(cut.cut_length, 'm')} (slack {show(cut.slack, 'm')})",
                sleeve,
                show(cut.strip_length, "mm"),
            )
        )
    return Table("Cut list", ("label", "wire, colour", "length, slack in", "sleeve", "strip"), tuple(rows))


def _currents(string: PlannedString) -> str:
    solved = string.solved
    three = (solved.current_fresh, solved.current, solved.current_empty)
    return " / ".join("-" if value is None else show(value, "ma") for value in three)


def rows_table(sheet: Sheet) -> Table:
    """Return the rows: what is in them and what flows."""
    rows = []
    for string in sheet.plan.strings:
        solved, row = string.solved, first_row(string.row)
        count = len(rows_in(string.row))
        lights = [light_label(row, at) for at in range(len(string.leds))]
        order = f"{lights[0]} to {lights[-1]}" if len(lights) > 2 else listed(lights)
        colours = ", ".join(dict.fromkeys(colour_words(led.colour) for led in string.leds))
        resistor = "none: inside the light"
        if solved.resistance:
            watts = f", {show(solved.rated_dissipation, 'w')}" if solved.rated_dissipation else ""
            bands = f": {', '.join(solved.colour_bands)}" if solved.colour_bands else ""
            resistor = f"{show(solved.resistance, 'ohm')}{watts}{bands}"
        rows.append(
            (
                f"{span_words(string.row)}{f' (× {count})' if count > 1 else ''}",
                order,
                colours,
                resistor,
                _currents(string),
                "-" if solved.lowest_lit_voltage is None else show(solved.lowest_lit_voltage, "v"),
                mixed(string.light_names),
            )
        )
    states = "fresh / usual / empty" if sheet.plan.ask.supply.battery else "at highest / usual / lowest volts"
    columns = (
        "row",
        "lights from plus",
        "colour",
        "resistor, bands",
        f"current {states}",
        "half bright at",
        "where it sits",
    )
    return Table("Rows", columns, tuple(rows))


def joints(sheet: Sheet) -> Table:
    """Return the joints."""
    rows = [
        (
            joint.joint,
            " + ".join(joint.wires),
            joint.method,
            "yes" if joint.sleeve_first else "no",
            joint.tie_down,
            "yes" if joint.moves else "no",
        )
        for joint in sheet.plan.joints
    ]
    columns = ("joint", "what meets", "method", "sleeve first?", "tie down", "moves?")
    return Table("Joints", columns, tuple(rows))


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One line of the readings: checks that are alike, together."""

    number: int
    checks: tuple[BenchCheck, ...]
    tips: str

    @property
    def first(self) -> BenchCheck:
        """The check that stands for all of them."""
        return self.checks[0]


def reading_lines(sheet: Sheet) -> tuple[ReadingLine, ...]:
    """Return the readings, lights alike in one row on one line."""
    lines: list[list[BenchCheck]] = []
    keys: list[object] = []
    for check in sheet.bench_checks:
        key: object = check.check
        if check.check.startswith("led_"):
            place, at = (int(part) for part in check.check.split("_")[1:])
            key = (place, sheet.plan.strings[place].leds[at])
        if keys and keys[-1] == key:
            lines[-1].append(check)
        else:
            lines.append([check])
            keys.append(key)
    return tuple(
        ReadingLine(number, tuple(line), _tips(sheet.plan, line))
        for number, line in enumerate(lines, start=1)
    )


def _tips(plan: Plan, line: list[BenchCheck]) -> str:
    if not line[0].check.startswith("led_"):
        return line[0].tips
    place, at = (int(part) for part in line[0].check.split("_")[1:])
    row = first_row(plan.strings[place].row)
    first, last = light_label(row, at), light_label(row, at + len(line) - 1)
    if len(line) == 1:
        lights = first
    else:
        lights = f"each of {first} to {last}" if len(line) > 2 else f"each of {first} and {last}"
    alike = rows_in(plan.strings[place].row)
    also = f", and the same in {span_words(plan.strings[place].row)}" if len(alike) > 1 else ""
    return f"across {lights}{also}, lights on"


def ids_of(line: ReadingLine) -> str:
    """Return the ids of a line's checks, for the bench companion: "led_0_0 to led_0_2"."""
    first, last = line.checks[0].check, line.checks[-1].check
    return first if first == last else f"{first} to {last}"


def _good(check: BenchCheck) -> str:
    text = band(check)
    if check.check.startswith("resistor_") and check.current is not None:
        text += f" = {show(check.current, 'ma')}"
    return text


def readings(sheet: Sheet) -> Table:
    """Return the expected readings."""
    rows = []
    for line in reading_lines(sheet):
        check = line.first
        meter = "touch" if check.check == "touch" else "mA" if check.check == "total_current" else "V DC"
        rows.append(
            (
                str(line.number),
                meter,
                line.tips,
                _good(check),
                check.zero_means or "-",
                check.low_means or "-",
                check.high_means or "-",
            )
        )
    columns = ("no.", "meter", "tips at", "good", "zero means", "low means", "high means")
    note = "Black tip on minus, or on the minus end of the part. After a mA reading: red lead back to V."
    return Table("Expected readings", columns, tuple(rows), note)


def faults(sheet: Sheet) -> Table:
    """Return the fault table."""
    rows = [
        (row.shows, row.look_first, row.check, "; ".join(row.causes), row.cure) for row in sheet.fault_finding
    ]
    columns = ("sign", "look first", "measure", "likely cause, likeliest first", "cure")
    return Table("When something is wrong", columns, tuple(rows))


def comparison(sheet: Sheet) -> Table:
    """Return what other supplies would do."""
    rows = []
    for figures in sheet.plan.comparison:
        if figures.runtime is None:
            continue
        count = figures.cells_in_series * figures.packs_in_parallel
        name = figures.battery.replace("_", " ")
        spread = "-"
        if figures.runtime_low is not None and figures.runtime_high is not None:
            spread = f"{hours(figures.runtime_low)} to {hours(figures.runtime_high)}"
        rows.append(
            (
                f"{count} × {name}" if count > 1 else name,
                f"about {hours(figures.runtime)}",
                spread,
                "-" if figures.mass is None else show(figures.mass, "g"),
                "-" if figures.sets_needed is None else str(figures.sets_needed),
            )
        )
    columns = ("supply", "hours", "likely range", "weight", "sets for the event")
    return Table("Other supplies for these lights", columns, tuple(rows))


def weak_points(sheet: Sheet) -> Table:
    """Return the break-it view: the worst single faults."""
    rows = [(line.part, line.fault, line.shows, "yes" if line.burns else "no") for line in sheet.break_it[:8]]
    columns = ("part", "if it is", "you would see", "burns something?")
    return Table(
        "Weak points, worst first", columns, tuple(rows), "Each fault put into the circuit and solved."
    )


def log(sheet: Sheet) -> Table:
    """Return the log: measured beside expected."""
    rows = [
        (f"{line.number}", ids_of(line), _good(line.first), BLANK, BLANK)
        for line in reading_lines(sheet)
        if line.first.check != "touch"
    ]
    return Table("Log", ("no.", "reading", "expected", "measured", "who, when"), tuple(rows))


def key_figures(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """Return the figures in large type: supply, current, hours, fuse."""
    from lampwright.sheets.parts import supply_words

    plan = sheet.plan
    found = [("Supply", supply_words(plan))]
    if plan.supply_current is not None:
        found.append(("All lights", show(plan.supply_current, "ma")))
    if plan.runtime is not None and plan.runtime.runtime:
        text = f"about {hours(plan.runtime.runtime)}"
        if plan.runtime.runtime_low is not None and plan.runtime.runtime_high is not None:
            text += f" ({hours(plan.runtime.runtime_low)} to {hours(plan.runtime.runtime_high)})"
        found.append(("A set lasts", text))
    if plan.fuse is not None and plan.fuse.rated_current:
        found.append(("Fuse F1", show(plan.fuse.rated_current, "ma")))
    elif plan.fuse is not None:
        found.append(("Fuse", "none needed"))
    if plan.wires:
        found.append(("Main wire", wire_words(plan.wires[0])))
    return tuple(found)


SAFE_WORDS = {
    "yes": "Safe to build: yes",
    "with_care": "Safe to build: yes, with care",
    "no": "Safe to build: no",
}
MOST_CAUTIONS = 5


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to know before starting: the word, what happens and why, what to do."""

    word: str
    what: str
    do: str
    kind: str


def warnings(sheet: Sheet) -> tuple[Advice, ...]:
    """Return stops first, then cautions of this build and of the workshop, worst first."""
    words = {"stop": "STOP", "caution": "Take care", "note": "Note"}
    found = [
        Advice(words[each.severity], each.message, each.remedy, each.severity)
        for each in sheet.findings
        if each.severity != "note"
    ]
    rank = {"stop": 0, "caution": 1, "note": 2}
    for line in sorted(sheet.cautions, key=lambda each: rank.get(each.severity, 2)):
        kind = line.severity if line.severity in words else "note"
        what = f"{line.hazard} {line.why}".strip()
        found.append(Advice(words[kind], what, line.action, kind))
    return tuple(sorted(found, key=lambda each: rank[each.kind]))


def notes(sheet: Sheet) -> tuple[str, ...]:
    """Return the notes of this build."""
    return tuple(
        f"{each.message} {each.remedy}".strip() for each in sheet.findings if each.severity == "note"
    )
