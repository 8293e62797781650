"""Steps of the maker's work done on the page by keyboard alone, with their keystrokes counted.

Every step starts from a fresh page with the first example in it; Tab, Enter, arrows and typed letters
each count as one. The most allowed is generous: it keeps a step from growing out of hand unseen.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Desk

MOST = 70


class Keys:
    """A keyboard that counts."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.count += 1

    def reach(self, selector: str) -> None:
        for _ in range(80):
            if self.page.evaluate("s => document.activeElement.matches(s)", selector):
                return
            self.press("Tab")
        raise AssertionError(f"{selector} cannot be reached by Tab")

    def enter(self, selector: str, text: str) -> None:
        self.reach(selector)
        self.press("Control+A")
        self.page.keyboard.type(text)
        self.count += len(text)

    def sheet_says(self, words: str) -> None:
        expect(self.page.locator("#sheet")).to_contain_text(words)


def how_bright(keys: Keys) -> None:
    keys.enter("#f-lights-0-forward_current_ma", "2")
    expect(keys.page.locator("#sheet")).to_contain_text("2.2 kΩ")


def which_supply(keys: Keys) -> None:
    keys.reach("#f-power")
    keys.page.keyboard.type("9 V alk")
    keys.count += 7
    keys.sheet_says("9 V alkaline block")


def how_to_group(keys: Keys) -> None:
    keys.reach("#to-compare")
    keys.press("Enter")
    expect(keys.page.locator("#compare")).to_be_in_viewport()
    expect(keys.page.locator("#compare .way")).not_to_have_count(0)


def which_resistor(keys: Keys) -> None:
    keys.enter("#f-lights-1-count", "4")
    keys.sheet_says("Ω")
    keys.sheet_says("R-")


def what_is_in_the_drawer(keys: Keys) -> None:
    keys.reach("details:has(#f-resistors-on_hand_ohm) summary")
    keys.press("Enter")
    keys.enter("#f-resistors-on_hand_ohm", "1k; 2k2; 330")
    keys.sheet_says("330 Ω")


def which_wire(keys: Keys) -> None:
    keys.reach("details:has(#f-wire-on_hand_awg) summary")
    keys.press("Enter")
    keys.enter("#f-wire-on_hand_awg", "22")
    keys.sheet_says("22 AWG")


def how_long(keys: Keys) -> None:
    keys.reach("#f-power")
    keys.page.keyboard.type("6 V sea")
    keys.count += 7
    keys.enter("#f-usage-hours_wanted_h", "8")
    keys.sheet_says("6 V sealed lead battery")


def in_the_cold(keys: Keys) -> None:
    keys.reach("details:has(#f-ambient_temperature_degc) summary")
    keys.press("Enter")
    keys.enter("#f-ambient_temperature_degc", "-5")
    keys.sheet_says("−5 °C")


def what_the_meter_says(keys: Keys) -> None:
    keys.reach("button.main")
    keys.press("Enter")
    expect(keys.page.locator("#answer")).to_be_in_viewport()
    keys.sheet_says("Expected readings")


def hand_it_on(keys: Keys) -> None:
    keys.reach("#link")
    keys.press("Enter")
    expect(keys.page.locator("#kept-link")).to_be_focused()
    expect(keys.page.locator("#kept-link")).to_have_value(re.compile("#b="))


def save_the_parts_list(keys: Keys) -> None:
    keys.reach(".menu:has([data-save]) summary")
    keys.press("Enter")
    keys.reach("[data-save=csv]")
    with keys.page.expect_download() as waiting:
        keys.press("Enter")
    assert waiting.value.suggested_filename == "observatory-diorama.csv"


def mend_a_slip(keys: Keys) -> None:
    keys.enter("#f-lights-0-count", "1O")
    keys.press("Enter")
    expect(keys.page.locator("#summary")).to_be_focused()
    keys.press("Tab", "Enter")
    keys.enter("#f-lights-0-count", "10")
    expect(keys.page.locator("#summary")).to_be_hidden()
    keys.sheet_says("18 lights")


STEPS: tuple[tuple[str, Callable[[Keys], None]], ...] = (
    ("how many and how bright", how_bright),
    ("choose the supply", which_supply),
    ("group in series and parallel", how_to_group),
    ("resistor value", which_resistor),
    ("what is in the drawer", what_is_in_the_drawer),
    ("wire", which_wire),
    ("runtime", how_long),
    ("a cold day", in_the_cold),
    ("what the meter should say", what_the_meter_says),
    ("records and handing on", hand_it_on),
    ("a list to go shopping", save_the_parts_list),
    ("a slip mended", mend_a_slip),
)


@pytest.mark.parametrize(("name", "step"), STEPS, ids=[name for name, _ in STEPS])
def test_a_step_by_keyboard(
    desk: Desk, name: str, step: Callable[[Keys], None], record_property: Callable[[str, object], None]
) -> None:
    page = desk.open()
    keys = Keys(page)
    step(keys)
    record_property(name, keys.count)
    print(f"{name}: {keys.count} keystrokes")
    assert keys.count <= MOST
    desk.heard[:] = [line for line in desk.heard if "status of 4" not in line]
