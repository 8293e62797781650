"""Every joint of a build and every piece of wire to cut.

Joints run from the supply outwards: fuse and switch, the point where the runs part, then each row from
plus to minus. Rows that are alike share a line. A sleeve has to pass over the joint before shrinking and
grip the wire after it, and it goes on BEFORE soldering.

Every end of every part and wire has one name and stands in one joint. Parts with two alike ends have an
"other" one: ``F1`` and ``F1 other lead``, ``S1`` and ``S1 other lug``; the two halves of a connector are
``socket`` (on the supply's side: it stays live) and ``plug``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lampwright.physics.conductors import awg_diameter
from lampwright.planner.labels import first_row
from lampwright.planner.models.build import PlannedString, PlannedWire
from lampwright.planner.models.parts import Supply
from lampwright.planner.models.wiring import Cut, Joint, SleeveCut
from lampwright.planner.together import served
from lampwright.records import quickly_made
from lampwright.tables.batteries import battery_type
from lampwright.tables.joints import (
    ConnectorRow,
    SleeveRow,
    SupplyLeadRow,
    connector,
    connector_rows,
    sleeve_rows,
    supply_leads,
)
from lampwright.tables.supplies import supply_types

# All lengths in m; common practice, no source.
SLACK = 0.05  # spare at each end of a piece
LINK_LENGTH = 0.10  # from one light of a row to the next where nobody says otherwise
BRIDGE_LENGTH = 0.05  # from one point of distribution to the next
INSULATION_WALL = 0.4e-3  # of ordinary hook-up wire
LEG_DIAMETER = 0.6e-3  # legs of LEDs and resistors
SLEEVE_MARGIN = 6e-3  # beyond the bare metal at each end
PLUS_COLOUR, MINUS_COLOUR, LINK_COLOUR = "RD", "BK", "WH"  # letters after IEC 60757 (from memory)
_FALLBACK_AWG = 24
LEAD_AWG = 24  # leads of holders, switches and plugs: usually this or a little thicker


@quickly_made
@dataclass(frozen=True, slots=True)
class Method:
    """A way to join with what it needs: strip length [m], sleeve before and after shrinking [m]."""

    row: ConnectorRow
    strip_length: float
    sleeve: SleeveRow | None
    sleeve_length: float | None


def fits(row: ConnectorRow, gauges: Sequence[int]) -> bool:
    """Return whether a way to join takes these wires.

    >>> fits(connector("lever"), [30, 30]), fits(connector("lever"), [22, 22, 22])
    (False, True)
    """
    if not row.least_wires <= len(gauges) <= row.most_wires:
        return False
    return all(row.thickest_awg <= awg <= row.thinnest_awg for awg in gauges)


def method_for(gauges: Sequence[int], *, moves: bool, legs: int = 0, bought: bool = False) -> Method:
    """Return how to join wires of these gauges (and ``legs`` of parts).

    Solder and sleeve for anything small, with a part's leg, or with the lead of a bought part (whose size
    nobody knows); lever connectors where it is still and the wire is thick enough for their print. Twist
    caps are never chosen, only listed: they hold stranded wire in still scenery at best.

    >>> method_for([22, 22, 22], moves=False).row.name
    'lever connector'
    >>> method_for([28, 28, 28], moves=True).row.name, method_for([22, 22], moves=False, bought=True).row.name
    ('solder and sleeve', 'solder and sleeve')
    """
    rows = connector_rows()
    if not (moves or legs or bought) and fits(rows["lever"], gauges):
        return _with_sleeve(rows["lever"], gauges, legs)
    return _with_sleeve(rows["solder_sleeve"], gauges, legs)


def _with_sleeve(row: ConnectorRow, gauges: Sequence[int], legs: int) -> Method:
    strip = row.strip_length / 1000
    if not row.sleeved:
        return Method(row, strip, None, None)
    return Method(row, strip, sleeve_for(gauges, legs), strip + 2 * SLEEVE_MARGIN)


def insulated_diameter(awg: int) -> float:
    """Return the outside of ordinary hook-up wire of a gauge, in m.

    >>> round(insulated_diameter(24) * 1000, 2)
    1.44
    """
    # Strands lie with air between them: about 1.25 times the solid diameter.
    return awg_diameter(awg) * 1.25 + 2 * INSULATION_WALL


def sleeve_for(gauges: Sequence[int], legs: int = 0) -> SleeveRow | None:
    """Return the thinnest sleeve that passes over a joint and still grips its thinnest wire.

    Where none does both, the one that passes: glue-lined sleeve then grips. None beyond the table.

    >>> sleeve_for([26, 26]).size, sleeve_for([28], legs=1).size
    ('3.2 mm', '2.4 mm')
    """
    # Wires lie side by side in the joint, the insulation of one beside that of the next.
    each = [insulated_diameter(awg) for awg in gauges] + [LEG_DIAMETER] * legs
    if len(each) <= 2:
        joint = sum(each)
    else:
        joint = 2.2 * max(each) if len(each) <= 4 else len(each) ** 0.5 * 1.3 * max(each)
    passing = [row for row in sleeve_rows() if row.before / 1000 >= joint]
    return passing[0] if passing else None


def tie_down(moves: bool) -> str:
    """Return where to hold the wire so that the solder never bends."""
    if moves:
        return "S-loop (it takes the pull), then stitch or glue the wire 2 cm from the joint, not the solder"
    return "clip or glue the wire 2 cm from the joint, not the solder"


class _Table:
    """Collects joints and hands out their labels X1, X2, ...; a line for alike ones gets a span."""

    def __init__(self) -> None:
        self.joints: list[Joint] = []
        self._next = 1

    def add(self, wires: tuple[str, ...], method: Method, moves: bool, count: int = 1, tie: str = "") -> None:
        label = f"X{self._next}" if count == 1 else f"X{self._next}–X{self._next + count - 1}"
        self._next += count
        sleeve = method.sleeve
        self.joints.append(
            Joint(
                joint=label,
                wires=wires,
                method=method.row.name,
                strip_length=method.strip_length,
                sleeve_diameter=sleeve.before / 1000 if sleeve else None,
                sleeve_length=method.sleeve_length if sleeve else None,
                sleeve_first=sleeve is not None,
                tie_down=tie or tie_down(moves),
                moves=moves,
                sleeve_shrunk=sleeve.after / 1000 if sleeve else None,
                count=count,
            )
        )


def lead_of(supply: Supply) -> SupplyLeadRow:
    """Return how a supply gives its two leads.

    >>> from lampwright.planner.supplies import supply_from_battery, supply_from_part
    >>> lead_of(supply_from_battery("alkaline_aa", 3)).item, lead_of(supply_from_part("vehicle_12v")).item
    ('Battery holder', 'Vehicle plug')
    """
    rows = supply_leads()
    if supply.battery:
        kind = battery_type(supply.battery)
        row = rows["lead_acid" if kind.chemistry == "lead_acid" else kind.form]
        many = "s" if supply.cells_in_series * supply.packs_in_parallel > 1 else ""
        return replace(row, on=row.on.format(s=many), off=row.off.format(s=many))
    return rows[supply_types()[supply.part].kind if supply.part else "adapter"]


def joints_and_cuts(
    planned_strings: Sequence[PlannedString],
    planned_wires: Sequence[PlannedWire],
    supply: Supply | None = None,
    flexing: bool = False,
    worn: bool = False,
    fused: bool = True,
) -> tuple[tuple[Joint, ...], tuple[Cut, ...]]:
    """Return the joint table and the cut list of a build.

    Parameters
    ----------
    planned_strings : sequence of PlannedString
        Rows; those alike share an entry ("A–D") and a line of the tables.
    planned_wires : sequence of PlannedWire
        W0 from supply to the point of distribution, then one run to each kind of light, whose
        ``serves`` lists the rows ("A–C, E"). A run without a size counts as 24 AWG.
    supply : Supply, optional
        What feeds it: packs side by side or one after the other have more leads to join.
    flexing, worn : bool
        Whether the wires bend in use; whether a person wears it (then the supply comes off by a plug).
    fused : bool
        Whether F1 is fitted, right after the supply's plus; the switch S1 always is.

    Returns
    -------
    joints : tuple of Joint
        X1, X2, ... outwards from the supply. ``wires`` holds what meets: ``W1+`` and ``W1−`` are the
        ends of a run's two wires, ``R-A`` a resistor, ``A1`` a light (``A1+``, ``A1−`` its legs).
    cuts : tuple of Cut
        Pieces of wire, one line for those alike; ``cut_length`` is of one piece, slack included.
    """
    if not planned_strings or not planned_wires:
        return (), ()
    moves = flexing or worn
    table = _Table()
    main = next((wire for wire in planned_wires if wire.label == "W0"), planned_wires[0])
    runs = [wire for wire in planned_wires if wire is not main]
    _supply_joints(table, _gauge(main), moves, worn, fused, supply)
    bridges = 0
    if runs:
        gauges = [_gauge(main), *(_gauge(run) for run in runs)]
        for pole in ("+", "−"):
            ends = ["W0" + pole, *(run.label + pole for run in runs)]
            bridges = _distribution(table, ends, gauges, moves, pole)
    for string in planned_strings:
        run = next((wire for wire in runs if served(wire, string)), main)
        _row_joints(table, string, run.label, _gauge(run), moves)
    joints = tuple(table.joints)
    return joints, tuple(_cuts(planned_strings, main, runs, bridges, joints))


def sleeve_cuts(joints: Iterable[Joint]) -> tuple[SleeveCut, ...]:
    """Return the pieces of sleeve to cut for these joints, one entry for those alike, thinnest first."""
    found: dict[tuple[float, float], list[Joint]] = {}
    for joint in joints:
        if joint.sleeve_diameter and joint.sleeve_length:
            found.setdefault((joint.sleeve_diameter, joint.sleeve_length), []).append(joint)
    return tuple(
        SleeveCut(
            sleeve_diameter=diameter,
            sleeve_length=length,
            count=sum(joint.count for joint in covered),
            joints=tuple(joint.joint for joint in covered),
        )
        for (diameter, length), covered in sorted(found.items())
    )


def _gauge(wire: PlannedWire) -> int:
    return wire.figures.awg if wire.figures.awg is not None else _FALLBACK_AWG


def _supply_joints(
    table: _Table, awg: int, moves: bool, worn: bool, fused: bool, supply: Supply | None
) -> None:
    """Add the joints from the supply to the main run: first all of plus, then all of minus."""
    lead = lead_of(supply) if supply is not None else None
    plugged = worn and (lead is None or not lead.apart)
    in_series, in_parallel = 1, 1
    if lead is not None and supply is not None:
        in_series = supply.cells_in_series if lead.each else 1
        in_parallel = supply.packs_in_parallel
    bought = min(LEAD_AWG, awg)  # leads of bought parts are no thinner than the wire they go on
    for pack in range(1, in_series):
        method = method_for([bought, bought], moves=moves, bought=True)
        table.add((f"pack {pack}−", f"pack {pack + 1}+"), method, moves, in_parallel)
    plug = [("socket", "plug")] if plugged else []
    fuse = [("F1", "F1 other lead")] if fused else []
    for pole, between in (("+", [*fuse, *plug, ("S1", "S1 other lug")]), ("−", plug)):
        start = ("supply" + pole,) * in_parallel
        for inner, outer in between:
            signed = pole if inner == "socket" else ""
            ends = (*start, inner + signed)
            table.add(ends, method_for([bought] * len(ends), moves=moves, bought=True), moves)
            start = (outer + signed,)
        gauges = [bought] * len(start) + [awg]
        table.add((*start, "W0" + pole), method_for(gauges, moves=moves, bought=True), moves)


def _distribution(table: _Table, ends: list[str], gauges: list[int], moves: bool, pole: str) -> int:
    """Add the joints where the runs part; more than a joint takes are joined in a chain.

    Returns how many bridges the chain has.
    """
    row = method_for([min(gauges), max(gauges)], moves=moves).row
    most = row.most_wires
    bridges = 0
    while len(ends) > most:
        bridges += 1
        taken, gauge = ends[: most - 1], gauges[: most - 1]
        bridge = f"bridge {bridges}{pole}"
        table.add((*taken, bridge), method_for([*gauge, gauges[0]], moves=moves), moves)
        ends, gauges = [bridge, *ends[most - 1 :]], [gauges[0], *gauges[most - 1 :]]
    table.add(tuple(ends), method_for(gauges, moves=moves), moves)
    return bridges


def _row_joints(table: _Table, string: PlannedString, run: str, awg: int, moves: bool) -> None:
    """Add the joints of a row and of those alike: run, resistor, lights, run."""
    rows = string.solved.branch_count
    first = first_row(string.row)
    lights = len(string.leds)
    soldered = method_for([awg], moves=moves, legs=1)
    if string.solved.resistance:
        table.add((f"{run}+", f"R-{first}"), soldered, moves, rows)
        table.add((f"R-{first}", f"{first}1+"), _legs(soldered), moves, rows, "glue the light, not the joint")
    else:
        table.add((f"{run}+", f"{first}1+"), soldered, moves, rows)
    if lights > 1:
        # Each link wire is soldered to a minus leg at one end and to a plus leg at the other.
        ends = 2 * (lights - 1)
        table.add((f"{first} link", f"{first}1− to {first}{lights}+"), soldered, moves, rows * ends)
    table.add((f"{first}{lights}−", f"{run}−"), soldered, moves, rows)


def _legs(soldered: Method) -> Method:
    """Return how to join two bare legs: in the sleeve of the row's other joints where that grips them."""
    sleeve = soldered.sleeve
    if sleeve is not None and sleeve.after / 1000 <= 2 * LEG_DIAMETER:
        return soldered
    return _with_sleeve(connector("solder_sleeve"), [], 2)


