"""Errors as ``application/problem+json`` (RFC 9457): one shape, every bad field at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import orjson
from flask import Response, g, request
from werkzeug.exceptions import HTTPException

from lampwright.contract.faults import Entry, RefusalError

#: A refusal is never many times larger than what it refuses.
MOST_ENTRIES = 100

DOCS = "/docs/reference/problems.html"


@dataclass(frozen=True)
class ProblemType:
    """One kind of problem: its word, status, title and what it means."""

    word: str
    status: int
    title: str
    meaning: str


TYPES: dict[int, ProblemType] = {
    kind.status: kind
    for kind in (
        ProblemType(
            "invalid-request",
            400,
            "The request breaks the schema",
            "A member is missing, unknown, of the wrong kind or unit, or out of bounds. Each is named.",
        ),
        ProblemType(
            "not-found",
            404,
            "Nothing is here",
            "No calculation, list or page has this path.",
        ),
        ProblemType(
            "method-not-allowed",
            405,
            "This method is not taken here",
            "The Allow header says which are.",
        ),
        ProblemType(
            "not-acceptable",
            406,
            "None of the forms asked for is made here",
            "The hint says which forms there are.",
        ),
        ProblemType(
            "too-large",
            413,
            "The request is too large",
            "The hint says how much is taken.",
        ),
        ProblemType(
            "uri-too-long",
            414,
            "The address is too long",
            "Send the same members by POST instead.",
        ),
        ProblemType(
            "unsupported-media-type",
            415,
            "The body is in a form that is not read here",
            "Send JSON in UTF-8, or a table as text/csv.",
        ),
        ProblemType(
            "cannot-be-taken",
            422,
            "Sound alone, but it cannot be taken",
            "A text is out of bounds, or members contradict each other. Each is named.",
        ),
        ProblemType(
            "too-many-requests",
            429,
            "Too many requests",
            "Wait as long as the Retry-After header says.",
        ),
        ProblemType(
            "internal",
            500,
            "Something went wrong on our side",
            "Nothing is known to be wrong with the request. The request id helps to find the cause.",
        ),
        ProblemType(
            "overloaded",
            503,
            "The service cannot take this now",
            "Wait as long as the Retry-After header says.",
        ),
    )
}


TOO_COSTLY = ProblemType(
    "too-costly",
    422,
    "Sound, but too much for one answer",
    "It would take too long to work out. What it asks for was counted before it was begun, so the same "
    "question is always told so; the hint says how much is taken at once.",
)
EVERY = (*TYPES.values(), TOO_COSTLY)


def problem(
    status: int,
    detail: str = "",
    errors: list[dict[str, Any]] | None = None,
    headers: Mapping[str, str] | None = None,
    kind: ProblemType | None = None,
) -> Response:
    """Return a problem as a response; of the usual kind of its status, unless told otherwise."""
    kind = kind or TYPES.get(status) or TYPES[500 if status >= 500 else 400]
    body: dict[str, Any] = {
        "type": f"{DOCS}#{kind.word}",
        "title": kind.title,
        "status": status,
        "detail": detail or kind.meaning,
        "instance": f"urn:request:{getattr(g, 'request_id', '-')}",
        "errors": errors or [],
    }
    response = Response(orjson.dumps(body), status, content_type="application/problem+json")
    response.headers["Cache-Control"] = "no-store"
    for name, value in (headers or {}).items():
        response.headers[name] = value
    return response


def _entry(entry: Entry, by_query: bool) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if by_query:
        found["parameter"] = str(entry.path[0]) if entry.path else ""
    else:
        found["pointer"] = entry.pointer
    found.update(detail=entry.detail, value=entry.value, hint=entry.hint, suggestion=entry.suggestion)
    return found


def refused(error: RefusalError, *, by_query: bool = False) -> Response:
    """Return a refusal with all of its faults as a response."""
    entries = [_entry(entry, by_query) for entry in error.entries[:MOST_ENTRIES]]
    first = error.entries[0]
    name = (str(first.path[0]) if by_query else first.pointer) if first.path else "the request"
    count = len(error.entries) - 1
    more = f" (and {count} more)" if count else ""
    kind = TOO_COSTLY if error.costly else None
    return problem(error.status, f"{name} {first.detail}{more}", entries, kind=kind)


def http_error(error: HTTPException) -> Response:
    """Return an error of the framework in the same shape."""
    status = error.code or 500
    headers = {}
    allowed = getattr(error, "valid_methods", None)
    if status == 405 and allowed:
        headers["Allow"] = ", ".join(sorted(allowed))
    detail = f"nothing is at {request.path[:200]}" if status == 404 else ""
    return problem(status, detail, headers=headers)


def parameter_fault(
    name: str, detail: str, hint: str, value: object = None, suggestion: object = None, *, status: int = 400
) -> Response:
    """Return the refusal of one query parameter."""
    entry = {"parameter": name, "detail": detail, "value": value, "hint": hint, "suggestion": suggestion}
    return problem(status, f"{name} {detail}", [entry])
