"""What is worth saying about a battery and its load: only what this build's figures call for."""

from __future__ import annotations

from dataclasses import replace

from lampwright.errors import ContradictionError
from lampwright.planner.feeding import Feeding, brightness_at
from lampwright.planner.findings import finding
from lampwright.planner.judging import BATTERY_OVERLOAD
from lampwright.planner.lasting import Lasting, energy, figures_for, usual_wake_current, wake_current
from lampwright.planner.models.base import Finding
from lampwright.planner.models.energy import RuntimeAsk
from lampwright.planner.texts import milliamps, percent, volts
from lampwright.quantities import show

#: Cold is worth a word where it takes more than this part of the hours.
_COLD_MATTERS = 0.85
_COLD_BEGINS = 15.0
#: So is age, and a change from alkaline to NiMH.
_AGE_MATTERS = 0.05
_LIGHT_MATTERS = 0.7
_ASK_AIRLINE, _NO_AIRLINE = 100.0, 160.0


def clock_texts(start_clock: str | None, times: tuple[float, ...]) -> tuple[str, ...]:
    """Return times in use as clock times from a start such as "19:30".

    >>> clock_texts("19:30", (2.5 * 3600, 5 * 3600))
    ('22:00', '00:30')
    """
    if start_clock is None:
        return ()
    hours, _, minutes = start_clock.partition(":")
    whole = hours.strip().isdecimal() and (minutes.isdecimal() or not minutes)
    if not whole or int(hours) > 24 or int(minutes or 0) > 59:
        raise ContradictionError(
            "start_clock", f"{start_clock!r} is no time of day", "send hours and minutes, such as 19:30"
        )
    start = int(hours) * 60 + int(minutes or 0)
    texts = []
    for time in times:
        at = (start + int(time // 60)) % 1440
        texts.append(f"{at // 60:02d}:{at % 60:02d}")
    return tuple(texts)


def about(time: float) -> str:
    """Return a time with the two figures that hours on a battery deserve.

    >>> about(5.944 * 3600), about(1835.0), about(127.3 * 3600)
    ('5.9 h', '31 min', '130 h')
    """
    unit = 3600.0 if time >= 3600 else 60.0 if time >= 60 else 1.0
    return show(float(f"{time / unit:.2g}") * unit, "h")


def runtime_findings(
    fed: Feeding, ask: RuntimeAsk, found: Lasting, sets: int | None, swaps: tuple[float, ...]
) -> tuple[Finding, ...]:
    """Return every judgement of a battery on its load, worst first."""
    said = [
        *_at_once(fed, found),
        *_current(fed, ask, found),
        *_ending(fed, ask, found),
        *_cells(fed, ask, found),
        *_weather(fed, ask, found),
        *_event(fed, ask, found, sets, swaps),
    ]
    order = {"stop": 0, "caution": 1, "note": 2}
    return tuple(sorted(said, key=lambda each: order[each.severity]))


def _at_once(fed: Feeding, found: Lasting) -> list[Finding]:
    """Say why nothing runs at all."""
    why = found.at_once
    if not why:
        return []
    usual = fed.figures["stop_voltage"].value * fed.cells_in_series
    if why == "cutoff":
        rested = found.start_voltage if fed.terminal is not None else fed.pack.open_circuit_voltage(0.0)
        return [
            finding(
                "cutoff_above_start",
                stop=volts(found.cut_off if fed.terminal is None else fed.nominal),
                voltage=volts(rested),
                usual=volts(usual),
                suggestion={"stop_at": usual},
                field="stop_at",
            )
        ]
    if why == "collapse":
        rested = fed.pack.open_circuit_voltage(0.0)
        most = rested * rested / (4.0 * fed.pack.source_resistance(0.0))
        asked = fed.load.current_at(fed.nominal) * fed.nominal
        return [finding("converter_cannot_start", power=show(asked, "w"), most=show(most, "w"))]
    if why == "dim":
        return [finding("dim_at_the_start")]
    if why == "sag":
        return [finding("load_too_heavy", voltage=volts(found.start_voltage), stop=volts(found.cut_off))]
    dimmest = min(row.full_current for row in fed.rows)
    return [finding("row_never_lights", current=milliamps(dimmest), voltage=volts(fed.nominal))]


#: What takes the place of one, where several cells do.
_IN_ITS_PLACE = {"lithium_coin": (2, "AA or AAA cells"), "block": (6, "AA cells")}
_NUMBERS = {2: "two", 4: "four", 6: "six", 8: "eight", 12: "twelve"}
_CURE = {
    "alkaline_button_lr44": "as many AAA cells",
    "alkaline_aaa": "AA cells",
    "alkaline_aa": "C or D cells, or lithium AA cells",
    "alkaline_c": "D cells",
    "bank": "a pack of AA cells",
}


def _cure(fed: Feeding) -> str:
    """Return what gives as many volts and more of all else."""
    kind = fed.kind
    block = kind.form == "block" and kind.chemistry != "lead_acid"
    each, cells = _IN_ITS_PLACE.get("block" if block else kind.chemistry, (0, ""))
    if each:
        count = each * fed.cells_in_series
        return f"{_NUMBERS.get(count, str(count))} {cells} in a row"
    return _CURE.get(kind.battery) or _CURE.get(kind.form) or "a bigger battery"


def _enough(fed: Feeding, ask: RuntimeAsk, found: Lasting, load: float) -> bool:
    """Return whether dry cells asked for a little more than they are good for surely last the event.

    What more costs them is hours; who has hours enough need not hear of it. A coin cell's limit is none of
    the kind.
    """
    if fed.kind.rechargeable or fed.kind.chemistry == "lithium_coin" or load > BATTERY_OVERLOAD:
        return False
    return ask.hours_wanted is not None and found.runtime_low >= ask.hours_wanted


def _current(fed: Feeding, ask: RuntimeAsk, found: Lasting) -> list[Finding]:
    """Judge the steady current against what the battery is good for."""
    said = []
    drawn = found.start_current * ask.duty
    limit = ask.supply.current_limit
    kind = fed.kind
    current, cure = milliamps(drawn), _cure(fed)
    if kind.chemistry == "carbon_zinc" and found.runtime > 0:
        said.append(finding("carbon_zinc_for_lamps", hours=about(found.runtime), cure=cure))
    elif limit is not None and drawn > limit * (1 + 1e-9) and not _enough(fed, ask, found, drawn / limit):
        code = "block_over_limit" if kind.form == "block" else "battery_over_limit"
        code = {"lithium_coin": "coin_over_limit", "lead_acid": "battery_over_limit"}.get(
            kind.chemistry, code
        )
        said.append(
            finding(
                code,
                limit=milliamps(limit),
                field="battery",
                current=current,
                cure=cure,
                hours=about(found.runtime),
            )
        )
    if kind.form == "bank":
        wake = wake_current(fed, ask)
        sure = fed.figures["wake_current"].high or wake
        if found.ended_by == "asleep":
            extra = milliamps(wake - drawn)
            said.append(
                finding(
                    "bank_falls_asleep",
                    limit=milliamps(wake),
                    extra=extra,
                    field="battery",
                    current=current,
                    cure=cure,
                )
            )
        elif wake == usual_wake_current(fed.figures) and drawn < sure:  # nobody measured this bank
            said.append(finding("bank_may_sleep", field="battery", current=current, cure=cure))
    return said


def _ending(fed: Feeding, ask: RuntimeAsk, found: Lasting) -> list[Finding]:
    """Judge where the discharge ends."""
    said = []
    usual = fed.figures["stop_voltage"].value * fed.cells_in_series
    low = ask.stop_at is not None and ask.stop_at < usual * (1 - 1e-9)
    if found.ended_by == "overload" and found.runtime > 0:
        said.append(finding("converter_collapses", hours=about(found.runtime)))
    if low and ask.stop_at is not None and fed.kind.rechargeable and fed.kind.form != "bank":
        code = "lithium_ion_too_low" if fed.kind.chemistry == "liion" else "deep_discharge"
        # A load that pulls it below the usual end at once runs not at all down to there.
        runs = found.start_voltage > usual
        said.append(
            finding(
                code,
                stop=volts(ask.stop_at),
                usual=volts(usual),
                suggestion={"stop_at": usual} if runs or code == "lithium_ion_too_low" else {},
                field="stop_at",
            )
        )
    return said


def _cells(fed: Feeding, ask: RuntimeAsk, found: Lasting) -> list[Finding]:
    """Judge the cells themselves: protection, age, capacity, NiMH in place of alkaline."""
    said = []
    kind, supply = fed.kind, ask.supply
    usual = fed.figures["stop_voltage"].value * fed.cells_in_series
    if kind.chemistry == "liion" and kind.protection == "sometimes":
        said.append(finding("lithium_ion_unprotected", usual=volts(usual)))
    lost = 1.0 - (1.0 - fed.figures["self_discharge"].value) ** ask.age_years
    if lost > _AGE_MATTERS:
        said.append(finding("old_battery", age=_years(ask.age_years), lost=percent(lost)))
    label = fed.figures["capacity"]
    low, high = label.low or label.value, label.high or label.value
    if supply.capacity is not None and not low * 0.999 <= supply.capacity <= high * 1.001:
        said.append(
            finding(
                "unusual_capacity",
                capacity=show(supply.capacity, "mah"),
                low=show(low, "mah"),
                high=show(high, "mah"),
                usual=show(label.value, "mah"),
                suggestion={"capacity": label.value},
                field="capacity",
            )
        )
    if kind.chemistry == "nimh" and kind.form == "cell" and supply.cells_in_series > 1:
        if not fed.rows:
            said.append(finding("nimh_volts", voltage=volts(usual)))
        elif found.runtime > 0 and ask.converter is None:
            alkaline = brightness_at(fed, 1.5 * supply.cells_in_series)
            if alkaline > 1.0 / _LIGHT_MATTERS and any(
                row.full_current < _LIGHT_MATTERS * row.rated_current for row in fed.rows
            ):
                said.append(finding("nimh_for_alkaline", part=percent(1.0 / alkaline)))
    return said


def _years(age_years: float) -> str:
    return f"{age_years:.2g} years" if age_years >= 1 else f"{12 * age_years:.2g} months"


def _weather(fed: Feeding, ask: RuntimeAsk, found: Lasting) -> list[Finding]:
    """Judge the temperature."""
    said = []
    temperature = ask.ambient_temperature
    lowest, highest = fed.figures["min_temperature"].value, fed.figures["max_temperature"].value
    small = fed.kind.form in ("cell", "block") and fed.kind.chemistry not in ("liion", "lead_acid")
    instead = "lithium AA cells" if small else "a bigger battery"
    lasts = ask.hours_wanted is not None and found.runtime_low >= ask.hours_wanted
    if not lowest <= temperature <= highest:
        said.append(
            finding(
                "outside_battery_range",
                temperature=show(temperature, "degc"),
                lowest=show(lowest, "degc"),
                highest=show(highest, "degc"),
                better="warmer" if temperature < lowest else "cooler",
                cure="lithium AA cells stand −40 °C"
                if temperature < lowest
                else "never leave it in a hot car",
                field="ambient_temperature",
            )
        )
    # Who has hours enough in the cold, whatever the make, need not hear how many it took.
    if temperature < _COLD_BEGINS and found.ended_by != "asleep" and not lasts:
        indoors = figures_for(replace(ask, ambient_temperature=20.0)).runtime or 0.0
        if indoors > 0 and found.runtime < _COLD_MATTERS * indoors:
            said.append(
                finding(
                    "cold_shortens",
                    temperature=show(temperature, "degc"),
                    part=percent(found.runtime / indoors),
                    cure=instead,
                    field="ambient_temperature",
                )
            )
    return said


def _event(
    fed: Feeding, ask: RuntimeAsk, found: Lasting, sets: int | None, swaps: tuple[float, ...]
) -> list[Finding]:
    """Judge the event: sets, swaps, the flight there."""
    said = []
    wanted = ask.hours_wanted
    if sets is not None and wanted is not None and swaps and found.ended_by != "asleep":
        first = clock_texts(ask.start_clock, swaps[:4]) or tuple(about(each) for each in swaps[:4])
        said.append(
            finding(
                "short_of_event",
                hours=about(found.runtime),
                wanted=show(wanted, "h"),
                sets=sets,
                swaps=", ".join(first) + (", …" if len(swaps) > 4 else ""),
            )
        )
        if ask.supply.cells_in_series * ask.supply.packs_in_parallel > 1 and fed.kind.form != "bank":
            said.append(finding("swap_whole_sets"))
    if ask.air_travel and fed.kind.chemistry in ("liion", "lithium_iron", "lithium_coin"):
        each = energy(fed) / ask.supply.packs_in_parallel
        if fed.kind.form == "cell":
            each /= ask.supply.cells_in_series
        if fed.kind.chemistry != "liion" or each <= _ASK_AIRLINE:
            said.append(finding("air_travel_cabin"))
        else:
            code = "air_travel_ask" if each <= _NO_AIRLINE else "air_travel_refused"
            said.append(finding(code, energy=show(each, "wh")))
    return said
