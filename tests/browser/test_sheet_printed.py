"""The sheet in a real browser: no text on text or line, two pages for the bench, no sideways scroll."""

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from lampwright.contract.calculations import read
from lampwright.drawing.bands import bands_svg
from lampwright.drawing.plots import currents_svg, fade_svg
from lampwright.drawing.wiring import wiring_pages
from lampwright.paper import tables
from lampwright.paper.html import render_html
from lampwright.sheets.build import build_sheet
from lampwright.sheets.carrying import LINK_LIMIT, carried, link_of, pack, read_link
from tests.browser.conftest import AXE
from tests.builds import NAMES, example_ask, example_sheet, named, rows_sheet, sheet_of

#: Boxes of texts and of strokes, in the picture's own units. A text's box is trimmed to its letters: fonts
#: reserve room above and below that nothing is drawn in.
BOXES = """
(svg) => {
  const texts = [...svg.querySelectorAll('text')].filter(t => t.textContent.trim()).map(t => {
    const b = t.getBBox(), trim = b.height * 0.2;
    return {what: t.textContent, x: b.x, y: b.y + trim, w: b.width, h: b.height - 2 * trim};
  });
  const lines = [...svg.querySelectorAll('path')].flatMap(p => {
    const d = p.getAttribute('d').match(/^M([\\d.]+) ([\\d.]+)L([\\d.]+) ([\\d.]+)$/);
    if (!d) return [];
    const [x1, y1, x2, y2] = d.slice(1).map(Number);
    return [{what: p.getAttribute('d'), x: Math.min(x1, x2) - 1, y: Math.min(y1, y2) - 1,
             w: Math.abs(x2 - x1) + 2, h: Math.abs(y2 - y1) + 2}];
  });
  const box = svg.viewBox.baseVal;
  return {texts, lines, width: box.width, height: box.height};
}
"""


def hit(a, b):
    return (
        a["x"] < b["x"] + b["w"]
        and b["x"] < a["x"] + a["w"]
        and a["y"] < b["y"] + b["h"]
        and b["y"] < a["y"] + a["h"]
    )


def pictures(sheet):
    return list(wiring_pages(sheet))


def crowded(page, svg, *, lines=True):
    """Return pairs of texts on each other, texts on lines, and texts outside the picture."""
    page.set_content(f"<body>{svg}</body>")
    found = page.eval_on_selector("svg", BOXES)
    texts = found["texts"]
    bad = [(a["what"], b["what"]) for at, a in enumerate(texts) for b in texts[at + 1 :] if hit(a, b)]
    if lines:
        bad += [(a["what"], line["what"]) for a in texts for line in found["lines"] if hit(a, line)]
    bad += [
        (a["what"], "edge")
        for a in texts
        if a["x"] < 0 or a["y"] < 0 or a["x"] + a["w"] > found["width"] or a["y"] + a["h"] > found["height"]
    ]
    return bad


@pytest.fixture(scope="module")
def page(browser):
    context = browser.new_context()
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("name", NAMES)
def test_no_label_of_an_example_touches_another(page, name):
    for svg in pictures(example_sheet(name)):
        assert crowded(page, svg) == []


@pytest.mark.parametrize("rows", [1, 3, 12, 40])
def test_no_label_of_many_rows_touches_another(page, rows):
    for svg in pictures(rows_sheet(rows)):
        assert crowded(page, svg) == []


@pytest.mark.parametrize("name", NAMES)
def test_plots_and_bands_keep_their_words_apart(page, name):
    sheet = example_sheet(name)
    for svg in (fade_svg(sheet), currents_svg(sheet)):
        if svg:
            assert crowded(page, svg, lines=False) == []
    for string in sheet.plan.strings:
        if string.solved.colour_bands:
            assert crowded(page, bands_svg(string.solved.colour_bands, "470 Ω")) == []


def printed(page, html, path, paper):
    page.set_content(html)
    page.pdf(path=str(path), format=paper, print_background=True, prefer_css_page_size=False)
    done = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True)
    return int(re.search(r"Pages:\s+(\d+)", done.stdout)[1])


