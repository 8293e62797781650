"""The names a maker gives to lights, told apart from what the sheet calls its own parts.

A light may be called "S1" or "A"; on the sheet S1 is the switch and A a row. Wherever such a name is
printed it stands in marks after the word light, and a note says what else is called so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from lampwright.planner.findings import finding
from lampwright.planner.labels import rows_in
from lampwright.planner.models.base import Finding
from lampwright.planner.models.build import Plan

#: What heads a line of the sheet's lists or names the end of a joint.
TERMS = frozenset(
    (
        *("battery", "battery holder", "battery leads", "battery snap", "coin cell holder", "supply"),
        *("pack", "pack lead", "usb lead", "vehicle plug", "plug", "socket", "plug, socket", "fuse"),
        *("switch", "resistor", "wire", "bridge", "link", "shrink sleeve", "lever connector"),
        *("plus", "minus"),
    )
)
_KINDS = {"S": "a switch", "F": "a fuse", "G": "a supply", "W": "a wire", "X": "a joint"}
_LABEL = re.compile(r"([a-z]{1,3})(\d{0,4})")
_RESISTOR = re.compile(r"r[ _–-]?([a-z]{1,3})")


def _plain(name: str) -> str:
    """Return a name as far as it is heard.

    >>> _plain(" “W1+” "), _plain("Row  A")
    ('w1', 'a')
    """
    return " ".join(name.casefold().strip(" \"'“”„«»()[].:+−-").split()).removeprefix("row ")


def _meaning(plain: str, rows: frozenset[str], resistors: frozenset[str]) -> str:
    """Return what a name reads like on a sheet: "the switch"; "" where it reads like nothing there."""
    if plain in TERMS:
        return "a part"
    if (resistor := _RESISTOR.fullmatch(plain)) and resistor[1].upper() in resistors:
        return f"the resistor of row {resistor[1].upper()}"
    if not (label := _LABEL.fullmatch(plain)):
        return ""
    letters = label[1].upper()
    if letters in rows:
        return f"a light of row {letters}" if label[2] else f"row {letters}"
    # A wire or joint that this build does not have would be looked for all the same.
    return _KINDS.get(letters, "") if label[2] else ""


def meanings(plan: Plan) -> dict[str, str]:
    """Return what names of lights read like on the sheet, for those that read like a label of it."""
    plain = {light.name: _plain(light.name) for light in plan.ask.lights}
    alike = [
        name
        for name, heard in plain.items()
        if heard in TERMS or _LABEL.fullmatch(heard) or _RESISTOR.fullmatch(heard)
    ]
    if not alike or not plan.strings:
        return {}
    rows = frozenset(row for string in plan.strings for row in rows_in(string.row))
    resistors = frozenset(
        row for string in plan.strings if string.solved.resistance for row in rows_in(string.row)
    )
    found = {name: _meaning(plain[name], rows, resistors) for name in alike}
    return {name: meaning for name, meaning in found.items() if meaning}


def own_names(plan: Plan) -> dict[str, str]:
    """Return each light's name as the sheet prints it: light “S1” where S1 is something else there."""
    apart = meanings(plan)
    return {
        light.name: apart_name(light.name) if light.name in apart else light.name for light in plan.ask.lights
    }


def apart_name(name: str) -> str:
    """Return a light's name as it is printed beside a label of the sheet that reads the same.

    >>> apart_name("S1")
    'light “S1”'
    """
    return f"light “{name}”"


def clashes(plan: Plan) -> Sequence[Finding]:
    """Return a note of the lights' names that read like labels of the sheet, where there are any."""
    apart = meanings(plan)
    if not apart:
        return ()
    places = [place for place, light in enumerate(plan.ask.lights) if light.name in apart]
    said = ", ".join(f"“{name}” ({meaning})" for name, meaning in apart.items())
    first = apart_name(next(iter(apart)))
    return (finding("name_is_label", names=said, first=first, field=f"lights.{places[0]}.name"),)
