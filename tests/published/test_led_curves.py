"""Every printed LED figure we read: the curve meets it, and the catalogue repeats it.

``PRINTED`` are the figures as the makers' data sheets have them, in V, A and mV/K; None where none is
printed. Two kinds of row have no point: ratings alone, and ranges over many makers.
"""

from dataclasses import dataclass

import pytest

from lampwright.physics.diodes import forward_voltage, string_current
from lampwright.planner.catalogue import family_of, led_from_figures, led_from_part, led_model
from lampwright.tables.leds import led_colours, led_families, led_types
from lampwright.tables.resistors import ladder
from tests.marks import agree, published


@dataclass(frozen=True)
class Printed:
    key: str
    place: str
    colour: str
    lowest: float | None
    usual: float | None
    highest: float | None
    current: float | None
    limit: float | None
    reverse: float | None
    coefficient: float | None
    ids: tuple[str, ...] = ()
    status: str = "printed"


PRINTED = (
    Printed("VISHAY-83012", "TLHR5400", "red", None, 2.0, 3.0, 0.02, None, None, None, ("red_standard_5mm",)),
    Printed(
        "VISHAY-83006",
        "TLHG4400 / TLHP4401",
        "yellow_green",
        None,
        2.4,
        3.0,
        0.02,
        None,
        None,
        None,
        ("yellow_green_3mm",),
    ),
    Printed(
        "VISHAY-TLH64",
        "TLHY6400 series",
        "yellow",
        None,
        2.4,
        3.0,
        0.02,
        None,
        None,
        None,
        ("yellow_standard_5mm",),
    ),
    Printed(
        "VISHAY-83030", "TLLR5400", "red", None, 1.9, 2.4, 0.002, 0.007, 6.0, None, ("red_low_current_5mm",)
    ),
    Printed(
        "VISHAY-83030",
        "TLLY5400",
        "yellow",
        None,
        2.4,
        2.9,
        0.002,
        0.007,
        6.0,
        None,
        ("yellow_low_current_5mm",),
    ),
    Printed(
        "VISHAY-83030",
        "TLLG5400",
        "yellow_green",
        None,
        1.9,
        2.4,
        0.002,
        0.007,
        6.0,
        None,
        ("green_low_current_5mm",),
    ),
    Printed(
        "KINGBRIGHT-DSAN8288",
        "WP7113LSYCK/J3",
        "yellow",
        1.5,
        1.85,
        2.1,
        0.002,
        0.03,
        5.0,
        -2.0,
        ("yellow_bright_5mm",),
    ),
    Printed(
        "KINGBRIGHT-DSAL0538",
        "WP710A10SEC/E",
        "red",
        None,
        2.0,
        2.5,
        0.02,
        0.03,
        5.0,
        -1.9,
        (
            "red_5mm",
            "red_3mm",
        ),
    ),
    Printed(
        "CREE-CT011", "LC503UHR1-30Q-A", "red", None, 2.1, 2.6, 0.02, 0.05, 5.0, None, ("red_bright_5mm",)
    ),
    Printed(
        "CREE-CT063",
        "LC503TBL1-30Q-A1",
        "blue",
        None,
        3.4,
        4.0,
        0.02,
        0.025,
        5.0,
        None,
        (
            "blue_5mm",
            "blue_3mm",
        ),
    ),
    Printed(
        "CREE-CT208",
        "LC513FWH1-60Q-A0",
        "white",
        None,
        3.2,
        4.0,
        0.02,
        0.025,
        5.0,
        None,
        (
            "white_5mm",
            "white_3mm",
        ),
    ),
    Printed(
        "RND-135-00123",
        "RND 135-00123",
        "warm_white",
        2.6,
        3.0,
        3.4,
        0.02,
        0.025,
        5.0,
        None,
        (
            "warm_white_5mm",
            "warm_white_3mm",
        ),
    ),
    Printed(
        "BROADCOM-QTB4",
        "ASMT-QTB4-0AA02 (RGB)",
        "red",
        1.8,
        2.1,
        2.4,
        0.02,
        0.05,
        4.0,
        None,
        ("rgb_red_smd",),
    ),
    Printed(
        "BROADCOM-QTB4",
        "ASMT-QTB4-0AA02 (RGB)",
        "green",
        2.8,
        3.2,
        3.8,
        0.02,
        0.03,
        4.0,
        None,
        (
            "rgb_green_smd",
            "green_5mm",
            "green_3mm",
        ),
    ),
    Printed(
        "BROADCOM-QTB4",
        "ASMT-QTB4-0AA02 (RGB)",
        "blue",
        2.8,
        3.2,
        3.8,
        0.02,
        0.03,
        4.0,
        None,
        ("rgb_blue_smd",),
    ),
    Printed("LUMILEDS-DS144", "L1C1-RED1", "red", 1.75, 2.0, 2.5, 0.35, 1.05, 0.0, -1.6, ("red_1w",)),
    Printed(
        "LUMILEDS-DS144", "L1C1-RNG1", "orange", 1.75, 2.05, 2.5, 0.35, 1.05, 0.0, -1.6, ("red_orange_1w",)
    ),
    Printed("LUMILEDS-DS144", "L1C1-PCA1", "amber", 2.5, 2.75, 3.5, 0.35, 1.05, 0.0, -1.7, ("amber_1w",)),
    Printed("LUMILEDS-DS144", "L1C1-GRN1", "green", 2.5, 2.55, 3.5, 0.35, 1.05, 0.0, -2.4, ("green_1w",)),
    Printed("LUMILEDS-DS144", "L1C1-CYN1", "cyan", 2.5, 2.6, 3.5, 0.35, 1.05, 0.0, -2.4, ("cyan_1w",)),
    Printed("LUMILEDS-DS144", "L1C1-BLU1", "blue", 2.5, 2.9, 3.5, 0.35, 1.05, 0.0, -2.6, ("blue_1w",)),
    Printed(
        "LUMILEDS-DS144", "L1C1-RYL1", "royal_blue", 2.5, 2.75, 3.5, 0.35, 1.05, 0.0, -1.7, ("royal_blue_1w",)
    ),
    Printed("LUMILEDS-DS144", "L1C1-xxx0", "white", 2.5, 2.75, 3.5, 0.35, 1.225, 0.0, -1.7, ("white_1w",)),
    Printed(
        "LUMILEDS-DS107",
        "LUXEON Rebel PLUS",
        "white",
        2.5,
        None,
        3.0,
        0.35,
        1.0,
        0.0,
        None,
        ("white_low_voltage_1w",),
    ),
    Printed("VISHAY-81053", "TSUS4300", "infrared", None, 1.3, 1.7, 0.1, 0.1, 5.0, -1.3, ("ir_950_3mm",)),
    Printed(
        "VISHAY-84272", "VSMY1850ITX01", "infrared", None, 1.65, 1.9, 0.1, 0.1, 5.0, -1.18, ("ir_850_smd",)
    ),
    Printed("VISHAY-81006", "TSAL4400", "infrared", None, None, None, None, 0.1, 5.0, None, ("ir_940_3mm",)),
    Printed("AVAGO-HSMX-C1", "HSMS-C1x0", "red", None, 2.1, 2.6, 0.02, 0.02, 5.0, None, ("red_smd",)),
    Printed(
        "AVAGO-HSMX-C1",
        "HSMD-C1x0",
        "orange",
        None,
        2.2,
        2.6,
        0.02,
        0.02,
        5.0,
        None,
        (
            "orange_smd",
            "orange_5mm",
            "orange_3mm",
        ),
    ),
    Printed(
        "AVAGO-HSMX-C1",
        "HSMY-C1x0",
        "yellow",
        None,
        2.1,
        2.6,
        0.02,
        0.02,
        5.0,
        None,
        (
            "yellow_smd",
            "yellow_5mm",
            "yellow_3mm",
        ),
    ),
    Printed(
        "AVAGO-HSMX-C1",
        "HSMG-C1x0",
        "yellow_green",
        None,
        2.2,
        2.6,
        0.02,
        0.02,
        5.0,
        None,
        (
            "yellow_green_smd",
            "yellow_green_5mm",
        ),
    ),
    Printed(
        "AVAGO-HSMX-C1", "HSMH-C1x0", "deep_red", None, 1.8, 2.6, 0.02, 0.025, 5.0, None, ("deep_red_smd",)
    ),
    Printed(
        "AVAGO-HLMA-SX05",
        "HLMA-SH05 / SL05",
        "amber",
        None,
        None,
        None,
        None,
        0.05,
        5.0,
        None,
        ("amber_5mm",),
    ),
    Printed("HP-HDSP-48XX", "HDSP-48xx", "red", None, None, None, None, None, 3.0, None),
    Printed(
        "MEMORY",
        "ultraviolet 395-405 nm",
        "ultraviolet",
        3.0,
        3.4,
        4.0,
        0.02,
        0.02,
        5.0,
        None,
        ("uv_400_5mm",),
        status="from memory",
    ),
    Printed(
        "MEMORY",
        "ultraviolet 365 nm",
        "ultraviolet",
        3.4,
        3.8,
        4.4,
        0.02,
        0.02,
        5.0,
        None,
        ("uv_365_5mm",),
        status="from memory",
    ),
    Printed("LIEC", "wavelength 940", "infrared", 1.2, None, 1.7, None, None, None, None),
    Printed("LIEC", "wavelength 660", "red", 1.5, None, 2.4, None, None, None, None),
    Printed("LIEC", "wavelength 602-620", "orange", 2.1, None, 2.2, None, None, None, None),
    Printed("LIEC", "wavelength 560-595", "yellow", 1.7, None, 2.8, None, None, None, None),
    Printed("LIEC", "wavelength not stated", "violet", 3.0, None, 4.0, None, None, None, None),
    Printed("LIEC", "wavelength 370", "ultraviolet", 4.2, None, 4.8, None, None, None, None),
)


