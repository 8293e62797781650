"""Ratings, derating and heat of resistors against data sheets and derating rules."""

import pytest

from lampwright.physics.heating import derating, temperature_rise, thermal_resistance, touch_temperature
from lampwright.planner.strings import RATING_USED, rating_for
from lampwright.tables.resistors import resistor_sizes, usual_ratings
from tests.marks import agree, published

# id: (rated W, zero-power °C, max V, length mm, diameter mm, K/W)
CARBON = {
    "carbon_sixth_watt": (1 / 6, 150, 3.4, 1.9),
    "carbon_quarter_watt_small": (0.25, 200, 3.4, 1.9),
    "carbon_quarter_watt": (0.25, 250, 6.3, 2.4),
    "carbon_half_watt_small": (0.5, 300, 6.3, 2.4),
    "carbon_half_watt": (0.5, 350, 9.0, 3.3),
    "carbon_one_watt_small": (1.0, 400, 9.0, 3.3),
    "carbon_one_watt": (1.0, 500, 11.5, 4.5),
    "carbon_two_watt_small": (2.0, 500, 11.5, 4.5),
    "carbon_two_watt": (2.0, 500, 15.5, 5.0),
    "carbon_three_watt": (3.0, 500, 15.5, 5.0),
}
SIZES = {size.id: size for size in resistor_sizes()}


@pytest.mark.parametrize("size", CARBON)
@published("YAGEO-CFR", "ratings and dimensions", of="lampwright.tables.resistors.resistor_sizes")
def test_carbon_film_sizes(size):
    rated, voltage, length, diameter = CARBON[size]
    row = SIZES[size]
    agree(row.rated_dissipation, rated, rel=1e-6, why="1/6 W is kept to seven digits", what=size)
    assert (row.max_voltage, row.body_length, row.body_diameter) == (voltage, length, diameter)
    assert (row.full_power_temperature, row.zero_power_temperature) == (70, 155)
    assert row.film == "carbon"
    assert row.usual == (not size.endswith("small") and rated >= 0.25)


@pytest.mark.parametrize(
    ("size", "rated", "voltage", "kelvin"),
    [("metal_0w4", 0.4, 200, 170), ("metal_0w6", 0.6, 350, 150)],
)
@published("VISHAY-28724", "technical specifications", of="lampwright.tables.resistors.resistor_sizes")
def test_metal_film_sizes(size, rated, voltage, kelvin):
    row = SIZES[size]
    assert (row.rated_dissipation, row.max_voltage, row.thermal_resistance) == (rated, voltage, kelvin)
    assert (row.full_power_temperature, row.zero_power_temperature) == (70, 155)
    assert (row.film, row.usual) == ("metal", False)


@published("VISHAY-28724", "outline", of="lampwright.tables.resistors.resistor_sizes")
def test_metal_film_bodies():
    assert (SIZES["metal_0w4"].body_length, SIZES["metal_0w4"].body_diameter) == (3.6, 1.6)
    assert (SIZES["metal_0w6"].body_length, SIZES["metal_0w6"].body_diameter) == (6.5, 2.5)


@pytest.mark.parametrize(
    ("size", "rated", "voltage", "kelvin"),
    [
        ("glaze_quarter_watt", 0.25, 1600, 140),
        ("glaze_half_watt", 0.5, 3500, 120),
        ("glaze_one_watt", 1.0, 10000, 70),
    ],
)
@published("VISHAY-28907", "technical specifications", of="lampwright.tables.resistors.resistor_sizes")
def test_glaze_sizes(size, rated, voltage, kelvin):
    row = SIZES[size]
    assert (row.rated_dissipation, row.max_voltage, row.thermal_resistance) == (rated, voltage, kelvin)
    assert (row.full_power_temperature, row.zero_power_temperature, row.film) == (70, 155, "glaze")
    assert not row.usual


@pytest.mark.parametrize(
    ("size", "long_term", "standard", "voltage"),
    [
        ("long_life_quarter_watt", 0.25, 0.4, 200),
        ("long_life_0w4", 0.4, 0.6, 350),
        ("long_life_0w65", 0.65, 1.0, 500),
    ],
)
@published("VISHAY-MBX", "long-term beside standard operation", of="lampwright.planner.strings.RATING_USED")
def test_the_maker_itself_holds_long_lived_parts_to_some_sixty_per_cent(size, long_term, standard, voltage):
    row = SIZES[size]
    assert (row.rated_dissipation, row.max_voltage, row.zero_power_temperature) == (long_term, voltage, 125)
    assert (row.full_power_temperature, row.film, row.usual) == (70, "metal", False)
    agree(RATING_USED, long_term / standard, abs=0.07, why="the maker's own ratio is 0.62 to 0.67")


