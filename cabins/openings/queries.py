"""How the openings of a cabin lie among its courses: as they stand, as they are expected of a yard's logs."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.choices.queries import settling_rule
from cabins.core.course_bands import DiameterAt
from cabins.core.courses import cut_courses, settling_spaces_mm
from cabins.core.expected import expected_stack, middles_by_round
from cabins.core.layout_parts import Courses, Layout
from cabins.core.opening_sheet import OpeningLog
from cabins.core.pieces import ButtAt, from_butt_at
from cabins.core.places import Spot, WallPlace, columns_of
from cabins.core.stack import Stack
from cabins.walls.queries import Standing, standing_of
from crews.accounts.models import Crew
from inventory.core.profile import LogProfile, nearest_diameter_mm
from inventory.logs.models import Log, LogState
from inventory.logs.profiles import profile_of_row


def spaces_of(crew: Crew, layout: Layout) -> dict[str, float]:
    """Settling space over each opening of a layout by the crew's rule, in mm; one query."""
    return settling_spaces_mm(layout, settling_rule(crew))


def expected_courses(cabin: Cabin, layout: Layout, *, yards: Iterable[UUID] = ()) -> Courses:
    """How the openings of `layout` cut the courses of the cabin: by what stands, above it by what is
    expected.

    Courses in which logs are set stay as they are but for openings that `layout` changes.
    """
    standing = None if cabin.layout is None else standing_of([cabin])[cabin.id]
    stack = expected_of(layout, standing, middles_mm=free_middles_mm(cabin.crew, yards))
    return cut_courses(
        stack,
        spaces_mm=spaces_of(cabin.crew, layout),
        present=None if standing is None else standing.layout.courses,
        set_courses=frozenset() if standing is None else set_courses_of(standing),
        changed=frozenset() if standing is None else changed_openings(standing.layout, layout),
    )


def expected_of(layout: Layout, standing: Standing | None, *, middles_mm: Iterable[float] = ()) -> Stack:
    """The wall of `layout` as it is to be expected of logs with these middles, over what stands of it."""
    rounds = middles_by_round(list(middles_mm), layout.round_count)
    if standing is None:
        return expected_stack(layout, round_middles_mm=rounds)
    return expected_stack(
        layout,
        round_middles_mm=rounds,
        diameters_mm=_diameters(layout, standing),
        measured_mm=_measured(layout, standing),
    )


def free_middles_mm(crew: Crew, yards: Iterable[UUID]) -> list[float]:
    """Middle diameters of the sound logs to be had in these yards; one query, none for no yards."""
    asked = list(yards)
    if not asked:
        return []
    free = Log.objects.of(crew).filter(
        yard__in=asked, state__in=[LogState.IN_RACK, LogState.PUT_ASIDE], culled=False
    )
    return [float(middle) for middle in free.order_by("id").values_list("middle_mm", flat=True)]


def set_courses_of(standing: Standing) -> frozenset[tuple[str, int]]:
    """The courses (wall, round) in which a log is set."""
    return frozenset((row["wall"], row["round"]) for row in standing.pieces)


def changed_openings(held: Layout, layout: Layout) -> frozenset[str]:
    """Openings of `layout` that `held` has otherwise or not at all."""
    before = {opening.id: opening for opening in held.openings}
    return frozenset(one.id for one in layout.openings if before.get(one.id) != one)


def _diameters(layout: Layout, standing: Standing) -> dict[Spot, float]:
    """Diameters of what stands at the columns of `layout`, as far as it has these walls and rounds."""
    columns = columns_of(layout)
    rounds = range(0 if layout.half_logs else 1, layout.round_count + 1)
    diameter_at = diameter_along(standing.pieces)
    return {
        (wall, number, column.column): diameter
        for wall, number in set_courses_of(standing)
        if number in rounds
        for column in columns.get(wall, ())
        if (diameter := diameter_at(wall, number, column.at_mm)) is not None
    }


def _measured(layout: Layout, standing: Standing) -> dict[Spot, float]:
    columns = columns_of(layout)
    return {
        (wall, number, column): float(height)
        for (wall, number, column), height in standing.heights_mm.items()
        if column < len(columns.get(wall, ())) and number <= layout.round_count
    }


def place_of_row(row: Mapping[str, Any]) -> WallPlace:
    """The place of a piece that is set or planned, by its row."""
    start, end = float(row["start_mm"]), float(row["end_mm"])
    return WallPlace(
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        start_mm=start,
        end_mm=end,
        length_mm=end - start,
    )


def diameter_along(rows: Iterable[Mapping[str, Any]]) -> DiameterAt:
    """The diameters of pieces set or planned (rows with their log's measures) anywhere along their walls."""
    laid: dict[tuple[str, int], list[tuple[WallPlace, Mapping[str, Any], LogProfile]]] = {}
    for row in rows:
        laid.setdefault((row["wall"], row["round"]), []).append((place_of_row(row), row, profile_of_row(row)))

    def diameter_at(wall: str, number: int, at_mm: float) -> float | None:
        for place, row, profile in laid.get((wall, number), ()):
            if place.start_mm <= at_mm <= place.end_mm:
                at = from_butt_at(
                    place=place,
                    from_butt_mm=float(row["from_butt_mm"]),
                    butt_at=ButtAt(row["butt_at"]),
                    at_mm=at_mm,
                )
                return nearest_diameter_mm(profile, at)
        return None

    return diameter_at


def laid_logs(rows: Iterable[Mapping[str, Any]], *, is_set: bool) -> list[OpeningLog]:
    """The logs of pieces that are set or planned, as an opening's sheet takes them."""
    return [
        OpeningLog(
            place=place_of_row(row),
            log=str(row["log"]),
            log_number=row["log_number"],
            from_butt_mm=float(row["from_butt_mm"]),
            butt_at=ButtAt(row["butt_at"]),
            is_set=is_set,
        )
        for row in rows
    ]
