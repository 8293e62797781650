"""Every joint of a build and every piece of wire to cut.

Joints run from the supply outwards: fuse and switch, the point where the runs part, then each row from
plus to minus. Rows that are alike share a line. A sleeve has to pass over the joint before shrinking and
grip the wire after it, and it goes on BEFORE soldering.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lampwright.physics.conductors import awg_diameter
from lampwright.planner.labels import first_row, rows_in
from lampwright.planner.models.build import PlannedString, PlannedWire
from lampwright.planner.models.wiring import Cut, Joint
from lampwright.tables.joints import ConnectorRow, SleeveRow, connector, connector_rows, sleeve_rows

# All lengths in m; common practice, no source.
SLACK = 0.05  # spare at each end of a piece
LINK_LENGTH = 0.10  # from one light of a row to the next where nobody says otherwise
INSIDE_LENGTH = 0.10  # from fuse to switch
INSULATION_WALL = 0.4e-3  # of ordinary hook-up wire
LEG_DIAMETER = 0.6e-3  # legs of LEDs and resistors
SLEEVE_MARGIN = 6e-3  # beyond the bare metal at each end
PLUS_COLOUR, MINUS_COLOUR, LINK_COLOUR = "RD", "BK", "WH"  # letters after IEC 60757 (from memory)
_FALLBACK_AWG = 24


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


def method_for(gauges: Sequence[int], *, moves: bool, comes_apart: bool = False, legs: int = 0) -> Method:
    """Return how to join wires of these gauges (and ``legs`` of parts).

    Solder and sleeve for anything small or with a part's leg; lever connectors where it is still and the
    wire is thick enough for their print; plugs where it has to come apart and move. Twist caps are never
    chosen, only listed: they hold stranded wire in still scenery at best.

    >>> method_for([22, 22, 22], moves=False).row.name
    'lever connector'
    >>> method_for([28, 28, 28], moves=True).row.name
    'solder and sleeve'
    >>> method_for([26, 26], moves=True, comes_apart=True).row.name
    'plug and socket'
    """
    rows = connector_rows()
    wanted = []
    if comes_apart and moves:
        wanted = ["plug", "lever"]
    elif not moves and not legs:
        wanted = ["lever"]
    for name in wanted:
        if fits(rows[name], gauges) and (rows[name].stands_moving or not moves):
            return _with_sleeve(rows[name], gauges, legs)
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
        return "S-loop, then stitch or glue the wire 2 cm from the joint, never the solder"
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


def joints_and_cuts(
    planned_strings: Sequence[PlannedString],
    planned_wires: Sequence[PlannedWire],
    flexing: bool = False,
    worn: bool = False,
    fused: bool = True,
    switched: bool = True,
) -> tuple[tuple[Joint, ...], tuple[Cut, ...]]:
    """Return the joint table and the cut list of a build.

    Parameters
    ----------
    planned_strings : sequence of PlannedString
        Rows; those alike share an entry ("A–D") and a line of the tables.
    planned_wires : sequence of PlannedWire
        W0 from supply to the point of distribution, then one run to each kind of light, whose
        ``serves`` lists the rows ("A–C, E"). A run without a size counts as 24 AWG.
    flexing, worn : bool
        Whether the wires bend in use; whether a person wears it (then the supply gets a plug).
    fused, switched : bool
        Whether F1 and S1 are fitted, in this order after the supply's plus.

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
    _supply_joints(table, _gauge(main), moves, worn, fused, switched)
    if runs:
        gauges = [_gauge(main), *(_gauge(run) for run in runs)]
        for pole in ("+", "−"):
            _distribution(table, ["W0" + pole, *(run.label + pole for run in runs)], gauges, moves)
    for string in planned_strings:
        run = next((wire for wire in runs if _serves(wire, string)), main)
        _row_joints(table, string, run.label, _gauge(run), moves)
    return tuple(table.joints), tuple(_cuts(planned_strings, main, runs, fused, switched))


def _gauge(wire: PlannedWire) -> int:
    return wire.figures.awg if wire.figures.awg is not None else _FALLBACK_AWG


