"""Short texts for findings and working: what ``quantities.show`` gives, at a fifth of its cost.

A resistor answer writes some twenty quantities; most lie between 1 and 999.5 of their usual unit, where
one format does. Everything else goes to ``show``.
"""

from __future__ import annotations

from lampwright.quantities import show


def volts(value: float) -> str:
    """Return a voltage as text.

    >>> volts(2.0), volts(0.05)
    ('2 V', '50 mV')
    """
    return f"{value:.3g} V" if 0.1 <= value < 999.5 else show(value, "v")


def milliamps(value: float) -> str:
    """Return a current as text.

    >>> milliamps(0.0185), milliamps(1.5), milliamps(2e-6)
    ('18.5 mA', '1.5 A', '2 µA')
    """
    return f"{value * 1e3:.3g} mA" if 1e-3 <= value < 0.9995 else show(value, "ma")


def ohms(value: float) -> str:
    """Return a resistance as text.

    >>> ohms(330.0), ohms(4700.0)
    ('330 Ω', '4.7 kΩ')
    """
    return f"{value:.3g} Ω" if 0.5 <= value < 999.5 else show(value, "ohm")


def watts(value: float) -> str:
    """Return a power as text.

    >>> watts(0.088), watts(2.2)
    ('88 mW', '2.2 W')
    """
    return f"{value * 1e3:.3g} mW" if 1e-3 <= value < 0.9995 else show(value, "w")


def percent(value: float) -> str:
    """Return a ratio in percent, no more than whole ones from ten on.

    >>> percent(0.634), percent(0.0512)
    ('63 %', '5.1 %')
    """
    return f"{value * 100:.0f} %" if value >= 0.1 else show(round(value, 3), "pct")


def counted(count: int, one: str, many: str = "") -> str:
    """Return "1 light" or "3 lights".

    >>> counted(1, "light"), counted(3, "light"), counted(2, "loss", "losses")
    ('1 light', '3 lights', '2 losses')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"
