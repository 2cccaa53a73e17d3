"""The clients' ledger: what was sent, what was answered, and what the database must hold of it."""

import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import psycopg


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a write leaves behind: a query that counts it, and the count once the write is stored."""

    what: str
    query: str
    given: tuple[Any, ...]
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Write:
    """One request that changes something. Each part of it is stored whole or not at all.

    All but a batch have one part: a list of effects that come together.
    """

    act: str
    method: str
    address: str
    body: Any = None
    headers: dict[str, str] = field(default_factory=dict)
    parts: tuple[tuple[Effect, ...], ...]


def counts_of(sql: psycopg.Connection[Any], effects: Sequence[Effect]) -> list[int]:
    """How often each effect is there, all seen at one moment."""
    query = "SELECT " + ", ".join(f"({one.query})" for one in effects)
    row = sql.execute(query, [value for one in effects for value in one.given]).fetchone()
    assert row
    return list(row)


def is_whole(sql: psycopg.Connection[Any], effects: Sequence[Effect]) -> bool:
    return counts_of(sql, effects) == [one.count for one in effects]


def is_half(sql: psycopg.Connection[Any], effects: Sequence[Effect]) -> bool:
    counts = counts_of(sql, effects)
    return any(counts) and counts != [one.count for one in effects]


class Ledger:
    """What all clients sent, and every violation that was found."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.acknowledged: list[Write] = []
        self.unanswered: Counter[str] = Counter()  # by act
        self.found_whole: Counter[str] = Counter()  # unanswered, and stored all the same
        self.repeats = 0
        self.violations: list[str] = []
        self.rounds = 0
        self.up = threading.Event()
        self.ended = threading.Event()
        self._under_way: dict[int, float] = {}
        self._moment = ("", threading.Event())

    @contextmanager
    def under_way(self) -> Iterator[None]:
        """While a client's write is sent and not yet answered for good."""
        me = threading.get_ident()
        with self._lock:
            self._under_way[me] = time.monotonic()
        try:
            yield
        finally:
            with self._lock:
                del self._under_way[me]

    def settled_since(self, moment: float) -> bool:
        """True once every write that was under way at that moment has been answered."""
        with self._lock:
            return all(began >= moment for began in self._under_way.values())

    def keep(self, write: Write) -> None:
        with self._lock:
            self.acknowledged.append(write)

    def note_unanswered(self, act: str) -> None:
        with self._lock:
            self.unanswered[act] += 1

    def note_repeat(self) -> None:
        with self._lock:
            self.repeats += 1

    def note_found_whole(self, act: str) -> None:
        with self._lock:
            self.found_whole[act] += 1

    def note_violation(self, words: str) -> None:
        with self._lock:
            self.violations.append(words)

    def watch_for(self, act: str) -> threading.Event:
        """Set when a client next begins the act."""
        self._moment = (act, threading.Event())
        return self._moment[1]

    def begins(self, act: str) -> None:
        watched, moment = self._moment
        if act == watched:
            moment.set()

    def missing(self, sql: psycopg.Connection[Any], writes: Sequence[Write]) -> int:
        """How many acknowledged writes are not there as they were answered; each is noted as a violation."""
        gone = 0
        for write in writes:
            for effects in write.parts:
                if not is_whole(sql, effects):
                    gone += 1
                    told = [(one.what, one.count) for one in effects]
                    found = counts_of(sql, effects)
                    self.note_violation(f"{write.act} {write.address}: {told} answered, {found} found")
        return gone
