"""The short way: plain questions answered in front of the framework, everything else inside it.

Two kinds of request make up nearly all of the traffic: a GET that was asked before, and a sound POST of
JSON that wants JSON. They are answered here, by the same functions. At anything unusual (a form, a
conditional GET, a body that is not taken, an error) the request goes on to Flask as if it had just come in,
so that there is one place for refusals. A test holds both ways equal.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from io import BytesIO
from typing import Any

from lampwright.api.calling import KEPT, OFFERS
from lampwright.api.incoming import MAX_BODY
from lampwright.api.limiting import REFUSED, Limit
from lampwright.api.outgoing import ANY, MEDIA
from lampwright.api.service import Surround, request_id_of

Start = Callable[..., Any]
Wsgi = Callable[[dict[str, Any], Start], Iterable[bytes]]

_SHORT = {"": True, "detail=full": True, "detail=short": False}
_EVERY = Surround.plain_headers()
_KEPT = (("Cache-Control", "public, max-age=3600"), ("Vary", "Accept"), *_EVERY)
_FRESH = (
    ("Content-Type", MEDIA["json"]),
    ("Cache-Control", "no-store"),
    ("Vary", "Accept"),
    *_EVERY,
)


class Front:
    """A WSGI application around the service."""

    def __init__(self, app: Wsgi, around: Surround, limit: Limit | None = None) -> None:
        self.app = app
        self.around = around
        self.limit = limit

    def __call__(self, environ: dict[str, Any], start_response: Start) -> Iterable[bytes]:
        """Answer a plain question, or ask the service."""
        begun = time.perf_counter()
        method = environ["REQUEST_METHOD"]
        if self.limit is not None and (wait := self.limit.wait(environ)):
            environ[REFUSED] = wait
            return self.app(environ, start_response)
        said = None
        if method == "GET":
            said = self._kept(environ)
        elif method == "POST":
            said = self._fresh(environ)
        if said is None:
            return self.app(environ, start_response)
        body, headers = said
        request_id = request_id_of(environ)
        headers.append(("Content-Length", str(len(body))))
        headers.append(("X-Request-Id", request_id))
        self.around.note(method, environ["PATH_INFO"], 200, time.perf_counter() - begun, request_id)
        start_response("200 OK", headers)
        return [body]

    @staticmethod
    def _kept(environ: dict[str, Any]) -> tuple[bytes, list[tuple[str, str]]] | None:
        """Return the answer to a question that was asked before."""
        if "HTTP_IF_NONE_MATCH" in environ:
            return None
        key = (environ["PATH_INFO"], environ.get("QUERY_STRING", ""), environ.get("HTTP_ACCEPT", ""))
        kept = KEPT.get(key)
        if kept is None:
            return None
        body, media, tag = kept
        return body, [("Content-Type", media), ("ETag", tag), *_KEPT]

    @staticmethod
    def _fresh(environ: dict[str, Any]) -> tuple[bytes, list[tuple[str, str]]] | None:
        """Return the answer to a sound JSON question that wants JSON."""
        offer = OFFERS.get(environ["PATH_INFO"])
        working = _SHORT.get(environ.get("QUERY_STRING", ""))
        if (
            offer is None
            or working is None
            or environ.get("CONTENT_TYPE") != "application/json"
            or environ.get("HTTP_ACCEPT") not in ANY
            or "HTTP_CONTENT_ENCODING" in environ
        ):
            return None
        length = environ.get("CONTENT_LENGTH") or ""
        if not length.isdecimal() or len(length) > 9 or int(length) > MAX_BODY:
            return None
        raw = environ["wsgi.input"].read(int(length))
        try:
            return offer.plain(raw, working=working), list(_FRESH)
        except Exception:  # asked again inside, where it is told or logged
            environ["wsgi.input"] = BytesIO(raw)
            return None
