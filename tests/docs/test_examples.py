"""Every file in examples/ is sent to the service, and answered."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lampwright.app import create_app

EXAMPLES = Path(__file__).parents[2] / "examples"
BUILDS = sorted(EXAMPLES.glob("*.json"))
WORKED = sorted((EXAMPLES / "worked").glob("*.json"))


@pytest.fixture(scope="module")
def client():
    return create_app().test_client()


@pytest.mark.parametrize("path", BUILDS, ids=lambda path: path.stem)
def test_a_build_is_answered_and_can_be_built(client, path):
    reply = client.post("/v1/build-sheets", json=json.loads(path.read_text("utf-8")))
    assert reply.status_code == 200, reply.text
    assert reply.json["buildable"] is True
    assert not [finding for finding in reply.json["findings"] if finding["severity"] == "stop"]


@pytest.mark.parametrize("path", WORKED, ids=lambda path: path.stem)
def test_a_question_is_answered_with_reasons(client, path):
    asked = json.loads(path.read_text("utf-8"))
    reply = client.post(asked["path"], json=asked["request"])
    assert reply.status_code == 200, reply.text
    assert reply.json["working"]
    assert reply.json["sources"]
    assert asked["title"]
    assert asked["scenario"]


def test_there_are_enough_of_them():
    assert len(WORKED) + len(BUILDS) >= 25
