"""A bare Flask application that sends JSON back: what all speeds are compared with.

``python -m tests.load.echo PORT WORKERS`` serves it by the same server with the same settings.
"""

from __future__ import annotations

import sys

from flask import Flask, Response, jsonify, request


def create_app() -> Flask:
    """Return the application."""
    app = Flask("echo")

    @app.get("/healthz")
    def healthz() -> Response:
        return jsonify(status="ok")

    @app.post("/<path:_>")
    def say_again(_: str) -> Response:
        return jsonify(request.get_json())

    return app


if __name__ == "__main__":
    from lampwright.cli import server

    server("tests.load.echo:create_app", "127.0.0.1", int(sys.argv[1]), int(sys.argv[2])).serve()
