"""A limit on how much one caller may ask, the same over all workers and machines that share a store.

The limit counts requests below ``/v1/`` within a window that begins with a caller's first one. The count
lies in a store that speaks the Redis protocol (RESP2), so that any number of replicas count together and
the store's clock alone decides. Where there is no store, or it does not answer, each worker counts for
itself: the service goes on, the limit is looser. Addresses are kept as digests, and only as long as a
window lasts.
"""

from __future__ import annotations

import ipaddress
import socket
import sys
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from hashlib import blake2b
from typing import Any
from urllib.parse import unquote, urlsplit

#: Where ``Front`` leaves the seconds to wait, for the refusal to be told like all others.
REFUSED = "lampwright.wait"

WINDOW = 60.0  # seconds
_PATIENCE = 0.25  # s for one answer of the store; one that hangs must not hang the service
_PAUSE = 2.0  # s without asking a store that failed
_MOST_CALLERS = 20_000


class StoreError(Exception):
    """The store cannot be reached or does not say what it should."""


class Connection:
    """One connection to a store: sends commands, reads their replies."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        try:
            where = (parts.hostname or "127.0.0.1", parts.port or 6379)
            self._socket = socket.create_connection(where, timeout=_PATIENCE)
            self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        except OSError as error:
            raise StoreError(str(error)) from error
        self._reader = self._socket.makefile("rb")
        opening: list[tuple[str, ...]] = []
        if parts.password:
            user = (unquote(parts.username),) if parts.username else ()
            opening.append(("AUTH", *user, unquote(parts.password)))
        if parts.path.strip("/"):
            opening.append(("SELECT", parts.path.strip("/")))
        if opening:
            try:
                self.ask(*opening)
            except StoreError:
                self.close()
                raise

    def ask(self, *commands: tuple[str, ...]) -> list[Any]:
        """Send commands in one go and return a reply for each."""
        sent = b"".join(
            b"*%d\r\n" % len(words)
            + b"".join(b"$%d\r\n%b\r\n" % (len(word.encode()), word.encode()) for word in words)
            for words in commands
        )
        try:
            self._socket.sendall(sent)
            return [self._reply() for _ in commands]
        except (OSError, ValueError) as error:
            raise StoreError(str(error)) from error

    def _reply(self) -> int | bytes | None:
        line = self._reader.readline(1024)
        if not line.endswith(b"\r\n"):
            raise StoreError("the store ended the connection")
        kind, rest = line[:1], line[1:-2]
        if kind == b":":
            return int(rest)
        if kind == b"+":
            return rest
        if kind == b"$" and int(rest) == -1:
            return None
        if kind == b"-":
            raise StoreError(rest.decode("utf-8", "replace"))
        raise StoreError("the store's reply is not understood")

    def close(self) -> None:
        """End the connection."""
        self._reader.close()
        self._socket.close()


def check_address(address: str) -> str | None:
    """Return what is wrong with the address of a store, or None.

    >>> check_address("redis://127.0.0.1:6379/0"), check_address("http://store")
    (None, 'does not begin with redis://')
    """
    parts = urlsplit(address)
    if parts.scheme != "redis":
        return "does not begin with redis://"
    try:
        port = parts.port
    except ValueError:
        port = 0
    return "holds a port that is none" if port == 0 else None


def caller_of(environ: dict[str, Any], proxies: int) -> str:
    """Return who asks: the address, or the network of an IPv6 one, as a digest.

    A proxy adds whom it heard to ``X-Forwarded-For``; what stands before that, anybody could have written.
    So of the entries only the one is taken that the outermost proxy of our own added.
    """
    address = str(environ.get("REMOTE_ADDR", ""))
    if proxies:
        heard = [part.strip() for part in environ.get("HTTP_X_FORWARDED_FOR", "").split(",")]
        address = heard[max(len(heard) - proxies, 0)] or address
    try:
        known = ipaddress.ip_address(address)
    except ValueError:
        pass
    else:
        if isinstance(known, ipaddress.IPv6Address):
            # One subscriber has a whole /64; a v4 address may be written as a v6 one.
            known = known.ipv4_mapped or ipaddress.ip_network((int(known) >> 64 << 64, 64)).network_address
        address = str(known)
    return blake2b(address.encode("utf-8", "replace"), digest_size=12).hexdigest()


class OwnCounts:
    """Counts of one process."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self._entries: OrderedDict[str, list[float]] = OrderedDict()
        self._lock = threading.Lock()

    def add(self, caller: str) -> tuple[int, float]:
        """Count a request; return how many there were in this window, and the seconds left of it."""
        now = self.clock()
        with self._lock:
            entry = self._entries.get(caller)
            if entry is None or entry[1] <= now:
                self._entries.pop(caller, None)
                entry = self._entries[caller] = [0, now + WINDOW]
                # Windows are all of one length: the oldest stands first.
                while len(self._entries) > _MOST_CALLERS or next(iter(self._entries.values()))[1] <= now:
                    self._entries.popitem(last=False)
            entry[0] += 1
            return int(entry[0]), entry[1] - now