def _cuts(
    planned_strings: Sequence[PlannedString],
    main: PlannedWire,
    runs: Sequence[PlannedWire],
    bridges: int,
    joints: Sequence[Joint],
) -> list[Cut]:
    """Return the pieces of wire to cut."""
    at: dict[str, list[Joint]] = {}
    for joint in joints:
        for end in joint.wires:
            at.setdefault(end, []).append(joint)
    found = []
    for wire in (main, *runs):
        for pole, colour in (("+", PLUS_COLOUR), ("−", MINUS_COLOUR)):
            label = f"{wire.label}{pole}"
            found.append(_piece(label, _gauge(wire), colour, wire.run_length, at[label]))
    for number in range(1, bridges + 1):
        for pole, colour in (("+", PLUS_COLOUR), ("−", MINUS_COLOUR)):
            label = f"bridge {number}{pole}"
            found.append(_piece(label, _gauge(main), colour, BRIDGE_LENGTH, at[label]))
    for string in planned_strings:
        lights = len(string.leds)
        if lights > 1:
            run = next((wire for wire in runs if served(wire, string)), main)
            links = (lights - 1) * string.solved.branch_count
            ends = at[f"{first_row(string.row)} link"]
            found.append(
                _piece(f"links in row {string.row}", _gauge(run), LINK_COLOUR, LINK_LENGTH, ends, links)
            )
    return found


def _piece(label: str, awg: int, colour: str, length: float, ends: Sequence[Joint], count: int = 1) -> Cut:
    """Return a piece of wire; where its two ends differ, the wider sleeve and the longer strip are told."""
    widest = max(ends, key=lambda joint: joint.sleeve_diameter or 0.0)
    return Cut(
        label=label,
        awg=awg,
        colour=colour,
        cut_length=length + 2 * SLACK,
        slack=2 * SLACK,
        strip_length=max(joint.strip_length for joint in ends),
        sleeve_diameter=widest.sleeve_diameter,
        sleeve_length=widest.sleeve_length,
        count=count,
    )
