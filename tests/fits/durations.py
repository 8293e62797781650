"""Published hours of use: the rows, which of them are kept aside, and what the model says to each.

The rule, stated before any fit. Rows go by make: the cells of one brand, or the figures of one data
sheet. Within a model the makes are counted in the order of their rows, and the second, the fifth, the
eighth and so on are kept aside whole, because rows of one make go up and down together. A model with
fewer than three rows keeps none aside and is named as unchecked. Rows marked doubtful (they conflict
with their own source or with each other) and minimum durations (floors, from memory) are in neither.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lampwright.physics.batteries import CellModel, Pack, make_pack
from lampwright.physics.discharge import discharge
from lampwright.physics.loads import ConstantCurrent, ConstantPower, Load, Resistor

ROWS = Path(__file__).parent / "rows"


@dataclass(frozen=True)
class Duration:
    """One published duration; ``hours`` are hours of use."""

    row: str
    model: str
    make: str
    label: float | None
    cells_in_series: int
    load: str
    value: float
    session: float
    cutoff: float
    temperature: float
    hours: float
    kind: str
    doubtful: bool
    source: str
    place: str
    status: str
    note: str


def read_durations() -> tuple[Duration, ...]:
    """Return every row."""
    with (ROWS / "durations.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            Duration(
                row=line["row"],
                model=line["model"],
                make=line["make"],
                label=float(line["label"]) if line["label"] else None,
                cells_in_series=int(line["cells_in_series"]),
                load=line["load"],
                value=float(line["value"]),
                session=float(line["session"]),
                cutoff=float(line["cutoff"]),
                temperature=float(line["temperature"]),
                hours=float(line["hours"]),
                kind=line["kind"],
                doubtful=line["doubtful"] == "yes",
                source=line["source"],
                place=line["place"],
                status=line["status"],
                note=line["note"],
            )
            for line in csv.DictReader(file)
        )


def sound(rows: tuple[Duration, ...]) -> tuple[Duration, ...]:
    """Return the rows that may be fitted or checked: typical or measured, not doubtful."""
    return tuple(row for row in rows if row.kind == "typical" and not row.doubtful)


def kept_aside(rows: tuple[Duration, ...]) -> frozenset[str]:
    """Return the row names the rule keeps out of the fits."""
    aside = set()
    usable = sound(rows)
    for model in {row.model for row in usable}:
        mine = [row for row in usable if row.model == model]
        # The 18650 is fitted to curves, not to rows: its one row checks it.
        if model == "liion_18650":
            aside.update(row.row for row in mine)
            continue
        if len(mine) < 3:
            continue
        makes = list(dict.fromkeys(row.make for row in mine))
        out = {make for place, make in enumerate(makes, start=1) if place % 3 == 2}
        aside.update(row.row for row in mine if row.make in out)
    return frozenset(aside)


def load_of(row: Duration) -> Load:
    """Return the load of a row."""
    kinds: Mapping[str, type] = {
        "current": ConstantCurrent,
        "power": ConstantPower,
        "resistance": Resistor,
    }
    load: Load = kinds[row.load](row.value)
    return load


def pack_for(row: Duration, model: CellModel) -> Pack:
    """Return the fresh pack of a row."""
    return make_pack(model, row.cells_in_series, 1, row.label, row.temperature)


def hours_of(row: Duration, model: CellModel) -> float:
    """Return the model's hours for a row."""
    run = discharge(pack_for(row, model), load_of(row), (row.cutoff,), 1.0, row.session)
    return run.end.time / 3600.0
