"""Worked examples: what goes in, the answer, the steps, what it rests on. All asked of the engine."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from urllib.parse import urlencode

from guide import engine, live, steps
from guide.members import HEADLINES, LISTS, SEVERITIES, shown
from guide.text import cell, code, slug, table


def look_up(tree: Any, path: str) -> tuple[str, Any]:
    """Return the last name of a dotted path and the value it leads to."""
    name = path
    for part in path.split("."):
        if isinstance(tree, list):
            tree = tree[int(part)]
        else:
            if part not in tree:
                raise ValueError(f"{path}: there is no {part!r} among {', '.join(tree)}")
            tree, name = tree[part], part
    return name, tree


def _at(tree: Any, path: str) -> Any:
    """Return what a dotted path leads to, or None."""
    for part in path.split("."):
        if isinstance(tree, list):
            tree = tree[int(part)] if int(part) < len(tree) else None
        else:
            tree = tree.get(part) if isinstance(tree, dict) else None
    return tree


def number(file: str, path: str) -> str:
    """Return one number of an example's answer, or of its request by ``request.PATH``."""
    tree = engine.example(file) if path.startswith("request.") else engine.answer(file)
    return shown(*look_up(tree, path))


def _recommended(answer: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return the arrangement that an answer recommends; nothing where it has none."""
    ways = answer.get("arrangements") or []
    return ways[answer["recommended"]] if ways and answer.get("recommended") is not None else {}


def _stops(answer: Mapping[str, Any]) -> list[str]:
    found = [*answer["findings"], *_recommended(answer).get("findings", ())]
    return [finding["code"] for finding in found if finding["severity"] == "stop"]


def _finding(finding: Mapping[str, Any]) -> str:
    word = SEVERITIES[finding["severity"]]
    link = f"[Why](../reference/findings.md#{finding['code']})"
    return (
        f'<div class="finding {finding["severity"]}" markdown>\n\n'
        f"**{word}.** {cell(finding['message'])} {cell(finding['remedy'])} {link}\n\n</div>"
    )


def _row(
    entry: Mapping[str, Any], columns: tuple[tuple[str, str], ...], recommended: Mapping[str, Any]
) -> list[str]:
    cells = []
    for name, _ in columns:
        if name == "_rows":
            rows = ", ".join(f"{s['branch_count']} × {s['series_count']}" for s in entry["strings"])
            cells.append(f"**{rows}: recommended**" if entry is recommended else rows)
        elif name == "_size":
            # A metric wire has its own area; a gauge has none but its number.
            metric = entry["conductor_area_mm2"] == entry["metric_area_mm2"]
            cells.append(
                shown("metric_area_mm2", entry["metric_area_mm2"]) if metric else f"{entry['awg']} AWG"
            )
        else:
            cells.append(cell(shown(name, entry.get(name))))
    return cells


def _first(value: Any) -> Any:
    return value[0] if value else {}


def _in_row(row: Mapping[str, Any], rows_of: Sequence[Mapping[str, Any]]) -> str:
    return f" in a row of {row['series_count']}" if len(rows_of) > 1 else ""


def meter(path: str, answer: Mapping[str, Any]) -> str:
    """Return what a meter says at the bench when an answer is right."""

    def say(name: str, tree: Mapping[str, Any] = answer) -> str:
        return shown(name, tree.get(name))

    if path == "/v1/arrangements":
        rows_of = _recommended(answer).get("strings", ())
    else:
        rows_of = answer.get("strings") or ([answer] if "resistor_voltage_v" in answer else ())
    rows_of = [row for row in rows_of if row.get("resistance_ohm") and row.get("resistor_voltage_v")]
    if path in ("/v1/series-resistors", "/v1/arrangements", "/v1/circuit-checks", "/v1/build-sheets"):
        if not rows_of:
            return (
                "Measure the supply with the lights on first. Its volts decide whether there is any answer."
            )
        said = [
            f"Across the resistor of {say('resistance_ohm', row)}{_in_row(row, rows_of)}: about "
            f"{say('resistor_voltage_v', row)}. Divided by its ohms, that should be between "
            f"{say('current_low_ma', row)} and {say('current_high_ma', row)}."
            for row in rows_of
        ]
        return " ".join(dict.fromkeys(said))
    if path == "/v1/wires":
        return (
            f"Lights on, volts at the start of the wire and at its end: about {say('drop_v')} less there. "
            "Much more is a poor joint."
        )
    if path == "/v1/fuses":
        return (
            "Lights on, volts before and behind the fuse: the same within 0.1 V. Taken out, it beeps; "
            "a blown one does not."
        )
    if path == "/v1/runtimes":
        return (
            f"Fresh pack, lights on: about {say('start_voltage_v')}. Measure again after an hour of the real "
            "event, and write both down: next year you will know better than any table."
        )
    if path == "/v1/supply-choices":
        return "The pack you took, lights off, then on: at most five percent less when they are on."
    if path == "/v1/light-identifications":
        level = next((one for one in answer["at_voltages"] if one["verdict"] == "good"), {})
        level = level or _first(answer["at_voltages"])
        return (
            "Put 10 Ω in line and measure the volts across it: 10 mV for each milliamp. On "
            f"{say('supply_voltage_v', level)} it should be about {say('current_ma', level)}."
        )
    if path == "/v1/diagnoses" and answer.get("next_check"):
        check = answer["next_check"]
        return f"Next, {check['tips']}. It says: {'; '.join(check['tells'])}."
    if path == "/v1/build-comparisons":
        before, after = answer["before"], answer["after"]
        return (
            f"All the current of the pack, about {say('supply_current_ma', before)} before and "
            f"{say('supply_current_ma', after)} after the change."
        )
    return "Compare the readings of the sheet, one after the other, with what your meter says."


def request(name: str) -> str:
    """Return an example's request as a code block."""
    body = json.dumps(engine.example(name)["request"], indent=2, ensure_ascii=False)
    return f"```json\n{body}\n```"


def worked(name: str, *wishes: str) -> str:
    """Return a whole worked example.

    ``stops`` says that the answer is meant to be a stop: any other example that ends in one fails the
    build. ``brief`` leaves the steps out.
    """
    asked, answer = engine.example(name), engine.answer(name)
    stops = _stops(answer)
    if bool(stops) != ("stops" in wishes):
        raise ValueError(f"{asked['file']} answers with the stops {stops}: {asked['request']}")
    path = asked["path"]
    title = asked["title"] if asked["title"].endswith("?") else asked["title"].rstrip(".") + "."
    parts = [
        '<div class="worked" markdown>',
        "",
        f"**{cell(title)}** {cell(asked['scenario'])}",
        "",
    ]
    lines = [(text, key) for key, text in HEADLINES.get(path, ()) if _at(answer, key) not in (None, [], "")]
    if lines:
        first_text, first_key = lines[0]
        parts += [f"{cell(first_text)}: {cell(shown(first_key, _at(answer, first_key)))}", "{: .answer }", ""]
        rest = [[cell(text), cell(shown(key, _at(answer, key)))] for text, key in lines[1:]]
        if rest:
            parts += [table(("The answer", "Figure"), rest), ""]
    parts += [_finding(finding) + "\n" for finding in answer["findings"]]
    for member, columns in LISTS.get(path, ()):
        entries = answer.get(member) or []
        if entries:
            head = [text for _, text in columns]
            parts += [table(head, [_row(entry, columns, _recommended(answer)) for entry in entries]), ""]
    if "brief" not in wishes and answer.get("working"):
        parts += ["<div data-search-exclude markdown>", "", steps.steps(answer["working"]), "", "</div>", ""]
    keys = [
        f"[{key}](../reference/sources.md#{slug(key)})" for key in dict.fromkeys(answer.get("sources", []))
    ]
    if keys:
        parts += ["Rests on: " + ", ".join(keys) + ".", ""]
    parts += [
        '??? note "What was asked"',
        "",
        f"    `POST {path}`, the file `{asked['file']}`:",
        "",
        *("    " + line for line in request(name).split("\n")),
        "",
        live.beside(name),
        "",
        f"**Check it with your meter.** {cell(meter(path, answer))}",
        "",
        "</div>",
    ]
    return "\n".join(parts)


def sheet(name: str) -> str:
    """Return a whole build sheet as the text one would print."""
    text = engine.text(name, "text/plain").rstrip()
    # What is printed there is found by its own page; in the search it would be half of the whole index.
    return f"<div data-search-exclude markdown>\n\n```{{.text .sheet}}\n{text}\n```\n\n</div>"


def drawing(name: str) -> str:
    """Return the wiring drawing of a build."""
    svg = engine.text(name, "image/svg+xml")
    svg = re.sub(r"^<\?xml.*?\?>\s*", "", svg).replace("\n", " ")
    return f'<div class="drawing">{svg}</div>'


def rows(name: str) -> str:
    """Return the row table of a build sheet."""
    answer = engine.answer(name)
    lines = []
    for index, row in enumerate(answer["strings"]):
        lines.append(
            [
                cell(row.get("row", chr(65 + index))),
                cell(shown("leds", row["leds"])),
                cell(shown("resistance_ohm", row["resistance_ohm"])),
                cell(shown("colour_bands", row["colour_bands"])),
                cell(shown("current_low_ma", row["current_low_ma"])),
                cell(shown("current_ma", row["current_ma"])),
                cell(shown("current_high_ma", row["current_high_ma"])),
                cell(shown("resistor_voltage_v", row["resistor_voltage_v"])),
            ]
        )
    head = ("Row", "Lights, from plus", "Resistor", "Bands", "Least", "About", "Most", "Volts across it")
    return table(head, lines)


# Columns that are made of several members: one reading is in volts or in milliamps.
_READINGS = {
    "low": ("voltage_low_v", "current_low_ma"),
    "about": ("voltage_v", "current_ma"),
    "high": ("voltage_high_v", "current_high_ma"),
}


def _listed(entry: Mapping[str, Any], number: int, column: str) -> str:
    if column == "no":
        return str(number)
    if column.endswith("!"):
        return code(entry[column.removesuffix("!")])
    names = _READINGS.get(column, (column,))
    return cell(", ".join(shown(name, entry[name]) for name in names if entry[name] is not None))


def listed(name: str, member: str, *columns: str) -> str:
    """Return a list of objects of an answer as a table, the columns named.

    A column with ``!`` behind it holds names to be sent back, shown letter for letter. ``no`` counts the
    lines; ``low``, ``about`` and ``high`` are those of a reading.
    """
    entries = look_up(engine.answer(name), member)[1]
    body = [
        [_listed(entry, number, column) for column in columns]
        for number, entry in enumerate(entries, start=1)
    ]
    heads = [column.removesuffix("!").replace("_", " ").capitalize() for column in columns]
    return table(heads, body)


def curl(name: str) -> str:
    """Return the call that asks an example of a running service."""
    asked = engine.example(name)
    return (
        "```sh\n"
        f"curl -s http://127.0.0.1:8350{asked['path']} \\\n"
        f"  -H 'Content-Type: application/json' -d @{asked['file']}\n```"
    )


def address(name: str) -> str:
    """Return an example as one address, for a cell or a browser."""
    asked = engine.example(name)
    query = urlencode({k: v for k, v in asked["request"].items() if not isinstance(v, dict | list)})
    return f"```text\n{asked['path']}?{query}\n```"


GENERATORS: dict[str, Callable[..., str]] = {
    "worked": worked,
    "request": request,
    "sheet": sheet,
    "drawing": drawing,
    "rows": rows,
    "list": listed,
    "curl": curl,
    "address": address,
}
