"""What a battery has to feed: rows of LEDs, plain loads, and converters in front of either.

Theory of operation. A load is its current as a function of the terminal voltage. Behind a source of
open-circuit voltage E and resistance R the terminal voltage solves $V + R I(V) = E$; each kind of load
does that in the way that suits it, and returns the slope dI/dV there too, which the discharge needs. A
constant power has two solutions or none: the higher voltage is the one that lasts, none is collapse.
A converter is a load that holds its own load at one voltage for as long as its input allows.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from lampwright.errors import OutOfRangeError
from lampwright.physics.circuits import Branch
from lampwright.physics.diodes import Diode, StringLaw, like_string_current
from lampwright.physics.settling import Follower, Settling, settle, settling

Point = tuple[float, float, float]
"""Current [A], terminal voltage [V], slope of current over voltage [S]."""


class Load(Protocol):
    """A current as a function of voltage."""

    def current_at(self, voltage: float) -> float:
        """Return the current at a terminal voltage. [A]."""

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return the point at which load and source agree; None where there is none."""

    def kinks(self) -> tuple[float, ...]:
        """Return the terminal voltages at which the law changes. [V]."""


@dataclass(frozen=True, slots=True)
class ConstantCurrent:
    """A load that takes the same current at any voltage.

    Attributes
    ----------
    load_current : float, positive
        Current taken. [A]
    """

    load_current: float

    def current_at(self, voltage: float) -> float:
        """Return the current: always the same. [A]."""
        return self.load_current

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return current, voltage and slope behind a source."""
        return self.load_current, open_circuit_voltage - resistance * self.load_current, 0.0

    def kinks(self) -> tuple[float, ...]:
        """Return no voltage: one law everywhere."""
        return ()


@dataclass(frozen=True, slots=True)
class ConstantPower:
    """A load that takes more current as the voltage falls.

    Attributes
    ----------
    load_power : float, positive
        Power taken. [W]
    """

    load_power: float

    def current_at(self, voltage: float) -> float:
        """Return the current at a voltage: $P/V$. [A]."""
        return self.load_power / voltage if voltage > 0 else math.inf

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return current, voltage and slope; None where the source cannot give the power."""
        inside = open_circuit_voltage * open_circuit_voltage - 4.0 * resistance * self.load_power
        if inside < 0 or open_circuit_voltage <= 0:
            return None
        voltage = 0.5 * (open_circuit_voltage + math.sqrt(inside))
        current = self.load_power / voltage
        return current, voltage, -current / voltage

    def kinks(self) -> tuple[float, ...]:
        """Return no voltage: one law everywhere."""
        return ()


