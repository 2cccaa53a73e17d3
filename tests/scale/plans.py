"""What PostgreSQL means to do for a question, and where it would read a whole table."""

from collections.abc import Callable, Iterator
from typing import Any

from django.db import connection, transaction

_BY_INDEX = ("Index Scan", "Index Only Scan", "Bitmap Index Scan")


def questions_of(work: Callable[[], Any]) -> tuple[Any, list[tuple[str, Any]]]:
    """What `work` gives, and every SELECT that it asked: (SQL, parameters)."""
    asked: list[tuple[str, Any]] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.lstrip().upper().startswith(("SELECT", "WITH")):
            asked.append((sql, params))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        return work(), asked


def whole_tables(sql: str, params: Any, *, tables: set[str], may_scan: bool) -> list[str]:
    """Which of `tables` the question would read whole.

    `may_scan`: as the planner chooses. Otherwise scans are forbidden, and what it still reads whole, table or
    index, has no index that fits: that says the truth also where a table is too small for an index to pay.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL enable_seqscan = {'on' if may_scan else 'off'}")
        cursor.execute(f"EXPLAIN (FORMAT JSON) {sql}", params)
        [[[plan]]] = cursor.fetchall()
    found = []
    for node in _nodes(plan["Plan"]):
        table, kind = node.get("Relation Name") or _of_index(node), node["Node Type"]
        unbound = not may_scan and kind in _BY_INDEX and "Index Cond" not in node
        if table in tables and (kind == "Seq Scan" or unbound):
            found.append(f"{kind} on {table}")
    return found


def _nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for one in node.get("Plans", ()):
        yield from _nodes(one)


def _of_index(node: dict[str, Any]) -> str | None:
    """The table of a bitmap's index, which the node does not name."""
    if "Index Name" not in node:
        return None
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT indrelid::regclass::text FROM pg_index WHERE indexrelid = %s::regclass",
            [f'"{node["Index Name"]}"'],
        )
        return str(cursor.fetchone()[0])
