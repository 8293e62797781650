"""Plots as hand-written SVG: the fade over an event, and current against supply voltage.

Axes carry words and units, lines are labelled where they end, bands are shaded and named, and the
moment that matters is marked and put in words. Grey steps and dashes tell lines apart, not colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from lampwright.drawing.svg import SMALL, WIDTH, clean, fitted, line, n, path, picture, width_of, words
from lampwright.planner.models.build import Sheet
from lampwright.quantities import show, three_digits

LEFT, RIGHT = 62.0, 610.0
_DASHES = ("", ' stroke-dasharray="8 4"', ' stroke-dasharray="2 3"', ' stroke-dasharray="10 3 2 3"')


def nice_step(span: float, about: int = 6) -> float:
    """Return a round step that parts a span into about so many pieces.

    >>> nice_step(9.7), nice_step(0.04)
    (2.0, 0.01)
    """
    rough = span / about
    power: float = 10 ** math.floor(math.log10(rough))
    return next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= rough * 0.8)


def _scale(low: float, high: float, start: float, end: float) -> tuple[float, float]:
    factor = (end - start) / (high - low)
    return factor, start - low * factor


def _polyline(points: Sequence[tuple[float, float]], style: str = "", width: float = 2.2) -> str:
    way = "L".join(f"{n(x)} {n(y)}" for x, y in points)
    return f'<path d="M{way}" stroke-width="{n(width)}"{style}/>'


def _until(xs: Sequence[float], ys: Sequence[float], end: float) -> list[tuple[float, float]]:
    """Return the points up to ``end``, the last one on it where the curve runs on."""
    kept: list[tuple[float, float]] = []
    for x, y in zip(xs, ys, strict=True):
        if x > end:
            if kept:
                x0, y0 = kept[-1]
                kept.append((end, y0 + (y - y0) * (end - x0) / (x - x0)))
            break
        kept.append((x, y))
    return kept


def _axis_x(low: float, high: float, top: float, bottom: float, title: str) -> list[str]:
    factor, shift = _scale(low, high, LEFT, RIGHT)
    step = nice_step(high - low)
    body = [line(LEFT, bottom, RIGHT, bottom, width=1.5)]
    tick = math.ceil(low / step - 1e-9) * step
    while tick <= high * (1 + 1e-9):
        x = tick * factor + shift
        body.append(line(x, bottom, x, bottom + 5, width=1.5))
        body.append(words(x, bottom + 20, three_digits(tick), size=SMALL))
        tick += step
    body.append(words((LEFT + RIGHT) / 2, bottom + 39, title, size=SMALL))
    return body


def _axis_y(low: float, high: float, top: float, bottom: float, title: str, about: int = 4) -> list[str]:
    factor, shift = _scale(low, high, bottom, top)
    step = nice_step(high - low, about)
    body = [line(LEFT, bottom, LEFT, top, width=1.5)]
    tick = math.ceil(low / step - 1e-9) * step
    while tick <= high * (1 + 1e-9):
        y = tick * factor + shift
        body.append(line(LEFT - 5, y, LEFT, y, width=1.5))
        body.append(words(LEFT - 8, y + 4.5, three_digits(tick), anchor="end", size=SMALL))
        tick += step
    body.append(words(8, top - 12, title, anchor="start", size=SMALL))
    return body


def fade_svg(sheet: Sheet) -> str | None:
    """Return brightness and battery voltage over the event, or None where no battery runs flat."""
    runtime = sheet.plan.runtime
    if runtime is None or runtime.curve is None or runtime.curve.brightness is None or not runtime.runtime:
        return None
    curve = runtime.curve
    hours = [time / 3600 for time in curve.time]
    light = [100 * value for value in curve.brightness or ()]
    wanted = sheet.plan.ask.usage.hours_wanted
    expected = runtime.runtime / 3600
    low = (runtime.runtime_low or runtime.runtime) / 3600
    high = (runtime.runtime_high or runtime.runtime) / 3600
    end = max(1.25 * high, (wanted or 0) / 3600 * 1.05)
    end = min(end, max(hours[-1] * high / expected, (wanted or 0) / 3600 * 1.05)) or high
    top, bottom = 40.0, 190.0
    fx, sx = _scale(0.0, end, LEFT, RIGHT)
    most = max(100.0, 1.05 * max(light))
    fy, sy = _scale(0.0, most, bottom, top)

    def faded(stretch: float) -> list[tuple[float, float]]:
        points = _until([hour * stretch for hour in hours], light, end)
        return [(hour * fx + sx, value * fy + sy) for hour, value in points]

    # The band: the same fade, over the shortest and the longest life that is likely.
    early, late = faded(low / expected), faded(high / expected)
    if early[-1][0] < RIGHT:
        early.append((min(late[-1][0], RIGHT), early[-1][1]))
    band = "L".join(f"{n(x)} {n(y)}" for x, y in (*early, *late[::-1]))
    body = [f'<path d="M{band}Z" fill="currentColor" fill-opacity=".14" stroke="none"/>']
    body.append(_polyline(faded(1.0)))
    body += _axis_y(0.0, most, top, bottom, "Light given out, %")
    half = 50.0 * fy + sy
    body.append(_marker(low * fx + sx, high * fx + sx, half))
    half_words = f"half bright after about {two(expected)} h ({two(low)} to {two(high)})"
    if runtime.ended_by not in (None, "brightness"):
        half_words = f"ends after about {two(expected)} h ({two(low)} to {two(high)})"
    x = min(expected * fx + sx + 10, RIGHT + 90 - width_of(half_words, SMALL))
    body.append(words(max(x, LEFT + 10), top - 12, half_words, anchor="start", size=SMALL, bold=True))
    body.append(line(expected * fx + sx, top - 6, expected * fx + sx, bottom, width=1.0, dashed=True))
    for count, swap in enumerate(runtime.swap_times, start=1):
        at = swap / 3600 * fx + sx
        if at <= RIGHT:
            body.append(path(f"M{n(at - 6)} {n(bottom + 1)}h12l-6 -10Z", width=1.0, filled=True))
            if count == 1:
                body.append(words(at, bottom - 14, "swap", size=SMALL))
    top2, bottom2 = 236.0, 330.0
    kept = _until(hours, curve.voltage, end)
    least, largest = 0.95 * min(value for _, value in kept), 1.03 * max(value for _, value in kept)
    fv, sv = _scale(least, largest, bottom2, top2)
    body.append(_polyline([(h * fx + sx, v * fv + sv) for h, v in kept], width=1.8))
    body += _axis_y(least, largest, top2, bottom2, "Battery, V, lights on", 3)
    body += _axis_x(0.0, end, top2, bottom2, "Hours in use")
    body.append(line(LEFT, bottom, RIGHT, bottom, width=1.0))
    body.append(words(RIGHT + 6, half + 4, "likely", anchor="start", size=SMALL))
    body.append(words(RIGHT + 6, half + 19, "range", anchor="start", size=SMALL))
    if wanted and wanted / 3600 <= end:
        at = wanted / 3600 * fx + sx
        body.append(line(at, top, at, bottom, width=2.0))
        body.append(words(at - 6, top + 14, "event over", anchor="end", size=SMALL))
    return picture(
        body,
        WIDTH,
        376.0,
        name="fade",
        title=f"Brightness and battery voltage over the event, {clean(sheet.title, 200)}",
        description=f"The lights are {half_words}. "
        f"The battery starts at {show(curve.voltage[0], 'v')} with the lights on.",
    )


def two(hours: float) -> str:
    """Return hours with two figures: cells scatter too much for more.

    >>> two(5.87), two(12.4), two(0.52)
    ('5.9', '12', '0.52')
    """
    return three_digits(float(f"{hours:.2g}"))


def _marker(x1: float, x2: float, y: float) -> str:
    """Return a bar with ends: the spread of a moment."""
    return path(f"M{n(x1)} {n(y)}H{n(x2)}M{n(x1)} {n(y - 5)}v10M{n(x2)} {n(y - 5)}v10", width=1.5)


def currents_svg(sheet: Sheet) -> str | None:
    """Return the current of each row against supply voltage, with the operating range shaded."""
    curves = sheet.row_curves
    if not curves:
        return None
    supply = sheet.plan.ask.supply
    low, high = curves[0].supply_voltages[0], curves[0].supply_voltages[-1]
    most = 1.08 * max(max(curve.currents) for curve in curves) * 1000
    if most <= 0 or high <= low:
        return None
    top, bottom = 40.0, 230.0
    fx, sx = _scale(low, high, LEFT, RIGHT)
    fy, sy = _scale(0.0, most, bottom, top)
    left, right = supply.supply_voltage_min * fx + sx, supply.supply_voltage_max * fx + sx
    if right - left < 3:
        left, right = left - 1.5, right + 1.5
    body = [
        f'<rect x="{n(left)}" y="{n(top)}" width="{n(right - left)}" height="{n(bottom - top)}" '
        f'fill="currentColor" fill-opacity=".14" stroke="none"/>'
    ]
    said = "where the supply works"
    middle = min(max((left + right) / 2, LEFT + width_of(said, SMALL) / 2), RIGHT - width_of(said, SMALL) / 2)
    body.append(words(max(middle, LEFT + 240), top - 12, said, size=SMALL))
    ends: list[tuple[float, str]] = []
    for place, curve in enumerate(curves):
        xs = [value * fx + sx for value in curve.supply_voltages]
        ys = [1000 * value * fy + sy for value in curve.currents]
        body.append(_polyline(list(zip(xs, ys, strict=True)), _DASHES[place % len(_DASHES)]))
        ends.append((ys[-1] + 4.5, curve.row))
    # Labels at the line ends, pushed apart where lines end close together.
    placed = -1e9
    for y, row in sorted(ends):
        y = max(y, placed + 15)
        body.append(words(RIGHT + 6, y, fitted(f"row {row}", 100, SMALL), anchor="start", size=SMALL))
        placed = y
    body += _axis_y(0.0, most, top, bottom, "Current of one row, mA")
    body += _axis_x(low, high, top, bottom, "Supply, V")
    return picture(
        body,
        WIDTH,
        max(278.0, placed + 12),
        name="currents",
        title=f"Current of each row against supply voltage, {clean(sheet.title, 200)}",
        description=f"The supply works from {show(supply.supply_voltage_min, 'v')} to "
        f"{show(supply.supply_voltage_max, 'v')}.",
    )
