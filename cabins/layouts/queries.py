"""Layouts: read from what was sent, answered, checked without storing, and what set logs forbid."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.choices.errors import errors_used
from cabins.choices.queries import layout_sizes
from cabins.core.height_estimate import height_estimate
from cabins.core.layout import LayoutFaults, layout_document, read_layout
from cabins.core.layout_parts import Layout, Start
from cabins.core.layout_reading import OPTIONAL
from cabins.core.opening_help import position_words
from cabins.core.places import columns_of, course_spans, half_logs_of, places_of
from cabins.core.rounds import ImpossibleRise
from cabins.core.wall_ends import wall_ends
from cabins.layouts.help import NO_HELP, layout_help
from cabins.openings.queries import expected_courses
from cabins.roof_members.queries import members_installed_in
from cabins.set_logs.models import SetLog
from cabins.walls.queries import layout_of
from crews.api.problems import Fault, InvalidInput, Refusal, fault
from inventory.core.crew_units import sentence_of
from inventory.core.measure import STORED_PLACES, BadLength, Unit, parse_length
from inventory.logs.models import Log, LogState
from inventory.yards.models import Yard

# A layout is three levels deep; what goes far beyond is no layout.
DEEPEST = 8


class NoFreeLogs(Refusal):
    """No free log lies in those yards."""

    status = 404


class LogsTooThin(Refusal):
    """With this layout's overlap the yards' logs would not raise a wall."""

    status = 404


def in_stored_mm(value_mm: float) -> Decimal:
    """A core's float as it is stored."""
    return Decimal(repr(value_mm)).quantize(STORED_PLACES, rounding=ROUND_HALF_UP)


def layout_sent(cabin: Cabin, document: Any) -> Layout:
    """The layout sent for a cabin, its lengths in mm or as texts with their unit, its courses cut anew.

    What a document does not say is as the cabin has it; of one that is not laid out yet, the openings' sizes
    are as the crew chose. Courses in which logs are set stay as they are. InvalidInput names every fault.
    """
    layout, faults = try_layout(cabin, document)
    if layout is None:
        raise InvalidInput(errors=faults)
    return layout


def try_layout(
    cabin: Cabin, document: Any, *, yards: Iterable[UUID] = ()
) -> tuple[Layout | None, list[Fault]]:
    """The layout sent, or None and every fault in it."""
    if isinstance(document, dict):
        document = {**_left_out(cabin), **document}
    layout, faults = try_layout_document(document)
    if layout is not None:
        layout = replace(layout, courses=expected_courses(cabin, layout, yards=yards))
    return layout, faults


def _left_out(cabin: Cabin) -> dict[str, Any]:
    """What counts where a document says nothing; what it must say is not among it."""
    if cabin.layout is None:
        return layout_sizes(cabin.crew)
    held = layout_document(layout_of(cabin))
    return {name: held[name] for name in OPTIONAL}


def try_layout_document(document: Any) -> tuple[Layout | None, list[Fault]]:
    """The layout in a document by itself, or None and every fault in it."""
    unread: dict[str, Fault] = {}
    plain = _in_millimetres(document, "", "", unread, DEEPEST)
    try:
        layout = read_layout(plain)
    except LayoutFaults as found:
        faults = [fault(one.pointer, one.text, one.code) for one in found.faults]
    else:
        return layout, []
    # A text that is no length has its own fault, which says more than that it is no number.
    return None, [one for one in faults if one["pointer"] not in unread] + list(unread.values())


def _in_millimetres(value: Any, name: str, pointer: str, unread: dict[str, Fault], deep: int) -> Any:
    if isinstance(value, dict | list) and deep == 0:
        unread[pointer] = fault(pointer, "This is nested too deep for a layout.", "too_deep")
        return None
    if isinstance(value, dict):
        return {
            key: _in_millimetres(part, key, f"{pointer}/{_step(key)}", unread, deep - 1)
            for key, part in value.items()
        }
    if isinstance(value, list):
        return [
            _in_millimetres(part, "", f"{pointer}/{at}", unread, deep - 1) for at, part in enumerate(value)
        ]
    if isinstance(value, str) and name.endswith("_mm"):
        return _length_mm(value, pointer, unread)
    return value


