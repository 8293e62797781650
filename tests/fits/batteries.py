"""Fit every discharge model to the committed rows: ``python -m tests.fits.batteries``.

``--check`` compares with the committed parameters and fails on a difference; ``--write`` writes them;
``--table`` prints errors on fitted and kept-aside rows and the coverage of the bands. Starting values
(``rows/starts.csv``) are from memory or judged; weak priors hold to them what the rows do not tell.
Bands were chosen after seeing all rows: they are a judgement of how cells differ, no prediction.
"""

from __future__ import annotations

import csv
import math
import statistics
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares

from lampwright.physics.batteries import CellModel, cell_model
from tests.fits.cells import DEPTHS, FITTED, GROWTH_POWER, RATE_EXPONENT, fit_curves, read_curves
from tests.fits.durations import ROWS, Duration, hours_of, kept_aside, read_durations, sound

TABLE = Path(__file__).parents[2] / "service/lampwright/tables/data/battery_models.csv"
#: Cells of one type scatter by 10 to 25 % between makes: the scale of a residual.
SCATTER = 0.10
ALKALINE = ("alkaline_aa", "alkaline_aaa", "alkaline_d", "alkaline_9v")
#: How far the starting values are trusted: standard deviation of the logarithm.
TRUST = {"Q": 0.08, "R0": 0.25, "a": 0.5, "n": 0.15, "r1": 0.4, "U": 0.2}

Parameters = dict[str, float]


def read_starts() -> tuple[dict[str, Parameters], dict[str, str]]:
    """Return the starting values by model and parameter, and the unit of each parameter."""
    starts: dict[str, Parameters] = {}
    units: dict[str, str] = {}
    with (ROWS / "starts.csv").open(encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file):
            starts.setdefault(line["model"], {})[line["parameter"]] = float(line["value"])
            units[line["parameter"]] = line["unit"]
    return starts, units


def _knots(parameters: Parameters) -> list[str]:
    names = [name for name in parameters if name.startswith("U(")]
    return sorted(names, key=lambda name: float(name[2:-1]))


def _bent(parameters: Parameters, steps: Sequence[float]) -> Parameters:
    """Return the voltage table with each fall multiplied by the exponential of a step."""
    names = _knots(parameters)
    bent = dict(parameters)
    for before, after, step in zip(names, names[1:], steps, strict=False):
        bent[after] = bent[before] - (parameters[before] - parameters[after]) * math.exp(step)
    return bent


def _solve(
    build: Callable[[np.ndarray], dict[str, Parameters]],
    trust: Sequence[float],
    rows: Sequence[Duration],
) -> dict[str, Parameters]:
    """Return the parameters at the least soft-L1 sum of log hours and priors."""
    size = len(trust)

    def residuals(theta: np.ndarray) -> np.ndarray:
        models = {name: cell_model(parameters) for name, parameters in build(theta).items()}
        gaps = [math.log(max(hours_of(row, models[row.model]), 1e-6) / row.hours) / SCATTER for row in rows]
        return np.array([*gaps, *(theta / np.array(trust))])

    found = least_squares(residuals, np.zeros(size), loss="soft_l1", max_nfev=60)
    return build(found.x)


def fit_alkaline(starts: dict[str, Parameters], rows: Sequence[Duration]) -> dict[str, Parameters]:
    """Fit the four alkaline sizes with rows: one voltage table, n and r1; Q, R0 and a each."""
    shared = starts["alkaline_aa"]
    bends = len(_knots(shared)) - 1
    size = 2 + bends + 3 * len(ALKALINE)

    def build(theta: np.ndarray) -> dict[str, Parameters]:
        table = _bent(shared, theta[2 : 2 + bends])
        built = {}
        for place, name in enumerate(ALKALINE):
            q, r, a = theta[2 + bends + 3 * place : 5 + bends + 3 * place]
            own = dict(starts[name])
            own.update({knot: table[knot] for knot in _knots(shared)})
            own["n"] = shared["n"] * math.exp(theta[0])
            own["r1"] = shared["r1"] * math.exp(theta[1])
            own["Q"] *= math.exp(q)
            own["R0"] *= math.exp(r)
            own["a"] *= math.exp(a)
            built[name] = own
        return built

    trust = [TRUST["n"], TRUST["r1"], *[TRUST["U"]] * bends]
    trust += [TRUST["Q"], TRUST["R0"], TRUST["a"]] * len(ALKALINE)
    assert len(trust) == size
    return _solve(build, trust, rows)


