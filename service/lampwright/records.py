"""Frozen dataclasses whose objects are made several times as quickly.

Theory of operation. A frozen dataclass writes each of its members by ``object.__setattr__``, a call a
member: an answer of thirty members takes longer to make than its circuit takes to solve. Here an object is
made while it belongs to a subclass that may be written, by plain assignment, and belongs to its own class,
frozen, before anybody else sees it. The two classes share one layout, so that nothing is copied.
`altered` makes a copy with some members changed by reading all members at once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import MISSING, fields
from functools import cache
from operator import attrgetter
from typing import TYPE_CHECKING, Any, TypeVar, overload

if TYPE_CHECKING:
    # The type checker holds the members against the record for the one it knows.
    from dataclasses import replace as altered

__all__ = ["Later", "altered", "quickly_made"]

Record = TypeVar("Record")
Item = TypeVar("Item", covariant=True)


class Later(Sequence[Item]):
    """A tuple that is worked out when it is first looked at: not every reader of a record wants all of it.

    Parameters
    ----------
    make : callable
        Returns the items.

    Examples
    --------
    >>> said = []
    >>> squares = Later(lambda: said.append("made") or (0, 1, 4))
    >>> said
    []
    >>> list(squares), squares == (0, 1, 4), said
    ([0, 1, 4], True, ['made'])
    """

    __slots__ = ("_items", "_make")

    def __init__(self, make: Callable[[], tuple[Item, ...]]) -> None:
        self._make = make
        self._items: tuple[Item, ...] | None = None

    def _all(self) -> tuple[Item, ...]:
        if self._items is None:
            self._items = self._make()
        return self._items

    @overload
    def __getitem__(self, at: int) -> Item: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[Item]: ...

    def __getitem__(self, at: int | slice) -> Item | Sequence[Item]:
        """Return an item, or several."""
        return self._all()[at]

    def __len__(self) -> int:
        """Return how many items there are."""
        return len(self._all())

    def __eq__(self, other: object) -> bool:
        """Return whether the items are the same."""
        return tuple(self) == tuple(other) if isinstance(other, (Later, tuple)) else NotImplemented

    def __hash__(self) -> int:
        """Return the hash of the items."""
        return hash(self._all())

    def __repr__(self) -> str:
        """Return the items as a tuple."""
        return repr(self._all())


def quickly_made(kind: type[Record]) -> type[Record]:
    """Give a frozen dataclass with slots an ``__init__`` that does the same, quicker.

    Parameters
    ----------
    kind : type
        A dataclass, frozen, with slots; stands below ``@quickly_made``.

    Raises
    ------
    TypeError
        If it has what this ``__init__`` does not do.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @quickly_made
    ... @dataclass(frozen=True, slots=True)
    ... class Point:
    ...     x: float
    ...     y: float = 0.0
    >>> Point(1.0), Point(1.0) == Point(x=1.0, y=0.0)
    (Point(x=1.0, y=0.0), True)
    """
    name = kind.__name__
    settings = getattr(kind, "__dataclass_params__", None)
    if settings is None or not settings.frozen or "__slots__" not in vars(kind):
        raise TypeError(f"{name} is no frozen dataclass with slots")
    if hasattr(kind, "__post_init__"):
        raise TypeError(f"{name} does more than to keep its members")
    open_kind = type(
        name,
        (kind,),
        {"__slots__": (), "__setattr__": object.__setattr__, "__delattr__": object.__delattr__},
    )
    names: dict[str, Any] = {
        "_turn": object.__setattr__,
        "_open": open_kind,
        "_closed": kind,
        "_left_out": MISSING,
    }
    wanted, written = [], []
    for member in fields(kind):  # type: ignore[arg-type]
        if not member.init or member.kw_only:
            raise TypeError(f"{name}.{member.name} is not an ordinary member")
        value = member.name
        if member.default_factory is not MISSING:
            names[f"_make_{value}"] = member.default_factory
            wanted.append(f"{value}=_left_out")
            written.append(f"    self.{value} = _make_{value}() if {value} is _left_out else {value}")
            continue
        if member.default is not MISSING:
            names[f"_default_{value}"] = member.default
            wanted.append(f"{value}=_default_{value}")
        else:
            wanted.append(value)
        written.append(f"    self.{value} = {value}")
    source = "\n".join(
        [
            f"def __init__(self, {', '.join(wanted)}):",
            "    _turn(self, '__class__', _open)",
            *written,
            "    self.__class__ = _closed",
        ]
    )
    exec(compile(source, f"<__init__ of {name}>", "exec"), names)  # noqa: S102 - our own text
    made = names["__init__"]
    made.__qualname__ = f"{kind.__qualname__}.__init__"
    made.__annotations__ = dict(kind.__init__.__annotations__)
    kind.__init__ = made  # type: ignore[method-assign]
    return kind


@cache
def _members(kind: Any) -> tuple[Callable[[Any], Any], dict[str, int]]:
    """Return what reads all members of a dataclass that are set when it is made, and their places."""
    names = [member.name for member in fields(kind) if member.init]
    places = {name: place for place, name in enumerate(names)}
    # Of one name alone an attrgetter returns no tuple.
    return attrgetter(*names, names[0]), places


if not TYPE_CHECKING:

    def altered(record: Record, /, **changes: object) -> Record:
        """Return a dataclass with some members changed: what ``dataclasses.replace`` does, quicker.

        Parameters
        ----------
        record : Record
            A dataclass; members that are set when it is made are taken over, all others begin afresh.
        **changes
            Members by name.

        Raises
        ------
        TypeError
            If it has no such member to be set.

        Examples
        --------
        >>> from dataclasses import dataclass
        >>> @dataclass(frozen=True)
        ... class Point:
        ...     x: float
        ...     y: float
        >>> altered(Point(1.0, 2.0), y=3.0)
        Point(x=1.0, y=3.0)
        """
        kind = type(record)
        read, places = _members(kind)
        values = list(read(record))
        values.pop()
        for name, value in changes.items():
            if name not in places:
                raise TypeError(f"{kind.__name__}.{name} is no member that can be set")
            values[places[name]] = value
        return kind(*values)
