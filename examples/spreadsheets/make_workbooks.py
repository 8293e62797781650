"""Write ``lamps.ods`` and ``lamps.xlsx``: questions in rows, one answer a cell, asked from the service.

Run ``python make_workbooks.py`` in this folder; the .xlsx needs openpyxl, the .ods nothing. The address of
the service stands in one cell (B1). The figures typed in are invented demo data.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

SERVICE = "http://127.0.0.1:8350"
STATE = "$B$2"
ANSWERS = "The service answers."
NOT_REACHED = "The service was not reached: is it running, and is its address in B1 right?"
#: What stands in an answer's cell where there is none: the service is away, or it refused what was typed.
AWAY, REFUSED = "not reached", "not taken"
HELP = (
    "Type in the white columns; the answers come from the service. Invented demo data.",
    "not taken: a value of the row is missing, out of its bounds (0.5 to 60 V) or unknown (a light's name).",
    "stop: no figure would be safe; the word behind it says why.",
)

#: title, path, columns to type (name, heading), answers (pick, heading, decimals), rows of typed values
Block = tuple[
    str, str, tuple[tuple[str, str], ...], tuple[tuple[str, str, int], ...], tuple[tuple[object, ...], ...]
]
BLOCKS: tuple[Block, ...] = (
    (
        "Which resistor",
        "series-resistors",
        (
            ("led", "Kind of light"),
            ("supply_voltage_v", "Supply, V"),
            ("series_count", "In a row"),
            ("forward_current_ma", "Wanted, mA"),
        ),
        (
            ("resistance_ohm", "Resistor, ohm", 0),
            ("current_ma", "Then, mA", 1),
            ("dissipation_w", "Heat in it, W", 3),
        ),
        (
            ("red_5mm", 9, 1, 10),
            ("green_5mm", 9, 2, 8),
            ("amber_5mm", 12, 3, 15),
            ("blue_5mm", 5, 1, 12),
            ("warm_white_5mm", 12, 3, 8),
            ("white_5mm", 6, 2, 10),
        ),
    ),
    (
        "Which wire",
        "wires",
        (("supply_voltage_v", "Supply, V"), ("current_ma", "Current, mA"), ("run_length_m", "One way, m")),
        (("awg", "AWG", 0), ("metric_area_mm2", "or mm²", 2), ("drop_pct", "Lost, %", 1)),
        ((12, 500, 4), (5, 300, 2), (9, 120, 1)),
    ),
    (
        "Which fuse",
        "fuses",
        (("battery", "Battery"), ("current_ma", "Current, mA"), ("awg", "Thinnest wire, AWG")),
        (("rated_current_ma", "Fuse, mA", 0), ("needed", "Needed", 0)),
        (("lead_acid_12v", 1200, 22), ("liion_18650", 200, 26), ("alkaline_aa", 150, 26)),
    ),
    (
        "How long",
        "runtimes",
        (("battery", "Battery"), ("cells_in_series", "In a row"), ("load_current_ma", "Current, mA")),
        (("runtime_h", "Hours", 1), ("runtime_low_h", "at least", 1), ("runtime_high_h", "at most", 1)),
        (("alkaline_aa", 4, 60), ("nimh_aa", 4, 150), ("alkaline_9v", 1, 30)),
    ),
)
#: how it looks ("text", "number", "title", "heading", "heading-end", "answer-2" with its decimals), what
#: stands in it, and "formula" where that is one
Cell = tuple[str, object, str]
_WIDE = (4.5, 3.2, 4.3, 2.8, 3.2, 2.8, 3.2)  # of the columns, in cm
_TINT, _LINE = "F3EEE2", "8B857A"


def _column(number: int) -> str:
    return "ABCDEFGHIJ"[number]


def _formula(path: str, asked: tuple[tuple[str, str], ...], pick: str, row: int, *, excel: bool) -> str:
    """Return the formula of one answer: a number, the service's own word, or why there is none."""
    new, apart, reference = ("_xlfn.", ",", "{}") if excel else ("COM.MICROSOFT.", ";", "[.{}]")
    number = new if excel else ""
    places = [reference.format(f"{_column(index)}{row}") for index in range(len(asked))]
    parts = [f'{name}="&{new}ENCODEURL({place})' for (name, _), place in zip(asked, places, strict=True)]
    url = f'{reference.format("$B$1")}&"/v1/{path}?' + '&"&'.join(parts) + f'&"&pick={pick}"'
    call = f"{new}WEBSERVICE({url})"
    figure = f'{number}NUMBERVALUE({call}{apart}"."{apart}",")'
    none = f'IF({reference.format(STATE)}="{ANSWERS}"{apart}"{REFUSED}"{apart}"{AWAY}")'
    return f"IFERROR({figure}{apart}IFERROR({call}{apart}{none}))"


