"""Heat: derating lines, thermal resistance, how hot a part's skin gets.

Theory of operation. A resistor carries its rated power up to one temperature of the air (usually 70 °C)
and nothing at another (its hottest film, usually 155 °C); between them runs a straight line. The same
line says how hot the film gets: at rated power and 70 °C it is at 155 °C, so one watt heats it by
(155 − 70) / rated. That is its hottest spot; the skin elsewhere is cooler.
"""

from __future__ import annotations

from lampwright.errors import OutOfRangeError

FULL_POWER_TEMPERATURE = 70.0
ZERO_POWER_TEMPERATURE = 155.0


def derating(
    ambient_temperature: float,
    full_power_temperature: float = FULL_POWER_TEMPERATURE,
    zero_power_temperature: float = ZERO_POWER_TEMPERATURE,
) -> float:
    """Return the part of a rated dissipation that is left in hot air: a straight line.

    Parameters
    ----------
    ambient_temperature : float
        Of the air around the part. [°C]
    full_power_temperature : float
        Up to here the whole rating holds. [°C]
    zero_power_temperature : float, above the former
        Here nothing is left. [°C]

    Returns
    -------
    derating : float, 0 to 1
        Factor on the rated dissipation. [1]

    Raises
    ------
    OutOfRangeError
        If the two temperatures are not in order.

    References
    ----------
    [YAGEO-CFR], derating curve: 100 % at 70 °C to 0 at 155 °C.

    Examples
    --------
    >>> derating(25.0)
    1.0
    >>> round(derating(100.0), 3)
    0.647
    """
    if zero_power_temperature <= full_power_temperature:
        raise OutOfRangeError("the temperature of zero power lies above that of full power")
    if ambient_temperature <= full_power_temperature:
        return 1.0
    left = (zero_power_temperature - ambient_temperature) / (zero_power_temperature - full_power_temperature)
    return max(0.0, left)


def thermal_resistance(
    rated_dissipation: float,
    full_power_temperature: float = FULL_POWER_TEMPERATURE,
    zero_power_temperature: float = ZERO_POWER_TEMPERATURE,
) -> float:
    """Return the thermal resistance a derating line implies: $(T_0 − T_n) / P_n$.

    Parameters
    ----------
    rated_dissipation : float, positive
        Most power allowed up to the full-power temperature. [W]
    full_power_temperature : float
        Up to here the whole rating holds. [°C]
    zero_power_temperature : float, above the former
        The hottest the film may get. [°C]

    Returns
    -------
    thermal_resistance : float
        From the hottest spot to the air around. [K/W]

    Raises
    ------
    OutOfRangeError
        If the rating is not positive.

    References
    ----------
    [YAGEO-CFR], derating curve; [VISHAY-28724] prints 150 K/W for 0.6 W, the line implies 142 K/W.

    Examples
    --------
    >>> thermal_resistance(0.25)
    340.0
    """
    if rated_dissipation <= 0:
        raise OutOfRangeError("a rated dissipation is above zero")
    return (zero_power_temperature - full_power_temperature) / rated_dissipation


def temperature_rise(dissipation: float, thermal_resistance: float) -> float:
    """Return how much hotter than the air a part gets: $ΔT = P R_{th}$.

    Parameters
    ----------
    dissipation : float, not negative
        Power turned to heat. [W]
    thermal_resistance : float, not negative
        From the part to the air. [K/W]

    Returns
    -------
    temperature_rise : float
        Above the air around. [K]

    References
    ----------
    [VISHAY-28724], temperature rise of the hot spot over dissipated power.

    Examples
    --------
    >>> temperature_rise(0.25, 150.0)
    37.5
    """
    return dissipation * thermal_resistance


def touch_temperature(ambient_temperature: float, dissipation: float, thermal_resistance: float) -> float:
    """Return the temperature of a part's hottest spot: $T = T_a + P R_{th}$.

    Parameters
    ----------
    ambient_temperature : float
        Of the air around the part. [°C]
    dissipation : float, not negative
        Power turned to heat. [W]
    thermal_resistance : float, not negative
        From the hottest spot to the air. [K/W]

    Returns
    -------
    touch_temperature : float
        Never cooler than the skin a finger meets. [°C]

    References
    ----------
    [VISHAY-28724], temperature rise of the hot spot over dissipated power.

    Examples
    --------
    >>> touch_temperature(25.0, 0.25, 150.0)
    62.5
    """
    return ambient_temperature + temperature_rise(dissipation, thermal_resistance)
