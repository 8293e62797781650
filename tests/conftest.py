"""Markers by folder, source keys checked, and the record of checks against the outside world."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import core

from lampwright.tables.loader import sources
from tests import marks

if TYPE_CHECKING:
    from playwright.sync_api import Browser

HERE = Path(__file__).parent
FOLDERS = ("unit", "published", "oracle", "api", "browser", "docs")
KEPT = 4  # figures of one check that the record repeats
RECORD = HERE.parent / "site_docs" / "checks.json"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--record-checks", action="store_true", help=f"write {RECORD.name} afresh")


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line(
        "markers", "published_source(key, place, kind, of): where a checked number stands"
    )
    # Hypothesis itself has just taken the word for a seed, the same one each time.
    if config.getoption("--hypothesis-seed") == "random":
        core.global_force_seed = secrets.randbits(32)


def pytest_report_header() -> list[str]:
    return _seed_told()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for line in _seed_told():
        terminalreporter.write_line(line)


def _seed_told() -> list[str]:
    """Say the seed of made-up cases where one was asked for, at both ends of the output."""
    seed = core.global_force_seed
    return [] if seed is None else [f"again with: --hypothesis-seed={seed}"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    known = sources()
    for item in items:
        try:
            folder = item.path.relative_to(HERE).parts[0]
        except ValueError:
            continue
        if folder in FOLDERS:
            item.add_marker(getattr(pytest.mark, folder))
        marked = list(item.iter_markers("published_source"))
        if folder in ("published", "oracle") and not marked:
            raise pytest.UsageError(f"{item.nodeid}: an outside check names its source with @published")
        for mark in marked:
            key, kind = mark.kwargs["key"], mark.kwargs["kind"]
            if key not in known:
                raise pytest.UsageError(f"{item.nodeid}: {key} is not in sources.toml")
            if kind in marks.OUTSIDE and known[key].publisher in ("none", "Lampwright"):
                raise pytest.UsageError(f"{item.nodeid}: {key} is nobody else's figure, so it is not {kind}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item):  # type: ignore[no-untyped-def]
    marks.now_running(item.nodeid)
    return (yield)


_outcomes: dict[str, str] = {}
_marked: dict[str, list[dict[str, str]]] = {}


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]):  # type: ignore[no-untyped-def]
    report = yield
    # A skipped outside check is a failure where nobody looks at the summary.
    if report.skipped and os.environ.get("CI") == "true" and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped in CI: {report.longrepr}"
    if report.when == "call" and item.get_closest_marker("published_source"):
        _outcomes[item.nodeid] = report.outcome
        _marked[item.nodeid] = [dict(mark.kwargs) for mark in item.iter_markers("published_source")]
    return report


def _family(node: str) -> str:
    return node.partition("[")[0]


def pytest_sessionfinish(session: pytest.Session) -> None:
    if not session.config.getoption("--record-checks"):
        return
    figures: dict[str, list[dict[str, object]]] = {}
    for node, what, ours, theirs in marks.COMPARED:
        figures.setdefault(node, []).append({"what": what, "ours": float(f"{ours:.6g}"), "theirs": theirs})
    # Cases of one test stand together, parted by source and place: a figure stays with its own source.
    # The first figures of each are kept, and how many there were; a case of two sources counts for the first.
    record: dict[str, dict[str, Any]] = {}
    for node, outcome in _outcomes.items():
        entry = record.setdefault(_family(node), {"test": _family(node), "outcome": "passed", "checks": []})
        if outcome != "passed":
            entry["outcome"] = outcome
        for number, mark in enumerate(_marked[node]):
            check = next((c for c in entry["checks"] if all(c[name] == mark[name] for name in mark)), None)
            if check is None:
                check = {**mark, "compared": 0, "figures": []}
                entry["checks"].append(check)
            found = figures.get(node, [])
            check["compared"] += 0 if number else len(found)
            check["figures"] = [*check["figures"], *found][:KEPT]
    for node, title, columns, rows in marks.TABLES:
        if _family(node) in record:
            table = {"title": title, "columns": columns, "rows": rows}
            record[_family(node)].setdefault("tables", []).append(table)
    # What this session did not run stays as recorded, where its file is still there.
    ran = {node.partition("::")[0] for node in record}
    for entry in json.loads(RECORD.read_text("utf-8")) if RECORD.exists() else []:
        place = entry["test"].partition("::")[0]
        if place not in ran and (HERE.parent / place).is_file():
            record[entry["test"]] = entry
    text = json.dumps([record[node] for node in sorted(record)], indent=1, ensure_ascii=False)
    RECORD.write_text(text + "\n", "utf-8")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    from tests.browsing import launched_browser

    yield from launched_browser()
