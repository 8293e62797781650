"""Resistors, arrangements, circuits that exist, and unknown pre-wired lights."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.util import find_spec
from typing import Any

from flask import Blueprint

from lampwright.api.calling import Writer, offer


def _netlist(found: Any, answer: Mapping[str, Any]) -> str:
    from lampwright.paper.netlist import render_netlist

    return render_netlist(found)


def netlist_writer() -> dict[str, Writer]:
    """Return the writer of a circuit file, where there is one."""
    return {"spice": _netlist} if find_spec("lampwright.paper.netlist") else {}


def circuits() -> Blueprint:
    """Return the routes about circuits."""
    routes = Blueprint("circuits", __name__)
    offer(routes, "series-resistors")
    offer(routes, "arrangements")
    offer(routes, "circuit-checks", netlist_writer())
    offer(routes, "light-identifications")
    return routes
