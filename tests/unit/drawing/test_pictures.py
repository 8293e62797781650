"""Pictures: valid XML, every part with its signs, the same from eight threads, strange names harmless."""

import re
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from lampwright.drawing.bands import PAINT, band_letters, bands_svg
from lampwright.drawing.layout import PER_PICTURE, pages, rungs
from lampwright.drawing.plots import currents_svg, fade_svg, nice_step
from lampwright.drawing.svg import clean, fitted, safe, width_of
from lampwright.drawing.symbols import battery, colour_letters, fuse, led, plug, resistor, supply_box, switch
from lampwright.drawing.wiring import wiring_pages, wiring_svg
from lampwright.planner.labels import rows_in
from lampwright.sheets.build import build_sheet
from lampwright.tables.markings import colour_bands
from lampwright.tables.resistors import decade
from tests.builds import NAMES, example_sheet, named, rows_ask, rows_sheet
from tests.marks import published

SVG = "{http://www.w3.org/2000/svg}"
NASTY = '<script>alert(1)</script> \u202egnihton\u202c \x00\x07 \U0001f52e & "quotes" ' + "long " * 2500


def parse(picture):
    """Read our own picture: no stranger's XML comes here."""
    return ET.fromstring(picture)  # noqa: S314


def texts(picture):
    return ["".join(node.itertext()) for node in parse(picture).iter(f"{SVG}text")]


def every_picture(sheet):
    yield from wiring_pages(sheet)
    yield wiring_svg(sheet)
    for picture in (fade_svg(sheet), currents_svg(sheet)):
        if picture:
            yield picture


@pytest.mark.parametrize("name", NAMES)
def test_pictures_are_xml_with_title_and_description(name):
    for picture in every_picture(example_sheet(name)):
        root = parse(picture)
        assert root.tag == f"{SVG}svg"
        assert root[0].tag == f"{SVG}title"
        assert root[0].text
        assert root[1].tag == f"{SVG}desc"
        assert root[1].text
        assert root.get("role") == "img"
        assert "style=" not in picture
        assert "http" not in picture.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_there_with_its_signs(name):
    sheet = example_sheet(name)
    told = texts(wiring_svg(sheet))
    for label in ("F1", "S1", "G1"):
        assert label in told
    for string in sheet.plan.strings:
        row = rows_in(string.row)[0]
        assert any(text.startswith(f"R-{row} ") for text in told)
        for at, light in enumerate(string.leds):
            assert f"{row}{at + 1} {colour_letters(light.colour)}" in told
    lights = sum(len(string.leds) for string in sheet.plan.strings)
    # A plus and a minus at every light and at the supply.
    assert told.count("+") == told.count("−") == lights + 1
    for wire in sheet.plan.wires:
        assert any(text.startswith(wire.label) for text in told)
    alike = [string for string in sheet.plan.strings if string.solved.branch_count > 1]
    for string in alike:
        assert any(f"× {string.solved.branch_count}" in text for text in told)


