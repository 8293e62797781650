"""A caller whose body was not read is told that the connection ends."""

from __future__ import annotations

import pytest

from lampwright.app import create_app
from lampwright.config import Config


@pytest.mark.parametrize(
    ("size", "kind", "status", "ends"),
    [
        (300_000, "application/json", 413, True),
        (50_000, "text/plain", 415, True),
        (50, "text/plain", 415, False),
        (50, "application/json", 400, False),
    ],
)
def test_a_refusal_that_leaves_a_body_unread(size: int, kind: str, status: int, ends: bool) -> None:
    client = create_app(Config()).test_client()
    answer = client.post("/v1/series-resistors", data=b"x" * size, content_type=kind)
    assert answer.status_code == status
    assert (answer.headers.get("Connection") == "close") is ends