def _state(*, excel: bool) -> str:
    """Return the formula that says whether the service answers at all."""
    new, apart, reference = ("_xlfn.", ",", "{}") if excel else ("COM.MICROSOFT.", ";", "[.{}]")
    call = f'{new}WEBSERVICE({reference.format("$B$1")}&"/healthz")'
    return f'IFERROR(IF(LEN({call})>0{apart}"{ANSWERS}"{apart}"{NOT_REACHED}"){apart}"{NOT_REACHED}")'


def cells(*, excel: bool) -> list[list[Cell]]:
    """Return the rows of the sheet."""
    rows: list[list[Cell]] = [
        [("title", "Address of the service", ""), ("text", SERVICE, "")],
        [("text", "", ""), ("text", _state(excel=excel), "formula")],
        *([("text", line, "")] for line in HELP),
        [],
    ]
    for title, path, asked, answers, lines in BLOCKS:
        rows.append([("title", title, "")])
        figures = [not isinstance(value, str) for value in lines[0]] + [True] * len(answers)
        names = [column[1] for column in (*asked, *answers)]
        rows.append(
            [
                ("heading-end" if figure else "heading", name, "")
                for figure, name in zip(figures, names, strict=True)
            ]
        )
        for line in lines:
            number = len(rows) + 1
            typed: list[Cell] = [
                ("text" if isinstance(value, str) else "number", value, "") for value in line
            ]
            found: list[Cell] = [
                (f"answer-{decimals}", _formula(path, asked, pick, number, excel=excel), "formula")
                for pick, _, decimals in answers
            ]
            rows.append([*typed, *found])
        rows.append([])
    return rows


def _styles() -> str:
    """Return the looks of the OpenDocument cells."""
    bold = '<style:text-properties fo:font-weight="bold"/>'
    line = f'fo:border-bottom="0.5pt solid #{_LINE}"'
    found = [
        f'<style:style style:name="wide-{at}" style:family="table-column">'
        f'<style:table-column-properties style:column-width="{wide}cm"/></style:style>'
        for at, wide in enumerate(_WIDE)
    ]
    found += [
        f'<style:style style:name="title" style:family="table-cell">{bold}</style:style>',
        f'<style:style style:name="heading" style:family="table-cell"><style:table-cell-properties {line}/>'
        f"{bold}</style:style>",
        f'<style:style style:name="heading-end" style:family="table-cell">'
        f"<style:table-cell-properties {line}/>"
        f'<style:paragraph-properties fo:text-align="end"/>{bold}</style:style>',
    ]
    for decimals in sorted({answer[2] for block in BLOCKS for answer in block[3]}):
        found.append(
            f'<number:number-style style:name="figure-{decimals}"><number:number '
            f'number:decimal-places="{decimals}" number:min-integer-digits="1"/></number:number-style>'
            f'<style:style style:name="answer-{decimals}" style:family="table-cell" '
            f'style:data-style-name="figure-{decimals}">'
            f'<style:table-cell-properties fo:background-color="#{_TINT}"/>'
            '<style:paragraph-properties fo:text-align="end"/></style:style>'
        )
    return f"<office:automatic-styles>{''.join(found)}</office:automatic-styles>"


