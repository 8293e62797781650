"""The limit: counted per caller, over replicas in a store, and loosely without one."""

from __future__ import annotations

import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from lampwright.api import limiting
from lampwright.api.limiting import Limit, OwnCounts, caller_of, check_address
from lampwright.app import create_app
from lampwright.config import Config

ASKED = {"REQUEST_METHOD": "GET", "PATH_INFO": "/v1/wires", "REMOTE_ADDR": "192.0.2.1"}


class Store:
    """What a Redis-protocol store does with the few commands used here; ``left`` is what PTTL says."""

    def __init__(self, left: int = 60_000) -> None:
        self.values: dict[bytes, int] = {}
        self.left = left
        self.seen: list[list[bytes]] = []

    def reply(self, words: list[bytes]) -> bytes:
        self.seen.append(words)
        if words[0] == b"SET":
            if words[1] in self.values:
                return b"$-1\r\n"
            self.values[words[1]] = 0
        elif words[0] == b"INCR":
            self.values[words[1]] += 1
            return b":%d\r\n" % self.values[words[1]]
        elif words[0] == b"PTTL":
            return b":%d\r\n" % self.left
        elif words[0] == b"PEXPIRE":
            return b":1\r\n"
        elif words[0] == b"AUTH" and words[-1] != b"se:cret":
            return b"-WRONGPASS no such user\r\n"
        return b"+OK\r\n"


@contextmanager
def serving(store: Store) -> Iterator[str]:
    class Handler(socketserver.StreamRequestHandler):
        def handle(self) -> None:
            while line := self.rfile.readline():
                words = []
                for _ in range(int(line[1:])):
                    size = int(self.rfile.readline()[1:])
                    words.append(self.rfile.read(size + 2)[:-2])
                self.wfile.write(store.reply(words))

    class Server(socketserver.ThreadingTCPServer):
        daemon_threads = True
        allow_reuse_address = True

    with Server(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield f"127.0.0.1:{server.server_address[1]}"
        finally:
            server.shutdown()
            thread.join()


def asked(limit: Limit, times: int, **changes: str) -> list[bool]:
    return [limit.wait({**ASKED, **changes}) > 0 for _ in range(times)]


def closed(limit: Limit) -> None:
    connection = getattr(getattr(limit.shared, "_local", None), "connection", None)
    if connection is not None:
        connection.close()


def test_three_replicas_count_together_to_the_last_one() -> None:
    with serving(Store()) as place:
        replicas = [Limit(10, f"redis://{place}") for _ in range(3)]
        refused = [asked(replicas[turn % 3], 1)[0] for turn in range(15)]
        for limit in replicas:
            closed(limit)
    assert refused == [False] * 10 + [True] * 5


def test_a_refused_caller_costs_the_store_nothing_more() -> None:
    store = Store(left=30_000)
    with serving(store) as place:
        limit = Limit(1, f"redis://{place}")
        assert asked(limit, 5) == [False, True, True, True, True]
        assert limit.wait(dict(ASKED)) == 30
        closed(limit)
    assert len(store.seen) == 2 * 3


def test_a_count_that_would_never_end_is_given_an_end() -> None:
    store = Store(left=-1)
    with serving(store) as place:
        limit = Limit(5, f"redis://{place}")
        asked(limit, 1)
        closed(limit)
    assert store.seen[-1][0] == b"PEXPIRE"


def test_passwords_and_numbered_stores() -> None:
    store = Store()
    with serving(store) as place:
        limit = Limit(5, f"redis://club:se%3Acret@{place}/3")
        asked(limit, 1)
        closed(limit)
    assert store.seen[:2] == [[b"AUTH", b"club", b"se:cret"], [b"SELECT", b"3"]]


def test_without_a_store_each_counts_for_itself(capsys: pytest.CaptureFixture[str]) -> None:
    with serving(Store()) as place:
        pass
    limit = Limit(2, f"redis://{place}")
    assert asked(limit, 3) == [False, False, True]
    assert capsys.readouterr().err.count("does not answer") == 1


def test_a_store_that_refuses_is_as_good_as_none(capsys: pytest.CaptureFixture[str]) -> None:
    with serving(Store()) as place:
        limit = Limit(2, f"redis://:wrong@{place}")
        assert asked(limit, 3) == [False, False, True]
    assert "WRONGPASS" in capsys.readouterr().err


def test_a_store_that_comes_back_is_asked_again(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limiting, "_PAUSE", 0.0)
    with serving(Store()) as place:
        pass
    limit = Limit(9, f"redis://{place}")
    asked(limit, 1)
    store = Store()
    with serving(store) as place:
        assert limit.shared is not None
        limit.shared.address = f"redis://{place}"
        asked(limit, 1)
        closed(limit)
    assert store.seen
    assert "answers again" in capsys.readouterr().err


def test_a_window_ends() -> None:
    now = 100.0
    counts = OwnCounts(lambda: now)
    assert counts.add("a") == (1, 60.0)
    now = 130.0
    assert counts.add("a") == (2, 30.0)
    assert counts.add("b") == (1, 60.0)
    now = 160.0
    assert counts.add("a") == (1, 60.0)


def test_memory_for_callers_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limiting, "_MOST_CALLERS", 10)
    limit = Limit(1)
    for number in range(50):
        asked(limit, 2, REMOTE_ADDR=f"192.0.2.{number}")
    assert len(limit.own._entries) <= 10
    assert len(limit._refused) <= 10


