"""The guide, built once for all tests of this folder."""

from __future__ import annotations

import importlib.util
import time
from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


class Page(HTMLParser):
    """What a built page links to, loads, names and says."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.words: list[str] = []
        self._hidden = 0
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if given.get("id"):
            self.ids.add(given["id"])
        if tag == "a" and given.get("href") is not None:
            self.links.append(given["href"])
        for name in ("src", "srcset", "poster", "data"):
            if given.get(name):
                self.loads.append(given[name])
        if tag == "link" and given.get("href") and "canonical" not in (given.get("rel") or ""):
            self.loads.append(given["href"])
        if tag in ("script", "style"):
            self._hidden += 1

    def handle_endtag(self, tag):
        if tag in ("script", "style"):
            self._hidden -= 1

    def handle_data(self, data):
        if not self._hidden:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    """Return (folder of the built guide, seconds it took); the build is strict."""
    spec = importlib.util.spec_from_file_location("site_build", ROOT / "site_docs" / "hooks" / "build.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    folder = tmp_path_factory.mktemp("site")
    started = time.process_time()
    module.build(folder)
    return folder, time.process_time() - started


@pytest.fixture(scope="session")
def pages(built):
    """Return every built page by its path."""
    folder, _ = built
    return {
        path.relative_to(folder).as_posix(): Page(path.read_text("utf-8")) for path in folder.rglob("*.html")
    }
