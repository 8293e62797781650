"""What a wire carries, against every published rule the tables hold, and the factors between them."""

import pytest

from lampwright.physics.conductors import awg_area, heat_factor
from lampwright.planner.ampacity import Surroundings, ampacity
from lampwright.tables.wires import (
    ampacity_rows,
    ampacity_rules,
    bundle_factor,
    insulations,
    rated_currents,
    wire_sizes,
)
from tests.marks import agree, published

# rule -> gauge -> amperes as printed
BY_GAUGE = {
    "chassis": {
        30: 0.86,
        28: 1.4,
        26: 2.2,
        24: 3.5,
        22: 7,
        20: 11,
        18: 16,
        16: 22,
        14: 32,
        29: 1.2,
        27: 1.7,
        25: 2.7,
        23: 4.7,
        21: 9,
        19: 14,
        17: 19,
        15: 28,
    },
    "cmil_700": {30: 0.142, 28: 0.226, 26: 0.361, 24: 0.577, 22: 0.92, 20: 1.5, 18: 2.3, 16: 3.7, 14: 5.9},
    "bundled": {30: 1.3, 28: 1.8, 26: 2.5, 24: 3.3, 22: 4.5, 20: 6.5, 18: 9.2, 16: 13, 14: 19, 12: 25},
    "space_bundle": {30: 0.7, 24: 2, 22: 2.5, 20: 3.7, 18: 5, 28: 1, 26: 1.4},
    "handbook_bundled": {22: 5, 20: 7.5, 18: 10, 16: 13, 14: 17},
    "handbook_single": {22: 7, 20: 11, 18: 16, 16: 22, 14: 32},
    "free_air_60": {20: 9, 18: 13, 16: 18, 14: 25},
    "free_air_90": {20: 12.5, 18: 18, 16: 24, 14: 35},
    "mil_5088": {22: 5, 20: 8.33, 18: 15.4, 14: 31.2, 12: 40},
}
# rule -> mm² -> amperes as printed
BY_AREA = {
    "vde_single": {0.08: 1.5, 0.14: 3, 0.25: 5, 0.34: 8, 0.5: 12, 0.75: 15, 1: 19, 1.5: 24, 2.5: 32, 4: 42},
    "vde_multicore": {0.08: 1, 0.14: 2, 0.25: 4, 0.34: 6, 0.5: 9, 0.75: 12, 1: 15, 1.5: 18, 2.5: 26, 4: 34},
    "vde_cord": {0.5: 3, 0.75: 6, 1: 10, 1.5: 16, 2.5: 25, 4: 32},
}
# The same rule carried on where it prints nothing.
ADDED = {("bundled", 10): 33.0, ("bundled", 32): 0.818, ("bundled", 34): 0.514, ("bundled", 36): 0.323}
# rule: insulation, °C of the air at which its printed figures stand, wires together
STANDS_AT = {
    "bundled": ("ptfe_200", 70.0, 1),
    "mil_5088": ("pvc_105", 50.0, 1),
    "space_bundle": ("ptfe_200", 70.0, 10),
    "cmil_700": ("pvc_105", 30.0, 10),
    "handbook_bundled": ("pvc_105", 30.0, 10),
    "handbook_single": ("pvc_105", 30.0, 1),
    "chassis": ("pvc_105", 30.0, 1),
    "free_air_60": ("pvc_60", 30.0, 1),
    "free_air_90": ("xlpvc_90", 30.0, 1),
    "vde_cord": ("pvc_80", 30.0, 2),
    "vde_multicore": ("pvc_80", 30.0, 3),
    "vde_single": ("pvc_80", 30.0, 1),
}


def _cases():
    for rule, row in BY_GAUGE.items():
        yield from ((rule, awg_area(awg), amps) for awg, amps in row.items())
    for rule, row in BY_AREA.items():
        yield from ((rule, area, amps) for area, amps in row.items())
    yield from ((rule, awg_area(awg), amps) for (rule, awg), amps in ADDED.items())


