"""The printable page, the plain text and the parts list: the same numbers, and nobody's markup."""

import csv
import io
import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser

import pytest

from lampwright.paper import tables
from lampwright.paper.html import render_html
from lampwright.paper.parts_csv import COLUMNS, guarded, render_csv
from lampwright.paper.text import WIDTH, render_text
from lampwright.planner.supplies import supply_from_voltage
from lampwright.quantities import show
from lampwright.sheets.build import build_sheet
from lampwright.sheets.document import sheet_document
from tests.builds import (
    NAMES,
    UNLIKE,
    example_ask,
    example_sheet,
    named,
    rows_ask,
    rows_sheet,
    sheet_of,
)

NASTY = "<script>alert(1)</script>\u202e\x00\x1b[31m\U0001f52e=cmd|'/c calc'!A1" + " long" * 2500
VOID = {"meta", "col", "br", "wbr", "img", "hr"}


class Balance(HTMLParser):
    """Fails on tags that do not close in order."""

    def __init__(self):
        super().__init__()
        self.open, self.attributes, self.tags = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, *pair) for pair in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def parsed(page):
    reader = Balance()
    reader.feed(page)
    assert reader.open == []
    return reader


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_whole_and_fetches_nothing(name):
    page = render_html(example_sheet(name))
    reader = parsed(page)
    assert not {"script", "link", "iframe", "img"} & set(reader.tags)
    for _, attribute, value in reader.attributes:
        assert attribute not in ("style", "src", "href")
        assert not attribute.startswith("on")
        assert "url(" not in (value or "")
    assert "@import" not in page
    assert "url(" not in page


@pytest.mark.parametrize("name", NAMES)
def test_ids_are_used_once(name):
    found = [
        value
        for _, attribute, value in parsed(render_html(example_sheet(name))).attributes
        if attribute == "id"
    ]
    assert len(found) == len(set(found))


@pytest.mark.parametrize("name", NAMES)
def test_nothing_of_the_sheet_is_left_out(name):
    """Every table's cells stand on the page and in the text."""
    sheet = example_sheet(name)
    page = unescape(re.sub(r"<[^>]+>", " ", render_html(sheet).replace("<wbr>", "")))
    page = " ".join(page.split())
    text = " ".join(render_text(sheet).split())
    for make in (
        tables.parts,
        tables.cuts,
        tables.rows_table,
        tables.joints,
        tables.readings,
        tables.faults,
        tables.log,
    ):
        for row in make(sheet).rows:
            for cell in row:
                if cell not in (tables.TICK, tables.BLANK):
                    assert " ".join(cell.split()) in page, cell
    for step in sheet.build_steps:
        assert " ".join(step.text.split()) in page
    for line in sheet.event_card:
        assert line.what in text
        assert line.what in page
    for heading in ("Parts list", "Cut list", "Rows", "Joints", "Build steps", "Expected readings", "Log"):
        assert heading in page
        assert heading.upper() in text


def numbers(text):
    return {float(found) for found in re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.]*\d)", text)}


def values_in(document):
    if isinstance(document, dict):
        for key, item in document.items():
            if key not in ("display", "working", "sources"):
                yield from values_in(item)
    elif isinstance(document, list):
        for item in document:
            yield from values_in(item)
    elif isinstance(document, (int, float)) and not isinstance(document, bool):
        yield float(document)


@pytest.mark.parametrize("name", NAMES)
def test_every_number_of_rows_and_readings_is_in_the_json(name):
    """Rounded as printed, each current and voltage on paper is one the document answers."""
    sheet = example_sheet(name)
    known = list(values_in(sheet_document(sheet)))
    shown = set()
    for table, columns in (
        (tables.rows_table(sheet), (4, 5)),
        (tables.readings(sheet), (2,)),
        (tables.cuts(sheet), (2,)),
    ):
        for row in table.rows:
            for column in columns:
                shown |= numbers(row[column])
    assert shown
    for number in shown:
        assert any(
            abs(value - number) <= 0.051 * max(abs(number), 1e-3) or abs(value * 100 - number) <= 0.6
            for value in known
        ), number
    for check in sheet.bench_checks:
        if check.voltage is not None:
            printed = tables._good(check)
            assert (
                f"{check.voltage:.2g}".rstrip("0").rstrip(".") in printed or f"{check.voltage:.3g}" in printed
            )