def fit_few(
    name: str, which: Sequence[str], starts: dict[str, Parameters], rows: Sequence[Duration]
) -> Parameters:
    """Fit some parameters of one model, the rest as they start."""
    bends = len(_knots(starts[name])) - 1 if "U" in which else 0
    plain = [each for each in which if each != "U"]

    def build(theta: np.ndarray) -> dict[str, Parameters]:
        own = _bent(starts[name], theta[len(plain) :]) if bends else dict(starts[name])
        for step, each in zip(theta, plain, strict=False):
            own[each] *= math.exp(step)
        return {name: own}

    return _solve(build, [TRUST[each] for each in plain] + [TRUST["U"]] * bends, rows)[name]


def _from_curves(model: CellModel, own: Parameters) -> Parameters:
    """Return the parameters of a model fitted to curves; what curves at one temperature leave open stays."""
    fitted = {"label": model.label, "Q": model.charge, "R0": model.resistance, "r1": model.growth}
    fitted |= {"a": model.rate, "n": RATE_EXPONENT, "r_power": GROWTH_POWER}
    voltages = [piece[0] for piece in model.pieces]
    c0, c1, c2, c3 = model.pieces[-1]
    width = DEPTHS[-1] - DEPTHS[-2]
    voltages.append(c0 + width * (c1 + width * (c2 + width * c3)))
    fitted |= {f"U({depth:g})": value for depth, value in zip(DEPTHS, voltages, strict=True)}
    kept = [key for key in own if key in ("Ea_R", "Ea_a", "band_low", "band_high") or key.startswith("f(")]
    return fitted | {key: own[key] for key in kept}


def fit_all() -> dict[str, Parameters]:
    """Return the parameters of every model."""
    starts, _ = read_starts()
    rows = read_durations()
    aside = kept_aside(rows)
    fitted_rows = [row for row in sound(rows) if row.row not in aside]

    def of(*names: str) -> list[Duration]:
        return [row for row in fitted_rows if row.model in names]

    found = {name: dict(starts[name]) for name in starts}
    found |= fit_alkaline(starts, of(*ALKALINE))
    # No row of a C cell: between its neighbours, with the table of the others.
    size_c = dict(found["alkaline_aa"]) | {
        key: starts["alkaline_c"][key] for key in ("label", "Q", "R0", "band_low", "band_high")
    }
    size_c["a"] = math.sqrt(found["alkaline_aa"]["a"] * found["alkaline_d"]["a"])
    found["alkaline_c"] = size_c
    button = dict(found["alkaline_aa"]) | {
        key: starts["alkaline_button"][key] for key in ("label", "Q", "R0", "a", "band_low", "band_high")
    }
    starts["alkaline_button"] = button
    found["alkaline_button"] = fit_few("alkaline_button", ("Q",), starts, of("alkaline_button"))
    for name, which in (
        ("lithium_coin", ("Q", "a")),
        ("lithium_iron", ("Q", "R0")),
        ("nimh", ("Q", "R0", "a")),
        ("carbon_zinc", ("Q", "a", "n")),
        ("lead_acid", ("Q", "R0", "r1", "a", "n", "U")),
    ):
        found[name] = fit_few(name, which, starts, of(name))
    curves = read_curves()
    for name, case, nominal in (("liion", "Chen2020", 5.0), ("lipo", "Ecker2015", 0.15625)):
        model = fit_curves([curves[case, rate] for rate in FITTED[case]], nominal)
        found[name] = _from_curves(model, starts[name])
    # A pouch cell is named for less than it holds to 2.5 V; a pack's label is the whole.
    found["lipo"]["label"] = 0.171
    # An 18650 is the same chemistry: its charge to 2.5 V is 1.014 times the label, its resistance
    # twice the AC impedance of data sheets (18 to 30 mΩ).
    found["liion_18650"] = dict(found["liion"]) | {"label": 2.5, "Q": 1.0139 * 2.5, "R0": 0.06}
    return {name: {key: float(f"{value:.5g}") for key, value in own.items()} for name, own in found.items()}


#: Parameters that no row bears on, by model: from memory, as they start.
_FITTED_KEYS = {
    **{name: ("Q", "R0", "r1", "a", "n", "U") for name in ALKALINE},
    "alkaline_c": ("r1", "a", "n", "U"),
    "alkaline_button": ("Q", "r1", "n", "U"),
    "lithium_coin": ("Q", "a"),
    "lithium_iron": ("Q", "R0"),
    "nimh": ("Q", "R0", "a"),
    "carbon_zinc": ("Q", "a", "n"),
    "lead_acid": ("Q", "R0", "r1", "a", "n", "U"),
    "liion": ("Q", "R0", "r1", "a", "U"),
    "lipo": ("Q", "R0", "r1", "a", "U"),
    "liion_18650": ("Q", "r1", "a", "U"),
}


