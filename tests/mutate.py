"""Alter facts and formulas one at a time, and list what no test notices.

``python tests/mutate.py [NAME...] [--rows N] [--points N] [--wide] [--list]``

Works on a copy in a temporary folder; the checkout is never touched. Of each table a few rows get another
figure, of each function in ``physics`` a few signs and factors are changed. After each change the tests that
name the module or table are run until the first failure. ``--wide`` runs all of ``tests/unit`` and
``tests/published`` before a change counts as unnoticed. NAME picks tables and modules by name.
Exit code: 0 where everything was noticed, 1 where something was not.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import csv
import io
import os
import shutil
import signal
import sys
import tempfile
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

# Imported before the forks: what every run needs and no change touches.
import hypothesis  # noqa: F401
import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = Path("service/lampwright")
LIMIT = 150  # seconds for one change; an endless loop counts as noticed
SWAPS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}


@dataclass(frozen=True)
class Change:
    """One altered file: which, what was changed, its new text, and the tests most likely to notice."""

    path: Path
    what: str
    text: str
    tests: tuple[str, ...]


def naming(*words: str) -> tuple[str, ...]:
    """Return the quick test files that name any of the words."""
    found = []
    for folder in ("tests/published", "tests/unit"):
        for path in sorted((ROOT / folder).rglob("test_*.py")):
            text = path.read_text("utf-8")
            if any(word in text for word in words):
                found.append(path.relative_to(ROOT).as_posix())
    return tuple(found)


def spread(count: int, most: int) -> list[int]:
    """Return at most so many indexes, evenly spread."""
    if count <= most:
        return list(range(count))
    return sorted({round(index * (count - 1) / max(most - 1, 1)) for index in range(most)})


# Facts -------------------------------------------------------------------------------------------


def altered_cell(cells: list[str], header: list[str]) -> tuple[int, str] | None:
    """Return which cell of a row to alter and its new text: a figure, else a word."""
    facts = [i for i, name in enumerate(header) if name not in ("source", "locator", "status")]
    for index in reversed(facts):
        with contextlib.suppress(ValueError):
            value = float(cells[index])
            return index, str(int(value) + 1) if cells[index].isdigit() else repr(value * 1.1 or 0.1)
    if "severity" in header:
        index = header.index("severity")
        return index, {"stop": "note", "caution": "stop", "note": "caution"}.get(cells[index], "note")
    # Last of the words, so that keys stay and the row is still found.
    for index in reversed(facts[1:]):
        if cells[index] in ("yes", "no"):
            return index, "no" if cells[index] == "yes" else "yes"
        if cells[index]:
            return index, cells[index] + " altered"
    return None


def table_changes(name: str, rows: int) -> Iterator[Change]:
    """Yield changes of a table."""
    path = PACKAGE / "tables" / "data" / f"{name}.csv"
    lines = list(csv.reader((ROOT / path).read_text("utf-8").splitlines()))
    modules = [
        module.stem
        for module in (ROOT / PACKAGE / "tables").glob("*.py")
        if f"{name}.csv" in module.read_text("utf-8")
    ]
    tests = naming(
        name, *(f"tables.{stem}" for stem in modules), *(f"tables import {stem}" for stem in modules)
    )
    for index in spread(len(lines) - 2, rows):
        cells = list(lines[2 + index])
        found = altered_cell(cells, lines[0])
        if found is None:
            continue
        column, text = found
        what = f"{name}: row {cells[0]!r}, {lines[0][column]} {cells[column]!r} -> {text!r}"
        cells[column] = text
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows([*lines[: 2 + index], cells, *lines[3 + index :]])
        yield Change(path, what, out.getvalue(), tests)


# Formulas ----------------------------------------------------------------------------------------


def points(function: ast.FunctionDef) -> list[ast.AST]:
    """Return the places of a function where a sign or a factor can be altered."""
    found: list[ast.AST] = []

    def walk(node: ast.AST) -> None:
        if isinstance(node, ast.Raise | ast.JoinedStr):
            return
        numeric = isinstance(node, ast.Constant) and type(node.value) in (int, float)
        if (
            (isinstance(node, ast.BinOp) and type(node.op) in SWAPS)
            or (isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub))
            or (numeric and node.value not in (0, 1))
        ):
            found.append(node)
        for child in ast.iter_child_nodes(node):
            walk(child)

    for statement in function.body:
        walk(statement)
    return found


@contextlib.contextmanager
def altered(node: ast.AST) -> Iterator[str]:
    """Alter a node for the time of the block; give words for it."""
    before = ast.unparse(node)
    kept = dict(vars(node))
    if isinstance(node, ast.BinOp):
        node.op = SWAPS[type(node.op)]()
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd()
    elif isinstance(node, ast.Constant):
        node.value = node.value + 1 if isinstance(node.value, int) else node.value * 1.1  # type: ignore[operator]
    yield f"{before} -> {ast.unparse(node)}"
    vars(node).update(kept)


def formula_changes(stem: str, most: int) -> Iterator[Change]:
    """Yield changes of a module of formulas."""
    path = PACKAGE / "physics" / f"{stem}.py"
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    tests = (*naming(f"physics.{stem}", f"physics import {stem}"), path.as_posix())
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef):
            continue
        places = points(node)
        for index in spread(len(places), most):
            with altered(places[index]) as what:
                yield Change(path, f"{stem}.{node.name}: {what}", ast.unparse(tree), tests)


# Running -----------------------------------------------------------------------------------------


def run(copy: Path, tests: tuple[str, ...]) -> bool:
    """Return whether the tests fail on the copy. A child of this process, so that imports are paid once."""
    child = os.fork()
    if child == 0:
        code = 3
        try:
            sys.dont_write_bytecode = True
            signal.alarm(LIMIT)
            os.chdir(copy)
            log = os.open(copy / "log", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(log, 1)
            os.dup2(log, 2)
            early = "ignore:Module already imported:pytest.PytestAssertRewriteWarning"
            code = int(pytest.main(["-x", "-q", "-W", early, "-p", "no:cacheprovider", *tests]))
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if code == 3:
        raise RuntimeError((copy / "log").read_text("utf-8"))
    return code not in (0, 5)


def main() -> int:
    """Make every change, run, list the survivors."""
    reader = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    reader.add_argument("names", nargs="*", metavar="NAME", help="tables and modules (all)")
    reader.add_argument("--rows", type=int, default=2, help="rows of each table (2)")
    reader.add_argument("--points", type=int, default=3, help="signs and factors of each function (3)")
    reader.add_argument("--wide", action="store_true", help="all quick tests before a change is unnoticed")
    reader.add_argument("--list", action="store_true", help="only list the changes")
    chosen = reader.parse_args()
    tables = sorted(path.stem for path in (ROOT / PACKAGE / "tables" / "data").glob("*.csv"))
    modules = sorted(path.stem for path in (ROOT / PACKAGE / "physics").glob("[a-z]*.py"))
    changes = [
        change
        for names, make, most in (
            (tables, table_changes, chosen.rows),
            (modules, formula_changes, chosen.points),
        )
        for name in names
        if not chosen.names or name in chosen.names
        for change in make(name, most)
    ]
    if chosen.list:
        for change in changes:
            print(change.what)
        return 0
    unnoticed = []
    with tempfile.TemporaryDirectory(prefix="lampwright-mutate-") as place:
        copy = Path(place)
        for name in ("service", "tests", "examples", "openapi", "site_docs"):
            shutil.copytree(
                ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", "node_modules", "site")
            )
        shutil.copy(ROOT / "pyproject.toml", copy)
        # A change is noticed only where the tests pass without it.
        failing = {tests for tests in {change.tests for change in changes} if tests and run(copy, tests)}
        for tests in failing:
            print(f"these fail without any change: {' '.join(tests)}")
        changes = [change for change in changes if change.tests not in failing]
        for number, change in enumerate(changes, start=1):
            (copy / change.path).write_text(change.text, "utf-8")
            noticed = bool(change.tests) and run(copy, change.tests)
            if not noticed and chosen.wide:
                noticed = run(copy, ("tests/unit", "tests/published"))
            shutil.copy(ROOT / change.path, copy / change.path)
            print(
                f"{number}/{len(changes)} {'noticed  ' if noticed else 'UNNOTICED'} {change.what}", flush=True
            )
            if not noticed:
                unnoticed.append(change.what)
    print(f"{len(changes) - len(unnoticed)} passed, {len(unnoticed)} failed")
    return 1 if unnoticed or failing else 0


if __name__ == "__main__":
    sys.exit(main())
