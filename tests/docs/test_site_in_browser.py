"""The built guide in a browser: no barriers found by axe, search that finds, nothing from elsewhere."""

from __future__ import annotations

import functools
import threading
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from werkzeug.serving import WSGIRequestHandler, make_server

from lampwright.app import create_app
from lampwright.config import Config

AXE = Path(__file__).parents[1] / "node_modules" / "axe-core" / "axe.min.js"
# One thing changes from each to the next.
VIEWS = [("light", 1200), ("light", 360), ("dark", 360), ("dark", 1200)]
COLOUR_RULES = ("color-contrast", "link-in-text-block")
HEAVIEST = 135_000  # bytes a page may bring on first load, compressed
# A maker's question in the words of its search, and the page that answers it.
ASKED = [
    ("which resistor colour bands", "choose_lights"),
    ("battery lasts the day", "choose_a_battery"),
    ("how many in a row odd", "odd_number"),
    ("resistors in the drawer tonight", "use_the_drawer"),
    ("bag says 9 12 V pre-wired 5 V", "prewired_on_another_voltage"),
    ("thin wire far loss", "long_wire"),
    ("does 12 volts need a fuse", "fuse_it"),
    ("which leg is plus", "which_leg_is_plus"),
    ("where do I put the meter tips", "test_with_the_meter"),
    ("flickers when I move", "find_a_fault"),
]


class Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *words):
        """Say nothing."""


@pytest.fixture(scope="module")
def address(built):
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(built[0])))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join(5)
    server.server_close()


class Silent(WSGIRequestHandler):
    def log(self, kind, message, *words):
        """Say nothing."""


@pytest.fixture(scope="module")
def served(built):
    """Return the address of the guide behind a running service."""
    server = make_server(
        "127.0.0.1", 0, create_app(Config(site=str(built[0]))), threaded=True, request_handler=Silent
    )
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/docs"
    server.shutdown()
    thread.join(5)
    server.server_close()


@pytest.fixture
def look(browser):
    """Open a page in a scheme and width; hears requests and errors."""
    opened = []

    def open_page(url: str, scheme: str = "light", width: int = 1200):
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
        opened.append(context)
        page = context.new_page()
        page.requested = []
        page.complaints = []
        page.on("request", lambda request: page.requested.append(request.url))
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        # What a content policy drops is told on the console alone.
        page.on(
            "console",
            lambda said: (
                page.complaints.append(said.text) if "Content Security Policy" in said.text else None
            ),
        )
        page.set_default_timeout(20_000)
        page.goto(url)
        return page

    yield open_page
    for context in opened:
        context.close()


def barriers(page) -> list[str]:
    page.evaluate(AXE.read_text("utf-8"))
    return looked_at(page)


def looked_at(page, rules: tuple[str, ...] = ()) -> list[str]:
    """Return what axe finds, by these rules or by all of them; without naming the place, which is slow."""
    only = f", runOnly: {list(rules)}" if rules else ""
    return page.evaluate(
        f"axe.run(document, {{resultTypes: ['violations'], selectors: false{only}}})"
        ".then(r => r.violations.map("
        "v => v.id + ': ' + v.nodes.slice(0, 2).map(n => n.html.slice(0, 120)).join(' | ')))"
    )


def paper(page) -> str:
    """Return the colour a page is on, once it has heard of its scheme and all that fades has faded."""
    page.evaluate("new Promise(drawn => requestAnimationFrame(() => requestAnimationFrame(drawn)))")
    page.evaluate("document.getAnimations().forEach(fading => fading.finish())")
    return page.evaluate("getComputedStyle(document.body).backgroundColor")


def weight(folder: Path, address: str, requested: list[str]) -> int:
    """Return the bytes that a service hands out for what a page asked for."""
    sent = 0
    for url in dict.fromkeys(requested):
        path = folder / url.removeprefix(address + "/").partition("?")[0]
        packed = path.with_name(path.name + ".gz")
        sent += (packed if packed.is_file() else path).stat().st_size
    return sent


def test_no_page_has_barriers_or_is_heavy(look, address, pages, built):
    """Every page in both schemes at both widths, all that folds unfolded."""
    found, weights = [], {}
    page = look(f"{address}/index.html")
    for path in sorted(pages):
        page.requested.clear()
        page.goto(f"{address}/{path}")
        page.evaluate("document.querySelectorAll('details:not(.live)').forEach(part => part.open = true)")
        page.evaluate(AXE.read_text("utf-8"))
        papers: dict[str, set[str]] = {"light": set(), "dark": set()}
        for scheme, width in VIEWS:
            page.emulate_media(color_scheme=scheme)
            page.set_viewport_size({"width": width, "height": 900})
            papers[scheme].add(paper(page))
            # A scheme changes colours and nothing else: what does not depend on them is looked at in light.
            rules = COLOUR_RULES if scheme == "dark" else ()
            found += [f"{path} {scheme} {width}: {barrier}" for barrier in looked_at(page, rules)]
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (path, width)
        # The page did change its scheme between the looks.
        assert len(papers["light"]) == len(papers["dark"]) == 1, path
        assert papers["light"] != papers["dark"], path
        assert not page.complaints, path
        assert all(url.startswith(address) for url in page.requested), path
        weights[path] = weight(built[0], address, page.requested)
    assert not found, "\n".join(found)
    heaviest = sorted(weights, key=weights.__getitem__, reverse=True)
    print("heaviest on first load:", ", ".join(f"{path} {weights[path]}" for path in heaviest[:4]))
    assert 50_000 < weights[heaviest[0]] <= HEAVIEST


