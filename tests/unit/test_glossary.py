"""The glossary lists the names in use, and no others."""

from __future__ import annotations

import re
from pathlib import Path

import lampwright
from lampwright.quantities import glossary

PACKAGE = Path(lampwright.__file__).parent


def test_every_name_is_one_that_is_used() -> None:
    words: set[str] = set()
    for path in PACKAGE.rglob("*"):
        if path.suffix in (".py", ".csv"):
            words |= set(re.findall(r"\w+", path.read_text("utf-8")))
    assert [name for name in glossary() if name not in words] == []