def test_what_is_counted() -> None:
    limit = Limit(1)
    assert asked(limit, 2, PATH_INFO="/docs/index.html") == [False, False]
    assert asked(limit, 2, REQUEST_METHOD="OPTIONS") == [False, False]
    assert asked(limit, 2, REQUEST_METHOD="HEAD") == [False, True]
    assert asked(limit, 2) == [False, True]
    assert asked(limit, 1, REMOTE_ADDR="192.0.2.2") == [False]


def test_callers_are_told_apart_by_what_our_own_proxies_heard() -> None:
    def caller(address: str, heard: str = "", proxies: int = 0) -> str:
        return caller_of({"REMOTE_ADDR": address, "HTTP_X_FORWARDED_FOR": heard}, proxies)

    assert caller("192.0.2.1", "198.51.100.7") == caller("192.0.2.1")
    assert caller("192.0.2.1", "198.51.100.7", 1) == caller("198.51.100.7")
    # What a caller wrote there himself stands before what the proxy added.
    assert caller("192.0.2.1", "203.0.113.9, 198.51.100.7", 1) == caller("198.51.100.7")
    assert caller("192.0.2.1", "203.0.113.9, 198.51.100.7, 192.0.2.5", 2) == caller("198.51.100.7")
    assert caller("192.0.2.1", "", 1) == caller("192.0.2.1")
    assert caller("2001:db8::1") == caller("2001:db8::ffff:2")
    assert caller("2001:db8::1") != caller("2001:db8:0:1::1")
    assert caller("::ffff:192.0.2.1") == caller("192.0.2.1")
    assert "192.0.2.1" not in caller("192.0.2.1")


@pytest.mark.parametrize("address", ["http://x", "x:6379", "redis://x:none", "redis://x:99999"])
def test_an_address_that_is_none(address: str) -> None:
    assert check_address(address)


def test_the_refusal_is_a_problem_like_all_others() -> None:
    client = create_app(Config(limit=2)).test_client()
    members = {"supply_voltage_v": 9, "led": "red_5mm"}
    answers: list[Any] = [client.post("/v1/series-resistors", json=members) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 429]
    assert answers[2].mimetype == "application/problem+json"
    assert 1 <= int(answers[2].headers["Retry-After"]) <= 61
    assert answers[2].headers["Access-Control-Allow-Origin"] == "*"
    said = answers[2].get_json()
    assert said["type"].endswith("#too-many-requests")
    assert said["instance"].endswith(answers[2].headers["X-Request-Id"])
    assert client.get("/healthz").status_code == 200
