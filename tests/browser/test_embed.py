"""The component in somebody else's page: another origin, a strict policy, hostile style, service down."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from lampwright import __version__
from lampwright.tables.findings import finding_rows
from tests.browser.conftest import Desk, serve

STATIC = Path(__file__).parents[2] / "service" / "lampwright" / "web" / "static"
ALL_THREE = "".join(f"<lampwright-{name}></lampwright-{name}>" for name in ("resistor", "survives", "build"))

BANDS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
Host = Callable[..., str]


@pytest.fixture(scope="module")
def club(service: str) -> Iterator[Host]:
    """Run a club's server on another origin; give the addresses of pages with a given body."""
    pages: dict[str, tuple[str, str]] = {}

    def app(environ: dict[str, Any], start: Any) -> list[bytes]:
        body, policy = pages.get(environ["PATH_INFO"], ("", ""))
        headers = [("Content-Type", "text/html; charset=utf-8")]
        start("200 OK", [*headers, ("Content-Security-Policy", policy)] if policy else headers)
        return [body.encode()]

    running = serve(app)
    origin = next(running)

    def host(body: str, *, policy: str = "", head: str = "", script: str = "") -> str:
        path = f"/{len(pages)}.html"
        script = script or f'<script type="module" src="{service}/embed.js"></script>'
        pages[path] = (
            f'<!doctype html><html lang="en"><head><title>Club of the Long Shadows</title>'
            f'<link rel="icon" href="data:,">{head}{script}</head>'
            f"<body><main><h1>Our lamps</h1>{body}</main></body></html>",
            policy,
        )
        return origin + path

    yield host
    running.close()


def answered(page: Page, tag: str) -> str:
    """Return what an element says once it has an answer."""
    big = page.locator(f"{tag} .big").first
    expect(big).to_be_visible()
    return page.inner_text(f"{tag} .out").replace("\xa0", " ")  # figure and unit stay on one line


def asked(service: str, path: str, request: dict[str, Any]) -> Any:
    """Return what the service answers."""
    with urllib.request.urlopen(
        urllib.request.Request(
            f"{service}/v1/{path}", json.dumps(request).encode(), {"Content-Type": "application/json"}
        ),
        timeout=10,
    ) as answer:
        return json.load(answer)


def test_all_three_under_a_strict_policy(desk: Desk, club: Host, service: str) -> None:
    policy = f"default-src 'none'; script-src {service}; connect-src {service}; img-src data:"
    page = desk.open(base=club(ALL_THREE, policy=policy), path="")
    expected = asked(
        service, "series-resistors", {"supply_voltage_v": 9, "led": "red_5mm", "forward_current_ma": 10}
    )
    assert expected["display"]["resistance"] in answered(page, "lampwright-resistor")
    answered(page, "lampwright-survives")
    answered(page, "lampwright-build")
    assert page.context.cookies() == []
    assert page.evaluate("[localStorage.length, sessionStorage.length]") == [0, 0]
    desk.accessible(page)


def test_attributes_set_what_it_starts_with(desk: Desk, club: Host, service: str) -> None:
    body = '<lampwright-resistor volts="12" led="blue_5mm" count="2" current="5"></lampwright-resistor>'
    page = desk.open(base=club(body), path="")
    request = {"supply_voltage_v": 12, "led": "blue_5mm", "series_count": 2, "forward_current_ma": 5}
    expected = asked(service, "series-resistors", request)
    assert expected["display"]["resistance"] in answered(page, "lampwright-resistor")
    page.fill("lampwright-resistor #f-volts", "9")
    request["supply_voltage_v"] = 9
    expected = asked(service, "series-resistors", request)
    expect(page.locator("lampwright-resistor .out")).to_contain_text(expected["display"]["resistance"])


def test_a_small_build_goes_on_to_the_full_sheet(desk: Desk, club: Host, service: str) -> None:
    body = (
        "<lampwright-build name='Hedge lanterns' lights='7' battery='nimh_aa' cells='6'></lampwright-build>"
    )
    page = desk.open(base=club(body), path="")
    assert "row" in answered(page, "lampwright-build").lower()
    link = page.locator("lampwright-build a")
    expect(link).to_have_attribute("href", re.compile("#b="))
    full = desk.open(str(link.get_attribute("href")).removeprefix(service))
    expect(full.locator("#sheet")).to_contain_text("Hedge lanterns")
    assert full.input_value("#f-lights-0-count") == "7"
    assert full.input_value("#f-power") == "nimh_aa"


