"""The few errors Lampwright raises; plain Python, no HTTP."""

from __future__ import annotations


class LampwrightError(Exception):
    """Base of all errors raised on purpose."""


class OutOfRangeError(LampwrightError):
    """An argument lies outside the range in which a formula holds."""


class UnknownPartError(LampwrightError):
    """No part, table row or source has this id."""

    def __init__(self, kind: str, part_id: str, known: tuple[str, ...] = ()) -> None:
        super().__init__(f"no {kind} has the id {part_id!r}")
        self.kind = kind
        self.part_id = part_id
        self.known = known


class TableError(LampwrightError):
    """A data table is malformed: found when it is loaded, never while answering."""


class QuantityError(LampwrightError):
    """A text does not read as a quantity of the wanted kind.

    Parameters
    ----------
    detail : str
        What is wrong, in plain words.
    hint : str
        What to write instead.
    suggestion : float or str or None
        The value to send instead, where one is likely.
    """

    def __init__(self, detail: str, hint: str = "", suggestion: float | str | None = None) -> None:
        super().__init__(detail)
        self.detail = detail
        self.hint = hint
        self.suggestion = suggestion


class ContradictionError(LampwrightError):
    """Members of a request that are sound alone but cannot be taken together.

    Parameters
    ----------
    field : str
        Stem path of the member to change, for instance ``supply_voltage_max``.
    detail, hint : str
        What contradicts what; what to do about it.
    suggestion : object, optional
        The value to send instead, in the public unit.
    beside : ContradictionError, optional
        The other member, where two have to change.
    """

    def __init__(
        self,
        field: str,
        detail: str,
        hint: str = "",
        suggestion: object = None,
        beside: ContradictionError | None = None,
    ) -> None:
        super().__init__(detail)
        self.field = field
        self.detail = detail
        self.hint = hint
        self.suggestion = suggestion
        self.beside = beside

    def move(self, place: str) -> None:
        """Put the place of the object the members stand in before them."""
        self.field = f"{place}.{self.field}" if self.field else place
        if self.beside is not None:
            self.beside.move(place)


class TooCostlyError(ContradictionError):
    """A question that would take too long to work out, counted before it is begun."""
