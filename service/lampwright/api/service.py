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


def _begin() -> None:
    g.begun = time.perf_counter()
    sent = request.environ.get("HTTP_X_REQUEST_ID")
    g.request_id = sent if sent and _ID.fullmatch(sent) else os.urandom(8).hex()


class _Surround:
    """Headers, counts and log lines of one app."""

    def __init__(self, counts: Counts, log: bool) -> None:
        self.counts = counts
        self.log = log

    def end(self, response: Response) -> Response:
        """Add what every answer has, count it, and write its line."""
        headers = response.headers
        for name, value in HEADERS:
            if name not in headers:
                headers[name] = value
        request_id = getattr(g, "request_id", "-")
        headers["X-Request-Id"] = request_id
        if "Content-Security-Policy" not in headers:
            headers["Content-Security-Policy"] = POLICY
        if request.method == "OPTIONS":
            headers["Access-Control-Allow-Methods"] = headers.get("Allow", "GET, HEAD, OPTIONS, POST")
            headers["Access-Control-Allow-Headers"] = "Content-Type, Accept, If-None-Match, X-Request-Id"
            headers["Access-Control-Max-Age"] = "86400"
        seconds = time.perf_counter() - getattr(g, "begun", time.perf_counter())
        self.counts.add(request.path, response.status_code, seconds)
        if self.log:
            line = {
                "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
                "id": request_id,
                "method": request.method,
                "path": request.path[:200],
                "status": response.status_code,
                "ms": round(seconds * 1000, 3),
            }
            sys.stdout.buffer.write(orjson.dumps(line) + b"\n")
            sys.stdout.buffer.flush()
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


def surround(app: Flask, counts: Counts, *, log: bool) -> None:
    """Give an app its ids, headers, counts and errors."""
    around = _Surround(counts, log)
    app.before_request(_begin)
    app.after_request(around.end)
    app.register_error_handler(RefusalError, _refused)
    app.register_error_handler(StatusError, _status)
    app.register_error_handler(HTTPException, http_error)
    app.register_error_handler(Exception, _broken)


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
