"""Fuses, resettable devices and what they are judged by, against data sheets and standards' summaries."""

from itertools import pairwise

import pytest

from lampwright.physics.protection import (
    fuse_derating,
    hold_derating,
    longest_opening_time,
    short_circuit_current,
    smallest_rating,
)
from lampwright.planner.models.wiring import FuseAsk
from lampwright.planner.protection import fuse
from lampwright.tables.fuses import (
    cold_resistance,
    fuse_rows,
    fuses_of,
    opening_times,
    resettables,
    styles,
    switch_rows,
)
from tests.marks import agree, published

READ = (0.4, 0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10)
# A: breaking capacity, 35 A or ten times the rating
BREAKING = {0.4: 35, 1: 35, 3.15: 35, 4: 40, 5: 50, 6.3: 63, 8: 80, 10: 100}
COLD = {0.4: 0.277, 0.5: 0.2065, 1: 0.0964, 2: 0.0416, 5: 0.0137, 10: 0.0063}


@published("LITTELFUSE-617", "ratings, breaking capacity", of="lampwright.tables.fuses.fuses_of")
def test_glass_ratings():
    rows = {row.rated_current: row for row in fuses_of("glass_5x20")}
    assert tuple(rating for rating in rows if rating >= 0.4) == READ
    for rating in READ:
        assert rows[rating].breaking_capacity == max(35, 10 * rating)
        assert rows[rating].rated_voltage == 250
        assert (rows[rating].status, rows[rating].source) == ("printed", "LITTELFUSE-617")
    for rating, amps in BREAKING.items():
        assert rows[rating].breaking_capacity == amps


@published("LITTELFUSE-617", "cold resistance", of="lampwright.tables.fuses.cold_resistance")
def test_cold_resistance():
    for row in fuses_of("glass_5x20"):
        assert row.cold_resistance == COLD.get(row.rated_current)
        if row.rated_current in COLD:
            assert cold_resistance(row) == COLD[row.rated_current]
            law = 0.0964 * row.rated_current**-1.15
            agree(law, COLD[row.rated_current], rel=0.1, why="a power law through the listed ones")


@published("MEMORY", "small steps of IEC 60127, R10 series", kind="memory")
def test_small_glass_ratings():
    small = (0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315)
    rows = [row for row in fuses_of("glass_5x20") if row.rated_current < 0.4]
    assert tuple(row.rated_current for row in rows) == small
    # Each step of the series is about a quarter more than the last.
    for first, second in pairwise(small):
        assert 1.2 < second / first < 1.35
    assert all((row.breaking_capacity, row.rated_voltage) == (35, 250) for row in rows)


@published("MEMORY", "high-breaking ceramic, IEC 60127-2 sheets 1 and 5", kind="memory")
def test_ceramic_ratings():
    rows = fuses_of("ceramic_5x20")
    steps = (0.1, 0.125, 0.16, 0.2, 0.25, 0.315, *READ)
    assert tuple(row.rated_current for row in rows) == steps
    assert {(row.breaking_capacity, row.rated_voltage) for row in rows} == {(1500, 250)}


@published("ISO-8820-3", "type C and F, colours; abstract", of="lampwright.tables.fuses.fuses_of")
def test_blades():
    colours = {
        1: "black", 2: "grey", 3: "violet", 4: "pink", 5: "tan", 7.5: "brown", 10: "red", 15: "blue",
        20: "yellow", 25: "natural", 30: "green",
    }  # fmt: skip
    rows = fuses_of("blade")
    assert {row.rated_current: row.colour for row in rows} == colours
    assert {(row.rated_voltage, row.breaking_capacity) for row in rows} == {(32, 1000)}
    assert len(fuse_rows()) == 26 + 21 + 11


