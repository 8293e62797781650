"""Tables: CSV in, the same CSV with the answers beside it out, row by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from flask import Blueprint, Response, request

from lampwright.api import incoming, outgoing
from lampwright.api.problems import parameter_fault
from lampwright.contract.calculations import offered
from lampwright.contract.faults import RefusalError
from lampwright.contract.fields import BROKEN
from lampwright.contract.table import Table

MAX_TABLE = 16 * 1024 * 1024
_CHUNK = 64 * 1024


def _records(raw: bytes) -> list[list[str]]:
    """Return the cells of a table."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        hint = "save the table as CSV in UTF-8"
        raise RefusalError.single((), f"is not UTF-8 at byte {error.start}", hint, status=BROKEN) from None
    if "\0" in text:
        raise RefusalError.single((), "holds a NUL character", "send plain CSV", status=BROKEN)
    first = text.partition("\n")[0]
    # A spreadsheet set to a decimal comma parts cells by semicolons; lists keep theirs in quotes then.
    delimiter = ";" if ";" in first and "," not in first else ","
    try:
        lines = text.replace("\r\n", "\n").replace("\r", "\n")
        return list(csv.reader(io.StringIO(lines, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise RefusalError.single((), f"is not CSV: {error}", "send plain CSV", status=BROKEN) from None


def _chunks(table: Table, records: list[list[str]]) -> Iterator[bytes]:
    """Yield the answered table in pieces of some size."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(table.columns)
    for record in records:
        if any(record):
            writer.writerow(table.row(record))
        if out.tell() > _CHUNK:
            yield out.getvalue().encode()
            out.seek(0)
            out.truncate()
    yield out.getvalue().encode()


def answer(calculation: str) -> Response:
    """Answer a table."""
    for unknown in incoming.query_texts(request):
        return parameter_fault(unknown[:100], "is not known here", "a table has no parameters")
    outgoing.form_wanted(request.environ.get("HTTP_ACCEPT"), ("csv",))
    incoming.require_type(request, "text/csv")
    records = _records(incoming.body_bytes(request, MAX_TABLE))
    if not records or not any(records[0]):
        raise RefusalError.single((), "is empty", "send a header of names, then rows", status=BROKEN)
    table = Table(calculation, [name.strip() for name in records[0]])
    response = Response(_chunks(table, records[1:]), 200, content_type=outgoing.MEDIA["csv"])
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
