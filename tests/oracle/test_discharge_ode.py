"""The quadrature over depth against an ODE solver in time, on every kind of load.

Written apart from the engine: voltage tables by SciPy's PCHIP, the circuit by bracketing, q′ by a
difference of the closed formula, time by DOP853 with an event at the end.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from lampwright.physics.batteries import make_pack
from lampwright.physics.circuits import Branch
from lampwright.physics.diodes import diode_from_point
from lampwright.physics.discharge import discharge
from lampwright.physics.loads import (
    ConstantCurrent,
    ConstantPower,
    Converter,
    Load,
    Resistor,
    strings_load,
)
from lampwright.planner.feeding import model_of
from lampwright.tables.batteries import model_parameters
from tests.marks import agree, published

Law = Callable[[float], float]

RED = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
WHITE = diode_from_point(3.2, 0.02, 2.8, 9.0, 25.0)


def _row(diode: object, ohms: float, count: int) -> Law:
    """Return the current of equal rows of one LED each, by bracketing the LED's own curve."""
    a, log_is, rs = diode.emission_voltage, diode.log_saturation_current, diode.series_resistance

    def law(voltage: float) -> float:
        if voltage <= 0:
            return 0.0

        def over(u: float) -> float:
            current = math.exp(u)
            x = u - log_is
            junction = a * (x + math.log1p(math.exp(-x)) if x > 0 else math.log1p(math.exp(x)))
            return junction + current * (rs + ohms) - voltage

        return count * math.exp(brentq(over, -200.0, 5.0, xtol=1e-15, rtol=1e-15))

    return law


def _sum(*laws: Law) -> Law:
    return lambda voltage: sum(law(voltage) for law in laws)


def _buck(inner: Law, volts: float, drop: float, efficiency: float) -> Law:
    def law(voltage: float) -> float:
        output = min(volts, max(voltage - drop, 0.0))
        return output * inner(output) / (efficiency * voltage)

    return law


def _boost(inner: Law, volts: float, efficiency: float) -> Law:
    def law(voltage: float) -> float:
        output = max(volts, voltage)
        return output * inner(output) / (efficiency * voltage)

    return law


WHITES = (Branch((WHITE,), 75.0, 10),)
MIXED = (Branch((WHITE,), 75.0, 4), Branch((RED,), 120.0, 6))
whites = _row(WHITE, 75.0, 10)
mixed = _sum(_row(WHITE, 75.0, 4), _row(RED, 120.0, 6))

# name: battery, cells, load, the same as a law, stop, duty, session, lowest stable voltage
CASES: dict[str, tuple[str, int, Load, Law, float, float, float]] = {
    "current": ("alkaline_aa", 4, ConstantCurrent(0.15), lambda v: 0.15, 3.6, 1.0, 1.0),
    "current-in-sessions": ("alkaline_aa", 4, ConstantCurrent(0.15), lambda v: 0.15, 3.6, 0.5, 0.125),
    "power": ("alkaline_9v", 6, ConstantPower(0.6), lambda v: 0.6 / v, 6.0, 1.0, 1.0),
    "power-lead": ("lead_acid", 6, ConstantPower(3.0), lambda v: 3.0 / v, 10.5, 1.0, 1.0),
    "resistance": ("nimh", 4, Resistor(20.0), lambda v: v / 20.0, 4.0, 1.0, 1.0),
    "resistance-coin": ("lithium_coin", 1, Resistor(1500.0), lambda v: v / 1500.0, 2.0, 1.0, 1.0),
    "whites": ("alkaline_aa", 3, strings_load(WHITES), whites, 3.0, 1.0, 1.0),
    "whites-faded": ("alkaline_aa", 3, strings_load(WHITES), whites, 2.6, 1.0, 1.0),
    "mixed": ("alkaline_aa", 3, strings_load(MIXED), mixed, 2.7, 0.5, 1.0),
    "boost": (
        "alkaline_aa",
        2,
        Converter("boost", 5.0, strings_load(MIXED), 0.85),
        _boost(mixed, 5.0, 0.85),
        1.8,
        1.0,
        1.0,
    ),
    "boost-passing": (
        "liion",
        1,
        Converter("boost", 3.7, strings_load(MIXED), 0.9),
        _boost(mixed, 3.7, 0.9),
        3.0,
        1.0,
        1.0,
    ),
    "buck-dropping": (
        "alkaline_aa",
        4,
        Converter("buck", 4.2, strings_load(WHITES), 0.9, 0.5),
        _buck(whites, 4.2, 0.5, 0.9),
        3.6,
        1.0,
        1.0,
    ),
    "linear-dropping": (
        "nimh",
        4,
        Converter("linear", 3.6, strings_load(MIXED), 1.0, 1.2),
        lambda v: mixed(min(3.6, max(v - 1.2, 0.0))),
        4.1,
        1.0,
        1.0,
    ),
}


@pytest.mark.parametrize("name", CASES)
@published(
    "GOLUB-WELSCH-1969",
    "SciPy DOP853 on the same model",
    of="lampwright.physics.discharge.discharge",
    kind="oracle",
)
def test_quadrature_against_ode(name: str) -> None:
    battery, cells, load, law, stop, duty, session = CASES[name]
    keys = {key: row.value for key, row in model_parameters()[battery].items()}
    knots = sorted((float(key[2:-1]), value) for key, value in keys.items() if key.startswith("U("))
    table = PchipInterpolator([z for z, _ in knots], [u for _, u in knots])
    part = 0.97 if battery == "lead_acid" else 1.0
    leak = 0.03

    def resistance(z: float) -> float:
        return cells * keys["R0"] * (1 + keys["r1"] * z ** keys["r_power"])

    def current(z: float) -> float:
        emf, behind = cells * float(table(z)), resistance(z)
        # The upper of two crossings is the one that lasts: come down from the open-circuit voltage.
        high, low = emf, emf
        step = 0.01 * emf
        while low + behind * law(low) > emf:
            low -= step
        voltage = brentq(lambda v: v + behind * law(v) - emf, low, high, xtol=1e-15, rtol=1e-14)
        return law(voltage)

    def charge(z: float) -> float:
        mean = current(z) * duty * math.sqrt(session)
        return z * keys["Q"] * part / (1 + keys["a"] * (mean / keys["Q"]) ** keys["n"])

    own = -math.log1p(-leak) * keys["Q"] / 8766.0

    def rate(_: float, z: list[float]) -> list[float]:
        h = 1e-5
        low = max(z[0] - h, 0.0)
        slope = (charge(z[0] + h) - charge(low)) / (z[0] + h - low)
        return [(current(z[0]) * duty + own / session) / slope]

    def ended(_: float, z: list[float]) -> float:
        return cells * float(table(z[0])) - resistance(z[0]) * law(stop) - stop

    ended.terminal = True  # type: ignore[attr-defined]
    pack = make_pack(model_of(battery), cells, 1, None, 20.0, 0.0, leak)
    ours = discharge(pack, load, (stop,), duty, session)
    assert ours.ended_by == "stop"
    hours = ours.end.time / 3600
    solution = solve_ivp(
        rate, (0, 2 * hours), [0.0], method="DOP853", events=ended, rtol=1e-8, atol=1e-11, max_step=hours / 25
    )
    ends = float(solution.t_events[0][0])
    agree(hours, ends, rel=1e-5, why="0.001 %: four Gauss nodes an interval")
    times = discharge(pack, load, (stop,), duty, session, curve=False)
    assert times.ended_by == "stop"
    assert times.time == ()
    agree(times.end.time / 3600, ends, rel=1e-5, why="0.001 %: three Gauss nodes an interval")