@pytest.mark.parametrize(("rule", "area", "amps"), list(_cases()))
@published("MIL-STD-975M", "A 3.16, single wire", of="lampwright.planner.ampacity.ampacity")
@published("MIL-W-5088B", "ratings at 50 °C and a 105 °C conductor")
@published("SPACE-BUNDLE", "bundle column")
@published("HANDBOOK-ETF", "chassis-wiring and power-transmission columns")
@published("RADIO-HANDBOOK", "both columns")
@published("LIEC", "vol. I, copper ampacities in free air at 30 °C")
@published("VDE-0298-4", "table T12-1")
def test_every_rule_where_its_figures_stand(rule, area, amps):
    insulation, ambient, count = STANDS_AT[rule]
    where = Surroundings(insulation, count, ambient_temperature=ambient, rule=rule)
    agree(ampacity(area, where).ampacity, amps, rel=1e-9, why="the printed figure itself", what=rule)


@published("PRACTICE", "no row beyond the printed ones", kind="practice")
def test_no_other_rows():
    assert len(ampacity_rows()) == len(list(_cases()))
    assert list(ampacity_rules()) == [
        "bundled", "mil_5088", "space_bundle", "cmil_700", "handbook_bundled", "handbook_single",
        "chassis", "free_air_60", "free_air_90", "vde_cord", "vde_multicore", "vde_single",
    ]  # fmt: skip


# What the rules assume: °C of conductor and air, bundle curve.
ASSUMED = {
    "bundled": (200, 70, "mil_975m"),
    "mil_5088": (105, 50, "mil_5088l"),
    "space_bundle": (200, 70, "none"),
    "cmil_700": (105, 30, "none"),
    "handbook_bundled": (105, 30, "none"),
    "handbook_single": (105, 30, "mil_975m"),
    "chassis": (105, 30, "mil_975m"),
    "free_air_60": (60, 30, "mil_975m"),
    "free_air_90": (90, 30, "mil_975m"),
    "vde_cord": (70, 30, "none"),
    "vde_multicore": (70, 30, "none"),
    "vde_single": (70, 30, "mil_975m"),
}


@pytest.mark.parametrize("rule", ASSUMED)
@published("MIL-STD-975M", "A 3.16: 70 °C, 200 °C insulation", of="lampwright.tables.wires.ampacity_rules")
def test_what_rules_assume(rule):
    row = ampacity_rules()[rule]
    assert (row.conductor_temperature, row.ambient_temperature, row.bundle) == ASSUMED[rule]


@published(
    "MIL-STD-975M",
    "A 3.16, 22 AWG, 10 wires, 105 °C insulation: 4.5 A × 0.50 × 19/28",
    of="lampwright.planner.ampacity.ampacity",
    kind="hand",
)
def test_worked_bundle():
    found = ampacity(awg_area(22), Surroundings("pvc_105", 10, ambient_temperature=70.0))
    agree(found.ampacity, 1.527, rel=5e-4, why="four digits")
    # Single wires of 105 °C insulation carry half.
    for awg, half in ((30, 0.65), (28, 0.9), (26, 1.25), (24, 1.65), (22, 2.25), (20, 3.25), (18, 4.6)):
        alone = ampacity(awg_area(awg), Surroundings("pvc_105", 1, ambient_temperature=70.0)).ampacity
        agree(alone, half, rel=1e-9, why="half of the printed figure", what=f"{awg} AWG")
    for awg, ten in ((30, 0.441), (28, 0.611), (26, 0.848), (24, 1.12), (20, 2.21), (18, 3.12), (14, 6.45)):
        bundled = ampacity(awg_area(awg), Surroundings("pvc_105", 10, ambient_temperature=70.0)).ampacity
        agree(bundled, ten, rel=3e-3, why="three digits", what=f"{awg} AWG in a bundle of ten")