@published("MEMORY", "1/8 W axial", of="lampwright.tables.resistors.resistor_sizes", kind="memory")
def test_the_smallest_size_is_known_from_memory():
    row = SIZES["carbon_eighth_watt"]
    assert (row.rated_dissipation, row.status, row.usual) == (0.125, "from memory", False)
    assert (row.full_power_temperature, row.zero_power_temperature, row.film) == (70, 155, "carbon")
    assert len(SIZES) == len(CARBON) + 9


@pytest.mark.parametrize(
    ("ambient", "left"),
    [(25, 1.0), (40, 1.0), (55, 1.0), (70, 1.0), (85, 0.824), (100, 0.647), (125, 0.353), (155, 0.0)],
)
@published("YAGEO-CFR", "derating curve", of="lampwright.physics.heating.derating")
def test_the_derating_line(ambient, left):
    agree(derating(ambient), left, abs=5e-4, why="the reference is rounded to three digits")


@published("MIL-STD-975M", "Appendix A 3.11, RNC metal film", of="lampwright.physics.heating.derating")
def test_another_rules_line_ends_where_it_says():
    assert derating(125.0, 125.0, 155.0) == 1.0
    assert derating(155.0, 125.0, 155.0) == 0.0
    agree(derating(140.0, 125.0, 155.0), 0.5, rel=1e-12, why="the middle of a straight line")


@published("MIL-STD-975M", "Appendix A 3.11: 0.60 of the rating", of="lampwright.planner.strings.rating_for")
def test_sixty_per_cent_of_the_rating_is_used():
    assert RATING_USED == 0.6
    assert rating_for(0.15, 25.0) == 0.25
    assert rating_for(0.1501, 25.0) == 0.5
    assert rating_for(1.8, 25.0) == 3.0
    assert rating_for(1.81, 25.0) is None
    # At 100 °C 0.647 of the rating is left.
    assert rating_for(0.15, 100.0) == 0.5


@published(
    "NEETS-1", "chapter 3: half of the rating in practice", of="lampwright.tables.resistors.usual_ratings"
)
def test_a_quarter_watt_part_used_to_half_stays_below_seventy_degrees():
    assert usual_ratings() == (0.25, 0.5, 1.0, 2.0, 3.0)
    half = touch_temperature(25.0, 0.125, thermal_resistance(0.25))
    assert half == pytest.approx(25 + 0.125 * 340)


@published(
    "VISHAY-28724",
    "thermal resistance of MRS25, 0.25 W and 0.6 W worked out",
    of="lampwright.physics.heating.temperature_rise",
    kind="hand",
)
def test_rise_of_a_quarter_watt_in_the_larger_metal_film():
    agree(temperature_rise(0.25, 150.0), 37.5, rel=1e-12, why="exact product")
    agree(temperature_rise(0.6, 150.0), 90.0, rel=1e-12, why="exact product")


@published(
    "VISHAY-28724",
    "MRS25: 0.6 W at 70 °C, 150 K/W; nothing left at 155 °C",
    of="lampwright.physics.heating.touch_temperature",
)
def test_a_part_at_its_rating_is_as_hot_as_it_may_be():
    agree(touch_temperature(70.0, 0.6, 150.0), 155.0, rel=0.04, why="K/W in print to two digits")


@published(
    "VISHAY-28724",
    "MRS25: 0.6 W at 70 °C, 150 K/W; nothing left at 155 °C",
    of="lampwright.physics.heating.temperature_rise",
)
def test_its_rise_is_what_lies_between():
    agree(temperature_rise(0.6, 150.0), 155.0 - 70.0, rel=0.06, why="K/W in print to two digits")


@pytest.mark.parametrize(("rated", "printed"), [(0.4, 170.0), (0.6, 150.0)])
@published("VISHAY-28724", "thermal resistance", of="lampwright.physics.heating.thermal_resistance")
def test_the_derating_line_implies_the_printed_thermal_resistance(rated, printed):
    agree(thermal_resistance(rated), printed, rel=0.26, why="the line leaves the maker a margin of a quarter")


@published(
    "IEC-62368-1",
    "table 38 as quoted, 48 °C for what is held long: 25 °C + 67.6 mW · 340 K/W",
    of="lampwright.physics.heating.touch_temperature",
    kind="hand",
)
def test_what_stays_touchable():
    agree(touch_temperature(25.0, 0.0676, 340.0), 48.0, abs=0.1, why="hand arithmetic: 22.98 K above 25 °C")
