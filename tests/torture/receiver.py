"""Where the torture's events go: a receiver that knows the id of each, and fails at times."""

import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from random import Random

from config.run import HOST
from tests.torture.ledger import Ledger

_FAILS_EVERY = 20


class Receiver(ThreadingHTTPServer):
    """Takes every event; about every twentieth only when it comes for the second time."""

    daemon_threads = True

    def __init__(self, ledger: Ledger, seed: int) -> None:
        super().__init__((HOST, 0), _Answering)
        self.ledger, self._chance, self._lock = ledger, Random(seed), threading.Lock()
        self.taken: Counter[str] = Counter()
        self._failed: set[str] = set()

    @property
    def url(self) -> str:
        return f"http://{HOST}:{self.server_port}/events"

    def take(self, event: str) -> int:
        """The status to answer with."""
        with self._lock:
            if (
                event not in self._failed
                and not self.taken[event]
                and not self._chance.randrange(_FAILS_EVERY)
            ):
                self._failed.add(event)
                return 503
            self.taken[event] += 1
            return 204

    def handle_error(self, request: object, client_address: object) -> None:
        """Who sent was killed before it heard our answer."""


class _Answering(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        self.server.ledger.begins("deliver")
        length = int(self.headers["content-length"])
        if len(self.rfile.read(length)) < length:
            return  # who sent it was killed before it was all said
        self.send_response(self.server.take(self.headers["webhook-id"]))
        self.end_headers()

    def log_message(self, *args: object) -> None:
        """Quiet."""


@contextmanager
def receiving(ledger: Ledger, seed: int) -> Iterator[Receiver]:
    with Receiver(ledger, seed) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()
