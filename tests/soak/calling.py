"""A client of the soak: asks over a kept connection, and writes down how long each operation took."""

import http.client
import json
import math
import random
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from config.run import HOST

ERRORS_SHOWN = 20
_LONGEST_PAUSE_S = 5.0
_GRACE_S = 180.0


class Broken(Exception):
    """An answer that was not foreseen: this turn is over, and the book has it."""


class TimeIsUp(Exception):
    """The soak is over."""


class Book:
    """What all clients did together."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.took_ms: dict[str, list[float]] = defaultdict(list)
        self.refused: Counter[str] = Counter()
        self.reconnected = 0
        self.turns: Counter[str] = Counter()
        self.errors = 0
        self.told_errors: list[str] = []

    def note(self, operation: str, seconds: float, *, refusal: str = "") -> None:
        with self._lock:
            self.took_ms[operation].append(seconds * 1000)
            if refusal:
                self.refused[f"{operation}: {refusal}"] += 1

    def note_error(self, words: str) -> None:
        with self._lock:
            self.errors += 1
            if len(self.told_errors) < ERRORS_SHOWN:
                self.told_errors.append(words)

    def note_turn(self, role: str) -> None:
        with self._lock:
            self.turns[role] += 1

    def note_reconnected(self) -> None:
        with self._lock:
            self.reconnected += 1

    @property
    def requests(self) -> int:
        return sum(map(len, self.took_ms.values()))


@dataclass(slots=True, kw_only=True)
class Pace:
    """One client's time: when it may end, how long it looks at an answer, how often it did its whole turn."""

    chance: random.Random
    pause_s: float
    least_turns: int = 0
    ends_at: float = math.inf
    turns: int = 0

    def over(self) -> bool:
        """Past the end, and as many turns done as were asked for; a client that hangs is not waited for."""
        late_s = time.monotonic() - self.ends_at
        return late_s >= 0 and (self.turns >= self.least_turns or late_s >= _GRACE_S)

    def pause(self) -> None:
        """Look at what came."""
        if self.pause_s:
            time.sleep(min(self.chance.expovariate(1 / self.pause_s), _LONGEST_PAUSE_S))


class Client:
    """Someone with a key."""

    def __init__(self, *, port: int, key: str, book: Book, pace: Pace) -> None:
        self._web = http.client.HTTPConnection(HOST, port, timeout=60)
        self.port, self.key, self.book, self.pace = port, key, book, pace

    @property
    def chance(self) -> random.Random:
        return self.pace.chance

    def with_key(self, key: str, pace: Pace | None = None) -> "Client":
        """Another one: with the key of a mill, or of someone who goes at a pace of their own."""
        return Client(port=self.port, key=key, book=self.book, pace=pace or self.pace)

    def ask(
        self,
        operation: str,
        method: str,
        address: str,
        body: Any = None,
        *,
        foreseen: Collection[str] = (),
        **headers: str,
    ) -> Any:
        """The answer's JSON, or its bytes; None for a refusal that is `foreseen` (slugs of problems).

        Raises Broken for every other answer, TimeIsUp once the soak is over.
        """
        if self.pace.over():
            raise TimeIsUp
        sent = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        given = {"Authorization": f"Bearer {self.key}", **headers}
        if sent is not None:
            given.setdefault("Content-Type", "text/csv" if isinstance(body, bytes) else "application/json")
        path = address if address.startswith("/") else f"/api/v1/{address}"
        began = time.perf_counter()
        try:
            status, kind, read = self._answer(method, path, sent, given)
        except (OSError, http.client.HTTPException) as broke:
            self._web.close()
            self.book.note_error(f"{operation}: {method} {path}: {type(broke).__name__}: {broke}")
            raise Broken from broke
        return self._judged(operation, time.perf_counter() - began, status, kind, read, foreseen)

    def _judged(
        self, operation: str, seconds: float, status: int, kind: str, read: bytes, foreseen: Collection[str]
    ) -> Any:
        found = json.loads(read) if "json" in kind else read
        refusal = "" if status < 400 else str(found.get("type", "")) if isinstance(found, dict) else "?"
        slug = refusal.removeprefix("/problems/")
        self.book.note(operation, seconds, refusal=slug)
        if refusal and slug not in foreseen:
            self.book.note_error(f"{operation}: {status} {read[:500].decode(errors='replace')}")
            raise Broken
        self.pace.pause()
        return None if refusal else found

    def _answer(
        self, method: str, path: str, sent: bytes | None, headers: dict[str, str]
    ) -> tuple[int, str, bytes]:
        kept = self._web.sock is not None
        try:
            return self._once(method, path, sent, headers)
        except (http.client.RemoteDisconnected, ConnectionError):
            self._web.close()
            if not kept:
                raise
            # The server closed a connection that was idle for longer than it keeps one: ask on a new one.
            self.book.note_reconnected()
            return self._once(method, path, sent, headers)

    def _once(
        self, method: str, path: str, sent: bytes | None, headers: dict[str, str]
    ) -> tuple[int, str, bytes]:
        self._web.request(method, path, sent, headers)
        answer = self._web.getresponse()
        return answer.status, answer.headers.get("Content-Type", ""), answer.read()

    def close(self) -> None:
        self._web.close()
