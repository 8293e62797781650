"""Read a quantity written as text: ``20 mA``, ``4k7``, ``90 min``, ``1,5 V``.

Theory of operation. Each public unit has one exact pattern, which is also what the OpenAPI document
prints. A text that matches it has one meaning and is scaled in decimal arithmetic, so ``20mA``,
``0.02 A`` and ``20`` give the same float to the last bit. Whatever does not match is never guessed at:
it is looked at once more only to say what is wrong with it and what was probably meant.
"""

from __future__ import annotations

import re
from decimal import Decimal, localcontext
from functools import cache

from lampwright.errors import QuantityError
from lampwright.quantities import UNITS, three_digits

LONGEST = 60  # characters; no quantity needs more

# A decimal comma counts only where it cannot group thousands: not three digits after one to three.
_NUMBER = (
    r"[+-]?(?:[0-9]{1,17}(?:\.[0-9]{0,22})?|\.[0-9]{1,22}"
    r"|[0-9]{1,15},(?:[0-9]{1,2}|[0-9]{4,22})|0{1,3},[0-9]{3}|[0-9]{4,15},[0-9]{3})"
    r"(?:[eE][+-]?[0-9]{1,2})?"
)
_D = Decimal

# How a unit may be spelled, and how many public units it makes.
_SPELLINGS: dict[str, dict[str, Decimal]] = {
    "v": {"V": _D(1), "v": _D(1), "mV": _D("0.001"), "volt": _D(1), "volts": _D(1), "VDC": _D(1),
          "Vdc": _D(1), "Volt": _D(1), "Volts": _D(1), "V DC": _D(1), "V dc": _D(1), "V=": _D(1),
          "kV": _D(1000)},
    "ma": {"mA": _D(1), "ma": _D(1), "A": _D(1000), "a": _D(1000), "µA": _D("0.001"), "uA": _D("0.001"),
           "amp": _D(1000), "amps": _D(1000), "Amp": _D(1000), "Amps": _D(1000),
           "mA DC": _D(1), "A DC": _D(1000)},
    "ohm": {"Ω": _D(1), "ohm": _D(1), "ohms": _D(1), "Ohm": _D(1), "Ohms": _D(1), "OHM": _D(1), "R": _D(1),
            "r": _D(1), "kΩ": _D(1000), "KΩ": _D(1000), "k": _D(1000), "K": _D(1000), "kohm": _D(1000),
            "kOhm": _D(1000), "k ohm": _D(1000), "kohms": _D(1000), "MΩ": _D(10**6), "M": _D(10**6),
            "Mohm": _D(10**6), "MOhm": _D(10**6), "mΩ": _D("0.001")},
    "w": {"W": _D(1), "w": _D(1), "mW": _D("0.001"), "mw": _D("0.001"), "watt": _D(1), "watts": _D(1),
          "Watt": _D(1), "µW": _D("0.000001"), "kW": _D(1000)},
    "wh": {"Wh": _D(1), "wh": _D(1), "mWh": _D("0.001"), "kWh": _D(1000)},
    "mah": {"mAh": _D(1), "mah": _D(1), "Ah": _D(1000), "ah": _D(1000)},
    "degc": {"°C": _D(1), "C": _D(1), "degC": _D(1), "° C": _D(1), "°F": _D(1), "F": _D(1), "degF": _D(1)},
    "pct": {"%": _D(1), "percent": _D(1), "per cent": _D(1)},
    "m": {"m": _D(1), "cm": _D("0.01"), "mm": _D("0.001"), "km": _D(1000), "ft": _D("0.3048"),
          "feet": _D("0.3048"), "foot": _D("0.3048"), "in": _D("0.0254"), "inch": _D("0.0254"),
          "inches": _D("0.0254"), "yd": _D("0.9144"), "metre": _D(1), "metres": _D(1), "meter": _D(1),
          "meters": _D(1)},
    "mm": {"mm": _D(1), "cm": _D(10), "m": _D(1000), "in": _D("25.4"), "inch": _D("25.4")},
    "mm2": {"mm²": _D(1), "mm2": _D(1), "mm^2": _D(1), "sqmm": _D(1)},
    "h": {"h": _D(1), "hr": _D(1), "hrs": _D(1), "hour": _D(1), "hours": _D(1), "min": _D(1) / _D(60),
          "mins": _D(1) / _D(60), "minute": _D(1) / _D(60), "minutes": _D(1) / _D(60), "s": _D(1) / _D(3600),
          "sec": _D(1) / _D(3600), "seconds": _D(1) / _D(3600), "d": _D(24), "day": _D(24), "days": _D(24)},
    "s": {"s": _D(1), "sec": _D(1), "seconds": _D(1), "ms": _D("0.001"), "min": _D(60), "h": _D(3600)},
    "g": {"g": _D(1), "gram": _D(1), "grams": _D(1), "kg": _D(1000), "mg": _D("0.001"),
          "oz": _D("28.349523125")},
    "hz": {"Hz": _D(1), "hz": _D(1), "kHz": _D(1000), "khz": _D(1000)},
}  # fmt: skip

