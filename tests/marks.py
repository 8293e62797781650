"""Marks and comparisons for tests that hold us against the outside world.

``@published("IEC-60063", "Table 1", of="lampwright.physics.resistors.preferred_at_least")`` heads a
check with its key in ``sources.toml`` and the place in that source. Inside it, ``agree`` compares our
figure with theirs and keeps both for the page *Where the numbers come from*.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

KINDS = ("published", "oracle", "hand", "regression", "practice", "memory")
#: Those that hold us against a figure of somebody else's.
OUTSIDE = ("published", "oracle")

#: (node name, what, ours, theirs) of the running session; read by conftest.
COMPARED: list[tuple[str, str, float, float]] = []
_running = [""]


def published(key: str, place: str, *, of: str = "", kind: str = "published") -> Callable[[Any], Any]:
    """Mark a check with its source key, the place in it, its kind and the function or table it tests."""
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is none of {KINDS}")
    return pytest.mark.published_source(key=key, place=place, kind=kind, of=of)


def agree(
    ours: float, theirs: float, *, rel: float = 0.0, abs: float = 0.0, why: str, what: str = ""
) -> None:
    """Assert that two figures agree within a stated tolerance, for a stated reason, and keep both."""
    assert why, "state the reason for the tolerance"
    COMPARED.append((_running[0], what, float(ours), float(theirs)))
    assert math.isclose(ours, theirs, rel_tol=rel, abs_tol=abs), (
        f"{what or 'figure'}: ours {ours!r}, theirs {theirs!r}, allowed rel {rel} abs {abs} ({why})"
    )


#: (node name, title, column names, rows) of tables that tests make for the same page.
TABLES: list[tuple[str, str, tuple[str, ...], list[tuple[object, ...]]]] = []


def tabled(title: str, columns: tuple[str, ...], rows: list[tuple[object, ...]]) -> None:
    """Keep a table for the page *Where the numbers come from*."""
    assert all(len(row) == len(columns) for row in rows)
    TABLES.append((_running[0], title, columns, rows))


def now_running(name: str) -> None:
    """Tell the comparisons which test runs."""
    _running[0] = name
