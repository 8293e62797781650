"""Every figure of batteries and supplies, as read from its source when the table was made.

A second record beside the tables: a slip in either shows. What rests on a document is marked published,
the rest by what it is; practice and memory are checked against each other in `test_the_trade` below.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from lampwright.tables.batteries import battery_figures, battery_type, battery_types, model_parameters
from lampwright.tables.supplies import supply_figures, supply_types
from tests.marks import agree, published

KIND = {
    "printed": "published",
    "quoted": "published",
    "measured": "published",
    "computed": "regression",
    "common practice": "practice",
    "from memory": "memory",
}

# battery: quantity value [low high], SI units, one line a battery
BATTERIES = """
alkaline_aaa
    nominal_voltage 1.5; fresh_voltage 1.6; empty_voltage 1; stop_voltage 0.9; capacity 1.3 0.6 1.6;
    source_resistance 0.388 0.15 0.94; usable_current 0.15; short_circuit_current 6; mass 0.0115;
    length 0.0445; width 0.0105; height 0.0105; self_discharge 0.03 0.02 0.05; min_temperature -18;
    max_temperature 55; relative_price 1;
alkaline_aa
    nominal_voltage 1.5; fresh_voltage 1.6; empty_voltage 1; stop_voltage 0.9; capacity 2.9 1.5 3.4;
    source_resistance 0.137 0.087 0.33; usable_current 0.4; short_circuit_current 12; mass 0.023;
    length 0.0505; width 0.0145; height 0.0145; self_discharge 0.03 0.02 0.05; min_temperature -18;
    max_temperature 55; relative_price 1;
alkaline_c
    nominal_voltage 1.5; fresh_voltage 1.6; empty_voltage 1; stop_voltage 0.9; capacity 8 4 9;
    source_resistance 0.15 0.1 0.37; usable_current 0.6; short_circuit_current 11; mass 0.068;
    length 0.05; width 0.0262; height 0.0262; self_discharge 0.03 0.02 0.05; min_temperature -18;
    max_temperature 55; relative_price 2.5;
alkaline_d
    nominal_voltage 1.5; fresh_voltage 1.6; empty_voltage 1; stop_voltage 0.9; capacity 18 8 20;
    source_resistance 0.139 0.08 0.34; usable_current 1; short_circuit_current 11; mass 0.14;
    length 0.0615; width 0.0342; height 0.0342; self_discharge 0.03 0.02 0.05; min_temperature -18;
    max_temperature 55; relative_price 3;
alkaline_9v
    nominal_voltage 9; fresh_voltage 9.6; empty_voltage 6; stop_voltage 5.4; capacity 0.55 0.4 0.65;
    source_resistance 1.79 1.7 4.3; usable_current 0.05; short_circuit_current 5.4; mass 0.046;
    length 0.0485; width 0.0265; height 0.0175; self_discharge 0.03 0.02 0.05; min_temperature -18;
    max_temperature 55; relative_price 3;
carbon_zinc_9v
    nominal_voltage 9; fresh_voltage 9.6; empty_voltage 6; stop_voltage 5.4; capacity 0.4 0.2 0.5;
    source_resistance 12 6 60; usable_current 0.02; short_circuit_current 0.8; mass 0.037; length 0.0485;
    width 0.0265; height 0.0175; self_discharge 0.06 0.04 0.1; min_temperature -5; max_temperature 45;
    relative_price 1.5;
lithium_iron_aa
    nominal_voltage 1.5; fresh_voltage 1.8; empty_voltage 1; stop_voltage 0.9; capacity 3 2.7 3.5;
    source_resistance 0.15 0.12 0.3; usable_current 2; short_circuit_current 12; lithium_content 0.00098;
    mass 0.015; length 0.0505; width 0.0145; height 0.0145; self_discharge 0.01 0.005 0.02;
    min_temperature -40; max_temperature 60; relative_price 3;
nimh_aaa
    nominal_voltage 1.2; fresh_voltage 1.42; empty_voltage 1; stop_voltage 1; capacity 0.8 0.5 1.2;
    source_resistance 0.0876 0.0526 0.1314; usable_current 0.8; short_circuit_current 16; mass 0.013;
    length 0.0445; width 0.0105; height 0.0105; self_discharge 0.15 0.1 0.3; min_temperature -10;
    max_temperature 45; relative_price 3;