def words_of(path, number):
    done = subprocess.run(
        ["pdftotext", "-f", str(number), "-l", str(number), str(path), "-"],
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", NAMES)
def test_the_bench_fits_on_two_pages(page, tmp_path, name, paper):
    """Everything to build and test by stands on pages one and two, trouble and event on the third."""
    path = tmp_path / "sheet.pdf"
    assert printed(page, render_html(example_sheet(name)), path, paper) <= 7
    first, second, third = (words_of(path, number) for number in (1, 2, 3))
    for heading in ("Before you start", "Parts list", "Cut list", "Picture"):
        assert heading in first
    for heading in ("Rows", "Joints", "Build steps", "Expected readings"):
        assert heading in first + second
    assert "hand-warm at most" in second
    last = tables.readings(example_sheet(name)).rows[-1]
    assert last[1].split()[-1] in second
    assert third.lstrip().startswith("When something is wrong")
    for heading in ("Event card", "Log", "What the figures rest on"):
        assert heading in third


def one_more(ask, place):
    lights = [replace(light, count=light.count + (at == place)) for at, light in enumerate(ask.lights)]
    return replace(ask, lights=tuple(lights))


def longer_names(ask):
    return replace(ask, lights=tuple(replace(one, name=f"{one.name} of the tower") for one in ask.lights))


def for_an_event(ask):
    return replace(ask, usage=replace(ask.usage, hours_wanted=8 * 3600.0, worn=True))


LONGER = {
    "a row more at the path": one_more(example_ask("observatory_diorama"), 1),
    "a row more in the dome": one_more(example_ask("observatory_diorama"), 2),
    "worn, for a day": for_an_event(example_ask("observatory_diorama")),
    "names longer than their column": longer_names(example_ask("miners_lamp")),
}


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", LONGER)
def test_a_slightly_longer_build_keeps_to_two_pages(page, tmp_path, name, paper):
    path = tmp_path / "sheet.pdf"
    printed(page, render_html(build_sheet(LONGER[name])), path, paper)
    assert words_of(path, 3).lstrip().startswith("When something is wrong")


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_printed_into_the_margin(page, tmp_path, name):
    """Rendered to pixels, no ink within 5 mm of the paper's edge; in grey it stays legible."""
    path = tmp_path / "sheet.pdf"
    printed(page, render_html(example_sheet(name)), path, "A4")
    subprocess.run(["pdftoppm", "-r", "50", "-gray", str(path), str(tmp_path / "p")], check=True)
    for picture in sorted(tmp_path.glob("p-*.pgm")):
        kind, size, _, pixels = picture.read_bytes().split(b"\n", 3)
        assert kind == b"P5"
        width, height = (int(part) for part in size.split())
        edge = round(5 / 25.4 * 50)
        rows = [pixels[at * width : (at + 1) * width] for at in range(height)]
        margin = b"".join(rows[:edge] + rows[-edge:]) + b"".join(row[:edge] + row[-edge:] for row in rows)
        assert min(margin) > 200, picture.name
        assert min(pixels) < 140


@pytest.mark.parametrize("width", [320, 360, 1200])
@pytest.mark.parametrize("name", NAMES)
def test_the_sheet_never_scrolls_sideways(page, name, width):
    page.set_viewport_size({"width": width, "height": 800})
    page.set_content(render_html(example_sheet(name)))
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [320, 726, 768, 1200])
@pytest.mark.parametrize("name", NAMES)
def test_numbers_of_steps_and_heads_of_columns_are_not_broken(page, name, width):
    """726 px is the width of A4 between the margins."""
    page.set_viewport_size({"width": width, "height": 800})
    page.set_content(render_html(example_sheet(name)))
    page.emulate_media(media="print" if width == 726 else "screen")
    broken = page.evaluate("""
      () => [...document.querySelectorAll('.steps li > b, thead th')].filter(each => each.checkVisibility())
        .filter(each => {
          const words = document.createRange();
          words.selectNodeContents(each);
          const tops = new Set([...words.getClientRects()].map(line => Math.round(line.top)));
          const parts = each.textContent.trim().split(' ').length;
          return tops.size > parts || each.scrollWidth > each.clientWidth + 1;
        }).map(each => each.textContent)
    """)
    page.emulate_media(media="null")
    assert broken == []


@pytest.mark.parametrize("width", [360, 726, 1200])
def test_a_long_name_stays_in_its_cell(page, width):
    """A name in one piece breaks where its column ends; three long currents break between two of them."""
    name = "Überlange_Bezeichnung_ohne_Leerzeichen_für_ein_Licht"
    html = render_html(build_sheet(named(name, example_ask("observatory_diorama"))))
    page.set_viewport_size({"width": width, "height": 800})
    page.set_content(html)
    page.emulate_media(media="print" if width == 726 else "screen")
    beyond = page.evaluate("""
      () => [...document.querySelectorAll('td')].filter(cell => cell.checkVisibility())
        .filter(cell => cell.textContent.trim() && cell.scrollWidth > cell.clientWidth + 1)
        .map(cell => cell.textContent)
    """)
    page.emulate_media(media="null")
    assert beyond == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [360, 726, 1200])
