"""What surrounds every answer: request ids, headers, counts, log lines, errors; and the health of it all."""

from __future__ import annotations

import os
import re
import sys
import time
from typing import Any

import orjson
from flask import Blueprint, Flask, Response, g, request
from werkzeug.exceptions import HTTPException

from lampwright import __version__
from lampwright.api.counting import Counts
from lampwright.api.incoming import StatusError
from lampwright.api.limiting import REFUSED
from lampwright.api.outgoing import POLICY
from lampwright.api.problems import http_error, problem, refused
from lampwright.contract.faults import RefusalError

_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_GETS = ("GET", "HEAD")

#: Every answer has these: nothing sniffed, framed or sent on; any page may read, none with credentials.
HEADERS = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Access-Control-Allow-Origin", "*"),
    ("Access-Control-Expose-Headers", "ETag, X-Request-Id, Retry-After"),
    ("Cross-Origin-Resource-Policy", "cross-origin"),
)


def request_id_of(environ: dict[str, Any]) -> str:
    """Return the id the caller gave a request, if it is a plain one, else a new one."""
    sent = environ.get("HTTP_X_REQUEST_ID")
    return sent if sent and _ID.fullmatch(sent) else os.urandom(8).hex()


def _unread(environ: dict[str, Any]) -> bool:
    """Return whether a refusal may have left a body unread that is too long to be read in passing."""
    return "HTTP_TRANSFER_ENCODING" in environ or len(environ.get("CONTENT_LENGTH") or "") > 4


def _begin() -> None:
    g.begun = time.perf_counter()
    g.request_id = request_id_of(request.environ)
    wait = request.environ.get(REFUSED)
    if wait:
        detail = f"this address has asked as often as it may for now; the next answer is in {wait} s"
        raise StatusError(429, detail, {"Retry-After": str(wait)})


class Surround:
    """Headers, counts and log lines of one app."""

    def __init__(self, counts: Counts, log: bool) -> None:
        self.counts = counts
        self.log = log

    @staticmethod
    def plain_headers() -> tuple[tuple[str, str], ...]:
        """Return the headers that are the same for every answer of the API."""
        return (*HEADERS, ("Content-Security-Policy", POLICY))

    def note(self, method: str, path: str, status: int, seconds: float, request_id: str) -> None:
        """Count a request, and write its line; who asked what stays unsaid."""
        self.counts.add(path, status, seconds)
        if self.log:
            line = {
                "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
                "id": request_id,
                "method": method,
                "path": path[:200],
                "status": status,
                "ms": round(seconds * 1000, 3),
            }
            sys.stdout.buffer.write(orjson.dumps(line) + b"\n")
            sys.stdout.buffer.flush()

    def end(self, response: Response) -> Response:
        """Add what every answer has."""
        headers = response.headers
        for name, value in HEADERS:
            if name not in headers:
                headers[name] = value
        if "Content-Security-Policy" not in headers:
            headers["Content-Security-Policy"] = POLICY
        request_id = getattr(g, "request_id", "-")
        headers["X-Request-Id"] = request_id
        method = request.method
        if method == "OPTIONS":
            if response.status_code == 200:  # there is nothing to be of a type
                headers.pop("Content-Type", None)
            headers["Access-Control-Allow-Methods"] = headers.get("Allow", "GET, HEAD, OPTIONS, POST")
            headers["Access-Control-Allow-Headers"] = "Content-Type, Accept, If-None-Match, X-Request-Id"
            headers["Access-Control-Max-Age"] = "86400"
        if response.status_code >= 400 and _unread(request.environ):
            # The server hangs up on what was not read; a caller who is told does not send the next one there.
            headers["Connection"] = "close"
        seconds = time.perf_counter() - getattr(g, "begun", time.perf_counter())
        self.note(method, request.path, response.status_code, seconds, request_id)
        return response


def _refused(error: RefusalError) -> Response:
    return refused(error, by_query=request.method in _GETS)


def _status(error: StatusError) -> Response:
    return problem(error.status, error.detail, headers=error.headers)


def _broken(error: Exception) -> Response:
    if isinstance(error, HTTPException):
        return http_error(error)
    # The cause goes to the operator, never to the caller.
    sys.excepthook(type(error), error, error.__traceback__)
    return problem(500)


def surround(app: Flask, counts: Counts, *, log: bool) -> Surround:
    """Give an app its ids, headers, counts and errors, and return what counts and logs."""
    around = Surround(counts, log)
    app.before_request(_begin)
    app.after_request(around.end)
    app.register_error_handler(RefusalError, _refused)
    app.register_error_handler(StatusError, _status)
    app.register_error_handler(HTTPException, http_error)
    app.register_error_handler(Exception, _broken)
    return around


def health(counts: Counts) -> Blueprint:
    """Return the routes that tell how the service does."""
    routes = Blueprint("health", __name__)

    @routes.get("/healthz")
    def healthz() -> Response:
        body: dict[str, Any] = {"status": "ok", "version": __version__}
        response = Response(orjson.dumps(body), content_type="application/json")
        response.headers["Cache-Control"] = "no-store"
        return response

    @routes.get("/metrics")
    def metrics() -> Response:
        response = Response(counts.text(), content_type="text/plain; version=0.0.4; charset=utf-8")
        response.headers["Cache-Control"] = "no-store"
        return response

    return routes
