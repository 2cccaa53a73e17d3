"""One web process: waitress, which reads a request whole before a thread is spent on it, and ends in order.

Waitress itself stops at once when it is told to stop; here what was asked is answered first.
"""

import os
import resource
import signal
import socket
import time
from typing import Any

from django.conf import settings
from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import TcpWSGIServer, UnixWSGIServer
from waitress.task import ErrorTask, ThreadedTaskDispatcher

from config import metrics
from config.children import resident_bytes
from crews.api.problems import BodyTooLarge, InternalError, MalformedRequest, Refusal, problem_response

# Connections that a process holds at most, half-sent requests and idle ones among them.
_CONNECTIONS = 2000
_IDLE_S = 120
_HEADERS_BYTES = 64 * 1024
# What is larger than this, on its way in or out, lies in a temporary file meanwhile.
_IN_MEMORY_BYTES = 64 * 1024
_NOT_KEPT_BYTES = 1024**3
# A thread waits while so much of its answer was not taken yet.
_UNSENT_BYTES = 64 * 1024**2
# Told to stop, a process waits for answers under way; less for what was sent in part or just opened.
_ANSWERS_S, _PARTS_S = 300.0, 1.0
# The same if whoever started it is gone, and nobody waits for it.
_ORPHAN_S = 10.0


class _Nowhere:
    """Takes the bytes of a body and keeps none."""

    def append(self, data: bytes) -> None: ...

    def close(self) -> None: ...

    def __len__(self) -> int:
        return 0


class _Request(HTTPRequestParser):
    """A request as it comes in; the body of one that is refused for its size is read on, and not kept.

    A client that is still sending would otherwise see its connection break, and never the answer.
    """

    def received(self, data: bytes) -> int:
        if self.error is not None:
            taken: int = self.body_rcv.received(data)
            self.body_bytes_received += taken
        else:
            taken = super().received(data)
            if self.error is None:
                return taken
            if self.body_rcv is None or self.expect_continue:
                self.expect_continue = False  # it is answered instead
                return taken
            self.body_rcv.getbuf().close()
            self.body_rcv.buf = _Nowhere()
        body = self.body_rcv
        self.completed = bool(body.completed or body.error or self.body_bytes_received > _NOT_KEPT_BYTES)
        return taken


class _Refused(ErrorTask):
    """What waitress refuses before the service sees it, as the service's own problem documents."""

    def execute(self) -> None:
        answer = problem_response(_refusal(self.request.error))
        self.status = f"{answer.status_code} {answer.reason_phrase}"
        self.response_headers.extend(answer.items())
        self.set_close_on_finish()
        self.content_length = len(answer.content)
        self.write(answer.content)


def _refusal(error: Any) -> Refusal:
    match error.code:
        case BodyTooLarge.status:
            return BodyTooLarge(f"This server reads bodies up to {_body_limit() // 1024**2} MB.")
        case InternalError.status:
            return InternalError()
        case _:
            return MalformedRequest(f"This is not HTTP as it is read here: {error.body}.")


def _body_limit() -> int:
    return int(settings.DATA_UPLOAD_MAX_MEMORY_SIZE)


class _Channel(HTTPChannel):
    parser_class = _Request
    error_task_class = _Refused


class _TcpServer(TcpWSGIServer):
    channel_class = _Channel


class _UnixServer(UnixWSGIServer):
    channel_class = _Channel

    def fix_addr(self, addr: Any) -> tuple[str, None]:
        return ("", None)  # a Unix socket has no address, and none is made up


class WebProcess:
    """Serves what comes to a socket that is bound already, until it is told to stop."""

    def __init__(self, application: Any, listening: socket.socket, *, slot: int) -> None:
        self._parent, self._slot, self._told = os.getppid(), slot, 0.0
        self._channels: dict[int, Any] = {}
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C in a terminal is for whoever started us
        signal.signal(signal.SIGTERM, self._stop)
        self._threads = ThreadedTaskDispatcher()
        self._threads.set_thread_count(settings.WEB_THREADS)
        kind = _UnixServer if listening.family == socket.AF_UNIX else _TcpServer
        self._server = kind(
            application, self._channels, True, listening, dispatcher=self._threads, bind_socket=False,
            sockinfo=(listening.family, listening.type, listening.proto, listening.getsockname()),
            adj=Adjustments(
                threads=settings.WEB_THREADS, sockets=[listening], connection_limit=_CONNECTIONS,
                channel_timeout=_IDLE_S,
                asyncore_use_poll=True, recv_bytes=64 * 1024, inbuf_overflow=_IN_MEMORY_BYTES,
                outbuf_overflow=1024**2, outbuf_high_watermark=_UNSENT_BYTES,
                max_request_header_size=_HEADERS_BYTES, max_request_body_size=_body_limit() + 1,
                clear_untrusted_proxy_headers=False, log_socket_errors=False, ident="roundlay",
            ),
        )  # fmt: skip

    def run(self) -> None:
        looked = 0.0
        while not self._told:
            if time.monotonic() - looked >= 1:
                looked = time.monotonic()
                self._tell()
            self._step(1)
            if os.getppid() != self._parent:
                self._told = time.monotonic()
        self._finish()

    def _stop(self, *_: Any) -> None:
        self._told = self._told or time.monotonic()
        self._server.pull_trigger()

    def _step(self, seconds: float) -> None:
        wasyncore.loop(timeout=seconds, use_poll=True, map=self._channels, count=1)

    def _finish(self) -> None:
        """Take no more connections, but answer what came in before."""
        before = -1
        while before != len(self._channels):  # those that the kernel accepted for us
            before = len(self._channels)
            self._server.handle_accept()
        wasyncore.dispatcher.close(self._server)
        while self._is_busy(time.monotonic() - self._told):
            self._step(0.05)

    def _is_busy(self, seconds: float) -> bool:
        if seconds > (_ANSWERS_S if os.getppid() == self._parent else _ORPHAN_S):
            return False
        channels = list(self._server.active_channels.values())
        if any(one.requests or one.total_outbufs_len for one in channels):
            return True
        just_now = time.time() - _PARTS_S
        return seconds < _PARTS_S and any(one.request or one.creation_time > just_now for one in channels)

    def _tell(self) -> None:
        """This process's figures, for whichever process is asked for the metrics."""
        used = resource.getrusage(resource.RUSAGE_SELF)
        metrics.note_process(
            self._slot,
            memory_bytes=resident_bytes(os.getpid()),
            cpu_seconds=used.ru_utime + used.ru_stime,
            connections=len(self._server.active_channels),
            waiting=len(self._threads.queue),
        )
