"""`make torture`: kills parts of the service again and again while clients write, and holds it to its word.

On this machine alone, with a database of its own that is gone afterwards; ends by itself. The seed decides
who is killed, in the middle of what and when; what the clients were at just then is the machine's.
"""

import argparse
import signal
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol
from uuid import uuid4

import psycopg

from tests.bench.service import free_port
from tests.torture import effects, report
from tests.torture.building import Building
from tests.torture.calling import Client, Refused, TortureOver
from tests.torture.holding import ALWAYS, AT_REST, broken
from tests.torture.ledger import Ledger
from tests.torture.receiver import Receiver, receiving
from tests.torture.service import Service, tortured_service
from tests.torture.victims import NOTHING, Round, rounds_of
from tests.torture.work import Buying, Charting, Phoning, put

_MOMENT_S, _SETTLE_S, _REST_S, _STEP_S = 15, 120, 240, 0.1
# All that the clients make happen, and all that becomes of it.
_KINDS = ["order_sent", "delivery_announced", "delivered", "round_complete", "plan_ready", "plan_stale"]
_AT_WORK = (Charting, Phoning, Buying, Building, Building)


class AtWork(Protocol):
    """Someone who does one thing again and again."""

    client: Client

    def turn(self) -> None: ...


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def torture(*, rounds: int, seed: int, minutes: float, loud: bool) -> Ledger:
    """The ledger after so many rounds, with every violation in it; prints what happened.

    No round begins when the minutes are over, so that a slow machine ends as well.
    """
    ledger, planned, began = Ledger(), rounds_of(seed, rounds), time.monotonic()
    done: list[Round] = []
    with receiving(ledger, seed) as receiver, tortured_service(free_port()) as service:
        lead = Client(service, ledger, seed=f"{seed} lead")
        ledger.up.set()
        _subscribe(lead, receiver)
        threads = _set_to_work(service, ledger, seed)
        for one in planned:
            if time.monotonic() - began > 60 * minutes:
                say(f"the {minutes:g} minutes are over: {len(done)} of {rounds} rounds were done")
                break
            before = len(ledger.acknowledged)
            reached = _strike(service, ledger, one)
            _hold(service, ledger, since=before)
            done.append(one if reached else replace(one, act=NOTHING))
            ledger.rounds += 1
            if loud:
                say(f"{len(done):>4} {one.victim.name:<18} {one.act:<11} violations {len(ledger.violations)}")
        ledger.ended.set()
        for thread in threads:
            thread.join()
        _tell_all(service, ledger, receiver, done)
    return ledger


def _subscribe(lead: Client, receiver: Receiver) -> None:
    hook, body = str(uuid4()), {"url": receiver.url, "kinds": _KINDS}
    put(lead, "put_webhook", f"webhooks/{hook}", body, effects.of_row("crews_webhook", hook, "webhook"))


def _set_to_work(service: Service, ledger: Ledger, seed: int) -> list[threading.Thread]:
    people: list[AtWork] = [
        kind(Client(service, ledger, seed=f"{seed} {number}")) for number, kind in enumerate(_AT_WORK)
    ]
    threads = [threading.Thread(target=_work, args=[who], daemon=True) for who in people]
    for thread in threads:
        thread.start()
    return threads


def _work(who: AtWork) -> None:
    ledger = who.client.ledger
    while not ledger.ended.is_set():
        try:
            who.turn()
        except TortureOver:
            return
        except Refused:
            time.sleep(1)  # the ledger has it
        except Exception as error:
            ledger.note_violation(f"{type(who).__name__}: the answer was not what it should be: {error!r}")
            raise


def _strike(service: Service, ledger: Ledger, one: Round) -> bool:
    """Kill in the middle of the act, start what was killed, and wait until every client has its answer.

    False if no client came to the act in time: then something else was cut off, or nothing.
    """
    moment, began = ledger.watch_for(one.act), time.monotonic()
    while not moment.wait(timeout=_STEP_S) and time.monotonic() - began < _MOMENT_S:
        service.mend("")
    time.sleep(one.delay_s)
    ledger.up.clear()
    one.victim.kill(service)
    service.mend(one.victim.process)
    service.await_ready()
    ledger.up.set()
    back = time.monotonic()
    while not ledger.settled_since(back):
        service.mend("")
        if time.monotonic() - back > _SETTLE_S:
            ledger.note_violation(f"after {one.victim.name} was killed in {one.act}: a write is not answered")
            break
        time.sleep(_STEP_S)
    return moment.is_set()


def _hold(service: Service, ledger: Ledger, *, since: int) -> None:
    """Every rule, and every write acknowledged since."""
    with service.sql() as sql:
        for words, count in broken(sql, ALWAYS).items():
            ledger.note_violation(f"{words}: {count}")
        ledger.missing(sql, ledger.acknowledged[since:])


def _tell_all(service: Service, ledger: Ledger, receiver: Receiver, rounds: Sequence[Round]) -> None:
    with service.sql() as sql:
        _come_to_rest(service, sql, ledger)
        gone = ledger.missing(sql, ledger.acknowledged)
        _hold_events(sql, ledger, receiver)
        after = report.afterwards(sql, ledger, receiver, gone=gone, ended=service.ended_by_themselves)
        for line in (*report.kills(rounds), *report.writes(ledger), *after):
            say(line)


def _come_to_rest(service: Service, sql: psycopg.Connection, ledger: Ledger) -> None:
    """Wait for jobs and deliveries that were under way; what a killed worker had goes to another one."""
    moved, before = time.monotonic(), {}
    while left := broken(sql, AT_REST):
        service.mend("")
        if left != before:
            moved, before = time.monotonic(), left
        if time.monotonic() - moved > _REST_S:
            for words, count in left.items():
                ledger.note_violation(f"{words}: {count}")
            break
        time.sleep(_STEP_S)
    for words, count in broken(sql, ALWAYS).items():
        ledger.note_violation(f"{words}: {count}")


def _hold_events(sql: psycopg.Connection, ledger: Ledger, receiver: Receiver) -> None:
    """Each event of the crew came at least once under its id, and nothing else came."""
    told_of = {str(row[0]) for row in sql.execute("SELECT event_id FROM crews_webhookdelivery")}
    for id in told_of - set(receiver.taken):
        ledger.note_violation(f"event {id} was never received")
    for id in set(receiver.taken) - told_of:
        ledger.note_violation(f"event {id} was received and does not exist")


def main() -> int:
    reader = argparse.ArgumentParser(description="Kills parts of the service while clients write.")
    reader.add_argument("--rounds", type=int, default=200, choices=range(1, 2001), metavar="N")
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--minutes", type=float, default=180, help="no round begins after these")
    asked = reader.parse_args()
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    say(f"{asked.rounds} rounds, seed {asked.seed}")
    ledger = torture(rounds=asked.rounds, seed=asked.seed, minutes=asked.minutes, loud=True)
    return 1 if ledger.violations else 0


if __name__ == "__main__":
    sys.exit(main())
