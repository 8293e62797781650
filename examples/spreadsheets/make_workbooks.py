"""Write ``lamps.ods`` and ``lamps.xlsx``: questions in rows, one answer a cell, asked from the service.

Run ``python make_workbooks.py`` in this folder; the .xlsx needs openpyxl, the .ods nothing. The address of
the service stands in one cell (B1). The figures typed in are invented demo data.
"""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

SERVICE = "http://127.0.0.1:8350"
NOT_REACHED = "The service was not reached: is it running, and is its address in B1 right?"

#: title, path, columns to type (name, heading), answers (pick, heading), rows of typed values
Block = tuple[
    str, str, tuple[tuple[str, str], ...], tuple[tuple[str, str], ...], tuple[tuple[object, ...], ...]
]
BLOCKS: tuple[Block, ...] = (
    (
        "Which resistor",
        "series-resistors",
        (
            ("supply_voltage_v", "Supply, V"),
            ("led", "Kind of light"),
            ("series_count", "In a row"),
            ("forward_current_ma", "Wanted, mA"),
        ),
        (("resistance_ohm", "Resistor, ohm"), ("current_ma", "Then, mA"), ("dissipation_w", "Heat in it, W")),
        (
            (9, "red_5mm", 1, 10),
            (9, "green_5mm", 2, 8),
            (12, "amber_5mm", 3, 15),
            (5, "blue_5mm", 1, 12),
            (12, "warm_white_5mm", 3, 8),
            (6, "white_5mm", 2, 10),
        ),
    ),
    (
        "Which wire",
        "wires",
        (("supply_voltage_v", "Supply, V"), ("current_ma", "Current, mA"), ("run_length_m", "One way, m")),
        (("awg", "AWG"), ("metric_area_mm2", "or mm2"), ("drop_pct", "Lost, %")),
        ((12, 500, 4), (5, 300, 2), (9, 120, 1)),
    ),
    (
        "Which fuse",
        "fuses",
        (("battery", "Battery"), ("current_ma", "Current, mA"), ("awg", "Thinnest wire, AWG")),
        (("rated_current_ma", "Fuse, mA"), ("needed", "Needed")),
        (("lead_acid_12v", 1200, 22), ("liion_18650", 200, 26), ("alkaline_aa", 150, 26)),
    ),
    (
        "How long",
        "runtimes",
        (("battery", "Battery"), ("cells_in_series", "In a row"), ("load_current_ma", "Current, mA")),
        (("runtime_h", "Hours"), ("runtime_low_h", "at least"), ("runtime_high_h", "at most")),
        (("alkaline_aa", 4, 60), ("nimh_aa", 4, 150), ("alkaline_9v", 1, 30)),
    ),
)
Cell = tuple[str, object]  # ("text" | "number" | "formula", what stands in it)


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
    return f'IFERROR({figure}{apart}IFERROR({call}{apart}"{NOT_REACHED}"))'


def cells(*, excel: bool) -> list[list[Cell]]:
    """Return the rows of the sheet."""
    rows: list[list[Cell]] = [
        [("text", "Address of the service"), ("text", SERVICE)],
        [("text", "Type in the white columns; the answers come from the service. Invented demo data.")],
        [],
    ]
    for title, path, asked, answers, lines in BLOCKS:
        rows.append([("text", title)])
        rows.append([("text", heading) for _, heading in (*asked, *answers)])
        for line in lines:
            number = len(rows) + 1
            typed: list[Cell] = [("text" if isinstance(value, str) else "number", value) for value in line]
            found: list[Cell] = [
                ("formula", _formula(path, asked, pick, number, excel=excel)) for pick, _ in answers
            ]
            rows.append([*typed, *found])
        rows.append([])
    return rows


def write_ods(target: Path) -> None:
    """Write the OpenDocument spreadsheet, with a second sheet linked to the list of lights."""
    lines = []
    for row in cells(excel=False):
        inside = []
        for kind, value in row:
            if kind == "number":
                inside.append(
                    f'<table:table-cell office:value-type="float" office:value="{value}">'
                    f"<text:p>{value}</text:p></table:table-cell>"
                )
            elif kind == "text":
                inside.append(
                    '<table:table-cell office:value-type="string">'
                    f"<text:p>{escape(str(value))}</text:p></table:table-cell>"
                )
            else:
                formula = quoteattr(f"of:={value}")
                inside.append(f"<table:table-cell table:formula={formula}/>")
        lines.append(f"<table:table-row>{''.join(inside) or '<table:table-cell/>'}</table:table-row>")
    source = (
        f'<table:table-source xlink:type="simple" xlink:href="{SERVICE}/v1/parts/leds.csv"'
        ' table:filter-name="Text - txt - csv (StarCalc)" table:filter-options="44,34,76,1"/>'
    )
    names = {
        "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
        "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
        "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
        "of": "urn:oasis:names:tc:opendocument:xmlns:of:1.2",
        "xlink": "http://www.w3.org/1999/xlink",
    }
    content = (
        '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
        + " ".join(f'xmlns:{key}="{value}"' for key, value in names.items())
        + ' office:version="1.3"><office:body><office:spreadsheet>'
        + f'<table:table table:name="Lamps">{"".join(lines)}</table:table>'
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
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    sheet.title = "Lamps"
    for number, row in enumerate(cells(excel=True), 1):
        for index, (kind, value) in enumerate(row):
            cell = sheet.cell(number, index + 1, f"={value}" if kind == "formula" else value)
            if kind == "text" and (len(row) == 1 or number == 1):
                cell.font = Font(bold=True)
    for column in "ABCDEFG":
        sheet.column_dimensions[column].width = 20
    book.save(target)


if __name__ == "__main__":
    here = Path(__file__).parent
    write_ods(here / "lamps.ods")
    write_xlsx(here / "lamps.xlsx")