def write_ods(target: Path) -> None:
    """Write the OpenDocument spreadsheet, with a second sheet linked to the list of lights."""
    lines = []
    for row in cells(excel=False):
        inside = []
        for look, value, kind in row:
            styled = "" if look in ("text", "number") else f' table:style-name="{look}"'
            if kind == "formula":
                inside.append(f"<table:table-cell{styled} table:formula={quoteattr(f'of:={value}')}/>")
            elif look == "number":
                inside.append(
                    f'<table:table-cell office:value-type="float" office:value="{value}">'
                    f"<text:p>{value}</text:p></table:table-cell>"
                )
            elif value == "":
                inside.append("<table:table-cell/>")
            else:
                inside.append(
                    f'<table:table-cell{styled} office:value-type="string">'
                    f"<text:p>{escape(str(value))}</text:p></table:table-cell>"
                )
        lines.append(f"<table:table-row>{''.join(inside) or '<table:table-cell/>'}</table:table-row>")
    columns = "".join(f'<table:table-column table:style-name="wide-{at}"/>' for at in range(len(_WIDE)))
    source = (
        f'<table:table-source xlink:type="simple" xlink:href="{SERVICE}/v1/parts/leds.csv"'
        ' table:filter-name="Text - txt - csv (StarCalc)" table:filter-options="44,34,76,1"/>'
    )
    names = {
        "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
        "style": "urn:oasis:names:tc:opendocument:xmlns:style:1.0",
        "fo": "urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0",
        "number": "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0",
        "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
        "of": "urn:oasis:names:tc:opendocument:xmlns:of:1.2",
        "xlink": "http://www.w3.org/1999/xlink",
    }
    content = (
        '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
        + " ".join(f'xmlns:{key}="{value}"' for key, value in names.items())
        + f' office:version="1.3">{_styles()}<office:body><office:spreadsheet>'
        + f'<table:table table:name="Lamps">{columns}{"".join(lines)}</table:table>'
        + f'<table:table table:name="Lights">{source}<table:table-row><table:table-cell '
        + 'office:value-type="string"><text:p>Edit, Links, Update: the list of lights</text:p>'
        + "</table:table-cell></table:table-row></table:table>"
        + "</office:spreadsheet></office:body></office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<?xml version="1.0" encoding="UTF-8"?><manifest:manifest '
        'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/>'
        "</manifest:manifest>"
    )
    with zipfile.ZipFile(target, "w") as packed:
        for name, text, method in (
            ("mimetype", kind, zipfile.ZIP_STORED),
            ("content.xml", content, zipfile.ZIP_DEFLATED),
            ("META-INF/manifest.xml", manifest, zipfile.ZIP_DEFLATED),
        ):
            entry = zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0))  # the same file every time
            entry.compress_type = method
            packed.writestr(entry, text)


def write_xlsx(target: Path) -> None:
    """Write the Office Open XML workbook."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    book = Workbook()
    sheet = book.active
    sheet.title = "Lamps"
    for number, row in enumerate(cells(excel=True), 1):
        for index, (look, value, kind) in enumerate(row):
            cell = sheet.cell(number, index + 1, f"={value}" if kind == "formula" else value or None)
            if look == "title" or look.startswith("heading"):
                cell.font = Font(name=cell.font.name, size=cell.font.sz, bold=True)
            if look == "heading-end" or look.startswith("answer"):
                cell.alignment = Alignment(horizontal="right")
            if look.startswith("heading"):
                cell.border = Border(bottom=Side("thin", _LINE))
            if look.startswith("answer"):
                decimals = int(look.rpartition("-")[2])
                cell.number_format = f"0.{'0' * decimals}" if decimals else "0"
                cell.fill = PatternFill("solid", _TINT)
    for index, wide in enumerate(_WIDE):
        sheet.column_dimensions[_column(index)].width = 5 * wide
    book.save(target)


if __name__ == "__main__":
    here = Path(__file__).parent
    write_ods(here / "lamps.ods")
    write_xlsx(here / "lamps.xlsx")