class SharedCounts:
    """Counts in a store; a connection for each thread, all given up for a moment after a failure."""

    def __init__(self, address: str, clock: Callable[[], float] = time.monotonic) -> None:
        self.address = address
        self.clock = clock
        self._local = threading.local()
        self._again = 0.0
        self._down = False

    def add(self, caller: str) -> tuple[int, float] | None:
        """Count a request as ``OwnCounts`` does; None where the store does not answer."""
        now = self.clock()
        if now < self._again:
            return None
        if self._down:
            # One thread looks whether it is back; the others go on meanwhile.
            self._again = now + _PAUSE
        try:
            found = self._ask(f"lampwright:{caller}")
        except StoreError as error:
            self._again = self.clock() + _PAUSE
            self._local.connection = None
            self._tell(f"the limit's store does not answer, each worker counts for itself: {error}", True)
            return None
        if self._down:
            self._again = 0.0
        self._tell("the limit's store answers again", False)
        return found

    def _tell(self, text: str, down: bool) -> None:
        if down != self._down:
            self._down = down
            sys.stderr.write(f"lampwright: {text}\n")

    def _ask(self, key: str) -> tuple[int, float]:
        connection: Connection | None = getattr(self._local, "connection", None)
        fresh = connection is None
        if connection is None:
            connection = self._local.connection = Connection(self.address)
        window = str(int(WINDOW * 1000))
        # SET with NX begins a window and gives it its end in one step; the others count in it.
        commands = (("SET", key, "0", "PX", window, "NX"), ("INCR", key), ("PTTL", key))
        try:
            _, count, left = connection.ask(*commands)
        except StoreError:
            connection.close()
            if fresh:
                raise
            # A store that was started anew has closed what was open: once more, on a new connection.
            connection = self._local.connection = Connection(self.address)
            _, count, left = connection.ask(*commands)
        if not isinstance(count, int) or not isinstance(left, int):
            raise StoreError("the store's reply is not understood")
        if left < 0:
            # The window ended between two of the commands: a count without an end would never go away.
            connection.ask(("PEXPIRE", key, window))
            left = int(window)
        return count, left / 1000


class Limit:
    """How many requests a caller may send in a window."""

    def __init__(self, most: int, store: str = "", proxies: int = 0) -> None:
        self.most = most
        self.proxies = proxies
        self.own = OwnCounts()
        self.shared = SharedCounts(store) if store else None
        self._refused: OrderedDict[str, float] = OrderedDict()

    def wait(self, environ: dict[str, Any]) -> int:
        """Return the seconds a caller has to wait, 0 for none.

        HEAD, which spreadsheets send before each GET, has a count of its own; OPTIONS has none.
        """
        method = environ["REQUEST_METHOD"]
        if method == "OPTIONS" or not environ["PATH_INFO"].startswith("/v1/"):
            return 0
        caller = caller_of(environ, self.proxies) + ("h" if method == "HEAD" else "")
        now = self.own.clock()
        # Who is over the limit stays so until the window ends: no need to ask the store again.
        until = self._refused.get(caller, 0.0)
        if until > now:
            return _whole(until - now)
        found = self.shared.add(caller) if self.shared else None
        count, left = found or self.own.add(caller)
        if count <= self.most:
            return 0
        self._refused.pop(caller, None)
        self._refused[caller] = now + left
        while len(self._refused) > _MOST_CALLERS:
            self._refused.popitem(last=False)
        return _whole(left)


def _whole(seconds: float) -> int:
    """Return seconds rounded up, at least one: who comes back then is served."""
    return max(1, int(seconds) + 1)
