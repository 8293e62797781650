"""Copper conductors: size from gauge, resistance at a temperature, voltage lost on the way.

Theory of operation. A wire gauge number is a step of a geometric series of diameters between two fixed
ones. Copper's resistance is resistivity times length over area and grows in a straight line with
temperature. Current flows out and back, so a run of one metre has two metres of wire.
"""

from __future__ import annotations

import math

from lampwright.errors import OutOfRangeError

# Annealed copper, IEC 60028: not the 1.678e-8 of the pure element, which is 2.7 % too low for wire.
COPPER_RESISTIVITY = 1.7241e-8
COPPER_TEMPERATURE_COEFFICIENT = 0.00393
REFERENCE_TEMPERATURE = 20.0

# Diameters of 36 AWG and the 39 steps up to 0000 (whose n is −3): 0.005 in and 0.46 in.
_DIAMETER_36 = 0.127e-3
_RATIO_OF_39_STEPS = 92.0


def awg_diameter(awg: int) -> float:
    r"""Return the diameter of a solid wire by its gauge number: $d = 0.127\,mm · 92^{(36−n)/39}$.

    Parameters
    ----------
    awg : int, −3 (for 0000) to 40
        American wire gauge number. [1]

    Returns
    -------
    diameter : float
        Of the copper. [m]

    Raises
    ------
    OutOfRangeError
        If no such gauge is defined.

    References
    ----------
    [ASTM-B258], the formula for nominal diameters.

    Examples
    --------
    >>> round(awg_diameter(22) * 1000, 4)
    0.6438
    """
    if not -3 <= awg <= 40:
        raise OutOfRangeError(f"no wire gauge {awg}: they run from 0000 (−3) to 40")
    return _DIAMETER_36 * math.pow(_RATIO_OF_39_STEPS, (36 - awg) / 39)


def awg_area(awg: int) -> float:
    """Return the metal cross-section of a gauge: $A = π d² / 4$.

    Parameters
    ----------
    awg : int, −3 (for 0000) to 40
        American wire gauge number. [1]

    Returns
    -------
    conductor_area : float
        Metal cross-section. [mm²]

    Raises
    ------
    OutOfRangeError
        If no such gauge is defined.

    References
    ----------
    [ASTM-B258], nominal cross-sectional areas.

    Examples
    --------
    >>> round(awg_area(22), 4)
    0.3255
    """
    return math.pi / 4 * (awg_diameter(awg) * 1000) ** 2


def at_temperature(resistance: float, temperature: float) -> float:
    """Return a copper resistance known at 20 °C for another temperature: $R (1 + α (T − 20))$.

    Parameters
    ----------
    resistance : float, not negative
        At 20 °C: of a wire, or per length. [Ω]
    temperature : float, −200 to 300
        Of the copper. [°C]

    Returns
    -------
    resistance : float
        At that temperature. [Ω]

    Raises
    ------
    OutOfRangeError
        If the temperature is outside the range in which the straight line holds.

    References
    ----------
    [IEC-60028], temperature coefficient 0.00393 per kelvin at 20 °C.

    Examples
    --------
    >>> round(at_temperature(1.0, 75.0), 4)
    1.2162
    """
    if not -200 <= temperature <= 300:
        raise OutOfRangeError("copper's straight line holds from −200 °C to 300 °C")
    return resistance * (1 + COPPER_TEMPERATURE_COEFFICIENT * (temperature - REFERENCE_TEMPERATURE))


