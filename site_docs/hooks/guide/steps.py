"""The steps of an answer: their equations as MathML, the symbols named with their units.

The program writes its equations as plain text (``V_R = V_S − V_LEDs``), so that they can stand in JSON
and on paper. What is a formula is read here and set as one; a rule in words stays words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from guide import formulas
from guide.text import cell

# Symbol in the plain text: (what it is, its unit; none for a number).
SYMBOLS: dict[str, tuple[str, str]] = {
    "V": ("voltage", "V"),
    "V_S": ("voltage of the supply", "V"),
    "V_S,min": ("lowest voltage of the supply", "V"),
    "V_F": ("voltage across one lit LED", "V"),
    "V_LEDs": ("voltage across all LEDs of the row", "V"),
    "V_R": ("voltage across the resistor", "V"),
    "V_row": ("voltage the LEDs of a row may take", "V"),
    "V_k": ("voltage where row k joins", "V"),
    "V_(k−1)": ("voltage where the row before joins", "V"),
    "ΔV": ("difference of the two voltages", "V"),
    "I": ("current", "A"),
    "I_S": ("current from the supply", "A"),
    "I_n": ("rating of the fuse", "A"),
    "I_z": ("current the wire may carry", "A"),
    "I_printed": ("current the table gives the wire", "A"),
    "ΔI": ("difference of the two currents", "A"),
    "R": ("resistance", "Ω"),
    "R_S": ("resistance inside the supply", "Ω"),
    "R_0": ("least resistance that meets every demand", "Ω"),
    "R_wanted": ("resistance for the wanted current", "Ω"),
    "R_rated": ("resistance that keeps the LED below its rating", "Ω"),
    "R_maximum": ("resistance that keeps the LED below its limit", "Ω"),
    "R_segment": ("resistance of the wire from row to row", "Ω"),
    "R′": ("resistance of one metre of the wire", "Ω/m"),
    "l": ("distance, one way", "m"),
    "P": ("power, which turns to heat", "W"),
    "k": ("what a fuse is worth where it is warm, 1 at room temperature", ""),
    "n": ("how many LEDs in a row", ""),
    "t": ("time", "h"),
    "z": ("part of the charge used up, 0 to 1", ""),
    "q": ("charge given so far", "Ah"),
    "q′": ("charge given for each step of z", "Ah"),
    "Q": ("charge of the pack at a very small current", "Ah"),
    "a": ("how much a large current costs, a number of the battery type", ""),
    "U": ("voltage of the pack at rest", "V"),
    "s": ("how far a reading may lie off, in its own unit", ""),
}
_SIGNS = {"·": r"\cdot ", "×": r"\times ", "−": "-", "≥": r"\ge ", "≤": r"\le ", "∝": r"\propto "}
_RAISED = {"²": "^{2}", "³": "^{3}", "ⁿ": "^{n}"}
_TOKEN = re.compile(
    r"(?P<space>\s+)"
    r"|(?P<number>\d+(?:\.\d+)?(?: (?:V|Ω|A)(?![\w′]))?)"
    r"|(?P<function>(?:min|max)(?=\())"
    r"|(?P<sum>[Σ∫])"
    r"|(?P<root>√\d+)"
    r"|(?P<differential>d(?=[a-z]\b))"
    r"|(?P<name>Δ?[A-Za-z](?:_(?:\(k−1\)|[A-Za-z0-9]+(?:,min)?)|(?![A-Za-z]))′?|P(?=\())"
    r"|(?P<word>[A-Za-z][A-Za-z\- ]*[A-Za-z])"
    r"|(?P<raised>[²³ⁿ])"
    r"|(?P<sign>[=+/()|,·×−≥≤∝])"
)
# A rule in words has none of these between its words, or is made of nothing else than words.
_RELATIONS = ("=", "≥", "≤", "∝", "Σ")


def symbols_of(equation: str) -> list[str]:
    """Return the symbols of an equation, each once; empty for a rule in words."""
    found = [
        match["name"]
        for match in _TOKEN.finditer(equation)
        if match["name"] and not (match["name"] == "P" and "|" in equation)
    ]
    return list(dict.fromkeys(found)) if is_formula(equation) else []


def is_formula(equation: str) -> bool:
    """Return whether a step's equation is a formula, and not a rule said in words."""
    if not any(sign in equation for sign in _RELATIONS) or "'" in equation or ";" in equation:
        return False
    at = 0
    for match in _TOKEN.finditer(equation):
        if match.start() != at:
            return False
        at = match.end()
    return at == len(equation)


