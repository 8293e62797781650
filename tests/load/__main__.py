"""Reliability of the service behind its proxy, all on loopback, all ended at the end.

``python -m tests.load [--short] [NAME...]``: slow_sockets, killed, rolling, told_to_end, kept_alive,
limited, counted, hostile, proxy_alone. Needs haproxy and redis-server. Exit code 1 where something was lost.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
import time

from tests.load import processes
from tests.load.runs import RUNS, Extent

#: Nothing goes on longer than this, whatever hangs. s
BOUND = 240.0


def main() -> int:
    """Run what was asked for and tell what was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.load", description=__doc__)
    parser.add_argument("names", nargs="*", metavar="NAME", help="runs; all without one")
    parser.add_argument("--short", action="store_true", help="the form for each change, about a minute")
    chosen = parser.parse_args()
    known = {run.__name__: run for run in RUNS}
    unknown = set(chosen.names) - set(known)
    if unknown:
        parser.error(f"not known: {', '.join(unknown)}")
    missing = [name for name in ("haproxy", "redis-server") if processes.tool(name) is None]
    if missing:
        sys.stderr.write(f"Not there: {', '.join(missing)}. The runs under load are left out.\n")
        return 1 if os.environ.get("CI") == "true" else 0
    wrong = 0
    begun = time.monotonic()
    for name in chosen.names or known:
        at = time.monotonic()
        try:
            report = asyncio.run(asyncio.wait_for(known[name](Extent(chosen.short)), BOUND))
        except (RuntimeError, OSError, EOFError) as error:
            wrong += 1
            print(f"FAILED {name}: {error or 'took too long'}", flush=True)
            continue
        wrong += bool(report.wrong)
        print(f"{'FAILED' if report.wrong else 'ok'} {report.name} ({time.monotonic() - at:.0f} s)")
        for line in report.lines:
            print(f"    {line}")
        for line in report.wrong:
            print(f"    WRONG: {line}")
        sys.stdout.flush()
    print(f"{wrong} runs failed; {time.monotonic() - begun:.0f} s in all")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
