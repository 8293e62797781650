"""Runtimes and the choice of a supply."""

from __future__ import annotations

from flask import Blueprint

from lampwright.api.calling import offer


def energy() -> Blueprint:
    """Return the routes about batteries."""
    routes = Blueprint("energy", __name__)
    offer(routes, "runtimes")
    offer(routes, "supply-choices")
    return routes