# One over sixty has no finite decimal: divide by these instead of multiplying.
_DIVISORS = {"min": 60, "mins": 60, "minute": 60, "minutes": 60, "s": 3600, "sec": 3600, "seconds": 3600}

# Resistors (and 3V3) write the unit where the decimal point would stand (IEC 60062); their watts are
# printed as fractions.
_MARKED = {
    "ohm": r"[0-9]{0,4}[RrkKM][0-9]{1,4}",
    "v": r"[0-9]{1,2}[Vv][0-9]{1,2}",
    "w": r"1/(?:2|3|4|5|8|10|16) ?W?",
}
_MARKS = {"R": _D(1), "r": _D(1), "k": _D(1000), "K": _D(1000), "M": _D(10**6), "V": _D(1), "v": _D(1)}

_ALIKE = str.maketrans(
    {"\u2126": "Ω", "\u03bc": "µ", "\u2212": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " "}
)


def pattern(suffix: str, *, bare: bool = True) -> str:
    """Return the pattern of every text that is read in this unit.

    Parameters
    ----------
    suffix : str
        JSON suffix of the unit.
    bare : bool
        Whether a number without a unit counts as a text, too.
    """
    units = sorted(_SPELLINGS[suffix], key=len, reverse=True)
    spelled = "|".join(re.escape(unit).replace(r"\ ", " ") for unit in units)
    whole = f"{_NUMBER} ?(?:{spelled}){'?' if bare else ''}"
    if suffix in _MARKED:
        whole = f"{whole}|{_MARKED[suffix]}"
    return f"^(?:{whole})$"


@cache
def _compiled(suffix: str) -> tuple[re.Pattern[str], re.Pattern[str] | None]:
    units = sorted(_SPELLINGS[suffix], key=len, reverse=True)
    spelled = "|".join(re.escape(unit) for unit in units)
    marked = _MARKED.get(suffix)
    return (
        re.compile(f"({_NUMBER}) ?({spelled})?"),
        re.compile(marked) if marked else None,
    )


def parse_quantity(text: str, suffix: str) -> float:
    """Return the public number a text stands for.

    Parameters
    ----------
    text : str
        What was written.
    suffix : str
        JSON suffix of the unit wanted.

    Raises
    ------
    QuantityError
        If the text has no meaning, or more than one.

    Examples
    --------
    >>> parse_quantity("20mA", "ma"), parse_quantity("0.02 A", "ma"), parse_quantity("20", "ma")
    (20.0, 20.0, 20.0)
    >>> parse_quantity("4k7", "ohm"), parse_quantity("330R", "ohm"), parse_quantity("1,5 V", "v")
    (4700.0, 330.0, 1.5)
    >>> parse_quantity("90 min", "h")
    1.5
    """
    if len(text) > LONGEST:
        raise QuantityError(
            f"is {len(text)} characters long", f"write a number and a unit, at most {LONGEST}"
        )
    plain = text.translate(_ALIKE).strip(" \t")
    usual, marked = _compiled(suffix)
    found = usual.fullmatch(plain)
    with localcontext() as context:
        context.prec = 60
        if found is not None:
            number = Decimal(found[1].replace(",", "."))
            return _scaled(number, found[2], suffix)
        if marked is not None and marked.fullmatch(plain):
            if suffix == "w":
                return float(1 / Decimal(plain[2:].rstrip(" W")))
            mark = next(letter for letter in plain if letter in _MARKS)
            head, _, tail = plain.partition(mark)
            return float(Decimal(f"{head or 0}.{tail}") * _MARKS[mark])
    raise _fault(plain, suffix)


def _scaled(number: Decimal, unit: str | None, suffix: str) -> float:
    if unit is None:
        return float(number)
    if suffix == "degc" and unit.endswith("F"):
        return float((number - 32) * 5 / 9)
    if suffix == "h" and unit in _DIVISORS:
        return float(number / _DIVISORS[unit])
    return float(number * _SPELLINGS[suffix][unit])


_AC = re.compile(
    r"(?i)(?:^|[^a-z])(?:v\s*)?(?:ac|rms)(?:[^a-z]|$)|vac|~|mains|\b[56]0 ?hz"
    r"|wall (?:power|socket|outlet)|power (?:outlet|point)|household"
)
_ENDLESS = re.compile(r"(?i)[+-]?(?:(?:nan|inf|infinity|∞)\b|[0-9.]+e[+-]?[0-9]{3}).*")
_LETTER_O = re.compile(r"^([+-]?[0-9oO]*[.,]?[0-9oO]+)(?![hH])(.*)$")
_PAIR = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?\s*[A-Za-zµΩ°%²]+")
_LOOSE = re.compile(rf"({_NUMBER})\s*(\S.*)")
ZERO_CELSIUS = 273.15  # K
_KINDS = {suffix: unit.kind for suffix, unit in UNITS.items()}
_ARTICLE = "aeiou"

AC_REASON = (
    "is alternating current or mains: that is refused, because mains can kill and needs licensed work; "
    "this service plans direct current up to 60 V"
)
AC_HINT = "use a closed, ready-made DC supply with its own plug and send the DC volts printed on it"


