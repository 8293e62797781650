"""A small asynchronous HTTP client that counts what goes wrong."""

from __future__ import annotations

import asyncio
import json
import time
from collections import Counter
from dataclasses import dataclass, field
from itertools import count
from typing import Any

#: What a socket that is cut, refused or late ends in.
FAILURES = (OSError, asyncio.IncompleteReadError, TimeoutError, ValueError)
#: More than the slowest answer on a busy machine. s
PATIENCE = 60.0


@dataclass
class Tally:
    """What came back: statuses, failures, times."""

    statuses: Counter[int] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    @property
    def answered(self) -> int:
        """Requests that were answered with success."""
        return self.statuses[200]

    @property
    def failed(self) -> int:
        """Requests without an answer, or with one that is our fault."""
        return len(self.failures) + sum(n for status, n in self.statuses.items() if status >= 500)

    @property
    def others(self) -> int:
        """Requests not answered with success."""
        return len(self.failures) + sum(n for status, n in self.statuses.items() if status != 200)

    def quantile(self, share: float) -> float:
        """Return a quantile of the times in milliseconds."""
        ranked = sorted(self.seconds)
        return 1000 * ranked[min(len(ranked) - 1, int(share * len(ranked)))] if ranked else float("nan")

    def text(self) -> str:
        """Return the counts in words."""
        kinds = ", ".join(f"{number} x {status}" for status, number in sorted(self.statuses.items()))
        failures = f"; {len(self.failures)} failed: {Counter(self.failures)}" if self.failures else ""
        return f"{kinds or 'nothing answered'}{failures}"


class Line:
    """One connection, kept alive; opened anew where the other side closed it after an answer."""

    def __init__(self, port: int, source: str = "127.0.0.1") -> None:
        self.port = port
        self.source = source
        self.reader: asyncio.StreamReader | None = None
        self.writer: asyncio.StreamWriter | None = None

    async def open(self) -> None:
        """Connect."""
        self.reader, self.writer = await asyncio.open_connection(
            "127.0.0.1", self.port, local_addr=(self.source, 0)
        )

    def close(self) -> None:
        """End the connection."""
        if self.writer is not None:
            self.writer.close()
        self.reader = self.writer = None

    async def ask(
        self, method: str, path: str, body: bytes = b"", kind: str | None = "application/json"
    ) -> tuple[int, dict[str, str], bytes]:
        """Send a request and return status, headers and body of its answer."""
        if self.writer is None:
            await self.open()
        assert self.reader is not None
        assert self.writer is not None
        head = f"{method} {path} HTTP/1.1\r\nHost: lampwright\r\n"
        if method == "POST":
            head += f"Content-Length: {len(body)}\r\n" + (f"Content-Type: {kind}\r\n" if kind else "")
        self.writer.write(head.encode("latin-1") + b"\r\n" + body)
        await self.writer.drain()
        raw = await self.reader.readuntil(b"\r\n\r\n")
        first, *lines = raw.decode("latin-1").split("\r\n")[:-2]
        headers = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
        if headers.get("transfer-encoding") == "chunked":
            found = bytearray()
            while size := int(await self.reader.readuntil(b"\r\n"), 16):
                found += await self.reader.readexactly(size)
                await self.reader.readexactly(2)
            await self.reader.readexactly(2)
            said = bytes(found)
        else:
            said = await self.reader.readexactly(int(headers["content-length"]))
        if headers.get("connection", "").lower() == "close":
            self.close()
        return int(first.split(" ", 2)[1]), headers, said

    async def counted(self, tally: Tally, method: str, path: str, body: bytes = b"", **more: Any) -> bytes:
        """Send a request and put down what came of it."""
        begun = time.perf_counter()
        try:
            status, _, said = await asyncio.wait_for(self.ask(method, path, body, **more), PATIENCE)
        except FAILURES as error:
            tally.failures.append(f"{type(error).__name__}: {error}"[:80])
            self.close()
            return b""
        tally.statuses[status] += 1
        tally.seconds.append(time.perf_counter() - begun)
        return said


_NUMBER = count()


def question() -> bytes:
    """Return a question about a resistor that nobody asked before."""
    number = next(_NUMBER)
    members = {"supply_voltage_v": round(5 + number % 40_000 / 1000, 3), "led": "red_5mm"}
    return json.dumps({**members, "tolerance_pct": round(1 + number // 40_000 / 10, 1)}).encode()


RESISTORS = "/v1/series-resistors"
TABLES = "/v1/tables/series-resistors"


async def steady(port: int, rate: float, seconds: float, tally: Tally) -> None:
    """Ask at a steady rate, whether or not the answers keep up, over 20 lines and more where needed."""
    lines: list[Line] = [Line(port) for _ in range(20)]
    for line in lines:
        await line.open()
    tasks = []

    async def one() -> None:
        line = lines.pop(0) if lines else Line(port)
        await line.counted(tally, "POST", RESISTORS, question())
        lines.append(line)

    begun = time.perf_counter()
    for number in range(int(rate * seconds)):
        wait = begun + number / rate - time.perf_counter()
        if wait > 0:
            await asyncio.sleep(wait)
        tasks.append(asyncio.create_task(one()))
    await asyncio.gather(*tasks)
    for line in lines:
        line.close()


async def busy(port: int, lines: int, until: asyncio.Event, tally: Tally) -> None:
    """Ask one question after another on several lines, until told to end."""

    async def one() -> None:
        line = Line(port)
        while not until.is_set():
            await line.counted(tally, "POST", RESISTORS, question())
        line.close()

    await asyncio.gather(*(one() for _ in range(lines)))


async def drip(port: int, *, body: bool, tally: Counter[str], until: asyncio.Event) -> None:
    """Open a socket and send a byte now and then, as who wants to keep it does; count that it was cut."""
    try:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
    except OSError:
        tally["refused"] += 1
        return
    tally["opened"] += 1
    if body:
        head = f"POST {RESISTORS} HTTP/1.1\r\nHost: x\r\n"
        head += "Content-Type: application/json\r\nContent-Length: 999\r\n\r\n"
        writer.write(head.encode())
    try:
        while not until.is_set():
            writer.write(b"{" if body else b"G")
            await writer.drain()
            try:
                await asyncio.wait_for(reader.read(1), 0.7)
            except TimeoutError:
                continue
            tally["cut"] += 1
            break
    except OSError:
        tally["cut"] += 1
    writer.close()


async def drip_table(port: int, tally: Counter[str], until: asyncio.Event) -> None:
    """Send more of a table than the proxy holds back at once, then the rest drop by drop."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    tally["opened"] += 1
    head = f"POST {TABLES} HTTP/1.1\r\nHost: x\r\nContent-Type: text/csv\r\nContent-Length: 900000\r\n\r\n"
    writer.write(head.encode() + b"led\n" + b"red_5mm\n" * 50_000)
    try:
        while not until.is_set():
            writer.write(b"r")
            try:
                said = await asyncio.wait_for(reader.read(12), 0.5)
            except TimeoutError:
                continue
            tally["refused" if said.endswith(b"429") else "cut"] += 1
            break
    except OSError:
        tally["cut"] += 1
    writer.close()
