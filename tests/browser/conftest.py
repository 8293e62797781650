"""A running service, a browser, and pages whose consoles have to stay empty."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route
from werkzeug.serving import WSGIRequestHandler, make_server

AXE = Path(__file__).parents[1] / "node_modules" / "axe-core" / "axe.min.js"


class _Quiet(WSGIRequestHandler):
    def log(self, type: str, message: str, *args: Any) -> None:
        """Say nothing."""


def serve(app: Any) -> Iterator[str]:
    """Run a WSGI app on a free loopback port; yield its address, without a slash at the end."""
    server = make_server("127.0.0.1", 0, app, threaded=True, request_handler=_Quiet)
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join(5)
    server.server_close()


@pytest.fixture(scope="session")
def service() -> Iterator[str]:
    from lampwright.app import create_app

    yield from serve(create_app())


class Desk:
    """Opens pages, hears their consoles, and asks axe about them."""

    def __init__(self, browser: Browser, service: str) -> None:
        self.browser = browser
        self.service = service
        self.heard: list[str] = []
        self._contexts: list[BrowserContext] = []

    def open(
        self,
        path: str = "/",
        *,
        base: str = "",
        route: tuple[str, Callable[[Route], None]] | None = None,
        ready: bool = True,
        **context: Any,
    ) -> Page:
        """Open a page in a fresh profile; ``ready`` waits until its first sheet is up to date."""
        made = self.browser.new_context(**context)
        self._contexts.append(made)
        page = made.new_page()
        page.set_default_timeout(15_000)
        page.on("console", lambda message: self.heard.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: self.heard.append(f"error: {error}"))
        if route:
            page.route(*route)
        page.goto((base or self.service) + path)
        if ready and context.get("java_script_enabled", True) and path.split("?")[0].split("#")[0] == "/":
            page.wait_for_selector("#status:has-text('up to date')")
        return page

    def accessible(self, page: Page) -> None:
        """Assert that axe finds nothing."""
        if not AXE.is_file():
            pytest.skip("axe-core is not installed: tests/run puts it there")
        page.evaluate(AXE.read_text("utf-8"))
        found = page.evaluate(
            "axe.run(document, {resultTypes: ['violations']}).then(r => r.violations.map("
            "v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.failureSummary).join(' | ')))"
        )
        assert found == []

    def close(self) -> None:
        for context in self._contexts:
            context.close()


@pytest.fixture
def desk(browser: Browser, service: str) -> Iterator[Desk]:
    made = Desk(browser, service)
    yield made
    made.close()
    assert made.heard == [], "the console has to stay empty"
