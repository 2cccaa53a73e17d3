"""A client that writes: it goes on until it has an answer, and holds what is there against what it sent."""

import http.client
import json
import time
from random import Random
from typing import Any

from config.run import HOST
from tests.torture.ledger import Ledger, Write, is_half, is_whole
from tests.torture.service import Service

_PAUSE_S = 0.25
_LOOKS_UP_S = 0.1  # between two writes: people do not write all the time, and a small machine keeps up
_TRIES = 240
_ASK_AGAIN = 409


class TortureOver(Exception):
    """The last round is over: clients go home."""


class NoAnswer(Exception):
    """The connection broke, or the service said that it cannot answer just now."""


class Refused(Exception):
    """A refusal that no client of the torture should get."""


class Client:
    """Someone with a key, and chances of their own."""

    def __init__(self, service: Service, ledger: Ledger, *, seed: str, key: str = "") -> None:
        self.service, self.ledger = service, ledger
        self.chance, self.key = Random(seed), key or service.key

    def write(self, write: Write) -> Any:
        """The answer's JSON; repeated until it is answered, which must have a single effect."""
        time.sleep(self.chance.uniform(0, 2 * _LOOKS_UP_S))
        if self.ledger.ended.is_set():
            raise TortureOver
        with self.ledger.under_way():
            self.ledger.begins(write.act)
            answer = self._answered(write)
        self.ledger.keep(write)
        return answer

    def _answered(self, write: Write) -> Any:
        for attempt in range(_TRIES):
            try:
                answer = self._send(write.method, write.address, write.body, write.headers)
            except NoAnswer:
                if attempt == 0:
                    self.ledger.note_unanswered(write.act)
                self._look_at(write, first=attempt == 0)
                continue
            if attempt:
                self._hold_single(write)
            return answer
        self.ledger.note_violation(f"{write.act} {write.address}: never answered")
        raise TortureOver

    def _look_at(self, write: Write, *, first: bool) -> None:
        """Once the service is back: what was sent is there whole, or nothing of it."""
        self.ledger.up.wait()
        time.sleep(_PAUSE_S)
        self.ledger.note_repeat()
        with self.service.sql() as sql:
            if any(is_half(sql, effects) for effects in write.parts):
                self.ledger.note_violation(f"{write.act} {write.address}: half of it is stored")
            if first and all(is_whole(sql, effects) for effects in write.parts):
                self.ledger.note_found_whole(write.act)

    def _hold_single(self, write: Write) -> None:
        with self.service.sql() as sql:
            self.ledger.missing(sql, [write])

    def read(self, address: str) -> Any:
        """The answer's JSON, asked for until it comes."""
        for _ in range(_TRIES):
            if self.ledger.ended.is_set():
                raise TortureOver
            try:
                return self._send("GET", address, None, {})
            except NoAnswer:
                self.ledger.up.wait()
                time.sleep(_PAUSE_S)
        self.ledger.note_violation(f"GET {address}: never answered")
        raise TortureOver

    def _send(self, method: str, address: str, body: Any, headers: dict[str, str]) -> Any:
        sent = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        kind = "text/csv" if isinstance(body, bytes) else "application/json"
        given = {"Authorization": f"Bearer {self.key}", **({"Content-Type": kind} if sent else {}), **headers}
        web = http.client.HTTPConnection(HOST, self.service.port, timeout=60)
        try:
            web.request(method, f"/api/v1/{address}", sent, given)
            answer = web.getresponse()
            status, read = answer.status, json.loads(answer.read() or b"null")
        except (OSError, http.client.HTTPException) as broke:
            raise NoAnswer from broke
        finally:
            web.close()
        return self._judged(f"{method} {address}", status, read, answer.headers)

    def _judged(self, asked: str, status: int, read: Any, headers: Any) -> Any:
        if status < 400:
            return read
        if status == 503:
            if "Retry-After" not in headers or read["type"] != "/problems/unavailable":
                self.ledger.note_violation(f"{asked}: 503 does not say when to try again: {read}")
            raise NoAnswer
        if status == _ASK_AGAIN and read["type"] == "/problems/idempotency-key-busy":
            raise NoAnswer
        self.ledger.note_violation(f"{asked}: {status} {str(read)[:400]}")
        raise Refused
