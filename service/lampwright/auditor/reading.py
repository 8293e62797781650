"""Read an answered sheet: JSON members to plain records in inner units, with nothing filled in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from lampwright.auditor.report import UnreadableSheetError
from lampwright.quantities import Unit, json_name, unit_of
from lampwright.records import quickly_made


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """One kind of light as the sheet states it. [V, A, Ω, °C, V/K]."""

    name: str
    count: int
    sent: object
    colour: str
    forward_voltage: float
    forward_voltage_min: float
    forward_voltage_max: float
    rated_current: float
    max_forward_current: float
    ideality: float | None
    series_resistance: float | None
    reference_temperature: float
    temperature_coefficient: float
    built_in_resistance: float
    built_in_resistance_low: float
    built_in_resistance_high: float
    built_in_series_count: int
    #: Its curve at a corner and a temperature, where that was worked out already.
    curves: dict[tuple[str, float], Any] = field(default_factory=dict, init=False, repr=False)


@quickly_made
@dataclass(frozen=True, slots=True)
class Row:
    """Rows alike as printed; ``printed`` holds every member in inner units by its stem."""

    label: str
    lights: tuple[Light, ...]
    count: int
    resistance: float
    tolerance: float
    rated_dissipation: float | None
    printed: Mapping[str, Any]


@quickly_made
@dataclass(frozen=True, slots=True)
class Run:
    """One wire run as printed: both its wires; ``rows`` are the indexes of the rows it serves."""

    label: str
    rows: tuple[int, ...]
    run_length: float
    current: float
    awg: int | None
    conductor_area: float
    printed: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Source:
    """The supply's window as stated. [V, Ω, A]."""

    voltage: float
    lowest: float
    highest: float
    resistance: float
    resistance_low: float
    resistance_high: float
    current_limit: float | None
    short_circuit_current: float | None
    battery: str
    cells_in_series: int
    packs_in_parallel: int
    capacity: float | None
    part: str


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """A whole sheet, read; ``document`` is the JSON itself."""

    document: Mapping[str, Any]
    buildable: bool
    source: Source
    lights: Mapping[str, Light]
    rows: tuple[Row, ...]
    runs: tuple[Run, ...]
    fuse: Mapping[str, Any] | None
    switch: Mapping[str, Any] | None
    insulation: str
    bundled_count: int
    enclosed: bool
    flexing: bool
    ambient_temperature: float
    design_current: float | None


@lru_cache(maxsize=1024)
def _named(stem: str) -> tuple[str, Unit | None]:
    return json_name(stem), unit_of(stem)


class Members:
    """The members of one JSON object, read by stem, in inner units."""

    def __init__(self, mapping: object, place: str) -> None:
        if not isinstance(mapping, Mapping):
            raise UnreadableSheetError(f"{place} is no object")
        self._mapping = mapping
        self.place = place

    def get(self, stem: str) -> Any:
        """Return a member in its inner unit, None where it is absent or null."""
        name, unit = _named(stem)
        value = self._mapping.get(name)
        if value is None or unit is None:
            return value
        if type(value) is float:
            return unit.inner(value)
        if isinstance(value, Sequence) and not isinstance(value, str):
            return tuple(unit.inner(float(item)) for item in value)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise UnreadableSheetError(f"{self.place}.{json_name(stem)} is no number")
        return unit.inner(float(value))

    def need(self, stem: str) -> Any:
        """Return a member that has to be there."""
        value = self.get(stem)
        if value is None:
            raise UnreadableSheetError(f"{self.place}.{json_name(stem)} is missing")
        return value

    def number(self, stem: str) -> float:
        """Return a number that has to be there."""
        value = self.need(stem)
        if type(value) is float:
            return value
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise UnreadableSheetError(f"{self.place}.{json_name(stem)} is no number")
        return float(value)

    def count(self, stem: str) -> int:
        """Return a whole number above zero that has to be there."""
        value = self.number(stem)
        if value != int(value) or value < 1:
            raise UnreadableSheetError(f"{self.place}.{json_name(stem)} is no count")
        return int(value)

    def every(self, stems: Sequence[str]) -> dict[str, Any]:
        """Return several members by stem."""
        return {stem: self.get(stem) for stem in stems}


ROW_FIGURES = (
    "current",
    "current_low",
    "current_high",
    "current_fresh",
    "current_empty",
    "brightness",
    "seen_brightness",
    "string_voltage",
    "led_voltages",
    "resistor_voltage",
    "dissipation",
    "dissipation_high",
    "rated_dissipation",
    "headroom",
    "leds",
    "lowest_lit_voltage",
    "series_count",
    "resistance_rkm",
    "colour_bands",
)
RUN_FIGURES = ("loop_resistance", "drop", "drop_fraction", "ampacity", "metric_area")
FUSE_FIGURES = (
    "rated_current",
    "style",
    "smallest",
    "largest",
    "short_circuit_current",
    "clears_short",
    "needed",
)
# Rows are lettered; F, G, R, S, W and X name parts, I and O read as digits.
_ROW_LETTERS = "ABCDEHJKLMNPQTUVYZ"
SWITCH_FIGURES = ("rated_current", "rated_voltage")


@lru_cache(maxsize=4096)
def labels_in(span: str) -> tuple[str, ...]:
    """Return the rows of a text such as "A–C, E".

    >>> labels_in("D–H, K")
    ('D', 'E', 'H', 'K')
    """
    found: list[str] = []
    for part in span.split(","):
        first, _, last = part.strip().partition("–")
        if not first:
            continue
        start, end = _index(first), _index(last or first)
        found.extend(_letters(place) for place in range(start, min(end, start + 10_000) + 1))
    return tuple(found)


