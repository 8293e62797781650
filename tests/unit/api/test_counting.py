"""Counts: shared over workers, never falling."""

from __future__ import annotations

from pathlib import Path

from lampwright.api.counting import Counts


def test_workers_add_up(tmp_path: Path) -> None:
    first, second = Counts(str(tmp_path)), Counts(str(tmp_path))
    first.add("/v1/wires", 200, 0.004)
    # Another process would have another name.
    (tmp_path / next(tmp_path.glob("*.counts")).name).rename(tmp_path / "1.counts")
    second.add("/v1/wires", 200, 0.2)
    second.add("/v1/wires.csv", 400, 3.0)
    said = first.text()
    assert 'lampwright_requests_total{group="wires",status="2xx"} 2' in said
    assert 'lampwright_requests_total{group="wires",status="4xx"} 1' in said
    assert 'lampwright_request_seconds_bucket{group="wires",le="0.005"} 1' in said
    assert 'lampwright_request_seconds_bucket{group="wires",le="1"} 2' in said
    assert 'lampwright_request_seconds_bucket{group="wires",le="+Inf"} 3' in said
    assert 'lampwright_request_seconds_sum{group="wires"} 3.204' in said


def test_one_worker_counts_alone() -> None:
    counts = Counts()
    assert "group=" not in counts.text()
    counts.add("/", 304, 0.0001)
    assert 'group="page",status="3xx"} 1' in counts.text()
