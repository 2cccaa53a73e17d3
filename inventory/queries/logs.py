"""Reads of logs and of their measurements."""

from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from config.api.fast_rows import AskedAgain
from config.api.problems import NotFound
from crews.models import Crew
from crews.queries import one_row
from inventory.models import MEASURES, Log, Measurement

LOG_FIELDS = [
    "id",
    "number",
    "yard",
    "rack",
    "species",
    "state",
    *MEASURES,
    "peeled",
    "culled",
    "cull_reason",
    "gone_reason",
    "remarks",
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
    return one_row(logs_of(crew), id)


@AskedAgain
def _one_log(crew: UUID, id: UUID) -> QuerySet[Log, dict[str, Any]]:
    return logs_of(Crew(id=crew)).filter(id=id)


def log_answer(crew: Crew, id: UUID) -> dict[str, Any]:
    """The same, to be answered as it is. NotFound for a log that is not the crew's."""
    for row in _one_log(crew=crew.id, id=id):
        return row
    raise NotFound


def logs_listed(crew: Crew) -> QuerySet[Log, dict[str, Any]]:
    """The same with the key by which numbers are put in order, which no list shows."""
    return logs_of(crew).values(*LOG_FIELDS, "rack_name", "species_name", "number_order")


def measurements_of(crew: Crew, log: UUID) -> QuerySet[Measurement, dict[str, Any]]:
    """Every measurement of a log; NotFound for a log that is not the crew's."""
    one_row(Log.objects.of(crew).values("id"), log)
    return (
        Measurement.objects.of(crew)
        .filter(log=log)
        .values(
            "id", "log", "measures_version", "recorded_by", *MEASURES, "created_at",
            recorded_by_name=F("recorded_by__person__name"),
        )
    )  # fmt: skip
