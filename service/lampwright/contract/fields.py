"""Fields of the public contract: quantities with units, counts, words, lights.

A field reads JSON strictly (a count is a number, a flag is true or false); ``coerced`` turns the texts of
a query string or a table cell into the JSON they stand for first. Every refusal is a ``Fault``: a text
that carries a hint, a suggestion and whether it breaks the schema (400) or only cannot be taken (422).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from marshmallow import ValidationError, fields, missing

from lampwright.contract.parse import AC_HINT, AC_REASON, is_mains, parse_quantity, pattern
from lampwright.errors import QuantityError
from lampwright.quantities import UNITS, Unit, json_name

BROKEN, UNTAKEABLE = 400, 422


class Fault(str):
    """What is wrong with one member, in words, with what to do about it."""

    hint: str
    suggestion: object
    status: int

    def __new__(cls, detail: str, hint: str = "", suggestion: object = None, status: int = BROKEN) -> Fault:
        """Return the text with its hint, suggestion and status."""
        fault = super().__new__(cls, detail)
        fault.hint = hint
        fault.suggestion = suggestion
        fault.status = status
        return fault


def refuse(detail: str, hint: str = "", suggestion: object = None, status: int = BROKEN) -> ValidationError:
    """Return the exception that refuses a value."""
    return ValidationError(Fault(detail, hint, suggestion, status))


def plain_number(value: float) -> str:
    """Return a number as one writes it: no needless ``.0``, no loss.

    >>> plain_number(20.0), plain_number(0.1), plain_number(1e22)
    ('20', '0.1', '1e+22')
    """
    text = repr(value)
    return text[:-2] if text.endswith(".0") else text


class Field(fields.Field[Any]):
    """A field that shares its name with the glossary and says what is wrong in our own words."""

    def __init__(self, *, note: str = "", **settings: Any) -> None:
        settings.setdefault(
            "error_messages",
            {
                "required": Fault("is missing", "this member is needed"),
                "null": Fault("is null", "leave it out instead"),
            },
        )
        super().__init__(**settings)
        self.note = note

    def _bind_to_schema(self, field_name: str, parent: Any) -> None:
        super()._bind_to_schema(field_name, parent)
        if self.data_key is None:
            self.data_key = json_name(field_name)

    def deserialize(
        self, value: Any, attr: str | None = None, data: Mapping[str, Any] | None = None, **kwargs: Any
    ) -> Any:
        """Return what was sent as it is understood; the library's way goes by steps no field of ours has."""
        if value is None or value is missing:
            return super().deserialize(value, attr, data, **kwargs)
        return self._deserialize(value, attr, data, **kwargs)

    def coerced(self, text: str) -> object:
        """Return the JSON a query parameter or a cell stands for; what does not read stays text."""
        return text

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return the JSON schema of this field."""
        raise NotImplementedError

    def part_pattern(self) -> str:
        """Return the pattern of one part of a list in a query string."""
        raise NotImplementedError


_BARE = re.compile(r"[+-]?(?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:[eE][+-]?[0-9]{1,3})?")

#: Of DC, without protection against shock.
HIGHEST_VOLTS = 60
ABOVE_60 = (
    "above 60 V DC a touch can kill and other rules apply: this service plans no such build; "
    "ask a licensed electrician"
)


class Quantity(Field):
    """A number in the public unit, or a text with a unit, within inclusive bounds."""

    def __init__(
        self, unit: str, low: float, high: float, *, why_low: str = "", why_high: str = "", **settings: Any
    ) -> None:
        super().__init__(**settings)
        self.unit: Unit = UNITS[unit]
        self.low = float(low)
        self.high = float(high)
        self.why = {"low": why_low, "high": why_high}

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        kind = type(value)
        if kind is float or kind is int:
            return self._bounded(value, BROKEN)
        if kind is str:
            try:
                number = parse_quantity(value, self.unit.suffix)
            except QuantityError as error:
                raise refuse(error.detail, error.hint, error.suggestion) from None
            return self._bounded(number, UNTAKEABLE)
        raise refuse(
            "is not a number", f"send a number of {self.unit.symbol} or a text such as 20 {self.unit.symbol}"
        )

    def _bounded(self, value: float, status: int) -> float:
        if self.low <= value <= self.high:
            return float(value) + 0.0  # no minus zero
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise refuse("is not a number one can build with", self._range())
        raise self._outside(number, status)

    def _range(self) -> str:
        symbol = self.unit.symbol
        return f"send {plain_number(self.low)} to {plain_number(self.high)} {symbol}"

    def _outside(self, number: float, status: int) -> ValidationError:
        side, bound, word = ("low", self.low, "below") if number < self.low else ("high", self.high, "above")
        symbol = self.unit.symbol
        detail = f"{plain_number(number)} {symbol} is {word} {plain_number(bound)} {symbol}"
        if self.unit.suffix == "ma" and abs(number) >= 1000:
            detail = f"{plain_number(number / 1000)} A is {word} {plain_number(bound)} mA"
        if self.why[side]:
            detail = f"{detail}: {self.why[side]}"
        likely = self._likely(number)
        hint = self._range()
        if likely is not None:
            hint = f"did you mean {plain_number(likely)} {symbol}? Otherwise {hint}"
        return refuse(detail, hint, likely, status)

    def _likely(self, number: float) -> float | None:
        """Return the value a slip of the unit hides: 20 A for 20 mA, 0.03 for 3 %, 95 °F, 480 min."""
        if self.unit.suffix == "degc":
            celsius = round((number - 32) / 1.8, 1)
            return celsius if number > self.high and self.low <= celsius <= self.high else None
        if self.unit.suffix == "h":
            hours = number / 60
            return hours if number > self.high and 1 <= hours <= self.high else None
        steps = (0.01, 100) if self.unit.suffix == "pct" else (0.001, 1000)
        for step in steps:
            scaled = float(Decimal(repr(number)) * Decimal(repr(step)))
            if (step < 1) == (number > self.high) and self.low <= scaled <= self.high and scaled != 0:
                return scaled
        return None

    def coerced(self, text: str) -> object:
        """Return a bare number as a number, so that its bounds are the schema's."""
        if _BARE.fullmatch(text.strip()):
            return float(text)
        return text

    def part_pattern(self) -> str:
        """Return the pattern of a number with or without a unit."""
        return pattern(self.unit.suffix)[1:-1]

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return number within bounds, or text with a unit."""
        return {
            "anyOf": [
                {"type": "number", "minimum": self.low, "maximum": self.high},
                {"type": "string", "pattern": pattern(self.unit.suffix, bare=not query), "maxLength": 60},
            ],
            "x-unit": self.unit.symbol,
        }


class Count(Field):
    """A whole number within inclusive bounds."""

    def __init__(self, low: int = 1, high: int = 10_000, **settings: Any) -> None:
        super().__init__(**settings)
        self.low = low
        self.high = high

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        kind = type(value)
        if kind is float and value.is_integer():
            value = int(value)
        elif kind is not int:
            raise refuse("is not a whole number", f"send a whole number from {self.low} to {self.high}")
        if not self.low <= value <= self.high:
            shown = str(value) if abs(value) < 10**15 else "a very large number"
            word = "below" if value < self.low else "above"
            bound = self.low if value < self.low else self.high
            raise refuse(f"{shown} is {word} {bound}", f"send a whole number from {self.low} to {self.high}")
        return int(value)

    def coerced(self, text: str) -> object:
        """Return the whole number a text stands for."""
        plain = text.strip()
        return int(plain) if re.fullmatch(r"[+-]?[0-9]{1,20}", plain) else text

    def part_pattern(self) -> str:
        """Return every whole number within the bounds where they are few, else as many digits."""
        if self.high - self.low < 100:
            return "|".join(str(number) for number in range(self.low, self.high + 1))
        return f"[0-9]{{1,{len(str(self.high))}}}"

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return an integer within bounds."""
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


