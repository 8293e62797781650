"""Wires and fuses."""

from __future__ import annotations

from flask import Blueprint

from lampwright.api.calling import offer


def wiring() -> Blueprint:
    """Return the routes about wire and what protects it."""
    routes = Blueprint("wiring", __name__)
    offer(routes, "wires")
    offer(routes, "fuses")
    return routes
