"""What is printed on a resistor: letter code and colour bands, written and read (IEC 60062).

Theory of operation. A code puts a letter where the decimal point stands: ``R`` for ohms, ``K`` for
thousands, ``M`` for millions (``4K7`` is 4.7 kΩ). Bands are two or three digits, a multiplier and a
tolerance. Public texts disagree on the tolerance that grey means, so a grey last band is not read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from lampwright.errors import QuantityError
from lampwright.tables.loader import load


@dataclass(frozen=True, slots=True)
class ColourRow:
    """What one colour means as a digit, a multiplier and a tolerance."""

    colour: str
    letters: str
    digit: int | None
    multiplier: float | None
    tolerance: float | None
    note: str
    source: str
    locator: str
    status: str


@dataclass(frozen=True, slots=True)
class Marking:
    """A resistor as its marking says; ``tolerance`` None where the marking does not say."""

    resistance: float
    tolerance: float | None


# Letters after the code. F, G and J are printed in data sheets, the others from memory.
TOLERANCE_LETTERS = {
    "B": 0.001,
    "C": 0.0025,
    "D": 0.005,
    "F": 0.01,
    "G": 0.02,
    "J": 0.05,
    "K": 0.1,
    "M": 0.2,
}
_LETTER_SIZE = {"L": -3, "R": 0, "K": 3, "M": 6, "G": 9}
_RKM = re.compile(r"(\d*)([LRKMG])(\d*)([BCDFGJKM]?)")


@cache
def colours() -> dict[str, ColourRow]:
    """Return what each colour means, by its name."""
    return {row.colour: row for row in load("resistor_colours.csv", ColourRow)}


@cache
def _by_digit() -> tuple[str, ...]:
    return tuple(
        row.colour
        for row in sorted(
            (row for row in colours().values() if row.digit is not None), key=lambda r: r.digit or 0
        )
    )


@cache
def _by_power() -> dict[int, str]:
    return {
        round(math.log10(row.multiplier)): row.colour
        for row in colours().values()
        if row.multiplier is not None
    }


@cache
def _by_tolerance() -> dict[float, str]:
    return {row.tolerance: row.colour for row in colours().values() if row.tolerance is not None}


def _digits(resistance: float, count: int) -> tuple[int, int] | None:
    """Return (digits, power of ten) if a resistance has at most ``count`` digits, else None."""
    mantissa, _, power = f"{resistance:.{count - 1}e}".partition("e")
    if not math.isclose(float(f"{mantissa}e{power}"), resistance, rel_tol=1e-9):
        return None
    return int(mantissa.replace(".", "")), int(power) - count + 1


@lru_cache(maxsize=4096)
def rkm_code(resistance: float) -> str | None:
    """Return the letter code of a resistance, None if it needs more than four digits.

    >>> rkm_code(330.0), rkm_code(4700.0), rkm_code(0.47), rkm_code(51.1), rkm_code(1e6)
    ('330R', '4K7', 'R47', '51R1', '1M0')
    """
    if resistance <= 0 or _digits(resistance, 4) is None:
        return None
    letter, size = ("R", 0) if resistance < 1e3 else ("K", 3) if resistance < 1e6 else ("M", 6)
    whole, _, part = f"{resistance / 10**size:.4f}".rstrip("0").partition(".")
    if part:
        return f"{'' if whole == '0' else whole}{letter}{part}"
    # A lone digit gets its zero, so that nobody reads 1M as something unfinished.
    return f"{whole}{letter}0" if len(whole) == 1 else f"{whole}{letter}"


def read_rkm(text: str) -> Marking | None:
    """Return what a letter code says, or None if the text is not such a code.

    Parameters
    ----------
    text : str
        ``"4k7"``, ``"330R"``, ``"R47"``, with or without a tolerance letter. Case does not matter,
        except that a lower-case m is refused: milli or mega cannot be told apart.

    Raises
    ------
    QuantityError
        If a lower-case m leaves two readings.

    Examples
    --------
    >>> read_rkm("4k7"), read_rkm("330RG"), read_rkm("4.7 kΩ")
    (Marking(resistance=4700.0, tolerance=None), Marking(resistance=330.0, tolerance=0.02), None)
    """
    trimmed = text.strip()
    found = _RKM.fullmatch(trimmed.upper())
    if found is None or not (found[1] or found[3]):
        return None
    if trimmed[found.start(2)] == "m":
        raise QuantityError(
            f"{text!r} can mean milliohms or megohms",
            f"write {trimmed.upper()} for megohms, or the number in ohms",
            trimmed.upper(),
        )
    resistance = float(f"{found[1] or 0}.{found[3] or 0}e{_LETTER_SIZE[found[2]]}")
    return Marking(resistance, TOLERANCE_LETTERS.get(found[4]))


@lru_cache(maxsize=4096)
def colour_bands(resistance: float, tolerance: float = 0.05) -> tuple[str, ...] | None:
    """Return the bands of a resistor in words: four for 5 % and looser, else five.

    Three digits need five bands at any tolerance. None where no bands say it: more than three digits,
    a tolerance without a colour, or out of the multipliers' reach.

    >>> colour_bands(330.0), colour_bands(4700.0, 0.01)
    (('orange', 'orange', 'brown', 'gold'), ('yellow', 'violet', 'black', 'brown', 'brown'))
    """
    last = _by_tolerance().get(tolerance)
    if last is None or resistance <= 0:
        return None
    read = _digits(resistance, 2) if tolerance >= 0.05 else None
    read = read or _digits(resistance, 3)
    if read is None or read[1] not in _by_power():
        return None
    names = _by_digit()
    bands = (*(names[int(digit)] for digit in str(read[0])), _by_power()[read[1]])
    return bands if last == "none" else (*bands, last)


def read_bands(bands: Sequence[str]) -> Marking:
    """Return what three to five colour bands say, first band first.

    Raises
    ------
    QuantityError
        If a colour is unknown, stands where it has no meaning, or the count is wrong.

    Examples
    --------
    >>> read_bands(("red", "red", "brown", "gold"))
    Marking(resistance=220.0, tolerance=0.05)
    """
    names = tuple(band.strip().lower().replace("gray", "grey").replace("purple", "violet") for band in bands)
    for name in names:
        if name not in colours() or name == "none":
            raise QuantityError(
                f"{name!r} is not a band colour", f"one of {', '.join(tuple(colours())[:-1])}"
            )
    if not 3 <= len(names) <= 5:
        raise QuantityError(f"{len(names)} bands", "a resistor has three, four or five bands")
    count = 3 if len(names) == 5 else 2
    digits = 0
    for name in names[:count]:
        digit = colours()[name].digit
        if digit is None:
            raise QuantityError(f"{name} is no digit", "read the bands from the other end")
        digits = digits * 10 + digit
    multiplier = colours()[names[count]].multiplier
    if multiplier is None:
        raise QuantityError(f"{names[count]} is no multiplier", "read the bands from the other end")
    if len(names) == 3:
        tolerance = colours()["none"].tolerance
    else:
        tolerance = colours()[names[-1]].tolerance
        if tolerance is None:
            raise QuantityError(
                f"a last band of {names[-1]} has no certain tolerance",
                "measure it, or send the value in ohms",
            )
    # Through text again: 47 × 0.1 in binary is not 4.7.
    return Marking(float(f"{digits}e{round(math.log10(multiplier))}"), tolerance)