POINTS = [row for row in PRINTED if row.usual is not None]
RATINGS = [row for row in PRINTED if row.usual is None and row.current is None and row.lowest is None]
RANGES = [row for row in PRINTED if row.key == "LIEC"]


def marked(rows, of="lampwright.physics.diodes.diode_from_point"):
    """Return the rows as parameters, each with its own source."""
    found = []
    for row in rows:
        kind = "memory" if row.key == "MEMORY" else "published"
        mark = published(
            row.key,
            f"{row.place}, characteristics",
            of=of,
            kind=kind,
        )
        found.append(pytest.param(row, marks=mark, id=f"{row.colour}-{row.place}"))
    return found


@published("LIEC", "vol. III, table of LED voltages", kind="hand")
def test_all_rows_are_used():
    """32 points, 3 ratings, 6 ranges, and one with bounds but no middle."""
    assert (len(POINTS), len(RATINGS), len(RANGES), len(PRINTED)) == (32, 3, 6, 42)


@pytest.mark.parametrize("row", marked(POINTS))
def test_the_curve_meets_the_stated_point(row):
    led = led_from_figures(
        forward_voltage=row.usual,
        forward_voltage_min=row.lowest,
        forward_voltage_max=row.highest,
        rated_current=row.current,
        colour=row.colour,
    )
    for corner, volts in (("high", row.lowest), ("expected", row.usual), ("low", row.highest)):
        if volts is not None:
            (diode,), hidden = led_model(led, corner, 25.0)
            assert hidden == 0.0
            agree(
                forward_voltage(diode, row.current),
                volts,
                rel=1e-12,
                why="the curve is laid through this point: rounding only",
                what=f"{row.place} {corner}",
            )


