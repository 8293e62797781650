"""The calculations the service offers: name, schema, reader, planner, answer.

A calculation whose planner is not there is not offered: no path, no entry in the document. Everything is
imported when first needed, so that one question loads only its own planner.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, cached_property
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from marshmallow import ValidationError

from lampwright.contract.answers import dump, echoed
from lampwright.contract.faults import Entry, RefusalError, flattened, path_of
from lampwright.errors import (
    ContradictionError,
    LampwrightError,
    OutOfRangeError,
    TooCostlyError,
    UnknownPartError,
)
from lampwright.quantities import json_name


@dataclass(frozen=True)
class Calculation:
    """One calculation: where its parts are found, and how it may be called.

    ``row_planner`` answers as ``planner`` does but for what no row of a table carries; "": the same.
    """

    name: str
    summary: str
    schema: str
    reader: str
    planner: str
    answer: str
    by_get: bool = False
    row_planner: str = ""

    @property
    def offered(self) -> bool:
        """Whether its planner is there."""
        return find_spec(self.planner.partition(":")[0]) is not None

    def parts(self) -> Parts:
        """Return its schema, made once, and its functions; loaded when first asked for."""
        return _parts(self.name)


class Parts:
    """The parts of a calculation, each imported when first needed and kept."""

    def __init__(self, entry: Calculation) -> None:
        self.entry = entry

    @cached_property
    def schema(self) -> Any:
        """Its schema, made once."""
        return _named(f"lampwright.contract.schemas:{self.entry.schema}")()

    @cached_property
    def reader(self) -> Callable[[dict[str, Any]], Any]:
        """What makes an ask of loaded members."""
        found: Callable[[dict[str, Any]], Any] = _named(f"lampwright.contract.reading:{self.entry.reader}")
        return found

    @cached_property
    def planner(self) -> Callable[[Any], Any]:
        """What answers an ask."""
        found: Callable[[Any], Any] = _named(self.entry.planner)
        return found

    @cached_property
    def row_planner(self) -> Callable[[Any], Any]:
        """What answers the ask of a table's row."""
        found: Callable[[Any], Any] = _named(self.entry.row_planner or self.entry.planner)
        return found

    @cached_property
    def answer(self) -> type:
        """The kind of its answer."""
        found: type = _named(self.entry.answer)
        return found


_MODELS = "lampwright.planner.models"
_ALL = (
    Calculation(
        "series-resistors",
        "Which resistor for this row of LEDs, or how does this one do?",
        "SeriesResistorsSchema",
        "resistor_ask",
        "lampwright.planner.resistor:series_resistor",
        f"{_MODELS}.circuits:ResistorAnswer",
        by_get=True,
        row_planner="lampwright.planner.resistor:resistor_row",
    ),
    Calculation(
        "arrangements",
        "How should these lights be split into rows?",
        "ArrangementsSchema",
        "arrangement_ask",
        "lampwright.planner.arrangement:arrangements",
        f"{_MODELS}.circuits:ArrangementAnswer",
        by_get=True,
    ),
    Calculation(
        "wires",
        "Which wire for this current and run, or how does this one do?",
        "WiresSchema",
        "wire_ask",
        "lampwright.planner.wire:wire",
        f"{_MODELS}.wiring:WireAnswer",
        by_get=True,
    ),
    Calculation(
        "fuses",
        "Which fuse protects this wire and carries this load?",
        "FusesSchema",
        "fuse_ask",
        "lampwright.planner.protection:fuse",
        f"{_MODELS}.wiring:FuseAnswer",
        by_get=True,
    ),
    Calculation(
        "runtimes",
        "How long does this battery last?",
        "RuntimesSchema",
        "runtime_ask",
        "lampwright.planner.runtime:runtime",
        f"{_MODELS}.energy:RuntimeAnswer",
        by_get=True,
    ),
    Calculation(
        "circuit-checks",
        "How does the circuit I have do?",
        "CircuitChecksSchema",
        "circuit_ask",
        "lampwright.planner.circuit_check:circuit_check",
        f"{_MODELS}.circuits:CircuitAnswer",
    ),
    Calculation(
        "build-sheets",
        "What do I need to build this, and how?",
        "BuildSheetsSchema",
        "build_ask",
        "lampwright.sheets.build:build_sheet",
        f"{_MODELS}.build:Sheet",
    ),
    Calculation(
        "supply-choices",
        "Which battery lasts the day?",
        "SupplyChoicesSchema",
        "supply_choice_ask",
        "lampwright.planner.supply_choice:supply_choices",
        f"{_MODELS}.energy:SupplyChoiceAnswer",
    ),
    Calculation(
        "light-identifications",
        "What is inside this pre-wired light?",
        "IdentificationsSchema",
        "identification_ask",
        "lampwright.planner.identification:identify_light",
        f"{_MODELS}.circuits:IdentificationAnswer",
    ),
    Calculation(
        "diagnoses",
        "What is wrong, given what the meter says?",
        "DiagnosesSchema",
        "diagnosis_ask",
        "lampwright.sheets.diagnosis:diagnose",
        f"{_MODELS}.diagnosis:DiagnosisAnswer",
    ),
    Calculation(
        "build-comparisons",
        "What does a change to my build do?",
        "BuildComparisonsSchema",
        "build_comparison_ask",
        "lampwright.sheets.comparing:compare_builds",
        f"{_MODELS}.comparison:BuildComparisonAnswer",
    ),
    Calculation(
        "log-fits",
        "What do the readings of my finished build say about its parts and hours?",
        "LogFitsSchema",
        "log_fit_ask",
        "lampwright.sheets.refitting:refit",
        f"{_MODELS}.refit:LogFitAnswer",
    ),
)
_BY_NAME = {calculation.name: calculation for calculation in _ALL}


