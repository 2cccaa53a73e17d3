"""What a crew, a log, a round, a plan and a change take in the database: `make sizes`.

The demo's school with an order and plans, copied into so many crews, each table and its indexes weighed; then
one crew more works as crews do, and what the database grew by is what a log, a plan and a round take.
"""

import argparse
import os
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import django
import psycopg

from config.home import PROJECT
from tests.bench.service import throwaway_database

_WEIGHED = """
    SELECT relname, pg_table_size(oid), pg_indexes_size(oid) FROM pg_class
    WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 2 DESC
"""
_HISTORY = "crews_change"
# What the figures of docs/scale.md are made of, in the trade's words.
_NAMED = {
    "inventory_log": "log",
    "inventory_measurement": "measurement of a log",
    "crews_change": "change in the history",
    "cabins_place": "place in a wall",
    "cabins_setlog": "log set",
    "cabins_measuredheight": "height measured",
    "planning_plannedpiece": "piece of a plan",
    "planning_reservation": "reservation",
    "planning_planningjob": "planning job",
    "planning_plan": "plan",
    "crews_event": "event",
    "crews_webhookdelivery": "delivery of an event",
}
_CREWS = (10, 1_000, 10_000, 100_000)

Sql = psycopg.Connection[Any]


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def main() -> int:
    reader = argparse.ArgumentParser(description="Bytes for each row in tables and indexes.")
    reader.add_argument("--crews", type=int, default=200, metavar="N", help="copies of the demo's crew")
    crews = reader.parse_args().crews
    os.environ["ROUNDLAY_ALLOWED_HOSTS"] = "testserver"
    with throwaway_database() as url:
        subprocess.run([sys.executable, "manage.py", "migrate", "--verbosity", "0"], cwd=PROJECT, check=True)
        django.setup()
        _fill(crews)
        with psycopg.connect(url, autocommit=True) as sql:
            _tell_of_rows(sql, crews + 1)
            _tell_of_work(sql)
    return 0


def _fill(crews: int) -> None:
    """Only here, for they need Django's settings."""
    from tests.scale.crew_of_everything import a_crew_of_everything
    from tests.scale.many_crews import copy_crews

    a_crew_of_everything(logs=0)
    copy_crews(crews)


def _tell_of_rows(sql: Sql, crews: int) -> None:
    tables = sql.execute(_WEIGHED).fetchall()
    say(f"{crews} crews; bytes of a row, in the table (with what is stored beside it) and in its indexes")
    say(f"{'':<24} {'rows a crew':>11} {'table':>8} {'indexes':>8} {'together':>9}")
    for table, in_table, in_indexes in tables:
        if table not in _NAMED:
            continue
        rows = sql.execute(f"SELECT count(*) FROM {table}").fetchone()
        assert rows
        each = [in_table / rows[0], in_indexes / rows[0]]
        say(f"{_NAMED[table]:<24} {rows[0] / crews:>11.0f} {each[0]:>8.0f} {each[1]:>8.0f} {sum(each):>9.0f}")
    whole, history = _weight(sql)
    say(f"a crew takes {whole / crews / 1e6:.2f} MB, of which the history {history / crews / 1e6:.2f} MB")


def _tell_of_work(sql: Sql) -> None:
    """What the database grows by while one crew charts, plans and builds; and what many of them take."""
    from tests.scale.crew_at_work import CrewAtWork

    crew, logs = CrewAtWork(), 0
    whole = history = 0
    say("\na crew at work, through the API; what the database grew by, in bytes")
    say(f"{'':<24} {'each':>11} {'of it history':>14}")
    for name, work in {
        "log charted": crew.chart,
        "plan adopted": crew.plan,
        "round built": crew.build,
    }.items():
        count, grew, grew_history = _grown(sql, work)
        logs, whole, history = logs or count, whole + grew, history + grew_history
        say(f"{f'{count:,} times: {name}':<24} {grew / count:>11.0f} {grew_history / count:>14.0f}")
    say(f"{'together':<24} {whole:>11} {history:>14}")
    say("\nas many such crews")
    say(f"{'crews':>8} {'logs':>12} {'database':>11} {'of it history':>14}")
    for crews in _CREWS:
        gb, history_gb = crews * whole / 1e9, crews * history / 1e9
        say(f"{crews:>8,} {crews * logs:>12,} {gb:>8.2f} GB {history_gb:>11.2f} GB")


def _grown(sql: Sql, work: Callable[[], int]) -> tuple[int, int, int]:
    """How often the work was done, and by how many bytes all tables and the history grew."""
    whole, history = _weight(sql)
    count = work()
    more, more_history = _weight(sql)
    return count, more - whole, more_history - history


def _weight(sql: Sql) -> tuple[int, int]:
    """Bytes of all tables with their indexes, and of the history's."""
    sql.execute("VACUUM ANALYZE")
    tables = sql.execute(_WEIGHED).fetchall()
    history = sum(a + b for name, a, b in tables if name == _HISTORY)
    return sum(a + b for _, a, b in tables), history


if __name__ == "__main__":
    sys.exit(main())
