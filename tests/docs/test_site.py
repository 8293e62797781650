"""The built guide: links, anchors, origins, sizes, the line on every page."""

from __future__ import annotations

import json
import posixpath
import re
from urllib.parse import unquote, urlsplit

import yaml

from lampwright.api.problems import TYPES
from lampwright.config import settings
from lampwright.quantities import glossary
from lampwright.tables.findings import finding_rows
from lampwright.tables.loader import sources
from tests.docs.conftest import ROOT

# Pages of the program itself, which the guide names in text but which are not part of its folder.
OUTSIDE = ("/",)


def test_it_builds_within_its_time(built):
    # Processor seconds, not the clock's: other work on the machine must not decide a test.
    assert built[1] < 10


def test_every_link_leads_somewhere(pages):
    broken = []
    for path, page in pages.items():
        if path == "404.html":
            continue
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme or link.startswith(OUTSIDE) or link == "":
                continue
            target = (
                posixpath.normpath(posixpath.join(posixpath.dirname(path), parts.path))
                if parts.path
                else path
            )
            if target.endswith(".") or target == "..":
                continue
            if target not in pages or (parts.fragment and unquote(parts.fragment) not in pages[target].ids):
                broken.append(f"{path}: {link}")
    assert not broken


def test_nothing_comes_from_another_origin(built, pages):
    foreign = [f"{path}: {load}" for path, page in pages.items() for load in page.loads if "//" in load]
    assert not foreign
    for style in built[0].rglob("*.css"):
        found = re.findall(
            r"url\(\s*[\"']?(?:https?:)?//[^)]*\)|@import[^;]*//[^;]*;", style.read_text("utf-8")
        )
        assert not found, style


def test_every_page_defers(pages):
    said = " ".join(
        yaml.safe_load((ROOT / "site_docs" / "mkdocs.yml").read_text("utf-8"))["extra"]["deference"].split()
    )
    for path, page in pages.items():
        assert said in page.text, path


def test_every_finding_has_its_anchor(pages):
    assert set(finding_rows()) <= pages["reference/findings.html"].ids


def test_every_problem_type_has_its_anchor(pages):
    assert {kind.word for kind in TYPES.values()} <= pages["reference/problems.html"].ids


def test_every_name_and_source_has_its_anchor(pages):
    assert set(glossary()) <= pages["reference/glossary.html"].ids
    wanted = {re.sub(r"[^a-z0-9_]+", "-", key.lower()).strip("-") for key in sources()}
    assert wanted <= pages["reference/sources.html"].ids


def test_every_table_has_its_anchor(pages):
    names = {path.stem for path in (ROOT / "service/lampwright/tables/data").glob("*.csv")}
    assert names <= pages["reference/tables.html"].ids


def test_every_setting_is_listed(pages):
    for name, _, meaning in settings():
        assert name in pages["reference/settings.html"].text
        assert meaning in pages["reference/settings.html"].text


def test_every_endpoint_has_its_anchor(pages):
    document = json.loads((ROOT / "openapi" / "openapi.json").read_text("utf-8"))
    for path in document["paths"]:
        assert re.sub(r"[^a-z0-9_]+", "-", path).strip("-") in pages["reference/api.html"].ids, path


def test_every_part_has_its_anchor(pages):
    from lampwright.app import create_app

    client = create_app().test_client()
    for kind in ("leds", "batteries", "supplies", "fuses"):
        body = client.get(f"/v1/parts/{kind}").json
        entries = body if isinstance(body, list) else next(v for v in body.values() if isinstance(v, list))
        assert {entry["id"] for entry in entries} <= pages["reference/parts.html"].ids


def test_the_guides_numbers_are_the_services(pages):
    from lampwright.app import create_app

    asked = json.loads((ROOT / "examples/worked/first_lantern.json").read_text("utf-8"))
    answer = create_app().test_client().post(asked["path"], json=asked["request"]).json
    text = pages["tutorials/first_build.html"].text
    for name in ("resistance", "current_low", "current_high", "resistor_voltage", "string_voltage"):
        assert answer["display"][name] in text, name
    assert ", ".join(answer["colour_bands"]) in text


def test_how_tos_end_at_the_bench(pages):
    for path in (ROOT / "site_docs/pages/how-to").glob("*.md"):
        if path.stem in (
            "index",
            "use_the_api",
            "use_a_spreadsheet",
            "run_it_for_a_club",
            "test_with_the_meter",
        ):
            continue
        assert "## Check it with your meter" in path.read_text("utf-8"), path.name


def test_every_example_is_shown_somewhere():
    text = "".join(path.read_text("utf-8") for path in (ROOT / "site_docs/pages").rglob("*.md"))
    for path in (ROOT / "examples").rglob("*.json"):
        assert re.search(rf"\b{path.stem}\b", text), path.name
