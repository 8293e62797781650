"""The one bibliography: each entry is cited, and says where a reader finds the document again."""

from __future__ import annotations

import re
from pathlib import Path

from lampwright.tables.loader import sources

ROOT = Path(__file__).parents[3]
# Words that stand for a document nobody can ask for.
VAGUE = re.compile(r"\b(?:a|an|public|open) (?:\w+ )?(?:texts?|tables?|notes?|articles?)\b", re.IGNORECASE)


def test_every_source_is_cited() -> None:
    """By a row, a docstring, a constant or a test."""
    kept = ("service/lampwright", "tests/unit", "tests/published", "tests/oracle", "tests/fits")
    text = "".join(
        path.read_text("utf-8")
        for folder in kept
        for path in (ROOT / folder).rglob("*")
        if path.suffix in (".py", ".csv")
    )
    assert [key for key in sources() if key not in text] == []


def test_no_publisher_is_a_text_without_a_name() -> None:
    assert [source.key for source in sources().values() if VAGUE.search(source.publisher)] == []
    assert VAGUE.search("a public text")
    assert VAGUE.search("public engineering note")
