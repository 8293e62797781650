"""The documentation below /docs/, from the folder it was built into."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urljoin

import pytest
from flask.testing import FlaskClient

from lampwright.app import create_app
from lampwright.config import Config


@pytest.fixture
def reader(tmp_path: Path) -> FlaskClient:
    (tmp_path / "index.html").write_text("<h1>Guide</h1>", "utf-8")
    (tmp_path / "reference").mkdir()
    (tmp_path / "reference" / "problems.html").write_text("<h1>Problems</h1>", "utf-8")
    (tmp_path / "404.html").write_text("<h1>No such page</h1>", "utf-8")
    return create_app(Config(site=str(tmp_path))).test_client()


def fetched(reader: FlaskClient, path: str) -> tuple[int, str, bytes, dict[str, str]]:
    """Return status, media type, body and headers; files are closed."""
    with reader.get(path) as said:
        return said.status_code, said.mimetype, said.data, dict(said.headers)


def test_pages_are_served(reader: FlaskClient) -> None:
    status, media, body, headers = fetched(reader, "/docs/")
    assert (status, media) == (200, "text/html")
    assert b"Guide" in body
    assert headers["X-Content-Type-Options"] == "nosniff"
    # The rest stands in each page, where its hashes are known.
    assert headers["Content-Security-Policy"] == "frame-ancestors 'self'"
    assert b"Problems" in fetched(reader, "/docs/reference/problems.html")[2]
    assert urljoin("/docs", fetched(reader, "/docs")[3]["Location"]) == "/docs/"


def test_a_page_that_is_not_there(reader: FlaskClient) -> None:
    status, _, body, _ = fetched(reader, "/docs/nothing.html")
    assert status == 404
    assert b"No such page" in body
    assert fetched(reader, "/docs/../../pyproject.toml")[0] == 404


def test_without_a_built_site_docs_are_404(tmp_path: Path) -> None:
    bare = create_app(Config(site=str(tmp_path))).test_client()
    assert fetched(bare, "/docs/")[0] == 404
    assert fetched(bare, "/healthz")[0] == 200
