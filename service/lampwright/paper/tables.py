"""The tables of a sheet as plain cells, the same for the printed page and the plain text.

Each function returns a `Table`: its heading, column names and rows of text. Words and numbers are made
here once, so no form of the sheet can say anything else than another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.paper.columns import PARTS, READINGS, READINGS_SHARED, ROWS, fewest_lines
from lampwright.planner.joints import LINK_LENGTH
from lampwright.planner.labels import first_row, light_label, rows_in
from lampwright.planner.models.build import BuildStep, Plan, PlannedString, Sheet
from lampwright.planner.models.circuits import BenchCheck
from lampwright.planner.models.wiring import Cut
from lampwright.planner.names import own_names
from lampwright.planner.supplies import pack_name
from lampwright.quantities import show
from lampwright.sheets.parts import WIRE_COLOURS
from lampwright.sheets.steps import band, useful
from lampwright.sheets.wording import hours, light_words, listed, mixed, percent, set_lasts, span_words
from lampwright.tables.batteries import battery_type

BLANK = "______"
TICK = "[ ]"  # drawn as a box on the printed page


@dataclass(frozen=True, slots=True)
class Table:
    """Column names and rows of text; ``TICK`` and ``BLANK`` cells are there to be written on."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    widths: tuple[int, ...] = ()  # of the columns, in hundredths


def parts(sheet: Sheet) -> Table:
    """Return the parts list with room to tick what is in the drawer."""
    rows = [
        (
            line.item,
            line.value.partition(" (")[0] if line.item == "Resistor" else line.value,
            str(line.count),
            str(line.spares),
            line.label,
            TICK,
            TICK,
            line.replacement,
        )
        for line in sheet.parts_list
    ]
    columns = ("item", "value or colour", "need", "spare", "for", "have", "buy", "or instead")
    note = f"Tools: {'; '.join(sheet.tools)}." if sheet.tools else ""
    return Table("Parts list", columns, tuple(rows), note, fewest_lines(rows, PARTS))


def _piece_label(cut: Cut) -> str:
    """Return a piece's label as the joint table has it: "W1+", "A–D link"."""
    return f"{cut.label.removeprefix('links in row ')} link" if " in row " in cut.label else cut.label


def cuts(sheet: Sheet) -> Table:
    """Return the cut list, wires and sleeves; what most pieces have in common is said once, above."""
    every = sheet.plan.cuts
    if not every:
        return Table("Cut list", ("label",), ())
    slack = Counter(show(cut.slack, "m") for cut in every).most_common(1)[0][0]
    strips = sorted({joint.strip_length for joint in sheet.plan.joints})
    # The two wires of a run, or of a bridge, are alike but for their colour: one line for both.
    pieces: dict[tuple[str, int, str, int], list[Cut]] = {}
    for cut in every:
        run = "bridge" if cut.label.startswith("bridge") else cut.label.rstrip("+−")
        key = (run, cut.awg, show(cut.cut_length, "m"), cut.count)
        pieces.setdefault(key, []).append(cut)
    rows = []
    for (run, awg, length, count), alike in pieces.items():
        label = ", ".join(_piece_label(cut) for cut in alike)
        if run == "bridge" and len(alike) > 2:
            label = f"{alike[0].label} to {alike[-1].label.removeprefix('bridge ')}"
        rows.append(
            (
                f"{label} × {count}" if count > 1 else label,
                f"{awg} AWG {'/'.join(dict.fromkeys(cut.colour for cut in alike))}",
                length,
            )
        )
    for piece in sheet.sleeves:
        rows.append(
            (
                f"sleeve × {piece.count}",
                f"{show(piece.sleeve_diameter, 'mm')} wide",
                show(piece.sleeve_length, "mm"),
            )
        )
    note = f"Length of each piece, {slack} slack in it; strip {show(strips[0], 'mm')}"
    if len(strips) > 1:
        note += f" ({show(strips[-1], 'mm')} for a lever connector)"
    if any(" in row" in cut.label for cut in every):
        note += f"; links for lights {show(LINK_LENGTH, 'm')} apart"
    colours = dict.fromkeys(cut.colour for cut in every)
    note += f". {', '.join(f'{letters} {WIRE_COLOURS[letters]}' for letters in colours)}"
    return Table("Cut list", ("label", "size", "length"), tuple(rows), f"{note}.", (36, 43, 21))


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _currents(string: PlannedString) -> str:
    solved = string.solved
    three = (solved.current_fresh, solved.current, solved.current_empty)
    most = max((value for value in three if value is not None), default=0.0)
    return "/".join("-" if value is None else useful(value * 1000, most * 1000) for value in three)


_BEFORE_A_GAP = 5  # rows A to E follow the alphabet; the next is H


