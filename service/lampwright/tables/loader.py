"""Read the data tables: a header, a units row, then one row per fact.

Every table ends in the columns ``source`` (a key of ``sources.toml``), ``locator`` (the place in that
source) and ``status`` (one of six words). A row that lacks any of them is refused here, at load, so
no answer can ever rest on a number without a source.
"""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from functools import cache
from importlib import resources
from typing import TypeVar, get_type_hints

from lampwright.errors import TableError

STATUSES = ("printed", "quoted", "computed", "measured", "common practice", "from memory")

# Rows of these statuses need no document: the keys say so in words.
NO_DOCUMENT = {"common practice": "PRACTICE", "from memory": "MEMORY"}

Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Source:
    """One document of the bibliography."""

    key: str
    title: str
    publisher: str
    edition: str
    year: int | None
    licence: str
    taken: str


def _data(name: str) -> str:
    return resources.files("lampwright.tables").joinpath("data", name).read_text("utf-8")


@cache
def sources() -> dict[str, Source]:
    """Return the bibliography by key."""
    found = {}
    for key, entry in tomllib.loads(_data("sources.toml")).items():
        found[key] = Source(
            key=key,
            title=entry["title"],
            publisher=entry["publisher"],
            edition=entry.get("edition", ""),
            year=entry.get("year"),
            licence=entry.get("licence", ""),
            taken=entry["taken"],
        )
    return found


@cache
def _source_keys() -> frozenset[str]:
    """Return the keys alone: a line scan, because parsing all of the TOML costs start-up time."""
    return frozenset(
        line.strip()[1:-1].strip('"') for line in _data("sources.toml").splitlines() if line.startswith("[")
    )


def _text(cell: str) -> str:
    return cell


def _optional_float(cell: str) -> float | None:
    return float(cell) if cell else None


def _optional_int(cell: str) -> int | None:
    return int(cell) if cell else None


def _flag(cell: str) -> bool:
    if cell not in ("yes", "no"):
        raise ValueError(f"{cell!r} is neither yes nor no")
    return cell == "yes"


def _words(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


_READERS: dict[object, Callable[[str], object]] = {
    str: _text,
    float: float,
    int: int,
    float | None: _optional_float,
    int | None: _optional_int,
    bool: _flag,
    tuple[str, ...]: _words,
}


def load(name: str, row_type: type[Row]) -> tuple[Row, ...]:
    """Return the rows of a table as frozen dataclasses.

    Parameters
    ----------
    name : str
        File name in ``tables/data``.
    row_type : type
        A dataclass whose fields are the table's columns, in any order. Field types read cells:
        ``str``, ``float``, ``int``, either of the last two ``| None`` (an empty cell), ``bool``
        (yes or no) and ``tuple[str, ...]`` (parted by ``;``).

    Raises
    ------
    TableError
        If a column, a source, a locator or a status is missing, or a cell does not read.
    """
    lines = list(csv.reader(_data(name).splitlines()))
    if len(lines) < 3:
        raise TableError(f"{name}: a header, a units row and at least one fact are needed")
    header, units = lines[0], lines[1]
    if len(units) != len(header):
        raise TableError(f"{name}: the units row has {len(units)} cells, the header {len(header)}")
    hints = get_type_hints(row_type)
    names = [field.name for field in fields(row_type)]  # type: ignore[arg-type]
    if set(header) != set(names):
        raise TableError(f"{name}: columns differ from {row_type.__name__}: {set(header) ^ set(names)}")
    readers = [_READERS[hints[column]] for column in header]
    status_at, source_at, locator_at = (header.index(column) for column in ("status", "source", "locator"))
    rows = []
    for number, cells in enumerate(lines[2:], start=3):
        if len(cells) != len(header):
            raise TableError(f"{name}:{number}: {len(cells)} cells, {len(header)} wanted")
        _check_provenance(f"{name}:{number}", cells[source_at], cells[locator_at], cells[status_at])
        try:
            values = {column: read(cell) for column, read, cell in zip(header, readers, cells, strict=True)}
        except ValueError as error:
            raise TableError(f"{name}:{number}: {error}") from error
        rows.append(row_type(**values))
    return tuple(rows)


def by_part(rows: Iterable[Row], part: str, figure: str) -> dict[str, dict[str, Row]]:
    """Return rows of one figure each by the member naming their part, then by that naming the figure."""
    found: dict[str, dict[str, Row]] = {}
    for row in rows:
        found.setdefault(getattr(row, part), {})[getattr(row, figure)] = row
    return found


def _check_provenance(place: str, source: str, locator: str, status: str) -> None:
    """Refuse a row whose source, locator or status is missing or unknown."""
    if status not in STATUSES:
        raise TableError(f"{place}: status {status!r} is none of {', '.join(STATUSES)}")
    wanted = NO_DOCUMENT.get(status)
    if wanted is not None:
        if source != wanted:
            raise TableError(f"{place}: status {status!r} goes with the source {wanted}")
        return
    if source in NO_DOCUMENT.values() or source not in _source_keys():
        raise TableError(f"{place}: source {source!r} is not in sources.toml")
    if not locator:
        raise TableError(f"{place}: the place in {source} is missing")
