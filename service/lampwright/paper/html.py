"""The printable sheet: one HTML page that needs nothing else, made for paper first.

Order = order of use. Everything a caller wrote is cleaned and escaped; style stands in one element, no
element carries a style of its own, and nothing is fetched.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

from lampwright.drawing.bands import bands_svg
from lampwright.drawing.plots import currents_svg, fade_svg
from lampwright.drawing.svg import safe
from lampwright.drawing.wiring import wiring_pages
from lampwright.paper import tables
from lampwright.paper.code import carry_html
from lampwright.paper.style import STYLE
from lampwright.paper.tables import BLANK, MOST_CAUTIONS, SAFE_WORDS, TICK, Advice, Table
from lampwright.planner.models.build import Sheet
from lampwright.quantities import show

TITLE_LENGTH = 160
_ONE_LINE = 24  # letters in the middle column of a third of the page
_BOX = '<span class="tick" role="img" aria-label="tick box"></span>'
_THREE = re.compile(r"[\d.-]+(?:/[\d.-]+){2}")
_FILL = '<span class="fill">&nbsp;</span>'


def _cell(text: str) -> str:
    if text == TICK:
        return _BOX
    if text == BLANK:
        return _FILL
    # Three currents too long for their column are to break between two of them, not within one.
    return text.replace("/", "/<wbr>") if _THREE.fullmatch(text) else safe(text)


@cache
def _opened(columns: tuple[str, ...], widths: tuple[int, ...]) -> tuple[str, tuple[str, ...]]:
    """Return the head of a table and what opens each of its cells: the same for every row."""
    head = "".join(f'<th scope="col">{safe(name)}</th>' for name in columns)
    cells = tuple("<td>" if at == 0 else f'<td data-c="{safe(name)}">' for at, name in enumerate(columns))
    cols = "".join(f'<col width="{width}%">' for width in widths)
    return f"<colgroup>{cols}</colgroup><thead><tr>{head}</tr></thead><tbody>", cells


def _titled(heading: str, note: str, kind: str = ' class="small"') -> str:
    """Return a heading, and on the same line what holds for all below it."""
    said = f"<p{kind}>{safe(note)}</p>" if note else ""
    return f'<div class="titled"><h2>{safe(heading)}</h2>{said}</div>'


def _opening(start: str, text: str) -> str:
    """Return what opens a cell; one with nothing to say is marked, so that a phone can leave it out."""
    return f'<td class="none"{start[3:]}' if text in ("", "-") else start


def _table(table: Table, *, wraps: bool = False, heading: bool = True) -> str:
    """Return a table with its heading, or nothing where it has no rows."""
    if not table.rows:
        return ""
    head, opens = _opened(table.columns, table.widths)
    body = []
    for row in table.rows:
        cells = "".join(
            [f"{_opening(start, text)}{_cell(text)}</td>" for start, text in zip(opens, row, strict=True)]
        )
        body.append(f"<tr>{cells}</tr>")
    kinds = " ".join(name for name, on in (("wraps", wraps), ("set", bool(table.widths))) if on)
    kind = f' class="{kinds}"' if kinds else ""
    titled = _titled(table.heading, table.note) if heading else ""
    return f"{titled}<table{kind}>{head}{''.join(body)}</tbody></table>"


def _thirds(table: Table) -> str:
    """Return a table of short lines as three side by side."""
    if len(table.rows) < 4:
        return _table(table)
    # A cell too long for its column takes two lines; the thirds are to be as high as each other.
    high = [1 + (len(row[1]) > _ONE_LINE) for row in table.rows]
    third = (sum(high) + 2) // 3
    parts: list[list[tuple[str, ...]]] = [[], [], []]
    above = 0
    for row, lines in zip(table.rows, high, strict=True):
        parts[min(above // third, 2)].append(row)
        above += lines
    both = "".join(_table(replace(table, rows=tuple(rows)), heading=False) for rows in parts if rows)
    return f'{_titled(table.heading, table.note)}<div class="three">{both}</div>'


def _readings(sheet: Sheet) -> str:
    """Return the readings; neighbours that mean the same share the cell that says so.

    On a phone each reading stands by itself, so there it says it again.
    """
    table = tables.readings(sheet)
    if not table.rows:
        return ""
    head, opens = _opened(table.columns, table.widths)
    body = []
    for at, row in enumerate(table.rows):
        cells = "".join(f"{start}{safe(text)}</td>" for start, text in zip(opens[:3], row[:3], strict=True))
        for column in range(3, len(row)):
            text, start = row[column], opens[column]
            if at and table.rows[at - 1][column] == text != "-":
                cells += f'<td class="again"{start[3:]}{safe(text)}</td>'
                continue
            alike = 1
            while text != "-" and at + alike < len(table.rows) and table.rows[at + alike][column] == text:
                alike += 1
            span = f' rowspan="{alike}"' if alike > 1 else ""
            cells += f"{_opening('<td' + span + start[3:], text)}{safe(text)}</td>"
        body.append(f"<tr>{cells}</tr>")
    return f'{_titled(table.heading, table.note)}<table class="set">{head}{"".join(body)}</tbody></table>'


def _head(sheet: Sheet) -> list[str]:
    title = safe(sheet.title, TITLE_LENGTH) or "Untitled build"
    figures = "".join(
        f"<div><dt>{safe(what)}</dt><dd>{safe(says)}</dd></div>" for what, says in tables.key_figures(sheet)
    )
    return [
        f'<header class="head"><div class="top"><h1><bdi>{title}</bdi></h1>'
        f'<p class="blanks">Version {_FILL} Date {_FILL} Maker {_FILL}</p></div>',
        f'<div class="top"><p class="safe {sheet.safe}">{safe(SAFE_WORDS[sheet.safe])}</p>'
        f'<dl class="key">{figures}</dl></div><p>{safe(sheet.summary)}</p></header>',
    ]


def _box(advice: Advice) -> str:
    return (
        f'<p class="box {advice.kind}"><b>{safe(advice.word)}:</b> {safe(advice.what)} '
        f"<b>{safe(advice.do)}</b></p>"
    )


def _sorted(sheet: Sheet) -> tuple[list[Advice], list[Advice], list[Advice]]:
    """Return what is boxed on the first page, what is boxed later, and what is small print."""
    every = tables.warnings(sheet)
    boxed = [advice for advice in every if advice.kind != "note"]
    stops = sum(advice.kind == "stop" for advice in boxed)
    first = max(MOST_CAUTIONS, stops)
    return boxed[:first], boxed[first:], [advice for advice in every if advice.kind == "note"]


def _before(sheet: Sheet) -> list[str]:
    """Return what to know before starting: worst first, a calm line where nothing applies."""
    shown, _, small = _sorted(sheet)
    found = [f"<section>{_titled('Before you start', sheet.reserve, '')}"]
    found += [_box(advice) for advice in shown]
    # The lines that go with every build are said as what to do; the reasons are in the guide.
    print_ = " ".join(safe(advice.do) for advice in small)
    found.append(f'<p class="small">{print_} {safe(sheet.deference)}</p></section>')
    return found


def _more(sheet: Sheet) -> list[str]:
    """Return cautions past the first five, and notes."""
    _, rest, _ = _sorted(sheet)
    notes = tables.notes(sheet)
    if not rest and not notes:
        return []
    found = ["<section><h2>More to know</h2>"]
    found += [_box(advice) for advice in rest]
    found += [f'<p class="small">{safe(note)}</p>' for note in notes]
    return [*found, "</section>"]


def _sideways(svg: str) -> str:
    """Return a picture that a narrow screen moves sideways, also by keyboard, instead of shrinking it."""
    return f'<figure class="sideways" tabindex="0">{svg}</figure>'


def _picture(sheet: Sheet) -> list[str]:
    if not sheet.plan.strings:
        return []
    pictures = "".join(_sideways(svg) for svg in wiring_pages(sheet))
    return [f'<section class="wiring"><h2>Picture</h2>{pictures}</section>']


def _bands(sheet: Sheet) -> list[str]:
    """Return each value's resistor drawn once."""
    seen: dict[float, tuple[str, ...]] = {}
    for string in sheet.plan.strings:
        if string.solved.resistance and string.solved.colour_bands:
            seen.setdefault(string.solved.resistance, string.solved.colour_bands)
    if not seen:
        return []
    drawn = "".join(
        bands_svg(bands, show(resistance, "ohm"), f"bands-{place}")
        for place, (resistance, bands) in enumerate(seen.items())
    )
    return [f'<section><h2>Resistor bands</h2><div class="bands">{drawn}</div></section>']