class Plain(Field):
    """A number without a unit, within inclusive bounds."""

    def __init__(self, low: float, high: float, **settings: Any) -> None:
        super().__init__(**settings)
        self.low = float(low)
        self.high = float(high)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        hint = f"send a number from {plain_number(self.low)} to {plain_number(self.high)}"
        if type(value) is not float and type(value) is not int:
            raise refuse("is not a number", hint)
        if not self.low <= value <= self.high:
            raise refuse("is out of bounds", hint)
        return float(value) + 0.0

    def coerced(self, text: str) -> object:
        """Return the number a text stands for."""
        return float(text) if _BARE.fullmatch(text.strip()) else text

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return a number within bounds."""
        return {"type": "number", "minimum": self.low, "maximum": self.high}


class Flag(Field):
    """True or false."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if value is True or value is False:
            return bool(value)
        raise refuse("is neither true nor false", "send true or false")

    def coerced(self, text: str) -> object:
        """Return the flag a text stands for."""
        return {"true": True, "1": True, "yes": True, "false": False, "0": False, "no": False}.get(
            text.strip().lower(), text
        )

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return a boolean."""
        return {"type": "boolean"}


# Controls, and marks that turn the direction of writing, have no place on a sheet.
_SEEN_PATTERN = (
    r"^[^\u0000-\u001f\u007f-\u009f\u200b\u200e\u200f\u2028\u2029\u202a-\u202e"
    r"\u2060\u2066-\u2069\ufeff\ufffd]*$"
)
_SEEN = re.compile(_SEEN_PATTERN)


class Text(Field):
    """A short line of text that can stand on a sheet."""

    def __init__(self, longest: int = 120, *, shortest: int = 1, **settings: Any) -> None:
        super().__init__(**settings)
        self.longest = longest
        self.shortest = shortest

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if type(value) is not str:
            raise refuse("is not a text", f"send a text of {self.shortest} to {self.longest} characters")
        if not self.shortest <= len(value) <= self.longest:
            raise refuse(
                f"is {len(value)} characters long", f"send {self.shortest} to {self.longest} characters"
            )
        if not _SEEN.fullmatch(value):
            raise refuse("has characters that cannot be seen or printed", "leave out control characters")
        return value

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return a string of seen characters."""
        return {
            "type": "string",
            "minLength": self.shortest,
            "maxLength": self.longest,
            "pattern": _SEEN_PATTERN,
        }


