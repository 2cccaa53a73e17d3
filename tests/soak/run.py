"""`make soak`: the whole service under a mixed load for half an hour, and what it costs over time.

On this machine alone, with a database of its own that is gone afterwards; ends by itself.
"""

import argparse
import json
import os
import random
import secrets
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import psycopg

from config.run import manage, running_service
from tests.bench.service import free_port, throwaway_database
from tests.soak import report
from tests.soak.calling import Book, Broken, Client, Pace, TimeIsUp
from tests.soak.people import AtWork, take_part
from tests.soak.receiver import Receiver, receiving
from tests.soak.watching import Watch, processes_of

_DRAIN_S = 120
# What is due and not done; a delivery that failed may wait for minutes before it is due again.
_LEFT = """
    SELECT (SELECT count(*) FROM crews_webhookdelivery WHERE state = 'waiting' AND due_at <= now()),
        (SELECT count(*) FROM planning_planningjob WHERE ended_at IS NULL)
"""
_DELIVERIES = """
    SELECT count(*) FILTER (WHERE state = 'delivered'), count(*) FILTER (WHERE state = 'waiting'),
        count(*) FILTER (WHERE state = 'given_up') FROM crews_webhookdelivery
"""


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def main() -> int:
    asked, book = _arguments(), Book()
    with throwaway_database(lasting=True) as url, receiving() as receiver:
        env = dict(os.environ) | {
            "ROUNDLAY_SECRET_KEY": secrets.token_urlsafe(32),
            "ROUNDLAY_WEBHOOKS_TO_PRIVATE": "1",
            "ROUNDLAY_REQUESTS_PER_MINUTE": "12000",
        }
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        key = manage("found_crew", "First crew", "--lead", "Odda", env=env, quiet=True).strip()
        port = free_port()
        with running_service(port, env) as children, psycopg.connect(url, autocommit=True) as sql:
            say(f"{asked.minutes:g} minutes, {asked.clients} clients, seed {asked.seed}")
            founder = Client(
                port=port, key=key, book=book, pace=Pace(chance=random.Random(asked.seed), pause_s=0)
            )
            people = take_part(
                founder, clients=asked.clients, seed=asked.seed, pause_s=asked.pause,
                least_turns=asked.turns, receiver=receiver.url,
            )  # fmt: skip
            processes = processes_of(*(child.pid for child in children))
            watch = Watch(sql=sql, processes=processes, every_s=max(asked.minutes / 3, 0.5))
            watch.begin()
            _drive(people, seconds=asked.minutes * 60)
            watch.end()
            left = _settled(sql, book, receiver)
    for line in (*report.operations(book), *report.over_time(watch.samples, warm_s=asked.minutes * 10), left):
        say(line)
    if asked.json:
        asked.json.write_text(json.dumps(_figures(book, watch)))
    return 1 if book.errors else 0


def _arguments() -> argparse.Namespace:
    reader = argparse.ArgumentParser(description="The whole service under a mixed load, on this machine.")
    reader.add_argument("--minutes", type=float, default=30, metavar="M", help="at most 240")
    reader.add_argument("--clients", type=int, default=20, choices=range(1, 101), metavar="N")
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--pause", type=float, default=1.0, help="a client's mean pause, in seconds")
    reader.add_argument("--turns", type=int, default=0, help="go on until each client did so many")
    reader.add_argument("--json", type=Path, help="write the figures there too")
    asked = reader.parse_args()
    if not 0 < asked.minutes <= 240:
        reader.error("--minutes is above 0 and at most 240")
    return asked


def _drive(people: Sequence[tuple[str, AtWork]], *, seconds: float) -> None:
    """Everyone at once, until the time is over."""
    ends_at = time.monotonic() + seconds
    threads = [threading.Thread(target=_work, args=[what, who, ends_at], daemon=True) for what, who in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _work(what: str, who: AtWork, ends_at: float) -> None:
    pace = who.client.pace
    pace.ends_at = ends_at
    try:
        while True:
            pace.pause()
            try:
                who.turn()
                pace.turns += 1
                who.client.book.note_turn(what)
            except Broken:
                time.sleep(1)  # the book has it; a service that fails at once is not stormed
    except TimeIsUp:
        who.client.close()
    except Exception as error:
        who.client.book.note_error(f"{what}: the answer was not what it should be: {error!r}")
        raise


def _settled(sql: psycopg.Connection[Any], book: Book, receiver: Receiver) -> str:
    """Wait for what was under way, and hold what was delivered against what came."""
    began = time.monotonic()
    while (left := sql.execute(_LEFT).fetchone()) != (0, 0):
        if time.monotonic() - began > _DRAIN_S:
            book.note_error(f"left undone after {_DRAIN_S} s: (deliveries due, planning jobs) = {left}")
            break
        time.sleep(0.5)
    counted = sql.execute(_DELIVERIES).fetchone()
    assert counted
    delivered, waiting, given_up = counted
    if delivered != receiver.taken or given_up:
        book.note_error(f"{delivered} deliveries are said done, {given_up} given up; {receiver.taken} came")
    return (
        f"events: {delivered} delivered and as many received, {receiver.asked - receiver.taken} refused by "
        f"the receiver on purpose, {waiting} of them wait to be tried again; done {_ago(began)} after the end"
    )


def _ago(began: float) -> str:
    return f"{time.monotonic() - began:.1f} s"


def _figures(book: Book, watch: Watch) -> dict[str, Any]:
    return {
        "requests": {operation: len(took) for operation, took in book.took_ms.items()},
        "errors": book.errors,
        "told_errors": book.told_errors,
        "turns": book.turns,
        "samples": [asdict(sample) for sample in watch.samples],
    }


if __name__ == "__main__":
    sys.exit(main())
