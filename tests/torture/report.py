"""What a torture prints: the kills by victim, what was written and found, violations."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

import psycopg

from tests.torture.ledger import Ledger
from tests.torture.receiver import Receiver
from tests.torture.victims import VICTIMS, Round

_SHOWN = 20
_QUEUED = "FROM procrastinate_jobs WHERE task_name = 'planning.make_plan'"
_JOBS = f"""
    SELECT count(*), count(*) FILTER (WHERE state = 'done'), count(*) FILTER (WHERE state = 'failed'),
        (SELECT count(*) {_QUEUED} AND attempts > 1) + (SELECT count(*) - count(DISTINCT args) {_QUEUED})
    FROM planning_planningjob
"""


def kills(rounds: Sequence[Round]) -> Iterator[str]:
    """A row for each victim: how often it was killed, and in the middle of what."""
    yield f"{'killed':<18} {'rounds':>6}  in the middle of"
    for victim in VICTIMS:
        acts = Counter(one.act for one in rounds if one.victim is victim)
        told = ", ".join(f"{count} {act}" for act, count in sorted(acts.items()))
        yield f"{victim.name:<18} {acts.total():>6}  {told}"
    yield f"{'all':<18} {len(rounds):>6}"


def writes(ledger: Ledger) -> Iterator[str]:
    """A row for each act: how many were acknowledged, and what became of the unanswered ones."""
    acknowledged = Counter(write.act for write in ledger.acknowledged)
    yield f"{'write':<18} {'acknowledged':>12} {'unanswered':>11} {'whole then':>11}"
    for act, count in sorted(acknowledged.items()):
        yield f"{act:<18} {count:>12} {ledger.unanswered[act]:>11} {ledger.found_whole[act]:>11}"
    counts = acknowledged.total(), ledger.unanswered.total(), ledger.found_whole.total()
    yield f"{'all':<18} {counts[0]:>12} {counts[1]:>11} {counts[2]:>11}"


def afterwards(
    sql: psycopg.Connection[Any], ledger: Ledger, receiver: Receiver, *, gone: int, ended: int
) -> Iterator[str]:
    """What was found when everything had come to rest."""
    parts = sum(len(write.parts) for write in ledger.acknowledged)
    yield f"repeated requests: {ledger.repeats}; of {parts} acknowledged parts found after: {parts - gone}"
    jobs = sql.execute(_JOBS).fetchone()
    assert jobs
    yield f"planning jobs: {jobs[0]}, done {jobs[1]}, failed {jobs[2]}; taken up again {jobs[3]} times"
    events, again = len(receiver.taken), receiver.taken.total() - len(receiver.taken)
    yield f"events received: {events}, and {again} of them again with the same id"
    yield f"workers that ended with their database, and were started again: {ended}"
    yield f"violations: {len(ledger.violations)}"
    for words in ledger.violations[:_SHOWN]:
        yield f"  VIOLATION {words}"
