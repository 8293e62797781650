"""The built guide: links, anchors, origins, sizes, the line on every page."""

from __future__ import annotations

import hashlib
import html
import json
import posixpath
import re
from base64 import b64encode
from urllib.parse import unquote, urlsplit

import yaml

from lampwright.api.problems import EVERY
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
    assert {kind.word for kind in EVERY} <= pages["reference/problems.html"].ids


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


def worked_blocks(built):
    """Return (page, its text) of every worked example as it stands in the built guide."""
    for path in sorted(built[0].rglob("*.html")):
        text = path.read_text("utf-8")
        for start in [found.start() for found in re.finditer(r'<div class="worked">', text)]:
            block = text[start : text.find('<div class="worked">', start + 1) % (len(text) + 1)]
            yield path.name, block


def test_every_worked_example_ends_at_the_bench_and_has_a_live_one(built):
    titles = set()
    for name, block in worked_blocks(built):
        title = re.search(r"<strong>(.*?)</strong>", block)[1]
        titles.add(title)
        assert '<details class="live"' in block, (name, title)
        assert block.index("Check it with your meter.") > block.index('<details class="live"'), (name, title)
    assert len(titles) >= 25


def test_a_worked_example_shows_the_services_numbers(built):
    from guide.members import HEADLINES
    from lampwright.app import create_app

    client = create_app().test_client()
    shown = {re.search(r"<strong>(.*?)</strong>", block)[1]: block for _, block in worked_blocks(built)}
    compared = 0
    for path in sorted((ROOT / "examples" / "worked").glob("*.json")):
        asked = json.loads(path.read_text("utf-8"))
        answer = client.post(asked["path"], json=asked["request"]).json
        title = asked["title"] if asked["title"].endswith("?") else asked["title"] + "."
        words = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", shown[title])).split())
        for name, _ in HEADLINES[asked["path"]]:
            text = answer.get("display", {}).get(name.rpartition("_")[0])
            if text and not name.endswith("_w"):  # watts are sold in fractions, not in milliwatts
                assert text.partition(" (")[0] in words, (path.stem, name)
                compared += 1
    assert compared >= 60


def test_every_formula_of_a_step_names_its_symbols(built):
    from guide import steps
    from lampwright.app import create_app

    client = create_app().test_client()
    formulas, words = set(), set()
    for path in sorted((ROOT / "examples" / "worked").glob("*.json")):
        asked = json.loads(path.read_text("utf-8"))
        for step in client.post(asked["path"], json=asked["request"]).json["working"]:
            equation = step["equation"]
            (formulas if steps.is_formula(equation) else words).add(equation)
            assert set(steps.symbols_of(equation)) <= set(steps.SYMBOLS), equation
    assert len(formulas) >= 15
    # A rule in words has no sign of sums in it that would be lost.
    assert not [rule for rule in words if re.search(r"\w_\w|[Σ∫²]", rule)]


def test_steps_are_read_as_they_are_meant():
    from guide import steps

    assert steps.tex("R = V_R / I") == r"R = \frac{V_{R}}{I}"
    assert steps.tex("I_n ≥ I / (0.75 k)") == r"I_{n} \ge  \frac{I}{0.75 k}"
    assert steps.tex("P = I²·R") == r"P = I^{2}\cdot R"
    assert steps.tex("q = z·Q/(1 + a·(I/Q)ⁿ)") == r"q = \frac{z\cdot Q}{1 + a\cdot (\frac{I}{Q})^{n}}"
    assert not steps.is_formula("larger of the cut-off and the voltage at which the first row is that dim")


def test_every_page_has_a_content_policy_that_fits_it(built):
    for path in built[0].rglob("*.html"):
        text = path.read_text("utf-8")
        policy = re.search(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', text)[1]
        assert "unsafe" not in policy
        assert policy.startswith("default-src 'none'; ")
        assert text.index("Content-Security-Policy") < text.index(
            "<script" if "<script" in text else "<style"
        )
        for kind, attributes, inside in re.findall(r"<(script|style)([^>]*)>(.*?)</\1>", text, re.DOTALL):
            if inside and "application/json" not in attributes:
                digest = b64encode(hashlib.sha256(inside.encode()).digest()).decode()
                sources = next(part for part in policy.split("; ") if part.startswith(f"{kind}-src"))
                assert f"'sha256-{digest}'" in sources, path
