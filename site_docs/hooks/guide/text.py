"""Small helpers for making Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable


def cell(value: object) -> str:
    """Return a value as the text of a table cell."""
    text = "" if value is None else str(value)
    return (
        text.replace("|", "\\|")
        .replace("\n", " ")
        .replace("<", "&lt;")
        .replace("*", "\\*")
        .replace("_", "\\_")
    )


def code(text: object) -> str:
    """Return text as code."""
    return f"`{text}`" if str(text) else ""


def table(header: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Return a Markdown table; cells are Markdown already."""
    head = list(header)
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join(lines)


def slug(text: str) -> str:
    """Return an anchor for a path or a name."""
    return re.sub(r"[^a-z0-9_]+", "-", text.lower()).strip("-")


def gaps(template: str) -> str:
    """Return a wording with its named gaps shown as such."""
    return cell(re.sub(r"\{(\w+)\}", r"‹\1›", template).replace("_", " "))