nimh_aa
    nominal_voltage 1.2; fresh_voltage 1.42; empty_voltage 1; stop_voltage 1; capacity 2 0.6 2.8;
    source_resistance 0.035 0.021 0.0526; usable_current 2; short_circuit_current 41; mass 0.027;
    length 0.0505; width 0.0145; height 0.0145; self_discharge 0.15 0.1 0.3; min_temperature -10;
    max_temperature 45; relative_price 4;
nimh_9v
    nominal_voltage 8.4; fresh_voltage 9.94; empty_voltage 7; stop_voltage 7; capacity 0.2 0.12 0.3;
    source_resistance 2.4535 1.4721 3.6803; usable_current 0.1; short_circuit_current 4.1; mass 0.042;
    length 0.0485; width 0.0265; height 0.0175; self_discharge 0.15 0.1 0.3; min_temperature -10;
    max_temperature 45; relative_price 10;
lithium_coin_cr2016
    nominal_voltage 3; fresh_voltage 3.2; empty_voltage 2; stop_voltage 2; capacity 0.09 0.07 0.1;
    source_resistance 130.7 50 330; usable_current 0.003; short_circuit_current 0.12;
    lithium_content 3e-05; mass 0.0018; length 0.02; width 0.02; height 0.0016;
    self_discharge 0.01 0.005 0.02; min_temperature -20; max_temperature 70; relative_price 1;
lithium_coin_cr2025
    nominal_voltage 3; fresh_voltage 3.2; empty_voltage 2; stop_voltage 2; capacity 0.16 0.14 0.18;
    source_resistance 73.5 28 184; usable_current 0.003; short_circuit_current 0.2;
    lithium_content 5e-05; mass 0.0025; length 0.02; width 0.02; height 0.0025;
    self_discharge 0.01 0.005 0.02; min_temperature -20; max_temperature 70; relative_price 1;
lithium_coin_cr2032
    nominal_voltage 3; fresh_voltage 3.2; empty_voltage 2; stop_voltage 2; capacity 0.24 0.2 0.25;
    source_resistance 50 18 125; usable_current 0.003; short_circuit_current 0.3; lithium_content 7e-05;
    mass 0.003; length 0.02; width 0.02; height 0.0032; self_discharge 0.01 0.005 0.02;
    min_temperature -20; max_temperature 70; relative_price 1;
alkaline_button_lr44
    nominal_voltage 1.5; fresh_voltage 1.6; empty_voltage 1; stop_voltage 0.9; capacity 0.145 0.1 0.16;
    source_resistance 6 3 15; usable_current 0.003; short_circuit_current 0.27; mass 0.002;
    length 0.0116; width 0.0116; height 0.0054; self_discharge 0.02 0.01 0.03; min_temperature -10;
    max_temperature 60; relative_price 0.5;
liion_18650
    nominal_voltage 3.7; fresh_voltage 4.2; empty_voltage 3; stop_voltage 3; capacity 2.5 1.2 3.6;
    source_resistance 0.06 0.03 0.12; usable_current 5; short_circuit_current 70; mass 0.047;
    length 0.0652; width 0.0184; height 0.0184; self_discharge 0.05 0.03 0.1; min_temperature -20;
    max_temperature 60; relative_price 8;
lipo_1s
    nominal_voltage 3.7; fresh_voltage 4.2; empty_voltage 3; stop_voltage 3; capacity 1 0.05 10;
    source_resistance 0.0721 0.036 0.1442; usable_current 2; short_circuit_current 58; mass 0.022;
    length 0.05; width 0.034; height 0.006; self_discharge 0.05 0.03 0.1; min_temperature -20;
    max_temperature 60; relative_price 8;
lipo_2s
    nominal_voltage 7.4; fresh_voltage 8.4; empty_voltage 6; stop_voltage 6; capacity 1 0.1 10;
    source_resistance 0.1442 0.0721 0.2884; usable_current 5; short_circuit_current 58; mass 0.06;
    length 0.07; width 0.034; height 0.014; self_discharge 0.05 0.03 0.1; min_temperature -20;
    max_temperature 60; relative_price 14;
lipo_3s
    nominal_voltage 11.1; fresh_voltage 12.6; empty_voltage 9; stop_voltage 9; capacity 1 0.1 10;
    source_resistance 0.2163 0.1081 0.4326; usable_current 5; short_circuit_current 58; mass 0.085;
    length 0.07; width 0.034; height 0.02; self_discharge 0.05 0.03 0.1; min_temperature -20;
    max_temperature 60; relative_price 20;