@pytest.mark.parametrize("row", marked([row for row in PRINTED if row.ids]))
def test_the_catalogue_repeats_the_print(row):
    for part in row.ids:
        led, kind = led_from_part(part), led_types()[part]
        assert led.colour == row.colour
        said = {
            "forward_voltage_min": row.lowest,
            "forward_voltage": row.usual,
            "forward_voltage_max": row.highest,
            "rated_current": row.current,
            "max_forward_current": row.limit,
            "max_reverse_voltage": row.reverse,
            "temperature_coefficient": None if row.coefficient is None else row.coefficient / 1000,
        }
        if part == "amber_5mm":
            # Printed to stand 50 mA; the forward voltage is from memory, and so we stay below.
            assert led.max_forward_current <= row.limit
            del said["max_forward_current"]
        if part in ("orange_5mm", "orange_3mm", "yellow_5mm", "yellow_3mm", "yellow_green_5mm"):
            # Larger bodies of the same sheet: C110 and C150 stand 25 mA.
            said["max_forward_current"] = 0.025
        for stem, value in said.items():
            if value is not None and part != "ir_940_3mm":
                agree(getattr(led, stem), value, abs=1e-12, why="the same figure", what=f"{part} {stem}")
            elif value is None and row.key != "VISHAY-81006" and stem in ("forward_voltage_min",):
                # Nothing printed: the family's spread, and the row says that it is assumed.
                assert stem in kind.assumed or row.usual is None
                if row.usual is not None:
                    spread = led_families()[led_colours()[row.colour].family].spread
                    assert led.forward_voltage_min == pytest.approx(row.usual - spread, rel=1e-12)
        assert led.built_in_series_count == 1
        # What no sheet prints is the usual rule, and the row says that it is assumed.
        if "max_forward_current" in kind.assumed:
            assert led.max_forward_current == pytest.approx(1.25 * led.rated_current, rel=1e-12)
        if "max_reverse_voltage" in kind.assumed:
            assert led.max_reverse_voltage == 5.0
        if row.coefficient is None and part != "ir_940_3mm":
            family = family_of(row.colour, led.forward_voltage)
            assert led.temperature_coefficient == family.temperature_coefficient
        assert led.reference_temperature == (85.0 if row.key.startswith("LUMILEDS") else 25.0)
        if row.key == "VISHAY-81006":
            agree(led.max_forward_current, row.limit, abs=1e-12, why="the rating printed")
            agree(led.max_reverse_voltage, row.reverse, abs=1e-12, why="the rating printed")