def rows_table(sheet: Sheet) -> Table:
    """Return the rows: what is in them and what flows."""
    own = own_names(sheet.plan)
    rows = []
    for string in sheet.plan.strings:
        solved, row = string.solved, first_row(string.row)
        lights = [light_label(row, at) for at in range(len(string.leds))]
        order = f"{lights[0]} to {lights[-1]}" if len(lights) > 2 else ", ".join(lights)
        colours = ", ".join(dict.fromkeys(light_words(led) for led in string.leds))
        resistor = "none: inside the light"
        if solved.resistance:
            watts = f", {show(solved.rated_dissipation, 'w')}" if solved.rated_dissipation else ""
            bands = f": {', '.join(solved.colour_bands)}" if solved.colour_bands else ""
            resistor = f"{show(solved.resistance, 'ohm')}{watts}{bands}"
        count = solved.branch_count
        rows.append(
            (
                span_words(string.row) + (f" ({count})" if count > 2 else ""),
                order,
                colours,
                resistor,
                _currents(string),
                "-" if solved.lowest_lit_voltage is None else show(solved.lowest_lit_voltage, "v"),
                mixed([own[name] for name in string.light_names]),
            )
        )
    battery = bool(sheet.plan.ask.supply.battery)
    columns = (
        "row",
        "lights",
        "colour",
        "resistor, bands",
        "mA",
        "half at",
        "where it sits",
    )
    states = "fresh / usual / empty cells" if battery else "most / usual / least"
    note = f"mA: {states}. Half at: supply volts for half its light."
    labels = [row for string in sheet.plan.strings for row in rows_in(string.row)]
    if len(labels) > _BEFORE_A_GAP:
        note += " No row has the letter F, G, I, O, R, S, W or X."
    return Table("Rows", columns, tuple(rows), note, fewest_lines(rows, ROWS))


def joints(sheet: Sheet) -> Table:
    """Return the joints; what most of them have in common is said once, below."""
    every = sheet.plan.joints
    if not every:
        return Table("Joints", ("joint",), ())
    usual_method = Counter(joint.method for joint in every).most_common(1)[0][0]
    usual_tie = Counter(joint.tie_down for joint in every).most_common(1)[0][0]
    sized: Counter[float] = Counter()
    for joint in every:
        if joint.sleeve_diameter:
            sized[joint.sleeve_diameter] += joint.count
    usual_sleeve = sized.most_common(1)[0][0] if sized else None
    marks: dict[str, str] = {}
    rows = []
    for joint in every:
        own = []
        if joint.method != usual_method:
            own.append(joint.method)
        if joint.sleeve_diameter != usual_sleeve:
            own.append(
                f"{show(joint.sleeve_diameter, 'mm')} sleeve" if joint.sleeve_diameter else "no sleeve"
            )
        if joint.tie_down != usual_tie:
            own.append(joint.tie_down)
        mark = marks.setdefault("; ".join(own), "*" * (len(marks) + 1)) if own else ""
        ends = Counter(joint.wires)
        meets = ", ".join(f"{end} ({count})" if count > 1 else end for end, count in ends.items())
        rows.append((f"{joint.joint}{mark}", meets))
    sleeve = f", {show(usual_sleeve, 'mm')} sleeve on FIRST" if usual_sleeve else ""
    note = f"All: {usual_method}{sleeve}; {usual_tie}."
    note += "".join(f" {mark} {_upper(own)}." for own, mark in marks.items() if mark)
    span = next((joint for joint in every if joint.count > 1 and " link" not in joint.wires[0]), None)
    if span is not None:
        note += f" {span.joint}: one a row, in the order of the rows."
    if any(" link" in joint.wires[0] for joint in every):
        note += " Links: two joints each, along the row."
    points = [joint for joint in every if joint.wires[:1] == ("W0+",)]
    if points and points[0].wires == ("W0+", "W1+") and len({cut.awg for cut in sheet.plan.cuts}) == 1:
        both = [joint.joint for joint in every if joint.wires in (("W0+", "W1+"), ("W0−", "W1−"))]
        note += f" W0 and W1 may be one piece: then {listed(both)} fall away."
    return Table("Joints", ("joint", "what meets"), tuple(rows), note, (33, 67))


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
        return line[0].tips.replace(", lights on", "")
    place, at = (int(part) for part in line[0].check.split("_")[1:])
    row = first_row(plan.strings[place].row)
    first, last = light_label(row, at), light_label(row, at + len(line) - 1)
    if len(line) == 1:
        lights = first
    else:
        lights = f"each of {first} to {last}" if len(line) > 2 else f"each of {first} and {last}"
    alike = rows_in(plan.strings[place].row)
    also = f", so in {span_words(plan.strings[place].row)}" if len(alike) > 1 else ""
    return f"across {lights}{also}"


