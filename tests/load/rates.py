"""How fast, compared with a bare echo of JSON on the same server: two workers, sixteen connections.

``python -m tests.load.rates [--rounds N] [--seconds S]``: interleaved rounds, medians, and ratios of rates to
the echo's of the same round. Inputs differ from request to request, so that no cache helps a POST. Also
table rows a second on one worker, memory, and the time from the command to the first answer. Needs wrk.
Prints figures and judges none: what matters are ratios within one run on a quiet machine.
"""

from __future__ import annotations

import argparse
import http.client
import json
import re
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from tests.load import processes
from tests.load.processes import free_ports, memory_of
from tests.load.runs import started

CONNECTIONS = 16
#: Stands for a number that is another one in each request.
VARIED = "@@@@"

RESISTOR: dict[str, Any] = {"supply_voltage_v": VARIED, "led": "red_5mm"}
ARRANGEMENT: dict[str, Any] = {
    "supply_voltage_v": VARIED,
    "lights": [
        {"name": "eyes", "led": "red_5mm", "count": 7},
        {"name": "gauges", "led": "green_5mm", "count": 7},
        {"name": "glow", "led": "blue_5mm", "count": 6},
    ],
}
BUILD: dict[str, Any] = {
    "title": "Signal box",
    "supply": {"battery": "alkaline_aa", "cells_in_series": 6},
    "lights": [
        {"name": "Signals", "led": "red_5mm", "count": 4, "run_length_m": VARIED},
        {"name": "Windows", "led": "warm_white_5mm", "count": 5, "run_length_m": 0.5},
        {"name": "Lamp", "led": "blue_5mm", "count": 1, "run_length_m": 1.0},
    ],
    "usage": {"hours_wanted_h": 4},
}
#: Smallest and width of the number that is varied, for each body.
RANGES = {"supply_voltage_v": (11.0, 4.0), "run_length_m": (0.2, 3.0)}


@dataclass(frozen=True)
class Kind:
    """One kind of request."""

    name: str
    path: str
    body: dict[str, Any] | None
    aim: float | None
    echo: bool = False


KINDS = (
    Kind("bare echo", "/echo", RESISTOR, None, echo=True),
    Kind("series-resistors POST", "/v1/series-resistors", RESISTOR, 0.75),
    Kind("series-resistors GET, cached", "/v1/series-resistors?supply_voltage_v=9&led=red_5mm", None, 1.1),
    Kind("arrangements POST", "/v1/arrangements", ARRANGEMENT, 0.4),
    Kind("build-sheets POST", "/v1/build-sheets", BUILD, 0.05),
)


def script(kind: Kind, folder: Path) -> Path:
    """Write what wrk has to send; six decimals and a step that fits none of them: nothing comes twice."""
    place = folder / f"{re.sub('[^a-z]+', '_', kind.name)}.lua"
    if kind.body is None:
        place.write_text('wrk.method = "GET"\n')
        return place
    text = json.dumps(kind.body).replace("%", "%%").replace(f'"{VARIED}"', "%.6f")
    low, width = RANGES["supply_voltage_v" if "supply_voltage_v" in kind.body else "run_length_m"]
    place.write_text(
        f"""local n = {time.monotonic_ns() % 1_000_000}
local headers = {{["Content-Type"] = "application/json"}}
request = function()
  n = n + 1
  local varied = {low} + {width} * (n * 0.6180339887 % 1)
  return wrk.format("POST", nil, headers, string.format([==[{text}]==], varied))
end
"""
    )
    return place


@dataclass(frozen=True)
class Measured:
    """What one round of one kind gave."""

    rate: float
    p50: float
    p99: float


_UNITS = {"us": 0.001, "ms": 1.0, "s": 1000.0}


def measure(kind: Kind, port: int, lua: Path, seconds: int) -> Measured:
    """Run wrk once; raise RuntimeError where an answer was no success."""
    command = [processes.tool("wrk") or "wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}s", "--latency"]
    done = subprocess.run(
        [*command, "-s", str(lua), f"http://127.0.0.1:{port}{kind.path}"],
        capture_output=True,
        text=True,
        timeout=seconds + 30,
        check=True,
    )
    if "Non-2xx" in done.stdout or "Socket errors" in done.stdout:
        raise RuntimeError(f"{kind.name}: {done.stdout}")
    rate = float(re.findall(r"Requests/sec:\s+([0-9.]+)", done.stdout)[0])
    times = [
        float(number) * _UNITS[unit]
        for number, unit in re.findall(r"^\s+(?:50|99)%\s+([0-9.]+)(us|ms|s)", done.stdout, re.M)
    ]
    return Measured(rate, times[0], times[1])


