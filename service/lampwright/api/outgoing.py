"""What goes out: the form a caller wants, caching, and the headers every answer has."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from hashlib import blake2b
from typing import Any

import orjson
from flask import Request, Response

from lampwright.api.incoming import StatusError

MEDIA = {
    "json": "application/json",
    "csv": "text/csv; charset=utf-8; header=present",
    "html": "text/html; charset=utf-8",
    "text": "text/plain; charset=utf-8",
    "svg": "image/svg+xml; charset=utf-8",
    "spice": "application/x-spice; charset=utf-8",
    "pdf": "application/pdf",
}
_BARE = {form: media.partition(";")[0] for form, media in MEDIA.items()}
ANY = (None, "", "*/*", "application/json")

# A printed sheet carries its own style and nothing else; nothing we answer may run or load anything.
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)


@lru_cache(maxsize=512)
def _weights(accept: str) -> tuple[tuple[str, float], ...]:
    found = []
    for part in accept.split(",")[:50]:
        media, _, rest = part.strip().partition(";")
        quality = 1.0
        match = re.search(r"(?:^|;)\s*q\s*=\s*([0-9.]+)", rest)
        if match:
            try:
                quality = min(1.0, float(match[1]))
            except ValueError:
                quality = 0.0
        found.append((media.strip().lower(), quality))
    return tuple(found)


def _quality(media: str, accept: str) -> tuple[float, int]:
    """Return how much a media type is wanted, and how exactly it was named."""
    best = (0.0, -1)
    for pattern, quality in _weights(accept):
        kind = media.partition("/")[0]
        exact = 2 if pattern == media else 1 if pattern == f"{kind}/*" else 0 if pattern == "*/*" else -1
        if exact > best[1]:
            best = (quality, exact)
    return best


def form_wanted(accept: str | None, forms: tuple[str, ...], missing: Mapping[str, str] | None = None) -> str:
    """Return the form that suits an Accept header best; the first of ``forms`` where nothing is said.

    Of what suits equally, what is named most exactly comes first, then what stands first in ``forms``.
    Forms that are ``missing`` on this machine are left out; where only they suit, how to have them is told.

    Raises
    ------
    StatusError
        406, if none does.
    """
    if accept in ANY and forms[0] == "json":
        return "json"
    if not accept:
        return forms[0]
    ranked = [(_quality(_BARE[form], accept), -index, form) for index, form in enumerate(forms)]
    made = [entry for entry in ranked if entry[2] not in (missing or {})]
    (quality, _), _, form = max(made, key=lambda entry: (entry[0][0], entry[0][1], entry[1]))
    if quality <= 0:
        for (wanted, _), _, other in ranked:
            if missing and other in missing and wanted > 0:
                raise StatusError(406, missing[other], {"Vary": "Accept"})
        known = ", ".join(_BARE[form] for form in forms)
        raise StatusError(406, f"send Accept with one of {known}", {"Vary": "Accept"})
    return form


def json_bytes(answer: Mapping[str, Any]) -> bytes:
    """Return an answer as JSON."""
    return orjson.dumps(answer)


def etag_of(body: bytes) -> str:
    """Return a tag that changes with the body."""
    return f'"{blake2b(body, digest_size=12).hexdigest()}"'


def same_tag(header: str | None, tag: str) -> bool:
    """Return whether If-None-Match names a tag; compared weakly (RFC 9110, 13.1.2)."""
    if not header:
        return False
    if header.strip() == "*":
        return True
    return tag in (part.strip().removeprefix("W/") for part in header.split(","))


def cacheable(request: Request, body: bytes, media: str, tag: str, seconds: int = 3600) -> Response:
    """Return a response that may be kept, or 304 where the caller has it already."""
    if same_tag(request.headers.get("If-None-Match"), tag):
        response = Response(status=304)
    else:
        response = Response(body, 200, content_type=media)
    response.headers["ETag"] = tag
    response.headers["Cache-Control"] = f"public, max-age={seconds}"
    response.headers["Vary"] = "Accept"
    return response


def uncached(body: bytes | str, media: str) -> Response:
    """Return the response to a POST."""
    response = Response(body, 200, content_type=media)
    response.headers["Cache-Control"] = "no-store"
    response.headers["Vary"] = "Accept"
    return response


Writer = Callable[[Mapping[str, Any]], str]
