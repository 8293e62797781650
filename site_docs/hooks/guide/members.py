"""Which members of an answer the guide shows, and how a member is put into words."""

from __future__ import annotations

import re
from itertools import groupby
from typing import Any

from lampwright.quantities import UNITS, show

# The members of an answer worth a line, by path: in words a maker would use.
HEADLINES: dict[str, tuple[tuple[str, str], ...]] = {
    "/v1/series-resistors": (
        ("resistance_ohm", "Resistor"),
        ("colour_bands", "Bands"),
        ("resistance_rkm", "Printed as"),
        ("rated_dissipation_w", "Watt size"),
        ("current_ma", "Current, about"),
        ("current_low_ma", "At least"),
        ("current_high_ma", "At most"),
        ("resistor_voltage_v", "Volts across the resistor"),
        ("dissipation_high_w", "Its heat, at most"),
        ("seen_brightness_pct", "Looks about this bright"),
        ("lowest_lit_voltage_v", "Half its light left at"),
    ),
    "/v1/arrangements": (("reason", "In short"),),
    "/v1/wires": (
        ("awg", "Wire, AWG"),
        ("metric_area_mm2", "Metric size"),
        ("drop_v", "Loss in the wire"),
        ("drop_pct", "Part of the supply"),
        ("ampacity_ma", "It may carry"),
        ("limited_by", "Decided by"),
    ),
    "/v1/fuses": (
        ("rated_current_ma", "Fuse"),
        ("style", "Kind"),
        ("needed", "A fuse here is"),
        ("placement", "Where"),
        ("smallest_ma", "Not below"),
        ("largest_ma", "Not above"),
        ("short_circuit_current_ma", "A short would drive"),
    ),
    "/v1/runtimes": (
        ("runtime_h", "Lasts about"),
        ("runtime_low_h", "At least"),
        ("runtime_high_h", "At most"),
        ("ended_by", "Ended by"),
        ("start_voltage_v", "Volts at the start"),
        ("start_current_ma", "Current at the start"),
        ("sets_needed", "Sets to pack"),
    ),
    "/v1/circuit-checks": (
        ("survives", "Survives"),
        ("supply_current_ma", "Current from the supply"),
        ("terminal_voltage_v", "Volts at the supply, lit"),
    ),
    "/v1/supply-choices": (),
    "/v1/light-identifications": (
        ("built_in_resistance_ohm", "Resistor inside"),
        ("built_in_resistance_low_ohm", "At least"),
        ("built_in_resistance_high_ohm", "At most"),
        ("built_in_series_count", "LEDs inside, in a row"),
        ("led_family", "Kind"),
        ("certainty_pct", "How sure"),
        ("matching_resistance_ohm", "Resistor that makes a bare one match"),
    ),
    "/v1/build-sheets": (
        ("summary", "In one line"),
        ("supply_current_ma", "Current from the supply"),
    ),
    "/v1/diagnoses": (("causes.0.what", "Likeliest"), ("causes.0.fix", "What to do")),
    "/v1/build-comparisons": (
        ("changes", "What was changed"),
        ("effects", "What it does"),
        ("safer", "Safer"),
    ),
    "/v1/log-fits": (
        ("supply_current_ma", "Current from the supply"),
        ("supply_current_expected_ma", "As planned"),
        ("runtime_h", "A set lasts about"),
        ("runtime_expected_h", "As planned"),
        ("effects", "What moves"),
        ("not_told", "Not told by these readings"),
    ),
}

