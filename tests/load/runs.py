"""The reliability runs: each makes something go wrong under load and counts what callers notice.

What is asserted are counts. Times are printed; the one that is compared is compared with the bare echo
under the same attack in the same run.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import os
import signal
import time
from collections import Counter
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from urllib.parse import quote

from tests.load import processes
from tests.load.clients import RESISTORS, TABLES, Line, Tally, busy, drip, drip_table, question, steady
from tests.load.processes import Process, Store, free_ports


@dataclass
class Report:
    """What a run found."""

    name: str
    lines: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def say(self, text: str) -> None:
        """Add a line to read."""
        self.lines.append(text)

    def check(self, sound: bool, text: str) -> None:
        """Note what has to hold."""
        (self.lines if sound else self.wrong).append(text)


@dataclass(frozen=True)
class Extent:
    """How long a run takes."""

    short: bool

    def pick(self, short: float, full: float) -> float:
        """Return one of two lengths."""
        return short if self.short else full


Run = Callable[[Extent], Awaitable[Report]]


@contextmanager
def started(*programs: Process) -> Iterator[None]:
    """Start programs, and end them whatever happens."""
    try:
        for program in programs:
            program.start()
        for program in programs:
            program.ready()
        yield
    finally:
        for program in reversed(programs):
            program.kill() if isinstance(program, Store) else program.stop()


@contextmanager
def trio(make: Callable[[int], Process]) -> Iterator[tuple[list[Process], int]]:
    """Start three replicas and the proxy of the examples before them."""
    *ports, front = free_ports(4)
    replicas = [make(port) for port in ports]
    with started(*replicas, processes.proxy(front, ports)):
        yield replicas, front


async def slow_sockets(extent: Extent) -> Report:
    """200 sockets that drip headers and 200 that drip bodies, while others ask 100 times a second."""
    report = Report("slow sockets")
    seconds = extent.pick(8, 20)

    async def attacked(make: Callable[[int], Process], name: str) -> Tally:
        with trio(make) as (_, front):
            tally, cut, until = Tally(), Counter[str](), asyncio.Event()
            drips = [
                asyncio.create_task(drip(front, body=body, tally=cut, until=until))
                for body in (False, True)
                for _ in range(200)
            ]
            await asyncio.sleep(1)
            open_at_once = cut["opened"] - cut["cut"]
            await steady(front, 100, seconds, tally)
            until.set()
            await asyncio.gather(*drips)
        report.check(open_at_once == 400, f"{name}: {open_at_once} of 400 stuck sockets open at once")
        report.check(cut["cut"] == 400, f"{name}: {cut['cut']} of 400 stuck sockets cut by the proxy")
        report.check(tally.others == 0, f"{name}: others' requests: {tally.text()}")
        times = ", ".join(f"p{share:g} {tally.quantile(share / 100):.1f} ms" for share in (50, 95, 99))
        report.say(f"{name}: others' times at 100 requests a second: {times}")
        return tally

    ours = await attacked(processes.replica, "service")
    if not extent.short:
        bare = await attacked(processes.echo, "bare echo")
        limit = max(50.0, 2 * bare.quantile(0.99))
        report.check(ours.quantile(0.99) <= limit, f"p99 {ours.quantile(0.99):.1f} ms, at most {limit:.1f}")
    return report


async def killed(extent: Extent) -> Report:
    """Kill a replica at once under load, with all that it was answering; then one worker of another."""
    report = Report("a replica killed under load")
    with trio(processes.replica) as (replicas, front):
        tally, until = Tally(), asyncio.Event()
        load = asyncio.create_task(busy(front, 16, until, tally))
        await asyncio.sleep(extent.pick(1.5, 4))
        before = tally.answered
        replicas[1].kill()
        await asyncio.sleep(extent.pick(2.5, 6))
        report.check(tally.answered > before, f"{tally.answered - before} answers after the kill")
        (worker,) = replicas[2].children()
        os.kill(worker, signal.SIGKILL)
        await asyncio.sleep(extent.pick(2.5, 6))
        until.set()
        await load
        report.check(tally.others == 0, f"requests: {tally.text()}")
        again = replicas[2].children()
        report.check(len(again) == 1 and again != [worker], "the worker that was killed was replaced")
    return report


async def rolling(extent: Extent) -> Report:
    """Three replicas restarted one after another under load."""
    report = Report("rolling restart of three replicas")
    with trio(processes.replica) as (replicas, front):
        tally, until = Tally(), asyncio.Event()
        load = asyncio.create_task(busy(front, 16, until, tally))
        for one in replicas:
            await asyncio.sleep(extent.pick(0.7, 2))
            report.check(
                await asyncio.to_thread(one.stop), f"replica on {one.port} ended by itself on SIGTERM"
            )
            one.start()
            await asyncio.to_thread(one.ready)
        await asyncio.sleep(extent.pick(0.7, 2))
        until.set()
        await load
        report.check(tally.others == 0, f"requests: {tally.text()}")
    return report


async def told_to_end(extent: Extent) -> Report:
    """SIGTERM while long tables are being answered: each is answered to its last row."""
    report = Report("SIGTERM with tables in flight")
    (port,) = free_ports(1)
    rows = int(extent.pick(3_000, 10_000))
    table = "led,supply_voltage_v\n" + "".join(f"red_5mm,{5 + number / 1000}\n" for number in range(rows))
    one = processes.replica(port, workers=2)
    with started(one):
        tally = Tally()
        lines = [Line(port) for _ in range(4)]
        asked = [
            asyncio.create_task(line.counted(tally, "POST", TABLES, table.encode(), kind="text/csv"))
            for line in lines
        ]
        await asyncio.sleep(0.4)
        running = sum(not task.done() for task in asked)
        begun = time.perf_counter()
        # Less than the minute after which the service would end its workers by force.
        sound = await asyncio.to_thread(one.stop, 50.0)
        report.check(sound, f"ended by itself with {running} tables in flight")
        ended = time.perf_counter() - begun
        whole = sum(said.count(b"\r\n") == rows + 1 for said in await asyncio.gather(*asked))
        for line in lines:
            line.close()
    report.say(f"last row after {tally.quantile(1) / 1000:.1f} s; ended {ended:.1f} s after the signal")
    report.check(whole == 4, f"{whole} of 4 tables of {rows} rows are whole: {tally.text()}")
    return report


async def kept_alive(extent: Extent) -> Report:
    """1,000 connections kept open, each used again and again; through the proxy, and without it."""
    report = Report("1,000 connections kept alive")
    rounds = int(extent.pick(2, 5))

    async def asked(port: int, name: str) -> None:
        tally = Tally()
        lines = [Line(port) for _ in range(1000)]
        for line in lines:
            await line.open()
        for _ in range(rounds):
            await asyncio.gather(*(line.counted(tally, "POST", RESISTORS, question()) for line in lines))
        still = sum(line.writer is not None for line in lines)
        for line in lines:
            line.close()
        report.check(tally.others == 0 and still == 1000, f"{name}: {tally.text()}; {still} still open")

    with trio(processes.replica) as (_, front):
        await asked(front, "through the proxy")
    (port,) = free_ports(1)
    with started(processes.replica(port, workers=2)):
        await asked(port, "one machine without proxy")
    return report


async def limited(extent: Extent) -> Report:
    """One limit over three replicas, exact; then the store stops and answers go on; then it is back."""
    report = Report("shared limit")
    most, asks = 100, 180
    *ports, front, place = free_ports(5)
    settings = {
        "LAMPWRIGHT_LIMIT": str(most),
        "LAMPWRIGHT_LIMIT_STORE": f"redis://127.0.0.1:{place}",
        "LAMPWRIGHT_PROXIES": "1",
    }
    store = Store(place)
    replicas = [processes.replica(port, settings=settings) for port in ports]

    async def asked(source: str, times: int) -> Tally:
        tally = Tally()
        lines = [Line(front, source) for _ in range(9)]

        async def some(line: Line) -> None:
            for _ in range(times // len(lines)):
                await line.counted(tally, "POST", RESISTORS, question())

        await asyncio.gather(*(some(line) for line in lines))
        for line in lines:
            line.close()
        return tally

    def exact(tally: Tally) -> bool:
        return dict(tally.statuses) == {200: most, 429: asks - most} and not tally.failures

    # Every address below 127 is this machine's own: each is a caller.
    with started(store, *replicas, processes.proxy(front, ports)):
        for source in ("127.0.0.11", "127.0.0.12"):
            tally = await asked(source, asks)
            report.check(exact(tally), f"{asks} requests, {most} allowed: {tally.text()}")
        line = Line(front, "127.0.0.11")
        status, headers, _ = await line.ask("POST", RESISTORS, question())
        line.close()
        wait = headers.get("retry-after", "")
        report.check(
            status == 429
            and headers["content-type"] == "application/problem+json"
            and wait.isdigit()
            and 1 <= int(wait) <= 61,
            f"refusal: {status}, {headers.get('content-type')}, Retry-After {wait}",
        )
        store.kill()
        tally = await asked("127.0.0.13", 90)
        report.check(
            dict(tally.statuses) == {200: 90} and not tally.failures, f"store killed: {tally.text()}"
        )
        tally = await asked("127.0.0.14", 630)
        sound = set(tally.statuses) <= {200, 429} and not tally.failures
        report.check(
            sound and most <= tally.answered <= 3 * most, f"limit of each alone, 630 asked: {tally.text()}"
        )
        store.start()
        store.ready()
        await asyncio.sleep(2.5)
        # One request for each replica lets it see that the store is back.
        await asked("127.0.0.15", 36)
        tally = await asked("127.0.0.16", asks)
        report.check(exact(tally), f"store back: {tally.text()}")
        if not extent.short:
            os.kill(store.pid, signal.SIGSTOP)
            tally = await asked("127.0.0.17", 90)
            os.kill(store.pid, signal.SIGCONT)
            report.check(
                dict(tally.statuses) == {200: 90} and not tally.failures, f"store hangs: {tally.text()}"
            )
    return report


async def counted(extent: Extent) -> Report:
    """See that counts for Prometheus are those of all workers, whichever is asked, and none gets lost."""
    report = Report("counts over two workers")
    (port,) = free_ports(1)
    with started(processes.replica(port, workers=2)):
        tally = Tally()

        async def some() -> None:
            for _ in range(int(extent.pick(50, 250))):
                line = Line(port)  # a new connection each time reaches either worker
                await line.counted(tally, "POST", RESISTORS, question())
                line.close()

        await asyncio.gather(*(some() for _ in range(8)))
        told = set()
        for _ in range(10):
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            connection.request("GET", "/metrics")
            text = connection.getresponse().read().decode()
            connection.close()
            (line,) = [line for line in text.splitlines() if 'total{group="series-resistors"' in line]
            told.add(int(line.rsplit(" ", 1)[1]))
        report.check(tally.others == 0, f"requests: {tally.text()}")
        report.check(told == {tally.answered}, f"told by either worker: {told}, sent {tally.answered}")
    return report


async def hostile(extent: Extent) -> Report:
    """Hostile requests by the thousand: each refused as it should be, memory flat."""
    from tests.api.test_hostile import BUILD, BUILDS, GETS, PATH, POSTS

    report = Report("hostile requests")
    many = int(extent.pick(6_000, 20_000))
    requests = [("POST", PATH, raw, kind) for _, raw, kind, _ in POSTS]
    requests += [("GET", quote(PATH + query, safe="/?&=%;+"), b"", None) for query, _ in GETS]
    requests += [
        ("POST", "/v1/build-sheets", json.dumps({**BUILD, **change}).encode(), "application/json")
        for _, change, _ in BUILDS
    ]
    (port,) = free_ports(1)
    one = processes.replica(port)
    with started(one):
        (worker,) = one.children()
        tally, odd = Tally(), Counter[str]()

        async def some(share: range) -> None:
            line = Line(port)
            for number in share:
                method, path, raw, kind = requests[number % len(requests)]
                said = await line.counted(tally, method, path, raw, kind=kind)
                if not said.startswith(b'{"type":'):
                    odd[f"{method} {path[:60]} {raw[:60]!r}: {said[:60]!r}"] += 1
            line.close()

        sizes = []
        for _ in range(4):
            await asyncio.gather(*(some(range(start, many // 4, 4)) for start in range(4)))
            sizes.append(processes.memory_of(worker))
        if odd:
            report.check(False, f"not answered as a problem: {odd.most_common(5)}")
        report.check(tally.failed == 0 and tally.statuses[200] == 0, f"requests: {tally.text()}")
        growth = sizes[-1] - sizes[0]
        texts = ", ".join(f"{size:.1f}" for size in sizes)
        report.check(growth < 4, f"memory after each quarter: {texts} MB")
        report.check(one.children() == [worker], "the same worker to the end")
    return report


async def proxy_alone(extent: Extent) -> Report:
    """See what the proxy answers by itself, and that tables sent drop by drop keep no question waiting."""
    del extent
    report = Report("what the proxy answers by itself")

    def told(name: str, wanted: int, answer: tuple[int, dict[str, str], bytes]) -> None:
        status, headers, body = answer
        problem = json.loads(body)
        sound = status == wanted == problem["status"] and "errors" in problem
        sound = sound and headers["content-type"] == "application/problem+json"
        report.check(sound, f"{name}: {status}, {problem.get('title')}")

    with trio(processes.replica) as (replicas, front):
        told("a large body", 413, await Line(front).ask("POST", RESISTORS, b" " * 280_000))
        told("counts from outside", 404, await Line(front).ask("GET", "/metrics"))
        drips, until, tally = Counter[str](), asyncio.Event(), Tally()
        tasks = [asyncio.create_task(drip_table(front, drips, until)) for _ in range(40)]
        await asyncio.sleep(1.5)
        await steady(front, 50, 3, tally)
        told("a fifth table at a time", 429, await Line(front).ask("POST", TABLES, b"led\nx\n", "text/csv"))
        until.set()
        await asyncio.gather(*tasks)
        report.check(
            drips["opened"] == 40 and drips["refused"] + drips["cut"] == 36,
            f"40 dripping tables: {dict(drips)}",
        )
        report.check(
            tally.others == 0, f"others meanwhile: {tally.text()}, p99 {tally.quantile(0.99):.1f} ms"
        )
        for one in replicas:
            one.kill()
        await asyncio.sleep(1.6)  # until the proxy has seen it
        line = Line(front)
        told("no replica left", 503, await line.ask("POST", RESISTORS, question()))
        line.close()
    return report


RUNS: tuple[Run, ...] = (
    slow_sockets,
    proxy_alone,
    killed,
    rolling,
    told_to_end,
    kept_alive,
    limited,
    counted,
    hostile,
)
