"""A small receiver of Roundlay's events: checks the signature, answers at once, takes each event once.

Needs nothing but Python:  WEBHOOK_SECRET=whsec_... python webhook_receiver.py 9000
"""

import base64
import hashlib
import hmac
import json
import os
import sys
import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

TOLERANCE_SECONDS = 300
LARGEST_BODY = 1_000_000


def is_genuine(headers, body: bytes, secret: str, now: float) -> bool:
    """True if the event was signed with our secret, and not long ago."""
    id, stamp = headers.get("webhook-id", ""), headers.get("webhook-timestamp", "")
    if not stamp.isdigit() or abs(now - int(stamp)) > TOLERANCE_SECONDS:
        return False
    key = base64.b64decode(secret.removeprefix("whsec_"))
    made = hmac.new(key, f"{id}.{stamp}.".encode() + body, hashlib.sha256).digest()
    expected = "v1," + base64.b64encode(made).decode()
    # While a secret is being changed, two signatures come, parted by a space.
    given = headers.get("webhook-signature", "").split(" ")
    return any(hmac.compare_digest(expected.encode(), one.encode()) for one in given)


class Receiver(BaseHTTPRequestHandler):
    """Answers 204 to what is genuine, 401 to the rest."""

    def do_POST(self):
        body = self.rfile.read(min(int(self.headers.get("content-length", 0)), LARGEST_BODY))
        genuine = is_genuine(self.headers, body, self.server.secret, time.time())
        self.send_response(204 if genuine else 401)
        self.end_headers()
        # The same event may come again (an answer was lost on the way): its id tells.
        if genuine and self.headers["webhook-id"] not in self.server.seen:
            self.server.seen.add(self.headers["webhook-id"])
            self.server.take(json.loads(body))

    def log_message(self, *args):
        """Quiet."""


def receiver(port: int, secret: str, take) -> ThreadingHTTPServer:
    """A server that hands each new event to `take`."""
    server = ThreadingHTTPServer(("127.0.0.1", port), Receiver)
    server.secret, server.take, server.seen = secret, take, set()
    return server


if __name__ == "__main__":
    receiver(int(sys.argv[1]), os.environ["WEBHOOK_SECRET"], print).serve_forever()
