"""Spoil one value of a sound sheet: a resistor, the fuse, a wire, a count, a light, a printed current.

Numbers are spoiled together with the short text beside them, as a careful liar would.
"""

from __future__ import annotations

import copy
import random
from typing import Any

from lampwright.quantities import UNITS, json_name, show

Document = dict[str, Any]

KINDS = ("resistor", "fuse", "wire", "count", "led", "current")
_FACTORS = (0.5, 0.8, 0.9, 1.1, 1.25, 2.0)
#: A printed current under this is none at all: what a dark light leaks [mA].
LEAST_CURRENT = 1e-3


def spoiled(document: Document, chance: random.Random, kind: str) -> tuple[Document, str]:
    """Return a copy with one value changed, and which."""
    changed = copy.deepcopy(document)
    place = {
        "resistor": _resistor,
        "fuse": _fuse,
        "wire": _wire,
        "count": _count,
        "led": _led,
        "current": _current,
    }[kind](changed, chance)
    return changed, place


def _set(owner: Document, member: str, value: object) -> None:
    """Set a member and the text beside it."""
    owner[member] = value
    display = owner.get("display")
    if not isinstance(display, dict) or not isinstance(value, (int, float)):
        return
    for stem in display:
        if json_name(stem) == member:
            suffix = member.rpartition("_")[2]
            if suffix in UNITS:
                display[stem] = show(UNITS[suffix].inner(float(value)), suffix)


def _resistor(document: Document, chance: random.Random) -> str:
    rows = [row for row in document["strings"] if row["resistance_ohm"]]
    if not rows:
        return _current(document, chance)
    row = chance.choice(rows)
    member = chance.choice(("resistance_ohm", "resistance_ohm", "tolerance_pct", "resistance_rkm"))
    value = "9R9" if member == "resistance_rkm" else row[member] * chance.choice(_FACTORS)
    _set(row, member, value)
    return f"strings.{row['row']}.{member}"


def _fuse(document: Document, chance: random.Random) -> str:
    fuse = document["fuse"]
    choices = [each for each in (0.05, 10, 20, 7.77) if each * 1000 != fuse["rated_current_ma"]]
    member = chance.choice(("rated_current_ma", "rated_current_ma", "needed", "largest_ma", "smallest_ma"))
    if member == "needed":
        value: object = chance.choice(
            [each for each in ("required", "advised", "optional") if each != fuse["needed"]]
        )
    elif member == "rated_current_ma":
        value = chance.choice(choices) * 1000
    else:
        value = (fuse[member] or 1.0) * chance.choice(_FACTORS)
    _set(fuse, member, value)
    return f"fuse.{member}"


def _wire(document: Document, chance: random.Random) -> str:
    wire = chance.choice(document["wires"])
    member = chance.choice(("awg", "run_length_m", "loop_resistance_ohm", "drop_v", "ampacity_ma"))
    value = wire[member] + chance.choice((-2, 2, 4)) if member == "awg" else wire[member] * 1.2
    _set(wire, member, value)
    return f"wires.{wire['label']}.{member}"


def _count(document: Document, chance: random.Random) -> str:
    kind = chance.choice(("strings", "light_figures", "parts_list"))
    if kind == "strings":
        row = chance.choice(document["strings"])
        row["branch_count"] += chance.choice((1, 2))
        return f"strings.{row['row']}.branch_count"
    if kind == "light_figures":
        light = chance.choice(document["light_figures"])
        light["count"] += 1
        return f"light_figures.{light['name']}.count"
    names = {light["name"] for light in document["light_figures"]} | {"Resistor"}
    line = chance.choice([line for line in document["parts_list"] if line["item"] in names])
    line["count"] += 1
    return f"parts_list.{line['item']}.count"


def _led(document: Document, chance: random.Random) -> str:
    light = chance.choice(document["light_figures"])
    member = chance.choice(
        (
            "forward_voltage_v",
            "forward_voltage_min_v",
            "forward_voltage_max_v",
            "rated_current_ma",
            "max_forward_current_ma",
        )
    )
    _set(light, member, light[member] * chance.choice(_FACTORS))
    return f"light_figures.{light['name']}.{member}"


def _current(document: Document, chance: random.Random) -> str:
    found: list[tuple[Document, str, str]] = []
    for member in ("strings", "wires", "fuse", "bench_checks", "runtime", "switch"):
        _collect(document.get(member), member, found)
    found += [
        (document, name, name)
        for name, value in document.items()
        if name.endswith("_ma") and isinstance(value, (int, float)) and abs(value) > LEAST_CURRENT
    ]
    # Another fuse of the window, or a stronger switch, would be as right: no lie to catch.
    found = [each for each in found if not each[2].startswith("fuse.alt") or each[1] != "rated_current_ma"]
    owner, name, place = chance.choice(found)
    if place.startswith("switch"):
        # Half a switch's rating may still be plenty, and no lie: what is asked of it is too little.
        _set(owner, name, document["design_current_ma"] * chance.choice((0.5, 0.9, 1.0)))
    else:
        _set(owner, name, owner[name] * chance.choice(_FACTORS))
    return place


def _collect(value: object, place: str, found: list[tuple[Document, str, str]]) -> None:
    """Gather every printed current above nothing, as (owner, member, place)."""
    if isinstance(value, dict):
        for name, item in value.items():
            if name.endswith("_ma") and isinstance(item, (int, float)) and abs(item) > LEAST_CURRENT:
                found.append((value, name, f"{place}.{name}"))
            elif name not in ("display", "curve"):
                _collect(item, f"{place}.{name}", found)
    elif isinstance(value, list):
        for index, item in enumerate(value):
            _collect(item, f"{place}.{index}", found)