def _steps(sheet: Sheet) -> list[str]:
    if not sheet.build_steps:
        return []
    items = []
    for step, reading in tables.steps(sheet):
        good = f" <i>{safe(reading)}</i>" if reading else ""
        kind = ' class="gate"' if step.gate else ""
        items.append(f"<li{kind}><b>{step.number}</b><span>{safe(step.text)}{good}</span>{_BOX}</li>")
    return [f'<section><h2>Build steps</h2><ol class="steps">{"".join(items)}</ol></section>']


def _card(sheet: Sheet) -> list[str]:
    if not sheet.event_card:
        return []
    lines = "".join(
        f"<dt>{safe(line.what)}</dt><dd>{safe(line.says) or '&nbsp;'}</dd>" for line in sheet.event_card
    )
    title = safe(sheet.title, 60) or "Untitled build"
    return [
        f'<section class="card"><h2>Event card: <bdi>{title}</bdi></h2><dl>{lines}</dl></section>',
    ]


def _log(sheet: Sheet) -> list[str]:
    table = tables.log(sheet)
    if not table.rows:
        return []
    assumed = " ".join(safe(line) for line in sheet.assumptions)
    changes = f'<p class="changes">Measured by, on: {_FILL}{_FILL} Changes: {_FILL * 4}</p>'
    return [
        f"<section>{_thirds(table)}{changes}<h2>What the figures rest on</h2>"
        f'<p class="small">{assumed}</p></section>'
    ]


