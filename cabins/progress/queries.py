"""How far cabins are: rounds complete, logs set and left, members made, level and height of every wall."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.layout_parts import Layout, Start
from cabins.core.places import columns_of, places_of, rounds_with_places
from cabins.core.rounds import DUST_MM, rounds_for_height
from cabins.core.stack import PiledTop, Stack
from cabins.progress.reached import Ends, Filled, Reached, filled_of
from cabins.roof_members.queries import members_installed_in
from cabins.walls.queries import Standing, layout_of, stack_of, standing_of
from crews.accounts.models import Crew


def cabin_progress(cabin: Cabin) -> dict[str, Any]:
    """How far one cabin is; three queries, seven if what was set last is not measured yet."""
    return _progress(cabin, filled_of([cabin]).get(cabin.id), _given([cabin]))


def crew_progress(crew: Crew) -> list[dict[str, Any]]:
    """How far every cabin of the crew is, the oldest first; four to eight queries for any number of them."""
    cabins = list(Cabin.objects.of(crew).order_by("created_at", "id"))
    filled, given = filled_of(cabins), _given(cabins)
    return [_progress(cabin, filled.get(cabin.id), given) for cabin in cabins]


def _given(cabins: Sequence[Cabin]) -> Counter[UUID]:
    """How many members of each cabin are made."""
    return Counter(members_installed_in(cabins).values_list("cabin", flat=True))


def cabin_rounds(cabin: Cabin) -> list[dict[str, Any]]:
    """Every round with what is filled in each wall and how high its ends stand; two queries.

    Raises NotLaidOut.
    """
    layout_of(cabin)
    standing = standing_of([cabin])[cabin.id]
    stack = stack_of(standing)
    places, filled = _counted(standing)
    ends = _ends(stack)
    return [
        {
            **_round(number, places, filled, standing),
            "walls": [
                {
                    "wall": wall.id,
                    "places": places[wall.id, number],
                    "filled": filled.get((wall.id, number), 0),
                    **_wall_ends(*ends[wall.id, number]),
                }
                for wall in standing.layout.log_walls
                if (wall.id, number) in places
            ],
        }
        for number in rounds_with_places(standing.layout)
    ]


Counts = Mapping[tuple[str, int], int]  # by (wall, round)


def _progress(cabin: Cabin, found: tuple[Filled, Ends] | None, given: Counter[UUID]) -> dict[str, Any]:
    row = {"cabin": cabin.id, "cabin_name": cabin.name, "layout_version": cabin.layout_version}
    if found is None:
        return {**row, **_NOTHING}
    filled, ends = found
    layout, complete = filled.layout, filled.complete
    reached = _height_mm(layout, ends, complete)
    left_mm = layout.wall_height_mm - reached
    return {
        **row,
        "rounds": layout.round_count,
        "rounds_complete": complete,
        "rounds_left": layout.round_count - complete,
        "rounds_needed": rounds_for_height(left_mm, layout.pitch_mm) if left_mm > DUST_MM else 0,
        "completed_at": filled.set_at.get(complete) if complete else None,
        "places": filled.places,
        "logs_set": filled.logs_set,
        "logs_left": filled.places - filled.logs_set,
        "members": len(layout.single_members),
        "members_installed": given[cabin.id],
        "last_set_at": max(filled.set_at.values(), default=None),
        "wall_height_mm": layout.wall_height_mm,
        "height_mm": reached,
        "walls": [
            {"wall": wall, "rounds_up": up, **_wall_ends(*ends[wall, up])}
            for wall, up in filled.rounds_up.items()
        ],
    }


_NOTHING: dict[str, Any] = {
    "rounds": 0,
    "rounds_complete": 0,
    "rounds_left": 0,
    "rounds_needed": 0,
    "completed_at": None,
    "places": 0,
    "logs_set": 0,
    "logs_left": 0,
    "members": 0,
    "members_installed": 0,
    "last_set_at": None,
    "wall_height_mm": None,
    "height_mm": 0.0,
    "walls": [],
}


def _height_mm(layout: Layout, ends: Ends, round_number: int) -> float:
    """Mean top of the low walls' ends after a round: the wanted height is that of the low walls."""
    low = [wall for wall in layout.log_walls if wall.start is Start.LOW]
    tops = [end.top_mm for wall in low for end in ends[wall.id, round_number]]
    return sum(tops) / len(tops)


def _ends(stack: Stack) -> dict[tuple[str, int], tuple[PiledTop, PiledTop]]:
    columns = columns_of(stack.layout)
    tops = {(top.wall, top.round, top.column): top for top in (*stack.tops, *stack.half_tops)}

    def both(wall: str, number: int) -> tuple[PiledTop, PiledTop]:
        start, end = columns[wall][0].column, columns[wall][-1].column
        return tops[wall, number, start], tops[wall, number, end]

    return {course: both(*course) for course in {(wall, number) for wall, number, _ in tops}}


def _wall_ends(start: PiledTop | Reached, end: PiledTop | Reached) -> dict[str, Any]:
    return {
        "start_mm": start.top_mm,
        "start_error_mm": start.error_mm,
        "start_is_measured": start.is_measured,
        "start_is_assumed": start.is_assumed,
        "end_mm": end.top_mm,
        "end_error_mm": end.error_mm,
        "end_is_measured": end.is_measured,
        "end_is_assumed": end.is_assumed,
        "out_of_level_mm": end.top_mm - start.top_mm,
    }


def _counted(standing: Standing) -> tuple[Counts, Counts]:
    places: dict[tuple[str, int], int] = {}
    for place in places_of(standing.layout):
        places[place.wall, place.round] = places.get((place.wall, place.round), 0) + 1
    filled: dict[tuple[str, int], int] = {}
    for row in standing.pieces:
        filled[row["wall"], row["round"]] = filled.get((row["wall"], row["round"]), 0) + 1
    return places, filled


def _round(number: int, places: Counts, filled: Counts, standing: Standing) -> dict[str, Any]:
    wanted = sum(count for (_, round_number), count in places.items() if round_number == number)
    there = sum(count for (_, round_number), count in filled.items() if round_number == number)
    # Exactly when all its places are filled: no flag that could say otherwise.
    is_complete = wanted == there
    return {
        "round": number,
        "places": wanted,
        "filled": there,
        "is_complete": is_complete,
        "completed_at": _completed_at(standing, number) if is_complete else None,
    }


def _completed_at(standing: Standing, round_number: int) -> datetime:
    times: Sequence[datetime] = [
        piece["set_at"] for piece in standing.pieces if piece["round"] == round_number
    ]
    return max(times)