@pytest.mark.parametrize("rows", [1, 3, 12, 40])
def test_pages_hold_twelve_rows_at_most(rows):
    sheet = rows_sheet(rows)
    pictures = wiring_pages(sheet)
    assert len(pictures) == -(-rows // PER_PICTURE)
    assert all(len(page.rungs) <= PER_PICTURE for page in pages(sheet.plan))
    drawn = [rung.rows[0] for page in pages(sheet.plan) for rung in page.rungs]
    assert drawn == [string.row for string in sheet.plan.strings]
    parse(wiring_svg(sheet))


def test_a_long_row_shows_its_ends_and_a_counted_gap():
    sheet = example_sheet("observatory_diorama")
    string = sheet.plan.strings[0]
    long = replace(string, leds=string.leds[:1] * 20, light_names=string.light_names[:1] * 20, row="A")
    plan = replace(sheet.plan, strings=(replace(long, solved=replace(string.solved, branch_count=1)),))
    (rung,) = rungs(plan)
    assert [light.label for light in rung.lights] == ["A1", "A2", "A3 to A19", "A20"]
    assert "× 17" in texts(wiring_svg(replace(sheet, plan=plan)))


def test_eight_threads_draw_the_same_as_one():
    """Global state would mix pictures: 240 drawings over 8 threads, byte for byte."""
    sheets = [example_sheet(name) for name in NAMES] + [rows_sheet(3), rows_sheet(12)]
    jobs = [sheets[at % len(sheets)] for at in range(240)]

    def drawn(sheet):
        return "".join(every_picture(sheet))

    alone = {id(sheet): drawn(sheet) for sheet in sheets}
    with ThreadPoolExecutor(8) as pool:
        together = list(pool.map(drawn, jobs))
    assert all(picture == alone[id(sheet)] for picture, sheet in zip(together, jobs, strict=True))


def test_callers_text_stays_text():
    sheet = build_sheet(named(NASTY, rows_ask(1)))
    for picture in every_picture(sheet):
        assert "<script" not in picture
        assert "\u202e" not in picture
        assert "\x00" not in picture
        parse(picture)
        assert len(picture) < 40_000


def test_cleaning():
    assert safe('<a href="x">') == "&lt;a href=&quot;x&quot;&gt;"
    assert clean("a\nb\u2066c\ud800") == "a bc"
    assert len(clean("x" * 10_000, 160)) == 160
    assert width_of(fitted("Window lamps by the hundred", 80)) <= 80


def test_every_symbol_is_drawn():
    for part in (led, resistor, fuse, switch, plug, supply_box):
        assert parse(f"<g>{part(30, 30)}</g>").find("path") is not None
    assert led(30, 30, prewired=True) != led(30, 30)
    assert battery(40, 30, 3).count("<path") > battery(40, 30, 1).count("<path")


def read_back(picture):
    """Return the colours of a drawn resistor from left to right, from its paint alone."""
    words = {paint: colour for colour, paint in PAINT.items()}
    return tuple(words[node.get("fill")] for node in parse(picture).iter(f"{SVG}rect"))


DIGITS = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
MULTIPLIERS = {**{colour: 10.0**power for power, colour in enumerate(DIGITS)}, "gold": 0.1, "silver": 0.01}
TOLERANCES = {"gold": 0.05, "brown": 0.01}


@published(
    "IEC-60062", "colour code: digits, multipliers, tolerance", of="lampwright.drawing.bands.bands_svg"
)
@pytest.mark.parametrize(("series", "tolerance"), [("E24", 0.05), ("E96", 0.01)])
def test_every_preferred_value_reads_back_from_its_drawing(series, tolerance):
    for base in decade(series):
        for power in (1.0, 10.0, 100.0, 1e3, 1e4, 1e5):
            resistance = base * power
            bands = colour_bands(resistance, tolerance)
            if bands is None:
                continue
            *digits, multiplier, last = read_back(bands_svg(bands, "x"))
            value = int("".join(str(DIGITS.index(colour)) for colour in digits)) * MULTIPLIERS[multiplier]
            assert value == pytest.approx(resistance, rel=1e-9)
            assert TOLERANCES[last] == tolerance
            assert texts(bands_svg(bands, "x"))[:-1] == [band_letters(colour) for colour in bands]


def test_bands_are_apart_in_grey():
    """Neighbouring digits differ in lightness, or are told apart by their letters."""
    assert len({band_letters(colour) for colour in PAINT}) == len(PAINT)


def test_the_fade_says_when_it_is_half_bright():
    picture = fade_svg(example_sheet("moth_wings"))
    runtime = example_sheet("moth_wings").plan.runtime
    assert f"half bright after about {runtime.runtime / 3600:.2g} h" in picture
    assert "event over" in picture
    assert fade_svg(example_sheet("observatory_diorama")) is None


def test_plots_stay_inside_their_frame():
    for name in NAMES:
        for picture in (fade_svg(example_sheet(name)), currents_svg(example_sheet(name))):
            if picture is None:
                continue
            for x in re.findall(r"[ML](-?[\d.]+) ", picture):
                assert -1 <= float(x) <= 721


def test_steps_of_an_axis_are_round():
    assert [nice_step(span) for span in (1, 7, 24, 130, 0.3)] == [0.2, 1.0, 5.0, 20.0, 0.05]