@published("LITTELFUSE-617", "opening times", of="lampwright.physics.protection.longest_opening_time")
@published("LITTELFUSE-617", "opening times", of="lampwright.tables.fuses.opening_times")
def test_opening_times_of_glass():
    points = opening_times("glass_5x20")
    for multiple, longest in ((2.1, 1800), (2.75, 2), (4.0, 0.3), (10.0, 0.02)):
        agree(longest_opening_time(multiple, points), longest, rel=1e-12, why="the printed limit")
    # Below 210 % nothing is promised: 150 % has to hold for an hour.
    assert longest_opening_time(1.5, points) == float("inf")
    assert longest_opening_time(3.9, points) == 2


@published(
    "MEMORY",
    "ISO 8820-3 time-current table; IEC 60127-2 sheet 1",
    of="lampwright.tables.fuses.styles",
    kind="memory",
)
def test_other_opening_times():
    assert opening_times("blade") == ((1.35, 600), (1.6, 50), (2.0, 5), (3.5, 0.5), (6.0, 0.1))
    assert opening_times("ceramic_5x20") == opening_times("glass_5x20")
    found = {row.style: (row.peak_multiple, row.sure_multiple) for row in styles().values()}
    assert found == {"glass_5x20": (4, 2.1), "ceramic_5x20": (4, 2.1), "blade": (6, 2), "resettable": (5, 5)}


@published("UMT-250-ARTICLE", "example: 1 A at 60 °C", of="lampwright.physics.protection.smallest_rating")
def test_rerating_example():
    agree(smallest_rating(1.0, fuse_derating(60.0), 1.0), 1.205, abs=5e-4, why="three decimals in print")
    chosen = min(row.rated_current for row in fuses_of("glass_5x20") if row.rated_current >= 1.205)
    assert chosen == 1.25


@published("UMT-250-ARTICLE", "factor at 60 °C", of="lampwright.physics.protection.fuse_derating")
def test_rating_left_where_it_is_warm():
    agree(fuse_derating(60.0), 0.83, rel=1e-9, why="17 % less at 60 °C", what="at 60 °C")


@published("TAI-TCP", "page 10: factor at 40 °C", of="lampwright.physics.protection.fuse_derating")
def test_another_makers_line():
    agree(fuse_derating(40.0), 0.95, rel=0.03, why="another maker's straight line", what="at 40 °C")


@published("TAI-TCP", "page 10: 1.5 A at 40 °C", of="lampwright.physics.protection.smallest_rating")
def test_sizing_example():
    agree(smallest_rating(1.5, 0.95, 0.70), 2.255, abs=1e-3, why="the source rounds down")


@published("MIL-STD-975M", "A 3.9: 4 A at 80 °C", of="lampwright.physics.protection.smallest_rating")
def test_strict_example():
    # The strict rule: half the rating for 2 A to 15 A, less 0.5 % of it a kelvin above 25 °C.
    fraction = 0.50 - 0.005 * (80 - 25)
    agree(smallest_rating(0.90, 1.0, fraction), 4.0, rel=1e-9, why="0.9 A allowed on 4 A")


@published("FUSEOLOGY", "75 % at 25 °C", of="lampwright.physics.protection.smallest_rating")
def test_three_quarters():
    agree(smallest_rating(0.75, fuse_derating(25.0)), 1.0, rel=1e-12, why="75 % of 1 A")
    assert fuse_derating(-20.0) == 1.0


# hold A, trip A, longest s, at A, Ω fresh low and high, Ω tripped, V, A
PTC = {
    "mf_r005": (0.05, 0.1, 5, 0.5, 7.3, 11.1, 22, 60, 40),
    "mf_r010": (0.1, 0.2, 4, 0.5, 2.5, 4.5, 7.5, 60, 40),
    "mf_r017": (0.17, 0.34, 3, 0.85, 2, 3.2, 8, 60, 40),
    "mf_r020": (0.2, 0.4, 2.2, 1, 1.5, 2.84, 4.4, 60, 40),
    "mf_r025": (0.25, 0.5, 2.5, 1.25, 1, 1.95, 3, 60, 40),
    "mf_r030": (0.3, 0.6, 3, 1.5, 0.76, 1.36, 2.1, 60, 40),
    "mf_r040": (0.4, 0.8, 3.8, 2, 0.52, 0.86, 1.29, 60, 40),
    "mf_r050": (0.5, 1, 4, 2.5, 0.41, 0.77, 1.17, 60, 40),
    "mf_r065": (0.65, 1.3, 5.3, 3.25, 0.27, 0.48, 0.72, 60, 40),
    "mf_r075": (0.75, 1.5, 6.3, 3.75, 0.18, 0.4, 0.6, 60, 40),
    "mf_r090": (0.9, 1.8, 7.2, 4.5, 0.14, 0.31, 0.47, 60, 40),
    "mf_r250": (2.5, 5, 10.3, 12.5, None, None, None, 30, None),
}