def _provenance(model: str, name: str) -> tuple[str, str, str]:
    """Return source, locator and status of a parameter."""
    if name.startswith("f(") and model == "lead_acid":
        return "PANASONIC-LC-R061R3P", "capacity against temperature, 20 h rate", "printed"
    if name == "label" or name.startswith("band"):
        what = "the label Q and R0 belong to" if name == "label" else "judged after seeing all rows"
        return "FIT-BATTERIES", f"{model}: {what}", "computed"
    if ("U" if name.startswith("U(") else name) in _FITTED_KEYS[model]:
        return "FIT-BATTERIES", f"{model}: {name}", "computed"
    return "MEMORY", "", "from memory"


def write(found: dict[str, Parameters]) -> None:
    """Write the committed table."""
    _, units = read_starts()
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("model", "parameter", "value", "unit", "source", "locator", "status"))
        writer.writerow(("-",) * 7)
        for model, own in found.items():
            for name, value in own.items():
                unit = units.get(name, "V" if name.startswith("U(") else "1")
                writer.writerow((model, name, f"{value:.5g}", unit, *_provenance(model, name)))


def read_committed() -> dict[str, Parameters]:
    """Return the committed parameters."""
    committed: dict[str, Parameters] = {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        for line in list(csv.DictReader(file))[1:]:
            committed.setdefault(line["model"], {})[line["parameter"]] = float(line["value"])
    return committed


def differences(found: dict[str, Parameters], committed: dict[str, Parameters]) -> list[str]:
    """Return what differs by more than a solver's own freedom: 0.2 %, or 1 mV in a table."""
    said = []
    for model in sorted(found.keys() | committed.keys()):
        ours, theirs = found.get(model, {}), committed.get(model, {})
        for name in sorted(ours.keys() | theirs.keys()):
            if name not in ours or name not in theirs:
                said.append(f"{model} {name}: only in one of the two")
            elif not math.isclose(
                ours[name], theirs[name], rel_tol=2e-3, abs_tol=1e-3 if name.startswith("U(") else 1e-5
            ):
                said.append(f"{model} {name}: fitted {ours[name]}, committed {theirs[name]}")
    return said


def errors() -> dict[str, list[tuple[Duration, bool, float]]]:
    """Return, by model, each sound row, whether it is kept aside, and published over ours."""
    models = {name: cell_model(own) for name, own in read_committed().items()}
    rows = read_durations()
    aside = kept_aside(rows)
    found: dict[str, list[tuple[Duration, bool, float]]] = {}
    for row in sound(rows):
        ratio = row.hours / hours_of(row, models[row.model])
        found.setdefault(row.model, []).append((row, row.row in aside, ratio))
    return found


def table() -> str:
    """Return errors and band coverage as text."""
    committed = read_committed()
    lines = [
        f"{'model':16} {'rows':10} {'count':>5} {'median %':>9} {'worst %':>8}"
        f" {'inside band':>12} {'high/low':>9}"
    ]
    inside_all = total_all = 0
    for model, rows in errors().items():
        low, high = committed[model]["band_low"], committed[model]["band_high"]
        for name, flag in (("fitted", False), ("kept aside", True)):
            ratios = [ratio for _, aside, ratio in rows if aside is flag]
            if not ratios:
                if flag:
                    lines.append(f"{model:16} {'kept aside':10}     0   unchecked")
                continue
            gaps = [100 * abs(math.log(ratio)) for ratio in ratios]
            inside = sum(low <= ratio <= high for ratio in ratios)
            if flag:
                inside_all += inside
                total_all += len(ratios)
            lines.append(
                f"{model:16} {name:10} {len(ratios):5} {statistics.median(gaps):9.1f} {max(gaps):8.1f}"
                f" {inside:6}/{len(ratios):<5} {high / low:9.2f}"
            )
    for model in sorted(committed.keys() - errors().keys()):
        how = (
            "fitted to curves, checked live" if model in ("liion", "lipo") else "no published row: unchecked"
        )
        lines.append(f"{model:16} {how}")
    lines.append(f"kept aside, inside the band: {inside_all} of {total_all}")
    return "\n".join(lines)


def main(arguments: Sequence[str]) -> int:
    """Run the command line."""
    if "--table" in arguments:
        print(table())
        return 0
    found = fit_all()
    if "--write" in arguments:
        write(found)
        return 0
    said = differences(found, read_committed())
    print("\n".join(said) or "the fit gives the committed parameters")
    return 1 if said else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
