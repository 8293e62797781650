"""The calculator page in a real browser: fill, read, change, print, keep; by keyboard and at all widths."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from lampwright.contract.calculations import read
from lampwright.sheets.carrying import pack, read_link
from tests.browser.conftest import Desk
from tests.browsing import needs

EXAMPLES = Path(__file__).parents[2] / "examples"
COUNT = "#f-lights-0-count"


def sheet_text(page: Page) -> str:
    return page.inner_text("#sheet")


def link_to(build: dict[str, Any]) -> str:
    return f"#b={pack(build)}"


def settle(page: Page, act: Callable[[], object]) -> None:
    """Do something and wait until the sheet stands for it."""
    with page.expect_response(
        lambda answer: "build-sheets" in answer.url and "html" in answer.request.headers["accept"]
    ):
        act()
    page.wait_for_selector("#status:has-text('up to date')")


def test_a_complete_sheet_stands_in_the_page_without_a_script(desk: Desk) -> None:
    page = desk.open(java_script_enabled=False)
    build = json.loads((EXAMPLES / "observatory_diorama.json").read_text("utf-8"))
    text = sheet_text(page)
    for light in build["lights"]:
        assert light["name"] in text
    assert "Ω" in text
    assert "mA" in text
    assert page.input_value("#f-title") == build["title"]
    assert page.input_value("#f-supply-supply_voltage_v") == "12"


def test_the_form_works_without_a_script_too(desk: Desk) -> None:
    page = desk.open("/?example=miners_lamp", java_script_enabled=False)
    page.fill("#f-title", "Lantern of the lock keeper")
    page.click("button.main")
    assert "Lantern of the lock keeper" in sheet_text(page)
    for needs_a_script in ("#add-light", "#undo", "#again", "[for=open-file]", ".told", ".remove"):
        assert not page.is_visible(needs_a_script)
    page.fill(COUNT, "three")
    page.click("button.main")
    assert page.get_attribute(COUNT, "aria-invalid") == "true"
    assert not page.is_visible("#sheet")
    assert page.input_value(COUNT) == "three"
    assert page.is_visible("#summary")


@pytest.mark.parametrize("name", ["observatory_diorama", "moth_wings", "miners_lamp"])
def test_each_example_gives_its_sheet(desk: Desk, name: str) -> None:
    page = desk.open()
    build = json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))
    page.click(f"[data-example={name}]")
    expect(page.locator("#sheet")).to_contain_text(build["title"])
    assert len(page.query_selector_all(".light")) == len(build["lights"])
    page.wait_for_selector("#compare .way")
    assert page.is_visible("#fade") == ("battery" in build["supply"])


def test_the_form_asks_what_the_example_file_asks(desk: Desk) -> None:
    for name in ("observatory_diorama", "moth_wings", "miners_lamp"):
        page = desk.open(f"/?example={name}")
        asked = page.evaluate("import('./assets/build.js').then(build => build.request())")
        assert asked == json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))


def test_a_change_shows_in_the_sheet_and_undo_takes_it_back(desk: Desk) -> None:
    page = desk.open()
    before = sheet_text(page)
    assert page.is_disabled("#undo")
    settle(page, lambda: page.fill(COUNT, "24"))
    assert sheet_text(page) != before
    settle(page, lambda: page.click("#undo"))
    assert page.input_value(COUNT) == "12"
    assert sheet_text(page) == before
    settle(page, lambda: page.click("#again"))
    assert len(page.query_selector_all(".light")) == 1
    settle(page, lambda: page.click("#undo"))
    assert sheet_text(page) == before


def test_units_as_people_type_them(desk: Desk) -> None:
    page = desk.open()
    before = sheet_text(page)
    for typed in ("0.008 A", "8mA", "8,0"):
        settle(page, partial(page.fill, "#f-lights-0-forward_current_ma", typed))
        assert sheet_text(page) == before, typed


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        (COUNT, "a dozen"),
        (COUNT, "99999999999999"),
        ("#f-lights-0-forward_current_ma", "20mA, 9V"),
        ("#f-lights-0-forward_current_ma", "2O"),
        ("#f-supply-supply_voltage_v", "230"),
        ("#f-supply-supply_voltage_v", "12 V AC"),
        ("#f-supply-supply_voltage_v", "9-12"),
        ("#f-supply-current_limit_ma", "1"),
    ],
)
def test_what_cannot_be_taken_is_said_beside_the_field_and_in_the_summary(
    desk: Desk, field: str, typed: str
) -> None:
    page = desk.open()
    page.fill(field, typed)
    page.wait_for_selector(f"{field}[aria-invalid=true]")
    # While typing the summary shows up, but the focus stays where the typing is.
    assert page.evaluate("document.activeElement.id") == field[1:]
    page.press(field, "Enter")
    expect(page.locator("#summary")).to_be_focused()
    words = page.inner_text(f"{field}-error")
    assert len(words) > 10
    assert not words[0].islower()
    assert not re.search(r"\bsend\b|_", words)
    assert page.title().startswith("Mend the marked fields")
    desk.accessible(page)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(field)).to_be_focused()
    assert page.input_value(field) == typed
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


@pytest.mark.parametrize("width", [320, 360, 1200])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_width_in_light_and_dark(desk: Desk, width: int, scheme: Any) -> None:
    page = desk.open(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.wait_for_selector("#compare .way")
    page.click("text=What is in the drawer")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    desk.accessible(page)
    small = page.evaluate(
        "[...document.querySelectorAll('main button, main select, main input, .chip')]"
        ".filter(e => !['file', 'checkbox'].includes(e.type))"
        ".filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML)"
    )
    assert small == []


def test_text_twice_as_large_fits_a_phone(desk: Desk) -> None:
    page = desk.open("/?example=moth_wings", viewport={"width": 360, "height": 740})
    page.wait_for_selector("#compare .way")
    # The size a reader set for the browser counts: the page's own is a part of it.
    sizes = page.evaluate(
        "[...document.styleSheets].flatMap(sheet => [...sheet.cssRules])"
        ".filter(rule => rule.selectorText === 'html').map(rule => rule.style.fontSize).filter(Boolean)"
    )
    assert sizes == ["112.5%"]
    page.evaluate("document.documentElement.style.fontSize = '36px'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    assert (
        page.evaluate("parseFloat(getComputedStyle(document.querySelector('#sheet .steps')).fontSize)") > 28
    )


def test_forced_colours_and_reduced_motion(desk: Desk) -> None:
    page = desk.open("/?example=moth_wings", forced_colors="active", reduced_motion="reduce")
    page.wait_for_selector("#fade:not([hidden])")
    desk.accessible(page)


def test_no_cookie_and_nothing_stored(desk: Desk) -> None:
    page = desk.open()
    assert page.context.cookies() == []
    assert page.evaluate("[localStorage.length, sessionStorage.length]") == [0, 0]


def test_a_link_keeps_the_build_and_its_code_scans(desk: Desk, tmp_path: Path) -> None:
    needs("zbarimg")
    page = desk.open("/?example=moth_wings")
    settle(page, lambda: page.fill("#f-lights-1-count", "6"))
    page.click("#link")
    page.wait_for_selector("#code svg")
    link = page.input_value("#kept-link")
    page.locator("#code svg").screenshot(path=tmp_path / "code.png")
    read = subprocess.run(
        ["zbarimg", "--quiet", "--raw", str(tmp_path / "code.png")],
        capture_output=True,
        text=True,
        check=True,
    )
    assert read.stdout.strip() == link
    desk.accessible(page)
    other = desk.open(link.removeprefix(desk.service))
    assert other.input_value("#f-lights-1-count") == "6"
    assert other.input_value("#f-title") == "Moth wings"
    assert sheet_text(other) == sheet_text(page)


def test_a_ready_made_supply(desk: Desk) -> None:
    page = desk.open()
    settle(page, lambda: page.select_option("#f-power", "part:usb_charger_5v"))
    expect(page.locator("#sheet")).to_contain_text("USB charger")
    assert not page.is_visible("#f-supply-supply_voltage_v")
    page.wait_for_selector("#compare .way")
    page.click("#link")
    expect(page.locator("#kept-link")).to_have_value(re.compile("#b="))
    other = desk.open(page.input_value("#kept-link").removeprefix(desk.service))
    assert other.input_value("#f-power") == "part:usb_charger_5v"
    plain = desk.open(
        "/?title=Lamp&power=part:usb_charger_5v&lights.0.led=red_5mm&lights.0.count=2", ready=False
    )
    assert plain.input_value("#f-power") == "part:usb_charger_5v"
    expect(plain.locator("#sheet")).to_contain_text("USB charger")


@pytest.mark.parametrize(
    ("fragment", "said"),
    [
        ("#b=abcdef", "a part of it was cut off"),
        ("#b=", "a part of it was cut off"),
        (
            "#b=q1YqyUxPVbJSUErNS1fSUcpJTC9WsopWyi9ILFKyMtSBsotLEtOBnOzUSqCskaGRjlIBUJGSVV5pTo5SbS0A",
            "cut off",
        ),
        ("#c=abcdef", "another version"),
    ],
)
def test_a_broken_link_is_said_in_words(desk: Desk, fragment: str, said: str) -> None:
    page = desk.open(f"/{fragment}", viewport={"width": 360, "height": 740})
    expect(page.locator("#unread")).to_contain_text(said)
    expect(page.locator("#unread")).to_be_in_viewport(ratio=1)
    assert page.input_value("#f-title") == "Observatory diorama"
    assert "Observatory diorama" in sheet_text(page)
    desk.accessible(page)
    page.fill(COUNT, "11")
    expect(page.locator("#unread")).to_be_hidden()


def test_a_link_says_the_same_to_the_command_line(desk: Desk) -> None:
    """What people type is read before it goes into the link, so that others need not read it again."""
    page = desk.open("/?example=moth_wings")
    page.click("text=What is in the drawer")
    settle(page, lambda: page.fill("#f-resistors-on_hand_ohm", "red red brown; 4.7 kΩ"))
    settle(page, lambda: page.fill("#f-lights-0-forward_current_ma", "8,5"))
    page.click("#link")
    expect(page.locator("#kept-link")).to_be_focused()
    build = read_link(page.input_value("#kept-link"))
    assert build is not None
    assert build["resistors"] == {"on_hand_ohm": [220, "4.7kΩ"]}
    ask = read("build-sheets", build)
    assert ask.lights[0].forward_current == pytest.approx(8.5e-3)
    assert page.url == page.input_value("#kept-link")


def test_a_reload_loses_nothing(desk: Desk) -> None:
    page = desk.open()
    settle(page, lambda: page.fill("#f-title", "Gate of the salt road"))
    page.wait_for_url("**#b=*")
    page.reload()
    expect(page.locator("#sheet")).to_contain_text("Gate of the salt road")
    assert page.input_value("#f-title") == "Gate of the salt road"
    page.click("#to-compare")  # a jump inside the page leaves the address to the build
    expect(page.locator("#compare")).to_be_focused()
    assert "#b=" in page.url


def test_a_light_is_found_by_its_words(desk: Desk) -> None:
    page = desk.open()
    page.click(".light:nth-child(2) .find")
    expect(page.locator("#finder-words")).to_be_focused()
    desk.accessible(page)
    page.keyboard.type("12v pre wired WARM")
    expect(page.locator("#finder-list button")).to_have_count(1)
    desk.accessible(page)
    settle(page, lambda: page.keyboard.press("Enter"))
    assert page.input_value("#f-lights-1-led") == "prewired_warm_white_12v"
    expect(page.locator("#f-lights-1-led")).to_be_focused()
    assert page.input_value("#f-lights-0-led") == "warm_white_5mm"
    page.click(".light:nth-child(1) .find")
    page.keyboard.type("plaid")
    expect(page.locator("#finder-says")).to_contain_text("No kind")
    page.click("#finder-list button")
    assert page.input_value("#f-lights-0-led") == "own"
    assert page.is_visible("#f-lights-0-led-forward_voltage_v")
    page.click(".light:nth-child(1) .find")
    page.keyboard.press("Escape")
    expect(page.locator("#f-lights-0-led")).to_be_focused()
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


@pytest.mark.parametrize(
    ("field", "typed", "chosen"),
    [
        ("#f-lights-0-led", "uv", "uv_400_5mm"),
        ("#f-lights-0-led", "3 mm bl", "blue_3mm"),
        ("#f-lights-0-led", "smd warm", "warm_white_smd"),
        ("#f-lights-0-led", "purple", "violet_5mm"),
        ("#f-lights-0-led", "cold", "white_5mm"),
        ("#f-power", "power bank", "power_bank_5v"),
        ("#f-power", "coin 2032", "lithium_coin_cr2032"),
        ("#f-power", "AA rech", "nimh_aa"),
        ("#f-power", "lead 12", "lead_acid_12v"),
        ("#f-power", "car", "part:vehicle_12v"),
    ],
)
def test_typing_on_a_closed_list_finds_any_of_its_words(
    desk: Desk, field: str, typed: str, chosen: str
) -> None:
    page = desk.open()
    page.focus(field)
    settle(page, lambda: page.keyboard.type(typed))
    expect(page.locator(field)).to_have_value(chosen)


@pytest.mark.parametrize(
    ("typed", "kind", "understood"),
    [
        ("100,220,330", "list", [100, 220, 330]),
        ("100 220 4k7", "list", [100, 220, "4k7"]),
        ("100 ohm, 4.7 kΩ; 1 k", "list", ["100ohm", "4.7kΩ", "1k"]),
        ("red red brown", "list", [220]),
        ("yellow-violet-red-gold, brown black black red brown", "list", [4700, 10000]),
        ("brown green gold", "list", [1.5]),
        ("red red", "list", ["red", "red"]),
        ("brown black black red", "list", ["brown", "black", "black", "red"]),  # four or five bands
        ("1,500", "list", ["1,500 Ω"]),  # two meanings: for the service to refuse
        ("22, AWG 26; 30awg", "wires", [22, 26, 30]),
        ("0,25 mm², 0.5", "wires", [24, 21]),
        ("thick", "wires", ["thick"]),
        ("12 pcs", "count", 12),
        ("12x", "count", 12),
        ("1O", "count", "1O"),
        ("7 pm", "clock", "19:00"),
        ("12:15am", "clock", "00:15"),
        ("9.05", "clock", "09:05"),
        ("25:00", "clock", "25:00"),
        ("1:30", "hours", "90 min"),
        ("6", "hours", 6),
    ],
)
def test_what_people_type(desk: Desk, typed: str, kind: str, understood: object) -> None:
    page = desk.open(ready=False)
    fields = {
        "list": "#f-resistors-on_hand_ohm",
        "wires": "#f-wire-on_hand_awg",
        "count": COUNT,
        "clock": "#f-usage-start_clock",
        "hours": "#f-usage-hours_wanted_h",
    }
    read_as = page.evaluate(
        "([typed, field]) => import('./assets/reading.js')"
        ".then(module => module.read(typed, document.querySelector(field)))",
        [typed, fields[kind]],
    )
    assert read_as == understood


def test_what_was_understood_is_said(desk: Desk) -> None:
    page = desk.open()
    page.click("text=What is in the drawer")
    page.fill("#f-resistors-on_hand_ohm", "red red brown, 330")
    expect(page.locator("#f-resistors-on_hand_ohm ~ .read")).to_have_text("read as 220 Ω, 330 Ω")
    page.fill("#f-resistors-on_hand_ohm", "purple pink brown")
    expect(page.locator("#f-resistors-on_hand_ohm-error")).to_contain_text("red red brown gold")
    page.fill("#f-usage-hours_wanted_h", "6h30")
    expect(page.locator("#f-usage-hours_wanted_h ~ .read")).to_have_text("read as 6 h 30 min")
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


def test_another_voltage_takes_the_old_limits_with_it(desk: Desk) -> None:
    page = desk.open()
    lowest, highest = (f"#f-supply-supply_voltage_{end}_v" for end in ("min", "max"))
    settle(page, lambda: page.fill("#f-supply-supply_voltage_v", "9"))
    assert page.input_value(lowest) == "11.4"  # still typing
    page.press("#f-supply-supply_voltage_v", "Tab")
    expect(page.locator("#lost")).to_contain_text("empty now")
    assert (page.input_value(lowest), page.input_value(highest)) == ("", "")
    page.click("#more-adapter summary")
    page.fill(lowest, "10")
    expect(page.locator(f"{lowest}-error")).to_contain_text("Voltage")
    page.click(f"{lowest}-error button")
    expect(page.locator("#summary")).to_be_hidden()
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]


def test_a_count_of_cells_is_not_one_of_blocks(desk: Desk) -> None:
    page = desk.open("/?example=moth_wings")
    settle(page, lambda: page.select_option("#f-power", "alkaline_9v"))
    assert page.input_value("#f-supply-cells_in_series") == ""
    expect(page.locator("#lost")).to_contain_text("counts as 1")
    settle(page, lambda: page.select_option("#f-power", "nimh_aa"))
    assert page.input_value("#f-supply-cells_in_series") == "4"
    expect(page.locator("#lost")).to_be_hidden()


def test_the_first_sheet_is_not_asked_for_twice(desk: Desk) -> None:
    page = desk.open()
    page.wait_for_selector("#compare .way")
    asked = page.evaluate(
        "performance.getEntriesByType('resource').map(e => e.name).filter(name => name.includes('/v1/'))"
    )
    assert len(asked) == 2  # figures and other ways to wire; the sheet stands in the page


def test_every_member_of_a_build_has_its_field(desk: Desk, service: str) -> None:
    """A build that uses all there is comes back from the page as it went in; no member is left out."""
    light = {
        "name": "A",
        "led": {"forward_voltage_v": 3.1, "rated_current_ma": 20, "colour": "white"},
        "count": 2,
        "forward_current_ma": 8,
        "run_length_m": 1,
        "dim_to_pct": 50,
    }
    bag = {
        "name": "B",
        "led": {"rated_voltage_v": 12, "rated_current_ma": 15, "colour": "red"},
        "count": 1,
    }
    rest = {
        "resistors": {
            "e_series": "E192",
            "tolerance_pct": 1,
            "rated_dissipation_w": 0.5,
            "on_hand_ohm": [470, 680],
        },
        "wire": {
            "on_hand_awg": [22],
            "max_drop_pct": 5,
            "flexing": True,
            "enclosed": True,
            "bundled_count": 3,
            "insulation": "silicone_180",
        },
        "usage": {
            "hours_wanted_h": 3,
            "duty_pct": 50,
            "hours_per_day_h": 2,
            "air_travel": True,
            "flash_rate_hz": 1,
            "worn": True,
            "start_clock": "10:30",
        },
        "mix_colours": True,
        "ambient_temperature_degc": 10,
    }
    adapter = {
        "supply_voltage_v": 12,
        "supply_voltage_min_v": 11,
        "supply_voltage_max_v": 13,
        "source_resistance_ohm": 0.5,
        "current_limit_ma": 1500,
    }
    battery = {
        "battery": "lead_acid_12v",
        "cells_in_series": 1,
        "packs_in_parallel": 2,
        "capacity_mah": 7000,
        "supply_voltage_max_v": 14.4,
    }
    for supply in (adapter, battery):
        build = {"title": "All of it", "supply": supply, "lights": [light, bag], **rest}
        read("build-sheets", build)  # the service takes it
        page = desk.open(f"/{link_to(build)}")
        assert page.evaluate("import('./assets/build.js').then(build => build.request())") == build
        assert not page.is_visible("#lost")


@pytest.mark.parametrize(
    ("kind", "ending", "within"),
    [
        ("build", "observatory-diorama.json", '"lights"'),
        ("json", "observatory-diorama-sheet.json", '"buildable"'),
        ("csv", "observatory-diorama.csv", ","),
        ("svg", "observatory-diorama.svg", "<svg"),
        ("spice", "observatory-diorama.cir", ".end"),
        ("text", "observatory-diorama.txt", "Observatory diorama"),
    ],
)
def test_saving(desk: Desk, tmp_path: Path, kind: str, ending: str, within: str) -> None:
    page = desk.open()
    page.click(".menu:has([data-save]) summary")
    with page.expect_download() as waiting:
        page.click(f"[data-save={kind}]")
    assert waiting.value.suggested_filename == ending
    target = tmp_path / ending
    waiting.value.save_as(target)
    assert within in target.read_text("utf-8")
    if kind == "build":
        page.click("#again")
        page.set_input_files("#open-file", target)
        expect(page.locator("#f-title")).to_have_value("Observatory diorama")


def test_printing_leaves_the_sheet_alone_on_the_paper(desk: Desk) -> None:
    page = desk.open()
    page.emulate_media(media="print")
    assert not page.is_visible("#build")
    assert not page.is_visible("#tools")
    assert not page.is_visible("header.site-top")
    assert page.is_visible("#sheet h1")
    assert page.pdf().startswith(b"%PDF")
    # The picture is as wide as on the sheet by itself: 152 mm.
    wide = page.eval_on_selector("#sheet .wiring svg", "svg => svg.getBoundingClientRect().width")
    assert wide == pytest.approx(152 / 25.4 * 96, abs=1)


def test_the_service_goes_away_and_comes_back(desk: Desk) -> None:
    page = desk.open()
    before = sheet_text(page)
    page.route("**/v1/**", lambda route: route.abort())
    page.fill(COUNT, "15")
    page.wait_for_selector("#stale:not([hidden])")
    assert "does not answer" in page.inner_text("#stale")
    assert page.input_value(COUNT) == "15"
    assert sheet_text(page) == before
    desk.accessible(page)
    page.unroute("**/v1/**")
    page.click("#stale button")
    page.wait_for_selector("#stale", state="hidden")
    assert sheet_text(page) != before
    desk.heard[:] = [line for line in desk.heard if "ERR_FAILED" not in line]


def test_a_late_answer_to_an_older_question_is_dropped(desk: Desk) -> None:
    held: list[Route] = []

    def hold_the_first(route: Route) -> None:
        lights = json.loads(route.request.post_data or "{}")["lights"]
        if lights[0]["count"] == 3:
            held.append(route)
        else:
            route.continue_()

    page = desk.open()
    page.route("**/v1/build-sheets*", hold_the_first)
    page.fill(COUNT, "3")
    while len(held) < 2:
        page.wait_for_timeout(20)
    settle(page, lambda: page.fill(COUNT, "6"))
    after = sheet_text(page)
    for route in held:
        route.fulfill(status=200, body="<main>an old answer</main>", content_type="text/html")
    page.wait_for_timeout(100)
    assert sheet_text(page) == after


def test_an_answer_cut_off_in_the_middle(desk: Desk) -> None:
    page = desk.open()
    before = sheet_text(page)
    page.route(
        "**/v1/build-sheets?detail=short",
        lambda route: route.fulfill(status=200, content_type="application/json", body='{"buildable": tr'),
    )
    page.fill(COUNT, "9")
    page.wait_for_selector("#stale:not([hidden])")
    assert sheet_text(page) == before
    assert page.input_value(COUNT) == "9"


def test_the_battery_slider_dims_the_lights_and_says_it_in_words(desk: Desk) -> None:
    page = desk.open("/?example=moth_wings")
    page.wait_for_selector("#fade:not([hidden])")
    fresh = page.inner_text("#age-says")
    lit = "getComputedStyle(document.querySelector('.lamp')).getPropertyValue('--lit')"
    bright = float(page.evaluate(lit))
    page.focus("#age")
    page.keyboard.press("End")
    assert page.inner_text("#age-says") != fresh
    assert re.search(r"give \d+ % of their fresh light and look about \d+ % as bright", fresh)
    assert page.get_attribute("#age", "aria-valuetext") == page.inner_text("#age-says")
    assert float(page.evaluate(lit)) < bright


def test_a_build_of_ones_own_by_keyboard_alone(desk: Desk) -> None:
    """Three colours on a battery in at most twelve fields and choices, without the mouse."""
    page = desk.open()
    page.focus("#again")
    page.keyboard.press("Enter")
    touched = 0

    def on_to(selector: str) -> None:
        for _ in range(60):
            if page.evaluate("s => document.activeElement.matches(s)", selector):
                return
            page.keyboard.press("Tab")
        raise AssertionError(f"{selector} is not reached by Tab")

    def fill(selector: str, text: str) -> None:
        nonlocal touched
        on_to(selector)
        page.keyboard.press("Control+A")
        page.keyboard.type(text)
        touched += 1

    expect(page.locator("#f-title")).to_be_focused()
    page.keyboard.type("Shrine of the river fox")
    touched += 1
    for index, (colour, count) in enumerate((("Amber", "4"), ("Blue", "2"), ("Warm", "3"))):
        if index:
            on_to("#add-light")
            page.keyboard.press("Enter")
        fill(f"#f-lights-{index}-led", colour)
        fill(f"#f-lights-{index}-count", count)
    fill("#f-power", "AA alk")
    fill("#f-supply-cells_in_series", "4")
    fill("#f-usage-hours_wanted_h", "5")
    on_to("button.main")
    page.keyboard.press("Enter")
    expect(page.locator("#sheet")).to_contain_text("Shrine of the river fox")
    expect(page.locator("#status")).to_contain_text("up to date")
    text = sheet_text(page)
    assert "Ω" in text
    assert touched <= 12
    asked = page.evaluate("import('./assets/build.js').then(build => build.request())")
    assert [light["led"] for light in asked["lights"]] == ["amber_5mm", "blue_5mm", "warm_white_5mm"]
    assert asked["supply"] == {"battery": "alkaline_aa", "cells_in_series": 4}


@pytest.mark.parametrize("width", [360, 1200])
def test_every_part_of_the_sheet_is_one_jump_away(desk: Desk, width: int) -> None:
    page = desk.open("/?example=moth_wings", viewport={"width": width, "height": 740})
    # A picture is a stop of the keyboard where it has to be moved sideways.
    assert page.get_attribute("#sheet .wiring figure", "tabindex") == ("0" if width == 360 else "-1")
    page.focus(".menu:has(#jump) summary")
    page.keyboard.press("Enter")
    headings = [each.split(":")[0] for each in page.locator("#sheet h2").all_inner_texts()]
    assert page.locator("#jump a").all_inner_texts() == headings
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    desk.accessible(page)
    page.locator("#jump a", has_text="Expected readings").press("Enter")
    heading = page.locator("#sheet h2", has_text="Expected readings")
    expect(heading).to_be_focused()
    expect(heading).to_be_in_viewport()
    expect(page.locator("#jump")).to_be_hidden()
    assert "#sheet" not in page.url


def test_a_remedy_is_one_press(desk: Desk) -> None:
    page = desk.open()
    settle(page, lambda: page.fill("#f-lights-1-forward_current_ma", "28"))
    page.wait_for_selector("#remedies button")
    desk.accessible(page)
    settle(page, lambda: page.click("#remedies button"))
    assert page.input_value("#f-lights-1-forward_current_ma") == "20"
    assert page.input_value("#f-lights-0-forward_current_ma") == "8"


def test_a_build_that_must_not_be_built_says_so_first(desk: Desk) -> None:
    page = desk.open(viewport={"width": 360, "height": 800})
    page.select_option("#f-power", "lithium_coin_cr2032")
    page.wait_for_selector("#sheet .box.stop")
    assert "Safe to build: no" in sheet_text(page)
    desk.accessible(page)


def test_nothing_jumps_while_the_page_loads(desk: Desk) -> None:
    for width in (360, 1200):
        page = desk.open(viewport={"width": width, "height": 800})
        page.wait_for_selector("#compare .way")
        moved = page.evaluate(
            "new Promise(done => { let sum = 0; new PerformanceObserver(list => {"
            " for (const e of list.getEntries()) if (!e.hadRecentInput) sum += e.value; done(sum); })"
            ".observe({type: 'layout-shift', buffered: true}); setTimeout(() => done(sum), 200); })"
        )
        assert moved < 0.1


def test_first_load_is_light(desk: Desk) -> None:
    page = desk.open()
    size = page.evaluate(
        "performance.getEntriesByType('resource').concat(performance.getEntriesByType('navigation'))"
        ".reduce((sum, e) => sum + e.transferSize, 0)"
    )
    assert size <= 150_000
