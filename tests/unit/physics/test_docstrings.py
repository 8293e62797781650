"""Every public formula says what it takes and gives, in which unit, where it stands, and an example."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import lampwright.physics
from lampwright.tables.loader import sources

FOLDER = Path(lampwright.physics.__file__).parent
SECTIONS = ("Parameters", "Returns", "References", "Examples")
HEAD = re.compile(r"^(\S[^:\n]*?) : ", re.MULTILINE)
KEY = re.compile(r"\[([A-Z][A-Z0-9]*(?:-[A-Za-z0-9]+)*)\]")
# Text, flags, counts and objects of ours have no unit; the members of the last do.
BARE = re.compile(r" : (?:tuple of |sequence of )*(?:str|bool|int|[A-Z]\w+)\b")


def formulas():
    for path in sorted(FOLDER.glob("*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield pytest.param(node, id=f"{path.stem}.{node.name}")


def sections(text: str) -> dict[str, str]:
    parts = re.split(r"^([A-Z][a-z]+)\n-+\n", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> dict[str, str]:
    """Return each name of a section with its words; several names may share an entry."""
    found = {}
    heads = list(HEAD.finditer(section))
    for head, following in zip(heads, [*heads[1:], None], strict=True):
        words = section[head.start() : following.start() if following else len(section)]
        found |= {name.strip().lstrip("*"): words for name in head[1].split(",")}
    return found


@pytest.mark.parametrize("node", list(formulas()))
def test_a_formula_is_documented(node: ast.FunctionDef) -> None:
    found = sections(ast.get_docstring(node) or "")
    assert [name for name in SECTIONS if name not in found] == []
    taken = entries(found["Parameters"])
    every = node.args
    more = (every.vararg,) if every.vararg else ()
    arguments = [each.arg for each in (*every.args, *more, *every.kwonlyargs)]
    assert list(taken) == arguments
    for name, words in (taken | entries(found["Returns"])).items():
        assert "[" in words or BARE.search(words), name
    keys = KEY.findall(found["References"])
    assert keys
    assert [key for key in keys if key not in sources()] == []
    assert ">>>" in found["Examples"]
    assert ("Raises" in found) or not any(isinstance(each, ast.Raise) for each in ast.walk(node))
