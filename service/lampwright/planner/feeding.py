"""Turn a runtime question into a battery and its load: cells inside the pack, rows, converters.

Rows of lights are taken at 25 °C whatever the weather: cold lights draw a little less, lit ones warm
themselves, and a battery's own loss in the cold is many times larger.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from lampwright.errors import ContradictionError
from lampwright.physics.batteries import CellModel, Pack, cell_model, make_pack
from lampwright.physics.circuits import Branch
from lampwright.physics.loads import (
    KINDS,
    ConstantCurrent,
    ConstantPower,
    Converter,
    Load,
    Resistor,
    Strings,
    strings_load,
)
from lampwright.planner.models.circuits import ResistorAsk, StringAsk
from lampwright.planner.models.energy import RuntimeAsk
from lampwright.planner.models.parts import Supply
from lampwright.planner.resistor import series_resistor
from lampwright.planner.strings import Corner, string_model
from lampwright.records import quickly_made
from lampwright.tables.batteries import BatteryFigure, BatteryType, battery_type, figures_of, model_parameters

#: Converters whose efficiency or dropout is not told (from memory: of usual small modules).
USUAL_EFFICIENCY = {"boost": 0.85, "buck": 0.9, "linear": 1.0}
USUAL_DROPOUT = {"boost": 0.0, "buck": 0.5, "linear": 2.0}
LIGHTS_TEMPERATURE = 25.0
#: A row is dark below this part of its light.
DARK = 0.1


@quickly_made
@dataclass(frozen=True, slots=True)
class Row:
    """One kind of row: its lights, its resistor, how many there are, and its current at nominal."""

    lights: Corner
    resistance: float
    count: int
    rated_current: float
    full_current: float

    def voltage(self, part: float) -> float:
        """Return the voltage over the row, in V, at a part of its full light."""
        current = part * self.full_current
        return self.lights.voltage(current) + self.resistance * current


@dataclass(frozen=True, slots=True)
class Lights:
    """Rows that conduct, whatever the battery: lights, resistor, how many, rated current; all as one load."""

    rows: tuple[tuple[Corner, float, int, float], ...]
    load: Strings


@quickly_made
@dataclass(frozen=True, slots=True)
class Feeding:
    """A battery and what it feeds. ``outer`` is the load at the terminals; a bank has cells behind."""

    kind: BatteryType
    figures: dict[str, BatteryFigure]
    pack: Pack
    load: Load
    outer: Load
    rows: tuple[Row, ...]
    cells_in_series: int
    nominal: float
    terminal: float | None
    label: float
    band_low: float
    band_high: float

    @property
    def pack_stop(self) -> float:
        """End voltage of the cells inside a bank, in V."""
        return self.figures["cell_stop_voltage"].value


@cache
def model_of(name: str) -> CellModel:
    """Return the discharge model of a kind of cell."""
    return cell_model({key: row.value for key, row in model_parameters()[name].items()})


def pack_of(supply: Supply, ambient_temperature: float, age_years: float) -> Pack:
    """Return the discharge model of a battery supply."""
    label = figures_of(supply.battery)["capacity"].value if supply.capacity is None else supply.capacity
    return _pack(
        supply.battery,
        supply.cells_in_series,
        supply.packs_in_parallel,
        label,
        ambient_temperature,
        age_years,
    )


@lru_cache(maxsize=512)
def _pack(
    battery: str,
    cells_in_series: int,
    packs_in_parallel: int,
    label: float,
    ambient_temperature: float,
    age_years: float,
) -> Pack:
    """Return the discharge model of so many batteries of a type."""
    kind = battery_type(battery)
    figures = figures_of(battery)
    return make_pack(
        model_of(kind.model),
        kind.cells * cells_in_series,
        packs_in_parallel,
        label,
        ambient_temperature,
        age_years,
        figures["self_discharge"].value,
    )


def feeding(ask: RuntimeAsk, corner: str = "expected", lights: Lights | None = None) -> Feeding:
    """Return the battery and the load of a runtime question.

    ``corner`` takes the lights at another end of their spread, named for their current: "low", "high";
    ``lights`` are the rows of the question where ``lights_of`` has worked them out already.

    Raises
    ------
    ContradictionError
        If the supply is no battery, if not exactly one load is given, or a converter lacks its voltage.
    """
    supply = ask.supply
    if not supply.battery:
        raise ContradictionError(
            "battery", "a supply from the mains or a vehicle does not run down", "send a battery for hours"
        )
    kind = battery_type(supply.battery)
    figures = figures_of(supply.battery)
    nominal = figures["nominal_voltage"].value * supply.cells_in_series
    plain = [value for value in (ask.load_current, ask.load_power, ask.load_resistance) if value is not None]
    if len(plain) + bool(ask.strings) != 1:
        raise ContradictionError(
            "load_current",
            "give exactly one load: a current, a power, a resistance or strings",
            "leave out all but one of load_current, load_power, load_resistance, strings",
        )
    if any(not value > 0 for value in plain):
        raise ContradictionError(
            "load_current", "a load that takes nothing lasts for ever", "send its current"
        )
    converter = _converter_voltage(ask)
    lit_by = nominal if converter is None else _output_at(ask, converter, nominal)
    lit = lights if lights is not None else lights_of(ask, corner)
    rows = _rows(lit, lit_by)
    load = _plain_load(ask) if lit is None else lit.load
    if converter is not None:
        load = _converted(ask, converter, load)
    pack = pack_of(supply, ask.ambient_temperature, ask.age_years)
    outer = load
    terminal = None
    if kind.form == "bank":
        # Inside a bank a boost converter feeds 5 V from the cell; outside there is only that.
        behind = figures["source_resistance"].value / supply.packs_in_parallel
        point = load.solve(nominal, behind, nominal)
        drawn, terminal = (0.0, 0.0) if point is None else point[:2]
        efficiency = figures["converter_efficiency"].value
        load = Converter("boost", nominal, ConstantCurrent(max(drawn, 1e-12)), efficiency)
    parameters = model_parameters()[kind.model]
    return Feeding(
        kind=kind,
        figures=figures,
        pack=pack,
        load=load,
        outer=outer,
        rows=rows,
        cells_in_series=supply.cells_in_series,
        nominal=nominal,
        terminal=terminal,
        label=(figures["capacity"].value if supply.capacity is None else supply.capacity)
        * supply.packs_in_parallel,
        band_low=parameters["band_low"].value,
        band_high=parameters["band_high"].value,
    )


def _converter_voltage(ask: RuntimeAsk) -> float | None:
    """Return the output voltage of the converter asked for, None without one."""
    if ask.converter is None:
        return None
    if ask.converter not in KINDS:
        raise ContradictionError(
            "converter", f"there is no converter called {ask.converter!r}", f"send one of {', '.join(KINDS)}"
        )
    if ask.converter_voltage is None:
        raise ContradictionError(
            "converter_voltage", f"a {ask.converter} converter needs its output voltage", "send it in volts"
        )
    return ask.converter_voltage


def _converted(ask: RuntimeAsk, voltage: float, load: Load) -> Converter:
    """Return the load behind the converter asked for."""
    kind = ask.converter or "linear"
    efficiency = ask.converter_efficiency
    dropout = ask.dropout_voltage
    return Converter(
        kind,
        voltage,
        load,
        USUAL_EFFICIENCY[kind] if efficiency is None else efficiency,
        USUAL_DROPOUT[kind] if dropout is None else dropout,
    )


def _output_at(ask: RuntimeAsk, voltage: float, nominal: float) -> float:
    """Return what the converter puts out at the nominal battery voltage."""
    return _converted(ask, voltage, ConstantCurrent(1.0)).output(nominal)


def lights_of(ask: RuntimeAsk, corner: str = "expected") -> Lights | None:
    """Return the rows that conduct, None for a plain load."""
    rows = []
    off = {"low": 1.0, "expected": 0.0, "high": -1.0}[corner]
    for string in ask.strings:
        if string.reversed:
            continue
        resistance = string.resistance
        if resistance is None:
            resistance = _found_resistance(ask, string)
        model = string_model(string.leds, LIGHTS_TEMPERATURE)
        resistance *= 1.0 + off * string.tolerance
        lights = {"low": model.low, "expected": model.expected, "high": model.high}[corner]
        rows.append((lights, resistance, string.branch_count, model.rated_current))
    if ask.strings and not rows:
        raise ContradictionError("strings", "every row is the wrong way round: nothing flows", "turn them")
    if not rows:
        return None
    branches = [
        Branch(lights.diodes, resistance + lights.built_in_resistance, count)
        for lights, resistance, count, _ in rows
    ]
    return Lights(tuple(rows), strings_load(branches))


def _rows(lit: Lights | None, lit_by: float) -> tuple[Row, ...]:
    """Return the rows that conduct, each with its current at the nominal voltage."""
    if lit is None:
        return ()
    return tuple(
        Row(lights, resistance, count, rated, lights.current(lit_by, resistance))
        for lights, resistance, count, rated in lit.rows
    )


def _found_resistance(ask: RuntimeAsk, string: StringAsk) -> float:
    """Return the resistor the planner would choose for a string sent without one."""
    found = series_resistor(ResistorAsk(ask.supply, string)).resistance
    if found is not None:
        return found
    # None suits over the battery's whole life: tell the hours of the one that spares the lights when fresh.
    model = string_model(string.leds, LIGHTS_TEMPERATURE)
    current = string.forward_current or model.rated_current
    return max(0.0, (ask.supply.supply_voltage_max - model.expected.voltage(current)) / current)


def _plain_load(ask: RuntimeAsk) -> Load:
    """Return a load that is no lights, before any converter."""
    if ask.load_current is not None:
        return ConstantCurrent(ask.load_current)
    if ask.load_power is not None:
        return ConstantPower(ask.load_power)
    return Resistor(ask.load_resistance or 0.0)


def stop_voltage(fed: Feeding, part: float) -> float:
    """Return the terminal voltage, in V, at which the first row is down to a part of its light.

    Zero where a converter keeps it from ever coming so low.
    """
    at_row = max(row.voltage(part) for row in fed.rows)
    return fed.outer.input_at(at_row) if isinstance(fed.outer, Converter) else at_row


def dark_voltage(fed: Feeding) -> float:
    """Return the terminal voltage, in V, at which the last row is dark."""
    at_row = min(row.voltage(DARK) for row in fed.rows)
    return fed.outer.input_at(at_row) if isinstance(fed.outer, Converter) else at_row


def brightness_at(fed: Feeding, voltage: float) -> float:
    """Return the light of the dimmest row, as a part of its light at nominal voltage."""
    if isinstance(fed.outer, Converter):
        voltage = fed.outer.output(voltage)
    return min(
        row.lights.current(voltage, row.resistance) / row.full_current if row.full_current > 0 else 0.0
        for row in fed.rows
    )
