"""Replicas, proxy and store as processes on loopback, each ended by whoever started it."""

from __future__ import annotations

import http.client
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROXY = ROOT / "examples" / "deploy" / "haproxy.cfg"
SETTINGS = ("LAMPWRIGHT_",)


def tool(name: str) -> str | None:
    """Return where a program is; /usr/sbin is not in everybody's path."""
    return shutil.which(name) or shutil.which(name, path="/usr/sbin:/usr/local/sbin:/sbin")


def free_ports(count: int) -> list[int]:
    """Return ports that nobody listens on, no two alike."""
    trials = [socket.socket() for _ in range(count)]
    try:
        for trial in trials:
            trial.bind(("127.0.0.1", 0))
        return [trial.getsockname()[1] for trial in trials]
    finally:
        for trial in trials:
            trial.close()


def healthy(port: int, path: str = "/healthz") -> bool:
    """Return whether a service answers there."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=2)
    try:
        connection.request("GET", path)
        return connection.getresponse().status == 200
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()


class Process:
    """A program of ours in a group of its own."""

    def __init__(self, command: list[str], port: int, settings: Mapping[str, str] | None = None) -> None:
        self.command = command
        self.port = port
        kept = {name: value for name, value in os.environ.items() if not name.startswith(SETTINGS)}
        self.environment = {**kept, "PYTHONPATH": f"{ROOT / 'service'}:{ROOT}", **(settings or {})}
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it; what it says goes to standard error, where it warns."""
        self.process = subprocess.Popen(
            self.command,
            cwd=ROOT,
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            start_new_session=True,
        )

    def ready(self, patience: float = 30.0) -> None:
        """Return once it answers."""
        ends = time.monotonic() + patience
        while not self.answers():
            if time.monotonic() > ends or self.process is None or self.process.poll() is not None:
                raise RuntimeError(f"did not start: {' '.join(self.command)}")
            time.sleep(0.05)

    def answers(self) -> bool:
        """Return whether it answers."""
        return healthy(self.port)

    @property
    def pid(self) -> int:
        """The process that was started."""
        assert self.process is not None
        return self.process.pid

    def children(self) -> list[int]:
        """Return the workers."""
        text = Path(f"/proc/{self.pid}/task/{self.pid}/children").read_text("ascii")
        return [int(word) for word in text.split()]

    def stop(self, patience: float = 75.0) -> bool:
        """Ask it to end, as an operator does; return whether it did so in time and by itself."""
        if self.process is None:
            return True
        try:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(patience)
        except subprocess.TimeoutExpired:
            self.kill()
            return False
        self._rest()
        self.process = None
        return True

    def kill(self) -> None:
        """End it and its workers at once, as a failing machine does."""
        if self.process is not None:
            self._rest()
            self.process.wait()
            self.process = None

    def _rest(self) -> None:
        """End what is left of the group that was started here."""
        try:
            os.killpg(self.pid, signal.SIGKILL)
        except ProcessLookupError:
            return


def replica(port: int, workers: int = 1, settings: Mapping[str, str] | None = None) -> Process:
    """Return the service on a port."""
    command = [
        sys.executable,
        "-m",
        "lampwright.cli",
        "serve",
        "--port",
        str(port),
        "--workers",
        str(workers),
    ]
    return Process(command, port, settings)


def echo(port: int, workers: int = 1) -> Process:
    """Return a bare echo of JSON on the same server with the same settings."""
    return Process([sys.executable, "-m", "tests.load.echo", str(port), str(workers)], port)


def proxy(port: int, replicas: list[int]) -> Process:
    """Return the proxy of the examples before three replicas."""
    names = ("LAMPWRIGHT_ONE", "LAMPWRIGHT_TWO", "LAMPWRIGHT_THREE")
    places = {name: f"127.0.0.1:{number}" for name, number in zip(names, replicas, strict=True)}
    command = [tool("haproxy") or "haproxy", "-db", "-q", "-f", str(PROXY)]
    return Process(command, port, {"LAMPWRIGHT_BIND": f"127.0.0.1:{port}", **places})


class Store(Process):
    """A store for counts that writes nothing to disk."""

    def __init__(self, port: int) -> None:
        command = [tool("redis-server") or "redis-server", "--port", str(port), "--bind", "127.0.0.1"]
        super().__init__([*command, "--save", "", "--appendonly", "no", "--daemonize", "no"], port)

    def answers(self) -> bool:
        """Return whether it answers a ping."""
        try:
            with socket.create_connection(("127.0.0.1", self.port), timeout=1) as line:
                line.sendall(b"PING\r\n")
                return line.recv(16).startswith(b"+PONG")
        except OSError:
            return False


def memory_of(pid: int) -> float:
    """Return the resident memory of a process in MB."""
    for line in Path(f"/proc/{pid}/status").read_text("utf-8").splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return 0.0