def test_no_current_of_a_row_is_broken_in_the_middle(page, width):
    """Currents such as "18.9/14.9/11.4" is too long for its column: it breaks behind a stroke."""
    page.set_viewport_size({"width": width, "height": 800})
    page.set_content(render_html(sheet_of("float behind a vehicle")))
    page.emulate_media(media="print" if width == 726 else "screen")
    lines = page.evaluate("""
      () => [...document.querySelectorAll('td[data-c="mA"]')].flatMap(cell => {
        const found = new Map();
        for (const text of [...cell.childNodes].filter(node => node.nodeType === 3))
          for (let at = 0; at < text.length; at++) {
            const one = document.createRange();
            one.setStart(text, at);
            one.setEnd(text, at + 1);
            const top = Math.round(one.getBoundingClientRect().top);
            found.set(top, (found.get(top) ?? '') + text.data[at]);
          }
        return [[...found.values()]];
      })
    """)
    page.emulate_media(media="null")
    assert all(part.endswith("/") for parts in lines for part in parts[:-1]), lines
    if width == 726:
        assert any(len(parts) > 1 for parts in lines)


@pytest.mark.parametrize("rows", [8, 12])
def test_labels_of_many_rows_keep_their_size_on_paper(page, rows):
    """No smaller than those of the examples, whose pictures are as wide as they are drawn on paper."""

    def sizes(sheet):
        page.set_viewport_size({"width": 726, "height": 1000})
        page.set_content(render_html(sheet))
        page.emulate_media(media="print")
        found = page.evaluate("""
          () => [...document.querySelectorAll('.wiring text')].map(text =>
            parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a)
        """)
        page.emulate_media(media="null")
        return found

    assert min(sizes(rows_sheet(rows))) >= 0.97 * min(sizes(example_sheet("moth_wings")))


@pytest.mark.parametrize("name", NAMES)
def test_on_a_phone_each_reading_says_all_it_means(page, name):
    """On paper neighbours share a cell; where every reading stands by itself it says it again."""
    page.set_viewport_size({"width": 360, "height": 740})
    sheet = example_sheet(name)
    page.set_content(render_html(sheet))
    shown = page.evaluate("""
      () => [...document.querySelectorAll('tr:has([data-c="tips at"])')].map(row =>
        [...row.cells].filter(cell => cell.checkVisibility()).map(cell => cell.textContent))
    """)
    assert shown == [[cell for cell in row if cell != "-"] for row in tables.readings(sheet).rows]


@pytest.mark.parametrize("name", NAMES)
def test_on_a_phone_pictures_can_be_read(page, name):
    """They keep their size and move sideways inside their frame, also by keyboard."""
    page.set_viewport_size({"width": 360, "height": 740})
    page.set_content(render_html(example_sheet(name)))
    sizes = page.evaluate("""
      () => [...document.querySelectorAll('figure text')].map(text =>
        parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a)
    """)
    assert min(sizes) >= 10
    frame = page.locator("figure").first
    frame.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("document.querySelector('figure').scrollLeft > 0")
    page.add_script_tag(path=str(AXE))
    result = page.evaluate("axe.run()")
    assert [(found["id"], found["nodes"][0]["html"][:200]) for found in result["violations"]] == []


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(page, name):
    page.set_viewport_size({"width": 1200, "height": 900})
    page.set_content(render_html(example_sheet(name)))
    page.add_script_tag(path=str(AXE))
    result = page.evaluate("axe.run()")
    assert [(found["id"], found["nodes"][0]["html"][:200]) for found in result["violations"]] == []


ADDRESS = "https://lamps.example"


@pytest.mark.skipif(shutil.which("zbarimg") is None, reason="zbar-tools is not installed")
@pytest.mark.parametrize("name", NAMES)
def test_the_code_scans_from_paper_to_the_same_build(page, tmp_path, name):
    """Printed, rendered at 150 dpi, read by zbar: the link opens the very build."""
    ask = example_sheet(name).plan.ask
    link = link_of(ADDRESS, ask)
    assert len(link) <= LINK_LIMIT
    path = tmp_path / "sheet.pdf"
    printed(page, render_html(example_sheet(name), ADDRESS), path, "A4")
    subprocess.run(["pdftoppm", "-r", "150", "-gray", str(path), str(tmp_path / "q")], check=True)
    done = subprocess.run(
        ["zbarimg", "--quiet", "--raw", *map(str, sorted(tmp_path.glob("q-*.pgm")))],
        capture_output=True,
        text=True,
        check=False,
    )
    assert link in done.stdout.split()
    assert read("build-sheets", read_link(link)) == ask


@pytest.mark.parametrize("name", NAMES)
def test_the_page_opens_what_the_sheet_carries(desk, name):
    ask = example_sheet(name).plan.ask
    opened = desk.open(f"/#b={pack(carried(ask))}")
    assert opened.input_value("[name=title]") == ask.title


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", NAMES)
def test_the_third_page_holds_the_whole_event(page, tmp_path, name, paper):
    """What the figures rest on ends the third page; nothing of it runs over to the fourth."""
    path = tmp_path / "sheet.pdf"
    sheet = example_sheet(name)
    printed(page, render_html(sheet), path, paper)
    third = " ".join(words_of(path, 3).split())
    for line in sheet.assumptions:
        assert line in third
