"""What comes in: JSON bodies and query strings, read strictly and never trusted.

A body is at most ``MAX_BODY`` bytes of UTF-8 JSON, ``MAX_DEPTH`` deep, no member twice. A query string has
no parameter twice. Everything else is refused by name.
"""

from __future__ import annotations

import json
import re
from typing import Any
from urllib.parse import parse_qsl

import orjson
from flask import Request

from lampwright.contract.faults import RefusalError
from lampwright.contract.fields import BROKEN

MAX_BODY = 256 * 1024
MAX_DEPTH = 12
MAX_QUERY = 8000
CONTROLS = ("format", "pick", "rows", "detail")

# Each member's name stands before a colon; where the two counts differ something is there twice,
# or a text looks like a member, and the slow reader says which.
_NAMES = re.compile(rb'(?<!\\)"[ \t\r\n]*:')


class StatusError(Exception):
    """A request that ends in a status of HTTP's own."""

    def __init__(self, status: int, detail: str, headers: dict[str, str] | None = None) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.headers = headers or {}


def body_bytes(request: Request, limit: int = MAX_BODY) -> bytes:
    """Return the body, or refuse one that is too large before it is read."""
    if (request.content_length or 0) > limit:
        raise StatusError(413, f"the body is larger than {limit} bytes")
    request.max_content_length = limit
    raw = request.get_data(cache=False)
    if len(raw) > limit:
        raise StatusError(413, f"the body is larger than {limit} bytes")
    return raw


def require_type(request: Request, wanted: str) -> None:
    """Refuse a body that does not say it is of the wanted media type, in UTF-8."""
    kind, _, rest = (request.headers.get("Content-Type") or "").partition(";")
    if kind.strip().lower() != wanted or request.headers.get("Content-Encoding", "identity") != "identity":
        raise StatusError(415, f"send the body as Content-Type: {wanted}", {"Accept-Post": wanted})
    if rest:
        for part in rest.split(";"):
            name, _, value = part.strip().partition("=")
            if name.lower() == "charset" and value.strip('"').lower() not in ("utf-8", "utf8", "us-ascii"):
                raise StatusError(415, "send the body in UTF-8", {"Accept-Post": wanted})


def json_body(request: Request) -> Any:
    """Return the members of a JSON body."""
    content_type = request.environ.get("CONTENT_TYPE", "")
    if content_type != "application/json" or "HTTP_CONTENT_ENCODING" in request.environ:
        require_type(request, "application/json")
    return parsed(body_bytes(request))


def parsed(raw: bytes) -> Any:
    """Return JSON as Python, or refuse it by name."""
    try:
        found = orjson.loads(raw)
    except orjson.JSONDecodeError as error:
        place = f"is not JSON: {error.msg[:80]} at line {error.lineno}, column {error.colno}"
        raise RefusalError.single((), place, "send a JSON object in UTF-8", status=BROKEN) from None
    if _count(found, 1) != len(_NAMES.findall(raw)):
        json.loads(raw, object_pairs_hook=_once)
    return found


def _count(value: Any, depth: int) -> int:
    """Return how many members there are at all depths."""
    if depth > MAX_DEPTH:
        raise RefusalError.single(
            (), f"is more than {MAX_DEPTH} objects and lists deep", "see the schema", status=BROKEN
        )
    kind = type(value)
    if kind is dict:
        total = len(value)
        for item in value.values():
            if type(item) is dict or type(item) is list:
                total += _count(item, depth + 1)
        return total
    if kind is list:
        return sum(_count(item, depth + 1) for item in value if type(item) is dict or type(item) is list)
    return 0


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse a member that stands twice in one object."""
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise RefusalError.single((name[:100],), "stands twice", "send each member once", status=BROKEN)
        found[name] = value
    return found


def query_texts(request: Request) -> dict[str, str]:
    """Return the parameters of the query string, each at most once."""
    raw = request.environ.get("QUERY_STRING", "")
    if not raw:
        return {}
    if len(raw) > MAX_QUERY:
        raise StatusError(414, f"the query string is longer than {MAX_QUERY} characters")
    try:
        pairs = parse_qsl(raw, keep_blank_values=True, errors="strict", max_num_fields=100)
    except UnicodeDecodeError:
        raise RefusalError.single((), "is not UTF-8", "percent-encode UTF-8", status=BROKEN) from None
    except ValueError:
        raise RefusalError.single((), "has too many parameters", "send at most 100", status=BROKEN) from None
    found: dict[str, str] = {}
    for name, value in pairs:
        if name in found:
            raise RefusalError.single(
                (name[:100],), "stands twice", "send it once, parts of a list parted by ;", status=BROKEN
            )
        found[name] = value
    return found
