"""A general circuit simulator as the second opinion: many circuits in one process of ngspice."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

#: Without gmin and epsmin it adds conductances, and lifts saturation currents below 1e-28 A on its own.
OPTIONS = ".options gmin=1e-18 reltol=1e-10 abstol=1e-16 vntol=1e-13 epsmin=1e-300 itl1=2000 itl6=200"


def ngspice() -> str:
    """Return the program, or skip where it is not installed (in CI a skip is a failure)."""
    found = shutil.which("ngspice")
    if found is None:
        pytest.skip("ngspice is not installed")
    return found


def run_deck(deck: str, folder: Path) -> dict[str, float]:
    """Run one netlist that prints currents by itself; names in lower case."""
    path = folder / "circuit.cir"
    path.write_text(deck, "utf-8")
    done = subprocess.run(
        [ngspice(), "-b", str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    return _currents(done.stdout)


def run_many(
    circuits: Sequence[Sequence[str]], probes: Sequence[Sequence[str]], folder: Path
) -> list[dict[str, float]]:
    """Run element lines of many circuits in one process; return the current of each probe source."""
    script = ["many circuits", ".control", "set numdgt=16"]
    for number, (lines, _) in enumerate(zip(circuits, probes, strict=True)):
        deck = [f"circuit {number}", OPTIONS, ".options temp=25 tnom=25", *lines, ".end", ""]
        (folder / f"c{number}.cir").write_text("\n".join(deck), "utf-8")
        script += [f"source {folder}/c{number}.cir", "op", f"echo CIRCUIT {number}"]
        script += [f"print i({probe})" for probe in probes[number]]
        script += ["destroy all", "remcirc"]
    script += ["quit", ".endc", ".end", ""]
    main = folder / "many.cir"
    main.write_text("\n".join(script), "utf-8")
    done = subprocess.run(
        [ngspice(), "-b", str(main)], capture_output=True, text=True, timeout=600, check=False
    )
    found: list[dict[str, float]] = [{} for _ in circuits]
    for part in re.split(r"^CIRCUIT ", done.stdout, flags=re.MULTILINE)[1:]:
        found[int(part.split()[0])] = _currents(part)
    return found


def _currents(text: str) -> dict[str, float]:
    return {
        match[1].lower(): float(match[2]) for match in re.finditer(r"^i\((\w+)\) = (\S+)", text, re.MULTILINE)
    }