def is_mains(text: str) -> bool:
    """Return whether a text speaks of alternating current or of the mains.

    >>> is_mains("230V~"), is_mains("12 V AC"), is_mains("wall socket"), is_mains("adapter_12v")
    (True, True, True, False)
    """
    return _AC.search(text[:LONGEST]) is not None


def _kind(suffix: str) -> str:
    kind = _KINDS[suffix]
    return f"an {kind}" if kind[0] in _ARTICLE else f"a {kind}"


def _fault(plain: str, suffix: str) -> QuantityError:
    """Say what is wrong with a text that matched nothing."""
    symbol = UNITS[suffix].symbol
    example = f"write it like 20 {symbol}" if suffix != "pct" else "write it like 20 %"
    if not plain:
        return QuantityError("is empty", f"{example}, or leave it out")
    if _ENDLESS.fullmatch(plain):
        return QuantityError("is not a number one can build with", example)
    if _AC.search(plain):
        return QuantityError(AC_REASON, AC_HINT)
    slipped = _LETTER_O.match(plain)
    if slipped and re.search("[oO]", slipped[1]) and re.search("[0-9]", slipped[1]):
        mended = slipped[1].replace("o", "0").replace("O", "0") + slipped[2]
        return QuantityError(
            "has a letter O where a zero should be", f"did you mean {mended}?", _reads(mended, suffix)
        )
    grouped = re.match(r"^([+-]?[0-9]{1,3}),([0-9]{3})(?![0-9.,])(.*)$", plain)
    if grouped:
        small, big = f"{grouped[1]}.{grouped[2]}", f"{grouped[1]}{grouped[2]}"
        return QuantityError(
            f"has two meanings: {three_digits(float(small))} and {big}",
            f"write {float(small):g}{grouped[3]} or {big}{grouped[3]}, without the comma",
        )
    if re.match(r"^[+-]?[0-9]{1,3}(?:[., ’'][0-9]{3})+(?:[.,][0-9]*)?", plain):
        return QuantityError("groups its digits", "write the digits without spaces, commas or points between")
    if re.match(r"^[0-9.,]+\s*\S*\s*(?:-|–|to|\.\.)\s*[0-9.,]+", plain):
        return QuantityError(
            "is a range", "send one value; the ends of a range go into the members with _min_ and _max_"
        )
    if len(_PAIR.findall(plain)) > 1:
        return QuantityError("has two units", f"send one number with one unit: {example}")
    loose = _LOOSE.fullmatch(plain)
    if loose:
        return _unit_fault(loose[1], loose[2].strip(), suffix, example)
    return QuantityError("is not a number with a unit", example)


def _unit_fault(number: str, unit: str, suffix: str, example: str) -> QuantityError:
    """Say what is wrong with the unit behind a sound number."""
    symbol = UNITS[suffix].symbol
    folded = unit.casefold()
    inside = re.fullmatch(r"m([0-9]+)", unit)
    if suffix == "ohm" and inside:
        written = f"{number}.{inside[1]}"
        return QuantityError(
            f"has an unclear prefix: {number}{unit} could be milli or mega",
            f"write {written} mΩ, or {number}M{inside[1]} for {written} MΩ",
        )
    if suffix == "ohm" and re.fullmatch(r"m|mohms?|milliohms?|megohms?", folded):
        return QuantityError(
            f"has an unclear prefix: {unit} could be milli or mega",
            f"write {number} mΩ or {number} MΩ, or 4M7 for 4.7 MΩ",
        )
    # Case decides between milli and mega: nothing else may.
    twins = [known for known in _SPELLINGS[suffix] if known.casefold() == folded]
    if twins:
        likely = twins[0]
        return QuantityError(
            f"has an unclear prefix: {unit} could be meant as {likely}",
            f"did you mean {number} {likely}?",
            _reads(f"{number} {likely}", suffix),
        )
    if suffix == "degc" and folded in ("k", "kelvin"):
        celsius = round(float(number.replace(",", ".")) - ZERO_CELSIUS, 2)
        return QuantityError(
            f"is in kelvin; {_kind(suffix)} is wanted here, in {symbol}",
            f"did you mean {three_digits(celsius)} {symbol}?",
            celsius,
        )
    if folded == "m":
        return QuantityError(f"has an unclear prefix: {unit} alone is no unit of {_kind(suffix)}", example)
    for other, spellings in _SPELLINGS.items():
        if unit in spellings or any(folded == known.casefold() for known in spellings):
            return QuantityError(f"is {_kind(other)}; {_kind(suffix)} is wanted here, in {symbol}", example)
    words = [word for word in re.split(r"[\s,;/]+", unit) if word]
    if len(words) > 1 and all(any(word in known for known in _SPELLINGS.values()) for word in words):
        return QuantityError("has two units", f"send one number with one unit: {example}")
    return QuantityError(f"has a unit that is not known here: {unit}", example)


def _reads(text: str, suffix: str) -> float | None:
    """Return what a mended text would mean, or None."""
    try:
        return parse_quantity(text, suffix)
    except QuantityError:
        return None
