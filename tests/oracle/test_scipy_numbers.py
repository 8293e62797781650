"""Our numerical parts against SciPy, which solves the same equations by methods of its own.

SciPy comes with PyBaMM (the extra ``oracle``).
"""

from __future__ import annotations

import itertools
import math

import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, root
from scipy.special import wrightomega

from lampwright.physics.batches import string_currents, wright_omega_many
from lampwright.physics.batteries import make_pack
from lampwright.physics.circuits import Branch, solve_parallel
from lampwright.physics.diodes import StringLaw, diode_from_point
from lampwright.physics.discharge import depth_at
from lampwright.physics.feeds import solve_feed
from lampwright.physics.interpolation import cubic_pieces, monotone_slopes
from lampwright.physics.loads import strings_load
from lampwright.physics.settling import settle, settling
from lampwright.planner.feeding import model_of
from lampwright.tables.batteries import model_parameters
from tests.marks import agree, published

RED = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
WHITE = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)
ROWS = (Branch((RED,) * 3, 150.0), Branch((WHITE, WHITE), 220.0, 4), Branch((RED, WHITE), 330.0, 2))
TABLE = ((0.0, 0.1, 0.25, 0.5, 0.8, 0.95, 1.0), (4.8, 4.4, 4.2, 4.2, 3.9, 3.3, 2.4))


def volts(branch: Branch, current: float) -> float:
    """Return the voltage of a row at a current, written out: each junction by its logarithm."""
    junctions = sum(
        d.emission_voltage * (math.log(current) - d.log_saturation_current) for d in branch.diodes
    )
    # ln(1 + I/Is) is ln(I/Is) wherever a lit LED works; the 1 is 1e-10 of it at most.
    return junctions + current * (branch.resistance + sum(d.series_resistance for d in branch.diodes))


def current(branch: Branch, voltage: float) -> float:
    """Return the current of a row at a voltage, by bisection and secants in the logarithm."""
    return math.exp(
        brentq(lambda u: volts(branch, math.exp(u)) - voltage, -40.0, 3.0, xtol=1e-14, rtol=1e-14)
    )


@published("SCIPY", "special.wrightomega", of="lampwright.physics.batches.wright_omega_many", kind="oracle")
def test_omega():
    for z in (-300.0, -5.0, 0.0, 1.0, 2.0, 40.0, 1e6):
        agree(
            float(wright_omega_many([z])[0]), float(wrightomega(z)), rel=1e-13, why="doubles", what=f"z = {z}"
        )


@published(
    "SCIPY",
    "optimize.brentq on the summed law",
    of="lampwright.physics.batches.string_currents",
    kind="oracle",
)
@pytest.mark.parametrize("supply", [6.5, 9.0, 24.0])
def test_many_strings(supply):
    row = Branch((RED,) * 3, 150.0)
    found = string_currents(
        [supply], 3 * RED.emission_voltage, RED.log_saturation_current, 150.0 + 3 * RED.series_resistance
    )
    agree(
        float(found[0]), current(row, supply), rel=1e-9, why="the 1 in the junction law", what=f"{supply} V"
    )


@published(
    "SCIPY", "optimize.brentq, row by row", of="lampwright.physics.circuits.solve_parallel", kind="oracle"
)
@pytest.mark.parametrize("common", [1.0, 20.0, 100.0])
def test_rows_behind_one_resistance(common):
    ours = solve_parallel(12.0, common, ROWS)

    def left(voltage: float) -> float:
        return 12.0 - voltage - common * sum(row.count * current(row, voltage) for row in ROWS)

    voltage = brentq(left, 4.0, 12.0, xtol=1e-13, rtol=1e-14)
    agree(ours.terminal_voltage, voltage, rel=1e-9, why="the 1 in the junction law", what="V at the rows")
    for row, found in zip(ROWS, ours.currents, strict=True):
        agree(found, current(row, voltage), rel=1e-8, why="as above", what=f"A of {row.resistance:g} Ω")


@published("SCIPY", "optimize.brentq, row by row", of="lampwright.physics.settling.settle", kind="oracle")
@published("SCIPY", "optimize.brentq, row by row", of="lampwright.physics.settling.settling", kind="oracle")
def test_rows_settled_on_two_runs():
    runs = ((0.4, ROWS[:1]), (3.0, ROWS[1:]))
    prepared = [
        (loop, [settling(StringLaw(row.diodes, row.resistance), row.count) for row in rows])
        for loop, rows in runs
    ]
    found = settle(12.0, 5.0, prepared)
    assert found is not None
    currents, voltage = found

    def run_current(loop: float, rows: tuple[Branch, ...], at: float) -> float:
        def left(there: float) -> float:
            return at - there - loop * sum(row.count * current(row, there) for row in rows)

        there = brentq(left, 4.0, at, xtol=1e-13, rtol=1e-14)
        return sum(row.count * current(row, there) for row in rows)

    theirs = brentq(
        lambda at: 12.0 - at - 5.0 * sum(run_current(loop, rows, at) for loop, rows in runs),
        6.0,
        12.0,
        xtol=1e-12,
        rtol=1e-13,
    )
    agree(voltage, theirs, rel=1e-9, why="the 1 in the junction law", what="V where the runs part")
    total = sum(row.count * each for row, each in zip(ROWS, currents, strict=True))
    agree(total, (12.0 - theirs) / 5.0, rel=1e-8, why="what all rows take", what="A in all")


