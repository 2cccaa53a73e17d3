"""Reads of logs and of their measurements."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib.postgres.fields import ArrayField
from django.db import connection
from django.db.models import BooleanField, F, Func, QuerySet, UUIDField

from crews.accounts.models import Crew
from crews.accounts.queries import row_or_not_found
from crews.api.fast_rows import Param, RowJson, compiled_query
from crews.api.problems import NotFound
from inventory.logs.lines import CHARTED
from inventory.logs.models import MEASURES, Log, Measurement

LOG_FIELDS = [
    "id",
    "number",
    "yard",
    "rack",
    "species",
    "state",
    *CHARTED,
    "cull_reason",
    "gone_reason",
    "instructions",
    "measures_version",
    "version",
    "created_at",
    "changed_at",
]


def logs_of(crew: Crew) -> QuerySet[Log, dict[str, Any]]:
    """Logs as they are shown, with the names of rack and species."""
    return Log.objects.of(crew).values(
        *LOG_FIELDS, rack_name=F("rack__name"), species_name=F("species__name")
    )


def log_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(logs_of(crew), id)


@compiled_query(Log)
def logs_listed(crew: UUID) -> QuerySet[Log, dict[str, Any]]:
    """The same, of the crew with this id."""
    return logs_of(Crew(id=crew))


@compiled_query(Log)
def _one_log(crew: UUID, id: UUID) -> QuerySet[Log, dict[str, Any]]:
    return logs_of(Crew(id=crew)).filter(id=id)


def log_answer(crew: Crew, id: UUID) -> RowJson:
    """A log to be answered as it is, and its version. NotFound for a log that is not the crew's."""
    for row in _one_log.ask(shape="one", keys=["version"], values={"crew": crew.id, "id": id}, most=1):
        return row
    raise NotFound


_AMONG = Func(
    F("id"), Param("ids", ArrayField(UUIDField())), output_field=BooleanField(),
    arg_joiner=" = ANY (", template="(%(expressions)s))",
)  # fmt: skip


def log_answers(crew: Crew, ids: Sequence[UUID]) -> dict[UUID, RowJson]:
    """The same of many logs, by their ids; those that are not the crew's are left out."""
    rows = logs_listed.ask(
        shape="many", keys=["version", "id"], values={"crew": crew.id, "ids": list(ids)}, most=len(ids),
        refine=lambda rows, _: rows.filter(_AMONG),
    )  # fmt: skip
    return {row.keys[1]: row for row in rows}


def measurements_of(crew: Crew, log: UUID) -> QuerySet[Measurement, dict[str, Any]]:
    """Every measurement of a log; NotFound for a log that is not the crew's."""
    row_or_not_found(Log.objects.of(crew).values("id"), log)
    return (
        Measurement.objects.of(crew)
        .filter(log=log)
        .values(
            "id", "log", "measures_version", "recorded_by", *MEASURES, "created_at",
            recorded_by_name=F("recorded_by__name"),
        )
    )  # fmt: skip


_field: Any = Log._meta.get_field("number_order")

_ORDER = _field.expression.extra["template"] % {"expressions": "asked.number"}

# Looked up log by log through both indexes: to read all logs there are would be the other way.
_TAKEN = f"""
    SELECT asked.id FROM unnest(%s::uuid[], %s::uuid[], %s::text[]) AS asked (id, yard, number)
    CROSS JOIN LATERAL (
        SELECT FROM inventory_log log WHERE log.id = asked.id
        UNION ALL
        SELECT FROM inventory_log log WHERE log.yard_id = asked.yard AND log.number_order = {_ORDER}
        LIMIT 1
    ) AS taken
"""


def logs_taken(asked: Sequence[tuple[UUID, UUID, str]]) -> set[UUID]:
    """Those ids of (id, yard, number) that any log has, or whose number another log of the yard has."""
    ids, yards, numbers = zip(*asked, strict=True) if asked else ((), (), ())
    with connection.cursor() as cursor:
        cursor.execute(_TAKEN, [list(ids), list(yards), list(numbers)])
        return {id for (id,) in cursor.fetchall()}