def ids_of(line: ReadingLine) -> str:
    """Return the ids of a line's checks, for the bench companion: "led_0_0 to led_0_2"."""
    first, last = line.checks[0].check, line.checks[-1].check
    return first if first == last else f"{first} to {last}"


def _good(check: BenchCheck) -> str:
    text = band(check)
    if check.check.startswith("resistor_") and check.current is not None:
        text += f" = {useful(check.current * 1000)} mA"
    return text


def readings(sheet: Sheet) -> Table:
    """Return the expected readings."""
    rows = []
    for line in reading_lines(sheet):
        check = line.first
        rows.append(
            (
                str(line.number),
                line.tips,
                _good(check),
                check.zero_means or "-",
                check.low_means or "-",
                check.high_means or "-",
            )
        )
    columns = ("no", "tips at", "good", "zero means", "low means", "high means")
    note = (
        "In order: each counts only when those before are good. Lights on, DC volts unless said, red tip "
        "towards plus. Minus sign: supply or tips turned round."
    )
    return Table(
        "Expected readings",
        columns,
        tuple(rows),
        " ".join((note, *_good_but(sheet))),
        fewest_lines(rows, READINGS, READINGS_SHARED),
    )


def _good_but(sheet: Sheet) -> list[str]:
    """Return what is wrong though a reading is good, once for all readings with the same words."""
    numbers: dict[str, list[int]] = {}
    for line in reading_lines(sheet):
        if line.first.good_but:
            numbers.setdefault(line.first.good_but, []).append(line.number)
    return [f"{listed(_runs(found))} good but {text}." for text, found in numbers.items()]


def _runs(numbers: Sequence[int]) -> list[str]:
    """Return rising numbers, three or more in a run as one: "4 to 23", "27"."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    found: list[str] = []
    for run in runs:
        found += [f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run)
    return found


def _of_rows(sheet: Sheet, lines: Sequence[ReadingLine]) -> str:
    """Return the numbers of the readings at the rows' resistors; at the light where a row has none."""
    bare = tuple(
        f"led_{place}_" for place, string in enumerate(sheet.plan.strings) if not string.solved.resistance
    )
    return reading_numbers(lines, ("resistor_", *bare))


def reading_numbers(lines: Sequence[ReadingLine], start: str | tuple[str, ...]) -> str:
    """Return the numbers of the readings whose ids begin so: "4", "4 to 6"."""
    found = [line.number for line in lines if line.first.check.startswith(start)]
    if not found:
        return ""
    if len(found) == 1:
        return str(found[0])
    return f"{found[0]} {'or' if len(found) == 2 else 'to'} {found[-1]}"


def steps(sheet: Sheet) -> tuple[tuple[BuildStep, str], ...]:
    """Return the build steps, each with its reading by number: "Reading 4: 4.3 V (3.4 to 4.5)."."""
    numbers = {check.check: line.number for line in reading_lines(sheet) for check in line.checks}
    found = []
    for step in sheet.build_steps:
        check, _, good = step.reading.partition(": ")
        found.append((step, f"Reading {numbers[check]}: {good}." if check in numbers else ""))
    return tuple(found)


def _measured(sheet: Sheet, lines: Sequence[ReadingLine], check: str) -> str:
    """Return where to measure by the numbers of the readings: "Reading 2, then 3."."""
    if check.startswith("none"):
        return ""
    numbers = reading_numbers(lines, "led_") if check == "across that light" else _of_rows(sheet, lines)
    if check.endswith(("that row", "that light")):
        return f"Reading {numbers}{': the one of that row' if ' ' in numbers else ''}."
    for line in lines:
        check = check.replace(line.first.check, str(line.number))
    return f"Reading {check}."


def faults(sheet: Sheet) -> Table:
    """Return the fault table."""
    lines = reading_lines(sheet)
    rows = [
        (
            row.shows,
            f"{row.look_first}. {_measured(sheet, lines, row.check)}".strip(),
            "; ".join(row.causes[:3]),
            row.cure,
        )
        for row in sheet.fault_finding
    ]
    columns = ("sign", "look first, then measure", "likeliest cause first", "cure")
    return Table("When something is wrong", columns, tuple(rows), widths=(15, 23, 29, 33))


def comparison(sheet: Sheet) -> Table:
    """Return what other supplies would do."""
    rows = []
    for figures in sheet.plan.comparison:
        if figures.runtime is None:
            continue
        name = battery_type(figures.battery).name
        spread = "-"
        if figures.runtime_low is not None and figures.runtime_high is not None:
            spread = f"{hours(figures.runtime_low)} to {hours(figures.runtime_high)}"
        rows.append(
            (
                pack_name(name, figures.cells_in_series, figures.packs_in_parallel),
                f"about {hours(figures.runtime)}",
                spread,
                "-" if figures.brightness is None else percent(figures.brightness),
                "-" if figures.mass is None else show(figures.mass, "g"),
                "-" if figures.sets_needed is None else str(figures.sets_needed),
            )
        )
    columns = ("supply", "hours", "likely range", "light", "weight", "sets to pack, one spare")
    note = (
        "With these very rows; light beside that on this sheet's supply, hours to half of it. Make a new "
        "sheet before you change: fuse, wire and readings change with it."
    )
    return Table("Other supplies for these lights", columns, tuple(rows), note, (36, 14, 18, 8, 9, 15))


