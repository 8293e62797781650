"""Frozen dataclasses whose objects are made several times as quickly.

Theory of operation. A frozen dataclass writes each of its members by ``object.__setattr__``, a call a
member: an answer of thirty members takes longer to make than its circuit takes to solve. Here an object is
made while it belongs to a subclass that may be written, by plain assignment, and belongs to its own class,
frozen, before anybody else sees it. The two classes share one layout, so that nothing is copied.
"""

from __future__ import annotations

from dataclasses import MISSING, fields
from typing import Any, TypeVar

Record = TypeVar("Record")


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
