"""One kind of row of an arrangement: its lights, and what is known of it once it is solved."""

from __future__ import annotations

from dataclasses import dataclass

from lampwright.planner.models.circuits import StringAnswer
from lampwright.planner.models.parts import Led
from lampwright.planner.strings import Corners, StringModel
from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True, eq=False)
class Lights:
    """Lights in a row, from plus, and the current wanted through them, in A.

    ``place`` is where the request names them, empty where it does not, ``rows.MIXED`` where colours are
    mixed. ``kinds`` numbers the kind of each, so that rows of equal lights are known by it. The lights of a
    row are one object in all ways of wiring: what is worked out of them is kept by this object, not by what
    it holds.
    """

    leds: tuple[Led, ...]
    model: StringModel
    wanted: float
    place: str = ""
    kinds: tuple[int, ...] = ()


#: Rows of one way of wiring: their lights, and how many such rows.
Rows = tuple[tuple[Lights, int], ...]


@quickly_made
@dataclass(frozen=True, slots=True)
class Shorted:
    """What a light that shorts through does to the rest of its row.

    ``strain`` is how hard that is strained (1: at its limit), ``by`` what: the heat of its resistor, in W,
    where nothing else is left, else the current, in A; ``gone`` is the light's place in the row.
    """

    strain: float
    by: float
    gone: int


@quickly_made
@dataclass(frozen=True, slots=True)
class SolvedRow:
    """Equal rows, solved: how many, the currents and the answer of one, and what a way adds up of them.

    ``heat`` is that of all resistors of one row, hidden ones included, in W.
    """

    lights: Lights
    count: int
    currents: Corners
    answer: StringAnswer
    heat: float
    shorted: Shorted