@pytest.mark.parametrize("name", NAMES)
def test_text_fits_its_width(name):
    for line in render_text(example_sheet(name)).split("\n"):
        # The build's own text is there to be copied and stays whole.
        assert len(line) <= WIDTH or line.startswith('{"title"')


def test_callers_text_stays_text():
    sheet = build_sheet(named(NASTY, rows_ask(1)))
    page, text, parts = render_html(sheet), render_text(sheet), render_csv(sheet)
    for form in (page, text, parts):
        assert "\u202e" not in form
        assert "\x00" not in form
        assert "\x1b" not in form
    assert "<script" not in page
    parsed(page)
    assert len(page) < 200_000


def test_a_formula_in_a_name_is_guarded():
    sheet = build_sheet(named("=1+cmd()", rows_ask(1)))
    rows = list(csv.reader(io.StringIO(render_csv(sheet))))
    assert tuple(rows[0]) == COLUMNS
    assert any(row[0] == "'=1+cmd()" for row in rows)
    for row in rows[1:]:
        for cell in row:
            assert cell[:1] not in ("=", "+", "-", "@")
    assert [guarded(text)[0] for text in ("=x", "+x", "-x", "@x", "\t=x", "a")] == [
        "'",
        "'",
        "'",
        "'",
        "'",
        "a",
    ]


def test_counts_are_plain_numbers():
    rows = list(csv.DictReader(io.StringIO(render_csv(example_sheet("observatory_diorama")))))
    assert sum(int(row["count"]) for row in rows if row["item"].endswith("lamps")) == 17
    assert all(row["spares"].isdigit() for row in rows)


def test_a_stop_comes_first_and_no_parts_follow():
    sheet = build_sheet(replace(example_ask("observatory_diorama"), supply=supply_from_voltage(2.5)))
    page, text = render_html(sheet), render_text(sheet)
    assert "Safe to build: no" in page
    assert '<p class="box stop"><b>STOP:</b>' in page
    assert "Parts list" not in page
    assert "STOP:" in text
    assert render_csv(sheet).strip() == ",".join(COLUMNS)


def test_the_deference_is_on_every_sheet():
    for name in NAMES:
        assert "licensed work" in render_html(example_sheet(name))
        assert "licensed work" in " ".join(render_text(example_sheet(name)).split())


def test_at_most_five_cautions_stand_on_the_first_page():
    sheet = example_sheet("moth_wings")
    line = sheet.cautions[0]
    many = replace(
        sheet, cautions=tuple(replace(line, severity="high", hazard=f"Hazard {at}.") for at in range(9))
    )
    page = render_html(many)
    first, _, rest = page.partition("Parts list")
    assert first.count('class="box caution"') == 5
    assert rest.count('class="box caution"') == 4


