"""Short texts beside figures: each says what its figure says."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from typing import Any

from lampwright.auditor.report import Notes
from lampwright.quantities import Unit, json_name, shower, unit_of


def check_texts(value: object, way: tuple[object, ...], notes: Notes) -> None:
    """Compare every short text in a ``display`` with the number beside it, all through a value.

    ``way`` are the names that lead to the value.
    """
    inner: Iterable[tuple[object, object]] = ()
    if type(value) is dict:
        display = value.get("display")
        if display is not None:
            _check_display(value, display, way, notes)
        inner = value.items()
    elif type(value) is list:
        inner = enumerate(value)
    for name, item in inner:
        kind = type(item)
        if (kind is dict or kind is list) and name != "display":
            check_texts(item, (*way, name), notes)


def _check_display(value: Mapping[str, Any], display: object, way: tuple[object, ...], notes: Notes) -> None:
    """Compare the texts beside the numbers of one object with what the numbers say."""
    if type(display) is not dict and not isinstance(display, Mapping):  # the quick question first
        _text_differs(f"{str(display)[:40]!r}, and no object of texts", (*way, "display"), notes)
        return
    for stem, text in display.items():
        name, unit, show_it = _told(stem)
        number: Any = value.get(name)
        kind = type(number)
        if unit is None or not (kind is float or kind is int):
            continue
        ours = show_it(unit.inner(number))
        if text == ours or str(text).startswith(f"{ours} ("):
            notes.checked += 1
        else:
            _text_differs(f"{text!r}, the number says {ours!r}", (*way, "display", stem), notes)


def _text_differs(said: str, way: tuple[object, ...], notes: Notes) -> None:
    """Keep a text that is wrong."""
    at = ".".join([str(name) for name in way])
    notes.require(False, "text_differs", at, f"{at} says {said}")


@lru_cache(maxsize=1024)
def _told(stem: str) -> tuple[str, Unit | None, Callable[[float], str]]:
    """Return a stem's public name, its unit, and what makes its short text."""
    unit = unit_of(stem)
    return json_name(stem), unit, shower(unit.suffix) if unit is not None else str
