"""Whole builds: the sheet in every form, and the bench companion."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.util import find_spec
from typing import Any

from flask import Blueprint, request

from lampwright.api.calling import Writer, offer
from lampwright.api.circuits import netlist_writer


def _html(found: Any, answer: Mapping[str, Any]) -> str:
    from lampwright.paper.html import render_html

    return render_html(found, request.host_url)


def _text(found: Any, answer: Mapping[str, Any]) -> str:
    from lampwright.paper.text import render_text

    return render_text(found, request.host_url)


def _csv(found: Any, answer: Mapping[str, Any]) -> str:
    from lampwright.paper.parts_csv import render_csv

    return render_csv(found)


def _svg(found: Any, answer: Mapping[str, Any]) -> str:
    from lampwright.drawing.wiring import wiring_svg

    return wiring_svg(found)


_WRITERS: dict[str, tuple[str, Writer]] = {
    "html": ("lampwright.paper.html", _html),
    "text": ("lampwright.paper.text", _text),
    "csv": ("lampwright.paper.parts_csv", _csv),
    "svg": ("lampwright.drawing.wiring", _svg),
}


def sheet_writers() -> dict[str, Writer]:
    """Return every other form of a sheet that can be made."""
    found = {form: writer for form, (module, writer) in _WRITERS.items() if find_spec(module)}
    return {**found, **netlist_writer()}


def sheets() -> Blueprint:
    """Return the routes about whole builds."""
    routes = Blueprint("sheets", __name__)
    offer(routes, "build-sheets", sheet_writers())
    offer(routes, "diagnoses")
    offer(routes, "build-comparisons")
    offer(routes, "log-fits")
    return routes