@published(
    "SCIPY", "optimize.root, every point at once", of="lampwright.physics.feeds.solve_feed", kind="oracle"
)
@pytest.mark.parametrize("far_end", [None, 0.5])
def test_rows_along_a_feed(far_end):
    rows = [Branch((WHITE,), 100.0)] * 5
    ours = solve_feed(5.0, 0.3, 0.5, 0.8, far_end, rows)

    def sums(unknown):
        # Voltage at the supply's terminals, then at each row: what flows in flows out.
        terminal, *along = unknown
        taken = [current(rows[0], volt) for volt in along]
        flows = [(terminal - along[0]) / 0.5]
        flows += [(a - b) / 0.8 for a, b in itertools.pairwise(along)]
        back = (terminal - along[-1]) / far_end if far_end else 0.0
        at_rows = [
            flow - after - take for flow, after, take in zip(flows, [*flows[1:], -back], taken, strict=True)
        ]
        return [(5.0 - terminal) / 0.3 - flows[0] - back, *at_rows]

    theirs = root(sums, [4.9, *([4.5] * 5)], tol=1e-13).x
    agree(
        ours.terminal_voltage,
        float(theirs[0]),
        rel=1e-8,
        why="tolerance of their solver",
        what="V, terminals",
    )
    for place, (a, b) in enumerate(zip(ours.branch_voltages, theirs[1:], strict=True), 1):
        agree(a, float(b), rel=1e-8, why="tolerance of their solver", what=f"V at row {place}")


@published(
    "SCIPY",
    "interpolate.PchipInterpolator, slopes",
    of="lampwright.physics.interpolation.monotone_slopes",
    kind="oracle",
)
def test_slopes_at_the_knots():
    theirs = PchipInterpolator(*TABLE).derivative()
    for place, slope in zip(TABLE[0], monotone_slopes(*TABLE), strict=True):
        agree(
            slope, float(theirs(place)), rel=1e-12, abs=1e-12, why="the same rule", what=f"slope at {place}"
        )


@published(
    "SCIPY",
    "interpolate.PchipInterpolator",
    of="lampwright.physics.interpolation.cubic_pieces",
    kind="oracle",
)
def test_values_between_the_knots():
    theirs = PchipInterpolator(*TABLE)
    for left, right, piece in zip(TABLE[0], TABLE[0][1:], cubic_pieces(*TABLE), strict=False):
        t = 0.37 * (right - left)
        ours = sum(factor * t**power for power, factor in enumerate(piece))
        agree(ours, float(theirs(left + t)), rel=1e-12, why="the same rule", what=f"at {left + t:.3g}")


@published("SCIPY", "optimize.brentq, row by row", of="lampwright.physics.loads.strings_load", kind="oracle")
@pytest.mark.parametrize("voltage", [7.0, 9.0, 12.0])
def test_rows_as_one_load(voltage):
    load = strings_load([*ROWS, ROWS[0]])  # one kind named twice is counted together
    theirs = sum(row.count * current(row, voltage) for row in [*ROWS, ROWS[0]])
    agree(
        load.current_at(voltage), theirs, rel=1e-8, why="the 1 in the junction law", what=f"A at {voltage} V"
    )

    # Behind a tired battery: where what the source gives is what the rows take.
    def left(at: float) -> float:
        return voltage - at - 30.0 * sum(row.count * current(row, at) for row in [*ROWS, ROWS[0]])

    found = load.solve(voltage, 30.0, voltage)
    assert found is not None
    theirs = brentq(left, 4.0, voltage, xtol=1e-13, rtol=1e-14)
    agree(found[1], theirs, rel=1e-9, why="as above", what=f"V at the rows, {voltage} V behind 30 Ω")


def rest_voltage(battery: str) -> PchipInterpolator:
    """Return the voltage of a cell at rest over its depth, straight from the table's knots."""
    rows = model_parameters()[battery]
    knots = sorted((float(key[2:-1]), row.value) for key, row in rows.items() if key.startswith("U("))
    return PchipInterpolator([depth for depth, _ in knots], [volts for _, volts in knots])


@published(
    "SCIPY",
    "interpolate.PchipInterpolator on the table's knots",
    of="lampwright.physics.batteries.cell_model",
    kind="oracle",
)
@pytest.mark.parametrize("battery", sorted(model_parameters()))
def test_a_cell_at_rest(battery):
    theirs = rest_voltage(battery)
    cell = make_pack(model_of(battery), 1)
    for depth in (0.0, 0.13, 0.37, 0.62, 0.88, 0.99):
        agree(
            cell.open_circuit_voltage(depth),
            float(theirs(depth)),
            rel=1e-12,
            why="the same rule",
            what=f"{battery}, V at depth {depth:g}",
        )


@published(
    "SCIPY",
    "optimize.brentq on PchipInterpolator",
    of="lampwright.physics.discharge.depth_at",
    kind="oracle",
)
@pytest.mark.parametrize(
    ("battery", "cells", "amperes", "stop"),
    [
        ("alkaline_aa", 3, 0.2, 3.0),
        ("liion", 1, 2.0, 3.3),
        ("lead_acid", 6, 0.5, 11.4),
        ("nimh", 4, 0.8, 4.6),
    ],
)
def test_where_a_load_pulls_a_pack_to_its_stop(battery, cells, amperes, stop):
    rest, rows = rest_voltage(battery), model_parameters()[battery]
    fresh, growth, power = (rows[key].value for key in ("R0", "r1", "r_power"))

    def over(depth: float) -> float:
        return cells * (float(rest(depth)) - amperes * fresh * (1 + growth * depth**power)) - stop

    ours = depth_at(make_pack(model_of(battery), cells), amperes, stop)
    assert ours is not None
    agree(
        ours,
        brentq(over, 0.0, 1.0, xtol=1e-14),
        abs=1e-11,
        why="both to the last digits",
        what=f"{battery}, depth",
    )
