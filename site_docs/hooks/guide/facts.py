"""Reference made from the tables: glossary, sources, tables, findings, cautions, parts."""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from importlib import resources
from typing import Any

from guide import engine
from guide.members import SEVERITIES, shown
from guide.text import cell, code, gaps, slug, table
from lampwright.quantities import UNITS
from lampwright.quantities import glossary as terms
from lampwright.tables.findings import finding_rows
from lampwright.tables.loader import NO_DOCUMENT, STATUSES
from lampwright.tables.loader import sources as bibliography

# The columns of a caution that a reader wants, in words: what can happen, and when it is said.
_CAUTION = (("hazard", "What can happen"), ("why", "Why"), ("action", "What to do"), ("applies", "Said for"))


@cache
def data_tables() -> dict[str, tuple[list[str], list[str], list[list[str]]]]:
    """Return every table as (header, units, rows), by its name."""
    found = {}
    folder = resources.files("lampwright.tables").joinpath("data")
    for item in sorted(folder.iterdir(), key=lambda item: item.name):
        if item.name.endswith(".csv"):
            lines = list(csv.reader(item.read_text("utf-8").splitlines()))
            found[item.name.removesuffix(".csv")] = (lines[0], lines[1], lines[2:])
    return found


def source_link(key: str) -> str:
    """Return a source key as a link to its entry."""
    return f"[{key}](../reference/sources.md#{slug(key)})"


def glossary() -> str:
    """Return every quantity name with its unit, meaning and standard entry."""
    parts = []
    for term in terms().values():
        facts = [cell(term.meaning[0].upper() + term.meaning[1:]) + "."]
        line = []
        if term.symbol:
            line.append(f"symbol *{cell(term.symbol)}*")
        if term.unit:
            line.append(f"unit {term.unit.symbol}")
        line.append(f"in JSON {code(term.json_name)}")
        line.append(f"standard: {cell(term.standard)}")
        if term.synonyms:
            line.append("also called " + ", ".join(cell(word) for word in term.synonyms))
        parts += [
            f"### {term.name.replace('_', ' ')} {{ #{term.name} }}",
            "",
            *facts,
            "",
            "; ".join(line) + ".",
            "",
        ]
    return "\n".join(parts)


def units() -> str:
    """Return the units and their suffixes."""
    return table(("Suffix", "Unit", "Of"), [[code("_" + u.suffix), u.symbol, u.kind] for u in UNITS.values()])


def sources() -> str:
    """Return the bibliography, each with how many rows rest on it."""
    used: Counter[str] = Counter()
    for header, _, rows in data_tables().values():
        at = header.index("source")
        used.update(row[at] for row in rows)
    parts = []
    for source in bibliography().values():
        parts += [f"## {source.key} {{ #{slug(source.key)} }}", "", f"**{cell(source.title)}.**"]
        facts = [cell(source.publisher)] if source.publisher != "none" else []
        if source.edition:
            facts.append(f"edition {cell(source.edition)}")
        if source.year:
            facts.append(str(source.year))
        if source.licence:
            facts.append(f"licence: {cell(source.licence)}")
        if facts:
            parts.append(", ".join(facts) + ".")
        parts += [f"Taken: {cell(source.taken)}. Table rows that rest on it: {used[source.key]}.", ""]
    return "\n".join(parts)


def tables() -> str:
    """Return every table: what it holds, its rows, its sources."""
    parts = []
    for name, (header, unit_row, rows) in data_tables().items():
        parts += [f"## {name.replace('_', ' ')} {{ #{name} }}", ""]
        status = Counter(row[header.index("status")] for row in rows)
        said = ", ".join(f"{status[word]} {word}" for word in STATUSES if status[word])
        keys = dict.fromkeys(row[header.index("source")] for row in rows)
        parts += [
            f"{len(rows)} rows: {said}. Sources: {', '.join(source_link(key) for key in keys)}.",
            "",
        ]
        if name in ("findings", "cautions"):
            parts += [f"Shown on [their own page]({name}.md).", ""]
            continue
        body = list(_cells(header, rows))
        head = [
            cell(column) + (f" [{unit}]" if unit not in ("-", "") else "")
            for column, unit in zip(header, unit_row, strict=True)
        ]
        parts += [
            f'??? note "All rows of {name}"',
            "",
            *("    " + line for line in table(head, body).split("\n")),
            "",
        ]
    return "\n".join(parts)


def _cells(header: list[str], rows: list[list[str]]) -> Iterator[list[str]]:
    at = header.index("source")
    for row in rows:
        yield [source_link(value) if index == at else cell(value) for index, value in enumerate(row)]


def findings() -> str:
    """Return every finding: what is said, why, what to do."""
    parts = []
    for severity, word in SEVERITIES.items():
        parts += [f"## {word} {{ #severity-{severity} }}", ""]
        for row in finding_rows().values():
            if row.severity != severity:
                continue
            parts += [
                f"### {row.code} {{ #{row.code} }}",
                "",
                f"**{word}.** {gaps(row.message)}",
                "",
                f"*What to do.* {_remedy(row.remedy)}",
                "",
                f"*Why.* {gaps(row.why)} {_provenance(row.source, row.locator, row.status)}",
                "",
            ]
    return "\n".join(parts)


def _remedy(template: str) -> str:
    """Return what a finding advises; where all of it depends on the build, that it is said there."""
    told = re.sub(r"\{\w+\}", "", template)
    return gaps(template) if re.search(r"\w", told) else "The answer says it, for your build."


def _provenance(source: str, locator: str, status: str) -> str:
    if status in NO_DOCUMENT:
        return f"({status}, no source)" if status == "common practice" else "(from memory, not verified)"
    place = f", {cell(locator)}" if locator else ""
    return f"({source_link(source)}{place}; {status})"


def cautions() -> str:
    """Return every workshop caution."""
    header, _, rows = data_tables()["cautions"]
    parts = []
    for row in (dict(zip(header, line, strict=True)) for line in rows):
        parts += [f"## {row['code'].replace('_', ' ')} {{ #{row['code']} }}", ""]
        for name, words in _CAUTION:
            if row[name]:
                parts += [f"*{words}.* {gaps(row[name])}", ""]
        parts += [_provenance(row["source"], row["locator"], row["status"]), ""]
    return "\n".join(parts)


@cache
def _parts(kind: str) -> list[dict[str, Any]]:
    body = json.loads(engine.get(f"/v1/parts/{kind}"))
    entries = body if isinstance(body, list) else next(v for v in body.values() if isinstance(v, list))
    return list(entries)


def parts(kind: str) -> str:
    """Return one list of parts, with an anchor for each part."""
    entries = _parts(kind)
    text = []
    for entry in entries:
        figures = "; ".join(
            f"{cell(name.replace('_', ' '))} {cell(shown(name, value))}"
            for name, value in entry.items()
            if name not in ("id", "name", "source", "sources", "display", "locator", "status")
            and value not in (None, "", [], {})
        )
        source = entry.get("source", "")
        keys = source if isinstance(source, list) else [source]
        known = bibliography()
        links = ", ".join(source_link(key) if key in known else cell(key) for key in keys if key)
        text += [f"### {code(entry['id'])} {cell(entry['name'])} {{ #{entry['id']} }}", ""]
        text += [figures + f". Source: {links}." if links else figures + ".", ""]
    return "\n".join(text)


GENERATORS: dict[str, Callable[..., str]] = {
    "glossary": glossary,
    "units": units,
    "sources": sources,
    "tables": tables,
    "findings": findings,
    "cautions": cautions,
    "parts": parts,
}
