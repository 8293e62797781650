"""The committed record of outside checks knows every check there is, and none that is gone."""

from __future__ import annotations

import ast
import json

from lampwright.tables.loader import sources
from tests.docs.conftest import ROOT


def marked() -> set[str]:
    """Return every test headed by @published, as the record names it."""
    found = set()
    for path in (ROOT / "tests").rglob("test_*.py"):
        module = ast.parse(path.read_text("utf-8"))
        place = path.relative_to(ROOT).as_posix()
        everywhere = any(
            isinstance(node, ast.Assign)
            and "pytestmark" in ast.unparse(node)
            and "published(" in ast.unparse(node)
            for node in module.body
        )
        for node in ast.walk(module):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                headed = any("published(" in ast.unparse(mark) for mark in node.decorator_list)
                if everywhere or headed:
                    found.add(f"{place}::{node.name}")
    return found


def test_the_record_is_whole():
    recorded = {entry["test"] for entry in json.loads((ROOT / "site_docs/checks.json").read_text("utf-8"))}
    # Written by: python -m pytest --record-checks
    assert marked() - recorded == set()
    assert {test.rpartition("::")[2] for test in recorded} >= {test.rpartition("::")[2] for test in marked()}


def test_every_check_recorded_passed_and_names_a_source():
    known = sources()
    for entry in json.loads((ROOT / "site_docs/checks.json").read_text("utf-8")):
        assert entry["outcome"] == "passed", entry["test"]
        assert all(mark["key"] in known for mark in entry["checks"])
