"""A build in a link: there and back, short, and harmless when somebody edits it."""

import base64
import contextlib
import json
import re
import zlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lampwright.contract.calculations import read
from lampwright.errors import QuantityError
from lampwright.paper.code import build_text, carry_html, why_no_code
from lampwright.sheets.build import build_sheet
from lampwright.sheets.carrying import (
    LINK_LIMIT,
    SHORT,
    carried,
    file_name,
    link_of,
    pack,
    read_link,
    unpack,
)
from tests.builds import EXAMPLES, NAMES, example_ask, example_sheet, rows_ask

ADDRESS = "https://lamps.example"
FULL = {
    "title": "Everything <b>sent</b>",
    "supply": {"battery": "nimh_aa", "cells_in_series": 4, "packs_in_parallel": 2, "capacity_mah": 1900},
    "lights": [
        {
            "name": "A",
            "led": "red_5mm",
            "count": 3,
            "forward_current_ma": 7.5,
            "run_length_m": 0.25,
            "dim_to_pct": 60,
        },
        {
            "name": "B",
            "led": {"forward_voltage_v": 3.1, "rated_current_ma": 20, "colour": "white"},
            "count": 1,
        },
    ],
    "resistors": {"e_series": "E96", "tolerance_pct": 1, "on_hand_ohm": [100, 220, 470]},
    "wire": {"flexing": True, "max_drop_pct": 5, "on_hand_awg": [24, 28], "bundled_count": 4},
    "fuse": {"rated_current_ma": 0, "style": "blade"},
    "usage": {"hours_wanted_h": 6, "duty_pct": 50, "worn": True, "start_clock": "14:30"},
    "mix_colours": True,
    "ambient_temperature_degc": 5,
}


@pytest.mark.parametrize("name", NAMES)
def test_an_example_comes_back_the_same(name):
    ask = example_ask(name)
    link = link_of(ADDRESS, ask)
    again = read("build-sheets", read_link(link))
    assert again == ask
    assert build_sheet(again).plan == example_sheet(name).plan
    sent = json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))
    for member, value in carried(ask).items():
        assert sent[member] == value


def test_everything_that_can_be_sent_comes_back():
    ask = read("build-sheets", FULL)
    again = carried(ask)
    own = again["lights"][1].pop("led")
    assert again == {**FULL, "lights": [FULL["lights"][0], {"name": "B", "count": 1}]}
    assert own["forward_voltage_v"] == 3.1
    assert read("build-sheets", unpack(pack(carried(ask)))) == ask


def test_the_page_uses_the_same_short_names():
    script = (Path(__file__).parents[3] / "service/lampwright/web/static/keep.js").read_text("utf-8")
    block = re.search(r"const SHORT = \{(.*?)\};", script, re.DOTALL)[1]
    assert dict(re.findall(r'(\w+): "(\w+)"', block)) == SHORT
    assert len(set(SHORT.values())) == len(SHORT)


def test_an_ordinary_build_fits_a_code():
    lengths = {name: len(link_of(ADDRESS, example_ask(name))) for name in NAMES}
    assert min(lengths.values()) <= LINK_LIMIT
    for name in NAMES:
        section = carry_html(example_sheet(name), ADDRESS)
        assert ("<svg" in section) == (lengths[name] <= LINK_LIMIT)
        assert build_text(example_sheet(name)).replace('"', "&quot;").replace("'", "&#x27;") in section


def test_a_long_build_says_so_in_words():
    sheet = build_sheet(rows_ask(20))
    assert "too long" in why_no_code(sheet, ADDRESS)
    assert "no address" in why_no_code(sheet, None)
    assert "many_rows.json" in carry_html(sheet, ADDRESS)


@given(st.text(max_size=60))
def test_a_link_edited_by_hand_is_told_so(text):
    with contextlib.suppress(QuantityError):
        assert isinstance(unpack(text)["lights"], list)


def test_every_cut_short_link_is_told_so():
    packed = pack(carried(example_ask("moth_wings")))
    for end in range(len(packed)):
        with pytest.raises(QuantityError):
            unpack(packed[:end])


def test_a_bomb_does_not_unfold():
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    raw = deflate.compress(b'{"lights":[' + b"0," * 5_000_000 + b"0]}") + deflate.flush()
    with pytest.raises(QuantityError):
        unpack(base64.urlsafe_b64encode(raw).decode().rstrip("="))


def test_file_names_are_plain():
    assert file_name("../../Etc/Passwd \u202e") == "etc_passwd.json"
    assert len(file_name("x" * 500)) < 50
