"""Words that several parts of the sheet share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from lampwright.planner.labels import SPAN, rows_in
from lampwright.planner.models.energy import RuntimeFigures
from lampwright.planner.models.parts import Led
from lampwright.quantities import show

COLOUR_WORDS = {"yellow_green": "yellow-green", "warm_white": "warm white", "cool_white": "cool white"}


def colour_words(colour: str) -> str:
    """Return a colour as one says it.

    >>> colour_words("warm_white"), colour_words("red")
    ('warm white', 'red')
    """
    return COLOUR_WORDS.get(colour, colour.replace("_", " "))


def light_words(led: Led) -> str:
    """Return a light's colour by the name the parts list has for it: "true green", "warm white"."""
    colour = colour_words(led.colour)
    name = led.name.partition(",")[0].lower()
    return name if colour in name and len(name) <= 2 * len(colour) + 2 else colour


def span_words(span: str) -> str:
    """Return a span of rows as one says it.

    >>> span_words("A"), span_words("A–B"), span_words("A–D")
    ('A', 'A and B', 'A to D')
    """
    rows = rows_in(span)
    if len(rows) == 1:
        return span
    return f"{rows[0]} and {rows[1]}" if len(rows) == 2 else span.replace(SPAN, " to ")


def rows_listed(spans: Iterable[str]) -> str:
    """Return several spans of rows as one says them.

    >>> rows_listed(["A–H", "J–K"]), rows_listed(["J", "K"]), rows_listed(["A–D"])
    ('A to H, J, K', 'J, K', 'A to D')
    """
    found = []
    for span in spans:
        rows = rows_in(span)
        found.append(", ".join(rows) if len(rows) <= 2 else span_words(span))
    return ", ".join(found)


def rows_words(span: str) -> str:
    """Return "row A" or "rows A to D"."""
    return f"row{'s' if SPAN in span else ''} {span_words(span)}"


def listed(items: Iterable[str], last: str = "and") -> str:
    """Return a list in words.

    >>> listed(["a", "b", "c"]), listed(["a"]), listed(["a", "b"], "or")
    ('a, b and c', 'a', 'a or b')
    """
    every = list(items)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"


def mixed(names: Sequence[str]) -> str:
    """Return names once each, in order, with their counts where they differ.

    >>> mixed(["Flame", "Flame"]), mixed(["Flame", "Tail"])
    ('Flame', 'Flame, Tail')
    """
    return ", ".join(dict.fromkeys(names))


def hours(seconds: float) -> str:
    """Return a time in words, two figures: cells scatter too much for more.

    >>> hours(21132.0), hours(1900.0)
    ('5.9 h', '32 min')
    """
    rounded = float(f"{seconds / 3600:.2g}") * 3600 if seconds >= 3600 else float(f"{seconds / 60:.2g}") * 60
    return show(rounded, "h")


def hours_moved(now: float, was: float) -> str:
    """Return how hours have changed [s].

    >>> hours_moved(50 * 3600, 42 * 3600), hours_moved(33 * 3600, 51 * 3600)
    ('lasts longer: about 50 h in place of 42 h', 'lasts less long: about 33 h in place of 51 h')
    """
    return f"lasts {'longer' if now > was else 'less long'}: about {hours(now)} in place of {hours(was)}"


def set_lasts(runtime: RuntimeFigures) -> str:
    """Return how long a set lasts, with its range; of a bank that falls asleep, that it does."""
    time = hours(runtime.runtime or 0.0)
    if runtime.ended_by == "asleep":
        return f"only until the bank falls asleep, about {time}"
    if runtime.runtime_low is None or runtime.runtime_high is None:
        return f"about {time}"
    return f"about {time} ({hours(runtime.runtime_low)} to {hours(runtime.runtime_high)})"


def percent(ratio: float) -> str:
    """Return a ratio in whole percent.

    >>> percent(0.604)
    '60 %'
    """
    return f"{ratio * 100:.0f} %"