@pytest.mark.parametrize("row", marked(RATINGS))
def test_ratings_alone_are_not_passed(row):
    """These sheets print limits and no forward voltage: a light given them keeps them."""
    led = led_from_figures(
        colour=row.colour,
        rated_current=0.02,
        max_forward_current=row.limit,
        max_reverse_voltage=row.reverse,
    )
    assert led.max_reverse_voltage == row.reverse
    assert led.max_forward_current == (row.limit or 0.025)


@pytest.mark.parametrize("row", marked(RANGES, of="lampwright.tables.leds.led_colours"))
def test_ranges_over_many_makers_contain_our_usual_voltage(row):
    usual = led_colours()[row.colour].forward_voltage
    if row.colour == "ultraviolet":
        # The table's 370 nm parts of old lie above those in use now, and we say so.
        assert usual < row.lowest
        return
    assert row.lowest <= usual <= row.highest
    led = led_from_figures(forward_voltage=usual, colour=row.colour)
    (diode,), _ = led_model(led, "expected", 25.0)
    assert row.lowest <= forward_voltage(diode, 0.02) <= row.highest


@published("LUMILEDS-DS107", "characteristics at 350 mA", of="lampwright.planner.catalogue.led_model")
def test_bounds_without_a_middle_are_met_at_the_corners():
    led = led_from_part("white_low_voltage_1w")
    for corner, volts in (("high", 2.5), ("low", 3.0)):
        (diode,), _ = led_model(led, corner, 85.0)
        agree(forward_voltage(diode, 0.35), volts, rel=1e-12, why="the bounds printed")
    agree(led.forward_voltage, 2.75, abs=0.06, why="a middle of our own between the printed bounds")


@published("VISHAY-81053", "characteristics, 1.5 A pulse", of="lampwright.physics.diodes.forward_voltage")
def test_an_infrared_curve_holds_up_at_fifteen_times_its_current():
    (diode,), _ = led_model(led_from_part("ir_950_3mm"), "expected", 25.0)
    agree(forward_voltage(diode, 1.5), 2.2, rel=0.05, why="shape from the family alone, no second point used")


@published("VISHAY-84272", "characteristics, 1 A pulse", of="lampwright.physics.diodes.forward_voltage")
def test_the_other_infrared_curve_meets_its_second_point():
    (diode,), _ = led_model(led_from_part("ir_850_smd"), "expected", 25.0)
    agree(forward_voltage(diode, 1.0), 2.9, abs=0.005, why="series resistance laid through this point")


@published("CREE-CT063", "forward voltage at 1 µA", of="lampwright.physics.diodes.forward_voltage")
def test_a_blue_curve_holds_down_at_a_microampere():
    (diode,), _ = led_model(led_from_part("blue_5mm"), "expected", 25.0)
    at_one = forward_voltage(diode, 1e-6)
    agree(at_one, 2.1, abs=0.45, why="printed 1.7 to 2.5 V, one of them the least, the other usual")


@published("LUMILEDS-DS144", "temperature coefficient", of="lampwright.planner.catalogue.led_model")
def test_sixty_kelvin_colder_adds_the_printed_volts():
    for part, coefficient in (("red_1w", -0.0016), ("blue_1w", -0.0026)):
        led = led_from_part(part)
        (cold,), _ = led_model(led, "expected", 25.0)
        agree(
            forward_voltage(cold, 0.35) - led.forward_voltage,
            -60 * coefficient,
            rel=1e-9,
            why="the coefficient is applied at the rated current",
        )


