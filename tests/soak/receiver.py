"""Where the soak's webhooks go: a receiver on this machine that counts what comes and is down at times."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from config.run import HOST

_DOWN_EVERY = 50


class Receiver(ThreadingHTTPServer):
    """Answers 204, and every fiftieth time 503; knows each event that it took, and how often."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__((HOST, 0), _Answering)
        self.lock, self.asked, self.taken = threading.Lock(), 0, 0

    @property
    def url(self) -> str:
        return f"http://{HOST}:{self.server_port}/events"

    def take(self) -> int:
        """The status to answer with."""
        with self.lock:
            self.asked += 1
            if self.asked % _DOWN_EVERY == 0:
                return 503
            self.taken += 1
            return 204


class _Answering(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        self.rfile.read(int(self.headers["content-length"]))
        self.send_response(self.server.take())
        self.end_headers()

    def log_message(self, *args: object) -> None:
        """Quiet."""


@contextmanager
def receiving() -> Iterator[Receiver]:
    with Receiver() as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()