def _kind_of(part: str) -> str:
    """Return what kind of part a label names: one line for all resistors, one for all lights."""
    if part.startswith("R-"):
        return "resistor"
    if part.startswith("row "):
        return "row"
    if part[:1] == "W" and part[1:].isdigit() and part != "W0":
        return "run"
    return part if part in ("F1", "S1", "W0", "F1 or S1", "supply", "plus and minus") else "light"


def weak_points(sheet: Sheet) -> Table:
    """Return the break-it view: of each kind of part and fault the worst one."""
    rows = []
    seen: set[tuple[str, str]] = set()
    for line in sheet.break_it:
        key = (_kind_of(line.part), line.fault)
        if key in seen:
            continue
        seen.add(key)
        lost = f"{100 * line.share_lost:.0f} %"
        rows.append((line.part, line.fault, line.shows, lost, "yes" if line.burns else "no"))
    columns = ("part", "if it is", "you would see", "light lost", "burns?")
    note = (
        "Each fault put into the circuit and solved again; of each kind the worst. Too high, too low: ten "
        "times or a tenth of the value, one band misread. Poor contact: enough to see, as corrosion makes it."
    )
    return Table("Weak points, worst first", columns, tuple(rows), note, (12, 14, 54, 11, 9))


def log(sheet: Sheet) -> Table:
    """Return the log: measured beside expected, by the numbers of the readings."""
    rows, lines = [], reading_lines(sheet)
    for line in lines:
        name = "" if line.first.check == "touch" else f" [{ids_of(line)}]"
        rows.append((str(line.number), f"{_good(line.first).partition(' = ')[0]}{name}", BLANK))
    note = "In brackets: names for the guide's page The meter disagrees."
    if any(" each of " in line.tips or ", so in " in line.tips for line in lines):
        note = f"Of several write the lowest and the highest. {note}"
    return Table("Log", ("no", "expected", "measured"), tuple(rows), note, (11, 55, 34))


def key_figures(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """Return the figures in large type: supply, current, hours, fuse."""
    from lampwright.sheets.parts import supply_words

    plan = sheet.plan
    found = [("Supply", supply_words(plan))]
    if plan.supply_current is not None:
        text = show(plan.supply_current, "ma")
        fresh = next((each.current for each in sheet.bench_checks if each.check == "total_current"), None)
        if fresh is not None and fresh > 1.03 * plan.supply_current:
            text += f" (fresh {show(fresh, 'ma')})"
        found.append(("All lights", text))
    if plan.runtime is not None and plan.runtime.runtime:
        found.append(("A set lasts", set_lasts(plan.runtime)))
    if plan.fuse is not None and plan.fuse.rated_current:
        found.append(("Fuse F1", show(plan.fuse.rated_current, "ma")))
    elif plan.fuse is not None:
        told = {each.code for each in plan.fuse.findings}
        fitted = "none fits" if plan.fuse.rated_current is None else "none fitted"
        found.append(("Fuse", "none needed" if "fuse_not_needed" in told else fitted))
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


# What stands in a box, and in which order; the low lines of the workshop are small print.
_KINDS = {"stop": "stop", "high": "caution", "caution": "caution", "medium": "caution"}
_ORDER = ("stop", "high", "caution", "medium", "low")
_WORDS = {"stop": "STOP", "caution": "Take care", "note": "Note"}


def warnings(sheet: Sheet) -> tuple[Advice, ...]:
    """Return stops first, then cautions of this build and of the workshop, worst first."""
    found = [
        (each.severity, each.message, each.remedy) for each in sheet.findings if each.severity != "note"
    ] + [(line.severity, f"{line.hazard} {line.why}".strip(), line.action) for line in sheet.cautions]
    ranked = sorted(found, key=lambda each: _ORDER.index(each[0]) if each[0] in _ORDER else len(_ORDER))
    advices = []
    for severity, what, do in ranked:
        kind = _KINDS.get(severity, "note")
        advices.append(Advice(_WORDS[kind], what, do, kind))
    return tuple(advices)


def notes(sheet: Sheet) -> tuple[str, ...]:
    """Return the notes of this build."""
    return tuple(
        f"{each.message} {each.remedy}".strip() for each in sheet.findings if each.severity == "note"
    )
