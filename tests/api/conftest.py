"""The service, in process, made once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from lampwright.app import create_app
from lampwright.config import Config


@pytest.fixture(scope="session")
def app() -> Flask:
    return create_app(Config())


@pytest.fixture
def client(app: Flask) -> Iterator[FlaskClient]:
    with app.test_client() as made:
        yield made


def assert_problem(response: Any, *statuses: int) -> dict[str, Any]:
    """Hold a response to the one shape of all problems, and return it."""
    assert response.status_code in statuses, response.get_data(as_text=True)[:400]
    assert response.content_type == "application/problem+json"
    assert response.headers["Cache-Control"] == "no-store"
    body: dict[str, Any] = response.get_json()
    assert set(body) == {"type", "title", "status", "detail", "instance", "errors"}
    assert body["status"] == response.status_code
    assert body["type"].startswith("/docs/reference/problems.html#")
    assert body["instance"] == f"urn:request:{response.headers['X-Request-Id']}"
    assert body["detail"]
    for error in body["errors"]:
        assert {"detail", "value", "hint"} <= set(error) <= {
            "pointer", "parameter", "detail", "value", "hint", "suggestion",
        }  # fmt: skip
        assert ("pointer" in error) != ("parameter" in error)
        assert error["detail"]
    return body


@pytest.fixture
def problem() -> Any:
    return assert_problem
