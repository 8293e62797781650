"""Worked examples: what goes in, the answer, the steps, what it rests on. All asked of the engine."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from guide import engine, live, steps
from guide.text import cell, code, slug, table
from lampwright.quantities import UNITS, json_name, show

# The members of an answer worth a line, by path: in words a maker would use.
HEADLINES: dict[str, tuple[tuple[str, str], ...]] = {
    "/v1/series-resistors": (
        ("resistance_ohm", "Resistor"),
        ("colour_bands", "Bands"),
        ("resistance_rkm", "Printed as"),
        ("rated_dissipation_w", "Watt size"),
        ("current_ma", "Current, about"),
        ("current_low_ma", "At least"),
        ("current_high_ma", "At most"),
        ("resistor_voltage_v", "Volts across the resistor"),
        ("dissipation_high_w", "Its heat, at most"),
        ("seen_brightness_pct", "Looks about this bright"),
        ("lowest_lit_voltage_v", "Half its light left at"),
    ),
    "/v1/arrangements": (("reason", "Why this one"),),
    "/v1/wires": (
        ("awg", "Wire, AWG"),
        ("metric_area_mm2", "Metric size"),
        ("drop_v", "Loss in the wire"),
        ("drop_pct", "Part of the supply"),
        ("ampacity_ma", "It may carry"),
        ("limited_by", "Decided by"),
    ),
    "/v1/fuses": (
        ("rated_current_ma", "Fuse"),
        ("style", "Kind"),
        ("needed", "Needed"),
        ("placement", "Where"),
        ("smallest_ma", "Not below"),
        ("largest_ma", "Not above"),
        ("short_circuit_current_ma", "A short would drive"),
    ),
    "/v1/runtimes": (
        ("runtime_h", "Lasts about"),
        ("runtime_low_h", "At least"),
        ("runtime_high_h", "At most"),
        ("ended_by", "Ended by"),
        ("start_voltage_v", "Volts at the start"),
        ("start_current_ma", "Current at the start"),
        ("sets_needed", "Sets to pack"),
    ),
    "/v1/circuit-checks": (
        ("survives", "Survives"),
        ("supply_current_ma", "Current from the supply"),
        ("terminal_voltage_v", "Volts at the supply, lit"),
    ),
    "/v1/supply-choices": (),
    "/v1/light-identifications": (
        ("built_in_resistance_ohm", "Resistor inside"),
        ("built_in_resistance_low_ohm", "At least"),
        ("built_in_resistance_high_ohm", "At most"),
        ("built_in_series_count", "LEDs inside, in a row"),
        ("led_family", "Kind"),
        ("certainty_pct", "How sure"),
        ("matching_resistance_ohm", "Resistor that makes a bare one match"),
    ),
    "/v1/build-sheets": (
        ("summary", "In one line"),
        ("supply_current_ma", "Current from the supply"),
    ),
    "/v1/diagnoses": (("causes.0.what", "Likeliest"), ("causes.0.fix", "What to do")),
    "/v1/build-comparisons": (
        ("changes", "What was changed"),
        ("effects", "What it does"),
        ("safer", "Safer"),
    ),
    "/v1/log-fits": (
        ("supply_current_ma", "Current from the supply"),
        ("supply_current_expected_ma", "As planned"),
        ("runtime_h", "A set lasts about"),
        ("runtime_expected_h", "As planned"),
        ("effects", "What moves"),
        ("not_told", "Not told by these readings"),
    ),
}

# Lists of objects worth a table, by path: the list, its columns.
LISTS: dict[str, tuple[tuple[str, tuple[tuple[str, str], ...]], ...]] = {
    "/v1/series-resistors": (
        (
            "on_hand",
            (
                ("parts_ohm", "From the drawer"),
                ("joined", "Joined"),
                ("resistance_ohm", "Makes"),
                ("current_ma", "Current"),
                ("dissipation_w", "Heat"),
            ),
        ),
        (
            "neighbours",
            (("resistance_ohm", "Next values"), ("current_ma", "Current"), ("dissipation_w", "Heat")),
        ),
    ),
    "/v1/arrangements": (
        (
            "arrangements",
            (
                ("kind", "Joined"),
                ("_rows", "Rows"),
                ("supply_current_ma", "From the supply"),
                ("efficiency_pct", "Power that reaches the lights"),
                ("resistor_count", "Resistors"),
                ("evenness_pct", "Dimmest to brightest"),
                ("if_one_opens", "If one light fails open"),
            ),
        ),
    ),
    "/v1/wires": (
        (
            "alternatives",
            (
                ("awg", "Or, AWG"),
                ("metric_area_mm2", "Metric"),
                ("supply_voltage_v", "Sent at"),
                ("drop_v", "Loss"),
                ("drop_pct", "Part"),
                ("ampacity_ma", "May carry"),
            ),
        ),
    ),
    "/v1/fuses": (),
    "/v1/runtimes": (),
    "/v1/circuit-checks": (
        (
            "strings",
            (
                ("leds", "Row"),
                ("branch_count", "How often"),
                ("resistance_ohm", "Resistor"),
                ("current_ma", "Current"),
                ("current_high_ma", "At most"),
                ("seen_brightness_pct", "Looks this bright"),
            ),
        ),
    ),
    "/v1/supply-choices": (
        (
            "choices",
            (
                ("why", "Best at being"),
                ("name", "Battery"),
                ("mass_g", "Weight"),
                ("runtime_h", "Hours"),
                ("sets_needed", "Sets"),
            ),
        ),
    ),
    "/v1/light-identifications": (
        (
            "at_voltages",
            (
                ("supply_voltage_v", "On"),
                ("current_ma", "Current"),
                ("seen_brightness_pct", "Looks this bright"),
                ("verdict", "Verdict"),
            ),
        ),
    ),
    "/v1/build-sheets": (),
    "/v1/build-comparisons": (),
    "/v1/log-fits": (
        (
            "rows",
            (
                ("row", "Row"),
                ("current_ma", "Current"),
                ("current_expected_ma", "As planned"),
                ("resistance_ohm", "Resistor"),
                ("current_known", "Told"),
            ),
        ),
    ),
    "/v1/diagnoses": (
        ("causes", (("what", "What it may be"), ("likelihood_pct", "How likely"), ("fix", "What to do"))),
    ),
}

_WORDS = {"stop": "Stop", "caution": "Take care", "note": "Note"}


def shown(name: str, value: Any) -> str:
    """Return a JSON member as short text with its unit: ``("current_ma", 18.48)`` gives 18.5 mA."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and name == "leds":
        # Lights in order from plus, equal neighbours counted.
        names = (led.replace("_", " ") if isinstance(led, str) else shown("led", led) for led in value)
        runs = [(key, len(list(run))) for key, run in groupby(names)]
        return ", ".join(f"{count} × {led}" for led, count in runs)
    if isinstance(value, list):
        return ", ".join(shown(name, item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {shown(key, item)}" for key, item in value.items() if key != "display")
    if isinstance(value, int | float):
        if name == "rated_current_ma" and value == 0:
            return "none fitted"
        if name.endswith("dissipation_w") and abs(value) >= 0.01:
            return f"{value:.2g} W"  # resistors are sold as 0.25 W, not as 250 mW
        if name.endswith("_ma") and 0 < abs(value) < 1e-3:
            return "almost none"
        suffix = name.rpartition("_")[2]
        if suffix in UNITS:
            unit = UNITS[suffix]
            return show(unit.inner(value), unit)
        return f"{value:g}"
    # Words of the interface are joined by underscores; a reader needs none.
    return str(value).replace("_", " ") if re.fullmatch(r"[a-z]+(_[a-z]+)+", str(value)) else str(value)


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


def _stops(answer: Mapping[str, Any]) -> list[str]:
    found = [finding["code"] for finding in answer["findings"] if finding["severity"] == "stop"]
    for part in answer.get("arrangements", [])[:1]:
        found += [finding["code"] for finding in part["findings"] if finding["severity"] == "stop"]
    return found


def _finding(finding: Mapping[str, Any]) -> str:
    word = _WORDS[finding["severity"]]
    link = f"[Why](../reference/findings.md#{finding['code']})"
    return (
        f'<div class="finding {finding["severity"]}" markdown>\n\n'
        f"**{word}.** {cell(finding['message'])} {cell(finding['remedy'])} {link}\n\n</div>"
    )


def _row(path: str, entry: Mapping[str, Any], columns: tuple[tuple[str, str], ...]) -> list[str]:
    cells = []
    for name, _ in columns:
        if name == "_rows":
            rows = [f"{s['branch_count']} × {s['series_count']}" for s in entry["strings"]]
            cells.append(cell(", ".join(rows)))
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
        rows_of = _first(answer.get("arrangements")).get("strings", ())
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
            parts += [table(head, [_row(path, entry, columns) for entry in entries]), ""]
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


def listed(name: str, member: str, *columns: str) -> str:
    """Return a list of objects of an answer as a table, the columns named.

    A column with ``!`` behind it holds names to be sent back, shown letter for letter.
    """
    entries = look_up(engine.answer(name), member)[1]
    exact = {column.removesuffix("!") for column in columns if column.endswith("!")}
    columns = tuple(column.removesuffix("!") for column in columns)
    body = [
        [
            code(entry[column]) if column in exact else cell(shown(column, entry.get(column)))
            for column in columns
        ]
        for entry in entries
    ]
    heads = [
        (column.rpartition("_")[0] or column if column.rpartition("_")[2] in UNITS else column).replace(
            "_", " "
        )
        for column in columns
    ]
    return table([head[0].upper() + head[1:] for head in heads], body)


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

__all__ = ["GENERATORS", "json_name", "number"]
