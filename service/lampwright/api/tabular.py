"""Tables: CSV in, the same CSV with the answers beside it out, row by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from itertools import islice

from flask import Blueprint, Response, request

from lampwright.api import incoming, outgoing
from lampwright.api.incoming import StatusError
from lampwright.api.problems import parameter_fault
from lampwright.contract.calculations import offered
from lampwright.contract.faults import RefusalError
from lampwright.contract.fields import BROKEN
from lampwright.contract.flat import line
from lampwright.contract.table import Table

MAX_TABLE = 16 * 1024 * 1024
#: Rows of one table where a row costs more than its bytes do: at most a minute's work.
MOST_ROWS = {"arrangements": 50_000, "wires": 200_000, "fuses": 200_000, "runtimes": 40_000}
#: Rows answered together, and bytes sent together.
_BLOCK = 64
_CHUNK = 32 * 1024


def _records(raw: bytes, most: int) -> Iterator[list[str]]:
    """Return the rows of a table, read one by one; all of it is looked through first."""
    if b"\0" in raw:
        raise RefusalError.single((), "holds a NUL character", "send plain CSV", status=BROKEN)
    first = raw[: raw.find(b"\n")] if b"\n" in raw else raw
    # A spreadsheet set to a decimal comma parts cells by semicolons; lists keep theirs in quotes then.
    delimiter = ";" if b";" in first and b"," not in first else ","

    def rows() -> Iterator[list[str]]:
        # Lines end in any of the three ways; nothing but one line at a time becomes a text.
        return csv.reader(io.TextIOWrapper(io.BytesIO(raw), "utf-8-sig"), delimiter=delimiter)

    try:
        count = sum(1 for record in rows() if any(record)) - 1
    except UnicodeDecodeError:
        hint = "save the table as CSV in UTF-8"
        raise RefusalError.single(
            (), f"is not UTF-8 at byte {_undecoded(raw)}", hint, status=BROKEN
        ) from None
    except csv.Error as error:
        raise RefusalError.single((), f"is not CSV: {error}", "send plain CSV", status=BROKEN) from None
    if count > most:
        raise StatusError(413, f"the table has {count} rows; send at most {most} at once")
    return rows()


def _undecoded(raw: bytes) -> int:
    """Return the first byte that is no UTF-8."""
    try:
        raw.decode()
    except UnicodeDecodeError as error:
        return error.start
    return len(raw)


def _chunks(table: Table, records: Iterator[list[str]]) -> Iterator[bytes]:
    """Yield the answered table in pieces of some size."""
    text = line(table.columns)
    while block := list(islice(records, _BLOCK)):
        text += "".join(map(line, table.rows([record for record in block if any(record)])))
        if len(text) > _CHUNK:
            yield text.encode()
            text = ""
    yield text.encode()


def answer(calculation: str) -> Response:
    """Answer a table."""
    for unknown in incoming.query_texts(request):
        return parameter_fault(unknown[:100], "is not known here", "a table has no parameters")
    outgoing.form_wanted(request.environ.get("HTTP_ACCEPT"), ("csv",))
    incoming.require_type(request, "text/csv")
    raw = incoming.body_bytes(request, MAX_TABLE)
    records = _records(raw, MOST_ROWS.get(calculation, MAX_TABLE))
    header = next(records, [])
    if not any(header):
        raise RefusalError.single((), "is empty", "send a header of names, then rows", status=BROKEN)
    table = Table(calculation, [name.strip() for name in header])
    response = Response(_chunks(table, records), 200, content_type=outgoing.MEDIA["csv"])
    response.headers["Cache-Control"] = "no-store"
    return response


def tabular() -> Blueprint:
    """Return the routes of the tables."""
    routes = Blueprint("tabular", __name__)
    for name, entry in offered().items():
        if entry.by_get:
            routes.add_url_rule(
                f"/v1/tables/{name}",
                f"{name}-table",
                lambda calculation=name: answer(calculation),
                methods=["POST"],
            )
    return routes
