"""A solved circuit as a netlist that a general circuit simulator runs, so that anyone can confirm us.

The text is the SPICE language as ngspice reads it. Every row has a source of 0 V in it named after the
row: its current is the row's. Temperature and reference temperature are set alike, so that the
simulator's thermal voltage is ours; the options keep it from adding conductances or raising small
saturation currents on its own. What a caller wrote stands in one comment line only, made harmless.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lampwright.physics.diodes import Diode, thermal_voltage
from lampwright.planner.circuit_check import wire_loop
from lampwright.planner.models.build import Sheet
from lampwright.planner.models.circuits import CircuitAnswer, CircuitAsk, Feed
from lampwright.planner.network import rows_of
from lampwright.planner.together import branches_at, loops_of
from lampwright.quantities import show

_OPTIONS = ".options gmin=1e-18 reltol=1e-10 abstol=1e-16 vntol=1e-13 epsmin=1e-300 itl1=1000"
#: More equal rows than this are written as one of so many times the area.
_ROWS_WRITTEN = 100
_TITLE_LENGTH = 100


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A row to write: its name, its LEDs (reversed ones told), its resistance, and how many it stands for."""

    name: str
    diodes: tuple[tuple[Diode, bool], ...]
    resistance: float
    count: int


class _Deck:
    """Lines of a netlist, as they are written."""

    def __init__(self, title: str, ambient_temperature: float) -> None:
        self.lines = [
            f"* Lampwright: {_harmless(title)}",
            "* Currents of the rows are those of the sources Vrow...; expected parts, expected supply.",
            f".options temp={ambient_temperature!r} tnom={ambient_temperature!r}",
            _OPTIONS,
        ]
        self.models: dict[Diode, str] = {}
        self.probes: list[str] = []

    def resistor(self, name: str, start: str, end: str, resistance: float) -> None:
        """Join two points by a resistance; by none, with a source of no volts, which is a plain wire."""
        kind, value = ("R", resistance) if resistance > 0 else ("V", 0)
        self.lines.append(f"{kind}{name} {start} {end} {value!r}")

    def model(self, diode: Diode) -> str:
        """Return the name of an LED's model, written once."""
        if diode not in self.models:
            self.models[diode] = f"led{len(self.models)}"
        return self.models[diode]

    def row(self, row: _Drawn, plus: str, minus: str) -> None:
        """Write a row between two nodes: ammeter, resistor, LEDs."""
        probe = f"Vrow{row.name}"
        self.probes.append(probe)
        at = f"r{row.name}_0"
        self.lines.append(f"{probe} {plus} {at} 0")
        if row.resistance > 0:
            after = f"r{row.name}_1"
            self.lines.append(f"Rrow{row.name} {at} {after} {row.resistance / row.count!r}")
            at = after
        for place, (diode, backwards) in enumerate(row.diodes):
            last = place == len(row.diodes) - 1
            after = minus if last else f"r{row.name}_d{place}"
            anode, cathode = (after, at) if backwards else (at, after)
            area = f" area={row.count}" if row.count > 1 else ""
            self.lines.append(f"D{row.name}_{place} {anode} {cathode} {self.model(diode)}{area}")
            at = after

    def text(self, thermal_voltage: float) -> str:
        """Return the whole netlist."""
        lines = list(self.lines)
        for diode, name in self.models.items():
            saturation = math.exp(diode.log_saturation_current)
            ideality = diode.emission_voltage / thermal_voltage
            lines.append(f".model {name} d(is={saturation!r} n={ideality!r} rs={diode.series_resistance!r})")
        lines += [".op", ".control", "op", "set numdgt=15", "print i(Vsupply)"]
        lines += [f"print i({probe})" for probe in self.probes]
        return "\n".join([*lines, "quit", ".endc", ".end", ""])


def _harmless(text: str) -> str:
    r"""Return a caller's words as part of one comment line: printable characters only.

    >>> _harmless("moth\n.include /etc/passwd wings")
    'moth .include /etc/passwd wings'
    """
    kept = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(kept.split())[:_TITLE_LENGTH]


