"""Spreadsheets, scripts and the club page of ``examples`` against a running service."""

from __future__ import annotations

import csv
import importlib.util
import io
import json
import os
import re
import shutil
import subprocess
import sys
import urllib.parse
import urllib.request
import zipfile
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.browser.conftest import Desk, serve
from tests.browsing import needs

EXAMPLES = Path(__file__).parents[2] / "examples"
SHEETS = EXAMPLES / "spreadsheets"


def module(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


def run(*command: str, **more: Any) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120, **more)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_python_client(service: str) -> None:
    said = run(sys.executable, str(EXAMPLES / "client.py"), service, str(EXAMPLES / "moth_wings.json"))
    assert "Wing edge" in said
    assert "Ω" in said


def test_the_client_says_what_is_wrong(service: str) -> None:
    client = module(EXAMPLES / "client.py")
    with pytest.raises(ValueError, match="supply_voltage_v"):
        client.ask(service, "series-resistors", {"supply_voltage_v": 230, "led": "red_5mm"})


def test_the_shell_line(service: str) -> None:
    needs("curl")
    said = run("sh", str(EXAMPLES / "one_line.sh"), env={**os.environ, "LAMPWRIGHT": service})
    assert float(said) > 0


def asked_in(sheet: Any, formula: str) -> str:
    """Return the path that a formula asks for, put together as a spreadsheet would."""
    first = formula.split('WEBSERVICE($B$1&"', 1)[1].split("),", 1)[0]
    return re.sub(
        r'"&_xlfn\.ENCODEURL\((\w+)\)&"',
        lambda found: urllib.parse.quote(str(sheet[found[1]].value)),
        first,
    ).rstrip('"')


def told(service: str, path: str) -> str:
    with urllib.request.urlopen(f"{service}{path}", timeout=10) as answer:
        return str(answer.read().decode())


def formulas() -> list[tuple[Any, Any]]:
    """Return (sheet, cell) of every answer in the workbook."""
    sheet = load_workbook(SHEETS / "lamps.xlsx").active
    cells = [cell for row in sheet.iter_rows() for cell in row]
    return [(sheet, cell) for cell in cells if "&pick=" in str(cell.value)]


def test_every_cell_of_the_workbook_asks_a_question_the_service_answers(service: str) -> None:
    """Each formula's address, put together here, gives what the API gives for the same member."""
    asked = formulas()
    assert len(asked) == 18 + 9 + 6 + 9
    for sheet, cell in asked:
        path = asked_in(sheet, cell.value)
        url, _, pick = path.partition("&pick=")
        text = told(service, path)
        whole = json.loads(told(service, url))
        value = whole[pick]
        if isinstance(value, str):
            assert text == value
        elif value is None or text.startswith("stop:"):
            assert any(one["severity"] == "stop" for one in whole["findings"])
        else:
            assert float(text) == pytest.approx(value, rel=1e-12)


def test_both_workbooks_recalculated_by_libreoffice(service: str, tmp_path: Path) -> None:
    """LibreOffice itself asks the running service: numbers are numbers, words are text, cell by cell."""
    needs("soffice")
    bridge = Path(__file__).with_name("libreoffice_bridge.py")
    # Copies: LibreOffice puts a lock beside a file that it opens.
    files = [shutil.copy(SHEETS / name, tmp_path) for name in ("lamps.ods", "lamps.xlsx")]
    maker = module(SHEETS / "make_workbooks.py")
    home = {"PATH": os.environ["PATH"], "HOME": str(tmp_path), "no_proxy": "127.0.0.1"}
    command = ["/usr/bin/python3", str(bridge), str(tmp_path / "profile")]
    for book in json.loads(run(*command, service, *files, env=home)):
        for sheet, cell in formulas():
            text = told(service, asked_in(sheet, cell.value))
            found = book[cell.row - 1][cell.column - 1]
            try:
                expected = float(text)
            except ValueError:
                assert found == text
            else:
                assert found == pytest.approx(expected, rel=1e-12)
        assert book[1][1] == maker.ANSWERS
    for book in json.loads(run(*command, "http://127.0.0.1:9", *files, env=home)):
        assert {book[cell.row - 1][cell.column - 1] for _, cell in formulas()} == {maker.AWAY}
        assert book[1][1] == maker.NOT_REACHED
    # A row that is refused says so: the service was reached.
    wrong = load_workbook(SHEETS / "lamps.xlsx")
    wrong.active["A9"], wrong.active["B10"], wrong.active["B11"] = "purple_frog", 230, "9,5"
    wrong.save(tmp_path / "wrong.xlsx")
    (book,) = json.loads(run(*command, service, str(tmp_path / "wrong.xlsx"), env=home))
    assert book[8][4:7] == book[9][4:7] == [maker.REFUSED] * 3
    assert all(isinstance(value, float) for value in book[10][4:7])


