"""Examples and their answers, asked of the real service inside this process."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]
EXAMPLES = ROOT / "examples"


@cache
def example(name: str) -> dict[str, Any]:
    """Return an example as title, scenario, path and request, whichever kind of file it is."""
    for path in (EXAMPLES / f"{name}.json", EXAMPLES / "worked" / f"{name}.json"):
        if path.exists():
            body = json.loads(path.read_text("utf-8"))
            if "path" in body:
                return {**body, "file": path.relative_to(ROOT).as_posix()}
            return {
                "title": body["title"],
                "scenario": "",
                "path": "/v1/build-sheets",
                "request": body,
                "file": path.relative_to(ROOT).as_posix(),
            }
    raise ValueError(f"there is no example {name!r} in examples/")


@cache
def _client() -> Any:
    from lampwright.app import create_app

    return create_app().test_client()


@cache
def text(name: str, accept: str) -> str:
    """Return the answer to an example in the form asked for, as the service sends it."""
    asked = example(name)
    reply = _client().post(asked["path"], json=asked["request"], headers={"Accept": accept})
    if reply.status_code != 200:
        raise ValueError(
            f"{asked['file']} is not answered: {reply.status_code} {reply.get_data(as_text=True)}"
        )
    return str(reply.get_data(as_text=True))


@cache
def get(path: str) -> str:
    """Return what the service answers at a path, in JSON."""
    reply = _client().get(path, headers={"Accept": "application/json"})
    if reply.status_code != 200:
        raise ValueError(f"{path} answers {reply.status_code}")
    return str(reply.get_data(as_text=True))


@cache
def answer(name: str) -> dict[str, Any]:
    """Return the answer to an example as the service gives it in JSON."""
    return dict(json.loads(text(name, "application/json")))
