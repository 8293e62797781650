r"""Strings side by side on one source, or behind one shared resistor: their exact currents.

Theory of operation. Branches see one voltage v, which the common resistance lowers by the sum of all
currents: $v + R_c \sum I(v) = V$. All rows are stepped together (see `settling`). Where that does not
come to rest: the left side grows with v and bends upwards, so Newton's method in v, started above the
solution, comes down to it without ever crossing. Equal branches are one string with the common
resistance multiplied by their number, which is closed form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.errors import OutOfRangeError
from lampwright.physics.diodes import Diode, StringLaw
from lampwright.physics.settling import settle, settling
from lampwright.records import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class Branch:
    """Equal strings side by side, each with its own resistor.

    Attributes
    ----------
    diodes : tuple of Diode
        The LEDs of one string.
    resistance : float, not negative
        Of one string's resistor. [Ω]
    count : int, positive
        How many such strings.
    """

    diodes: tuple[Diode, ...]
    resistance: float
    count: int = 1


@quickly_made
@dataclass(frozen=True, slots=True)
class Solution:
    """Where a circuit settles.

    Attributes
    ----------
    terminal_voltage : float
        Over the branches, after the common resistance. [V]
    currents : tuple of float
        One per `Branch`, of one of its strings. [A]
    supply_current : float
        All strings together. [A]
    """

    terminal_voltage: float
    currents: tuple[float, ...]
    supply_current: float


def solve_parallel(
    open_circuit_voltage: float, common_resistance: float, branches: Sequence[Branch]
) -> Solution:
    """Return the currents of branches on one source, or behind one shared resistor.

    Parameters
    ----------
    open_circuit_voltage : float
        Of the source. [V]
    common_resistance : float, not negative
        All that carries every branch's current: source, wire, shared resistor. [Ω]
    branches : sequence of Branch
        In any order.

    Returns
    -------
    solution : Solution
        Voltage at the branches and current in each.

    Raises
    ------
    OutOfRangeError
        If the common resistance is negative, a count is not positive, or nothing limits a current.

    References
    ----------
    [BANWELL-2000], the closed form for one branch; the common voltage by Newton's method.

    Examples
    --------
    Two equal strings behind 10 Ω take what one would behind 20 Ω.

    >>> from lampwright.physics.diodes import diode_from_point, string_current
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> pair = solve_parallel(5.0, 10.0, [Branch((red,), 150.0, 2)])
    >>> pair.currents[0] == string_current(5.0, [red], 170.0)
    True
    """
    if common_resistance < 0:
        raise OutOfRangeError("a common resistance is not negative")
    if any(branch.count < 1 for branch in branches):
        raise OutOfRangeError("a branch stands for at least one string")
    if open_circuit_voltage <= 0 or not branches:
        voltage = max(open_circuit_voltage, 0.0)
        return Solution(voltage, (0.0,) * len(branches), 0.0)
    if len(branches) == 1:
        return _alone(open_circuit_voltage, common_resistance, branches[0])
    if common_resistance == 0:
        currents = tuple(
            StringLaw(branch.diodes, branch.resistance).current(open_circuit_voltage) for branch in branches
        )
        return _solution(open_circuit_voltage, currents, branches)
    return _together(open_circuit_voltage, common_resistance, branches)


def _solution(voltage: float, currents: tuple[float, ...], branches: Sequence[Branch]) -> Solution:
    supply_current = sum(branch.count * current for branch, current in zip(branches, currents, strict=True))
    return Solution(voltage, currents, supply_current)


def _alone(open_circuit_voltage: float, common_resistance: float, branch: Branch) -> Solution:
    """Solve equal strings only: the common resistance counts once for each of them."""
    law = StringLaw(branch.diodes, branch.resistance + branch.count * common_resistance)
    current = law.current(open_circuit_voltage)
    supply_current = branch.count * current
    return Solution(open_circuit_voltage - common_resistance * supply_current, (current,), supply_current)


def _together(open_circuit_voltage: float, common_resistance: float, branches: Sequence[Branch]) -> Solution:
    """Solve unlike strings: the quick way, and where that does not come to rest the sure one."""
    rows = []
    for branch in branches:
        row = settling(StringLaw(branch.diodes, branch.resistance), branch.count)
        if row is None:
            return _surely(open_circuit_voltage, common_resistance, branches)
        rows.append(row)
    found = settle(open_circuit_voltage, common_resistance, [(0.0, rows)])
    if found is None:
        return _surely(open_circuit_voltage, common_resistance, branches)
    return _solution(found[1], found[0], branches)


def _surely(open_circuit_voltage: float, common_resistance: float, branches: Sequence[Branch]) -> Solution:
    """Solve unlike strings by one Newton iteration on their common voltage."""
    laws = tuple(StringLaw(branch.diodes, branch.resistance) for branch in branches)
    counts = tuple(branch.count for branch in branches)
    # Fewer branches sag less: the lowest voltage any branch alone would leave is still above the answer.
    voltage = min(
        _alone(open_circuit_voltage, common_resistance, branch).terminal_voltage for branch in branches
    )
    for _ in range(200):
        total = 0.0
        slope = 0.0
        for law, count in zip(laws, counts, strict=True):
            current = law.current(voltage)
            total += count * current
            slope += count * law.conductance(current)
        step = (voltage + common_resistance * total - open_circuit_voltage) / (
            1.0 + common_resistance * slope
        )
        voltage -= step
        # A curve bends by at most 1/(2·A) per volt: after so small a step nothing is left but rounding.
        if abs(step) <= 1e-9 * open_circuit_voltage:
            break
    return _solution(voltage, tuple(law.current(voltage) for law in laws), branches)
