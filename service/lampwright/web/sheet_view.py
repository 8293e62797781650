"""A build's sheet for inside the page: what ``paper`` prints, without its head."""

from __future__ import annotations

import hashlib
import re
from functools import lru_cache
from typing import Any

from lampwright.contract.calculations import read
from lampwright.contract.faults import RefusalError
from lampwright.errors import ContradictionError, LampwrightError
from lampwright.paper.style import STYLE
from lampwright.web import builds

#: A request is sent; a field is written into.
_SENT = re.compile(r"\b[Ss]end ")
_VERB = re.compile(r"^(is|has|cannot|needs|must)\b")
_BODY = re.compile(r"<main\b[^>]*>(.*)</main>", re.DOTALL)


def _printed(build: dict[str, Any], address: str | None) -> str:
    # Loaded with the first page: a service that is asked numbers alone starts without it.
    from lampwright.paper.html import render_html
    from lampwright.sheets.build import build_sheet

    return render_html(build_sheet(read("build-sheets", build)), address)


def _inside(document: str) -> str:
    found = _BODY.search(document)
    return found[1] if found else ""


def sheet_of(build: dict[str, Any], address: str | None = None) -> str:
    """Return the sheet of a build as HTML to stand in a page.

    Parameters
    ----------
    build : dict
        As the form stands for it.
    address : str, optional
        Where that page stands; the sheet then carries the link and code that open the build there.

    Raises
    ------
    LampwrightError
        If the build is not taken; ``told`` says in words what is wrong with it.
    """
    return _inside(_printed(build, address))


@lru_cache(maxsize=24)  # an address is what a caller says it is: not kept without end
def example_sheet(name: str, address: str | None = None) -> str:
    """Return the sheet of an example build; worked out once for each address."""
    return sheet_of(builds.example(name), address)


def style() -> str:
    """Return the style of a printed sheet; every rule of it is scoped to the sheet."""
    return STYLE


def style_stamp() -> str:
    """Return a text that changes with the style."""
    return hashlib.sha256(style().encode()).hexdigest()[:10]


def _sentence(detail: str, hint: str) -> str:
    """Return the words beside a field; the page's script says them much the same way."""
    words = ". ".join(part for part in (detail, hint[:1].upper() + hint[1:]) if part)
    words = _SENT.sub(lambda found: "Write " if found[0][0] == "S" else "write ", words)
    words = _VERB.sub(r"This \1", words.replace("This member is needed", "Fill it in"))
    return words[:1].upper() + words[1:]


def told(error: LampwrightError) -> dict[str, str]:
    """Return what is wrong with a build: path of the field, and the words beside it."""
    if isinstance(error, RefusalError):
        return {
            ".".join(str(step) for step in entry.path): _sentence(entry.detail, entry.hint)
            for entry in error.entries
        }
    if isinstance(error, ContradictionError):
        return {error.field: _sentence(error.detail, error.hint)}
    return {"": str(error)}