def _named(place: str) -> Any:
    module, _, name = place.partition(":")
    return getattr(import_module(module), name)


@cache
def _parts(name: str) -> Parts:
    return Parts(_BY_NAME[name])


@cache
def offered() -> dict[str, Calculation]:
    """Return every calculation whose planner is there, by name."""
    return {entry.name: entry for entry in _ALL if entry.offered}


def understand(name: str, request: Mapping[str, Any]) -> tuple[dict[str, Any], Any]:
    """Return every input as understood, under its public name, and the ask made of it.

    Raises
    ------
    RefusalError
        With every fault of the request.
    """
    loaded, ask = _loaded(name, request)
    told = echoed(loaded)
    # What was sent comes first, in its order, then the defaults.
    return {key: told[key] for key in (*request, *told)}, ask


def _loaded(name: str, request: Mapping[str, Any]) -> tuple[dict[str, Any], Any]:
    """Return the loaded members and the ask made of them."""
    parts = _parts(name)
    loaded = _members(parts, request)
    with refusing(request):
        return loaded, parts.reader(loaded)


def _members(parts: Parts, request: Mapping[str, Any]) -> dict[str, Any]:
    """Return the members of a request under their stems."""
    try:
        loaded: dict[str, Any] = parts.schema.load(request)
    except ValidationError as error:
        raise RefusalError(flattened(error.messages_dict, request)) from None
    return loaded


def contradiction(error: ContradictionError, request: Mapping[str, Any]) -> Entry:
    """Return a contradiction as a fault of the member it names."""
    path = tuple(json_name(step) for step in error.field.split(".") if step)
    found = RefusalError.single(path, error.detail, error.hint, request, suggestion=error.suggestion)
    return found.entries[0]


def refusal(error: LampwrightError, request: Mapping[str, Any]) -> RefusalError:
    """Return what a refusal of our own says to the caller; raise it where it is no fault of the request."""
    if isinstance(error, RefusalError):
        return error
    if isinstance(error, ContradictionError):
        entries: list[Entry] = []
        one: ContradictionError | None = error
        while one is not None:
            entries.append(contradiction(one, request))
            one = one.beside
        return RefusalError(entries, costly=isinstance(error, TooCostlyError))
    if isinstance(error, UnknownPartError):
        near = get_close_matches(error.part_id[:60], error.known, n=3, cutoff=0.4)
        hint = f"known: {', '.join(near or error.known[:12])}" if error.known else "see /v1/parts"
        path = path_of(request, error.part_id) or (error.kind,)
        return RefusalError.single(path, str(error), hint, request)
    if isinstance(error, OutOfRangeError):
        return RefusalError.single((), str(error), "change the figures it names", request)
    raise error


class refusing:  # noqa: N801 - reads as a verb where it is used
    """Turn the planner's own refusals into one that names the public member."""

    def __init__(self, request: Mapping[str, Any]) -> None:
        self.request = request

    def __enter__(self) -> None:
        """Nothing to prepare."""

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        """Raise a refusal in place of a contradiction."""
        if isinstance(error, LampwrightError) and not isinstance(error, RefusalError):
            raise refusal(error, self.request) from error


def read(name: str, request: Mapping[str, Any]) -> Any:
    """Return the planner's ask for a request; see ``understand``."""
    return _loaded(name, request)[1]


def rows_found(parts: Parts, requests: Sequence[Mapping[str, Any]]) -> list[Any]:
    """Return for each request the planner's answer, as far as a row carries it, or its ``RefusalError``.

    One stage after the other for all of them: while a stage runs, its code stays in the processor's nearest
    cache, and a row takes two thirds of the time it would take from end to end.
    """
    done: list[Any] = list(requests)
    for stage in (parts.schema.load, parts.reader, parts.row_planner):
        for at, one in enumerate(done):
            if type(one) is not RefusalError:
                try:
                    done[at] = stage(one)
                except ValidationError as error:
                    done[at] = RefusalError(flattened(error.messages_dict, requests[at]))
                except LampwrightError as error:
                    done[at] = refusal(error, requests[at])
    return done


def answer(name: str, request: Mapping[str, Any], *, working: bool = True) -> dict[str, Any]:
    """Return the whole JSON-ready answer to a request.

    Raises
    ------
    RefusalError
        With every fault of the request.
    """
    inputs, ask = understand(name, request)
    with refusing(request):
        found = _parts(name).planner(ask)
    return dump(inputs, found, working=working)
