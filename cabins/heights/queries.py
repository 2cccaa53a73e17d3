"""Measured heights, and the readings of one top kept together."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from cabins.cabins.models import Cabin
from cabins.core.top_readings import TopReadings
from cabins.heights.models import MeasuredHeight
from cabins.walls.queries import Standing, columns_by_name
from crews.accounts.models import Crew, Member
from crews.accounts.queries import row_or_not_found

_FIELDS = [
    "id",
    "cabin",
    "wall",
    "round",
    "end",
    "height_mm",
    "measured_at",
    "measured_by",
    "recorded_by",
    "remarks",
    "undone_at",
    "undone_by",
    "undo_reason",
    "version",
    "created_at",
    "changed_at",
]


def heights_of(crew: Crew) -> QuerySet[MeasuredHeight, dict[str, Any]]:
    """Every reading of a top, undone ones too."""
    return MeasuredHeight.objects.of(crew).values(*_FIELDS)


def height_row(crew: Crew, id: UUID) -> dict[str, Any]:
    return row_or_not_found(heights_of(crew), id)


def height_rows(crew: Crew, ids: list[UUID]) -> list[dict[str, Any]]:
    """The heights with these ids, in this order."""
    found = {row["id"]: row for row in heights_of(crew).filter(id__in=ids)}
    return [found[id] for id in ids]


def tops_read(cabin: Cabin, standing: Standing) -> list[dict[str, Any]]:
    """Every measured top of the cabin that counts, by round, wall and column; one query.

    Rows of `wall`, `round`, `end`, `height_mm` (the mean), `error_mm` (of it), `times_read`, `spread_mm`,
    `measured_at` (the latest), `measured_by_name` (all names) and `readings` (id, height_mm, measured_at,
    measured_by, measured_by_name), oldest first.
    """
    if not standing.readings:
        return []
    names: dict[Any, str] = dict(Member.objects.filter(crew=cabin.crew_id).values_list("id", "name"))
    ends = {spot: name for (_, name), spot in columns_by_name(standing.layout).items()}
    errors = standing.errors.errors
    return [
        {
            "wall": wall,
            "round": number,
            "end": ends[wall, column],
            "height_mm": float(found.mean_mm),
            "error_mm": errors.top_mm(rounds_since_measured=0, times_read=found.times),
            "times_read": found.times,
            "spread_mm": found.spread_mm,
            "measured_at": found.last_at,
            "measured_by_name": ", ".join(
                dict.fromkeys(str(names[one.measured_by]) for one in found.readings)
            ),
            "readings": _readings(found, names),
        }
        for (wall, number, column), found in sorted(
            standing.readings.items(), key=lambda row: (row[0][1], row[0][0], row[0][2])
        )
    ]


def _readings(found: TopReadings, names: Mapping[Any, str]) -> list[dict[str, Any]]:
    return [
        {
            "id": one.id,
            "height_mm": float(one.height_mm),
            "measured_at": one.measured_at,
            "measured_by": one.measured_by,
            "measured_by_name": names[one.measured_by],
        }
        for one in found.readings
    ]
