"""What the page's routes send, without a browser."""

from __future__ import annotations

import gzip
import re

import pytest
from flask.testing import FlaskClient

from lampwright import __version__
from lampwright.app import create_app
from lampwright.contract.calculations import read
from lampwright.errors import ContradictionError, OutOfRangeError
from lampwright.sheets.carrying import carried, read_link
from lampwright.web import builds, choices, sheet_view


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app().test_client()


@pytest.mark.parametrize("path", ["/", "/club", "/?example=moth_wings", "/?title=x&power=adapter"])
def test_pages_are_strict_about_what_runs_in_them(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "Set-Cookie" not in answer.headers
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", answer.text)


def test_no_rule_of_the_page_reaches_into_the_sheet(client: FlaskClient) -> None:
    """Both stand in one document: a class of the one must not be styled by the other's sheet of style."""
    sheet = sheet_view.example_sheet("moth_wings")
    of_sheet = {name for names in re.findall(r'class="([^"]*)"', sheet) for name in names.split()}
    (address,) = re.findall(r'href="([^"]*page\.css[^"]*)"', client.get("/").text)
    style = re.sub(r"/\*.*?\*/", "", client.get(address).text, flags=re.DOTALL)
    selectors = [
        each for group in re.findall(r"([^{}]+)\{", style) for each in re.split(r",(?![^()]*\))", group)
    ]
    of_page = {
        name for each in selectors if ".sheet" not in each for name in re.findall(r"\.([a-z][\w-]*)", each)
    }
    assert len(of_sheet) > 10
    assert len(of_page) > 50
    assert of_sheet & of_page == set()


def test_a_page_is_packed_and_not_sent_twice(client: FlaskClient) -> None:
    plain = client.get("/")
    packed = client.get("/", headers={"Accept-Encoding": "gzip"})
    assert gzip.decompress(packed.data) == plain.data
    assert packed.headers["Vary"] == "Accept-Encoding"
    again = client.get("/", headers={"If-None-Match": plain.headers["ETag"]})
    assert again.status_code == 304


def test_what_is_typed_comes_back_as_text_only(client: FlaskClient) -> None:
    answer = client.get("/", query_string={"title": "<script>x</script>", "power": 'nimh_aa"><b>'})
    assert answer.status_code == 200
    assert "<script>x" not in answer.text
    assert '"><b>' not in answer.text


@pytest.mark.parametrize(
    "query",
    [
        "title=&power=",
        "title=x&lights.0.led.x=1&lights.0.name.y=2",
        "power=adapter&lights.0.count=" + "9" * 500,
        "power=adapter&supply.supply_voltage_v=" + "1" * 400 + "." + "1" * 400,
        "power=adapter&title=%00%ff&lights.0.count=NaN",
    ],
)
def test_odd_forms_are_answered_with_what_is_wrong(client: FlaskClient, query: str) -> None:
    answer = client.get(f"/?{query}")
    assert answer.status_code == 200
    assert "Mend this first" in answer.text


def test_the_sheet_in_the_page_opens_itself_again_there(client: FlaskClient) -> None:
    for host in ("lamps.example", "other.example"):
        page = client.get("/?example=moth_wings", base_url=f"https://{host}").text
        link = re.search(rf"https://{host}/#b=[\w-]+", page)
        assert link is not None
        assert read_link(link[0]) == carried(read("build-sheets", builds.example("moth_wings")))
        assert 'class="code"' in page


def test_an_unknown_example_is_the_first(client: FlaskClient) -> None:
    assert "Observatory diorama" in client.get("/?example=../../x").text
    assert client.get("/examples/client.json").status_code == 404


@pytest.mark.parametrize(
    "path", ["/embed.js", f"/embed/{__version__}.js", "/embed/texts/de.json", "/sheet.css"]
)
def test_files_for_other_pages_may_be_read_there(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert answer.headers["Access-Control-Allow-Origin"] == "*"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "cross-origin"
    fixed = path == f"/embed/{__version__}.js"
    assert ("immutable" in answer.headers["Cache-Control"]) == fixed


@pytest.mark.parametrize("path", ["/embed/0.0.0.js", "/embed/texts/xx.json", "/embed/texts/de.js"])
def test_what_is_not_there(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_a_code_is_drawn_of_a_short_text_only(client: FlaskClient) -> None:
    drawn = client.post("/code.svg", data="http://127.0.0.1/#b=x", content_type="text/plain")
    assert drawn.mimetype == "image/svg+xml"
    assert drawn.text.startswith("<svg")
    for text in ("", "x" * 301, "x" * 5000):
        assert client.post("/code.svg", data=text, content_type="text/plain").status_code == 413


def test_every_choice_of_light_and_power_is_known_and_named_once() -> None:
    for groups in (choices.led_choices(), choices.power_choices()):
        values = [value for group in groups for value, _ in group["items"]]  # type: ignore[attr-defined]
        assert len(values) == len(set(values))
        assert len(values) > 10


def test_refusals_in_words() -> None:
    told = sheet_view.told(ContradictionError("supply", "cannot be taken together", "send one of them"))
    assert told == {"supply": "This cannot be taken together. Write one of them"}
    assert sheet_view.told(OutOfRangeError("too much")) == {"": "too much"}
