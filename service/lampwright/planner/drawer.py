"""Wire in the drawer that will not do for a build: the one gauge to get, for every run and the fuse.

Each run by itself asks for the gauge it needs; what the thickest run asks for may still leave no room for a
fuse between load and wire. So gauges are tried on the whole build, thinnest first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from lampwright.planner.findings import finding
from lampwright.planner.models.base import Finding
from lampwright.planner.models.build import PlannedWire
from lampwright.planner.models.wiring import FuseAnswer
from lampwright.planner.wire import usual_awgs
from lampwright.quantities import show, three_digits
from lampwright.records import altered
from lampwright.tables.wires import next_metric, wire_size

Planned = tuple[Sequence[PlannedWire], FuseAnswer]

#: What another gauge in the drawer can mend.
_OF_DRAWER = frozenset(
    {
        "wire_on_hand_too_thin",
        "wire_none_thick_enough",
        "wire_too_hot",
        "wire_drop_hopeless",
        "wire_drop_high",
        "wire_too_thin_to_flex",
        "no_fuse_fits",
        "no_fuse_between",
        "fuse_too_big",
        "fuse_will_not_open",
        "fuse_slow_to_open",
    }
)


def _asking(planned: Planned) -> bool:
    wires, fitted = planned
    every = [*(each.figures.findings for each in wires), fitted.findings]
    return any(each.code in _OF_DRAWER for found in every for each in found)


def gauge_to_get(planned_with: Callable[[int], Planned]) -> int | None:
    """Return the thinnest usual gauge that does for all wires of a build and its fuse, None where none does.

    Parameters
    ----------
    planned_with : callable
        Plans wires and fuse of the build with a drawer of this one gauge.
    """
    return next((awg for awg in usual_awgs() if not _asking(planned_with(awg))), None)


def with_gauge(planned: Planned, planned_with: Callable[[int], Planned]) -> Planned:
    """Return wires and fuse whose findings about the drawer suggest the gauge that mends them all."""
    if not _asking(planned):
        return planned
    wires, fitted = planned
    awg = gauge_to_get(planned_with)

    def told(found: Iterable[Finding], wire: PlannedWire | None = None) -> tuple[Finding, ...]:
        return tuple(_told(each, wire, awg) if each.code in _OF_DRAWER else each for each in found)

    wires = tuple(
        altered(each, figures=altered(each.figures, findings=told(each.figures.findings, each)))
        for each in wires
    )
    return wires, altered(fitted, findings=told(fitted.findings))


def _told(said: Finding, wire: PlannedWire | None, awg: int | None) -> Finding:
    """Return a finding with the gauge to get; without one, what helps stands in its remedy alone."""
    if awg is None:
        return altered(said, suggestion={}) if "on_hand_awg" in said.suggestion else said
    if said.suggestion and "on_hand_awg" not in said.suggestion:
        return said  # another style or rating of fuse is enough
    send: dict[str, object] = {"on_hand_awg": (awg,)}
    if said.code != "wire_on_hand_too_thin" or wire is None:
        return altered(said, suggestion=send, field="on_hand_awg")
    return finding(
        said.code,
        current=show(wire.current, "ma"),
        length=show(wire.run_length, "m"),
        awg=awg,
        metric=three_digits(next_metric(wire_size(awg).conductor_area) or 0.0),
        suggestion=send,
        field="on_hand_awg",
    )
