"""The wiring drawing of a sheet, the schematic of a single row, as SVG text."""

from __future__ import annotations

from lampwright.drawing import symbols
from lampwright.drawing.layout import (
    END_X,
    MINUS_X,
    PLUS_X,
    START_X,
    TOP_Y,
    Page,
    Rung,
    pages,
)
from lampwright.drawing.svg import SMALL, WIDTH, dot, fitted, line, path, picture, width_of, words
from lampwright.planner.labels import first_row
from lampwright.planner.models.build import Plan, PlannedWire, Sheet
from lampwright.quantities import show
from lampwright.sheets.parts import supply_words
from lampwright.sheets.steps import JointFinder, row_joints

FIRST_LIGHT = 304.0
LIGHT_PITCH = 58.0
RESISTOR_X = 224.0

_COLOUR_WORDS = {
    "RD": "red",
    "OG": "orange",
    "AM": "amber",
    "YE": "yellow",
    "YG": "yellow-green",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "PK": "pink",
    "WH": "white",
    "WW": "warm white",
    "IR": "infrared",
    "UV": "ultraviolet",
    "BK": "black",
    "TQ": "turquoise",
}


def size_of(wire: PlannedWire) -> str:
    """Return a wire's size in words: "24 AWG", or its area."""
    figures = wire.figures
    if figures.awg is not None:
        return f"{figures.awg} AWG"
    if figures.conductor_area is not None:
        return show(figures.conductor_area, "mm2")
    return "size open"


def cut_colour(plan: Plan, label: str, fallback: str) -> str:
    """Return the colour letters of a piece of wire in the cut list."""
    for cut in plan.cuts:
        if cut.label == label and cut.colour:
            letters = cut.colour if cut.colour.isupper() else symbols.colour_letters(cut.colour)
            return letters or fallback
    return fallback


# Where the parts of the top rung stand, from the plus rail to the minus rail.
SWITCH_X, PLUG_X, FUSE_X, SUPPLY_X, MINUS_PLUG_X = 198.0, 256.0, 322.0, 438.0, 532.0


def _supply_rung(plan: Plan, find: JointFinder) -> list[str]:
    """Draw the top rung: plus rail, switch, plug, fuse, supply, plug, minus rail."""
    y = TOP_Y
    fused = plan.fuse is not None and bool(plan.fuse.rated_current)
    plugged = bool(find("plug+"))
    body = [symbols.switch(SWITCH_X, y), words(SWITCH_X, y - 23, "S1", bold=True)]
    if plan.switch is not None:
        body.append(words(SWITCH_X, y + 24, f"≥ {show(plan.switch.rated_current, 'ma')} DC", size=SMALL))
    # What stands between the supply's plus and the rail, right to left: x and half its width.
    parts = [(SWITCH_X, 20.0)]
    if plugged:
        parts.append((PLUG_X, 9.0))
        body += [symbols.plug(PLUG_X, y), words(PLUG_X, y - 23, "plug", size=SMALL)]
        body += [symbols.plug(MINUS_PLUG_X, y, socket=-1), words(MINUS_PLUG_X, y - 23, "plug", size=SMALL)]
    if fused and plan.fuse is not None and plan.fuse.rated_current:
        parts.append((FUSE_X, 20.0))
        body += [
            symbols.fuse(FUSE_X, y),
            words(FUSE_X, y - 23, "F1", bold=True),
            words(FUSE_X, y + 24, show(plan.fuse.rated_current, "ma")),
        ]
    at = PLUS_X
    for x, half in parts:
        body.append(line(at, y, x - half, y))
        at = x + half
    body.append(line(at, y, SUPPLY_X - 40, y))
    supply = plan.ask.supply
    if supply.battery:
        body.append(symbols.battery(SUPPLY_X, y, supply.cells_in_series))
    else:
        body.append(symbols.supply_box(SUPPLY_X, y))
    minus = MINUS_PLUG_X - 9 if plugged else MINUS_X
    body += [
        words(SUPPLY_X, y - 25, "G1", bold=True),
        # Right of the fuse's value, however long it is.
        words(FUSE_X + 40, y + 37, fitted(supply_words(plan), 310), anchor="start"),
        symbols.polarity(SUPPLY_X, y, 51),
        line(SUPPLY_X + 40, y, minus, y, dashed=True),
        dot(PLUS_X, y),
        dot(MINUS_X, y),
    ]
    if plugged:
        body.append(line(MINUS_PLUG_X + 9, y, MINUS_X, y, dashed=True))
    return body + _main_run(plan, find, y) + _supply_joints(find, y, fused, plugged)


