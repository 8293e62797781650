r"""An LED's curve and the exact current of a string of LEDs behind a resistance.

Theory of operation. An LED obeys $V = n V_t \ln(1 + I/I_s) + I R_s$. In series with a resistance the
current has a closed form by the Wright omega function (Banwell and Jayakumar). Like LEDs in series are
one such diode with everything summed, so their string is closed form too. Unlike LEDs start from the
closed form of the diode they jointly resemble, and Newton's method in the logarithm of the current does
the rest. $I_s$ is kept as a logarithm, for a blue LED's is far below what one would print, and it is
never neglected, for some published curves have one of a tenth of a microampere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.errors import OutOfRangeError

BOLTZMANN = 1.38064852e-23
"""Boltzmann constant, as general circuit simulators have it. [J/K]"""
ELEMENTARY_CHARGE = 1.6021766208e-19
"""Elementary charge, from the same adjustment of the constants. [C]"""
_ZERO_CELSIUS = 273.15

# exp() of more than this is no number any more; ideality beyond ten fits no published curve.
_LARGEST_EXPONENT = 700.0
_LARGEST_IDEALITY = 10.0
# From here on the series of the omega function is within 5e-4 of it; a step leaves less than 1e-16.
_SERIES_SUFFICES = 8.0
# Beyond this the 1 in ln(1 + e^x) is below the last digit.
ONE_IS_LOST = 37.0


@dataclass(frozen=True, slots=True)
class Diode:
    """The three numbers of an LED's curve.

    Attributes
    ----------
    emission_voltage : float, positive
        Ideality factor times thermal voltage. [V]
    log_saturation_current : float
        Natural logarithm of the saturation current in amperes. [1]
    series_resistance : float, not negative
        Resistance inside the LED. [Ω]
    """

    emission_voltage: float
    log_saturation_current: float
    series_resistance: float


def thermal_voltage(temperature: float) -> float:
    """Return the thermal voltage $V_t = k T / q$.

    Parameters
    ----------
    temperature : float, above absolute zero
        Of the junction. [°C]

    Returns
    -------
    thermal_voltage : float
        Voltage. [V]

    Raises
    ------
    OutOfRangeError
        If the temperature is not above absolute zero.

    References
    ----------
    [CODATA-2014], tables of k and e.

    Examples
    --------
    >>> round(thermal_voltage(27.0), 8)
    0.02586492
    """
    kelvin = temperature + _ZERO_CELSIUS
    if not kelvin > 0:
        raise OutOfRangeError(f"{temperature} °C is not above absolute zero")
    return BOLTZMANN * kelvin / ELEMENTARY_CHARGE


def diode_from_point(
    forward_voltage: float,
    forward_current: float,
    ideality: float,
    series_resistance: float,
    temperature: float,
) -> Diode:
    r"""Return the diode whose curve passes through one data sheet point.

    $\ln I_s = \ln I_F - \ln(e^{x} - 1)$ with $x = (V_F - I_F R_s)/(n V_t)$: the exact inverse of the
    curve, so that the point is met whatever the ideality.

    Parameters
    ----------
    forward_voltage : float
        At ``forward_current``; above what the series resistance takes. [V]
    forward_current : float, positive
        Current of the point. [A]
    ideality : float, above 0, at most 10
        Ideality factor n. [1]
    series_resistance : float, not negative
        Resistance inside the LED. [Ω]
    temperature : float
        Of the junction. [°C]

    Returns
    -------
    diode : Diode
        The curve.

    Raises
    ------
    OutOfRangeError
        If an argument is outside the range given above.

    References
    ----------
    [SHOCKLEY-1949], the junction law, solved for the saturation current.

    Examples
    --------
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> forward_voltage(red, 0.02)
    2.0
    """
    if not forward_current > 0:
        raise OutOfRangeError("the current of a data sheet point is positive")
    if not 0 < ideality <= _LARGEST_IDEALITY:
        raise OutOfRangeError(f"an ideality factor of {ideality} fits no LED: above 0, at most 10")
    if series_resistance < 0:
        raise OutOfRangeError("a series resistance is not negative")
    junction_voltage = forward_voltage - forward_current * series_resistance
    if not junction_voltage > 0:
        raise OutOfRangeError("the series resistance alone takes the whole forward voltage")
    emission_voltage = ideality * thermal_voltage(temperature)
    x = junction_voltage / emission_voltage
    # ln(e^x - 1), written so that it neither overflows nor cancels.
    log_saturation_current = math.log(forward_current) - (x + math.log(-math.expm1(-x)))
    return Diode(emission_voltage, log_saturation_current, series_resistance)


def forward_voltage(diode: Diode, current: float) -> float:
    r"""Return the voltage over an LED at a current: $V = n V_t \ln(1 + I/I_s) + I R_s$.

    Parameters
    ----------
    diode : Diode
        The LED's curve.
    current : float, not negative
        Current through it. [A]

    Returns
    -------
    forward_voltage : float
        Voltage. [V]

    Raises
    ------
    OutOfRangeError
        If the current is negative.

    References
    ----------
    [SHOCKLEY-1949], the junction law; ideality and series resistance are later additions.

    Examples
    --------
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> round(forward_voltage(red, 0.01), 3), forward_voltage(red, 0.0)
    (1.914, 0.0)
    """
    if current <= 0:
        if current < 0:
            raise OutOfRangeError("a forward current is not negative")
        return 0.0
    # ln(1 + I/Is) from the two logarithms, without overflow.
    x = math.log(current) - diode.log_saturation_current
    x = x + math.log1p(math.exp(-x)) if x > 0 else math.log1p(math.exp(x))
    return diode.emission_voltage * x + current * diode.series_resistance


def wright_omega(z: float) -> float:
    r"""Return the real solution of $\omega + \ln \omega = z$, to a few units in the last place.

    Parameters
    ----------
    z : float
        Any real number; a computation by way of $e^z$ would overflow from 710 on. [1]

    Returns
    -------
    omega : float
        Positive. [1]

    References
    ----------
    [TOMS-917], starting values by region; [TOMS-443], the polishing step; [CORLESS-1996], identities
    and the series for large z.

    Examples
    --------
    >>> wright_omega(1.0)
    1.0
    >>> round(wright_omega(0.0), 12)
    0.567143290410
    """
    log = math.log
    if z > _SERIES_SUFFICES:
        # Three terms of the series for large z lie so near that one step ends at the last digit.
        omega = log(z)
        omega = z - omega + omega * (1.0 + (omega - 2.0) / (2.0 * z)) / z
        residual = z - omega - log(omega)
        p = 1.0 + omega
        t = 2.0 * p * (p + residual / 1.5)
        return omega + omega * residual * (t - residual) / (p * (t - 2.0 * residual))
    if z > 2.0:
        omega = z - log(z)
    elif z >= -2.0:
        omega = math.log1p(math.exp(z))
    else:
        omega = math.exp(z)
        if z < -_LARGEST_EXPONENT:
            return omega
        # One term of the series more: two steps then suffice over the whole left side.
        omega /= 1.0 + omega
    # Two steps, written out: this is the innermost sum of everything.
    residual = z - omega - log(omega)
    p = 1.0 + omega
    t = 2.0 * p * (p + residual / 1.5)
    omega += omega * residual * (t - residual) / (p * (t - 2.0 * residual))
    residual = z - omega - log(omega)
    p = 1.0 + omega
    t = 2.0 * p * (p + residual / 1.5)
    omega += omega * residual * (t - residual) / (p * (t - 2.0 * residual))
    return omega


def like_string_current(
    voltage: float, emission_voltage: float, log_saturation_current: float, resistance: float
) -> float:
    r"""Return the current of one diode behind a resistance, in closed form.

    With $A = n V_t$: $I = (A/R)\,\omega(z) - I_s$, $z = \ln(I_s R/A) + (V + I_s R)/A$.

    Parameters
    ----------
    voltage : float
        Over diode and resistance together. [V]
    emission_voltage : float, positive
        A of the diode; of like LEDs in series, their sum. [V]
    log_saturation_current : float
        Natural logarithm of $I_s$ in amperes. [1]
    resistance : float, not negative
        All resistance in the path. [Ω]

    Returns
    -------
    current : float
        Zero where the voltage is not positive. [A]

    Raises
    ------
    OutOfRangeError
        If there is no resistance and the current would pass all bounds.

    References
    ----------
    [BANWELL-2000], the closed form, here by the Wright omega function of [TOMS-917].

    Examples
    --------
    >>> round(like_string_current(5.0, 0.05, -42.0, 150.0), 6)
    0.020627
    """
    if voltage <= 0:
        return 0.0
    if resistance <= 0:
        x = voltage / emission_voltage
        # Is·(e^x − 1) by logarithms: either factor alone may be no number.
        exponent = x + math.log(-math.expm1(-x)) + log_saturation_current
        if exponent > _LARGEST_EXPONENT:
            raise OutOfRangeError("no resistance anywhere: the current has no bound")
        return math.exp(exponent)
    saturation_current = math.exp(log_saturation_current)
    scale = emission_voltage / resistance
    drop_of_saturation = saturation_current * resistance
    omega = wright_omega(
        log_saturation_current - math.log(scale) + (voltage + drop_of_saturation) / emission_voltage
    )
    current = omega * scale - saturation_current
    if current < 1e3 * saturation_current:
        # The difference above has lost digits: polish x = ln(1 + I/Is) on A·x + R·Is·(e^x − 1) = V.
        x = math.log1p(max(current / saturation_current, 0.0))
        for _ in range(4):
            grown = drop_of_saturation * math.exp(x)
            residual = emission_voltage * x + drop_of_saturation * math.expm1(x) - voltage
            x -= residual / (emission_voltage + grown)
        current = saturation_current * math.expm1(x)
    return current


def _mixed_string_current(
    voltage: float, diodes: Sequence[tuple[float, float]], resistance: float, start: float
) -> float:
    """Return the current of unlike diodes in series: Newton in u = ln I from a start value."""
    if start <= 0:
        return 0.0
    u = math.log(start)
    for _ in range(100):
        current = math.exp(u)
        slope = resistance * current
        total = slope - voltage
        for emission_voltage, log_saturation_current in diodes:
            x = u - log_saturation_current
            if x > ONE_IS_LOST:
                total += emission_voltage * x
                slope += emission_voltage
            elif x > 0:
                small = math.exp(-x)
                total += emission_voltage * (x + math.log1p(small))
                slope += emission_voltage / (1.0 + small)
            else:
                grown = math.exp(x)
                total += emission_voltage * math.log1p(grown)
                slope += emission_voltage * grown / (1.0 + grown)
        step = total / slope
        # Far on the left the slope says little; a bounded step cannot overflow.
        u -= step if -5.0 < step < 5.0 else math.copysign(5.0, step)
        # What a step leaves is at most half its square: after so small a one only rounding is left.
        if -1e-8 < step < 1e-8:
            break
    return math.exp(u)


def string_current(voltage: float, diodes: Sequence[Diode], resistance: float) -> float:
    """Return the exact current of LEDs in series with a resistance.

    Parameters
    ----------
    voltage : float
        Over the whole string, resistor included. [V]
    diodes : sequence of Diode
        The LEDs, alike or not, in any order; none leaves the resistance alone.
    resistance : float, not negative
        Outside the LEDs; their own series resistances are added here. [Ω]

    Returns
    -------
    current : float
        Zero where the voltage is not positive. [A]

    Raises
    ------
    OutOfRangeError
        If there is no resistance at all and the current would pass all bounds.

    References
    ----------
    [BANWELL-2000], the closed form; unlike LEDs are polished by Newton's method.

    Examples
    --------
    Three red LEDs of 2 V on 9 V with 150 Ω: the sum by constant voltages says 20 mA, and so does the
    curve, because there the data sheet's point is met.

    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> round(string_current(9.0, (red, red, red), 150.0), 6)
    0.02
    """
    if voltage <= 0:
        return 0.0
    return StringLaw(diodes, resistance).current(voltage)


class StringLaw:
    """A string prepared for many voltages: what does not change is summed once.

    Parameters
    ----------
    diodes : sequence of Diode
        The LEDs of the string.
    resistance : float, not negative
        Outside the LEDs. [Ω]

    References
    ----------
    [BANWELL-2000], the closed form; unlike LEDs are polished by Newton's method.

    Examples
    --------
    >>> red = diode_from_point(2.0, 0.02, 2.0, 5.0, 25.0)
    >>> law = StringLaw((red,) * 3, 150.0)
    >>> round(law.current(9.0), 6), law.current(0.0)
    (0.02, 0.0)
    """

    __slots__ = ("_unlike", "emission_voltage", "log_saturation_current", "resistance")

    def __init__(self, diodes: Sequence[Diode], resistance: float) -> None:
        total = 0.0
        weighted = 0.0
        ohms = resistance
        unlike = False
        first = diodes[0] if diodes else None
        for diode in diodes:
            total += diode.emission_voltage
            weighted += diode.emission_voltage * diode.log_saturation_current
            ohms += diode.series_resistance
            if first is not None and diode is not first:
                unlike = unlike or diode.log_saturation_current != first.log_saturation_current
        self.emission_voltage = total
        self.log_saturation_current = weighted / total if total else 0.0
        if first is not None and not unlike:
            self.log_saturation_current = first.log_saturation_current
        self.resistance = ohms
        self._unlike = (
            tuple([(diode.emission_voltage, diode.log_saturation_current) for diode in diodes])
            if unlike
            else ()
        )

    @property
    def alike(self) -> bool:
        """Whether the string is one diode behind a resistance, and so in closed form."""
        return not self._unlike and self.emission_voltage > 0 and self.resistance > 0

    @property
    def unlike(self) -> tuple[tuple[float, float], ...]:
        """Emission voltage [V] and ln Is of each LED where they are not all alike; else nothing."""
        return self._unlike

    def current(self, voltage: float) -> float:
        """Return the current at a voltage over the whole string, in A."""
        if voltage <= 0:
            return 0.0
        if self.emission_voltage == 0:
            if self.resistance <= 0:
                raise OutOfRangeError("no resistance anywhere: the current has no bound")
            return voltage / self.resistance
        current = like_string_current(
            voltage, self.emission_voltage, self.log_saturation_current, self.resistance
        )
        if self._unlike:
            current = _mixed_string_current(voltage, self._unlike, self.resistance, current)
        return current

    def conductance(self, current: float) -> float:
        """Return the slope dI/dV of the string where it carries a current, in S."""
        if self._unlike:
            slope = self.resistance
            for emission_voltage, log_saturation_current in self._unlike:
                slope += emission_voltage / (current + math.exp(log_saturation_current))
        elif self.emission_voltage == 0:
            slope = self.resistance
        else:
            slope = self.resistance + self.emission_voltage / (
                current + math.exp(self.log_saturation_current)
            )
        return 1.0 / slope
