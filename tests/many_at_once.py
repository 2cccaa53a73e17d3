"""Many people at one moment: each in a thread of their own, with a database connection of their own."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Barrier, Thread
from typing import Any

from django.db import connection, connections


@contextmanager
def _no_pool() -> Iterator[None]:
    """The pool would let only a few of them in at once."""
    options = connections.settings["default"]["OPTIONS"]
    pool = options.pop("pool")
    try:
        yield
    finally:
        options["pool"] = pool


def at_once(jobs: Sequence[Callable[[], Any]]) -> list[Any]:
    """Do the jobs at the same moment; what each gave, or the exception that it raised."""
    start, results = Barrier(len(jobs)), [None] * len(jobs)

    def work(number: int, job: Callable[[], Any]) -> None:
        try:
            connection.ensure_connection()
            start.wait()
            results[number] = job()
        except Exception as error:
            results[number] = error
        finally:
            connection.close()

    connection.close()
    with _no_pool():
        threads = [Thread(target=work, args=one) for one in enumerate(jobs)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return results
