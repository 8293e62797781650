"""How grave each finding is and in which order cautions stand: our own judgement, written down twice.

Regression checks, said plainly: no outside figure says that a reversed light is a stop. A new code is added
here together with its row.
"""

from __future__ import annotations

from lampwright.tables.cautions import caution_rows
from lampwright.tables.findings import finding_rows

STOP = [
    "no_fuse_between",
    "fuse_style_unfit",
    "prewired_unlit",
    "no_headroom",
    "above_max_current",
    "led_straight_on_supply",
    "wanted_above_max",
    "resistor_overloaded",
    "no_resistor_that_cool",
    "light_reversed",
    "reverse_voltage_exceeded",
    "supply_overloaded",
    "coin_over_limit",
    "converter_cannot_start",
    "load_too_heavy",
    "cutoff_above_start",
    "row_never_lights",
    "dim_at_the_start",
    "lithium_ion_too_low",
    "air_travel_refused",
    "wire_none_thick_enough",
    "wire_none_cool_enough",
    "wire_on_hand_too_thin",
    "wire_too_hot",
    "wire_drop_hopeless",
    "shared_resistor_burns",
    "shared_resistor_one_colour",
    "fuse_missing",
    "no_fuse_fits",
    "fuse_too_big",
    "fuse_too_small",
    "fuse_cannot_break",
    "fuse_will_not_open",
    "audit_failed",
    "no_battery_fits",
    "supply_cannot_give",
    "supply_too_weak",
    "prewired_too_much",
]
CAUTION = [
    "log_reading_left_out",
    "above_rated_current",
    "wanted_above_rated",
    "resistor_hot",
    "looks_off",
    "goes_out_early",
    "over_supply_limit",
    "prewired_above_printed",
    "prewired_in_row",
    "supply_nearly_full",
    "block_over_limit",
    "battery_over_limit",
    "carbon_zinc_for_lamps",
    "bank_falls_asleep",
    "converter_collapses",
    "deep_discharge",
    "old_battery",
    "nimh_for_alkaline",
    "cold_shortens",
    "outside_battery_range",
    "unusual_capacity",
    "air_travel_ask",
    "fault_may_burn",
    "wire_drop_high",
    "wire_too_thin_to_flex",
    "solid_core_flexing",
    "shared_resistor_uneven",
    "shared_resistor_hot",
    "wire_takes_light",
    "saved_by_wire_only",
    "fuse_advised",
    "fuse_little_reserve",
    "fuse_slow_to_open",
    "little_headroom",
    "no_inside_fits",
    "readings_disagree",
    "hardly_a_resistor_inside",
    "prewired_dark",
]
NOTE = [
    "log_cells_used",
    "dimmer_than_wanted",
    "fades_with_supply",
    "prewired_has_its_own",
    "drawer_none_fits",
    "dimmed_by_spread",
    "bank_may_sleep",
    "lithium_ion_unprotected",
    "swap_whole_sets",
    "nimh_volts",
    "short_of_event",
    "air_travel_cabin",
    "soft_wire_advised",
    "higher_voltage_saves",
    "fuse_not_needed",
    "fuse_left_out",
    "resettable_drops_volts",
    "needs_swaps",
    "rows_not_proved_fewest",
    "inside_uncertain",
    "match_by_eye",
    "no_match_possible",
    "prewired_dim",
    "drawer_pair_fits",
    "name_is_label",
]
# Caution, its rank.
RANKS = {
    "battery_hot_off_and_out": 10,
    "fuse_at_battery": 20,
    "coin_cell_children": 30,
    "flashing_seizure": 40,
    "damp_voltage": 50,
    "ultraviolet": 52,
    "bright_light": 54,
    "hot_light": 56,
    "hot_resistor": 58,
    "much_current": 60,
    "vehicle": 62,
    "travel": 64,
    "travel_lead": 66,
    "charging": 80,
    "charging_nimh": 82,
    "charging_lead": 84,
    "packs_side_by_side": 86,
    "banks_side_by_side": 88,
    "lithium_handling": 90,
    "sweat_and_rain": 140,
    "travel_dry": 145,
    "closed_supply_only": 150,
    "never_solder_a_cell": 160,
    "loose_block": 170,
    "mixed_cells": 180,
    "solder_fume": 190,
    "clipped_legs": 200,
    "deference": 900,
}


def test_each_finding_is_as_grave_as_it_was():
    rows = finding_rows()
    for severity, codes in (("stop", STOP), ("caution", CAUTION), ("note", NOTE)):
        for code in codes:
            assert rows[code].severity == severity, code
    assert {*STOP, *CAUTION, *NOTE} == set(rows)


def test_each_caution_keeps_its_rank():
    rows = caution_rows()
    found = {row.code: row.rank for row in (rows.values() if isinstance(rows, dict) else rows)}
    assert RANKS.items() <= found.items()
