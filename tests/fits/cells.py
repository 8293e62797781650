"""Discharge curves of published lithium-ion parameter sets, and the fit of our model to curves.

``python -m tests.fits.cells --write`` runs PyBaMM afresh and writes the committed curves.
"""

from __future__ import annotations

import csv
import os
import sys

import numpy as np
from scipy.optimize import least_squares

from lampwright.physics.batteries import CellModel, make_pack
from lampwright.physics.discharge import discharge
from lampwright.physics.interpolation import cubic_pieces
from lampwright.physics.loads import ConstantCurrent
from tests.fits.durations import ROWS

DEPTHS = (
    *(0, 0.01, 0.025, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7),
    *(0.75, 0.8, 0.85, 0.9, 0.93, 0.95, 0.965, 0.98, 0.99, 1.0, 1.03),
)
#: A full cell rests at this voltage: that is how the sets define full.
FULL = 4.2
RATE_EXPONENT = 0.8
GROWTH_POWER = 2.0
#: Which curves are fitted: parameter set, C rates.
FITTED = {"Chen2020": (0.05, 0.2, 1.0), "Ecker2015": (0.05, 1.0), "Ai2020": (0.05,)}
POINTS = 60

Curve = tuple[float, np.ndarray, np.ndarray]
"""Current [A], charge drawn [A·h], voltage [V]."""


def simulate(name: str, c_rate: float, in_series: int = 1, side_by_side: int = 1) -> Curve:
    """Return a discharge from full by PyBaMM's single-particle model with electrolyte.

    Current, charge and voltage are those of the whole pack of such cells.
    """
    os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"
    import pybamm

    values = pybamm.ParameterValues(name)
    current = float(values["Nominal cell capacity [A.h]"]) * c_rate * side_by_side
    values["Current function [A]"] = current
    values["Number of cells connected in series to make a battery"] = in_series
    values["Number of electrodes connected in parallel to make a cell"] *= side_by_side
    run = pybamm.Simulation(pybamm.lithium_ion.SPMe(), parameter_values=values)
    solution = run.solve([0, 1.4 * 3600 / c_rate], initial_soc=1.0)
    ends = float(solution["Time [h]"].entries[-1])
    hours = ends * (1 - (1 - np.linspace(0, 1, POINTS)) ** 1.5)
    voltage = np.asarray(solution["Battery voltage [V]"](hours * 3600.0))
    return current, hours * current, voltage


def read_curves() -> dict[tuple[str, float], Curve]:
    """Return the committed curves by parameter set and C rate."""
    found: dict[tuple[str, float], list[tuple[float, float, float]]] = {}
    with (ROWS / "cell_curves.csv").open(encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file):
            key = (line["set"], float(line["c_rate"]))
            found.setdefault(key, []).append(
                (float(line["current"]), float(line["charge"]), float(line["voltage"]))
            )
    return {
        key: (points[0][0], np.array([p[1] for p in points]), np.array([p[2] for p in points]))
        for key, points in found.items()
    }


def write_curves() -> None:
    """Run PyBaMM and write the curves that are fitted."""
    with (ROWS / "cell_curves.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("set", "c_rate", "current", "charge", "voltage"))
        for name, rates in FITTED.items():
            for rate in rates:
                current, charge, voltage = simulate(name, rate)
                for q, v in zip(charge, voltage, strict=True):
                    writer.writerow((name, rate, f"{current:.6g}", f"{q:.6g}", f"{v:.5f}"))


def model_curve(model: CellModel, current: float, cutoff: float) -> tuple[np.ndarray, np.ndarray]:
    """Return our own charge [A·h] and voltage [V] for a constant current, and the end."""
    run = discharge(make_pack(model, 1), ConstantCurrent(current), (cutoff,))
    charge = np.array([0.0, *run.time, run.end.time]) * current / 3600.0
    start = model.pieces[0][0] - current * model.resistance
    last = run.voltage[-1] if run.passings[0] is None else cutoff
    return charge, np.array([start, *run.voltage, last])


def _build(theta: np.ndarray, nominal: float, rated: dict[str, float]) -> CellModel:
    """Return a model from the fit's vector: ln Q, ln of each fall, ln R0, r1, ln a."""
    count = len(DEPTHS)
    charge = float(np.exp(theta[0]))
    voltages = [FULL]
    for fall in np.exp(theta[1:count]):
        voltages.append(voltages[-1] - float(fall))
    resistance = float(np.exp(theta[count])) if "R0" not in rated else rated["R0"]
    growth = float(theta[count + 1]) ** 2 if "r1" not in rated else rated["r1"]
    rate = float(np.exp(theta[count + 2])) if "a" not in rated else rated["a"]
    return CellModel(
        label=nominal,
        charge=charge,
        resistance=resistance,
        growth=growth,
        growth_power=GROWTH_POWER,
        rate=rate,
        rate_exponent=RATE_EXPONENT,
        activation_resistance=0.0,
        activation_rate=0.0,
        depths=DEPTHS,
        pieces=cubic_pieces(DEPTHS, voltages),
    )


def fit_curves(curves: list[Curve], nominal: float, fixed: dict[str, float] | None = None) -> CellModel:
    """Return the model nearest to some discharge curves of one cell.

    ``fixed`` holds ``R0``, ``r1`` and ``a`` where one slow curve alone cannot tell them.
    """
    held = fixed or {}
    slow = min(curves, key=lambda curve: curve[0])
    whole = float(slow[1][-1])
    charge0 = whole / 0.995
    table = np.interp(np.array(DEPTHS) * charge0, slow[1], slow[2])
    table[0], table[-1] = FULL, table[-2] - 0.6
    falls = np.maximum(-np.diff(table), 1e-3)
    start = np.array([np.log(charge0), *np.log(falls), np.log(0.1 / nominal), 0.1, np.log(0.01)])
    cutoff = float(slow[2][-1])

    def residuals(theta: np.ndarray) -> np.ndarray:
        model = _build(theta, nominal, held)
        out = []
        for current, charge, voltage in curves:
            ours_q, ours_v = model_curve(model, current, cutoff)
            inside = charge <= ours_q[-1]
            gap = np.interp(charge, ours_q, ours_v) - voltage
            # Past our end the steep fall says little; the end itself is weighed below.
            out.append(np.where(inside, np.clip(gap, -0.3, 0.3), 0.0) / 0.01)
            out.append(np.array([np.log(ours_q[-1] / charge[-1]) / 0.001]))
        prior = np.array([(theta[-2] - 0.1) / 1.0, (theta[-1] - np.log(0.01)) / 1.0])
        smooth = (theta[1 : len(DEPTHS)] - start[1 : len(DEPTHS)]) / 1.0
        return np.concatenate([*out, prior, smooth])

    found = least_squares(residuals, start, method="trf", x_scale="jac", max_nfev=40)
    return _build(found.x, nominal, held)


if __name__ == "__main__":
    if "--write" in sys.argv:
        write_curves()
    else:
        print(__doc__)
