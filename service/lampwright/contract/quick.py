"""Read sound requests quickly; leave every other one to the schema, which says what is wrong.

A schema walks all of its fields for every request. Most requests are sound and short, so this reader,
made once from the schema, walks the members that were sent instead. It has no words of its own: at
anything unusual it answers None, and the schema loads the request from the start. A test holds the two
equal.
"""

from __future__ import annotations

from collections.abc import Set
from typing import TYPE_CHECKING, Any

from marshmallow import ValidationError, missing

from lampwright.contract.fields import Count, Field, PartOr, Quantity, Word
from lampwright.quantities import json_name

if TYPE_CHECKING:
    from lampwright.contract.asking import AskSchema

#: Orders of names whose rules are remembered; callers use few.
_REMEMBERED = 1000


class QuickReader:
    """The quick way through one schema."""

    def __init__(self, schema: AskSchema) -> None:
        #: By name: stem, field, bounds of its numbers, and whether they are whole ones.
        self.fields: dict[str, tuple[str, Field, float, float, bool]] = {}
        self.defaults: dict[str, Any] = {}
        self.required: frozenset[str] = frozenset(
            str(field.data_key) for field in schema.fields.values() if field.required
        )
        for stem, field in schema.fields.items():
            if not isinstance(field, Field):
                raise TypeError(f"{stem} is not one of our fields")
            whole = isinstance(field, Count)
            low, high = (field.low, field.high) if isinstance(field, (Quantity, Count)) else (1.0, 0.0)
            self.fields[str(field.data_key)] = (stem, field, low, high, whole)
            if field.load_default is not missing:
                self.defaults[stem] = field.load_default
        names = {stem: str(field.data_key) for stem, field in schema.fields.items()}

        def public(stems: Any) -> frozenset[str]:
            return frozenset(names.get(stem, json_name(stem)) for stem in stems)

        self.any_of = [public(group) for group in schema.any_of]
        self.rivals = [(names[one], public(others)) for one, others in schema.never_both if one in names]
        self.needs = {names[stem]: public(owners) for stem, owners in schema.needs.items() if stem in names}
        self.ascending = schema.ascending
        #: Whether members may stand together, by their names in the order they came.
        self.fitting: dict[tuple[str, ...], bool] = {}

    def read(self, data: Any) -> dict[str, Any] | None:
        """Return the members under their stems, or None where the schema has to look."""
        if type(data) is not dict:
            return None
        found = self.defaults.copy()
        fields = self.fields
        for name, value in data.items():
            known = fields.get(name)
            if known is None:
                return None
            stem, field, low, high, whole = known
            kind = type(value)
            if (kind is int or (kind is float and not whole)) and low <= value <= high:
                found[stem] = value if whole else float(value) + 0.0
                continue
            if kind is str and isinstance(field, (Word, PartOr)):
                word = field.word if isinstance(field, PartOr) else field
                if not word.knows(value):
                    return None
                found[stem] = value
                continue
            try:
                found[stem] = field.deserialize(value)
            except ValidationError:
                return None
        return found if self._allowed(data, found) else None

    def _fit(self, sent: Set[str]) -> bool:
        """Return whether these members may stand together, and none is missing."""
        if not self.required <= sent:
            return False
        for group in self.any_of:
            if group.isdisjoint(sent):
                return False
        for one, others in self.rivals:
            if one in sent and not others.isdisjoint(sent):
                return False
        for name in sent:
            owners = self.needs.get(name)
            if owners is not None and owners.isdisjoint(sent):
                return False
        return True

    def _allowed(self, data: dict[str, Any], found: dict[str, Any]) -> bool:
        """Return whether the rules between members hold."""
        names = tuple(data)
        fitting = self.fitting.get(names)
        if fitting is None:
            fitting = self._fit(data.keys())
            if len(self.fitting) < _REMEMBERED:
                self.fitting[names] = fitting
        if not fitting:
            return False
        for row in self.ascending:
            before = None
            for stem in row:
                value = found.get(stem)
                if value is not None:
                    if before is not None and before > value:
                        return False
                    before = value
        return True