def _step(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")


def _length_mm(text: str, pointer: str, unread: dict[str, Fault]) -> float | None:
    # Overlaps and coordinates may be negative, which no length on a tape is.
    size = text.strip().removeprefix("-")
    try:
        if size.strip().replace(".", "").replace(",", "").isdigit():
            raise BadLength(text, "a text needs its unit; a plain number is sent as a number of millimetres")
        found = float(parse_length(size, default_unit=Unit.MM))
    except BadLength as bad:
        unread[pointer] = fault(pointer, str(bad), "not_a_length")
        return None
    return -found if text.strip().startswith("-") else found


def layout_answer(cabin: Cabin) -> dict[str, Any]:
    """The layout with what follows from it. Raises NotLaidOut."""
    layout = layout_of(cabin)
    return {"layout": cabin.layout, **_figures(layout), "version": cabin.layout_version}


def _figures(layout: Layout) -> dict[str, Any]:
    return {
        "rounds": layout.round_count,
        "pitch_mm": layout.pitch_mm,
        "half_logs": [{"wall": half.wall, "length_mm": half.length_mm} for half in half_logs_of(layout)],
        "wall_ends": [
            {"start": end.start.value, "top_mm": round(end.top_mm, 2)} for end in wall_ends(layout)
        ],
        "gable_logs": [
            {
                "wall": place.wall,
                "round": place.round,
                "member": place.member.id,
                "length_mm": place.length_mm,
                "least_middle_mm": place.least_middle_mm,
            }
            for place in layout.gable_places
        ],
        "columns": [asdict(column) for row in columns_of(layout).values() for column in row],
    }


def layout_check(cabin: Cabin, document: Any, *, yards: Sequence[UUID] = ()) -> dict[str, Any]:
    """What storing this layout would say: every fault, or rounds, places, and what stands in its way; and how
    its openings fall on the courses to be expected of the logs in `yards`."""
    layout, faults = try_layout(cabin, document, yards=yards)
    if layout is None:
        nothing: dict[str, Any] = {"rounds": None, "pitch_mm": None, "half_logs": [], "wall_ends": []}
        nothing |= {"columns": [], "places": [], "gable_logs": []}
        in_no_way: dict[str, Any] = {"set_logs_in_the_way": [], "roof_members_in_the_way": []}
        return {"faults": faults, **nothing, **in_no_way, **NO_HELP}
    places = [
        {
            "wall": place.wall,
            "round": place.round,
            "piece": place.piece,
            "start_mm": place.start_mm,
            "end_mm": place.end_mm,
            "length_mm": place.length_mm,
            "position": position_words(
                layout, place.wall, course_spans(layout, place.wall, place.round), place.piece
            ),
        }
        for place in places_of(layout)
    ]
    return {
        "faults": [],
        **_figures(layout),
        "places": places,
        "set_logs_in_the_way": places_in_the_way(cabin, layout),
        "roof_members_in_the_way": members_in_the_way(cabin, layout),
        **layout_help(cabin, layout, yards=yards),
    }


def places_in_the_way(cabin: Cabin, layout: Layout) -> list[dict[str, Any]]:
    """Filled places that `layout` removes or moves: wall, round, piece, log, log_number, change."""
    rows = list(
        SetLog.objects.filter(cabin=cabin, undone_at=None)
        .order_by("round", "wall", "piece")
        .values("wall", "round", "piece", "log", "log__number", "place__start_mm", "place__end_mm")
    )
    if not rows:
        return []
    walls, wanted = _walls(layout_of(cabin)), _walls(layout)
    to_be = {
        (place.wall, place.round, place.piece): (in_stored_mm(place.start_mm), in_stored_mm(place.end_mm))
        for place in places_of(layout)
    }
    found = []
    for row in rows:
        stretch = to_be.get((row["wall"], row["round"], row["piece"]))
        is_moved = stretch != (row["place__start_mm"], row["place__end_mm"])
        if stretch is None or is_moved or walls[row["wall"]] != wanted[row["wall"]]:
            found.append(
                {
                    "wall": row["wall"],
                    "round": row["round"],
                    "piece": row["piece"],
                    "log": row["log"],
                    "log_number": row["log__number"],
                    "change": "removed" if stretch is None else "moved",
                }
            )
    return found


def members_in_the_way(cabin: Cabin, layout: Layout) -> list[dict[str, Any]]:
    """Members made already that `layout` removes or wants of another length or kind: member, log,
    log_number, change."""
    to_be = {
        member.id: (member.kind.value, in_stored_mm(member.length_mm)) for member in layout.single_members
    }
    return [
        {
            "member": row.member,
            "log": row.log_id,
            "log_number": row.log.number,
            "change": "changed" if row.member in to_be else "removed",
        }
        for row in members_installed_in([cabin]).select_related("log")
        if to_be.get(row.member) != (row.kind, row.length_mm)
    ]


def _walls(layout: Layout) -> dict[str, tuple[Any, ...]]:
    # A wall that starts differently, or runs the other way, lies elsewhere though its places read the same.
    return {
        **{wall.id: (wall.start, wall.from_corner, wall.to_corner, wall.run_ons) for wall in layout.walls},
        **{part.id: (part.start, part.from_tee, part.to_tee) for part in layout.partitions},
    }


def yard_estimate(cabin: Cabin, yards: Sequence[Yard]) -> dict[str, Any]:
    """Rounds and heights with the mean middle of the yards' free logs. Raises NotLaidOut, NoFreeLogs,
    LogsTooThin."""
    layout = layout_of(cabin)
    middles = Log.objects.filter(yard__in=yards, state=LogState.IN_RACK, culled=False)
    found = [float(middle) for middle in middles.values_list("middle_mm", flat=True)]
    if not found:
        raise NoFreeLogs
    try:
        estimate = height_estimate(layout, middles_mm=found, errors=errors_used(cabin.crew_id).errors)
    except ImpossibleRise as flat:
        raise LogsTooThin(sentence_of(flat)) from flat
    [low] = [end for end in estimate.ends if end.start is Start.LOW]
    return {
        "wall_height_mm": layout.wall_height_mm,
        "layout_rounds": layout.round_count,
        "free_logs": len(found),
        "mean_middle_mm": estimate.mean_middle_mm,
        "rounds": estimate.rounds,
        "rounds_least": estimate.rounds_least,
        "rounds_most": estimate.rounds_most,
        "height_mm": low.top_mm,
        "height_low_mm": low.low_mm,
        "height_high_mm": low.high_mm,
        "height_one_round_fewer_mm": low.top_mm - estimate.rise_mm,
        "height_one_round_more_mm": low.top_mm + estimate.rise_mm,
        "wall_ends": [asdict(end) for end in estimate.ends],
        "logs_needed": estimate.logs_needed,
        "logs_short": estimate.logs_short,
        "basis": estimate.basis,
    }
