"""Whole builds: the sheet in every form, and the bench companion."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from importlib.util import find_spec
from typing import Any

from flask import Blueprint, request

from lampwright.api.calling import Writer, offer
from lampwright.api.circuits import netlist_writer
from lampwright.api.incoming import StatusError


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


#: A PDF takes seconds, not milliseconds: one at a time in a process, so that it never holds up the rest.
_LAYING_OUT = threading.Lock()


def _pdf(found: Any, answer: Mapping[str, Any]) -> bytes:
    from lampwright.paper.pdf import NoPdfError, render_pdf

    if not _LAYING_OUT.acquire(blocking=False):
        raise StatusError(503, "another PDF is being laid out; ask again in a moment", {"Retry-After": "3"})
    try:
        return render_pdf(found, request.host_url)
    except NoPdfError as error:
        raise StatusError(406, str(error), {"Vary": "Accept"}) from error
    finally:
        _LAYING_OUT.release()


_WRITERS: dict[str, tuple[str, Writer]] = {
    "html": ("lampwright.paper.html", _html),
    "text": ("lampwright.paper.text", _text),
    "csv": ("lampwright.paper.parts_csv", _csv),
    "svg": ("lampwright.drawing.wiring", _svg),
    "pdf": ("lampwright.paper.pdf", _pdf),
}


def sheet_writers() -> dict[str, Writer]:
    """Return every other form of a sheet that can be made."""
    found = {form: writer for form, (module, writer) in _WRITERS.items() if find_spec(module)}
    return {**found, **netlist_writer()}


def _missing() -> dict[str, str]:
    """Return the forms that need something that is not installed, and what to do about it."""
    if find_spec("weasyprint"):
        return {}
    from lampwright.paper.pdf import HOW

    return {"pdf": HOW}


def sheets() -> Blueprint:
    """Return the routes about whole builds."""
    routes = Blueprint("sheets", __name__)
    offer(routes, "build-sheets", sheet_writers(), _missing())
    offer(routes, "diagnoses")
    offer(routes, "build-comparisons")
    offer(routes, "log-fits")
    return routes
