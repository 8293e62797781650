"""How much one question may ask for.

Work is counted in steps before it is begun, never by a clock: equal questions get equal answers on every
machine. The figures are such that a question at the limit takes a few seconds on a slow one.
"""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.errors import TooCostlyError
from lampwright.planner.models.circuits import StringAsk

#: Lights and rows told one by one, a row counting as some lights.
MOST_TOLD = 20_000
_ROW = 3
#: Faults put into a circuit, times the rows that are solved with each; so many lights cost what a row does.
MOST_SOLVED = 150_000
_LIGHTS_A_ROW = 4


def check_told(strings: Sequence[StringAsk], *, every_branch: bool = False, field: str = "strings") -> None:
    """Refuse strings whose answer would be too long.

    Parameters
    ----------
    strings : sequence of StringAsk
        As asked.
    every_branch : bool
        Whether each branch is solved and told on its own, as along a feed.
    field : str
        Where the strings stand.

    Raises
    ------
    TooCostlyError
        If so.
    """
    rows = [(string.branch_count if every_branch else 1, len(string.leds)) for string in strings]
    if sum(count * (_ROW + lights) for count, lights in rows) <= MOST_TOLD:
        return
    told = sum(count for count, _ in rows)
    lights = sum(count * each for count, each in rows)
    raise TooCostlyError(
        field,
        f"{told:,} rows with {lights:,} lights are too many to be told one by one",
        f"lights and {_ROW} times the rows are at most {MOST_TOLD:,} together; send a part of the circuit",
    )


def check_solved(faults: int, rows: int, longest: int, field: str) -> None:
    """Refuse a circuit with too many faults to be put into it one by one.

    Parameters
    ----------
    faults, rows : int
        Faults, each solved with all rows.
    longest : int
        Lights of the longest row, each of which tells its own voltage.
    field : str
        Where the circuit stands.

    Raises
    ------
    TooCostlyError
        If there are too many.
    """
    most = int(MOST_SOLVED / (rows + longest / _LIGHTS_A_ROW))
    if faults > most:
        raise TooCostlyError(
            field,
            f"{faults:,} faults are too many to be tried one by one in {rows:,} unlike rows",
            f"with rows like these at most {most:,} are tried; send the part of the circuit that is at fault",
        )