@published("HANDBOOK-ETF", "700 circular mils per ampere", kind="hand")
def test_circular_mils_per_ampere():
    for awg, amps in BY_GAUGE["cmil_700"].items():
        mils = awg_area(awg) / 5.067074791e-4
        agree(amps, mils / 700, rel=0.035, why="two digits in print, as little as 0.142", what=f"{awg} AWG")


@pytest.mark.parametrize(
    ("count", "factor"),
    [
        (1, 1.0),
        (2, 0.9643),
        (3, 0.9286),
        (4, 0.8929),
        (5, 0.8571),
        (6, 0.8214),
        (7, 0.7857),
        (8, 0.75),
        (9, 0.7143),
        (10, 0.6786),
        (11, 0.6429),
        (12, 0.6071),
        (13, 0.5714),
        (14, 0.5357),
        (15, 0.5),
        (16, 0.5),
        (20, 0.5),
    ],
)
@published("MIL-STD-975M", "A 3.16: (29 − N)/28, 0.5 above 15", of="lampwright.tables.wires.bundle_factor")
def test_bundle_rule(count, factor):
    agree(bundle_factor("mil_975m", count), factor, abs=5.1e-5, why="four decimals in print")


@pytest.mark.parametrize(
    ("count", "factor"),
    [
        (1, 1.0),
        (2, 0.825),
        (3, 0.725),
        (4, 0.66),
        (5, 0.61),
        (6, 0.5725),
        (7, 0.54),
        (8, 0.5125),
        (9, 0.485),
        (10, 0.465),
        (12, 0.43),
        (15, 0.385),
    ],
)
@published("MIL-W-5088L", "bundle derating curve, all loaded", of="lampwright.tables.wires.bundle_factor")
def test_bundle_curve(count, factor):
    agree(bundle_factor("mil_5088l", count), factor, rel=1e-9, why="read from the digitised curve")


@published("MIL-W-5088L", "bundle derating curve", kind="hand")
def test_between_points_the_lower_counts():
    assert bundle_factor("mil_5088l", 11) == 0.43
    assert bundle_factor("mil_5088l", 40) == 0.385
    assert bundle_factor("mil_975m", 500) == 0.5


@published("MIL-STD-975M", "A 3.16, 105 °C insulation", of="lampwright.physics.conductors.heat_factor")
def test_heat_factor():
    agree(heat_factor(105, 70, 200, 70), 0.5, rel=0.04, why="the rule prints 0.5, the root gives 0.519")
    agree(heat_factor(200, 70, 200, 70), 1.0, rel=1e-12, why="where it is rated")


@published(
    "MIL-STD-975M",
    "A 3.16: √(40 K / 130 K), worked out",
    of="lampwright.physics.conductors.heat_factor",
    kind="hand",
)
def test_heat_factor_where_nothing_is_printed():
    agree(heat_factor(80, 40, 200, 70), 0.5547, abs=5e-5, why="four digits")


# °C, soft, printed factor at 70 °C
INSULATION = {
    "pvc_60": (60, False, None),
    "pvc_80": (80, False, None),
    "pvc_105": (105, False, 0.5),
    "xlpvc_90": (90, False, None),
    "tpe_80": (80, True, None),
    "fep_150": (150, False, None),
    "silicone_180": (180, True, None),
    "ptfe_200": (200, False, 1.0),
}


@published("UL-758", "styles 10127, 10236, 1638, 10390, 1331", of="lampwright.tables.wires.insulations")
def test_insulation():
    found = {key: (row.temperature, row.soft, row.printed_factor) for key, row in insulations().items()}
    assert found == INSULATION


@published("VDE-0298-4", "table T12-1", kind="hand")
def test_rules_grow_with_size():
    for rule in ampacity_rules():
        amps = [each for _, each in rated_currents(rule)]
        assert amps == sorted(amps), rule
    assert all(awg_area(awg) > 0 for awg in wire_sizes())
