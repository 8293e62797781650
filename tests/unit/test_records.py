"""Objects made or altered quickly are what the dataclass would have made."""

from __future__ import annotations

import copy
import dataclasses
import importlib
import inspect
import pkgutil
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import pytest

import lampwright
from lampwright.records import altered, quickly_made

NOTHING: Mapping[str, object] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Plain:
    length: float
    width: float = 2.0
    notes: list[str] = field(default_factory=list)
    around: object = field(default=None, compare=False)


@quickly_made
@dataclass(frozen=True, slots=True)
class Quick:
    length: float
    width: float = 2.0
    notes: list[str] = field(default_factory=list)
    around: object = field(default=None, compare=False)


@quickly_made
@dataclass(frozen=True, slots=True)
class Longer(Quick):
    height: float | None = None


@pytest.mark.parametrize(
    ("values", "named"),
    [
        ((1.0,), {}),
        ((1.0, 3.0), {}),
        ((1.0,), {"notes": ["a"]}),
        ((), {"width": 5.0, "length": 4.0, "around": "x"}),
        ((1.0, 2.0, [], None), {}),
    ],
)
def test_the_same_members(values: tuple[Any, ...], named: dict[str, Any]) -> None:
    assert dataclasses.asdict(Quick(*values, **named)) == dataclasses.asdict(Plain(*values, **named))
    assert repr(Quick(*values, **named)) == repr(Plain(*values, **named)).replace("Plain", "Quick")


@pytest.mark.parametrize(("values", "named"), [((), {}), ((1, 2, [], 4, 5), {}), ((1,), {"depth": 1})])
def test_the_same_refusals(values: tuple[Any, ...], named: dict[str, Any]) -> None:
    for kind in (Plain, Quick):
        with pytest.raises(TypeError):
            kind(*values, **named)


def test_nothing_can_be_written_afterwards() -> None:
    made = Quick(1.0)
    assert type(made) is Quick
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.length = 2.0  # type: ignore[misc]
    with pytest.raises(dataclasses.FrozenInstanceError):
        del made.length
    with pytest.raises((AttributeError, TypeError)):
        made.depth = 2.0  # type: ignore[attr-defined]
    assert not hasattr(made, "__dict__")


def test_each_has_a_list_of_its_own() -> None:
    assert Quick(1.0).notes is not Quick(1.0).notes


def test_equality_hash_and_copies() -> None:
    one = Quick(1.0, 2.0, (), around="here")  # type: ignore[arg-type]
    assert one == Quick(1.0, 2.0, (), around="there")  # type: ignore[arg-type]
    assert hash(one) == hash(Quick(1.0, 2.0, ()))  # type: ignore[arg-type]
    assert copy.deepcopy(one) == one
    assert dataclasses.replace(one, width=7.0) == Quick(1.0, 7.0, ())  # type: ignore[arg-type]


def test_a_longer_one_is_its_own_kind() -> None:
    made = Longer(1.0, height=3.0)
    assert type(made) is Longer
    assert (made.length, made.width, made.notes, made.height) == (1.0, 2.0, [], 3.0)
    assert isinstance(made, Quick)
    assert made != Quick(1.0)


def test_what_it_does_not_do_is_refused() -> None:
    @dataclass(slots=True)
    class Open:
        length: float

    @dataclass(frozen=True)
    class Loose:
        length: float

    @dataclass(frozen=True, slots=True)
    class Busy:
        length: float

        def __post_init__(self) -> None:
            """Do something."""

    @dataclass(frozen=True, slots=True)
    class Worked:
        length: float = field(default=1.0, init=False)

    for kind in (int, Open, Loose, Busy, Worked):
        with pytest.raises(TypeError):
            quickly_made(kind)


def _quick_kinds() -> list[type]:
    found = {}
    for module in pkgutil.walk_packages(lampwright.__path__, "lampwright."):
        if module.name.endswith("__main__"):
            continue
        for kind in vars(importlib.import_module(module.name)).values():
            if isinstance(kind, type) and dataclasses.is_dataclass(kind):
                if getattr(kind.__init__, "__code__", None) is None:
                    continue
                if kind.__init__.__code__.co_filename.startswith("<__init__ of"):
                    found[kind] = None
    return list(found)


def test_each_in_use_takes_what_its_members_say() -> None:
    kinds = _quick_kinds()
    assert len(kinds) > 5
    for kind in kinds:
        wanted = inspect.signature(kind).parameters
        members = dataclasses.fields(kind)  # type: ignore[arg-type]
        assert list(wanted) == [member.name for member in members]
        for member in members:
            optional = wanted[member.name].default is not inspect.Parameter.empty
            default, made = member.default, member.default_factory
            assert optional == (default is not dataclasses.MISSING or made is not dataclasses.MISSING)


def test_it_is_quicker() -> None:
    def spent(kind: type) -> float:
        best = float("inf")
        for _ in range(7):
            start = time.process_time()
            for _ in range(5000):
                kind(1.0, 2.0, None, None)
            best = min(best, time.process_time() - start)
        return best

    assert spent(Quick) < spent(Plain)


@pytest.mark.parametrize("kind", [Plain, Quick, Longer])
def test_a_record_is_altered_as_replace_does_it(kind: type[Any]) -> None:
    record = kind(1.0, 2.0, ["a"], around="x")
    changed = altered(record, width=5.0, notes=["b"])
    assert changed == dataclasses.replace(record, width=5.0, notes=["b"])
    assert type(changed) is kind
    assert altered(record) == record
    with pytest.raises(TypeError, match="height" if kind is not Longer else "depth"):
        altered(record, **{"height" if kind is not Longer else "depth": 1.0})


def test_members_that_are_no_arguments_begin_afresh() -> None:
    @dataclass(frozen=True)
    class Known:
        size: float
        found: dict[str, float] = field(default_factory=dict, init=False)

    first = Known(1.0)
    first.found["a"] = 1.0
    assert altered(first, size=2.0).found == {}
    with pytest.raises(TypeError, match="found"):
        altered(first, found={})
