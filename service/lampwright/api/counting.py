"""Counts of requests for Prometheus, shared by all workers through a folder.

Each worker owns one small file of 64-bit counters, mapped into memory; whoever is asked adds up the files.
A worker that died leaves its file, so that sums never fall. Without a folder the counters are private.
"""

from __future__ import annotations

import mmap
import os
import struct
import threading
from pathlib import Path

BUCKETS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0)
GROUPS = (
    "series-resistors",
    "arrangements",
    "wires",
    "fuses",
    "runtimes",
    "circuit-checks",
    "build-sheets",
    "supply-choices",
    "light-identifications",
    "diagnoses",
    "build-comparisons",
    "log-fits",
    "tables",
    "reference",
    "page",
    "other",
)
CLASSES = ("2xx", "3xx", "4xx", "5xx")
_COUNTS = len(GROUPS) * len(CLASSES)
_EACH = len(BUCKETS) + 2  # every bucket, the count, the sum in µs
_SLOTS = _COUNTS + len(GROUPS) * _EACH
_SIZE = _SLOTS * 8


def group_of(path: str) -> str:
    """Return under which name a path is counted.

    >>> group_of("/v1/wires"), group_of("/v1/runtimes.csv"), group_of("/v1/tables/wires"), group_of("/")
    ('wires', 'runtimes', 'tables', 'page')
    """
    if path.startswith("/v1/"):
        name = path[4:].partition("/")[0].removesuffix(".csv")
        if name in GROUPS:
            return name
        return "reference" if name in ("parts", "sources", "openapi.json") else "other"
    if path == "/" or path.startswith(("/docs", "/assets", "/embed")):
        return "page"
    return "other"


class Counts:
    """The counters of one worker, and the sums over all of them."""

    def __init__(self, folder: str = "") -> None:
        self.folder = Path(folder) if folder else None
        self._memory: mmap.mmap | bytearray | None = None
        self._owner = 0
        # A worker's threads count side by side: reading, adding and writing back is three steps.
        self._lock = threading.Lock()

    def _mine(self) -> mmap.mmap | bytearray:
        """Return this process's counters; after a fork they are new ones."""
        if self._memory is None or self._owner != os.getpid():
            self._owner = os.getpid()
            self._memory = bytearray(_SIZE)
            if self.folder is not None:
                self.folder.mkdir(parents=True, exist_ok=True)
                with (self.folder / f"{self._owner}.counts").open("w+b") as file:
                    file.truncate(_SIZE)
                    self._memory = mmap.mmap(file.fileno(), _SIZE)
        return self._memory

    def add(self, path: str, status: int, seconds: float) -> None:
        """Count one request."""
        at = GROUPS.index(group_of(path))
        with self._lock:
            memory = self._mine()
            _increase(memory, at * len(CLASSES) + min(max(status // 100, 2), 5) - 2, 1)
            base = _COUNTS + at * _EACH
            for index, bound in enumerate(BUCKETS):
                if seconds <= bound:
                    _increase(memory, base + index, 1)
                    break
            _increase(memory, base + len(BUCKETS), 1)
            _increase(memory, base + len(BUCKETS) + 1, int(seconds * 1e6))

    def _sums(self) -> list[int]:
        with self._lock:
            mine = self._mine()
        if self.folder is None:
            return list(struct.unpack(f"{_SLOTS}q", bytes(mine)))
        sums = [0] * _SLOTS
        for file in self.folder.glob("*.counts"):
            raw = file.read_bytes()
            if len(raw) == _SIZE:
                sums = [a + b for a, b in zip(sums, struct.unpack(f"{_SLOTS}q", raw), strict=True)]
        return sums

    def text(self) -> str:
        """Return all counts in Prometheus' text format."""
        sums = self._sums()
        lines = [
            "# HELP lampwright_requests_total Requests answered.",
            "# TYPE lampwright_requests_total counter",
        ]
        for at, group in enumerate(GROUPS):
            for offset, name in enumerate(CLASSES):
                count = sums[at * len(CLASSES) + offset]
                if count:
                    lines.append(f'lampwright_requests_total{{group="{group}",status="{name}"}} {count}')
        lines += [
            "# HELP lampwright_request_seconds Time from request to answer.",
            "# TYPE lampwright_request_seconds histogram",
        ]
        for at, group in enumerate(GROUPS):
            base = _COUNTS + at * _EACH
            total = sums[base + len(BUCKETS)]
            if not total:
                continue
            running = 0
            for index, bound in enumerate(BUCKETS):
                running += sums[base + index]
                lines.append(f'lampwright_request_seconds_bucket{{group="{group}",le="{bound:g}"}} {running}')
            lines.append(f'lampwright_request_seconds_bucket{{group="{group}",le="+Inf"}} {total}')
            lines.append(
                f'lampwright_request_seconds_sum{{group="{group}"}} {sums[base + len(BUCKETS) + 1] / 1e6:g}'
            )
            lines.append(f'lampwright_request_seconds_count{{group="{group}"}} {total}')
        return "\n".join(lines) + "\n"


def _increase(memory: mmap.mmap | bytearray, slot: int, by: int) -> None:
    (old,) = struct.unpack_from("q", memory, slot * 8)
    struct.pack_into("q", memory, slot * 8, old + by)
