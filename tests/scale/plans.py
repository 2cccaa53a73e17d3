"""What PostgreSQL means to do for a question, and what of it would grow with the number of crews."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from math import ceil
from typing import Any, NamedTuple
from unittest.mock import patch

import psycopg
from django.db import connection, transaction
from django.db.models import Model
from psycopg import sql as composed

from crews.api.prepared import PreparedCursor

_BY_INDEX = ("Index Scan", "Index Only Scan", "Bitmap Index Scan")
_SCANS = ("Seq Scan", "Bitmap Heap Scan", *_BY_INDEX)
_READS = ("SELECT", "WITH")
_CHANGES = ("INSERT", "UPDATE", "DELETE")
# How a table of two pages is joined says nothing about one of a thousand; by keys, it shows which there are.
_BY_KEY_ONLY = ("seqscan", "hashjoin", "mergejoin", "bitmapscan")
# Every table has some rows beyond one crew's: a key's own count, a row that was changed a moment ago.
_FEW_ROWS = 20
# Per loop; what a step read and threw away counts as well.
_READ = ("Actual Rows", "Rows Removed by Filter", "Rows Removed by Index Recheck")

# Two megabytes; below, reading all of a table may be the quickest way to find some rows in it.
LARGE_PAGES = 250


class Question(NamedTuple):
    """A question with its values; `prepared`: it may be planned once for all values."""

    sql: str
    params: Any = None
    prepared: bool = False


@contextmanager
def noted_questions() -> Iterator[list[Question]]:
    """Every question that is asked meanwhile, to read or to change rows."""
    asked: list[Question] = []
    copy = psycopg.Cursor.copy

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.lstrip().upper().startswith(_READS + _CHANGES) and not many:
            prepared = isinstance(context["cursor"].cursor, PreparedCursor)
            asked.append(Question(sql, params, prepared))
        return execute(sql, params, many, context)

    def note_copy(cursor: Any, statement: Any, *given: Any, **more: Any) -> Any:
        text = statement.as_string(cursor) if isinstance(statement, composed.Composable) else statement
        if text.startswith("COPY ("):
            asked.append(Question(text.removeprefix("COPY (").rsplit(") TO STDOUT", 1)[0]))
        return copy(cursor, statement, *given, **more)

    with connection.execute_wrapper(note), patch.object(psycopg.Cursor, "copy", note_copy):
        yield asked


def questions_of(work: Callable[[], Any]) -> tuple[Any, list[Question]]:
    """What `work` gives, and every question that it asked."""
    with noted_questions() as asked:
        return work(), asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """Judges questions by the plans that the database makes for them. All crews have as many rows."""

    crews: int
    rows: Mapping[str, int]  # of each of our tables
    large: Collection[str]  # tables that nobody would read whole for a few rows
    table_of_index: Mapping[str, str]

    @classmethod
    def of(cls, models: Iterable[type[Model]], *, crews: int) -> "Judge":
        with connection.cursor() as cursor:
            cursor.execute("SELECT indexrelid::regclass::text, indrelid::regclass::text FROM pg_index")
            table_of_index = dict(cursor.fetchall())
            cursor.execute("SELECT relname, relpages FROM pg_class WHERE relkind = 'r'")
            pages = dict(cursor.fetchall())
        rows = {model._meta.db_table: model._default_manager.count() for model in models}
        large = sorted(table for table in rows if pages[table] > LARGE_PAGES)
        return cls(crews=crews, rows=rows, large=large, table_of_index=table_of_index)

    def faults_of(self, question: Question, *, of_one_crew: bool) -> list[str]:
        """What of the question would grow with the number of crews; empty if its indexes fit.

        Asked as the planner chooses, no large table or index of one is read whole, and (`of_one_crew`) no
        step reads more rows of one than the crew has there. Asked without scans and with joins by key
        only, what is still read whole has no index that fits, which is true where a table is small here too.
        A prepared question is asked for its plan for all values as well.
        """
        by_key = self._steps(question, by_key=True)
        if not by_key:  # nothing of ours: the queue's own tables
            return []
        run = of_one_crew and question.sql.lstrip().upper().startswith(_READS)
        chosen = self._large(self._steps(question, run=run))
        once = self._large(self._steps(question, generic=True)) if question.prepared else []
        found = [_whole(node) for node in chosen + once + by_key]
        if run:
            found += [self._too_much(node) for node in chosen]
        return list(filter(None, found))

    def _steps(
        self, question: Question, *, run: bool = False, by_key: bool = False, generic: bool = False
    ) -> list[dict[str, Any]]:
        """The steps of the plan that read our tables; `run`: with how many rows each of them read.

        `generic`: of the plan that would be kept for any values.
        """
        sql, params = question.sql, question.params
        how = "ANALYZE, TIMING OFF, BUFFERS OFF, " if run else ""
        if generic:
            numbers = count(1)
            sql, params = re.sub("%s", lambda _: f"${next(numbers)}", sql).replace("%%", "%"), None
            how = "GENERIC_PLAN, "
        with transaction.atomic(), connection.cursor() as cursor:
            for one in _BY_KEY_ONLY if by_key else ():
                cursor.execute(f"SET LOCAL enable_{one} = off")
            cursor.execute(f"EXPLAIN ({how}FORMAT JSON) {sql}", params)
            [[[plan]]] = cursor.fetchall()
            transaction.set_rollback(True)
        return [node for node in _nodes(plan["Plan"]) if self._table(node) in self.rows]

    def _large(self, nodes: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return [node for node in nodes if self._table(node) in self.large]

    def _table(self, node: dict[str, Any]) -> str:
        """The table that a step reads; a bitmap's step names its index alone."""
        if node["Node Type"] not in _SCANS:
            return ""
        return str(node.get("Relation Name") or self.table_of_index[node["Index Name"]])

    def _too_much(self, node: dict[str, Any]) -> str:
        table = self._table(node)
        read, own = sum(node.get(name, 0) for name in _READ), ceil(self.rows[table] / self.crews)
        if read <= max(own, _FEW_ROWS):
            return ""
        return f"{node['Node Type']} reads {read:.0f} rows of {table}, of which the crew has {own}"


def _whole(node: dict[str, Any]) -> str:
    """Says that a step reads a whole table or index."""
    kind = node["Node Type"]
    if kind == "Seq Scan":
        return f"{kind} on {node['Relation Name']}"
    return f"{kind} of all {node['Index Name']}" if kind in _BY_INDEX and "Index Cond" not in node else ""


def _nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for one in node.get("Plans", ()):
        yield from _nodes(one)