def _main_run(plan: Plan, find: JointFinder, y: float) -> list[str]:
    """Name the main run and the points at its ends."""
    body = [
        words(PLUS_X, y - 12, find("W0+", "W1+"), bold=True),
        words(MINUS_X, y - 12, find("W0−", "W1−"), bold=True),
    ]
    main = next((wire for wire in plan.wires if wire.label == "W0"), None)
    if main is not None:
        long = show(main.run_length, "m")
        plus, minus = cut_colour(plan, "W0+", "RD"), cut_colour(plan, "W0−", "BK")
        body += [
            words(98, y - 8, f"W0 {size_of(main)}"),
            words(98, y + 18, f"{long} {plus}"),
            words(616, y - 8, f"W0 {size_of(main)}"),
            words(616, y + 18, f"{long} {minus}"),
        ]
    return body


def _supply_joints(find: JointFinder, y: float, fused: bool, plugged: bool) -> list[str]:
    """Mark and name every joint of the top rung, each between the parts it joins."""
    places = [(SWITCH_X - 36, find("W0+", "S1 other lug"))]
    if plugged:
        places += [(PLUG_X - 24, find("plug+")), (PLUG_X + 26, find("socket+"))]
    elif fused:
        places.append(((SWITCH_X + FUSE_X) / 2, find("F1 other lead")))
    if fused or not plugged:
        places.append((FUSE_X + 42, find("supply+")))
    if plugged:
        places += [(MINUS_PLUG_X - 24, find("socket−")), (MINUS_PLUG_X + 24, find("plug−"))]
    else:
        places.append((MINUS_PLUG_X, find("supply−")))
    return [mark for x, label in places for mark in (dot(x, y, 3), words(x, y - 9, label, size=SMALL))]


def _light(x: float, y: float, light_label: str, letters: str, prewired: bool) -> str:
    label = f"{light_label} {letters}".strip()
    return (
        symbols.led(x, y, prewired=prewired)
        + symbols.polarity(x, y, 18)
        + words(x, y - (28 if prewired else 24), fitted(label, LIGHT_PITCH + 6))
    )


def _row(rung: Rung) -> list[str]:
    """Draw resistor and lights of one rung between its two ends."""
    y = rung.y
    body = []
    at = START_X
    if rung.resistance:
        body += [
            line(at, y, RESISTOR_X - 20, y),
            symbols.resistor(RESISTOR_X, y),
            words(RESISTOR_X, y - 14, f"R-{rung.rows[0]} {show(rung.resistance, 'ohm')}", bold=True),
        ]
        at = RESISTOR_X + 20
    slot = 0.0
    for light in rung.lights:
        x = FIRST_LIGHT + slot * LIGHT_PITCH
        if light.more:
            # The row goes on in the same way: a dotted line, and what it stands for.
            middle, half = x + LIGHT_PITCH / 2, LIGHT_PITCH / 2 + 20
            body += [
                line(at, y, middle - half, y),
                path(f"M{middle - half:.1f} {y:.1f}H{middle + half:.1f}", dashed=True),
                words(middle, y - 10, fitted(light.label, 2 * half)),
                words(middle, y + 20, f"× {light.more}"),
            ]
            at = middle + half
            slot += 2
            continue
        body += [line(at, y, x - 8, y), _light(x, y, light.label, light.letters, light.prewired)]
        at = x + 8
        slot += 1
    body.append(line(at, y, END_X, y, dashed=True))
    return body