lead_acid_6v
    nominal_voltage 6; fresh_voltage 6.45; empty_voltage 5.5; stop_voltage 5.25; charging_voltage 7.2;
    capacity 1.3 1.2 12; source_resistance 0.0747 0.0493 0.224; usable_current 1.3;
    short_circuit_current 86; mass 0.3; length 0.097; width 0.024; height 0.055;
    self_discharge 0.36 0.2 0.4; min_temperature -15; max_temperature 50; relative_price 12;
lead_acid_12v
    nominal_voltage 12; fresh_voltage 12.9; empty_voltage 11; stop_voltage 10.5; charging_voltage 14.4;
    capacity 7 1.2 100; source_resistance 0.0277 0.0183 0.0832; usable_current 5;
    short_circuit_current 470; mass 2.2; length 0.151; width 0.065; height 0.1;
    self_discharge 0.36 0.2 0.4; min_temperature -15; max_temperature 50; relative_price 25;
power_bank_5v
    nominal_voltage 5; fresh_voltage 5.25; empty_voltage 4.75; stop_voltage 4.75; capacity 10 1 30;
    cell_stop_voltage 3; cell_voltage 3.7; converter_efficiency 0.85 0.8 0.92;
    wake_current 0.075 0.05 0.1; source_resistance 0.05 0.02 0.15; usable_current 2;
    short_circuit_current 4; mass 0.22; length 0.14; width 0.07; height 0.016;
    self_discharge 0.1 0.05 0.2; min_temperature -10; max_temperature 45; relative_price 20;
"""

SUPPLIES = """
usb_port_5v
    supply_voltage 5; supply_voltage_min 4.75; supply_voltage_max 5.25; source_resistance 0.1;
    current_limit 0.5; short_circuit_current 2;
usb_charger_5v
    supply_voltage 5; supply_voltage_min 4.75; supply_voltage_max 5.5; source_resistance 0.1;
    current_limit 1.5; short_circuit_current 3; mass 0.06;
adapter_5v
    supply_voltage 5; supply_voltage_min 4.75; supply_voltage_max 5.25; source_resistance 0;
    current_limit 2; short_circuit_current 4; mass 0.09;
adapter_9v
    supply_voltage 9; supply_voltage_min 8.55; supply_voltage_max 9.45; source_resistance 0;
    current_limit 1; short_circuit_current 2; mass 0.1;
adapter_12v
    supply_voltage 12; supply_voltage_min 11.4; supply_voltage_max 12.6; source_resistance 0;
    current_limit 1; short_circuit_current 2; mass 0.12;
adapter_24v
    supply_voltage 24; supply_voltage_min 22.8; supply_voltage_max 25.2; source_resistance 0;
    current_limit 1; short_circuit_current 2; mass 0.2;
vehicle_12v
    supply_voltage 12.6; supply_voltage_min 11; supply_voltage_max 14.4; source_resistance 0.05;
    current_limit 8; short_circuit_current 200;
