"""String currents of thousands of cases at once; the only place where physics uses numpy.

For tables, histograms and sweeps. numpy is imported inside the functions: importing this module, and
with it everything that answers one question, stays light. Same formulas as in `diodes`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from lampwright.physics.diodes import StringLaw

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import ArrayLike, NDArray

#: Cases worked at once: what fits into the processor's nearer memory.
_CHUNK = 8192


def wright_omega_many(z: ArrayLike) -> NDArray[float64]:
    r"""Return the real solutions of $\omega + \ln \omega = z$.

    Parameters
    ----------
    z : array, any shape
        Any real numbers above −700. [1]

    Returns
    -------
    omega : array, the shape of z
        Positive. [1]

    References
    ----------
    [TOMS-917], starting values by region; [TOMS-443], the polishing step.

    Examples
    --------
    >>> wright_omega_many([1.0]).tolist()
    [1.0]
    """
    import numpy as np

    z = np.asarray(z, dtype=float)
    large = z > 2.0
    if large.all():
        omega: NDArray[float64] = z - np.log(z)
    else:
        omega = np.where(large, z - np.log(np.maximum(z, 1.0)), np.log1p(np.exp(np.minimum(z, 2.0))))
    p = np.empty_like(omega)
    t = np.empty_like(omega)
    for _ in range(2):
        # In place: at this length memory traffic costs as much as arithmetic.
        residual = np.log(omega)
        np.subtract(z, residual, out=residual)
        residual -= omega
        np.add(omega, 1.0, out=p)
        np.multiply(residual, 2.0 / 3.0, out=t)
        t += p
        t *= p
        t *= 2.0
        t -= residual
        # r·(t − r) over p·(t − 2r): one division for the whole step.
        share = t * residual
        t -= residual
        t *= p
        share /= t
        share += 1.0
        omega *= share
    return omega


def string_currents(
    voltages: ArrayLike,
    emission_voltages: ArrayLike,
    log_saturation_currents: ArrayLike,
    resistances: ArrayLike,
) -> NDArray[float64]:
    """Return the currents of many strings of like LEDs, each one diode with everything summed.

    Parameters
    ----------
    voltages : array
        Over each string, resistor included. [V]
    emission_voltages : array, positive
        Of each string: the sum over its LEDs. [V]
    log_saturation_currents : array
        Natural logarithms of the saturation currents in amperes. [1]
    resistances : array, positive
        All resistance of each string. [Ω]

    Returns
    -------
    currents : array
        In the common shape of the arguments; zero where the voltage is not positive. [A]

    References
    ----------
    [BANWELL-2000], the closed form, by the Wright omega function of [TOMS-917].

    Examples
    --------
    >>> string_currents([5.0, 0.0], 0.05, -42.0, 150.0).round(6).tolist()
    [0.020627, 0.0]
    """
    import numpy as np

    volts, emission, log_saturation, ohms = np.broadcast_arrays(
        *(
            np.asarray(each, dtype=float)
            for each in (voltages, emission_voltages, log_saturation_currents, resistances)
        )
    )
    found = np.empty(volts.shape)
    flat = found.reshape(-1)
    parts = [each.reshape(-1) for each in (volts, emission, log_saturation, ohms)]
    for start in range(0, flat.size, _CHUNK):
        v, a, s, r = (each[start : start + _CHUNK] for each in parts)
        saturation = np.exp(s)
        scale = a / r
        drop = saturation * r
        current = wright_omega_many(s - np.log(scale) + (v + drop) / a) * scale - saturation
        # Near cut-off the difference loses digits: polish x = ln(1 + I/Is) where the current is small.
        small = current < 1e3 * saturation
        if small.any():
            v, a, drop, saturation = v[small], a[small], drop[small], saturation[small]
            x = np.log1p(np.maximum(current[small] / saturation, 0.0))
            for _ in range(4):
                x -= (a * x + drop * np.expm1(x) - v) / (a + drop * np.exp(x))
            current[small] = saturation * np.expm1(x)
        flat[start : start + _CHUNK] = current
    found[volts <= 0] = 0.0
    return found


class ManyStrings:
    """Strings that are solved again and again at other voltages, as those along a feed are.

    Parameters
    ----------
    strings : sequence of (StringLaw, int)
        Strings of like LEDs, and how many of each stand at one point.

    References
    ----------
    [BANWELL-2000], the closed form.

    Examples
    --------
    >>> from lampwright.physics.diodes import Diode
    >>> pair = ManyStrings([(StringLaw((Diode(0.05, -42.0, 5.0),), 145.0), 2)])
    >>> currents, slopes = pair.currents_and_slopes([5.0])
    >>> round(currents[0], 6)
    0.041254
    """

    def __init__(self, strings: Sequence[tuple[StringLaw, int]]) -> None:
        import numpy as np

        self.counts = np.array([count for _, count in strings], dtype=float)
        self.emission = np.array([law.emission_voltage for law, _ in strings])
        self.log_saturation = np.array([law.log_saturation_current for law, _ in strings])
        self.ohms = np.array([law.resistance for law, _ in strings])
        self.saturation = np.exp(self.log_saturation)

    def currents_and_slopes(self, voltages: Sequence[float]) -> tuple[list[float], list[float]]:
        """Return, for each point, the current of its strings together in A and dI/dV in S."""
        currents = string_currents(voltages, self.emission, self.log_saturation, self.ohms)
        slopes = self.counts / (self.ohms + self.emission / (currents + self.saturation))
        together: list[float] = (currents * self.counts).tolist()
        return together, slopes.tolist()