@published("MEMORY", "ordinary parts", of="lampwright.tables.leds.led_types", kind="memory")
@pytest.mark.parametrize(
    ("part", "lowest", "usual", "highest", "rated", "limit", "reverse"),
    [
        ("amber_5mm", 1.9, 2.1, 2.5, 0.02, 0.03, 5.0),
        ("pink_5mm", 2.8, 3.2, 3.8, 0.02, 0.025, 5.0),
        ("violet_5mm", 3.0, 3.3, 4.0, 0.02, 0.025, 5.0),
        ("white_smd", 2.6, 3.0, 3.4, 0.02, 0.025, 5.0),
        ("warm_white_smd", 2.6, 3.0, 3.4, 0.02, 0.025, 5.0),
        ("white_half_watt_smd", 2.7, 3.1, 3.4, 0.15, 0.18, 5.0),
        ("ir_940_3mm", 1.2, 1.35, 1.6, 0.1, 0.1, 5.0),
    ],
)
def test_parts_from_memory_are_marked_so(part, lowest, usual, highest, rated, limit, reverse):
    kind, led = led_types()[part], led_from_part(part)
    assert kind.status == "from memory"
    assert (led.forward_voltage_min, led.forward_voltage, led.forward_voltage_max) == (lowest, usual, highest)
    assert (led.rated_current, led.max_forward_current, led.max_reverse_voltage) == (rated, limit, reverse)
    assert (led.reference_temperature, led.built_in_series_count) == (25.0, 1)
    family = family_of(led.colour, usual).temperature_coefficient
    agree(led.temperature_coefficient, family, abs=1e-12, why="the family's")


BASES = {
    "white": "white_5mm",
    "warm_white": "warm_white_5mm",
    "red": "red_5mm",
    "yellow": "yellow_5mm",
    "green": "green_5mm",
    "blue": "blue_5mm",
}


@published(
    "PRACTICE",
    "hidden resistor: (printed volts − LED volts) / rated current",
    of="lampwright.tables.leds.led_types",
    kind="practice",
)
def test_prewired_lights_hold_the_preferred_resistor_of_their_printed_volts():
    seen = 0
    for part, kind in led_types().items():
        if not part.startswith("prewired_"):
            continue
        seen += 1
        led, base = led_from_part(part), led_from_part(BASES[kind.colour])
        assert (led.forward_voltage, led.rated_current) == (base.forward_voltage, base.rated_current)
        assert led.forward_voltage_max == base.forward_voltage_max
        # The least of some is set by the limit that a supply of the printed volts must keep: a USB charger
        # gives up to 5.5 V, an adapter 5 % more than its label, two fresh cells 3.2 V.
        least = {
            "prewired_white_12v_three": 3.17,
            "prewired_warm_white_5v": 2.78,
            "prewired_red_3v": 1.84,
            "prewired_warm_white_3v": 2.87,
        }.get(part, base.forward_voltage_min)
        assert led.forward_voltage_min == least
        diodes, inside = led_model(led, "high", 25.0)
        assert string_current(1.07 * led.rated_voltage, diodes, inside) <= led.max_forward_current
        assert (led.max_forward_current, led.max_reverse_voltage) == (0.03, base.max_reverse_voltage)
        agree(
            led.built_in_resistance_low, 0.9 * led.built_in_resistance, abs=0.51, why="10 % less, whole ohms"
        )
        agree(
            led.built_in_resistance_high, 1.1 * led.built_in_resistance, abs=0.51, why="10 % more, whole ohms"
        )
        assert led.built_in_resistance in ladder("E24")
        printed = led.rated_voltage
        assert (led.rated_voltage_min, led.rated_voltage_max) == (
            9.0 if "9-12" in led.name else printed,
            printed,
        )
        assert f"{printed:g} V" in led.name
        assert led.built_in_series_count == (3 if "three" in part else 1)
        assert (led.reference_temperature, led.temperature_coefficient) == (
            25.0,
            base.temperature_coefficient,
        )
        if part == "prewired_warm_white_3v":
            # The LED needs the whole of it: the few ohms are from memory.
            assert led.built_in_resistance == 10.0
            continue
        exact = (printed - led.built_in_series_count * led.forward_voltage) / led.rated_current
        agree(led.built_in_resistance, exact, rel=0.12, why="the next preferred value, one step of E24")
    assert seen == 15
