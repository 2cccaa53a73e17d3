"""What a crew, a log, a change and a piece of a plan take in the database: `python -m tests.scale.sizes`.

The demo's school with an order and plans, copied into so many crews; then each table and its indexes weighed.
"""

import argparse
import os
import subprocess
import sys
from typing import Any

import django
import psycopg

from config.database import PROJECT
from tests.bench.service import throwaway_database

_WEIGHED = """
    SELECT relname, pg_table_size(oid), pg_indexes_size(oid) FROM pg_class
    WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY 2 DESC
"""
# What the figures of docs/scale.md are made of, in the trade's words.
_NAMED = {
    "inventory_log": "log",
    "inventory_measurement": "measurement of a log",
    "crews_change": "change in the history",
    "cabins_place": "place in a wall",
    "cabins_setlog": "log set",
    "cabins_measuredheight": "height measured",
    "planning_plannedpiece": "piece of a plan",
    "planning_promise": "promise",
    "planning_planningjob": "planning job",
    "planning_plan": "plan",
    "crews_event": "event",
    "crews_webhookdelivery": "delivery of an event",
}


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
            sql.execute("VACUUM ANALYZE")
            _tell(sql, crews + 1)
    return 0


def _fill(crews: int) -> None:
    """Only here, for they need Django's settings."""
    from tests.scale.crew_of_everything import a_crew_of_everything
    from tests.scale.many_crews import copy_crews

    a_crew_of_everything(logs=0)
    copy_crews(crews)


def _tell(sql: psycopg.Connection[Any], crews: int) -> None:
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
    whole = sum(in_table + in_indexes for _, in_table, in_indexes in tables)
    history = sum(a + b for name, a, b in tables if name == "crews_change")
    say(f"a crew takes {whole / crews / 1e6:.2f} MB, of which the history {history / crews / 1e6:.2f} MB")


if __name__ == "__main__":
    sys.exit(main())