def post(port: int, path: str, body: bytes, kind: str) -> bytes:
    """Send one request; raise RuntimeError where the answer is no success."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    connection.request("POST", path, body, {"Content-Type": kind})
    answer = connection.getresponse()
    said = answer.read()
    connection.close()
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status} {said[:200]!r}")
    return said


def table(rows: int, salt: int) -> bytes:
    """Return a table of questions, one in twenty bad."""
    lines = [
        f"red_5mm,{'70' if number % 20 == 7 else round(5 + (number + salt / 7) % 40_000 / 1000, 6)}"
        for number in range(rows)
    ]
    return ("led,supply_voltage_v\n" + "\n".join(lines) + "\n").encode()


def rows_a_second(port: int, rows: int, salt: int) -> float:
    """Return how many rows of a table are answered in a second."""
    sent = table(rows, salt)
    begun = time.perf_counter()
    said = post(port, "/v1/tables/series-resistors", sent, "text/csv")
    seconds = time.perf_counter() - begun
    if said.count(b"\r\n") != rows + 1:
        raise RuntimeError("the table is not whole")
    return rows / seconds


def first_answer(port: int) -> float:
    """Return the seconds from the command to the first answered question."""
    one = processes.replica(port, workers=2)
    begun = time.perf_counter()
    one.start()
    try:
        while True:
            try:
                post(
                    port,
                    "/v1/series-resistors",
                    b'{"supply_voltage_v":9,"led":"red_5mm"}',
                    "application/json",
                )
                return time.perf_counter() - begun
            except OSError:
                if time.perf_counter() - begun > 30:
                    raise
                time.sleep(0.005)
    finally:
        one.stop()


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.load.rates")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--seconds", type=int, default=5, help="of each kind in each round")
    chosen = parser.parse_args()
    if processes.tool("wrk") is None:
        sys.stderr.write("wrk is not there.\n")
        return 1
    bare, ours, single = free_ports(3)
    echo, service, alone = processes.echo(bare, 2), processes.replica(ours, 2), processes.replica(single)
    found: dict[str, list[Measured]] = {kind.name: [] for kind in KINDS}
    rows: list[float] = []
    with tempfile.TemporaryDirectory() as folder, started(echo, service, alone):
        for kind in KINDS:  # warm
            measure(kind, bare if kind.echo else ours, script(kind, Path(folder)), 1)
        (worker,) = alone.children()
        post(single, "/v1/series-resistors", b'{"supply_voltage_v":9,"led":"red_5mm"}', "application/json")
        before = memory_of(worker)
        rows_a_second(single, 1000, 0)
        for turn in range(chosen.rounds):
            for kind in KINDS:
                lua = script(kind, Path(folder))
                found[kind.name].append(measure(kind, bare if kind.echo else ours, lua, chosen.seconds))
            rows.append(rows_a_second(single, 20_000, turn + 1))
        after = memory_of(worker)
        most = max(memory_of(pid) for pid in service.children())
    starts = [first_answer(port) for port in free_ports(chosen.rounds)]
    tell(found, chosen.seconds)
    print(f"/v1/tables/series-resistors, one worker: {median(rows):,.0f} rows a second ({spread(rows)})")
    print(f"memory of a worker: {before:.0f} MB before its first table, {after:.0f} after;", end=" ")
    print(f"{most:.0f} after all of the above but tables")
    print(f"from the command to the first answer: {median(starts):.2f} s ({spread(starts)})")
    return 0


def spread(values: list[float]) -> str:
    """Return the smallest and largest in words."""
    return f"{min(values):,.2f} to {max(values):,.2f}"


def tell(found: dict[str, list[Measured]], seconds: int) -> None:
    """Print rates and ratios."""
    base = found[KINDS[0].name]
    print(f"{len(base)} rounds of {seconds} s, 2 workers, {CONNECTIONS} connections; medians")
    print(f"{'':30}{'a second':>10}{'of echo':>9}{'aim':>6}{'p50 ms':>9}{'p99 ms':>9}{'p99 of echo':>13}")
    for kind in KINDS:
        rounds = found[kind.name]
        ratio = median(one.rate / echo.rate for one, echo in zip(rounds, base, strict=True))
        late = median(one.p99 / echo.p99 for one, echo in zip(rounds, base, strict=True))
        rate, p50, p99 = (median(getattr(one, name) for one in rounds) for name in ("rate", "p50", "p99"))
        aim = f"{kind.aim:g}" if kind.aim else ""
        print(f"{kind.name:30}{rate:10,.0f}{ratio:9.2f}{aim:>6}{p50:9.1f}{p99:9.1f}{late:13.2f}")


if __name__ == "__main__":
    sys.exit(main())
