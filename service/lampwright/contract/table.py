"""A table of questions, one a row: the answer's columns beside the asked ones, and why a row is bad."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from functools import cache

from lampwright.contract.answers import Display, Listed, Object, Out, answer_schema, dump
from lampwright.contract.calculations import offered, refusing, understand
from lampwright.contract.faults import Entry, RefusalError
from lampwright.contract.fields import BROKEN, UNTAKEABLE
from lampwright.contract.flat import flat, guarded
from lampwright.contract.query import by_name
from lampwright.planner.models.base import Finding

ERROR = "error"
_UNTOLD = ("working", "sources")


def _columns(kind: type, prefix: str, *, top: bool) -> list[str]:
    found = []
    for field in answer_schema(kind, top=top).fields.values():
        name = f"{prefix}{field.data_key}"
        if isinstance(field, Display) or field.data_key in _UNTOLD:
            continue
        if isinstance(field, Object):
            found += _columns(field.kind, f"{name}.", top=False)
        elif isinstance(field, Listed) and isinstance(field.inner, Object):
            if field.inner.kind is Finding:
                found.append(name)
        elif isinstance(field, Out):
            found.append(name)
    return found


@cache
def answer_columns(calculation: str) -> tuple[str, ...]:
    """Return the columns an answer of this calculation fills."""
    return tuple(_columns(offered()[calculation].parts().answer, "", top=True))


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
        added = [name for name in answer_columns(calculation) if name not in known]
        self.added = [*added, ERROR]
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
            inputs, ask = understand(self.calculation, members)
            with refusing(members):
                found = self.planner(ask)
        except RefusalError as error:
            return self._bad(told, "; ".join(map(_words, error.entries)))
        filled = flat(dump(inputs, found, working=False))
        return [*told, *(filled.get(name, "") for name in self.added[:-1]), ""]

    def _bad(self, told: list[str], why: str) -> list[str]:
        return [*told, *[""] * (len(self.added) - 1), guarded(why)]


def _words(entry: Entry) -> str:
    name = str(entry.path[0]) if entry.path else "row"
    hint = f" ({entry.hint})" if entry.hint else ""
    return f"{name} {entry.detail}{hint}"