# Lists of objects worth a table, by path: the list, its columns.
LISTS: dict[str, tuple[tuple[str, tuple[tuple[str, str], ...]], ...]] = {
    "/v1/series-resistors": (
        (
            "on_hand",
            (
                ("parts_ohm", "From the drawer"),
                ("joined", "Joined"),
                ("resistance_ohm", "Makes"),
                ("current_ma", "Current"),
                ("dissipation_w", "Heat"),
            ),
        ),
        (
            "neighbours",
            (("resistance_ohm", "Next values"), ("current_ma", "Current"), ("dissipation_w", "Heat")),
        ),
    ),
    "/v1/arrangements": (
        (
            "arrangements",
            (
                ("_rows", "Rows × lights in each"),
                ("supply_current_ma", "From the supply"),
                ("efficiency_pct", "Power that reaches the lights"),
                ("resistor_count", "Resistors"),
                ("evenness_pct", "Dimmest to brightest"),
                ("if_one_opens", "If one light fails open"),
            ),
        ),
    ),
    "/v1/wires": (
        (
            "alternatives",
            (
                ("_size", "Or"),
                ("supply_voltage_v", "Sent at"),
                ("drop_v", "Loss"),
                ("drop_pct", "Part"),
                ("ampacity_ma", "May carry"),
            ),
        ),
    ),
    "/v1/fuses": (),
    "/v1/runtimes": (),
    "/v1/circuit-checks": (
        (
            "strings",
            (
                ("leds", "Row"),
                ("branch_count", "How often"),
                ("resistance_ohm", "Resistor"),
                ("current_ma", "Current"),
                ("current_high_ma", "At most"),
                ("seen_brightness_pct", "Looks this bright"),
            ),
        ),
    ),
    "/v1/supply-choices": (
        (
            "choices",
            (
                ("why", "Best at being"),
                ("name", "Battery"),
                ("mass_g", "Weight"),
                ("runtime_h", "Hours"),
                ("sets_needed", "Sets"),
            ),
        ),
    ),
    "/v1/light-identifications": (
        (
            "at_voltages",
            (
                ("supply_voltage_v", "On"),
                ("current_ma", "Current"),
                ("seen_brightness_pct", "Looks this bright"),
                ("verdict", "Verdict"),
            ),
        ),
    ),
    "/v1/build-sheets": (),
    "/v1/build-comparisons": (),
    "/v1/log-fits": (
        (
            "rows",
            (
                ("row", "Row"),
                ("current_ma", "Current"),
                ("current_expected_ma", "As planned"),
                ("resistance_ohm", "Resistor"),
                ("current_known", "Told"),
            ),
        ),
    ),
    "/v1/diagnoses": (
        ("causes", (("what", "What it may be"), ("likelihood_pct", "How likely"), ("fix", "What to do"))),
    ),
}

SEVERITIES = {"stop": "Stop", "caution": "Take care", "note": "Note"}

# Codes of the interface that a maker would not guess, by the member they stand in.
CODES: dict[str, dict[str, str]] = {
    "ended_by": {
        "brightness": "the lights are that dim",
        "cutoff": "the volts to stop at are reached",
        "empty": "the battery is empty",
        "overload": "more is asked than it can give",
        "asleep": "the power bank switches itself off",
    },
    "limited_by": {
        "drop": "the loss on the way",
        "heat": "the warmth of the wire",
        "strength": "the bending: thinner wire would break",
    },
    "needed": {"required": "needed"},
    "joined": {"series": "one after the other", "parallel": "side by side"},
}


def shown(name: str, value: Any) -> str:
    """Return a JSON member as short text with its unit: ``("current_ma", 18.48)`` gives 18.5 mA."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list) and name == "leds":
        # Lights in order from plus, equal neighbours counted.
        names = (led.replace("_", " ") if isinstance(led, str) else shown("led", led) for led in value)
        runs = [(key, len(list(run))) for key, run in groupby(names)]
        return ", ".join(f"{count} × {led}" for led, count in runs)
    if isinstance(value, list):
        items = [shown(name, item) for item in value]
        if any(item.endswith(".") for item in items):
            return " ".join(item if item.endswith(".") else f"{item}." for item in items)
        # Where an item holds commas itself, one would not see where the next begins.
        return ("; " if any("," in item for item in items) else ", ").join(items)
    if isinstance(value, dict):
        return ", ".join(f"{key} {shown(key, item)}" for key, item in value.items() if key != "display")
    if isinstance(value, int | float):
        if name == "rated_current_ma" and value == 0:
            return "none fitted"
        if name.endswith("dissipation_w") and abs(value) >= 0.01:
            return f"{value:.2g} W"  # resistors are sold as 0.25 W, not as 250 mW
        if name.endswith("_ma") and 0 < abs(value) < 1e-3:
            return "almost none"
        suffix = name.rpartition("_")[2]
        if suffix in UNITS:
            unit = UNITS[suffix]
            return show(unit.inner(value), unit)
        return f"{value:g}"
    if value in CODES.get(name, {}):
        return CODES[name][value]
    # Words of the interface are joined by underscores; a reader needs none.
    return str(value).replace("_", " ") if re.fullmatch(r"[a-z]+(_[a-z]+)+", str(value)) else str(value)