def _index(letters: str) -> int:
    value = 0
    for letter in letters:
        if letter not in _ROW_LETTERS:
            raise UnreadableSheetError(f"{letters!r} labels no row")
        value = value * len(_ROW_LETTERS) + _ROW_LETTERS.index(letter) + 1
    return value


def _letters(index: int) -> str:
    text = ""
    while index > 0:
        index, rest = divmod(index - 1, len(_ROW_LETTERS))
        text = _ROW_LETTERS[rest] + text
    return text


def read_sheet(document: object) -> ReadSheet:
    """Return a sheet read from its JSON.

    Raises
    ------
    UnreadableSheetError
        If it is no sheet, or lacks what an audit needs.
    """
    top = Members(document, "sheet")
    if not isinstance(document, Mapping) or not isinstance(document.get("buildable"), bool):
        raise UnreadableSheetError("the document does not say whether it is buildable: it is no sheet")
    basis = Members(document.get("basis"), "basis")
    wire = Members(basis.get("wire"), "basis.wire")
    lights = {
        light.name: light
        for light in (
            _light(Members(each, f"light_figures.{place}"))
            for place, each in enumerate(_list(document, "light_figures"))
        )
    }
    rows = tuple(
        _row(Members(each, f"strings.{place}"), lights)
        for place, each in enumerate(_list(document, "strings"))
    )
    fuse, switch = document.get("fuse"), document.get("switch")
    return ReadSheet(
        document=document,
        buildable=bool(document["buildable"]),
        source=_source(Members(basis.get("supply"), "basis.supply")),
        lights=lights,
        rows=rows,
        runs=tuple(
            _run(Members(each, f"wires.{place}"), rows) for place, each in enumerate(_list(document, "wires"))
        ),
        fuse=None if fuse is None else Members(fuse, "fuse").every(FUSE_FIGURES),
        switch=None if switch is None else Members(switch, "switch").every(SWITCH_FIGURES),
        insulation=str(wire.need("insulation")),
        bundled_count=wire.count("bundled_count"),
        enclosed=bool(wire.get("enclosed")),
        flexing=bool(wire.get("flexing")),
        ambient_temperature=basis.number("ambient_temperature"),
        design_current=top.get("design_current"),
    )


def _list(document: Mapping[str, Any], name: str) -> Sequence[Any]:
    value = document.get(name)
    if not isinstance(value, Sequence) or isinstance(value, str):
        raise UnreadableSheetError(f"{name} is no list")
    return value


def _source(members: Members) -> Source:
    voltage = members.number("supply_voltage")
    resistance = float(members.get("source_resistance") or 0.0)
    low = float(members.get("source_resistance_low") or 0.0)
    high = float(members.get("source_resistance_high") or 0.0)
    return Source(
        voltage=voltage,
        lowest=members.number("supply_voltage_min"),
        highest=members.number("supply_voltage_max"),
        resistance=resistance,
        resistance_low=min(low, resistance),
        resistance_high=max(high, resistance),
        current_limit=members.get("current_limit"),
        short_circuit_current=members.get("short_circuit_current"),
        battery=str(members.get("battery") or ""),
        cells_in_series=members.count("cells_in_series"),
        packs_in_parallel=members.count("packs_in_parallel"),
        capacity=members.get("capacity"),
        part=str(members.get("part") or ""),
    )


def _light(members: Members) -> Light:
    return Light(
        name=str(members.need("name")),
        count=members.count("count"),
        sent=members.get("led"),
        colour=str(members.get("colour") or ""),
        forward_voltage=members.number("forward_voltage"),
        forward_voltage_min=members.number("forward_voltage_min"),
        forward_voltage_max=members.number("forward_voltage_max"),
        rated_current=members.number("rated_current"),
        max_forward_current=members.number("max_forward_current"),
        ideality=members.get("ideality"),
        series_resistance=members.get("series_resistance"),
        reference_temperature=members.number("reference_temperature"),
        temperature_coefficient=members.number("temperature_coefficient"),
        built_in_resistance=float(members.get("built_in_resistance") or 0.0),
        built_in_resistance_low=float(members.get("built_in_resistance_low") or 0.0),
        built_in_resistance_high=float(members.get("built_in_resistance_high") or 0.0),
        built_in_series_count=members.count("built_in_series_count"),
    )


def _row(members: Members, lights: Mapping[str, Light]) -> Row:
    names = members.need("light_names")
    unknown = [name for name in names if name not in lights]
    if unknown or not names:
        raise UnreadableSheetError(f"strings name lights without figures: {unknown}")
    return Row(
        label=str(members.need("row")),
        lights=tuple(lights[name] for name in names),
        count=members.count("branch_count"),
        resistance=float(members.get("resistance") or 0.0),
        tolerance=members.number("tolerance"),
        rated_dissipation=members.get("rated_dissipation"),
        printed=members.every(ROW_FIGURES),
    )


def _run(members: Members, rows: Sequence[Row]) -> Run:
    awg = members.get("awg")
    label = str(members.need("label"))
    served = set() if label == "W0" else set(labels_in(str(members.need("serves"))))
    return Run(
        label=label,
        rows=tuple([at for at, row in enumerate(rows) if not served.isdisjoint(labels_in(row.label))]),
        run_length=members.number("run_length"),
        current=members.number("current"),
        awg=None if awg is None else int(awg),
        conductor_area=float(members.get("conductor_area") or 0.0),
        printed=members.every(RUN_FIGURES),
    )
