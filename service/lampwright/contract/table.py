"""A table of questions, one a row: the answer's columns beside the asked ones, and why a row is bad."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from difflib import get_close_matches
from functools import cache, lru_cache
from operator import attrgetter
from typing import Any

import orjson

from lampwright.contract.answers import AsIs, Display, Listed, Object, Out, Scaled, answer_schema
from lampwright.contract.calculations import offered, rows_found
from lampwright.contract.faults import Entry, RefusalError
from lampwright.contract.fields import BROKEN, UNTAKEABLE, plain_number
from lampwright.contract.flat import cell, guarded
from lampwright.contract.query import by_name
from lampwright.planner.models.base import Finding

ERROR = "error"
_UNTOLD = ("working", "sources")


#: Writes one cell of an answer, or all of them.
Cell = Callable[[Any], str]
Cells = Callable[[Any], list[str]]


def told(numbers: list[float | int | None]) -> list[str]:
    """Return numbers as cells; all at once, since one by one they take longer than the sums behind them.

    >>> told([20.0, 0.1, 3]), told([20.0, None, 1e-7])
    (['20', '0.1', '3'], ['20', '', '1e-07'])
    """
    text = orjson.dumps(numbers).decode()
    # Here the quick writer and Python's own part ways: exponents, long zeros, what is not there.
    if "e" in text or "0.0000" in text or "null" in text:
        return ["" if number is None else plain_number(number) for number in numbers]
    return text[1:-1].replace(".0,", ",").removesuffix(".0").split(",")


def _is_number(field: Out) -> bool:
    return isinstance(field, Scaled) or (isinstance(field, AsIs) and field.types == (int,))


def _is_several(field: Out) -> bool:
    return isinstance(field, Listed) and isinstance(field.inner, Scaled)


def _codes(path: str) -> Cell:
    reach = attrgetter(path)
    return lambda found: ";".join([finding.code for finding in reach(found)])


def several(numbers: list[float | int | None] | None) -> str:
    """Return a list of numbers as one cell."""
    return guarded(";".join(told(numbers))) if numbers else ""


def _texts(path: str) -> Cell:
    """Return how to write a list that is nearly always one of texts."""
    reach = attrgetter(path)

    def write(found: Any) -> str:
        values = reach(found)
        if values is None:
            return ""
        try:
            return guarded(";".join(values))
        except TypeError:  # a light sent as an object
            return cell(list(values))

    return write


def _other(path: str, field: Out) -> Cell:
    reach = attrgetter(path)
    return lambda found: cell(field._serialize(reach(found), None, found))


def _within(path: str, inner: Cell) -> Cell:
    reach = attrgetter(path)

    def write(found: Any) -> str:
        whole = reach(found)
        return "" if whole is None else inner(whole)

    return write


def _columns(kind: type, *, top: bool) -> dict[str, Out | Cell]:
    """Return the columns of an answer: a number's field, or how to write anything else.

    They are what ``flat`` makes of the answer, without the detour.
    """
    found: dict[str, Out | Cell] = {}
    for field in answer_schema(kind, top=top).fields.values():
        name, path = str(field.data_key), str(field.attribute)
        if isinstance(field, Display) or name in _UNTOLD:
            continue
        if isinstance(field, Object):
            for inside, write in _columns(field.kind, top=False).items():
                alone = _other(str(write.attribute), write) if isinstance(write, Out) else write
                found[f"{name}.{inside}"] = _within(path, alone)
        elif isinstance(field, Listed) and isinstance(field.inner, Object):
            if field.inner.kind is Finding:
                found[name] = _codes(path)
        elif isinstance(field, Listed) and isinstance(field.inner, AsIs):
            found[name] = _texts(path)
        elif isinstance(field, Out):
            found[name] = field if _is_number(field) or _is_several(field) else _other(path, field)
    return found


@cache
def answer_columns(calculation: str) -> dict[str, Out | Cell]:
    """Return the columns that an answer of this calculation fills."""
    return _columns(offered()[calculation].parts().answer, top=True)


@lru_cache(maxsize=256)
def cells_of(calculation: str, names: tuple[str, ...]) -> Cells:
    """Return a plain function that writes some columns of an answer, one expression a column."""
    columns = answer_columns(calculation)
    known: dict[str, Any] = {"told": told, "several": several}
    numbers: list[str] = []
    cells: list[str] = []
    for index, name in enumerate(names):
        column = columns[name]
        if isinstance(column, Listed):
            cells.append(f"several({column.expression(f'a.{column.attribute}', known)})")
        elif isinstance(column, Out):
            cells.append(f"n[{len(numbers)}]")
            numbers.append(column.expression(f"a.{column.attribute}", known))
        else:
            known[f"write_{index}"] = column
            cells.append(f"write_{index}(a)")
    source = f"def cells(a):\n    n = told([{', '.join(numbers)}])\n    return [{', '.join(cells)}]\n"
    exec(compile(source, f"<cells of {calculation}>", "exec"), known)  # noqa: S102 - our own text
    made: Cells = known["cells"]
    return made


def table_pattern(calculation: str) -> str:
    """Return the pattern of a table: a header of known names, then anything that is plain CSV.

    Names that hold commas do not exist, so the header needs no quotes.
    """
    names = "|".join(by_name(calculation))
    return f'^(?:{names})(?:,(?:{names}))*(?:\\r?\\n[^\\u0000"]*)?$'


class Table:
    """A table with a header; ``rows`` answers some rows at a time.

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
        names = tuple(name for name in answer_columns(calculation) if name not in known)
        self.cells = cells_of(calculation, names)
        # A column of both kinds: what a row leaves out of it is found.
        self.both = [place for place, name in enumerate(self.header) if name in answer_columns(calculation)]
        self.left_out = cells_of(calculation, tuple(self.header[place] for place in self.both))
        self.columns = [*self.header, *names, ERROR]
        self.empty = [""] * len(names)
        self.coerced = [(name, self.fields[name].coerced) for name in self.header]
        self.parts = offered()[calculation].parts()

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

    def rows(self, block: Sequence[Sequence[str]]) -> list[list[str]]:
        """Return some rows, each with its answer or with what is wrong with it."""
        width = len(self.header)
        requests = [
            {
                name: coerced(cell)
                for (name, coerced), cell in zip(self.coerced, cells, strict=False)
                if cell and not cell.isspace()
            }
            for cells in block
        ]
        told_rows = []
        for cells, found in zip(block, rows_found(self.parts, requests), strict=True):
            sent = [guarded(cell) for cell in cells[:width]]
            sent += [""] * (width - len(sent))
            if len(cells) > width:
                why = f"{len(cells)} cells under {width} names"
            elif type(found) is RefusalError:
                why = "; ".join(map(_words, found.entries))
            else:
                if self.both:
                    self._fill(sent, found)
                told_rows.append([*sent, *self.cells(found), ""])
                continue
            told_rows.append([*sent, *self.empty, guarded(why)])
        return told_rows

    def _fill(self, sent: list[str], found: Any) -> None:
        """Put what was found where a row left out what may be sent, too; what was sent stands as it is."""
        empty = [not sent[place] or sent[place].isspace() for place in self.both]
        if any(empty):
            for place, blank, text in zip(self.both, empty, self.left_out(found), strict=True):
                if blank:
                    sent[place] = text


def _words(entry: Entry) -> str:
    name = str(entry.path[0]) if entry.path else "row"
    hint = f" ({entry.hint})" if entry.hint else ""
    return f"{name} {entry.detail}{hint}"