@pytest.mark.parametrize("typed", ["9,0 V", "9000 mV", "9"])
def test_units_and_a_decimal_comma(desk: Desk, club: Host, typed: str) -> None:
    page = desk.open(base=club("<lampwright-resistor volts='9'></lampwright-resistor>"), path="")
    first = answered(page, "lampwright-resistor")
    page.fill("lampwright-resistor #f-volts", "30")
    expect(page.locator("lampwright-resistor .out")).not_to_have_text(first)
    page.fill("lampwright-resistor #f-volts", typed)
    page.press("lampwright-resistor #f-volts", "Enter")
    expect(page.locator("lampwright-resistor .out")).to_have_text(first, use_inner_text=True)


def test_german_words_and_figures(desk: Desk, club: Host) -> None:
    page = desk.open(
        base=club("<lampwright-resistor lang='de' current='9.3'></lampwright-resistor>"), path=""
    )
    text = answered(page, "lampwright-resistor")
    assert "Nimm" in text
    assert re.search(r"\d,\d+ mA", text)
    desk.accessible(page)


def test_findings_and_refusals_in_german_say_what_is_left_in_english(desk: Desk, club: Host) -> None:
    """General words in German first; the figures stand in the service's own words, marked as English."""
    page = desk.open(
        base=club("<lampwright-survives lang='de' ohms='0' volts='9'></lampwright-survives>"), path=""
    )
    answered(page, "lampwright-survives")
    stop = page.locator("lampwright-survives .stop").first
    german = json.loads((STATIC / "texts" / "de.json").read_text("utf-8"))
    expect(stop).to_contain_text(f"HALT: {german['led_straight_on_supply']}")
    expect(stop.locator("[lang=en]")).to_contain_text("it stands")
    desk.accessible(page)
    page.fill("lampwright-survives #f-volts", "neun")
    box = page.locator("lampwright-survives [role=alert]")
    expect(box).to_contain_text("auf Englisch")
    expect(box.locator("a")).to_contain_text("Spannung der Versorgung: ")
    expect(box.locator("[lang=en]")).to_contain_text("this is not a number")
    desk.accessible(page)
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


def test_every_finding_has_its_german_words() -> None:
    german = json.loads((STATIC / "texts" / "de.json").read_text("utf-8"))
    assert set(finding_rows()) <= set(german)
    script = (STATIC / "embed.js").read_text("utf-8")
    table = script[script.index("const EN = {") : script.index("};")]
    known = set(re.findall(r"(?:^|[{,])\s*(\w+): \"", table, re.MULTILINE))
    bands = set(BANDS) | {"gold", "silver"}
    assert set(german) == known | bands | set(finding_rows())
    for code in finding_rows():
        assert not re.search(r"\d", german[code]), "figures stand in the service's own words"


def test_german_texts_are_fetched_only_when_asked_for(desk: Desk, club: Host) -> None:
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>"), path="")
    answered(page, "lampwright-resistor")
    names = page.evaluate("performance.getEntriesByType('resource').map(e => e.name)")
    assert not [name for name in names if "/texts/" in name]


def test_the_german_table_has_the_same_entries() -> None:
    script = (STATIC / "embed.js").read_text("utf-8")
    table = script[script.index("const EN = {") : script.index("};")]
    english = set(re.findall(r"(?:^|[{,])\s*(\w+): \"", table, re.MULTILINE))
    german = json.loads((STATIC / "texts" / "de.json").read_text("utf-8"))
    assert english <= set(german)
    for name in english:
        places = re.search(rf'\b{name}: "([^"]*)"', table)
        assert places is not None
        assert set(re.findall(r"\{\w+\}", places[1])) == set(re.findall(r"\{\w+\}", german[name])), name