def _rung(plan: Plan, find: JointFinder, rung: Rung) -> list[str]:
    y, wire = rung.y, rung.wire
    row = first_row(rung.string.row)
    links = find(f"{row} link")
    after = f"; links {links}" if links else ""
    heading = fitted(rung.heading, 418 - width_of(after, bold=True), bold=True) + after
    body = [words(START_X + 14, y - 46, heading, anchor="start", bold=True), *_row(rung)]
    if rung.resistance:
        x = RESISTOR_X + 38
        body += [dot(x, y, 3), words(x - 5, y + 20, find(f"R-{row}", f"{row}1+"), size=SMALL)]
    start, end = row_joints(find, rung.string, wire) if wire is not None else ("", "")
    if not rung.opens:
        # Beside the short rails, where no line runs.
        body.append(words(START_X - 8, y + 5, start, anchor="end", bold=True))
        body.append(words(END_X + 8, y + 5, end, anchor="start", bold=True))
        return body
    body += [line(PLUS_X, y, START_X, y), line(END_X, y, MINUS_X, y, dashed=True)]
    body += [dot(PLUS_X, y, 3), dot(MINUS_X, y, 3), dot(START_X, y), dot(END_X, y)]
    if wire is not None:
        long = show(wire.run_length, "m")
        plus = cut_colour(plan, f"{wire.label}+", "RD")
        minus = cut_colour(plan, f"{wire.label}−", "BK")
        body += [
            words(88, y - 8, f"{wire.label} {size_of(wire)}"),
            words(82, y + 18, f"{long} {plus}"),
            words(656, y - 8, wire.label),
            words(641, y + 18, f"{long} {minus}"),
            # Left of the short rail where one goes down from here.
            words(
                *((START_X + 28, y + 19) if rung.closes else (START_X - 6, y + 36)),
                start,
                anchor="end",
                bold=True,
            ),
            words(END_X + 2, y - 9, end, bold=True),
        ]
    return body


def _sub_rails(page: Page) -> list[str]:
    """Draw the short rails that join rows on one wire run."""
    body: list[str] = []
    since = 0.0
    for rung in page.rungs:
        if rung.opens:
            since = rung.y
        elif rung.closes:
            body += [line(START_X, since, START_X, rung.y), line(END_X, since, END_X, rung.y, dashed=True)]
        if not rung.opens:
            body += [dot(START_X, rung.y, 3), dot(END_X, rung.y, 3)]
    return body


def _key(plan: Plan) -> list[str]:
    """Return the lines of the key: line styles, and the letters that were used."""
    letters: dict[str, None] = {}
    for string in plan.strings:
        for led in string.leds:
            letters.setdefault(symbols.colour_letters(led.colour))
    for wire in plan.wires:
        letters.setdefault(cut_colour(plan, f"{wire.label}+", "RD"))
        letters.setdefault(cut_colour(plan, f"{wire.label}−", "BK"))
    meanings = [f"{code} {_COLOUR_WORDS[code]}" for code in letters if code in _COLOUR_WORDS]
    return ["Solid: plus. Dashed: minus. Colours: " + ", ".join(meanings) + "."]


def _wrapped(text: str, room: float, size: float) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and width_of(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _page(plan: Plan, find: JointFinder, page: Page, note: str) -> tuple[list[str], float]:
    body = _supply_rung(plan, find)
    if page.rungs:
        last = max(rung.y for rung in page.rungs if rung.opens)
        body += [line(PLUS_X, TOP_Y, PLUS_X, last), line(MINUS_X, TOP_Y, MINUS_X, last, dashed=True)]
    for rung in page.rungs:
        body += _rung(plan, find, rung)
    body += _sub_rails(page)
    y = page.height
    for text in [text for part in (note, *_key(plan)) for text in _wrapped(part, WIDTH - 40, SMALL)]:
        body.append(words(20, y, text, anchor="start", size=SMALL))
        y += 17
    return body, y - 6


def wiring_pages(sheet: Sheet) -> tuple[str, ...]:
    """Return the wiring drawing, one SVG a picture of at most twelve rows."""
    every = pages(sheet.plan)
    find = JointFinder(sheet.plan)
    found = []
    for number, page in enumerate(every, start=1):
        note = f"Picture {number} of {len(every)}: the supply is the same." if len(every) > 1 else ""
        body, height = _page(sheet.plan, find, page, note)
        found.append(
            picture(
                body,
                WIDTH,
                height,
                name=f"wiring-{number}",
                title=f"Wiring of {sheet.title[:200]}" + (f", {note[:-1].lower()}" if note else ""),
                description=sheet.drawing_text,
            )
        )
    return tuple(found)


def wiring_svg(sheet: Sheet) -> str:
    """Return the whole wiring drawing as one SVG, pictures below each other."""
    every = pages(sheet.plan)
    if len(every) == 1:
        return wiring_pages(sheet)[0]
    find = JointFinder(sheet.plan)
    body: list[str] = []
    top = 0.0
    for number, page in enumerate(every, start=1):
        part, height = _page(
            sheet.plan, find, page, f"Picture {number} of {len(every)}: the supply is the same."
        )
        body += [f'<g transform="translate(0 {top:.1f})">', *part, "</g>"]
        top += height + 24
    return picture(
        body,
        WIDTH,
        top,
        name="wiring",
        title=f"Wiring of {sheet.title[:200]}",
        description=sheet.drawing_text,
    )
