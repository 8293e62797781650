r"""Battery cells as fitted, and packs of them at one temperature and age.

Theory of operation. A cell is described by its depth of discharge z. Its voltage is $U(z) - I R(z)$, with
U a monotone cubic through a table and $R = R_0 (1 + r_1 z^p)$. Cold raises the resistance and the
charge lost to fast discharge; age takes charge away.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lampwright.errors import OutOfRangeError
from lampwright.physics.interpolation import Piece, cubic_pieces

GAS_CONSTANT = 8.314
"""Molar gas constant, as the fits of the temperature factors have it. [J/(mol·K)]"""
HOURS_PER_YEAR = 8766.0
_REFERENCE_KELVIN = 293.15


@dataclass(frozen=True, slots=True)
class CellModel:
    """One type of cell, as fitted.

    Attributes
    ----------
    label : float
        Printed capacity the parameters belong to. [A·h]
    charge : float
        Q, delivered by a very slow discharge. [A·h]
    resistance : float
        R₀, of a fresh cell at 20 °C. [Ω]
    growth, growth_power : float
        r₁ and p of the resistance's growth with depth. [1]
    rate, rate_exponent : float
        a and n of the charge lost to fast discharge. [1]
    activation_resistance, activation_rate : float
        How resistance and rate grow with cold. [J/mol]
    depths : tuple of float
        Knots of the voltage table. [1]
    pieces : tuple of Piece
        The cubics between them. [V]
    warmth : tuple of (float, float)
        Temperature [°C] and the part of the charge left there; empty where none is lost.
    """

    label: float
    charge: float
    resistance: float
    growth: float
    growth_power: float
    rate: float
    rate_exponent: float
    activation_resistance: float
    activation_rate: float
    depths: tuple[float, ...]
    pieces: tuple[Piece, ...]
    warmth: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Pack:
    """Cells in series and side by side, at one temperature and age; voltages are of the whole pack.

    Attributes
    ----------
    charge : float
        Q of one cell, temperature and age included. [A·h]
    full_charge : float
        Q of one cell, by which the current is scaled. [A·h]
    resistance : float
        R₀ of the pack. [Ω]
    growth, growth_power, rate, rate_exponent : float
        As in `CellModel`, at this temperature. [1]
    depths, pieces : tuple
        The pack's open-circuit voltage over depth. [V]
    packs_in_parallel : int
        Cells sharing the current. [1]
    leak : float
        Self-discharge of the pack, as a current. [A]
    """

    charge: float
    full_charge: float
    resistance: float
    growth: float
    growth_power: float
    rate: float
    rate_exponent: float
    depths: tuple[float, ...]
    pieces: tuple[Piece, ...]
    packs_in_parallel: int
    leak: float

    def open_circuit_voltage(self, depth: float) -> float:
        """Return the pack's voltage at no current. [V]."""
        at = min(max(bisect_right(self.depths, depth) - 1, 0), len(self.pieces) - 1)
        c0, c1, c2, c3 = self.pieces[at]
        t = depth - self.depths[at]
        return c0 + t * (c1 + t * (c2 + t * c3))

    def source_resistance(self, depth: float) -> float:
        """Return the pack's resistance at a depth. [Ω]."""
        return self.resistance * (1.0 + self.growth * math.pow(depth, self.growth_power))


