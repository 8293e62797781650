"""A table of questions, one a row: the answer's columns beside the asked ones, and why a row is bad."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from difflib import get_close_matches
from functools import cache
from operator import attrgetter
from typing import Any

from lampwright.contract.answers import Display, Listed, Object, Out, Scaled, answer_schema
from lampwright.contract.calculations import offered, read, refusing
from lampwright.contract.faults import Entry, RefusalError
from lampwright.contract.fields import BROKEN, UNTAKEABLE, plain_number
from lampwright.contract.flat import cell, guarded
from lampwright.contract.query import by_name
from lampwright.planner.models.base import Finding

ERROR = "error"
_UNTOLD = ("working", "sources")


#: Writes one cell of an answer.
Cell = Callable[[Any], str]


def _number(path: str, factor: Callable[[float], float]) -> Cell:
    reach = attrgetter(path)

    def write(found: Any) -> str:
        value = reach(found)
        return "" if value is None else plain_number(factor(value))

    return write


def _codes(path: str) -> Cell:
    reach = attrgetter(path)
    return lambda found: ";".join(finding.code for finding in reach(found))


def _other(path: str, field: Out) -> Cell:
    reach = attrgetter(path)
    return lambda found: cell(field._serialize(reach(found), None, found))


def _within(path: str, inner: Cell) -> Cell:
    reach = attrgetter(path)

    def write(found: Any) -> str:
        whole = reach(found)
        return "" if whole is None else inner(whole)

    return write


def _cells(kind: type, *, top: bool) -> dict[str, Cell]:
    """Return how to write each column of an answer: what ``flat`` makes of it, without the detour."""
    found: dict[str, Cell] = {}
    for field in answer_schema(kind, top=top).fields.values():
        name, path = str(field.data_key), str(field.attribute)
        if isinstance(field, Display) or name in _UNTOLD:
            continue
        if isinstance(field, Object):
            for inside, write in _cells(field.kind, top=False).items():
                found[f"{name}.{inside}"] = _within(path, write)
        elif isinstance(field, Listed) and isinstance(field.inner, Object):
            if field.inner.kind is Finding:
                found[name] = _codes(path)
        elif isinstance(field, Scaled):
            found[name] = _number(path, field.unit.outer)
        elif isinstance(field, Out):
            found[name] = _other(path, field)
    return found


@cache
def answer_cells(calculation: str) -> dict[str, Cell]:
    """Return how to write each column that an answer of this calculation fills."""
    return _cells(offered()[calculation].parts().answer, top=True)


def table_pattern(calculation: str) -> str:
    """Return the pattern of a table: a header of known names, then anything that is plain CSV.

    Names that hold commas do not exist, so the header needs no quotes.
    """
    names = "|".join(by_name(calculation))
    return f'^(?:{names})(?:,(?:{names}))*(?:\\r?\\n[^\\u0000"]*)?$'


class Table:
    """A table with a header; ``row`` answers one row after the other.

    Raises
    ------
    RefusalError
        If the header has a name that is not known, or one twice.
    """

    def __init__(self, calculation: str, header: Sequence[str]) -> None:
        self.calculation = calculation
        self.header = list(header)
        self.fields = by_name(calculation)
        self._check()
        known = set(header)
        cells = {name: write for name, write in answer_cells(calculation).items() if name not in known}
        self.added = [*cells, ERROR]
        self.cells = tuple(cells.values())
        self.columns = [*self.header, *self.added]
        self.planner = offered()[calculation].parts().planner

    def _check(self) -> None:
        faults = []
        for index, name in enumerate(self.header):
            near = get_close_matches(name[:60].lower(), list(self.fields), n=1, cutoff=0.6)
            if name not in self.fields:
                hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(self.fields)}"
                faults.append(
                    Entry(
                        ("header", index),
                        "is no column that is known here",
                        name[:100],
                        hint,
                        near[0] if near else None,
                        BROKEN,
                    )
                )
            elif name in self.header[:index]:
                faults.append(
                    Entry(("header", index), "stands twice", name, "give each column once", None, UNTAKEABLE)
                )
        if faults:
            raise RefusalError(faults)

    def row(self, cells: Sequence[str]) -> list[str]:
        """Return a row with its answer, or with what is wrong with it."""
        told = [guarded(cell) for cell in cells[: len(self.header)]]
        told += [""] * (len(self.header) - len(told))
        if len(cells) > len(self.header):
            return self._bad(told, f"{len(cells)} cells under {len(self.header)} names")
        members = {
            name: self.fields[name].coerced(cell)
            for name, cell in zip(self.header, cells, strict=False)
            if cell.strip()
        }
        try:
            ask = read(self.calculation, members)
            with refusing(members):
                found = self.planner(ask)
        except RefusalError as error:
            return self._bad(told, "; ".join(map(_words, error.entries)))
        return [*told, *(write(found) for write in self.cells), ""]

    def _bad(self, told: list[str], why: str) -> list[str]:
        return [*told, *[""] * (len(self.added) - 1), guarded(why)]


def _words(entry: Entry) -> str:
    name = str(entry.path[0]) if entry.path else "row"
    hint = f" ({entry.hint})" if entry.hint else ""
    return f"{name} {entry.detail}{hint}"