"""

# battery: designation, chemistry, cells inside, rechargeable
TYPES = {
    "alkaline_aaa": ("LR03", "alkaline", 1, False),
    "alkaline_aa": ("LR6", "alkaline", 1, False),
    "alkaline_c": ("LR14", "alkaline", 1, False),
    "alkaline_d": ("LR20", "alkaline", 1, False),
    "alkaline_9v": ("6LR61", "alkaline", 6, False),
    "carbon_zinc_9v": ("6F22", "carbon_zinc", 6, False),
    "lithium_iron_aa": ("FR6", "lithium_iron", 1, False),
    "nimh_aaa": ("HR03", "nimh", 1, True),
    "nimh_aa": ("HR6", "nimh", 1, True),
    "nimh_9v": ("7HR22", "nimh", 7, True),
    "lithium_coin_cr2016": ("CR2016", "lithium_coin", 1, False),
    "lithium_coin_cr2025": ("CR2025", "lithium_coin", 1, False),
    "lithium_coin_cr2032": ("CR2032", "lithium_coin", 1, False),
    "alkaline_button_lr44": ("LR44", "alkaline", 1, False),
    "liion_18650": ("18650", "liion", 1, True),
    "lipo_1s": ("1S", "liion", 1, True),
    "lipo_2s": ("2S", "liion", 2, True),
    "lipo_3s": ("3S", "liion", 3, True),
    "lead_acid_6v": ("6 V", "lead_acid", 3, True),
    "lead_acid_12v": ("12 V", "lead_acid", 6, True),
    "power_bank_5v": ("5 V", "liion", 1, True),
}


def _record(text: str) -> Iterator[tuple[str, str, list[float]]]:
    """Yield part, quantity and figures of a record."""
    part = ""
    for line in text.strip().splitlines():
        if not line.startswith(" "):
            part = line.strip()
            continue
        for item in line.split(";"):
            words = item.split()
            if words:
                yield part, words[0], [float(word) for word in words[1:]]


def _battery_cases() -> list[object]:
    return [
        pytest.param(
            part,
            quantity,
            figures,
            id=f"{part}-{quantity}",
            marks=published(
                row.source,
                row.locator or "figure as remembered",
                of="lampwright.tables.batteries.battery_figures",
                kind=KIND[row.status],
            ),
        )
        for part, quantity, figures in _record(BATTERIES)
        for row in (battery_figures()[part][quantity],)
    ]


@pytest.mark.parametrize(("battery", "quantity", "figures"), _battery_cases())
def test_battery_figure(battery: str, quantity: str, figures: list[float]) -> None:
    row = battery_figures()[battery][quantity]
    agree(row.value, figures[0], rel=1e-9, why="the figure as read", what=f"{battery} {quantity}")
    bounds = [bound for bound in (row.low, row.high) if bound is not None]
    assert bounds == figures[1:]


@pytest.mark.parametrize(
    ("part", "quantity", "figures"),
    [
        pytest.param(
            part,
            quantity,
            figures,
            id=f"{part}-{quantity}",
            marks=published(
                row.source,
                row.locator or "figure as remembered",
                of="lampwright.tables.supplies.supply_figures",
                kind=KIND[row.status],
            ),
        )
        for part, quantity, figures in _record(SUPPLIES)
        for row in (supply_figures()[part][quantity],)
    ],
)
def test_supply_figure(part: str, quantity: str, figures: list[float]) -> None:
    agree(
        supply_figures()[part][quantity].value,
        figures[0],
        rel=1e-9,
        why="the figure as read",
        what=f"{part} {quantity}",
    )


@published("IEC-60086-1", "designations and systems", of="lampwright.tables.batteries.battery_types")
def test_records_are_complete() -> None:
    assert {(part, quantity) for part, quantity, _ in _record(BATTERIES)} == {
        (battery, quantity) for battery, rows in battery_figures().items() for quantity in rows
    }
    assert {(part, quantity) for part, quantity, _ in _record(SUPPLIES)} == {
        (part, quantity) for part, rows in supply_figures().items() for quantity in rows
    }
    found = {
        row.battery: (row.designation, row.chemistry, row.cells, row.rechargeable)
        for row in battery_types().values()
    }
    assert found == TYPES


# Per cell: fresh, named, empty.
TRADE = [
    ("alkaline_aa", 1, 1.6, 1.5, 1.0),
    ("nimh_aa", 1, 1.4, 1.2, 1.0),
    ("liion_18650", 1, 4.2, 3.7, 3.0),
    ("lead_acid_12v", 1, 12.7, 12.0, 11.0),
    ("alkaline_9v", 1, 9.6, 9.0, 6.0),
    ("lithium_coin_cr2032", 1, 3.2, 3.0, 2.0),
]


@published(
    "PRACTICE",
    "fresh, named and empty voltage by chemistry",
    of="lampwright.tables.batteries.battery_figures",
    kind="practice",
)
@pytest.mark.parametrize(("battery", "cells", "fresh", "named", "empty"), TRADE)
def test_the_trade(battery: str, cells: int, fresh: float, named: float, empty: float) -> None:
    rows = battery_figures()[battery]
    why = "a rule of thumb, 2 %"
    agree(rows["fresh_voltage"].value, fresh * cells, rel=0.02, why=why)
    agree(rows["nominal_voltage"].value, named * cells, rel=0.02, why=why)
    agree(rows["empty_voltage"].value, empty * cells, rel=0.02, why=why)


@published(
    "PRACTICE",
    "largest useful current by size",
    of="lampwright.tables.batteries.battery_figures",
    kind="practice",
)
@pytest.mark.parametrize(
    ("battery", "current"),
    [
        ("lithium_coin_cr2032", 0.003),
        ("alkaline_9v", 0.05),
        ("alkaline_aaa", 0.15),
        ("alkaline_aa", 0.4),
        ("alkaline_d", 1.0),
    ],
)
def test_useful_current(battery: str, current: float) -> None:
    agree(battery_figures()[battery]["usable_current"].value, current, rel=1e-9, why="the rule itself")


@published(
    "PANASONIC-LC-R061R3P", "internal resistance 50 mΩ", of="lampwright.tables.batteries.battery_figures"
)
def test_resistance_of_a_small_lead_battery() -> None:
    row = battery_figures()["lead_acid_6v"]["source_resistance"]
    assert row.low is not None
    assert row.high is not None
    assert row.low <= 0.05 <= row.high, "a meter reading at 1 kHz lies at the low end of a DC resistance"


@published("DURACELL-MN1604", "impedance 1.7 Ω at 1 kHz", of="lampwright.tables.batteries.battery_figures")
def test_resistance_of_a_nine_volt_block() -> None:
    agree(battery_figures()["alkaline_9v"]["source_resistance"].value, 1.7, rel=0.1, why="AC against DC")


@published(
    "SANYO-LSD", "90 % after 6 months, 85 % after a year", of="lampwright.tables.batteries.battery_figures"
)
def test_charge_kept_by_nimh() -> None:
    lost = battery_figures()["nimh_aa"]["self_discharge"].value
    agree(1 - lost, 0.85, rel=1e-9, why="printed")
    agree((1 - lost) ** 0.5, 0.90, abs=0.03, why="the loss is fastest at first")


@published("PANASONIC-LC-R061R3P", "residual capacity", of="lampwright.tables.batteries.battery_figures")
@pytest.mark.parametrize(("months", "kept"), [(3, 0.91), (6, 0.82), (12, 0.64)])
def test_charge_kept_by_lead(months: float, kept: float) -> None:
    lost = battery_figures()["lead_acid_12v"]["self_discharge"].value
    agree((1 - lost) ** (months / 12), kept, abs=0.03, why="an exponential for a straight line")


@published(
    "ENC-CR2032", "names tell the size", of="lampwright.tables.batteries.battery_figures", kind="practice"
)
@pytest.mark.parametrize("battery", ["lithium_coin_cr2016", "lithium_coin_cr2025", "lithium_coin_cr2032"])
def test_a_coin_cell_is_named_for_its_size(battery: str) -> None:
    rows = battery_figures()[battery]
    digits = battery_type(battery).designation[2:]
    assert round(rows["width"].value * 1000) == int(digits[:2])
    assert round(rows["height"].value * 10_000) == int(digits[2:])


@published(
    "PRACTICE", "what the trade calls them", of="lampwright.tables.supplies.supply_types", kind="practice"
)
def test_kinds_of_supplies() -> None:
    assert {row.part: row.kind for row in supply_types().values()} == {
        "usb_port_5v": "usb_port",
        "usb_charger_5v": "usb_charger",
        "adapter_5v": "adapter",
        "adapter_9v": "adapter",
        "adapter_12v": "adapter",
        "adapter_24v": "adapter",
        "vehicle_12v": "vehicle",
    }


UNITS = {
    "V": "voltage",
    "A": "current",
    "A·h": "capacity",
    "Ω": "resistance",
    "kg": "mass lithium_content",
    "m": "length width height",
    "1/a": "self_discharge",
    "°C": "temperature",
    "1": "converter_efficiency relative_price",
}


@published(
    "PRACTICE", "SI units, charge in A·h", of="lampwright.tables.batteries.battery_figures", kind="practice"
)
def test_units() -> None:
    def right(quantity: str, unit: str) -> bool:
        return any(word in quantity for word in UNITS[unit].split())

    for rows in battery_figures().values():
        for row in rows.values():
            assert right(row.quantity, row.unit), row
    for parts in supply_figures().values():
        for figure in parts.values():
            assert right(figure.quantity, figure.unit), figure
    wanted = {"label": "A·h", "Q": "A·h", "R0": "Ω", "Ea_R": "J/mol", "Ea_a": "J/mol"}
    for parameters in model_parameters().values():
        for name, parameter in parameters.items():
            assert parameter.unit == ("V" if name.startswith("U(") else wanted.get(name, "1")), parameter
