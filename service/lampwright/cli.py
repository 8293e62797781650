"""The command line: serve, print a sheet, judge a sheet.

Imports wait until they are needed: printing a sheet loads neither Flask nor numpy.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

FORMATS = ("text", "json", "html", "svg", "csv", "pdf")
SOUND, UNSAFE, UNREADABLE = 0, 1, 2
#: As of a program that a closed pipe ends: 128 and the number of the signal.
CUT_SHORT = 141


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="lampwright", description="Plans low-voltage LED builds and prints their build sheets."
    )
    commands = parser.add_subparsers(dest="command", required=True)
    serve = commands.add_parser("serve", help="start the service: calculations, page and documentation")
    serve.add_argument("--host", help="address to listen on (127.0.0.1)")
    serve.add_argument("--port", type=int, help="port to listen on (8350)")
    serve.add_argument("--workers", type=int, help="worker processes (2)")
    sheet = commands.add_parser("sheet", help="print the sheet of a build")
    sheet.add_argument(
        "file", metavar="FILE", help="a build as JSON, or a link that carries one; - for standard input"
    )
    sheet.add_argument(
        "--format", choices=FORMATS, help="form of the sheet (that of PATH's ending, else text)"
    )
    sheet.add_argument("--output", metavar="PATH", help="file to write instead of printing")
    versions = commands.add_parser("compare", help="say what a change to a build does")
    versions.add_argument(
        "before", metavar="BEFORE.json", help="the build as it was, or a link that carries it"
    )
    versions.add_argument("after", metavar="AFTER.json", help="the build as it is to be, or such a link")
    versions.add_argument("--format", choices=("text", "json"), default="text", help="form of it (text)")
    judge = commands.add_parser("audit", help="judge an answered sheet afresh")
    judge.add_argument("file", metavar="SHEET.json", help="a sheet as answered; - for standard input")
    return parser


def _say(text: str) -> None:
    sys.stderr.write(f"lampwright: {text}\n")


def _read(name: str) -> Any:
    """Return the JSON of a file or a link; raise ValueError in plain words where that cannot be done."""
    if "#b=" in name:
        from lampwright.errors import QuantityError
        from lampwright.sheets.carrying import read_link

        try:
            return read_link(name)
        except QuantityError as error:
            raise ValueError(f"{error.detail}; {error.hint}") from error
    try:
        raw = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
        return json.loads(raw.decode("utf-8-sig"))
    except OSError as error:
        raise ValueError(f"{name} cannot be read: {error.strerror}") from error
    except (UnicodeDecodeError, RecursionError) as error:
        raise ValueError(f"{name} is not JSON in UTF-8") from error
    except json.JSONDecodeError as error:
        raise ValueError(f"{name}, line {error.lineno}: not JSON ({error.msg})") from error


def _formed(found: Any, inputs: dict[str, Any], form: str) -> str | bytes:
    """Return a sheet in the form wanted."""
    if form == "pdf":
        from lampwright.paper.pdf import render_pdf

        return render_pdf(found)
    if form == "json":
        from lampwright.contract.answers import dump

        return json.dumps(dump(inputs, found), ensure_ascii=False, indent=2) + "\n"
    if form == "html":
        from lampwright.paper.html import render_html

        return render_html(found)
    if form == "svg":
        from lampwright.drawing.wiring import wiring_svg

        return wiring_svg(found)
    if form == "csv":
        from lampwright.paper.parts_csv import render_csv

        return render_csv(found)
    from lampwright.paper.text import render_text

    return render_text(found)


def _form(chosen: str | None, output: str | None) -> str:
    """Return the form wanted: the one named, else the one a file's ending stands for, else text.

    >>> _form(None, "lamp.JSON"), _form(None, "lamp.txt"), _form("html", "lamp.json"), _form(None, None)
    ('json', 'text', 'html', 'text')
    """
    ending = Path(output or "").suffix.removeprefix(".").lower()
    return chosen or (ending if ending in FORMATS else "text")


def _answered(
    name: str, read: Callable[[], Any], calculate: Callable[[Any], Any], of: str = ""
) -> tuple[dict[str, Any], Any] | None:
    """Return the inputs as understood and the answer; None, and what is wrong said, where there is none."""
    from lampwright.contract.calculations import refusing, understand
    from lampwright.contract.faults import RefusalError

    try:
        request = read()
        inputs, ask = understand(name, request)
        with refusing(request):
            return inputs, calculate(ask)
    except ValueError as error:
        _say(str(error))
    except RefusalError as error:
        for entry in error.entries:
            hint = f"; {entry.hint}" if entry.hint else ""
            _say(f"{of}{entry.pointer or 'the build'} {entry.detail}{hint}")
    return None


def print_sheet(file: str, form: str, output: str | None) -> int:
    """Print the sheet of a build; 0 where it can be built, 1 where something says stop, 2 unreadable.

    2 as well where the file it is to be written to cannot be written.
    """
    from lampwright.errors import LampwrightError
    from lampwright.sheets.build import build_sheet

    answered = _answered("build-sheets", lambda: _read(file), build_sheet, of=f"{file}: ")
    if answered is None:
        return UNREADABLE
    inputs, found = answered
    try:
        text = _formed(found, inputs, form)
    except LampwrightError as error:  # a PDF without the extra
        _say(str(error))
        return UNREADABLE
    made = text.encode() if isinstance(text, str) else text
    if output:
        try:
            Path(output).write_bytes(made)
        except OSError as error:
            _say(f"{output} cannot be written: {error.strerror}")
            return UNREADABLE
    else:
        sys.stdout.buffer.write(made)
    return SOUND if found.buildable else UNSAFE


def compare_files(before: str, after: str, form: str) -> int:
    """Say what differs between two builds; 0 where the second can be built, 1 where not, 2 unreadable."""
    from lampwright.contract.answers import dump
    from lampwright.sheets.comparing import compare_builds

    answered = _answered(
        "build-comparisons", lambda: {"before": _read(before), "after": _read(after)}, compare_builds
    )
    if answered is None:
        return UNREADABLE
    inputs, found = answered
    if form == "json":
        text = json.dumps(dump(inputs, found), ensure_ascii=False, indent=2) + "\n"
    else:
        changed = found.changes or ("Nothing.",)
        lines = ["What was changed", *(f"- {line}" for line in changed)]
        text = "\n".join([*lines, "What it does", *(f"- {line}" for line in found.effects), ""])
    sys.stdout.buffer.write(text.encode())
    return SOUND if found.after.buildable else UNSAFE


def judge_sheet(file: str) -> int:
    """Judge an answered sheet afresh; 0 sound, 1 unsafe, 2 unreadable."""
    from lampwright.auditor import UnreadableSheetError, audit

    try:
        report = audit(_read(file))
    except (ValueError, UnreadableSheetError) as error:
        _say(f"{file} is not an answered sheet: {error}")
        return UNREADABLE
    for failure in report.failures:
        sys.stdout.write(f"{failure.place}: {failure.message}\n")
    if not report.buildable:
        sys.stdout.write("The sheet itself says: do not build this.\n")
    verdict = "sound" if report.sound else "unsafe"
    sys.stdout.write(f"{verdict}: {report.checked} checks, {len(report.failures)} failed\n")
    return SOUND if report.sound else UNSAFE


def _taken(host: str, port: int) -> str | None:
    """Return why a port cannot be listened on, or None."""
    import errno
    import socket

    if not 1 <= port <= 65_535:
        return f"there is no port {port} to listen on; choose one from 1 to 65535 with --port"
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            if error.errno == errno.EADDRINUSE:
                return f"port {port} is in use by another program; choose another with --port"
            return f"{host}:{port} cannot be listened on: {error.strerror}"
    return None


def _announce(host: str, port: int) -> None:
    """Print the address as soon as the service answers there.

    A process of its own watches: a thread could hold a lock while the workers are forked. It is nobody's
    child, so that nothing has to wait for it, and it ends with the service.
    """
    import http.client
    import os
    import time

    service = os.getpid()
    child = os.fork()
    if child:
        os.waitpid(child, 0)
        return
    if os.fork():
        os._exit(0)
    here = "127.0.0.1" if host in ("0.0.0.0", "::") else host  # noqa: S104 - compared, not bound
    for _ in range(1200):
        try:
            os.kill(service, 0)
            connection = http.client.HTTPConnection(here, port, timeout=2)
            connection.request("GET", "/healthz")
            if connection.getresponse().status == 200:
                shown = f"[{here}]" if ":" in here else here
                os.write(1, f"Lampwright is ready: http://{shown}:{port}/\n".encode())
                break
        except ProcessLookupError:
            break
        except (OSError, http.client.HTTPException):
            time.sleep(0.03)
    os._exit(0)


def server(target: str, host: str, port: int, workers: int) -> Any:
    """Return the WSGI server with the settings that did best, for the application that ``target`` makes."""
    import os
    import resource

    from granian import Granian
    from granian.constants import Interfaces
    from granian.http import HTTP1Settings

    # Each connection is a file; where 1,024 are usual, more are allowed to who asks.
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 4096 if hard == resource.RLIM_INFINITY else min(4096, hard)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
    return Granian(
        target,
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=workers,
        # Answers cost processor time and never wait: more threads would only queue for the lock.
        blocking_threads=min(4, 2 * (os.cpu_count() or 1) + 1),
        # Counts connections, also those kept open and idle: with fewer, 1,000 browsers would shut others out.
        backpressure=1000,
        backlog=2048,
        factory=True,
        respawn_failed_workers=True,
        respawn_interval=0.5,
        # What is in flight is finished first; a table may take its time.
        workers_kill_timeout=60,
        websockets=False,
        http1_settings=HTTP1Settings(header_read_timeout=5000),
        log_access=False,
        log_level="warning",  # type: ignore[arg-type]
    )


def serve(host: str | None, port: int | None, workers: int | None) -> int:
    """Start the service and stay until told to end."""
    import gc
    import os
    import signal
    import tempfile
    from dataclasses import replace

    from lampwright.config import Config

    config = Config.from_environment()
    config = replace(
        config,
        host=config.host if host is None else host,
        port=config.port if port is None else port,
        workers=config.workers if workers is None else workers,
    )
    if config.limit_store:
        from lampwright.api.limiting import check_address

        wrong = check_address(config.limit_store)
        if wrong:
            _say(f"LAMPWRIGHT_LIMIT_STORE: {config.limit_store} is no address of a store: it {wrong}")
            return 1
    reason = _taken(config.host, config.port)
    if reason:
        _say(reason)
        return 1
    _announce(config.host, config.port)
    # Loaded here, once, and shared by the workers, which are forked.
    import lampwright.app  # noqa: F401

    # What is loaded stays: the collector need not look through it again and again, nor touch its pages.
    gc.collect()
    gc.freeze()
    with tempfile.TemporaryDirectory(prefix="lampwright-") as counts:
        # Workers read their settings from the environment: they are processes of their own.
        os.environ.setdefault("LAMPWRIGHT_METRICS_FOLDER", counts)
        # A worker told to end before it is ready ends at once. It would inherit the service's own way to take
        # the signal, which does nothing in a worker, and be waited for in vain.
        os.register_at_fork(after_in_child=lambda: signal.signal(signal.SIGTERM, signal.SIG_DFL))
        server("lampwright.app:create_app", config.host, config.port, config.workers).serve()
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Run a command and return its exit code."""
    chosen = _parser().parse_args(arguments)
    try:
        code = _run(chosen)
        sys.stdout.flush()
    except BrokenPipeError:
        # Who reads ("head", perhaps) has read enough; what is unwritten must not be tried again at the end.
        import os

        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CUT_SHORT
    return code


def _run(chosen: argparse.Namespace) -> int:
    if chosen.command == "serve":
        return serve(chosen.host, chosen.port, chosen.workers)
    if chosen.command == "sheet":
        return print_sheet(chosen.file, _form(chosen.format, chosen.output), chosen.output)
    if chosen.command == "compare":
        return compare_files(chosen.before, chosen.after, chosen.format)
    return judge_sheet(chosen.file)


if __name__ == "__main__":
    sys.exit(main())