class Clock(Field):
    """A time of day such as 14:30."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if type(value) is str and re.fullmatch(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", value):
            return value
        raise refuse("is not a time of day", "write it like 14:30")

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return a string of hours and minutes."""
        return {"type": "string", "pattern": "^(?:[01][0-9]|2[0-3]):[0-5][0-9]$"}


def _as_volts(text: str) -> float | None:
    """Return the volts a text stands for that was sent in place of a name, None where it is no volts.

    A bare number may be the size of a cell: 18650.
    """
    if _BARE.fullmatch(text.strip()):
        return None
    try:
        return parse_quantity(text, "v")
    except QuantityError:
        return None


class Word(Field):
    """One of a few words; the words may be known only once the tables are read."""

    def __init__(
        self, words: Sequence[str] | Callable[[], Sequence[str]], what: str = "word", **settings: Any
    ):
        super().__init__(**settings)
        self._words = words
        self.what = what
        self._known: frozenset[str] | None = None

    @property
    def words(self) -> Sequence[str]:
        """The words that are taken."""
        return self._words() if callable(self._words) else self._words

    def knows(self, word: str) -> bool:
        """Return whether a word is taken."""
        if self._known is None:
            self._known = frozenset(self.words)
        return word in self._known

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if type(value) is str and self.knows(value):
            return value
        raise self.unknown(value)

    def unknown(self, value: object) -> ValidationError:
        """Return the refusal of a word that is not among the known ones, with the nearest that is."""
        if type(value) is str and self.what in ("supply", "battery") and is_mains(value):
            return refuse(AC_REASON, AC_HINT)
        known = f"is not the name of a {self.what}"
        if type(value) is str:
            known = f"no {self.what} is called that"
            volts = _as_volts(value) if self.what in ("supply", "battery") else None
            if volts is not None and volts > HIGHEST_VOLTS:
                return refuse(f"{plain_number(volts)} V is above {HIGHEST_VOLTS} V: {ABOVE_60}", AC_HINT)
            if volts is not None and self.what == "supply":
                return refuse(known, f"send its volts as supply_voltage_v: {plain_number(volts)}")
        words = list(self.words)
        asked = str(value)[:60].lower().replace(" ", "_")
        # What is printed on a thing is often a part of its name here: AA, CR2032, 9V, red.
        near = [word for word in words if asked in word.split("_")][:3]
        likely = near[0] if len(near) == 1 else None
        if not near:
            near = get_close_matches(asked, words, n=3, cutoff=0.5)
            likely = near[0] if near else None
        shown = ", ".join(near or words[:12]) + ("" if near or len(words) <= 12 else ", ...")
        return refuse(known, f"did you mean {shown}?" if near else f"known: {shown}", likely)

    def part_pattern(self) -> str:
        """Return the words as alternatives."""
        return "|".join(map(re.escape, self.words))

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return an enumeration."""
        return {"type": "string", "enum": list(self.words)}


class Many(Field):
    """A list of one kind of value; in a query string and a cell its parts stand between semicolons."""

    def __init__(self, inner: Field, shortest: int = 1, longest: int = 100, **settings: Any) -> None:
        super().__init__(**settings)
        self.inner = inner
        self.shortest = shortest
        self.longest = longest

    def _bind_to_schema(self, field_name: str, parent: Any) -> None:
        super()._bind_to_schema(field_name, parent)
        self.inner.parent = self
        self.inner.name = field_name

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> list[Any]:
        if type(value) is not list:
            if value == "":
                raise refuse("is empty", "leave it out, or send parts parted by ;")
            raise refuse("is not a list", "send a list, also for a single value")
        if not self.shortest <= len(value) <= self.longest:
            raise refuse(f"has {len(value)} entries", f"send {self.shortest} to {self.longest} entries")
        found, faults = [], {}
        for index, item in enumerate(value):
            try:
                found.append(self.inner.deserialize(item))
            except ValidationError as error:
                faults[index] = error.messages
        if faults:
            raise ValidationError(faults)
        return found

    def coerced(self, text: str) -> object:
        """Return the parts between semicolons, each as its own kind of value."""
        if isinstance(self.inner, Inner) and not isinstance(self.inner, PartOr):
            return text
        parts = [part.strip() for part in text.split(";") if part.strip()]
        if not parts:
            return text  # a list of nothing is sent by POST, or left out
        # Quantities stay texts: their pattern, not a bound, is what the document can say of a list.
        return parts if isinstance(self.inner, Quantity) else [self.inner.coerced(part) for part in parts]

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return an array; in a query string, a text whose parts stand between semicolons."""
        if query:
            part = self.inner.part_pattern()
            return {"type": "string", "pattern": f"^(?:{part})(?:;(?:{part})){{0,{self.longest - 1}}}$"}
        return {
            "type": "array",
            "items": self.inner.schema(),
            "minItems": self.shortest,
            "maxItems": self.longest,
        }