def resistance_per_length(
    conductor_area: float, temperature: float = REFERENCE_TEMPERATURE, excess: float = 1.0
) -> float:
    """Return the resistance of a copper wire per metre: $R' = ρ (1 + α (T − 20)) k / A$.

    Parameters
    ----------
    conductor_area : float, positive
        Metal cross-section. [mm²]
    temperature : float, −200 to 300
        Of the copper. [°C]
    excess : float, at least 1
        How much stranding or tinning adds: 1 for a solid plain wire. [1]

    Returns
    -------
    resistance_per_length : float
        Of one wire, per metre. [Ω/m]

    Raises
    ------
    OutOfRangeError
        If an argument is outside the range given above.

    References
    ----------
    [IEC-60028], resistivity 1.7241e-8 Ω·m at 20 °C; [NFPA-70], what stranding adds.

    Examples
    --------
    >>> round(resistance_per_length(awg_area(22)) * 1000, 2)
    52.96
    """
    if conductor_area <= 0 or excess < 1:
        raise OutOfRangeError("a wire has an area above zero and at least the resistance of solid copper")
    return at_temperature(COPPER_RESISTIVITY / (conductor_area * 1e-6) * excess, temperature)


def loop_resistance(resistance_per_length: float, run_length: float) -> float:
    """Return the resistance of a pair of wires, out and back: $R = 2 R' l$.

    Parameters
    ----------
    resistance_per_length : float, not negative
        Of one wire, per metre, at its temperature. [Ω/m]
    run_length : float, not negative
        One way. [m]

    Returns
    -------
    loop_resistance : float
        Of both wires. [Ω]

    Raises
    ------
    OutOfRangeError
        If an argument is negative.

    References
    ----------
    [LIEC], vol. I, specific resistance: a voltage drop counted over both conductors.

    Examples
    --------
    >>> loop_resistance(0.05, 3.0)
    0.3
    """
    if resistance_per_length < 0 or run_length < 0:
        raise OutOfRangeError("neither a resistance nor a length is negative")
    return 2 * resistance_per_length * run_length


def voltage_drop(current: float, loop_resistance: float) -> float:
    """Return the voltage lost on the way out and back: $V_d = I R$.

    Parameters
    ----------
    current : float, not negative
        Steady current. [A]
    loop_resistance : float, not negative
        Of both wires. [Ω]

    Returns
    -------
    drop : float
        Voltage lost. [V]

    Raises
    ------
    OutOfRangeError
        If an argument is negative.

    References
    ----------
    [IEC-60050], entry 151-15-08; [LIEC], vol. I, specific resistance.

    Examples
    --------
    >>> voltage_drop(0.5, 0.5)
    0.25
    """
    if current < 0 or loop_resistance < 0:
        raise OutOfRangeError("neither a current nor a resistance is negative")
    return current * loop_resistance


def heat_factor(
    conductor_temperature: float,
    ambient_temperature: float,
    rated_conductor_temperature: float,
    rated_ambient_temperature: float,
) -> float:
    r"""Return the factor on a rated current for other temperatures: $\sqrt{(T_c − T_a)/(T_{c,r} − T_{a,r})}$.

    A wire's heat grows with the square of its current and leaves it in proportion to how much hotter it
    is than what surrounds it; so the current allowed grows with the root of the difference.

    Parameters
    ----------
    conductor_temperature : float
        Hottest the insulation stands. [°C]
    ambient_temperature : float
        Around the wire. [°C]
    rated_conductor_temperature : float, above the next
        Conductor temperature the rated current belongs to. [°C]
    rated_ambient_temperature : float
        Surroundings the rated current belongs to. [°C]

    Returns
    -------
    heat_factor : float, not negative
        Factor on the rated current; 0 where the surroundings are as hot as the insulation stands. [1]

    Raises
    ------
    OutOfRangeError
        If the rated temperatures are not in order.

    References
    ----------
    [MIL-STD-975M], A 3.16: 0.5 for 105 °C insulation at 70 °C, where this gives 0.52.

    Examples
    --------
    >>> round(heat_factor(105.0, 70.0, 200.0, 70.0), 2), round(heat_factor(80.0, 40.0, 200.0, 70.0), 2)
    (0.52, 0.55)
    """
    if rated_conductor_temperature <= rated_ambient_temperature:
        raise OutOfRangeError("a conductor is rated above its surroundings")
    rise = max(0.0, conductor_temperature - ambient_temperature)
    return math.sqrt(rise / (rated_conductor_temperature - rated_ambient_temperature))
