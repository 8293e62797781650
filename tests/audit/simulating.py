"""The worst corner of a buildable sheet in ngspice: lights, resistors, runs and supply within their limits.

The deck is written from the sheet's JSON: every row as often as it is built stands once and is counted;
curves come from the auditor's reading of the lights, currents from ngspice alone.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from lampwright.auditor.circuit import diodes_of
from lampwright.auditor.reading import ReadSheet, Row, read_sheet
from lampwright.physics.diodes import Diode

OPTIONS = ".options gmin=1e-18 reltol=1e-8 abstol=1e-15 vntol=1e-12 epsmin=1e-300 itl1=2000 itl6=200"
#: Thermal voltage of ngspice at 27 °C: ideality factors are stated against it.
THERMAL_VOLTAGE_27 = 1.38064852e-23 * 300.15 / 1.6021766208e-19
_ROOM = 1 + 1e-5
#: The states that are simulated: the worst one, and the usual one, where a weak source may leave a row more.
CORNERS = ("high", "expected")
Currents = dict[str, float]


def outside_limits(documents: list[dict[str, Any]]) -> list[str]:
    """Return what ngspice finds outside a limit, over all sheets; a line each."""
    sheets = [read_sheet(document) for document in documents]
    found: list[str] = []
    for start in range(0, len(sheets), 50):
        batch = sheets[start : start + 50]
        for offset, (sheet, currents) in enumerate(zip(batch, _solve(batch), strict=True)):
            found += [f"sheet {start + offset}: {line}" for line in _judged(sheet, currents)]
    return found


def _solve(sheets: list[ReadSheet]) -> list[dict[str, Currents]]:
    program = shutil.which("ngspice")
    if program is None:
        raise SystemExit("ngspice is not installed")
    with tempfile.TemporaryDirectory() as folder:
        script = ["worst corners", ".control", "set numdgt=12"]
        for number, sheet in enumerate(sheets):
            lit = [place for place, row in enumerate(sheet.rows) if not _dark(sheet, row)]
            for corner in CORNERS:
                (Path(folder) / f"{corner}{number}.cir").write_text(_deck(sheet, corner), "utf-8")
                script += [f"source {folder}/{corner}{number}.cir", "op", f"echo SHEET {number} {corner}"]
                script += [f"print i(vrow{place})" for place in lit]
                script += ["remcirc"]
        script += ["quit", ".endc", ".end", ""]
        main = Path(folder) / "main.cir"
        main.write_text("\n".join(script), "utf-8")
        done = subprocess.run(
            [program, "-b", str(main)], capture_output=True, text=True, timeout=600, check=False
        )
    found: list[dict[str, Currents]] = [{} for _ in sheets]
    for part in re.split(r"^SHEET ", done.stdout, flags=re.MULTILINE)[1:]:
        pairs = re.finditer(r"^i\((\w+)\) = (\S+)", part, re.MULTILINE)
        number, corner = part.split()[:2]
        found[int(number)][corner] = {match[1].lower(): float(match[2]) for match in pairs}
    return found


def _dark(sheet: ReadSheet, row: Row) -> bool:
    """Return whether a row stays dark at the highest voltage: there the simulator loses its way."""
    least = sum(light.forward_voltage_min * light.built_in_series_count for light in row.lights)
    return least > 1.6 * sheet.source.highest


def _deck(sheet: ReadSheet, corner: str) -> str:
    """Return the netlist of a state without wires.

    The worst: highest supply, lowest voltages and resistances. The usual: everything as expected.
    """
    source, high = sheet.source, corner == "high"
    volts, inside_source = (
        (source.highest, source.resistance_low) if high else (source.voltage, source.resistance)
    )
    # No resistance is left out, not made tiny: a tiny one costs the matrix its last digits.
    first = "s" if inside_source > 0 else "d"
    lines = [f"{corner} corner", OPTIONS, ".options temp=27 tnom=27", f"vsupply {first} 0 {volts!r}"]
    if inside_source > 0:
        lines.append(f"rsource s d {inside_source!r}")
    models: dict[Diode, str] = {}
    for place, row in enumerate(sheet.rows):
        if _dark(sheet, row):
            continue
        node = f"r{place}"
        resistance = row.resistance * (1 - row.tolerance if high else 1)
        diodes: list[Diode] = []
        for light in row.lights:
            inside, hidden = diodes_of(light, corner, sheet.ambient_temperature)
            diodes += inside
            resistance += hidden
        # All rows alike together: one branch, its current multiplied by a current-controlled source.
        lines.append(f"vrow{place} d {node}a 0")
        lines.append(f"rrow{place} {node}a {node}0 {max(resistance, 1e-9)!r}")
        for at, diode in enumerate(diodes):
            model = models.setdefault(diode, f"m{len(models)}")
            last = "0" if at == len(diodes) - 1 else f"{node}{at + 1}"
            lines.append(f"d{place}x{at} {node}{at} {last} {model}")
        if row.count > 1:
            lines.append(f"frow{place} d 0 vrow{place} {row.count - 1}")
    for diode, name in models.items():
        ideality = diode.emission_voltage / THERMAL_VOLTAGE_27
        saturation = 2.718281828459045**diode.log_saturation_current
        lines.append(
            f".model {name} d(is={saturation:.15e} n={ideality:.15e} rs={diode.series_resistance!r} "
            "xti=0 eg=1.11)"
        )
    return "\n".join([*lines, ".end", ""])


def _judged(sheet: ReadSheet, states: dict[str, Currents]) -> list[str]:
    """Hold ngspice's currents against every limit the sheet's parts have."""
    found = []
    total = 0.0
    flows: list[float] = []
    for place, row in enumerate(sheet.rows):
        current, usual = (
            0.0 if _dark(sheet, row) else states.get(corner, {}).get(f"vrow{place}") for corner in CORNERS
        )
        if current is None or usual is None:
            return [f"ngspice found no currents:\n{_deck(sheet, CORNERS[0])}\n{_deck(sheet, CORNERS[1])}"]
        total += row.count * current
        flows.append(row.count * current)
        for light in row.lights:
            if current > light.max_forward_current * _ROOM:
                found.append(f"{light.name}: {current:.4g} A above {light.max_forward_current:.4g} A")
        heat = current**2 * row.resistance * (1 - row.tolerance)
        if row.resistance and heat > (row.rated_dissipation or 0.0) * _ROOM:
            found.append(f"resistor of {row.label}: {heat:.4g} W")
        for solved, name in ((max(current, usual), "current_high"), (usual, "current")):
            stated = row.printed[name]
            if abs(solved - stated) > max(1e-4 * stated, 1e-6):
                found.append(f"row {row.label}, {name}: {solved:.6g} A, printed {stated:.6g} A")
    for run in sheet.runs:
        flowing = total if run.label == "W0" else sum(flows[place] for place in run.rows)
        if flowing > run.printed["ampacity"] * _ROOM:
            found.append(f"{run.label}: {flowing:.4g} A above its {run.printed['ampacity']:.4g} A")
    fuse = sheet.fuse
    # A maker's own fuse may be used up to its rating, where the sheet says that this is little in reserve.
    told = any(each["code"] == "fuse_little_reserve" for each in sheet.document["findings"])
    part, words = (1.0, "the rating") if told else (0.75, "three quarters of the rating")
    if fuse and fuse["rated_current"] and total > part * fuse["rated_current"] * _ROOM:
        found.append(f"fuse: {total:.4g} A is above {words}, {fuse['rated_current']:.4g} A")
    if sheet.switch and total > sheet.switch["rated_current"] * _ROOM:
        found.append(f"switch: {total:.4g} A")
    return found