class Inner(Field):
    """An object with a schema of its own, made once on first use."""

    def __init__(self, kind: Callable[[], Any], **settings: Any) -> None:
        super().__init__(**settings)
        self.kind = kind
        self._made: Any = None

    @property
    def made(self) -> Any:
        """The schema, made once."""
        if self._made is None:
            self._made = self.kind()
        return self._made

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, Mapping):
            raise refuse("is not an object", "lists of objects need POST with JSON")
        return self.made.load(value)

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return a reference to the schema of the object."""
        return {"$ref": f"#/components/schemas/{type(self.made).document_name}"}


class PartOr(Inner):
    """A part by its id, or an object that describes one."""

    def __init__(self, ids: Callable[[], Sequence[str]], kind: Callable[[], Any], what: str, **settings: Any):
        super().__init__(kind, **settings)
        self.word = Word(ids, what)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, Mapping):
            return self.made.load(value)
        return self.word.deserialize(value)

    def part_pattern(self) -> str:
        """Return the ids as alternatives."""
        return self.word.part_pattern()

    def schema(self, *, query: bool = False) -> dict[str, Any]:
        """Return an enumeration, and outside a query string the object beside it."""
        if query:
            return self.word.schema()
        return {"anyOf": [self.word.schema(), super().schema()]}
