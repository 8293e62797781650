"""One resistor for all rows: what it does to them, and the resistor each row should have of its own."""

from __future__ import annotations

from dataclasses import replace

from lampwright.planner.findings import finding
from lampwright.planner.instead import Instead
from lampwright.planner.models.base import Finding
from lampwright.planner.models.circuits import CircuitAsk
from lampwright.planner.network import Network, Row, Solved
from lampwright.planner.resistor import recommended_resistance
from lampwright.planner.strings import names_of, rating_for
from lampwright.planner.texts import milliamps, ohms, percent, watts
from lampwright.tables.resistors import usual_ratings

#: Rows behind one resistor whose parts may differ by this much are worth a word.
_UNEVEN = 1.4
_ONE_COLOUR = 0.2


def own_resistance(ask: CircuitAsk, row: Row) -> float | None:
    """Return the resistor a row should have by itself right at the supply, None where none helps."""
    return _recommended(ask, row) or None


def _recommended(ask: CircuitAsk, row: Row) -> float | None:
    """Return the resistor of a row by itself, 0 for lights that carry their own, None where it cannot be."""
    wanted = min(row.string.forward_current or row.model.rated_current, row.model.max_forward_current)
    alone = replace(row.string, branch_count=1)
    return recommended_resistance(alone, row.model, ask.supply, wanted, "E24").resistance


def resistor_to_send(ask: CircuitAsk, row: Row, resistance: float) -> dict[str, object]:
    """Return the members of a row with another resistor, {} where none stays cool enough."""
    return Instead(row.string, row.model, ask.supply, ask.ambient_temperature, resistance).members()


def _each_its_own(ask: CircuitAsk, solved: Solved) -> dict[str, object]:
    """Return what to send instead: each row with a resistor of its own; {} where a row cannot have one."""
    first = {row.place: row for row in reversed(solved.rows)}
    strings = []
    for place, string in enumerate(ask.strings):
        row = first[place]
        own = _recommended(ask, row)
        if own is None:
            return {}
        sent: dict[str, object] = {
            "leds": names_of(string.leds),
            "branch_count": string.branch_count,
            "tolerance": string.tolerance,
        }
        if string.forward_current is not None:
            sent["forward_current"] = string.forward_current
        if own:
            members = resistor_to_send(ask, row, own)
            if not members:
                return {}
            sent.update(members)
        strings.append(sent)
    return {"shared_resistance": 0.0, "strings": tuple(strings)}


def hogs(solved: Solved) -> bool:
    """Return whether rows share one resistor, so that one may take the others' current."""
    return solved.shared > 0 and sum(row.count for row in solved.rows) > 1


def shared_findings(ask: CircuitAsk, solved: Solved) -> tuple[Finding, ...]:
    """Return what there is to say about one resistor for all rows."""
    if ask.shared_resistance <= 0:
        return ()
    found: list[Finding] = []
    lit = [index for index, row in enumerate(solved.rows) if not row.string.reversed]
    if hogs(solved) and lit:
        worst = max(lit, key=lambda at: solved.corners[at].high / solved.rows[at].model.max_forward_current)
        row, corners = solved.rows[worst], solved.corners[worst]
        own = own_resistance(ask, row)
        gaps = {"own": ohms(own) if own else "sized for it", "current": milliamps(corners.high)}
        lights = [solved.corners[at].expected / solved.rows[at].model.brightest_rated_current for at in lit]
        maximum = row.model.max_forward_current
        code = ""
        if corners.high > maximum * (1 + 1e-6):
            code, gaps["maximum"] = "shared_resistor_burns", milliamps(maximum)
        elif min(lights) < _ONE_COLOUR * max(lights):
            code, gaps["part"] = "shared_resistor_one_colour", percent(min(lights) / max(lights))
        elif corners.high > _UNEVEN * max(corners.expected, row.model.rated_current):
            code = "shared_resistor_uneven"
        if code:
            instead = _each_its_own(ask, solved)
            found.append(finding(code, field="shared_resistance", suggestion=instead, **gaps))
    heat = solved.at["high"].supply_current ** 2 * ask.shared_resistance
    if heat > usual_ratings()[0] / 2:
        rating = rating_for(heat, ask.ambient_temperature)
        found.append(
            finding(
                "shared_resistor_hot",
                field="shared_resistance",
                heat=watts(heat),
                rating=watts(rating if rating else 2 * heat),
            )
        )
    return tuple(found)


def brings_back(ask: CircuitAsk, solved: Solved, index: int, resistance: float, least: float) -> bool:
    """Return whether another resistor alone brings a row's light back, all else being as it is."""
    place = solved.rows[index].place
    rows = tuple(
        replace(row, string=replace(row.string, resistance=resistance)) if row.place == place else row
        for row in solved.rows
    )
    network = Network(ask.supply, rows, ask.shared_resistance, solved.loop, ask.feed)
    return network.at("expected").currents[index] >= least
