"""Our lithium-ion cell against PyBaMM, run live: the set behind it, and a second set from one curve.

Versions: PyBaMM as pinned in pyproject.toml, single-particle model with electrolyte, default mesh.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from lampwright.physics.batteries import CellModel, make_pack, temperature_factor
from lampwright.physics.discharge import discharge
from lampwright.physics.loads import ConstantCurrent
from lampwright.planner.feeding import model_of
from tests.fits.cells import FITTED, fit_curves, model_curve, read_curves, simulate
from tests.marks import agree, published

# PyBaMM warns of its own future; that is not ours to fix.
pytestmark = pytest.mark.filterwarnings("ignore")


def _gaps(model: CellModel, name: str, c_rate: float, cutoff: float) -> tuple[float, float, float]:
    """Return our end, their end [A·h], and the mean gap of voltage [V] while both run."""
    current, charge, voltage = simulate(name, c_rate)
    ours_q, ours_v = model_curve(model, current, cutoff)
    common = np.linspace(0, 0.995 * min(charge[-1], ours_q[-1]), 400)
    gap = np.interp(common, ours_q, ours_v) - np.interp(common, charge, voltage)
    return float(ours_q[-1]), float(charge[-1]), float(np.mean(np.abs(gap)))


# The committed curves again, so that a change of PyBaMM or of its sets is seen.
@pytest.mark.parametrize(("name", "c_rate"), [(name, rates[-1]) for name, rates in FITTED.items()])
@published("PYBAMM", "SPMe, the committed curves run again", of="tests.fits.cells.read_curves", kind="oracle")
def test_committed_curves(name: str, c_rate: float) -> None:
    _, charge, voltage = simulate(name, c_rate)
    _, kept_charge, kept_voltage = read_curves()[name, c_rate]
    agree(float(charge[-1]), float(kept_charge[-1]), rel=1e-3, why="solver tolerance, six digits kept")
    middle = np.linspace(0, 0.9 * charge[-1], 50)
    gap = np.interp(middle, charge, voltage) - np.interp(middle, kept_charge, kept_voltage)
    assert np.max(np.abs(gap)) < 2e-3


@pytest.mark.parametrize("c_rate", [0.1, 0.5, 0.7, 0.9])
@published(
    "CHEN-2020",
    "by PyBaMM, loads not used in the fit",
    of="lampwright.physics.discharge.discharge",
    kind="oracle",
)
def test_the_set_behind_our_cell(c_rate: float) -> None:
    assert c_rate not in FITTED["Chen2020"]
    ours, theirs, mean = _gaps(model_of("liion"), "Chen2020", c_rate, 2.5)
    agree(ours, theirs, rel=0.02, why="two numbers, R and a, stand for a whole electrode", what="end, A·h")
    assert mean < 0.025


@pytest.mark.parametrize(("c_rate", "allowed"), [(1.5, 0.030), (2.0, 0.040)])
@published("CHEN-2020", "by PyBaMM, beyond 1C", of="lampwright.physics.discharge.discharge", kind="oracle")
def test_beyond_one_c(c_rate: float, allowed: float) -> None:
    """Beyond 1C the electrolyte bends what a resistance cannot: the end still within 2 %."""
    ours, theirs, mean = _gaps(model_of("liion"), "Chen2020", c_rate, 2.5)
    agree(ours, theirs, rel=0.02, why="as above", what="end, A·h")
    assert mean < allowed


@pytest.mark.parametrize("c_rate", [0.2, 0.5, 0.7])
@published(
    "ECKER-2015",
    "by PyBaMM, loads not used in the fit",
    of="lampwright.physics.discharge.discharge",
    kind="oracle",
)
def test_the_set_behind_our_pouch_cell(c_rate: float) -> None:
    ours, theirs, mean = _gaps(model_of("lipo"), "Ecker2015", c_rate, 2.5)
    agree(ours, theirs, rel=0.02, why="two numbers, R and a, stand for a whole electrode", what="end, A·h")
    assert mean < 0.025


@pytest.fixture(scope="module")
def second_cell() -> CellModel:
    """Return a cell of another maker, fitted by the same script to its slowest discharge alone.

    One slow curve says nothing of resistance: that of our first cell, by capacity, stands in.
    """
    first = model_of("liion")
    scale = 5.0 / 2.28
    held = {"R0": first.resistance * scale, "r1": first.growth, "a": first.rate}
    return fit_curves([read_curves()["Ai2020", 0.05]], 2.28, held)


@pytest.mark.parametrize("c_rate", [0.2, 0.5, 1.0])
@published("AI-2020", "by PyBaMM", of="lampwright.physics.discharge.discharge", kind="oracle")
def test_a_second_published_set(second_cell: CellModel, c_rate: float) -> None:
    ours, theirs, mean = _gaps(second_cell, "Ai2020", c_rate, 3.0)
    agree(ours, theirs, rel=0.05, why="fitted from the slowest discharge alone", what="end, A·h")
    assert math.isfinite(mean)
    assert mean < 0.1, "its resistance is not known: another cell's stands in"


@published(
    "CHEN-2020",
    "by PyBaMM, 3 in series of 2 side by side",
    of="lampwright.physics.batteries.make_pack",
    kind="oracle",
)
def test_cells_in_series_and_side_by_side() -> None:
    """A pack of six against the same pack run by PyBaMM: volts of three, hours of two."""
    current, charge, voltage = simulate("Chen2020", 0.5, in_series=3, side_by_side=2)
    run = discharge(make_pack(model_of("liion"), 3, 2), ConstantCurrent(current), (7.5,))
    agree(
        run.end.time / 3600 * current,
        float(charge[-1]),
        rel=0.02,
        why="two numbers, R and a, stand for a whole electrode",
        what="end, A·h",
    )
    middle = np.interp(0.5 * charge[-1], charge, voltage)
    ours = np.interp(0.5 * charge[-1], np.array(run.time) * current / 3600, run.voltage)
    agree(float(ours), float(middle), rel=0.01, why="as above", what="V at half the charge")


@pytest.mark.parametrize("degrees", [-20.0, 0.0, 10.0])
@published(
    "CHEN-2020",
    "by PyBaMM, exchange current of the graphite, 35 kJ/mol",
    of="lampwright.physics.batteries.temperature_factor",
    kind="oracle",
)
def test_a_reaction_slows_in_the_cold(degrees: float) -> None:
    from pybamm.input.parameters.lithium_ion.Chen2020 import (
        graphite_LGM50_electrolyte_exchange_current_density_Chen2020 as exchange_current,
    )

    warm, cold = (
        float(exchange_current(1000.0, 15000.0, 33133.0, 273.15 + each).evaluate())
        for each in (20.0, degrees)
    )
    agree(
        temperature_factor(35000.0, degrees),
        warm / cold,
        rel=5e-4,
        why="their gas constant has more digits",
        what=f"factor at {degrees:g} °C",
    )
