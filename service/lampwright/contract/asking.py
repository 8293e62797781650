"""What all asks share: unknown members, members that were swapped, rules between members.

Rules stand as class attributes of a schema: ``any_of`` (400 where none is there), ``never_both``, ``needs``
and ``ascending`` (422).
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError

from lampwright.contract.fields import BROKEN, UNTAKEABLE, Fault, Quantity, plain_number
from lampwright.contract.quick import QuickReader
from lampwright.quantities import json_name

Groups = tuple[tuple[str, ...], ...]
Rivals = tuple[tuple[str, tuple[str, ...]], ...]
Owners = dict[str, tuple[str, ...]]

EXPLAINED = 20  # unknown members; looking for the nearest name costs time


class AskSchema(Schema):
    """Base of all asks: unknown members refused with the nearest name, rules between members."""

    document_name: ClassVar[str] = "Ask"
    any_of: ClassVar[Groups] = ()
    never_both: ClassVar[Rivals] = ()
    needs: ClassVar[Owners] = {}
    ascending: ClassVar[Groups] = ()
    swapped: ClassVar[tuple[tuple[str, str], ...]] = ()

    class Meta:
        """Unknown members are faults."""

        unknown = RAISE

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._quick = QuickReader(self)

    def load(self, data: Any, **settings: Any) -> Any:
        """Return the members under their stems, or raise every fault at once."""
        quick = self._quick.read(data)
        if quick is not None:
            return quick
        return self.load_slowly(data, **settings)

    def load_slowly(self, data: Any, **settings: Any) -> Any:
        """Do as ``load`` does, field by field as the schema library does it."""
        if not isinstance(data, Mapping):
            raise ValidationError({"_schema": [Fault("is not an object", "send a JSON object")]})
        try:
            found = super().load(data, **settings)
            faults: dict[str, Any] = {}
        except ValidationError as error:
            faults = dict(error.messages_dict)
            found = error.valid_data if isinstance(error.valid_data, dict) else {}
            self._explain(faults, data)
        self._judge(found, data, faults)
        if faults:
            raise ValidationError(faults, data=dict(data))
        return found

    def _explain(self, faults: dict[str, Any], data: Mapping[str, Any]) -> None:
        """Say what an unknown member was probably meant to be; see whether two were swapped."""
        names = [str(field.data_key) for field in self.fields.values()]
        for count, (name, messages) in enumerate(faults.items()):
            if name not in names and count >= EXPLAINED:
                faults[name] = [Fault("is no member that is known here")]
            elif name not in names:
                near = [known for known in names if known.startswith(f"{name}_")][:1]
                near = near or get_close_matches(str(name)[:60].lower(), names, n=1, cutoff=0.6)
                hint = f"did you mean {near[0]}?" if near else f"known here: {', '.join(names)}"
                faults[name] = [Fault("is no member that is known here", hint, near[0] if near else None)]
            elif isinstance(messages, list) and not isinstance(messages[0], Fault):
                faults[name] = [Fault(str(messages[0]))]
        # The first pair that explains a fault is the likeliest.
        any(self._unswap(first, second, faults, data) for first, second in self.swapped)

    def _unswap(self, first: str, second: str, faults: dict[str, Any], data: Mapping[str, Any]) -> bool:
        one, two = self.fields[first], self.fields[second]
        given: tuple[Any, Any] = (data.get(str(one.data_key)), data.get(str(two.data_key)))
        if not ({str(one.data_key), str(two.data_key)} & faults.keys()):
            return False
        if not (isinstance(one, Quantity) and isinstance(two, Quantity)):
            return False
        if not all(type(value) in (int, float) for value in given):
            return False
        if not (one.low <= given[1] <= one.high and two.low <= given[0] <= two.high):
            return False
        for field, value, other in ((one, given[1], two), (two, given[0], one)):
            key = str(field.data_key)
            old = faults[key][0] if key in faults else "looks like the other one's value"
            faults[key] = [Fault(old, f"swapped with {other.data_key}?", value)]
        return True

    def _judge(self, found: dict[str, Any], data: Mapping[str, Any], faults: dict[str, Any]) -> None:
        """Apply the rules between members."""
        sent = {stem for stem, field in self.fields.items() if field.data_key in data}
        for group in self.any_of:
            if sent.isdisjoint(group):
                shown = " or ".join(json_name(stem) for stem in group)
                detail = "is missing" if len(group) == 1 else f"is missing: {shown} is needed"
                faults.setdefault(json_name(group[0]), [Fault(detail, f"send {shown}", None, BROKEN)])
        for one, others in self.never_both:
            both = [stem for stem in others if stem in sent] if one in sent else []
            for stem in both:
                self._cannot(
                    faults, stem, f"cannot be taken together with {json_name(one)}", "send one of them"
                )
        for stem, owners in self.needs.items():
            if stem in sent and sent.isdisjoint(owners):
                shown = " or ".join(json_name(owner) for owner in owners)
                self._cannot(faults, stem, f"means nothing without {shown}", f"send {shown}, or leave it out")
        for row in self.ascending:
            present = [stem for stem in row if stem in sent and isinstance(found.get(stem), float)]
            for lower, upper in pairwise(present):
                if found[lower] > found[upper]:
                    low, high = plain_number(found[lower]), plain_number(found[upper])
                    detail = f"{low} is above {json_name(upper)}, {high}"
                    self._cannot(
                        faults, lower, detail, "swapped? lowest, expected, highest go upwards", found[upper]
                    )

    def _cannot(
        self, faults: dict[str, Any], stem: str, detail: str, hint: str, suggestion: object = None
    ) -> None:
        key = json_name(stem) if stem not in self.fields else str(self.fields[stem].data_key)
        faults.setdefault(key, [Fault(detail, hint, suggestion, UNTAKEABLE)])