def render_netlist(found: CircuitAnswer | Sheet) -> str:
    """Return the netlist of a circuit check or of a build sheet.

    Parameters
    ----------
    found : CircuitAnswer or Sheet
        As ``planner.circuit_check`` and ``sheets.build`` give it.
    """
    if isinstance(found, Sheet):
        return sheet_netlist(found)
    if found.circuit is None:
        raise ValueError("this circuit answer does not hold its circuit")
    return circuit_netlist(found.circuit)


def circuit_netlist(ask: CircuitAsk) -> str:
    """Return the netlist of a circuit whose resistors are all known."""
    rows = rows_of(ask.strings, ask.feed, ask.ambient_temperature)
    drawn = []
    for index, row in enumerate(rows):
        backwards = set(row.string.reversed)
        lights: list[tuple[Diode, bool]] = []
        for place, light in enumerate(row.model.lights):
            lights.extend((diode, place in backwards) for diode in light.diodes)
        resistance = (row.string.resistance or 0.0) + row.model.expected.built_in_resistance
        drawn.append(_Drawn(str(index), tuple(lights), resistance, row.count))
    supply = ask.supply
    deck = _Deck("a circuit that exists", ask.ambient_temperature)
    deck.lines.append(f"Vsupply source 0 {supply.supply_voltage!r}")
    deck.resistor("source", "source", "terminals", supply.source_resistance)
    deck.resistor("shared", "terminals", "behind", ask.shared_resistance)
    deck.resistor("wire", "behind", "rows", wire_loop(ask))
    if ask.feed is None:
        _side_by_side(deck, drawn)
    else:
        _along(deck, drawn, ask.feed)
    return deck.text(thermal_voltage(ask.ambient_temperature))


def sheet_netlist(sheet: Sheet) -> str:
    """Return the netlist of a build: its rows, its supply, and the wires between them."""
    plan = sheet.plan
    ask = plan.ask
    deck = _Deck(sheet.title, ask.ambient_temperature)
    loops = loops_of(plan.strings, plan.wires)
    deck.lines.append(f"Vsupply source 0 {ask.supply.supply_voltage!r}")
    deck.resistor("source", "source", "terminals", ask.supply.source_resistance)
    deck.resistor("wire", "terminals", "rows", loops.main)
    branches = branches_at(plan.strings, "expected", ask.ambient_temperature)
    drawn = [
        _Drawn(str(index), tuple((diode, False) for diode in branch.diodes), branch.resistance, branch.count)
        for index, branch in enumerate(branches)
    ]
    for number, (loop, places) in enumerate(loops.runs):
        end = f"run{number}"
        deck.resistor(end, "rows", end, loop)
        for place in places:
            string = plan.strings[place]
            deck.lines.append(
                f"* row {_harmless(string.row)}: {drawn[place].count} alike, "
                f"{show(string.solved.resistance or 0.0, 'ohm')}"
            )
            _side_by_side(deck, [drawn[place]], end)
    return deck.text(thermal_voltage(ask.ambient_temperature))


def _side_by_side(deck: _Deck, rows: Sequence[_Drawn], plus: str = "rows") -> None:
    """Write rows that all see the same two points."""
    apart = sum(row.count for row in rows) <= _ROWS_WRITTEN
    for row in rows:
        if not apart or row.count == 1:
            if row.count > 1:
                deck.lines.append(f"* Vrow{row.name} carries {row.count} equal rows at once.")
            deck.row(row, plus, "0")
            continue
        for number in range(row.count):
            deck.row(_Drawn(f"{row.name}_{number}", row.diodes, row.resistance, 1), plus, "0")


def _along(deck: _Deck, rows: Sequence[_Drawn], feed: Feed) -> None:
    """Write rows along a two-wire feed; both wires' resistance stands in the plus wire."""
    deck.resistor("lead", "rows", "p0", feed.lead_loop)
    for index, row in enumerate(rows):
        if index:
            deck.resistor(f"segment{index}", f"p{index - 1}", f"p{index}", feed.segment_loop)
        deck.row(row, f"p{index}", "0")
    one_point = len(rows) == 1 or feed.segment_loop == 0
    # A wire of no resistance beside another one of none carries nothing, and no simulator takes it.
    if feed.far_end_lead_loop is not None and not (
        one_point and feed.lead_loop == 0 == feed.far_end_lead_loop
    ):
        deck.resistor("far", f"p{len(rows) - 1}", "rows", feed.far_end_lead_loop)
