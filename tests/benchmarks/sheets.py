"""How much computing one build sheet costs, in ratio to a bare echo by the same framework.

Run ``python -m tests.benchmarks.sheets``. Every example is posted many times in each form, its lengths and
currents a little different each time, so that no answer kept from before can help. What is printed is
processor time of this process, the least mean of several short runs: others on the machine hardly count
into it. The peer is a bare Flask application that parses the same body and answers with it.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

from flask import Flask, jsonify, request

from lampwright.app import create_app
from lampwright.config import Config

EXAMPLES = Path(__file__).parents[2] / "examples"
FORMS = ("json", "html", "text", "svg")
ROUNDS = 5


def bodies(example: Path, count: int) -> list[bytes]:
    """Return the example's body so many times, no two alike."""
    found = []
    for turn in range(count):
        build = json.loads(example.read_text("utf-8"))
        for place, light in enumerate(build["lights"]):
            light["run_length_m"] = round(0.4 + 0.1 * place + 0.0001 * turn, 6)
            light["forward_current_ma"] = round(light["forward_current_ma"] * (1 - 0.0001 * (turn + 1)), 6)
        found.append(json.dumps(build).encode())
    return found


def milliseconds(call: Callable[[bytes], None], asked: list[bytes]) -> float:
    """Return the processor time of one call in ms: the least of several rounds' means."""
    call(asked[0])
    each = max(1, (len(asked) - 1) // ROUNDS)
    means = []
    for start in range(1, len(asked), each):
        part = asked[start : start + each]
        began = time.process_time()
        for body in part:
            call(body)
        means.append((time.process_time() - began) / len(part) * 1e3)
    return min(means)


def echo() -> Flask:
    """Return the bare application that answers with what it was sent."""
    app = Flask("echo")

    @app.post("/echo")
    def echoed() -> object:
        return jsonify(request.get_json())

    return app


def main(count: int = 50) -> None:
    """Print processor time of every example in every form, and its ratio to the echo."""
    ours = create_app(Config()).test_client()
    peer = echo().test_client()
    print(f"{'example':22}{'form':6}{'CPU ms':>8}{'echo/it':>9}")
    for example in sorted(EXAMPLES.glob("*.json")):
        asked = bodies(example, count + 1)

        def post_echo(body: bytes) -> None:
            if peer.post("/echo", data=body, content_type="application/json").status_code != 200:
                raise RuntimeError("the echo failed")

        bare = milliseconds(post_echo, asked * 4)
        for form in FORMS:

            def post(body: bytes, path: str = f"/v1/build-sheets?format={form}") -> None:
                answer = ours.post(path, data=body, content_type="application/json")
                if answer.status_code != 200:
                    raise RuntimeError(answer.text)

            took = milliseconds(post, asked)
            print(f"{example.stem:22}{form:6}{took:8.2f}{bare / took:9.3f}")
        print(f"{'':22}{'echo':6}{bare:8.2f}{1:9.3f}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))