def cell_model(parameters: Mapping[str, float]) -> CellModel:
    """Return a cell model from its table of parameters.

    Parameters
    ----------
    parameters : mapping of str to float
        ``label``, ``Q`` [A·h], ``R0`` [Ω], ``r1``, ``r_power``, ``a``, ``n`` [1], ``Ea_R``, ``Ea_a``
        [J/mol], knots ``U(z)`` [V], and ``f(T)`` [1] where charge is lost to cold.

    Returns
    -------
    model : CellModel
        The model.

    Raises
    ------
    OutOfRangeError
        If the voltage table does not fall.

    References
    ----------
    [FIT-BATTERIES], where the parameters come from.

    Examples
    --------
    >>> plain = {"label": 1, "Q": 1, "R0": 0.1, "r1": 0, "r_power": 1, "a": 0, "n": 1, "Ea_R": 0, "Ea_a": 0}
    >>> cell_model(plain | {"U(0)": 1.5, "U(1)": 1.0}).pieces
    ((1.5, -0.5, 0.0, 0.0),)
    """
    knots = sorted((float(name[2:-1]), value) for name, value in parameters.items() if name.startswith("U("))
    depths = tuple(depth for depth, _ in knots)
    voltages = tuple(value for _, value in knots)
    if any(after >= before for before, after in itertools.pairwise(voltages)):
        raise OutOfRangeError("a battery's voltage falls with depth, knot by knot")
    warmth = sorted((float(name[2:-1]), value) for name, value in parameters.items() if name.startswith("f("))
    return CellModel(
        label=parameters["label"],
        charge=parameters["Q"],
        resistance=parameters["R0"],
        growth=parameters["r1"],
        growth_power=parameters["r_power"],
        rate=parameters["a"],
        rate_exponent=parameters["n"],
        activation_resistance=parameters["Ea_R"],
        activation_rate=parameters["Ea_a"],
        depths=depths,
        pieces=cubic_pieces(depths, voltages),
        warmth=tuple(warmth),
    )


def temperature_factor(activation: float, ambient_temperature: float) -> float:
    r"""Return how much a quantity grows with cold: $\exp((E_a/8.314)(1/T - 1/293.15))$.

    The fits took 20 °C to 25 °C as one temperature; so does this: below 20 °C as given, 1 from 20 °C to
    25 °C, five kelvin less above.

    Parameters
    ----------
    activation : float, not negative
        Activation energy. [J/mol]
    ambient_temperature : float, above absolute zero
        Of the battery. [°C]

    Returns
    -------
    factor : float
        Above 1 in the cold, below 1 in the heat. [1]

    Raises
    ------
    OutOfRangeError
        If the temperature is not above absolute zero.

    References
    ----------
    [ARRHENIUS-1889], the exponential; the values of the activation energies are from memory, that of
    alkaline resistance held against [ENERGIZER-IR].

    Examples
    --------
    >>> round(temperature_factor(17000.0, -40.0), 1), temperature_factor(17000.0, 23.0)
    (6.0, 1.0)
    """
    if ambient_temperature < 20.0:
        kelvin = ambient_temperature + 273.15
    elif ambient_temperature <= 25.0:
        return 1.0
    else:
        kelvin = ambient_temperature - 5.0 + 273.15
    if not kelvin > 0:
        raise OutOfRangeError(f"{ambient_temperature} °C is not above absolute zero")
    return math.exp(activation / GAS_CONSTANT * (1.0 / kelvin - 1.0 / _REFERENCE_KELVIN))


def warmth_factor(warmth: Sequence[tuple[float, float]], ambient_temperature: float) -> float:
    """Return the part of the charge left at a temperature: straight lines between points.

    Parameters
    ----------
    warmth : sequence of (float, float)
        Temperatures and parts, rising. [°C], [1]
    ambient_temperature : float
        Of the battery. [°C]

    Returns
    -------
    factor : float
        At least a tenth; the last part above the last point. [1]

    References
    ----------
    [PANASONIC-LC-R061R3P], capacity against temperature.

    Examples
    --------
    >>> round(warmth_factor(((-15, 0.65), (0, 0.85), (25, 1.0)), 20.0), 3)
    0.97
    """
    if not warmth:
        return 1.0
    if ambient_temperature >= warmth[-1][0]:
        return warmth[-1][1]
    (t0, f0), (t1, f1) = warmth[0], warmth[1]
    for before, after in itertools.pairwise(warmth):
        if ambient_temperature >= before[0]:
            (t0, f0), (t1, f1) = before, after
    return max(0.1, f0 + (f1 - f0) * (ambient_temperature - t0) / (t1 - t0))


