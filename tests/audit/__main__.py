"""Audit many random builds: ``python -m tests.audit --builds 100000 --seed 1``.

Prints counts and exits 1 where any sheet marked buildable is found outside a limit, by the auditor run
anew or by ngspice at the worst corner; where too little is buildable; where good builds are refused; or
where a spoiled sheet passes.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import sys
import time
from collections import Counter
from typing import Any

from lampwright.auditor import UnreadableSheetError, audit
from tests.audit.making import answer, good_build, random_build
from tests.audit.sabotage import KINDS, spoiled
from tests.audit.simulating import outside_limits

CHUNK = 100
LEAST_BUILDABLE = 1 / 3
LEAST_GOOD = 0.98


def audited(start: int, count: int, seed: int, good: bool, keep: int) -> dict[str, Any]:
    """Answer and audit some builds; build number ``n`` depends on the seed and ``n`` alone."""
    counts: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    unsafe: list[str] = []
    kept: list[dict[str, Any]] = []
    for number in range(start, start + count):
        chance = random.Random(f"{seed} {'good' if good else 'any'} {number}")
        build = good_build(chance) if good else random_build(chance)
        document = answer(build)
        if document is None:
            counts["not taken"] += 1
            continue
        codes = [each["code"] for each in document["findings"] if each["severity"] == "stop"]
        if "audit_failed" in codes:
            counts["caught by the auditor"] += codes[0] == "audit_failed" and set(codes) == {"audit_failed"}
            told = next(each["message"] for each in document["findings"] if each["code"] == "audit_failed")
            if set(codes) == {"audit_failed"}:
                unsafe.append(
                    f"build {number}: the planner said yes, the auditor: {told}\n  {json.dumps(build)}"
                )
        if not document["buildable"]:
            counts["refused"] += 1
            refused[next((code for code in codes if code != "audit_failed"), "audit_failed")] += 1
            continue
        counts["buildable"] += 1
        if any(each["severity"] == "caution" for each in document["findings"]):
            counts["buildable with a caution"] += 1
        report = audit(document)
        if not report.sound:
            first = report.failures[0]
            counts["unsafe"] += 1
            unsafe.append(f"build {number}: {first.code} {first.message}")
        if len(kept) < keep:
            kept.append(document)
    return {"counts": counts, "refused": refused, "unsafe": unsafe, "kept": kept}


def _work(task: tuple[int, int, int, bool, int]) -> dict[str, Any]:
    return audited(*task)


def _run(pool: Any, builds: int, seed: int, good: bool, keep: int) -> dict[str, Any]:
    """Share builds out over the processes and add up what they found."""
    each = -(-keep * CHUNK // max(builds, 1)) * 2
    tasks = [(start, min(CHUNK, builds - start), seed, good, each) for start in range(0, builds, CHUNK)]
    total: dict[str, Any] = {"counts": Counter(), "refused": Counter(), "unsafe": [], "kept": []}
    for done in pool.imap_unordered(_work, tasks):
        total["counts"].update(done["counts"])
        total["refused"].update(done["refused"])
        total["unsafe"] += done["unsafe"]
        if len(total["kept"]) < keep:
            total["kept"] += done["kept"]
    total["kept"] = total["kept"][:keep]
    return total


def escaped_sabotage(documents: list[dict[str, Any]], count: int, seed: int) -> list[str]:
    """Spoil sheets one value at a time; return what the auditor did not catch."""
    chance = random.Random(f"{seed} sabotage")
    found = []
    for number in range(count):
        document = documents[number % len(documents)]
        changed, place = spoiled(document, chance, KINDS[number % len(KINDS)])
        try:
            caught = not audit(changed).sound
        except UnreadableSheetError:
            caught = True
        if not caught:
            found.append(f"{place} of {document['title']}")
    return found


def main() -> int:
    """Run everything, print the counts, return the exit code."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--builds", type=int, default=10_000)
    options.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**9))
    options.add_argument("--good", type=int, default=1_000)
    options.add_argument("--simulated", type=int, default=500)
    options.add_argument("--sabotaged", type=int, default=500)
    options.add_argument("--processes", type=int, default=min(2, os.cpu_count() or 1))
    chosen = options.parse_args()
    print(f"seed {chosen.seed}", flush=True)
    started = time.monotonic()
    keep = max(chosen.simulated, min(chosen.sabotaged, 500))
    with multiprocessing.Pool(chosen.processes) as pool:
        anything = _run(pool, chosen.builds, chosen.seed, False, keep)
        good = _run(pool, chosen.good, chosen.seed, True, 0)
    counts, seconds = anything["counts"], time.monotonic() - started
    print(f"{chosen.builds} random builds in {seconds:.0f} s")
    for name in (
        "buildable",
        "buildable with a caution",
        "refused",
        "not taken",
        "caught by the auditor",
        "unsafe",
    ):
        print(f"  {name}: {counts[name]}")
    print("  refused because: " + ", ".join(f"{code} {n}" for code, n in anything["refused"].most_common(12)))
    good_share = good["counts"]["buildable"] / max(chosen.good, 1)
    print(
        f"{chosen.good} good builds: {good['counts']['buildable']} buildable, "
        f"{good['counts']['buildable with a caution']} of them with a caution; "
        f"refused: {dict(good['refused'])}"
    )
    outside = outside_limits(anything["kept"][: chosen.simulated]) if chosen.simulated else []
    simulated = min(chosen.simulated, len(anything["kept"]))
    print(f"{simulated} worst corners in ngspice: {len(outside)} outside a limit")
    escaped = escaped_sabotage(anything["kept"], chosen.sabotaged, chosen.seed) if anything["kept"] else []
    print(f"{chosen.sabotaged} spoiled sheets: {len(escaped)} not caught")
    problems = anything["unsafe"] + good["unsafe"] + outside + [f"not caught: {each}" for each in escaped]
    for line in problems[:20]:
        print("  " + line)
    if counts["buildable"] < LEAST_BUILDABLE * chosen.builds:
        problems.append("too few random builds come out buildable")
        print("  " + problems[-1])
    if chosen.good and good_share < LEAST_GOOD:
        problems.append("too many good builds are refused")
        print("  " + problems[-1])
    print(f"{time.monotonic() - started:.0f} s in all: " + ("failed" if problems else "all within limits"))
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