def test_hostile_style_and_right_to_left_host(desk: Desk, club: Host) -> None:
    head = (
        "<style>* { color: #fff !important; font-size: 3px !important; letter-spacing: 1em; }"
        " input, button, p { display: none !important; } html { direction: rtl; background: #fff }</style>"
    )
    page = desk.open(base=club(ALL_THREE, head=head), path="")
    answered(page, "lampwright-resistor")
    look = page.evaluate(
        "(() => { const p = document.querySelector('lampwright-resistor').shadowRoot.querySelector('.big');"
        " const s = getComputedStyle(p); return [s.color, s.fontSize, s.direction]; })()"
    )
    assert look == ["rgb(31, 39, 48)", "24px", "ltr"]


def test_colours_follow_the_host_page(desk: Desk, club: Host) -> None:
    head = "<style>lampwright-resistor { --lampwright-ink: #102030; --lampwright-paper: #fff; }</style>"
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>", head=head), path="")
    answered(page, "lampwright-resistor")
    colour = page.evaluate(
        "getComputedStyle(document.querySelector('lampwright-resistor').shadowRoot.querySelector('.big')).color"
    )
    assert colour == "rgb(16, 32, 48)"


def test_a_wrong_entry_is_said_and_takes_the_focus(desk: Desk, club: Host) -> None:
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>"), path="")
    answered(page, "lampwright-resistor")
    page.fill("lampwright-resistor #f-volts", "nine")
    page.press("lampwright-resistor #f-volts", "Enter")
    expect(page.locator("lampwright-resistor [role=alert]")).to_be_focused()
    assert page.get_attribute("lampwright-resistor #f-volts", "aria-invalid") == "true"
    desk.accessible(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("lampwright-resistor #f-volts")).to_be_focused()
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


def test_too_many_volts_stop_in_words(desk: Desk, club: Host) -> None:
    page = desk.open(base=club("<lampwright-survives ohms='0' volts='9'></lampwright-survives>"), path="")
    assert "does not survive" in answered(page, "lampwright-survives")
    assert "STOP" in page.inner_text("lampwright-survives .out")


def test_service_down_keeps_what_was_typed_and_shows_an_example(desk: Desk, club: Host) -> None:
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>"), path="")
    answered(page, "lampwright-resistor")
    page.route("**/v1/**", lambda route: route.abort())
    page.fill("lampwright-resistor #f-volts", "13")
    expect(page.locator("lampwright-resistor .out")).to_contain_text("does not answer")
    expect(page.locator("lampwright-resistor .out")).to_contain_text("worked example")
    assert page.input_value("lampwright-resistor #f-volts") == "13"
    desk.accessible(page)
    page.unroute("**/v1/**")
    page.click("lampwright-resistor .out button")
    answered(page, "lampwright-resistor")
    desk.heard[:] = [line for line in desk.heard if "ERR_FAILED" not in line]


@pytest.mark.parametrize("typed", ["20mA, 9V", "1,500", "9 V AC", "9-12", "", "nine", "99999999999999999999"])
def test_bad_input_is_refused_in_words_and_kept(desk: Desk, club: Host, typed: str) -> None:
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>"), path="")
    answered(page, "lampwright-resistor")
    page.fill("lampwright-resistor #f-volts", typed)
    beside = page.locator("lampwright-resistor #f-volts-e")
    expect(beside).not_to_be_empty()
    # Words for who fills in a field, not for who writes a request.
    assert beside.inner_text()[0] in "TN" or beside.inner_text()[0].isdigit()
    assert not re.search(r"\bsend\b|_|leave it out", beside.inner_text())
    assert page.input_value("lampwright-resistor #f-volts") == typed
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


def test_a_late_answer_is_dropped_and_a_broken_one_said(desk: Desk, club: Host) -> None:
    page = desk.open(base=club("<lampwright-resistor></lampwright-resistor>"), path="")
    answered(page, "lampwright-resistor")
    held: list[Route] = []

    def hold_the_first(route: Route) -> None:
        volts = json.loads(route.request.post_data or "{}")["supply_voltage_v"]
        if volts == 30:
            held.append(route)
        elif volts == 15:
            route.fulfill(status=200, content_type="application/json", body='{"resistance_ohm": 1')
        else:
            route.continue_()

    page.route("**/v1/**", hold_the_first)
    page.fill("lampwright-resistor #f-volts", "30")
    while not held:
        page.wait_for_timeout(20)
    page.fill("lampwright-resistor #f-volts", "12")
    out = page.locator("lampwright-resistor .out")
    expect(out).to_contain_text("1.1 kΩ")
    held[0].fulfill(status=200, content_type="application/json", body='{"display": {"resistance": "7 Ω"}}')
    page.wait_for_timeout(100)
    expect(out).to_contain_text("1.1 kΩ")
    page.fill("lampwright-resistor #f-volts", "15")
    expect(out).to_contain_text("does not answer")
    assert page.input_value("lampwright-resistor #f-volts") == "15"