def peukert_time(capacity: float, current: float, exponent: float, rated_time: float | None = None) -> float:
    r"""Return the hours of Peukert's law, for comparison: $t = H (C/(I H))^k$.

    The law has two conventions, and they differ much: a capacity rated at 1 A ($t = C/I^k$), and one
    rated over ``rated_time`` hours. Our own hours do not rest on it.

    Parameters
    ----------
    capacity : float, positive
        Rated capacity. [A·h]
    current : float, positive
        Discharge current. [A]
    exponent : float, at least 1
        k of the battery. [1]
    rated_time : float, positive, optional
        Hours over which the capacity is rated; left out, it is rated at 1 A. [h]

    Returns
    -------
    time : float
        Until empty. [h]

    Raises
    ------
    OutOfRangeError
        If an argument is outside the range given above.

    References
    ----------
    [PEUKERT-ARTICLE], the convention of 1 A; the other from memory.

    Examples
    --------
    >>> round(peukert_time(100.0, 5.0, 1.2), 1), round(peukert_time(100.0, 5.0, 1.2, 20.0), 1)
    (14.5, 20.0)
    """
    if not (capacity > 0 and current > 0 and exponent >= 1) or (
        rated_time is not None and not rated_time > 0
    ):
        raise OutOfRangeError("capacity, current and time are positive, the exponent at least 1")
    hours = capacity if rated_time is None else rated_time
    return hours * math.pow(capacity / (current * hours), exponent)


def make_pack(
    model: CellModel,
    cells_in_series: int,
    packs_in_parallel: int = 1,
    capacity: float | None = None,
    ambient_temperature: float = 20.0,
    age_years: float = 0.0,
    self_discharge: float = 0.0,
) -> Pack:
    """Return a pack of cells.

    A cell of another label has its charge in proportion and its resistance inversely so. A year on the
    shelf takes a part of the charge.

    Parameters
    ----------
    model : CellModel
        The cell.
    cells_in_series, packs_in_parallel : int, at least 1
        Single cells one after the other, and such rows side by side. [1]
    capacity : float, positive, optional
        Label of one cell, if it differs from the model's. [A·h]
    ambient_temperature : float
        Of the battery. [°C]
    age_years : float, not negative
        Since it was made or charged. [a]
    self_discharge : float, from 0 to below 1
        Part of the charge lost in a year. [1/a]

    Returns
    -------
    pack : Pack
        The pack.

    Raises
    ------
    OutOfRangeError
        If a count or the capacity is not positive.

    References
    ----------
    [FIT-BATTERIES], the scaling rules beside the parameters.

    Examples
    --------
    >>> plain = {"label": 1, "Q": 1, "R0": 0.1, "r1": 0, "r_power": 1, "a": 0, "n": 1, "Ea_R": 0, "Ea_a": 0}
    >>> model = cell_model(plain | {"U(0)": 1.5, "U(1)": 1.0})
    >>> pack = make_pack(model, 3, 2)
    >>> pack.open_circuit_voltage(0.5), round(pack.source_resistance(0.5), 3)
    (3.75, 0.15)
    """
    if cells_in_series < 1 or packs_in_parallel < 1:
        raise OutOfRangeError("a pack has at least one cell")
    scale = 1.0 if capacity is None else capacity / model.label
    if not scale > 0 or not 0 <= self_discharge < 1 or age_years < 0:
        raise OutOfRangeError("capacity is positive, age not negative, self-discharge below 1")
    full = model.charge * scale * (1.0 - self_discharge) ** age_years
    # In the heat the resistance is left as at 20 °C: less of it would only draw more from the battery.
    cold = max(1.0, temperature_factor(model.activation_resistance, ambient_temperature))
    lost_a_year = -math.log1p(-self_discharge)
    return Pack(
        charge=full * warmth_factor(model.warmth, ambient_temperature),
        full_charge=full,
        resistance=model.resistance / scale * cold * cells_in_series / packs_in_parallel,
        growth=model.growth,
        growth_power=model.growth_power,
        rate=model.rate * temperature_factor(model.activation_rate, ambient_temperature),
        rate_exponent=model.rate_exponent,
        depths=model.depths,
        pieces=tuple(
            (
                c0 * cells_in_series,
                c1 * cells_in_series,
                c2 * cells_in_series,
                c3 * cells_in_series,
            )
            for c0, c1, c2, c3 in model.pieces
        ),
        packs_in_parallel=packs_in_parallel,
        leak=packs_in_parallel * full * lost_a_year / HOURS_PER_YEAR,
    )