@pytest.mark.parametrize(("words", "answer"), ASKED, ids=[answer for _, answer in ASKED])
def test_a_search_finds_the_page_among_the_first_three(look, address, words, answer):
    # Wide enough for the search field to stand in the bar.
    page = look(f"{address}/index.html", "light", 1300)
    # A third of a page's weight, so it comes with the first search and not before.
    assert not [url for url in page.requested if "search_index" in url]
    page.click(".md-search__input")
    page.keyboard.type(words)
    page.wait_for_selector(".md-search-result__item")
    page.wait_for_function(
        "() => !document.querySelector('.md-search-result__meta').innerText.includes('Type')"
    )
    hits = page.eval_on_selector_all(
        ".md-search-result__item > a.md-search-result__link", "links => links.slice(0, 3).map(a => a.href)"
    )
    assert any(answer in hit for hit in hits), hits
    assert [url for url in page.requested if "search_index" in url]


def test_opened_from_a_folder_it_says_what_needs_the_service(look, built):
    page = look((built[0] / "tutorials" / "first_build.html").as_uri())
    assert page.is_visible(".from-folder")
    assert not page.is_visible(".md-search")
    assert page.locator("math").first.is_visible()
    page.click("details.live summary")
    assert "needs the service" in page.inner_text("details.live")
    assert not page.complaints
    assert all(url.startswith("file:") for url in page.requested)
    assert not page.is_visible(".to-planner")
    page.click("article a:text('the observatory')")
    assert page.url.endswith("observatory_diorama.html")


@pytest.mark.parametrize(("scheme", "width"), VIEWS)
def test_a_live_example_answers_beside_the_worked_one(look, served, scheme, width):
    page = look(f"{served}/tutorials/first_build.html", scheme, width)
    page.click("details.live summary")
    answer = page.locator("details.live lampwright-resistor .big")
    answer.wait_for()
    assert answer.inner_text().startswith("Take 180")
    page.fill("details.live input[name=volts]", "9")
    page.wait_for_function(
        "() => !document.querySelector('details.live lampwright-resistor')"
        ".shadowRoot.querySelector('.big').textContent.startsWith('Take 180')"
    )
    assert not page.complaints
    assert not barriers(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_each_kind_of_live_example_begins_with_the_case_beside_it(look, served):
    page = look(f"{served}/how-to/fuse_it.html")
    page.click("details.live summary")
    page.locator("lampwright-build .big").first.wait_for()
    assert page.input_value("lampwright-build select[name=battery]") == "nimh_aa"
    page = look(f"{served}/how-to/check_an_old_build.html")
    page.click("details.live summary")
    page.locator("lampwright-survives .big").first.wait_for()
    assert page.input_value("lampwright-survives input[name=ohms]") == "330"
    assert not page.complaints


def test_without_a_service_a_live_example_says_what_it_needs(look, address):
    page = look(f"{address}/tutorials/first_build.html")
    with page.expect_response(lambda response: response.url.endswith("/embed.js")) as missing:
        page.click("details.live summary")
    assert missing.value.status == 404
    assert "needs the service" in page.inner_text("details.live")


@pytest.mark.parametrize("path", ["how-to/test_with_the_meter.html", "how-to/find_a_fault.html"])
def test_no_column_of_a_table_stands_beyond_the_edge_of_a_phone(look, address, path):
    page = look(f"{address}/{path}", "light", 360)
    page.wait_for_selector("table[data-stacked]")
    hidden = page.evaluate("""
      () => [...document.querySelectorAll(".md-typeset__scrollwrap td")].filter(cell => cell.textContent)
        .filter(cell => cell.getBoundingClientRect().right > innerWidth || !cell.checkVisibility())
        .map(cell => cell.textContent)
    """)
    assert hidden == []
    said = page.evaluate("""
      () => [...document.querySelectorAll("table[data-stacked]")].map(table => [
        [...table.rows[0].cells].slice(1).map(head => head.textContent),
        [...table.rows[1].cells].slice(1).map(cell => cell.dataset.column),
      ])
    """)
    assert all(heads == columns for heads, columns in said)
    assert not barriers(page)
    page.set_viewport_size({"width": 1200, "height": 900})
    page.wait_for_selector("thead >> visible=true")
    assert page.locator("table[data-stacked]").count() == 0


def test_the_planner_is_one_step_away_from_every_page(look, served):
    for path in ("index.html", "how-to/find_a_fault.html", "explanation/decisions/units.html"):
        page = look(f"{served}/{path}", "light", 360)
        page.click(".to-planner a")
        assert page.url == served.removesuffix("docs")
        assert page.inner_text("h1") == "Plan the lights of a build"


def test_on_paper_no_head_of_a_column_is_broken_within_a_word(look, address):
    page = look(f"{address}/tutorials/observatory_diorama.html", width=640)
    page.emulate_media(media="print")
    broken = page.evaluate("""
      () => [...document.querySelectorAll("th")].filter(head => {
        const words = document.createRange();
        words.selectNodeContents(head);
        const lines = new Set([...words.getClientRects()].map(line => Math.round(line.top)));
        return lines.size > head.textContent.trim().split(/\\s+/).length;
      }).map(head => head.textContent)
    """)
    assert broken == []
