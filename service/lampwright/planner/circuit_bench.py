"""What the meter should say at a circuit that exists: where the tips go, and the bounds of a good reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lampwright.physics.diodes import forward_voltage
from lampwright.planner.catalogue import led_model
from lampwright.planner.models.circuits import BenchCheck, CircuitAsk, StringAnswer
from lampwright.planner.network import Row, Settled
from lampwright.tables.batteries import battery_type

#: Rows that get their own lines; more would not be read at a bench.
_ROWS_TOLD = 8


def bench_checks(
    ask: CircuitAsk,
    rows: Sequence[Row],
    answers: Sequence[StringAnswer],
    at: Mapping[str, Settled],
) -> tuple[BenchCheck, ...]:
    """Return the readings of a circuit, in the order one takes them.

    Parameters
    ----------
    ask : CircuitAsk
        The circuit.
    rows : sequence of Row
        Its rows, as solved.
    answers : sequence of StringAnswer
        Their figures.
    at : mapping of str to Settled
        The whole circuit at its five corners.
    """
    expected = at["expected"]
    supply = ask.supply
    charged = bool(supply.battery) and battery_type(supply.battery).rechargeable
    wrong = "The wrong battery" if supply.battery else "The wrong supply"
    wrong += ", or a charger is still connected." if charged else "."
    checks = [
        BenchCheck(
            check="supply_off",
            tips="on plus and minus of the supply, lights not connected",
            voltage=supply.supply_voltage,
            voltage_low=supply.supply_voltage_min,
            voltage_high=supply.supply_voltage_max,
            zero_means="The supply is dead, or a contact is open.",
            low_means="Used or cold cells." if supply.battery else "The wrong supply, or a failing one.",
            high_means=f"{wrong} Switch off.",
        ),
        BenchCheck(
            check="supply_on",
            tips="on plus and minus of the supply, lights on",
            voltage=expected.terminal_voltage,
            voltage_low=min(at["low"].terminal_voltage, at["empty"].terminal_voltage),
            voltage_high=max(at["high"].terminal_voltage, at["fresh"].terminal_voltage),
            zero_means="A short, or the supply has switched itself off. Switch off at once.",
            low_means="The supply is overloaded" + (", or its cells are weak." if supply.battery else "."),
            # With the lights off it rises to what it is without them: past the band only where it sags much.
            high_means="Not all lights are connected."
            if supply.supply_voltage > max(at["high"].terminal_voltage, at["fresh"].terminal_voltage)
            else f"{wrong} Switch off.",
        ),
    ]
    told = list(range(min(_ROWS_TOLD, len(rows))))
    for index in told:
        checks.extend(_row_checks(ask, rows[index], answers[index], index))
    if ask.feed is not None or ask.wire_awg is not None:
        last = len(rows) - 1
        checks.append(
            BenchCheck(
                check="far_end",
                tips="between the two wires at the last row, lights on",
                voltage=expected.voltages[last],
                voltage_low=min(each.voltages[last] for each in at.values()),
                voltage_high=max(each.voltages[last] for each in at.values()),
                zero_means="A wire is broken on the way.",
                low_means="The wire is thinner or longer than thought, or a joint is poor.",
                high_means="Rows before it are not lit.",
            )
        )
    checks.append(
        BenchCheck(
            check="total_current",
            tips="in line, in place of the switch, once; then back to the volts socket",
            current=expected.supply_current,
            current_low=at["low"].supply_current,
            current_high=at["high"].supply_current,
            zero_means="The circuit is open, or the meter's own fuse is.",
            low_means="A row is dark or dim.",
            high_means="A row is too bright, or there is one too many: switch off.",
            good_but=_dark_row(rows, answers, at),
        )
    )
    return tuple(checks)


def _dark_row(rows: Sequence[Row], answers: Sequence[StringAnswer], at: Mapping[str, Settled]) -> str:
    """Return that a dark row can hide in a good sum, where one can."""
    count = sum(row.string.branch_count for row in rows)
    least = min((answer.current or 0.0 for answer in answers), default=0.0)
    hides = count > 1 and at["expected"].supply_current - least >= at["low"].supply_current
    return "a row is dark: count the lit ones" if hides else ""


def _row_checks(ask: CircuitAsk, row: Row, answer: StringAnswer, index: int) -> list[BenchCheck]:
    """Return the readings of one row: its resistor, then each of its lights."""
    checks = []
    alone = len(row.string.leds) == 1
    bare = alone and not answer.resistance  # it gets all there is, sound or not
    resistance = answer.resistance or 0.0
    low, current, high = answer.current_low or 0.0, answer.current or 0.0, answer.current_high or 0.0
    if resistance > 0:
        checks.append(
            BenchCheck(
                check=f"resistor_{index}",
                tips=f"on both ends of the resistor of row {index + 1}",
                voltage=current * resistance,
                voltage_low=low * resistance * (1 - answer.tolerance),
                voltage_high=high * resistance * (1 + answer.tolerance),
                zero_means="Row dark: it is open, or a light is the wrong way round. Too bright: the "
                "resistor is bridged, switch off.",
                low_means="The supply is weak, or a light is of another kind.",
                high_means="Row dark: the resistor is open"
                + (", or its light is shorted." if alone else ". One light dark: it is shorted."),
                # Lights keep the volts about as they are: a wrong value shows as light, not as volts.
                good_but="row dark: the resistor is open; dim: it is larger than thought; too bright: it is "
                "smaller, switch off",
            )
        )
    if row.string.reversed:
        return checks
    for place, led in enumerate(row.string.leds):
        # The least a light may read: lowest part at the lowest current; the most: the other way round.
        least, least_hidden = led_model(led, "high", ask.ambient_temperature)
        most, most_hidden = led_model(led, "low", ask.ambient_temperature)
        voltages = answer.led_voltages or ()
        checks.append(
            BenchCheck(
                check=f"led_{index}_{place}",
                tips=f"on both legs of light {place + 1} of row {index + 1}",
                voltage=voltages[place],
                voltage_low=sum(forward_voltage(diode, low) for diode in least) + low * least_hidden,
                voltage_high=sum(forward_voltage(diode, high) for diode in most) + high * most_hidden,
                zero_means="This light is shorted, or the row is open elsewhere.",
                low_means="The supply is weak." if bare else "A light of another kind, or a damaged one.",
                high_means="The supply gives too much."
                if bare
                else "Row dark: this light is open or the wrong way round.",
                good_but="dark: this light is open or the wrong way round" if bare else "",
            )
        )
    return checks
