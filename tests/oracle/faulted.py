"""A plan's circuit in ngspice with one fault in it and one meter at a test point.

The circuit is built as it is wired (runs shared, rows alike each on their own, a meter of 10 MΩ really
connected), so it shares neither a formula nor a solver with the program; only how large a poor contact
or a wrong resistor is taken to be is the program's own choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path

from lampwright.planner.models.build import Plan
from lampwright.planner.together import served
from lampwright.sheets.bench import POOR_CONTACT, Bench, Fault, fault_volts, shorts, solve
from tests.oracle.simulator import run_many

#: Boltzmann constant over elementary charge as ngspice has them (CODATA 2014), at 25 °C.
THERMAL_VOLTAGE = 1.38064852e-23 * 298.15 / 1.6021766208e-19
METER = 10e6
OPEN = 1e10
BRIDGE = 1e-3
#: Dark rows hang on meter and leakage alone; a meter needs no ten digits.
LOOSER = ".options reltol=1e-5 abstol=1e-12 vntol=1e-7 gmin=1e-12"


class Deck:
    """The circuit of a plan in the simulator's words, with one fault in it.

    From plus of the supply: ``g`` behind its voltage, ``t`` its terminals, ``f`` after the fuse, ``p``
    after the switch, ``d`` where the runs part, then a node for each run's end; minus is 0.
    """

    def __init__(self, plan: Plan, bench: Bench, fault: Fault, size: float = 1.0) -> None:
        self.lines: list[str] = []
        self.models: dict[str, str] = {}
        self.plan, self.bench, self.fault, self.size = plan, bench, fault, size
        self.at: dict[str, tuple[str, str]] = {}
        kind = fault.kind
        volts = fault_volts(bench, "expected", fault) * (-1 if kind == "supply_reversed" else 1)
        self.lines.append(f"V0 g 0 {volts}")
        self.resistor("g", "t", bench.source["expected"] + self.poor("holder_poor"))
        # A fuse that a short circuit opens has opened; one that holds leaves the short where it is.
        short = shorts(bench, fault)
        blown = kind in ("fuse_open", "lead_open") or (short and bench.blows)
        self.series("t", "f", 1e-4, is_open=blown)
        self.switch = len(self.lines)
        self.series("f", "s", 1e-4 + self.poor("contact_poor"), is_open=kind == "switch_open")
        self.lines.append("Vall s p 0")
        self.series("p", "d", bench.main_loop + self.poor("main_poor"), is_open=kind == "main_open")
        if short and not bench.blows:
            self.resistor("d", "0", BRIDGE)
        runs = [wire for wire in plan.wires if wire.label != "W0"]
        for wire in runs:
            mine = kind.startswith("run") and fault.run == wire.label
            poor = self._poor_run() if mine and kind == "run_poor" else 0.0
            loop = (wire.figures.loop_resistance or 0.0) + poor
            self.series("d", wire.label.lower(), loop, is_open=mine and kind == "run_open")
        for place, string in enumerate(plan.strings):
            wire = next(each for each in runs if served(each, string))
            for copy in range(string.solved.branch_count):
                self.row(place, copy, wire.label.lower())

    def poor(self, kind: str) -> float:
        """Return the resistance of a poor contact: a share of the load's own."""
        if self.fault.kind != kind:
            return 0.0
        return self.size * POOR_CONTACT * 0.1 * self.bench.volts["expected"] / solve(self.bench).total

    def _poor_run(self) -> float:
        rows = [
            (row.count, solve(self.bench).currents[place])
            for place, row in enumerate(self.bench.rows)
            if row.run == self.fault.run
        ]
        volts = self.bench.volts["expected"]
        return self.size * POOR_CONTACT * 0.1 * volts / rows[0][1] / sum(count for count, _ in rows)

    def resistor(self, a: str, b: str, ohms: float) -> None:
        self.lines.append(f"R{len(self.lines)} {a} {b} {max(ohms, 1e-6)}")

    def series(self, a: str, b: str, ohms: float, *, is_open: bool) -> None:
        self.resistor(a, b, OPEN if is_open else ohms)

    def row(self, place: int, copy: int, start: str) -> None:
        """Add one row; the fault is in the first of its kind, and so are the test points."""
        row, fault = self.bench.rows[place], self.fault
        mine = place == fault.row and copy == 0
        kind = fault.kind if mine else ""
        name = f"r{place}c{copy}"
        self.lines.append(f"Vi{place}c{copy} {start} {name}s 0")
        at = f"{name}s"
        if kind == "row_open":
            self.series(at, f"{name}x", 0, is_open=True)
            at = f"{name}x"
        if row.resistance:
            ohms = row.resistance * {"resistor_high": 10, "resistor_low": 0.1}.get(kind, 1)
            self.series(
                at, f"{name}l0", BRIDGE if kind == "resistor_short" else ohms, is_open=kind == "resistor_open"
            )
            if copy == 0:
                self.at[f"resistor_{place}"] = (at, f"{name}l0")
            at = f"{name}l0"
        for light, (diodes, inner) in enumerate(row.lights["expected"]):
            end = "0" if light + 1 == len(row.leds) else f"{name}l{light + 1}"
            if copy == 0:
                self.at[f"led_{place}_{light}"] = (at, end)
            if kind == "light_short" and light == fault.light:
                if not shorts(self.bench, fault):  # else it is drawn where the runs part
                    self.resistor(at, end, BRIDGE)
            elif kind == "light_open" and light == fault.light:
                self.resistor(at, end, OPEN)
            else:
                a, b = (end, at) if kind == "light_reversed" and light == fault.light else (at, end)
                for number, diode in enumerate(diodes):
                    last = b if number + 1 == len(diodes) and not inner else f"{name}d{light}n{number}"
                    self.lines.append(f"D{len(self.lines)} {a} {last} {self.model(diode)}")
                    self.resistor(a, last, OPEN)  # leakage, so that no node floats in a dark row
                    a = last
                if inner:
                    self.resistor(a, b, inner)
            at = end

    def model(self, diode: object) -> str:
        saturation = math.exp(diode.log_saturation_current)  # type: ignore[attr-defined]
        emission = diode.emission_voltage / THERMAL_VOLTAGE  # type: ignore[attr-defined]
        card = f"D(IS={saturation} N={emission} RS={diode.series_resistance})"  # type: ignore[attr-defined]
        return self.models.setdefault(card, f"m{len(self.models)}")

    def joints(self, place: int) -> list[str]:
        """Return the joints of a row from plus on, as one walks along it."""
        lights = len(self.bench.rows[place].leds)
        inner = [f"r{place}c0l{at}" for at in range(0 if self.bench.rows[place].resistance else 1, lights)]
        return [f"r{place}c0s", *inner]

    def with_tips(self, a: str, b: str) -> tuple[list[str], list[str]]:
        """Return element lines with a voltmeter between two nodes, and its probe."""
        models = [f".model {name} {card}" for card, name in self.models.items()] + [LOOSER]
        return [*self.lines, f"Rm {a} mm {METER}", f"Vm mm {b} 0", *models], ["Vm"]

    def with_meter(self, check: str) -> tuple[list[str], list[str]]:
        """Return element lines with a meter at a test point, and the probes: the meter's, each row's."""
        lines = list(self.lines)
        if check == "total_current":  # its tips are on the lugs of S1
            lines[self.switch] = f"Rswitch f s {1e-4 + self.poor('contact_poor')}"
            probe = "Vall"
        else:
            a, b = self._tips(check)
            lines += [f"Rm {a} mm {METER}", f"Vm mm {b} 0"]
            probe = "Vm"
        models = [f".model {name} {card}" for card, name in self.models.items()] + [LOOSER]
        return [*lines, *models], [probe, *(f"Vi{place}c0" for place in range(len(self.bench.rows)))]

    def _tips(self, check: str) -> tuple[str, str]:
        if check.startswith(("resistor_", "led_")):
            return self.at[check]
        string = self.plan.strings[self.bench.far]
        far = next(w for w in self.plan.wires if w.label != "W0" and served(w, string)).label.lower()
        return {"supply_off": "g", "supply_on": "t", "after_switch": "p", "far_end": far}[check], "0"


def measured(
    plan: Plan,
    bench: Bench,
    wanted: Iterable[tuple[Fault, str]],
    folder: Path,
    sizes: Mapping[Fault, float] | None = None,
) -> list[tuple[float, tuple[float, ...]]]:
    """Return what ngspice's meter shows for each (fault, check), and the current of each kind of row.

    ``sizes`` says how many times the program's own size a poor contact is.
    """
    pairs = list(wanted)
    circuits, probes = [], []
    for fault, check in pairs:
        lines, probe = Deck(plan, bench, fault, (sizes or {}).get(fault, 1.0)).with_meter(check)
        circuits.append(lines)
        probes.append(probe)
    found = run_many(circuits, probes, folder)
    values = []
    for (fault, check), told, currents in zip(pairs, probes, found, strict=True):
        assert len(currents) == len(told), (fault, check)
        value = currents[told[0].lower()] * (1 if check == "total_current" else METER)
        values.append((value, tuple(currents[name.lower()] for name in told[1:])))
    return values
