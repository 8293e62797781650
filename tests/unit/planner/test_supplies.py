"""The window a supply makes, and what is refused."""

from __future__ import annotations

import pytest

from lampwright.errors import ContradictionError, UnknownPartError
from lampwright.planner.feeding import model_of
from lampwright.planner.supplies import supply_from_battery, supply_from_part, supply_from_voltage
from lampwright.tables.batteries import battery_types, figures_of
from lampwright.tables.supplies import supply_types


def test_volts() -> None:
    plain = supply_from_voltage(12.0)
    assert (plain.supply_voltage_min, plain.supply_voltage, plain.supply_voltage_max) == (12.0, 12.0, 12.0)
    assert plain.short_circuit_current is None
    behind = supply_from_voltage(9.0, 8.0, 10.0, 2.0, 0.3)
    assert behind.source_resistance_high == 2.0
    assert behind.short_circuit_current == 5.0
    assert behind.current_limit == 0.3


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((12.0, 13.0), "supply_voltage_min"),
        ((12.0, None, 11.0), "supply_voltage_max"),
        ((61.0,), "supply_voltage_max"),
        ((48.0, 44.0, 60.5), "supply_voltage_max"),
    ],
)
def test_volts_refused(arguments: tuple[float, ...], field: str) -> None:
    with pytest.raises(ContradictionError) as caught:
        supply_from_voltage(*arguments)
    assert caught.value.field == field


def test_pack() -> None:
    one, pack = supply_from_battery("alkaline_aa"), supply_from_battery("alkaline_aa", 4, 2)
    assert pack.supply_voltage_max == pytest.approx(6.4)
    assert pack.source_resistance == pytest.approx(2 * one.source_resistance)
    assert pack.current_limit == pytest.approx(0.8)
    assert pack.short_circuit_current == pytest.approx(2 * one.short_circuit_current)  # type: ignore[operator]
    assert pack.name == "8 × AA alkaline cell (2 packs of 4 side by side)"


def test_capacity_scales_resistance_and_current() -> None:
    usual, small = supply_from_battery("nimh_aa"), supply_from_battery("nimh_aa", capacity=1.0)
    assert small.source_resistance == pytest.approx(2 * usual.source_resistance)
    assert small.current_limit == pytest.approx(usual.current_limit / 2)  # type: ignore[operator]


def test_charger_left_on() -> None:
    assert supply_from_battery("lead_acid_12v", supply_voltage_max=14.4).supply_voltage_max == 14.4


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (("alkaline_aa", 38), "cells_in_series"),
        (("alkaline_aa", 5000), "cells_in_series"),
        (("lead_acid_12v", 5), "cells_in_series"),
        (("power_bank_5v", 2), "cells_in_series"),
        (("alkaline_aa", 3, 1, 290.0), "capacity"),
        (("alkaline_aa", 3, 1, 0.029), "capacity"),
        (("alkaline_aa", 3, 1, None, 4.0), "supply_voltage_max"),
        (("alkaline_aa", 3, 1, None, 61.0), "supply_voltage_max"),
    ],
)
def test_packs_refused(arguments: tuple[object, ...], field: str) -> None:
    with pytest.raises(ContradictionError) as caught:
        supply_from_battery(*arguments)  # type: ignore[arg-type]
    assert caught.value.field == field
    assert caught.value.hint


def test_unknown() -> None:
    with pytest.raises(UnknownPartError):
        supply_from_battery("potato")
    with pytest.raises(UnknownPartError) as caught:
        supply_from_part("potato")
    assert "adapter_12v" in caught.value.known


def test_parts() -> None:
    for part in supply_types():
        supply = supply_from_part(part)
        assert supply.supply_voltage_min <= supply.supply_voltage <= supply.supply_voltage_max
        assert supply.part == part
        assert supply.battery == ""
    assert supply_from_part("power_bank_5v").battery == "power_bank_5v"
    car = supply_from_part("vehicle_12v")
    assert (car.supply_voltage_min, car.supply_voltage_max) == (11.0, 14.4)


@pytest.mark.parametrize("battery", battery_types())
def test_every_battery_is_whole(battery: str) -> None:
    kind, figures = battery_types()[battery], figures_of(battery)
    supply = supply_from_battery(battery)
    assert supply.supply_voltage_min < supply.supply_voltage < supply.supply_voltage_max
    assert supply.source_resistance_low <= supply.source_resistance <= supply.source_resistance_high
    assert supply.sources
    for row in figures.values():
        if row.low is not None and row.high is not None:
            assert row.low <= row.value <= row.high, row
    if kind.form != "bank":
        # The window and the discharge model are one battery.
        model = model_of(kind.model)
        label = figures["capacity"].value
        cells = kind.cells
        assert model.pieces[0][0] * cells <= supply.supply_voltage_max * 1.001
        assert model.resistance * model.label / label * cells == pytest.approx(
            supply.source_resistance, rel=0.06
        )
        short = supply.supply_voltage_max / supply.source_resistance
        assert 0.2 < supply.short_circuit_current / short < 8  # type: ignore[operator]
    # A solid body: denser than a bag of air, lighter than lead.
    volume = figures["length"].value * figures["width"].value * figures["height"].value
    assert 800 < figures["mass"].value / volume < 4000