def test_figures_of_the_workbooks_are_as_short_as_a_maker_wants_them() -> None:
    """Every answer has its number of decimals, and every column room for what stands in it."""
    assert {cell.number_format for _, cell in formulas()} == {"0", "0.0", "0.00", "0.000"}
    sheet = load_workbook(SHEETS / "lamps.xlsx").active
    for row in sheet.iter_rows(min_row=6):
        for cell in row:
            if cell.value is not None and "&pick=" not in str(cell.value):
                assert len(str(cell.value)) <= sheet.column_dimensions[cell.column_letter].width, cell.value
    with zipfile.ZipFile(SHEETS / "lamps.ods") as packed:
        content = packed.read("content.xml").decode()
    assert len(re.findall(r'table:style-name="answer-\d" table:formula', content)) == len(formulas())


def test_the_workbooks_are_what_the_script_writes(tmp_path: Path) -> None:
    maker = module(SHEETS / "make_workbooks.py")
    maker.write_ods(tmp_path / "lamps.ods")
    assert (tmp_path / "lamps.ods").read_bytes() == (SHEETS / "lamps.ods").read_bytes()
    maker.write_xlsx(tmp_path / "lamps.xlsx")
    fresh, kept = (load_workbook(folder / "lamps.xlsx").active for folder in (tmp_path, SHEETS))
    assert [[cell.value for cell in row] for row in fresh] == [[cell.value for cell in row] for row in kept]


def test_the_macro_asks_and_says_when_nobody_answers(service: str) -> None:
    macro = module(SHEETS / "lampwright_macro.py")
    assert float(macro.answer(("9", "red_5mm", "1", "10"), "resistance_ohm", service)) > 0
    assert macro.answer(("9", "no_such", "1", "10"), "resistance_ohm", service) == "not taken: 400"
    assert (
        macro.answer(("9", "red_5mm", "1", "10"), "x", "http://127.0.0.1:9") == "the service was not reached"
    )


def test_twenty_builds_make_one_list_and_no_formula_gets_in(service: str, tmp_path: Path) -> None:
    build = json.loads((EXAMPLES / "miners_lamp.json").read_text("utf-8"))
    for number in range(20):
        build["title"] = f"=HYPERLINK({number})"
        (tmp_path / f"{number}.json").write_text(json.dumps(build), "utf-8")
    said = run(sys.executable, str(SHEETS / "twenty_builds.py"), str(tmp_path), service)
    rows = list(csv.reader(io.StringIO(said)))
    assert rows[0] == ["item", "value", "count"]
    assert all(int(row[2]) % 20 == 0 for row in rows[1:])
    plain = module(SHEETS / "twenty_builds.py").plain
    assert [plain(text) for text in ("=1+1", "+1", "-1", "@x", "\tx", "ok")] == [
        "'=1+1", "'+1", "'-1", "'@x", "'\tx", "ok",
    ]  # fmt: skip


STUB = """
globalThis.UrlFetchApp = { fetch: (url) => {
  if (mode === "down") throw new Error("down");
  globalThis.url = url;
  return { getContentText: () => text, getResponseCode: () => code };
} };
"""


@pytest.mark.parametrize(
    ("mode", "text", "code", "cell"),
    [
        ("up", "750", 200, "750"),
        ("up", "stop: no_headroom", 200, "stop: no_headroom"),
        ("up", "{}", 400, "not taken: 400"),
        ("down", "", 0, "the service was not reached"),
    ],
)
def test_the_cloud_script_under_node(mode: str, text: str, code: int, cell: str) -> None:
    """Its logic alone, with a stub of the host's fetch; it was not run in a cloud spreadsheet."""
    needs("node")
    script = (
        f"const mode = {json.dumps(mode)}, text = {json.dumps(text)}, code = {code};{STUB}"
        + (SHEETS / "cloud_script.js").read_text("utf-8")
        + 'console.log(LAMP_RESISTOR(9, "red_5mm", 1, 10, "resistance_ohm"));'
        + 'console.log(globalThis.url ?? "");'
    )
    said = run("node", "-e", script).splitlines()
    assert said[0] == cell
    if mode == "up":
        assert "supply_voltage_v=9&led=red_5mm&series_count=1&forward_current_ma=10&pick=" in said[1]


def test_the_club_page_from_another_origin(desk: Desk, service: str) -> None:
    folder = EXAMPLES / "club_page"
    kinds = {".html": "text/html; charset=utf-8", ".css": "text/css"}

    def club(environ: dict[str, Any], start: Any) -> list[bytes]:
        file = folder / environ["PATH_INFO"].lstrip("/")
        if not file.is_file():
            start("404 Not Found", [])
            return []
        text = file.read_text("utf-8").replace("http://127.0.0.1:8350", service)
        start("200 OK", [("Content-Type", kinds[file.suffix])])
        return [text.replace("<head>", '<head><link rel="icon" href="data:,">').encode()]

    running = serve(club)
    page = desk.open("/index.html", base=next(running))
    for name in ("resistor", "survives", "build"):
        page.wait_for_selector(f"lampwright-{name} .big")
    desk.accessible(page)
    running.close()