@dataclass(frozen=True, slots=True)
class Resistor:
    """A plain resistance: a lamp filament once warm, a test load.

    Attributes
    ----------
    load_resistance : float, positive
        Resistance. [Ω]
    """

    load_resistance: float

    def current_at(self, voltage: float) -> float:
        """Return the current at a voltage. [A]."""
        return max(voltage, 0.0) / self.load_resistance

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return current, voltage and slope behind a source."""
        current = max(open_circuit_voltage, 0.0) / (resistance + self.load_resistance)
        return current, open_circuit_voltage - resistance * current, 1.0 / self.load_resistance

    def kinks(self) -> tuple[float, ...]:
        """Return no voltage: one law everywhere."""
        return ()


@dataclass(frozen=True, slots=True)
class Strings:
    """Rows of LEDs side by side.

    Attributes
    ----------
    laws : tuple of StringLaw
        The rows that differ.
    counts : tuple of int
        How many there are of each. [1]
    closed : bool
        Whether there is one kind of row, of like LEDs: its current is then a closed form.
    rows : tuple of Settling
        All rows, prepared to be solved together; empty where nothing limits one of them.
    """

    laws: tuple[StringLaw, ...]
    counts: tuple[int, ...]
    closed: bool = False
    rows: tuple[Settling, ...] = ()

    def current_at(self, voltage: float) -> float:
        """Return the current of all rows at a voltage. [A]."""
        return sum(count * law.current(voltage) for law, count in zip(self.laws, self.counts, strict=True))

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return current, voltage and slope behind a source."""
        if open_circuit_voltage <= 0:
            return 0.0, open_circuit_voltage, 0.0
        if self.closed:
            law, count = self.laws[0], self.counts[0]
            each = like_string_current(
                open_circuit_voltage,
                law.emission_voltage,
                law.log_saturation_current,
                law.resistance + count * resistance,
            )
            current = count * each
            return current, open_circuit_voltage - resistance * current, count * law.conductance(each)
        settled = settle(open_circuit_voltage, resistance, ((0.0, self.rows),)) if self.rows else None
        if settled is None:
            return _newton(self, open_circuit_voltage, resistance, guess)
        current = slope = 0.0
        for law, count, each in zip(self.laws, self.counts, settled[0], strict=True):
            current += count * each
            slope += count * law.conductance(each)
        return current, settled[1], slope

    def following(self) -> Callable[[float, float, float], Point | None]:
        """Return ``solve`` for sources that change little by little: each solution starts the next."""
        if self.closed:
            return self.solve
        follower = Follower(self.laws, self.counts, self.rows)

        def solve(open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
            point: Point | None = follower.follow(open_circuit_voltage, resistance)
            if point is None and follower.begin(guess):
                point = follower.follow(open_circuit_voltage, resistance)
            return self.solve(open_circuit_voltage, resistance, guess) if point is None else point

        return solve

    def with_slope(self, voltage: float) -> tuple[float, float]:
        """Return current [A] and slope of current over voltage [S] at a voltage."""
        total = slope = 0.0
        for law, count in zip(self.laws, self.counts, strict=True):
            each = law.current(voltage)
            total += count * each
            slope += count * law.conductance(each)
        return total, slope

    def kinks(self) -> tuple[float, ...]:
        """Return no voltage: one law everywhere."""
        return ()


def _newton(load: Strings, open_circuit_voltage: float, resistance: float, guess: float) -> Point:
    """Return the common voltage of unlike rows: Newton's method, kept inside its bracket."""
    low, high = 0.0, open_circuit_voltage
    voltage = guess if low < guess <= high else high
    for _ in range(80):
        current, slope = load.with_slope(voltage)
        residual = voltage + resistance * current - open_circuit_voltage
        if residual > 0:
            high = voltage
        else:
            low = voltage
        step = residual / (1.0 + resistance * slope)
        new = voltage - step
        if not low <= new <= high:
            new = 0.5 * (low + high)
        # A last step this small leaves an error of its square.
        done = abs(new - voltage) <= 1e-9 * open_circuit_voltage
        if done:
            return current + slope * (new - voltage), new, slope
        voltage = new
    return current, voltage, slope


KINDS = ("boost", "buck", "linear")


@dataclass(frozen=True, slots=True)
class Converter:
    r"""A converter that holds its load at one voltage while its input allows.

    Boost: constant input power below its output voltage, and passes the input on above it. Buck:
    constant input power while the input is above the output by the dropout; below, the output follows
    the input less the dropout. Linear: the load's own current, likewise.

    Attributes
    ----------
    kind : str
        boost, buck or linear.
    converter_voltage : float, positive
        Output voltage while it regulates. [V]
    load : Load
        What hangs on the output.
    converter_efficiency : float, above 0, at most 1
        Output power over input power; not used by a linear one. [1]
    dropout_voltage : float, not negative
        Least difference of input and output; not used by a boost. [V]
    """

    kind: str
    converter_voltage: float
    load: Load
    converter_efficiency: float = 1.0
    dropout_voltage: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise OutOfRangeError(f"a converter is one of {', '.join(KINDS)}, not {self.kind!r}")
        if not 0 < self.converter_efficiency <= 1 or not self.converter_voltage > 0:
            raise OutOfRangeError("a converter has a positive voltage and an efficiency up to 1")

    def output(self, voltage: float) -> float:
        """Return the output voltage at an input voltage. [V]."""
        if self.kind == "boost":
            return max(self.converter_voltage, voltage)
        return min(self.converter_voltage, max(voltage - self.dropout_voltage, 0.0))

    def input_at(self, output: float) -> float:
        """Return the input voltage at which the output is this: the lowest one, 0 if it never falls so low.

        [V]
        """
        if self.kind == "boost":
            return output if output > self.converter_voltage else 0.0
        return min(output, self.converter_voltage) + self.dropout_voltage

    def current_at(self, voltage: float) -> float:
        """Return the input current at an input voltage. [A]."""
        output = self.output(voltage)
        current = self.load.current_at(output)
        if self.kind == "linear":
            return current
        return output * current / (self.converter_efficiency * voltage) if voltage > 0 else math.inf

    def kinks(self) -> tuple[float, ...]:
        """Return the input voltage at which regulation ends or begins. [V]."""
        if self.kind == "boost":
            return (self.converter_voltage, *self.load.kinks())
        return (self.converter_voltage + self.dropout_voltage,)

    def solve(self, open_circuit_voltage: float, resistance: float, guess: float) -> Point | None:
        """Return current, voltage and slope at the input; None where the source cannot give the power."""
        held = self.load.current_at(self.converter_voltage)
        if self.kind == "linear":
            point = ConstantCurrent(held).solve(open_circuit_voltage, resistance, guess)
            if point and point[1] >= self.converter_voltage + self.dropout_voltage:
                return point
            inner = self.load.solve(
                open_circuit_voltage - self.dropout_voltage, resistance, guess - self.dropout_voltage
            )
            return inner and (inner[0], inner[1] + self.dropout_voltage, inner[2])
        power = ConstantPower(self.converter_voltage * held / self.converter_efficiency)
        point = power.solve(open_circuit_voltage, resistance, guess)
        if self.kind == "boost":
            if point is None or point[1] <= self.converter_voltage:
                return point
            through = self.load.solve(open_circuit_voltage, resistance / self.converter_efficiency, guess)
            if through is None or through[1] < self.converter_voltage:
                return None
            share = 1.0 / self.converter_efficiency
            return through[0] * share, through[1], through[2] * share
        least = self.converter_voltage + self.dropout_voltage
        if point is not None and point[1] >= least:
            return point
        if point is None and 0.5 * open_circuit_voltage > least:
            # The source fails while there is still input enough to regulate: collapse, no gentle drop.
            return None
        return self._dropped(open_circuit_voltage, resistance)

    def _dropped(self, open_circuit_voltage: float, resistance: float) -> Point | None:
        """Return the point of a buck whose output follows its input: bisection, then the slope."""
        low, high = self.dropout_voltage, open_circuit_voltage
        if high <= low:
            return 0.0, open_circuit_voltage, 0.0
        # From the top: the highest crossing is the stable one; a load of constant power may have two.
        if isinstance(self.load, ConstantPower):
            return ConstantPower(self.load.load_power / self.converter_efficiency).solve(
                open_circuit_voltage, resistance, high
            )
        for _ in range(200):
            voltage = 0.5 * (low + high)
            if voltage in (low, high):
                break
            if voltage + resistance * self.current_at(voltage) > open_circuit_voltage:
                high = voltage
            else:
                low = voltage
        current = self.current_at(voltage)
        small = 1e-6 * voltage
        slope = (self.current_at(voltage + small) - self.current_at(voltage - small)) / (2 * small)
        return current, voltage, slope


def strings_load(branches: Sequence[Branch]) -> Strings:
    """Return rows of LEDs as one load; equal rows are counted together.

    Parameters
    ----------
    branches : sequence of Branch
        The rows, each with its LEDs, its resistor and how many there are of it. [Ω]

    Returns
    -------
    load : Strings
        The load.

    Raises
    ------
    OutOfRangeError
        If there is no row.

    References
    ----------
    [LIEC], vol. I, parallel circuits: currents of branches add.

    Examples
    --------
    >>> from lampwright.physics.diodes import diode_from_point
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> round(strings_load((Branch((red,), 150.0, 3),)).current_at(5.0), 6)
    0.06
    """
    if not branches:
        raise OutOfRangeError("a load of rows needs at least one row")
    counts: dict[tuple[tuple[Diode, ...], float], int] = {}
    for branch in branches:
        key = (tuple(branch.diodes), branch.resistance)
        counts[key] = counts.get(key, 0) + branch.count
    laws = tuple(StringLaw(diodes, resistance) for diodes, resistance in counts)
    alike = len(laws) == 1 and all(len(set(diodes)) == 1 for diodes, _ in counts)
    rows = [settling(law, count) for law, count in zip(laws, counts.values(), strict=True)]
    limited = tuple(row for row in rows if row is not None)
    return Strings(laws, tuple(counts.values()), alike, limited if len(limited) == len(rows) else ())