def _serves(wire: PlannedWire, string: PlannedString) -> bool:
    rows = {row for span in wire.serves.split(", ") for row in rows_in(span)}
    return first_row(string.row) in rows


def _supply_joints(table: _Table, awg: int, moves: bool, worn: bool, fused: bool, switched: bool) -> None:
    """Add the joints from the supply to the main run."""
    chain = ["supply+", *(["F1"] if fused else []), *(["S1"] if switched else []), "W0+"]
    for first, second in pairwise(chain):
        leads = (f"{first} lead" if first in ("F1", "S1") else first, second)
        pluggable = first == "supply+" and worn
        method = method_for([awg, awg], moves=moves, comes_apart=pluggable)
        table.add(leads, method, moves)
    table.add(("supply−", "W0−"), method_for([awg, awg], moves=moves, comes_apart=worn), moves)


def _distribution(table: _Table, ends: list[str], gauges: list[int], moves: bool) -> None:
    """Add the joints where the runs part; more than a joint takes are joined in a chain."""
    most = connector("lever").most_wires if not moves else connector("solder_sleeve").most_wires
    while len(ends) > most:
        taken, gauge = ends[: most - 1], gauges[: most - 1]
        bridge = f"bridge to the next {ends[0][-1]}"
        table.add((*taken, bridge), method_for([*gauge, gauges[0]], moves=moves), moves)
        ends, gauges = [bridge, *ends[most - 1 :]], [gauges[0], *gauges[most - 1 :]]
    table.add(tuple(ends), method_for(gauges, moves=moves), moves)


def _row_joints(table: _Table, string: PlannedString, run: str, awg: int, moves: bool) -> None:
    """Add the joints of a row and of those alike: run, resistor, lights, run."""
    rows = string.solved.branch_count
    first = first_row(string.row)
    lights = len(string.leds)
    soldered = method_for([awg], moves=moves, legs=1)
    if string.solved.resistance:
        table.add((f"{run}+", f"R-{first}"), soldered, moves, rows)
        legs = _with_sleeve(connector("solder_sleeve"), [], 2)
        table.add((f"R-{first}", f"{first}1+"), legs, moves, rows, "glue the light, not the joint")
    else:
        table.add((f"{run}+", f"{first}1+"), soldered, moves, rows)
    if lights > 1:
        # Each link wire is soldered to a minus leg at one end and to a plus leg at the other.
        ends = 2 * (lights - 1)
        table.add((f"{first} link", f"{first}1− to {first}{lights}+"), soldered, moves, rows * ends)
    table.add((f"{first}{lights}−", f"{run}−"), soldered, moves, rows)


def _cuts(
    planned_strings: Sequence[PlannedString],
    main: PlannedWire,
    runs: Sequence[PlannedWire],
    fused: bool,
    switched: bool,
) -> list[Cut]:
    """Return the pieces of wire to cut."""
    found = []
    if fused and switched:
        found.append(_piece("F1 to S1", _gauge(main), PLUS_COLOUR, INSIDE_LENGTH, 0))
    for wire in (main, *runs):
        for pole, colour in (("+", PLUS_COLOUR), ("−", MINUS_COLOUR)):
            legs = 0 if wire is main else 1
            found.append(_piece(f"{wire.label}{pole}", _gauge(wire), colour, wire.run_length, legs))
    for string in planned_strings:
        lights = len(string.leds)
        if lights > 1:
            run = next((wire for wire in runs if _serves(wire, string)), main)
            links = (lights - 1) * string.solved.branch_count
            label = f"links in row {string.row}"
            found.append(_piece(label, _gauge(run), LINK_COLOUR, LINK_LENGTH, 1, links))
    return found


def _piece(label: str, awg: int, colour: str, length: float, legs: int, count: int = 1) -> Cut:
    gauges = [awg] if legs else [awg, awg]
    method = _with_sleeve(connector("solder_sleeve"), gauges, legs)
    return Cut(
        label=label,
        awg=awg,
        colour=colour,
        cut_length=length + 2 * SLACK,
        slack=2 * SLACK,
        strip_length=method.strip_length,
        sleeve_diameter=method.sleeve.before / 1000 if method.sleeve else None,
        sleeve_length=method.sleeve_length if method.sleeve else None,
        count=count,
    )
