"""One value or one table row out of an answer: ``pick``, ``rows`` and CSV.

Numbers go out as they are; a text that a spreadsheet would take for a formula is guarded (CWE-1236).
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from lampwright.contract.fields import plain_number

SKIPPED = ("display", "working")
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


class NoSuchValueError(Exception):
    """A path leads to nothing, or to something that is not one value."""

    def __init__(self, detail: str, hint: str) -> None:
        super().__init__(detail)
        self.detail = detail
        self.hint = hint


def cell(value: object) -> str:
    """Return a plain value as the text of a cell.

    >>> cell(20.0), cell(True), cell(None), cell("=1+1"), cell([1.5, 2.0])
    ('20', 'true', '', "'=1+1", '1.5;2')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return plain_number(value)
    if isinstance(value, list):
        return guarded(";".join(_part(item) for item in value))
    return str(value)


def _part(value: object) -> str:
    if isinstance(value, Mapping):
        return str(value.get("code") or value.get("name") or "light")
    return value if isinstance(value, str) else cell(value)


def guarded(text: str) -> str:
    """Return a text that no spreadsheet runs as a formula; numbers stay numbers."""
    if text.startswith(_FORMULA):
        try:
            float(text)
        except ValueError:
            return "'" + text
    return text


def _objects(value: object) -> bool:
    return isinstance(value, list) and any(isinstance(item, Mapping) for item in value)


def flat(members: Mapping[str, Any], prefix: str = "") -> dict[str, str]:
    """Return members as cells, objects as ``object.member``; lists of objects have no cell."""
    found: dict[str, str] = {}
    for name, value in members.items():
        if name in SKIPPED:
            continue
        if name == "findings" or name == "leds":
            found[prefix + name] = cell(value)
        elif isinstance(value, Mapping):
            # A light's figures stand flat, as they do in a query string.
            found.update(flat(value, prefix if name == "led" else f"{prefix}{name}."))
        elif not _objects(value):
            found[prefix + name] = cell(value)
    return found


def flat_answer(answer: Mapping[str, Any]) -> dict[str, str]:
    """Return the one row of an answer: inputs, then what was found."""
    row = flat(answer["inputs"])
    row.update(flat({name: value for name, value in answer.items() if name != "inputs"}))
    return row


def written(columns: Sequence[str], rows: Iterable[Mapping[str, str]]) -> str:
    """Return CSV with a header."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([row.get(column, "") for column in columns])
    return out.getvalue()


def line(cells: Sequence[str]) -> str:
    r"""Return one row of CSV: what the library's writer makes of it, at once where nothing needs quotes.

    >>> line(["red_5mm", "330"]), line(["a,b", "2"])
    ('red_5mm,330\r\n', '"a,b",2\r\n')
    """
    text = ",".join(cells)
    if text.count(",") == len(cells) - 1 > 0 and not ("\n" in text or '"' in text or "\r" in text):
        return text + "\r\n"
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(cells)
    return out.getvalue()


def reached(answer: Mapping[str, Any], path: str) -> tuple[Any, str | None]:
    """Return the value at a path, and the code of a stop on the way to it, if there is one.

    Raises
    ------
    NoSuchValueError
        If nothing stands there.
    """
    here: Any = answer
    stop = _stop(here)
    for step in path.split("."):
        if isinstance(here, Mapping) and step in here:
            here = here[step]
        elif isinstance(here, list) and step.isdecimal() and len(step) < 6 and int(step) < len(here):
            here = here[int(step)]
        elif stop and (here is None or (isinstance(here, list) and step.isdecimal())):
            # What is not there because of a stop is answered by the stop.
            return None, stop
        else:
            raise NoSuchValueError(f"there is no {step} in this answer", _known(here))
        stop = stop or (_stop(here) if isinstance(here, Mapping) else None)
    return here, stop


def _known(here: object) -> str:
    if isinstance(here, Mapping):
        return f"known here: {', '.join(list(map(str, here))[:40])}"
    if isinstance(here, list):
        return f"a number from 0 to {len(here) - 1} is known here" if here else "the list is empty"
    return "this is a plain value"


def _stop(members: Mapping[str, Any]) -> str | None:
    findings = members.get("findings")
    if isinstance(findings, list):
        for finding in findings:
            if isinstance(finding, Mapping) and finding.get("severity") == "stop":
                return str(finding["code"])
    return None


def pick(answer: Mapping[str, Any], path: str) -> str:
    """Return one value as plain text, or ``stop: CODE`` where the answer holds a stop.

    Raises
    ------
    NoSuchValueError
        If the path does not lead to one value.
    """
    value, stop = reached(answer, path)
    if stop:
        return f"stop: {stop}"
    # Lights sent as objects are told by a word, as in a cell.
    if isinstance(value, Mapping) or (_objects(value) and path.rpartition(".")[2] != "leds"):
        raise NoSuchValueError(f"{path} is not one value", _known(value))
    return cell(value)


def rows(answer: Mapping[str, Any], path: str) -> str:
    """Return a list of objects as CSV, a row each.

    Raises
    ------
    NoSuchValueError
        If the path does not lead to a list of objects.
    """
    value, _ = reached(answer, path)
    if value is None:
        value = []
    if not isinstance(value, list) or (value and not _objects(value)):
        raise NoSuchValueError(f"{path} is not a list of objects", "use pick for one value")
    lines = [flat(item) for item in value]
    columns = list(dict.fromkeys(column for line in lines for column in line))
    return written(columns, lines)
