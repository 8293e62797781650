"""The tagged PDF, read back by poppler's tools, which know nothing of us; what is said without the extra."""

import re
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from lampwright.app import create_app
from lampwright.cli import main
from lampwright.paper.pdf import HOW, render_pdf
from lampwright.paper.tables import BLANK, TICK, cuts, faults, joints, log, parts, rows_table
from tests.builds import EXAMPLES, NAMES, example_sheet, rows_sheet
from tests.marks import published

ADDRESS = "https://lamps.example"


def said(*command: str) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def unpacked(stream: bytes) -> bytes:
    try:
        return zlib.decompress(stream)
    except zlib.error:
        return stream


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pdf")
    found = {}
    for name in NAMES:
        found[name] = folder / f"{name}.pdf"
        found[name].write_bytes(render_pdf(example_sheet(name), ADDRESS))
    return found


@published(
    "MEMORY",
    "ISO 14289-1: tagged, with a title and a language, every font embedded",
    of="lampwright.paper.pdf.render_pdf",
    kind="memory",
)
@pytest.mark.parametrize("name", NAMES)
def test_it_is_tagged_and_holds_its_fonts(files, name):
    told = said("pdfinfo", str(files[name]))
    assert re.search(r"^Tagged: +yes$", told, re.MULTILINE)
    assert f"Title:           Build sheet: {example_sheet(name).title}" in told
    assert re.search(r"^Page size: .*A4", told, re.MULTILINE)
    assert 3 <= int(re.search(r"^Pages: +(\d+)", told, re.MULTILINE)[1]) <= 6
    fonts = said("pdffonts", str(files[name])).splitlines()[2:]
    assert fonts
    assert all(re.search(r" yes yes yes +\d+ +\d+$", line) for line in fonts)  # embedded, a part, to Unicode
    assert 'pdfuaid:part="1"' in said("pdfinfo", "-meta", str(files[name]))
    packed = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", files[name].read_bytes(), re.DOTALL)
    assert any(b"/Lang (en)" in unpacked(stream) for stream in packed)


@pytest.mark.parametrize("name", NAMES)
def test_its_structure_is_that_of_the_page(files, name):
    told = [line.split()[0].rstrip(":") for line in said("pdfinfo", "-struct", str(files[name])).splitlines()]
    assert told.count("H1") == 1
    assert told.count("H2") > 8
    for kind in ("Table", "TH", "TD", "L", "LI", "Figure"):
        assert kind in told


def test_text_is_of_the_size_promised(files):
    pages = ElementTree.fromstring(  # noqa: S314 - poppler's own output of our own file
        said("pdftohtml", "-xml", "-i", "-zoom", "1", "-stdout", str(files["moth_wings"]))
    )
    sizes = {font.get("id"): int(font.get("size")) for font in pages.iter("fontspec")}
    lines = {"".join(text.itertext()): sizes[text.get("font")] for text in pages.iter("text")}
    assert next(size for line, size in lines.items() if line.startswith("14 lights in 14 rows")) == 11
    assert lines["next value up"] == 10
    assert lines["hand-warm at most"] == 10


@pytest.mark.parametrize("name", NAMES)
def test_every_reading_row_and_joint_is_in_it(files, name):
    sheet = example_sheet(name)
    words = "".join(said("pdftotext", "-raw", str(files[name]), "-").split())
    for table in (parts, cuts, rows_table, joints, faults, log):
        for row in table(sheet).rows:
            for cell in row:
                if cell not in (TICK, BLANK):
                    assert "".join(cell.split()) in words, cell
    for step in sheet.build_steps:
        assert "".join(step.text.split()) in words
    assert ADDRESS in words
    assert "licensedwork" in words


def test_what_a_caller_wrote_fetches_nothing_and_many_rows_fit():
    title = '<img src="https://bad.example/x.png"> <script>🦋 فراشة'
    made = render_pdf(replace(rows_sheet(12), title=title), paper="Letter")
    assert made.startswith(b"%PDF-")
    assert b"bad.example/x.png" not in made


def test_it_goes_out_over_http_and_from_the_command_line(tmp_path: Path):
    client = create_app().test_client()
    build = (EXAMPLES / "miners_lamp.json").read_bytes()
    reply = client.post(
        "/v1/build-sheets",
        data=build,
        content_type="application/json",
        headers={"Accept": "application/pdf"},
    )
    assert (reply.status_code, reply.content_type) == (200, "application/pdf")
    assert reply.data.startswith(b"%PDF-1.7")
    file = tmp_path / "sheet.pdf"
    assert main(["sheet", str(EXAMPLES / "miners_lamp.json"), "--format", "pdf", "--output", str(file)]) == 0
    assert file.read_bytes().startswith(b"%PDF-1.7")


def test_without_the_extra_both_say_how_to_get_it(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    client = create_app().test_client()
    build = (EXAMPLES / "miners_lamp.json").read_bytes()
    reply = client.post("/v1/build-sheets?format=pdf", data=build, content_type="application/json")
    assert reply.status_code == 406
    assert reply.json["detail"] == HOW
    assert main(["sheet", str(EXAMPLES / "miners_lamp.json"), "--format", "pdf"]) == 2
    assert HOW in capsys.readouterr().err


def test_nothing_else_loads_it():
    code = "import sys, lampwright.app, lampwright.paper.html; sys.exit('weasyprint' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