@pytest.mark.parametrize("device", PTC)
@published("BOURNS-MF-R", "electrical characteristics", of="lampwright.tables.fuses.resettables")
def test_resettable_devices(device):
    row = next(row for row in resettables() if row.device == device)
    assert (
        row.hold_current,
        row.trip_current,
        row.time_to_trip,
        row.test_current,
        row.resistance_low,
        row.resistance_high,
        row.resistance_tripped,
        row.rated_voltage,
        row.breaking_capacity,
    ) == PTC[device]
    # The family rule: trips at twice its hold current, timed at five times (the smallest at ten).
    assert row.trip_current == 2 * row.hold_current
    agree(row.test_current / row.hold_current, 10 if device == "mf_r005" else 5, rel=1e-9, why="as stated")


@published("BOURNS-MF-R", "MF-R050 at 0.60 A", of="lampwright.planner.protection.fuse", kind="hand")
def test_never_between_hold_and_trip():
    assert len(resettables()) == len(PTC)
    found = fuse(FuseAsk(current=0.60, style="resettable", rated_current=0.5))
    assert "fuse_too_small" in [each.code for each in found.findings]


@pytest.mark.parametrize(("degrees", "held"), [(23.0, 5.0), (40.0, 4.15), (50.0, 3.85), (60.0, 3.40)])
@published(
    "BOURNS-MF-R",
    "thermal derating chart, MF-R500, as quoted in public design notes",
    of="lampwright.physics.protection.hold_derating",
)
def test_hold_of_one_device_in_the_warm(degrees, held):
    ours = 5.0 * hold_derating(degrees)
    agree(ours, held, rel=0.05, why="one line for all sizes", what=f"A held at {degrees:g} °C")
    # On the safe side by more than a rounding at no printed point.
    assert ours <= held * 1.02


@published(
    "MEMORY",
    "radial devices keep 0.6 to 0.7 at 60 °C",
    of="lampwright.physics.protection.hold_derating",
    kind="memory",
)
def test_hold_in_the_warm():
    agree(hold_derating(60.0), 0.65, abs=0.05, why="0.6 to 0.7")
    assert hold_derating(23.0) == hold_derating(0.0) == 1.0
    assert hold_derating(150.0) == 0.0


@published("LIEC", "vol. I, 230 V into 11.301 Ω", of="lampwright.physics.protection.short_circuit_current")
def test_short_circuit():
    agree(short_circuit_current(230.0, 0.0, 11.301), 20.352, rel=5e-5, why="five digits in print")
    agree(short_circuit_current(230.0, 5.651, 5.650), 20.352, rel=5e-5, why="in series they add")
    assert short_circuit_current(230.0, 0.0, 11.301, 2.0) == 2.0


@published(
    "PRACTICE", "usual DC ratings of switches", of="lampwright.tables.fuses.switch_rows", kind="practice"
)
def test_switches():
    found = [(row.switch, row.rated_current, row.rated_voltage) for row in switch_rows()]
    assert found == [
        ("slide", 0.3, 50),
        ("slide_1", 1, 50),
        ("toggle_3", 3, 32),
        ("rocker_6", 6, 32),
        ("rocker_10", 10, 32),
        ("vehicle_20", 20, 24),
        ("toggle_60", 6, 60),
    ]