@pytest.mark.parametrize("rows", [1, 3, 12, 40, 120])
def test_any_number_of_rows(rows):
    page = render_html(rows_sheet(rows))
    parsed(page)
    assert page.count("<figure ") >= -(-rows // 12)


def test_readings_alike_share_the_cells_that_say_what_they_mean():
    page = render_html(example_sheet("observatory_diorama"))
    assert 'rowspan="3"' in page
    assert "as above" in render_text(example_sheet("observatory_diorama"))


def test_the_worst_comes_first_and_only_the_everyday_is_small_print():
    from lampwright.planner.models.build import Usage
    from lampwright.planner.supplies import supply_from_battery

    ask = replace(
        example_ask("moth_wings"),
        supply=supply_from_battery("nimh_aa", 4),
        usage=Usage(worn=True, flash_rate=5.0),
    )
    sheet = build_sheet(ask)
    kinds = [advice.kind for advice in tables.warnings(sheet)]
    assert kinds == sorted(kinds, key=["stop", "caution", "note"].index)
    page = render_html(sheet)
    assert re.search(r'class="box caution"><b>Take care:</b>[^<]*can bring on a seizure', page)
    assert re.search(r'class="box caution"><b>Take care:</b>[^<]*hot enough to start a fire', page)
    assert "Take care" not in render_html(example_sheet("miners_lamp"))


@pytest.mark.parametrize("name", [*NAMES, *UNLIKE])
def test_the_fault_table_sends_to_readings_by_their_numbers(name):
    """Each number is a line of the readings; a row without a resistor is measured at its light."""
    sheet = sheet_of(name)
    lines = {line.number: line.first.check for line in tables.reading_lines(sheet)}
    for row, faults in zip(tables.faults(sheet).rows, sheet.fault_finding, strict=True):
        sent = re.search(r"Reading ([^:.]*)", row[1])
        assert (sent is None) == faults.check.startswith("none"), row
        if sent is None:
            continue
        numbers = [int(number) for number in re.findall(r"\d+", sent[1])]
        assert set(numbers) <= set(lines), row
        if faults.check.endswith("of that row"):
            spanned = {lines[number] for number in range(numbers[0], numbers[-1] + 1)}
            for place, string in enumerate(sheet.plan.strings):
                wanted = f"resistor_{place}" if string.solved.resistance else f"led_{place}_0"
                assert wanted in spanned, (wanted, row)
        elif not faults.check.endswith("that light"):
            assert [lines[number] for number in numbers] == re.findall(
                r"supply_off|supply_on|after_switch|far_end|total_current", faults.check
            )


@pytest.mark.parametrize("name", [*NAMES, *UNLIKE])
def test_what_hides_in_a_good_reading_is_said_once(name):
    sheet = sheet_of(name)
    note = tables.readings(sheet).note
    for line in tables.reading_lines(sheet):
        if line.first.good_but:
            said = re.search(rf"([\d, andto]+) good but {re.escape(line.first.good_but)}\.", note)
            assert said, line
            runs = [found.split(" to ") for found in re.findall(r"\d+ to \d+|\d+", said[1])]
            assert any(int(run[0]) <= line.number <= int(run[-1]) for run in runs)
    assert len(set(re.findall(r"good but [^.]*\.", note))) == len(re.findall(r"good but [^.]*\.", note))


def test_many_readings_alike_are_named_by_their_run():
    """Twenty rows: "4 to 18 and 20 to 22 good but", not every number."""
    note = tables.readings(rows_sheet(20)).note
    assert re.search(r"\d+ to \d+ .*good but", note)
    assert "5, 6" not in note
    said = {
        number
        for run in re.findall(r"(\d+) to (\d+)", note)
        for number in range(int(run[0]), int(run[1]) + 1)
    }
    hiding = {line.number for line in tables.reading_lines(rows_sheet(20)) if line.first.good_but}
    assert said <= hiding


def test_the_head_tells_what_fresh_cells_give():
    sheet = example_sheet("moth_wings")
    fresh = next(each.current for each in sheet.bench_checks if each.check == "total_current")
    figures = dict(tables.key_figures(sheet))
    assert show(fresh, "ma") in figures["All lights"]
    assert show(sheet.plan.supply_current, "ma") in figures["All lights"]
    assert "fresh" not in dict(tables.key_figures(example_sheet("observatory_diorama")))["All lights"]
    assert f"at most {show(sheet.plan.design_current, 'ma')}" in sheet.reserve


def test_the_log_has_a_line_for_each_reading_and_says_what_to_write():
    for name in NAMES:
        table = tables.log(example_sheet(name))
        numbers = [line.number for line in tables.reading_lines(example_sheet(name))]
        assert [int(row[0]) for row in table.rows] == numbers
        assert "lowest and the highest" in table.note


def test_the_event_card_speaks_of_what_the_build_has():
    plugged = {line.what: line.says for line in example_sheet("observatory_diorama").event_card}
    assert "battery" not in " ".join(plugged.values())
    assert "plug" in plugged["Hot, or a smell"]
    worn = {line.what: line.says for line in example_sheet("moth_wings").event_card}
    assert "off the body" in worn["Warm, smell or hiss"]
    assert worn["Nothing lights"].startswith("switch, plug, battery")
