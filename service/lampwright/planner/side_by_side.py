"""Rows on one supply at once: what each gets when all of them sag the same source.

Without source resistance rows do not feel each other and each is solved alone; with it, every corner is
solved for all rows together (``together.solve_prepared``).
"""

from __future__ import annotations

from collections.abc import Sequence

from lampwright.physics.circuits import Branch
from lampwright.planner.models.parts import Supply
from lampwright.planner.strings import Corner, Corners, StringModel, source_resistances
from lampwright.planner.together import Prepared, prepared, solve_prepared


def _prepared(rows: Sequence[tuple[Corner, float, int]]) -> list[Prepared]:
    return [
        prepared(Branch(corner.diodes, resistance + corner.built_in_resistance, count))
        for corner, resistance, count in rows
    ]


def rows_at(
    rows: Sequence[tuple[Corner, float, int]],
    voltage: float,
    source_resistance: float,
    ready: Sequence[Prepared] | None = None,
    near: Sequence[float] = (),
) -> tuple[float, ...]:
    """Return the current of one branch of each row; a row is its lights, its resistance and its count.

    ``ready`` are the same rows prepared already, ``near`` currents that may be about right.
    """
    if source_resistance == 0:
        return tuple(corner.current(voltage, resistance) for corner, resistance, _ in rows)
    if len(rows) == 1:
        corner, resistance, count = rows[0]
        return (corner.current(voltage, resistance + count * source_resistance),)
    branches = _prepared(rows) if ready is None else ready
    return solve_prepared(voltage, source_resistance, [(0.0, branches)], near).currents


def currents_side_by_side(
    models: Sequence[StringModel],
    resistances: Sequence[float],
    counts: Sequence[int],
    tolerance: float,
    supply: Supply,
) -> tuple[Corners, ...]:
    """Return the currents of every row on the shared supply at all corners."""
    small, expected, large = source_resistances(supply)
    lowest, usual, highest = supply.supply_voltage_min, supply.supply_voltage, supply.supply_voltage_max
    parts = list(zip(models, resistances, counts, strict=True))
    usual_rows = [(model.expected, resistance, count) for model, resistance, count in parts]
    low_rows = [(model.low, resistance * (1 + tolerance), count) for model, resistance, count in parts]
    high_rows = [(model.high, resistance * (1 - tolerance), count) for model, resistance, count in parts]
    ready = _prepared(usual_rows) if len(parts) > 1 else None
    at_usual = rows_at(usual_rows, usual, expected, ready)
    by_row = zip(
        rows_at(low_rows, lowest, large, None, at_usual),
        at_usual,
        rows_at(high_rows, highest, small, None, at_usual),
        at_usual
        if (highest, small) == (usual, expected)
        else rows_at(usual_rows, highest, small, ready, at_usual),
        at_usual
        if (lowest, large) == (usual, expected)
        else rows_at(usual_rows, lowest, large, ready, at_usual),
        strict=True,
    )
    # Neighbours that take less still may leave a row more at its low corner than it usually gets.
    return tuple(
        [
            Corners(
                low if low < current else current, current, high if high > current else current, fresh, empty
            )
            for low, current, high, fresh, empty in by_row
        ]
    )


def most_of_one(
    at: int,
    models: Sequence[StringModel],
    resistances: Sequence[float],
    counts: Sequence[int],
    tolerance: float,
    supply: Supply,
) -> float:
    """Return the most one row of an entry gets: at its own high corner, beside all others at their low one.

    Others that take less leave more of a weak source: one row that takes more than its like is what burns.
    """
    others = [count - (place == at) for place, count in enumerate(counts)]
    rows = [
        (model.low, resistance * (1 + tolerance), count)
        for model, resistance, count in zip(models, resistances, others, strict=True)
        if count
    ]
    rows.append((models[at].high, resistances[at] * (1 - tolerance), 1))
    return rows_at(rows, supply.supply_voltage_max, source_resistances(supply)[0])[-1]


def enough_beside_others(
    at: int,
    models: Sequence[StringModel],
    resistances: Sequence[float],
    counts: Sequence[int],
    tolerance: float,
    supply: Supply,
) -> float:
    """Return the resistance with which a row of an entry keeps its maximum whatever the others take, in Ω.

    0 where the one it has is enough.
    """
    model, smallest = models[at], resistances[at] * (1 - tolerance)
    maximum = model.max_forward_current
    behind = source_resistances(supply)[0]
    if model.high.current(supply.supply_voltage_max, smallest + behind) <= maximum * (1 + 1e-9):
        return 0.0  # not even all by itself
    most = most_of_one(at, models, resistances, counts, tolerance, supply)
    if most <= maximum * (1 + 1e-9):
        return 0.0
    # What it no longer takes comes back as volts of the source.
    arriving = model.high.voltage(most) + most * smallest + (most - maximum) * behind
    return (arriving - model.voltage_at_maximum) / maximum / (1 - tolerance)
