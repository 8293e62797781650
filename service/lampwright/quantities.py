"""Units, their JSON suffixes, short texts such as "18.5 mA", and the glossary of names.

Theory of operation. A quantity has one *stem* (``forward_voltage``) everywhere. Inside Python the
stem is the name and the value is in the inner unit (SI base; conductor area in mm², charge in A·h,
temperature in °C). In JSON, query strings and CSV the unit the trade speaks is part of the name
(``forward_voltage_v``). The table ``UNITS`` says how the two relate, ``glossary.toml`` says which
unit a stem has. Nothing else in the program scales a number.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Unit:
    """One public unit: its JSON suffix, its symbol, and how many of it make one inner unit.

    ``per_inner`` is a whole number or one over a whole number, so that scaling by it is a single
    correctly rounded operation in each direction.
    """

    suffix: str
    symbol: str
    per_inner: float
    kind: str

    def outer(self, inner: float) -> float:
        """Return the public number for a value in the inner unit."""
        return inner * self.per_inner if self.per_inner >= 1 else inner / round(1 / self.per_inner)

    def inner(self, outer: float) -> float:
        """Return the value in the inner unit for a public number."""
        return outer / self.per_inner if self.per_inner >= 1 else outer * round(1 / self.per_inner)


UNITS: dict[str, Unit] = {
    unit.suffix: unit
    for unit in (
        Unit("v", "V", 1, "voltage"),
        Unit("ma", "mA", 1000, "current"),
        Unit("ohm", "Ω", 1, "resistance"),
        Unit("w", "W", 1, "power"),
        Unit("wh", "Wh", 1, "energy"),
        Unit("mah", "mAh", 1000, "charge"),
        Unit("degc", "°C", 1, "temperature"),
        Unit("pct", "%", 100, "ratio"),
        Unit("m", "m", 1, "length"),
        Unit("mm", "mm", 1000, "length"),
        Unit("mm2", "mm²", 1, "area"),
        Unit("h", "h", 1 / 3600, "time"),
        Unit("s", "s", 1, "time"),
        Unit("g", "g", 1000, "mass"),
        Unit("hz", "Hz", 1, "frequency"),
    )
}

# A spread, a bound or a state of one quantity shares its unit.
_QUALIFIERS = ("low", "high", "min", "max", "fresh", "empty", "limit", "expected")


@dataclass(frozen=True, slots=True)
class Term:
    """One glossary entry: a name used in code, JSON and prose alike."""

    name: str
    meaning: str
    unit: Unit | None
    symbol: str
    standard: str
    json_name: str
    synonyms: tuple[str, ...]


@cache
def glossary() -> dict[str, Term]:
    """Return every glossary entry by its name, in the order of the file."""
    text = resources.files("lampwright").joinpath("glossary.toml").read_text("utf-8")
    terms = {}
    for name, entry in tomllib.loads(text).items():
        suffix = entry.get("unit", "")
        unit = UNITS[suffix] if suffix else None
        terms[name] = Term(
            name=name,
            meaning=entry["meaning"],
            unit=unit,
            symbol=entry.get("symbol", ""),
            standard=entry.get("standard", "our own words"),
            json_name=entry.get("json", f"{name}_{suffix}" if suffix else name),
            synonyms=tuple(entry.get("synonyms", ())),
        )
    return terms


@cache
def unit_of(stem: str) -> Unit | None:
    """Return the unit of a stem, or None for a plain count, word or object.

    >>> unit_of("forward_voltage_min").symbol
    'V'
    >>> unit_of("series_count") is None
    True
    """
    term = glossary().get(stem)
    if term is not None:
        return term.unit
    head, _, last = stem.rpartition("_")
    if head and last in _QUALIFIERS:
        return unit_of(head)
    return None


@cache
def json_name(stem: str) -> str:
    """Return the JSON name of a stem.

    >>> json_name("current_low")
    'current_low_ma'
    >>> json_name("branch_count")
    'branch_count'
    """
    term = glossary().get(stem)
    if term is not None:
        return term.json_name
    unit = unit_of(stem)
    return f"{stem}_{unit.suffix}" if unit else stem


def three_digits(number: float) -> str:
    """Return a number with at most three significant digits and no needless zeros.

    >>> three_digits(18.4837), three_digits(2.0), three_digits(0.03456), three_digits(12345.0)
    ('18.5', '2', '0.0346', '12300')
    """
    if number == 0 or not math.isfinite(number):
        return "0" if number == 0 else str(number)
    digits = 2 - math.floor(math.log10(abs(number)))
    rounded = round(number, digits)
    if digits <= 0:
        return f"{rounded:.0f}"
    text = f"{rounded:.{digits}f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


# (from this many inner units on, symbol, inner units each); largest first.
_SCALES: dict[str, tuple[tuple[float, str, float], ...]] = {
    "ma": ((1.0, "A", 1.0), (1e-3, "mA", 1e-3), (0.0, "µA", 1e-6)),
    "ohm": ((1e6, "MΩ", 1e6), (1e3, "kΩ", 1e3), (0.5, "Ω", 1.0), (0.0, "mΩ", 1e-3)),
    "w": ((1.0, "W", 1.0), (1e-3, "mW", 1e-3), (0.0, "µW", 1e-6)),
    "v": ((0.1, "V", 1.0), (0.0, "mV", 1e-3)),
    "m": ((1.0, "m", 1.0), (0.01, "cm", 1e-2), (0.0, "mm", 1e-3)),
    "mah": ((10.0, "Ah", 1.0), (0.0, "mAh", 1e-3)),
    "h": ((3600.0, "h", 3600.0), (60.0, "min", 60.0), (0.0, "s", 1.0)),
    "g": ((1.0, "kg", 1.0), (0.0, "g", 1e-3)),
    "hz": ((1000.0, "kHz", 1000.0), (0.0, "Hz", 1.0)),
}


# Below these nobody measures anything, and a text full of zeros says less than a plain one.
_NOTHING = {"ma": 1e-8, "v": 1e-9, "w": 1e-12, "pct": 1e-8}

# Where ``.3g`` reads as the rules below have it, a hair off every step and without an exponent:
# (from, to, inner units each, symbol); below zero: how many of them to an inner unit.
_USUAL: dict[str, tuple[tuple[float, float, float, str], ...]] = {
    "ma": ((1.01e-3, 0.99, 1e-3, " mA"), (1.01, 99.0, 1.0, " A")),
    "ohm": ((0.505, 990.0, 1.0, " Ω"), (1010.0, 99e4, 1e3, " kΩ"), (1.01e-3, 0.495, 1e-3, " mΩ")),
    "w": ((1.01e-3, 0.99, 1e-3, " mW"), (1.01, 990.0, 1.0, " W")),
    "v": ((0.101, 990.0, 1.0, " V"), (1e-6, 0.099, 1e-3, " mV")),
    "pct": ((0.0001, 9.9, -100.0, " %"),),
    "degc": ((1.0, 990.0, 1.0, " °C"),),
    "m": ((1.0, 990.0, 1.0, " m"), (0.0101, 0.99, 0.01, " cm"), (1e-6, 0.0099, 1e-3, " mm")),
    "mm": ((1e-6, 0.99, -1000.0, " mm"),),
    "mm2": ((0.001, 990.0, 1.0, " mm²"),),
    "h": ((3636.0, 3.5e6, 3600.0, " h"), (60.6, 3564.0, 60.0, " min")),
    "mah": ((1e-6, 0.99, 1e-3, " mAh"), (10.1, 990.0, 1.0, " Ah")),
    "g": ((1e-6, 0.99, 1e-3, " g"), (1.01, 990.0, 1.0, " kg")),
    "wh": ((0.001, 990.0, 1.0, " Wh"),),
}


@cache
def shower(suffix: str) -> Callable[[float], str]:
    """Return a quick ``show`` for one unit: the usual range at once, the rest by the rules.

    >>> shower("ma")(0.0185), shower("ma")(1e-6), shower("pct")(0.749)
    ('18.5 mA', '1 µA', '74.9 %')
    """
    unit = UNITS[suffix]
    names = {"by_rule": lambda value: show_by_rule(value, unit)}
    text = shower_text(suffix, "value", "by_rule")
    made: Callable[[float], str] = eval(f"lambda value: {text}", names)  # noqa: S307 - our own text
    return made


def shower_text(suffix: str, value: str, otherwise: str) -> str:
    """Return Python that shows the variable ``value``: usual ranges at once, the rest by ``otherwise``.

    >>> shower_text("mm2", "v", "show_mm2")
    '(f"{v / 1.0:.3g} mm²" if 0.001 <= v < 990.0 else "0 mm²" if v == 0 else show_mm2(v))'
    """
    text = "("
    for low, high, each, symbol in _USUAL.get(suffix, ()):
        scaled = f"{value} / {each!r}" if each > 0 else f"{value} * {-each!r}"
        text += f'f"{{{scaled}:.3g}}{symbol}" if {low!r} <= {value} < {high!r} else '
    return f'{text}"0 {UNITS[suffix].symbol}" if {value} == 0 else {otherwise}({value}))'


def show(value: float, unit: str | Unit) -> str:
    """Return a short text for a value in the inner unit, at most three significant digits.

    Parameters
    ----------
    value : float
        In the inner unit (A, Ω, s, ratio, ...).
    unit : str or Unit
        The public unit or its JSON suffix.

    Examples
    --------
    >>> show(0.0185, "ma"), show(4700, "ohm"), show(21240, "h"), show(0.03, "pct"), show(1.5, "ma")
    ('18.5 mA', '4.7 kΩ', '5.9 h', '3 %', '1.5 A')
    """
    return shower(unit.suffix if isinstance(unit, Unit) else unit)(value)


def show_by_rule(value: float, unit: str | Unit) -> str:
    """Return what `show` does, by the rules as they stand: which prefix, how many digits.

    >>> show_by_rule(0.0185, "ma"), show_by_rule(1e-6, "ma"), show_by_rule(5e-10, "ma")
    ('18.5 mA', '1 µA', '0 mA')
    """
    known = unit if isinstance(unit, Unit) else UNITS[unit]
    if known.suffix == "degc":
        return f"{three_digits(value)} °C"
    scales = _SCALES.get(known.suffix)
    if scales is None:
        if abs(value) < _NOTHING.get(known.suffix, 0.0):
            return f"0 {known.symbol}"
        return f"{three_digits(known.outer(value))} {known.symbol}"
    size = abs(value)
    if size < _NOTHING.get(known.suffix, 0.0) or size == 0:
        return f"0 {known.symbol}"
    # A hair under a step (0.9999 A) must not read "1000 mA": round first, then choose.
    shown = float(f"{size:.3g}")
    for floor, symbol, each in scales:
        if shown >= floor:
            return f"{three_digits(value / each)} {symbol}"
    raise AssertionError("the last scale starts at zero")