def _name(text: str) -> str:
    stem, _, low = text.partition("_")
    mark = "'" if text.endswith("′") else ""
    stem = stem.rstrip("′").replace("Δ", r"\Delta ")
    low = low.rstrip("′").strip("()").replace("−", "-")
    if not low:
        return stem + mark
    return (
        rf"{stem}{mark}_{{\mathrm{{{low}}}}}"
        if len(low) > 1 and "-" not in low
        else f"{stem}{mark}_{{{low}}}"
    )


def _token(match: re.Match[str]) -> str:
    kind, text = match.lastgroup, match[0]
    if kind == "space":
        return " "
    if kind == "number":
        figure, _, unit = text.partition(" ")
        return rf"{figure}\,\mathrm{{{unit.replace('Ω', chr(92) + 'Omega ')}}}" if unit else figure
    if kind == "function":
        return rf"\{text}"
    if kind == "sum":
        return r"\sum " if text == "Σ" else r"\int "
    if kind == "root":
        return rf"\sqrt{{{text[1:]}}}"
    if kind == "differential":
        return r"\,\mathrm{d}"
    if kind == "name":
        return _name(text)
    if kind == "word":
        return rf"\text{{{text}}}"
    if kind == "raised":
        return _RAISED[text]
    return _SIGNS.get(text, {"|": r"\mid ", ",": r",\ "}.get(text, text))


def _split(tokens: list[str]) -> list[str]:
    """Return tokens with ``a / b`` as a fraction where a and b are each one factor or a product of some."""
    while "/" in tokens:
        at = tokens.index("/")
        left, right = at - 1, at + 1
        while left > 0 and tokens[left] == " ":
            left -= 1
        while right < len(tokens) - 1 and tokens[right] == " ":
            right += 1
        start, above = _operand(tokens, left, -1)
        end, below = _operand(tokens, right, 1)
        tokens = [*tokens[:start], rf"\frac{{{above}}}{{{below}}}", *tokens[end + 1 :]]
    return tokens


def _operand(tokens: list[str], at: int, step: int) -> tuple[int, str]:
    """Return where the operand of a fraction ends, from ``at`` on, and its text without brackets."""
    opening, closing = ("(", ")") if step > 0 else (")", "(")
    last, depth = at, 0
    while True:
        depth += (tokens[last] == opening) - (tokens[last] == closing)
        following = last + step
        if not 0 <= following < len(tokens):
            break
        # A name and its bracket, a bracket and its power, belong together; so does a product by a dot.
        joins = tokens[following] in (r"\cdot ",) or tokens[last] in (r"\cdot ",)
        joins |= tokens[following].startswith("^") or tokens[last].startswith("^")
        if step < 0:
            joins |= tokens[last] == "(" and bool(re.match(r"[A-Za-z]", tokens[following]))
        else:
            joins |= tokens[following] == "(" and bool(re.match(r"[A-Za-z]", tokens[last]))
        if depth == 0 and not joins:
            break
        last = following
    part = tokens[at : last + 1] if step > 0 else tokens[last : at + 1]
    if part[0] == "(" and part[-1] == ")":
        part = part[1:-1]
    return last, "".join(_split(part))


def tex(equation: str) -> str:
    """Return an equation of a step in TeX notation: ``"R = V_R / I"`` gives a fraction."""
    return "".join(_split([_token(match) for match in _TOKEN.finditer(equation)]))


def equation(text: str) -> str:
    """Return a step's equation: MathML where it is a formula, its words otherwise."""
    if not is_formula(text):
        return f"*{cell(text)}*"
    # A line of its own, which scrolls where the screen is narrow.
    return f'<span class="formula">{formulas.mathml(tex(text), display="block")}</span>'


def steps(working: Sequence[Mapping[str, Any]]) -> str:
    """Return the steps of an answer as a numbered list, and under it what each symbol stands for."""
    lines, named = ["**How it is found**", ""], dict[str, None]()
    for step in working:
        what, values, result = (cell(step[name]) for name in ("what", "values", "result"))
        lines.append(f"1. {what[:1].upper()}{what[1:]}: {equation(step['equation'])}")
        if is_formula(step["equation"]):
            lines[-1] += f"{values + ' gives' if values else 'This gives'} **{result}**"
        else:
            lines[-1] += f"<br>{values + ': ' if values else ''}**{result}**"
        named |= dict.fromkeys(symbols_of(step["equation"]))
    said = []
    for name in named:
        if name in SYMBOLS:
            meaning, unit = SYMBOLS[name]
            said.append(f"{formulas.mathml(_name(name))} {meaning}{f' ({unit})' if unit else ''}")
    if any("P(" in step["equation"] for step in working):
        said.append(f"{formulas.mathml('P')} with brackets: how likely something is, 0 to 1")
    if said:
        lines += ["", f"In these: {'; '.join(said)}.", "{: .symbols }"]
    return "\n".join([*lines, ""])