def _plots(sheet: Sheet) -> list[str]:
    found = [_sideways(svg) for svg in (fade_svg(sheet), currents_svg(sheet)) if svg]
    return (
        [f"<section><h2>How the light fades, and what each row takes</h2>{''.join(found)}</section>"]
        if found
        else []
    )


def render_html(sheet: Sheet, address: str | None = None) -> str:
    """Return the sheet as one printable HTML page.

    Parameters
    ----------
    sheet : Sheet
        As ``sheets.build.build_sheet`` gives it.
    address : str, optional
        Where the calculator page stands ("https://lamps.example"): the sheet then carries a link and a
        code that open the build there.
    """
    parts = [*_head(sheet), *_before(sheet)]
    if sheet.plan.strings:
        parts += [
            f"<section>{_table(tables.parts(sheet), wraps=True)}</section>",
            f"<section>{_thirds(tables.cuts(sheet))}</section>",
            *_picture(sheet),
            f"<section>{_table(tables.rows_table(sheet))}</section>",
            f"<section>{_thirds(tables.joints(sheet))}</section>",
            *_steps(sheet),
            f"<section>{_readings(sheet)}</section>",
            f'<section class="new-page">{_table(tables.faults(sheet), wraps=True)}</section>',
            *_card(sheet),
            *_log(sheet),
            '<div class="new-page"></div>',
            *_more(sheet),
            *_plots(sheet),
            *_bands(sheet),
            f"<section>{_table(tables.comparison(sheet), wraps=True)}</section>",
            f"<section>{_table(tables.weak_points(sheet), wraps=True)}</section>",
            f'<section><h2>The picture in words</h2><p class="small twin">{_twin(sheet)}</p></section>',
            carry_html(sheet, address),
        ]
    else:
        parts += _more(sheet)
    title = safe(sheet.title, TITLE_LENGTH) or "Untitled build"
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>Build sheet: {title}</title><style>{STYLE}</style></head>"
        f'<body class="paper"><main><article class="sheet">{"".join(parts)}</article></main></body></html>'
    )


def _twin(sheet: Sheet) -> str:
    return "<br>".join(safe(line) for line in sheet.drawing_text.split("\n"))
