"""*Where the numbers come from*: each function and table, its sources, and the checks against it."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable
from functools import cache
from typing import Any

from guide import engine, formulas
from guide.facts import data_tables, source_link
from guide.text import cell, code, slug, table

RECORD = engine.ROOT / "site_docs" / "checks.json"
_KEY = re.compile(r"\[([A-Z][A-Za-z0-9._-]+)\]")
# An outside check is a number that somebody else printed or computed.
_OUTSIDE = ("published", "oracle")
_KINDS = {
    "published": "printed there",
    "oracle": "another program",
    "hand": "worked by hand in the test",
    "regression": "our own earlier figure",
    "practice": "common practice, no source",
    "memory": "from memory, not verified",
}


@cache
def _record() -> list[dict[str, Any]]:
    return list(json.loads(RECORD.read_text("utf-8"))) if RECORD.exists() else []


def _checks_of(name: str) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """Return (mark, test) for every check that stands against a function or table."""
    found = []
    for test in _record():
        for mark in test["checks"]:
            of = mark.get("of", "")
            if of and (of == name or of.startswith(name + ".") or of.endswith("." + name)):
                found.append((mark, test))
    return found


@cache
def _readers(table_name: str) -> tuple[str, ...]:
    """Return the functions that read a table, and those of their module that rest on them."""
    found: list[str] = []
    folder = engine.ROOT / "service" / "lampwright" / "tables"
    for path in sorted(folder.glob("*.py")):
        text = path.read_text("utf-8")
        if f'"{table_name}.csv"' not in text:
            continue
        parts = {
            node.name: ast.get_source_segment(text, node) or ""
            for node in ast.parse(text).body
            if isinstance(node, ast.FunctionDef)
        }
        names = {name for name, source in parts.items() if f'"{table_name}.csv"' in source}
        for _ in range(2):
            names |= {name for name, source in parts.items() if any(f"{n}(" in source for n in names)}
        found += [f"lampwright.tables.{path.stem}.{name}" for name in sorted(names or parts)]
    return tuple(found)


def _check_rows(*names: str) -> list[list[str]]:
    rows = []
    for mark, test in [found for name in names for found in _checks_of(name)]:
        title = test["test"].rpartition("::")[2]
        kind = _KINDS[mark["kind"]]
        place = f"{source_link(mark['key'])}, {cell(mark['place'])}"
        figures = mark["figures"]
        if not figures:
            rows.append([place, kind, code(title), "", "", "agrees"])
        for figure in figures:
            ours, theirs = figure["ours"], figure["theirs"]
            apart = (
                f"{abs(ours - theirs) / abs(theirs) * 100:.2g} %" if theirs else f"{abs(ours - theirs):.2g}"
            )
            rows.append(
                [place, kind, cell(figure["what"]) or code(title), f"{theirs:.6g}", f"{ours:.6g}", apart]
            )
        if mark["compared"] > len(figures):
            rows.append(
                [place, kind, f"and {mark['compared'] - len(figures)} more in {code(title)}", "", "", ""]
            )
    return rows


@cache
def functions() -> dict[str, tuple[str, tuple[str, ...]]]:
    """Return each public formula: first line of its docstring and the source keys it cites."""
    found = {}
    folder = engine.ROOT / "service" / "lampwright" / "physics"
    for path in sorted(folder.glob("*.py")):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                text = ast.get_docstring(node) or ""
                _, _, references = text.partition("References\n----------")
                references = references.partition("\nExamples\n")[0]
                keys = tuple(dict.fromkeys(_KEY.findall(references)))
                found[f"lampwright.physics.{path.stem}.{node.name}"] = (text.split("\n\n")[0], keys)
    return found


def _said(text: str) -> str:
    parts = " ".join(text.replace("``", "`").split()).split("$")
    said = []
    for index, part in enumerate(parts):
        said.append(formulas.mathml(part) if index % 2 else cell(part))
    return "".join(said)


def formula_checks() -> str:
    """Return every formula with its sources and the checks against it."""
    from lampwright.tables.loader import sources

    known = sources()
    parts = []
    module = ""
    for name, (text, keys) in functions().items():
        _, _, where, short = name.split(".")
        if where != module:
            module = where
            parts += [f"### {module.replace('_', ' ')} {{ #formulas-{module} }}", ""]
        parts += [f"#### {code(short)} {{ #{slug(name)} }}", "", _said(text), ""]
        links = [source_link(key) for key in keys if key in known]
        parts += ["Sources: " + (", ".join(links) if links else "none named") + ".", ""]
        rows = _check_rows(name)
        if rows:
            parts += [table(("Stands in", "Kind", "What", "Theirs", "Ours", "Apart"), rows), ""]
        if not any(mark["kind"] in _OUTSIDE for mark, _ in _checks_of(name)):
            parts += ["**No outside check** stands against this one alone.", ""]
    return "\n".join(parts)


def table_checks() -> str:
    """Return every table with its sources and the checks against it."""
    parts = []
    for name, (header, _, rows) in data_tables().items():
        parts += [f"### {name.replace('_', ' ')} {{ #table-{name} }}", ""]
        keys = dict.fromkeys(row[header.index("source")] for row in rows)
        parts += [
            f"{len(rows)} rows, [shown here](tables.md#{name}). "
            f"Sources: {', '.join(source_link(key) for key in keys)}.",
            "",
        ]
        found = _check_rows(name, *_readers(name))
        if found:
            parts += [table(("Stands in", "Kind", "What", "Theirs", "Ours", "Apart"), found), ""]
        else:
            parts += ["**No outside check** is recorded against this table.", ""]
    return "\n".join(parts)


def tables_made() -> str:
    """Return the tables that tests made beside their comparisons."""
    parts = []
    for test in _record():
        for made in test.get("tables", ()):
            rows = [[cell(str(value).replace("_", " ")) for value in row] for row in made["rows"]]
            parts += [f"{made['title']}:", "", table(tuple(made["columns"]), rows), ""]
            parts += [f"Made by {code(test['test'].rpartition('::')[2])}.", ""]
    return "\n".join(parts)


def check_summary() -> str:
    """Return how many checks of each kind there are, and what has none."""
    counts = {kind: 0 for kind in _KINDS}
    figures = dict.fromkeys(_KINDS, 0)
    for test in _record():
        for kind in {mark["kind"] for mark in test["checks"]}:
            counts[kind] += 1
        for mark in test["checks"]:
            figures[mark["kind"]] += mark["compared"]
    rows = [[said, str(counts[kind]), str(figures[kind])] for kind, said in _KINDS.items()]
    without = [
        f"[{code(name.rpartition('.')[2])}](#{slug(name)})"
        for name in functions()
        if not any(mark["kind"] in _OUTSIDE for mark, _ in _checks_of(name))
    ]
    return (
        table(("What it is held against", "Tests", "Figures compared"), rows)
        + f"\n\nOf {len(functions())} formulas, {len(functions()) - len(without)} have a check against a "
        + "figure that somebody else printed or computed. Without one of their own: "
        + (", ".join(without) or "none")
        + "."
    )


GENERATORS: dict[str, Callable[..., str]] = {
    "formula-checks": formula_checks,
    "table-checks": table_checks,
    "check-summary": check_summary,
    "check-tables-made": tables_made,
}
