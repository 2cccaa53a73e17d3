"""Laying out a cabin: the document is checked as a whole, kept, and its places stored."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from cabins.cabins.models import Cabin
from cabins.core.course_files import write_courses
from cabins.core.layout import layout_document
from cabins.core.layout_parts import Layout
from cabins.core.places import places_of
from cabins.layouts.models import PastLayout, Place
from cabins.layouts.queries import (
    in_stored_mm,
    layout_answer,
    layout_sent,
    members_in_the_way,
    places_in_the_way,
)
from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import one_of
from crews.api.problems import Refusal, fault
from crews.api.versions import Expected, check_version
from crews.events.actions import emit_event
from crews.events.models import EventKind


class SetLogsInTheWay(Refusal):
    """The new layout removes or moves places in which logs are set, or changes members that were made."""


@transaction.atomic
def lay_out(
    *, crew: Crew, cabin: UUID, document: Any, laid_out_by: Member, expected: Expected | None, at: datetime
) -> tuple[Cabin, bool]:
    """Give the cabin this layout; (cabin, True if it had none before).

    The same layout again changes nothing and needs no version. Places that stay keep their rows, so that
    what was planned and set there stays. Raises InvalidInput with every fault, VersionNeeded, VersionStale,
    SetLogsInTheWay.
    """
    held = one_of(Cabin, crew=crew, id=cabin, lock=True)
    layout = layout_sent(held, document)
    kept = layout_document(layout)
    if held.layout == kept:
        return held, False
    is_first = held.layout is None
    if not is_first or expected is not None:
        current = layout_answer(held) if held.layout is not None else None
        check_version(expected=expected, current=held.layout_version, row=current)
    _refuse_in_the_way(held, layout)
    held.layout, held.rounds, held.changed_at = kept, layout.round_count, at
    held.layout_version += 1
    held.save(update_fields=["layout", "rounds", "layout_version", "changed_at"])
    cut_places(held, layout)
    PastLayout.objects.create(
        id=uuid4(),
        crew=crew,
        cabin=held,
        layout_version=held.layout_version,
        layout=kept,
        laid_out_by=laid_out_by,
        created_at=at,
        changed_at=at,
    )
    told = {"cabin": str(held.id), "layout_version": held.layout_version}
    emit_event(crew, EventKind.LAYOUT_CHANGED, told, at)
    return held, is_first


def _refuse_in_the_way(cabin: Cabin, layout: Layout) -> None:
    faults = [
        fault(
            "",
            f"Log {row['log_number']} is set in wall {row['wall']}, round {row['round']}, piece "
            f"{row['piece']}; this place would be {row['change']}.",
            f"place_{row['change']}",
        )
        for row in places_in_the_way(cabin, layout)
    ]
    faults += [
        fault(
            "/members",
            f"{row['member']} was made from log {row['log_number']}; it would be {row['change']}.",
            f"member_{row['change']}",
        )
        for row in members_in_the_way(cabin, layout)
    ]
    if faults:
        raise SetLogsInTheWay(
            "Undo these records first, or leave their places and members as they are.", errors=faults
        )


def cut_places(cabin: Cabin, layout: Layout) -> None:
    """Keep how the cabin's courses are cut, and make its places so; those that stay as they are keep their
    rows."""
    cabin.courses = write_courses(layout.courses)
    Cabin.objects.filter(id=cabin.id).update(courses=cabin.courses)
    wanted = {
        (place.wall, place.round, place.piece): (in_stored_mm(place.start_mm), in_stored_mm(place.end_mm))
        for place in places_of(layout)
    }
    held: Mapping[tuple[str, int, int], tuple[int, tuple[Decimal, Decimal]]] = {
        (wall, number, piece): (row, (start, end))
        for row, wall, number, piece, start, end in Place.objects.filter(cabin=cabin).values_list(
            "id", "wall", "round", "piece", "start_mm", "end_mm"
        )
    }
    gone = [row for key, (row, _) in held.items() if key not in wanted]
    if gone:
        Place.objects.filter(id__in=gone).delete()
    Place.objects.bulk_create(
        [
            Place(cabin=cabin, wall=wall, round=number, piece=piece, start_mm=start, end_mm=end)
            for (wall, number, piece), (start, end) in wanted.items()
            if held.get((wall, number, piece), (0, None))[1] != (start, end)
        ],
        update_conflicts=True,
        unique_fields=["cabin", "round", "wall", "piece"],
        update_fields=["start_mm", "end_mm"],
    )