def test_wire_sizes_in_either_system(desk: Desk, club: Host) -> None:
    body = "<lampwright-build></lampwright-build><lampwright-build wires='mm2' lang='de'></lampwright-build>"
    page = desk.open(base=club(body), path="")
    expect(page.locator("lampwright-build").nth(0)).to_contain_text("AWG")
    expect(page.locator("lampwright-build").nth(1)).to_contain_text(re.compile(r"Kabel 0,\d+\smm²"))


def test_the_built_in_example_is_what_the_service_answers(service: str) -> None:
    answer = asked(
        service, "series-resistors", {"supply_voltage_v": 9, "led": "red_5mm", "forward_current_ma": 10}
    )
    for words in (
        (STATIC / "embed.js").read_text("utf-8"),
        json.loads((STATIC / "texts" / "de.json").read_text("utf-8"))["example"],
    ):
        assert f"{answer['resistance_ohm']:g} Ω" in words


@pytest.mark.parametrize("width", [320, 1200])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_narrow_wide_light_dark(desk: Desk, club: Host, width: int, scheme: Any) -> None:
    head = "<style>:root { color-scheme: light dark }</style>"
    page = desk.open(
        base=club(ALL_THREE, head=head),
        path="",
        viewport={"width": width, "height": 700},
        color_scheme=scheme,
    )
    answered(page, "lampwright-build")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    desk.accessible(page)


def test_the_fixed_version_is_checked_by_its_hash(desk: Desk, club: Host, service: str) -> None:
    page = desk.open("/club")
    page.select_option("#f-version", "fixed")
    expect(page.locator("#snippet")).to_have_value(re.compile("integrity="))
    snippet = page.input_value("#snippet")
    script, _, element = snippet.partition("\n")
    content = urllib.request.urlopen(f"{service}/embed/{__version__}.js", timeout=10).read()
    digest = base64.b64encode(hashlib.sha384(content).digest()).decode()
    assert f'integrity="sha384-{digest}"' in script
    answered(desk.open(base=club(element, script=script), path=""), "lampwright-resistor")


def test_a_tampered_file_is_refused(desk: Desk, club: Host, service: str) -> None:
    digest = base64.b64encode(hashlib.sha384(b"something else").digest()).decode()
    script = (
        f'<script type="module" src="{service}/embed/{__version__}.js"'
        f' integrity="sha384-{digest}" crossorigin></script>'
    )
    page = desk.open(
        base=club("<lampwright-resistor>Ask Mira.</lampwright-resistor>", script=script), path=""
    )
    page.wait_for_timeout(200)
    assert page.evaluate("customElements.get('lampwright-resistor') === undefined")
    assert page.inner_text("lampwright-resistor") == "Ask Mira."
    assert any("integrity" in line for line in desk.heard)
    desk.heard.clear()


def test_the_page_that_builds_the_lines(desk: Desk) -> None:
    page = desk.open("/club")
    answered(page, "#try lampwright-resistor")
    page.select_option("#f-tag", "lampwright-build")
    page.select_option("#f-lang", "de")
    expect(page.locator("#snippet")).to_have_value(re.compile('<lampwright-build volts="9" lang="de">'))
    answered(page, "#try lampwright-build")
    desk.accessible(page)


def test_the_component_is_small() -> None:
    assert len(gzip.compress((STATIC / "embed.js").read_bytes(), 9)) <= 8 * 1024


def test_the_file_of_this_version_is_the_newest() -> None:
    """Once a version is out its file is never touched: a change means a new version number."""
    assert (STATIC / "embed" / f"{__version__}.js").read_bytes() == (STATIC / "embed.js").read_bytes()
