"""Every fault of a request as a flat list: where, what, and what to do instead."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lampwright.contract.fields import BROKEN, UNTAKEABLE, Fault
from lampwright.errors import LampwrightError

_SHOWN = 200  # characters of a caller's value that a refusal repeats
_SHOWN_ITEMS = 10  # short entries of a caller's list


@dataclass(frozen=True, slots=True)
class Entry:
    """One fault: the path to the member, and what is wrong with it."""

    path: tuple[str | int, ...]
    detail: str
    value: object
    hint: str
    suggestion: object
    status: int

    @property
    def pointer(self) -> str:
        """The path as a JSON pointer (RFC 6901)."""
        return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in self.path)


class RefusalError(LampwrightError):
    """A request that is not taken, with all of its faults; ``costly`` where it only asks for too much."""

    def __init__(self, entries: list[Entry], *, costly: bool = False) -> None:
        super().__init__("; ".join(f"{entry.pointer or 'request'} {entry.detail}" for entry in entries))
        self.entries = entries
        self.costly = costly

    @property
    def status(self) -> int:
        """400 where anything breaks the schema, else 422."""
        return BROKEN if any(entry.status == BROKEN for entry in self.entries) else UNTAKEABLE

    @classmethod
    def single(
        cls,
        path: tuple[str | int, ...],
        detail: str,
        hint: str,
        request: object = None,
        *,
        suggestion: object = None,
        status: int = UNTAKEABLE,
    ) -> RefusalError:
        """Return a refusal for one fault."""
        steps = tuple(int(step) if isinstance(step, str) and step.isdecimal() else step for step in path)
        return cls([Entry(steps, detail, _value(request, steps), hint, suggestion, status)])


def flattened(messages: Mapping[Any, Any], request: object) -> list[Entry]:
    """Return nested messages of the schemas as a flat list of faults, in the order of the request."""
    found: list[Entry] = []
    _walk(messages, (), request, found)
    return found


def _walk(messages: object, path: tuple[str | int, ...], request: object, found: list[Entry]) -> None:
    if isinstance(messages, Mapping):
        for step, inner in messages.items():
            _walk(inner, path if step == "_schema" else (*path, step), request, found)
        return
    for message in messages if isinstance(messages, list) else [messages]:
        fault = message if isinstance(message, Fault) else Fault(str(message))
        found.append(
            Entry(path, str(fault), _value(request, path), fault.hint, fault.suggestion, fault.status)
        )


def path_of(request: object, value: str) -> tuple[str | int, ...] | None:
    """Return where in a request a text stands, or None."""
    if request == value:
        return ()
    inside: list[tuple[str | int, object]] = []
    if isinstance(request, Mapping):
        inside = [(str(name), item) for name, item in request.items()]
    elif isinstance(request, list):
        inside = list(enumerate(request))
    for step, item in inside:
        found = path_of(item, value)
        if found is not None:
            return (step, *found)
    return None


def _value(request: object, path: tuple[str | int, ...]) -> object:
    """Return what the caller sent at a path, shortened; None where nothing stands there."""
    here = request
    for step in path:
        known = isinstance(here, Mapping) and step in here
        if not known and not (isinstance(here, list) and isinstance(step, int) and step < len(here)):
            return None
        here = here[step]  # type: ignore[index]
    if isinstance(here, str):
        return here if len(here) <= _SHOWN else here[:_SHOWN] + "..."
    if isinstance(here, bool) or here is None:
        return here
    if isinstance(here, int):
        # JSON in the wild holds no larger whole numbers; a text holds any.
        return here if abs(here) <= 2**53 else str(here)[:40]
    if isinstance(here, float):
        return here if math.isfinite(here) else str(here)
    if isinstance(here, list) and len(here) <= _SHOWN_ITEMS and all(map(_short, here)):
        return list(here)
    return None  # objects and long lists are too long to repeat


def _short(item: object) -> bool:
    """Return whether an entry of a list is plain and short."""
    return type(item) in (int, float, bool) or (type(item) is str and len(item) <= 40)
