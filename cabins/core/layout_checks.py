"""Checks the walls of a layout: ids, lengths, closing, right angles, what crosses."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from cabins.core.faults import TAILS_COLLIDE, Faults
from cabins.core.layout_parts import Corner, OwnOverhangs, Wall
from cabins.core.layout_reading import Drawing, DrawnWall
from cabins.core.opening_reading import LONGEST_WALL_MM
from cabins.core.outline import (
    SAME_WITHIN_MM,
    Segment,
    are_square,
    bands_overlap,
    length_between,
    lengthened,
    segments_meet,
)
from inventory.core.crew_units import Sentence

Segments = Mapping[str, Segment]
# A butt may be so much thicker than the middle that is expected (common practice, no source).
BUTT_PER_MIDDLE = 1.25


class _Named(Protocol):
    """Any part of a drawing that bears a name."""

    @property
    def id(self) -> str: ...


def check_ids(drawing: Drawing, faults: Faults) -> None:
    """Corners, openings, and walls with partitions are each named once."""
    _named_once((("corners", drawing.corners),), faults)
    _named_once((("walls", drawing.walls), ("partitions", drawing.partitions)), faults)
    _named_once((("openings", drawing.openings),), faults)
    at: dict[tuple[float, float], str] = {}
    for number, corner in enumerate(drawing.corners):
        if corner is not None:
            first = at.setdefault((corner.x_mm, corner.y_mm), corner.id)
            if first != corner.id:
                faults.note(f"/corners/{number}", "same_corner", f"{corner.id} lies where {first} lies.")


def _named_once(groups: Sequence[tuple[str, Sequence[_Named | None]]], faults: Faults) -> None:
    seen: set[str] = set()
    for key, parts in groups:
        for number, part in enumerate(parts):
            if part is None:
                continue
            if part.id in seen:
                faults.note(f"/{key}/{number}/id", "duplicate_id", f"The name {part.id!r} is used twice.")
            seen.add(part.id)


def measured_walls(drawing: Drawing, faults: Faults) -> tuple[Wall, ...]:
    """The walls with their lengths, as far as their corners are known and apart."""
    corners = {corner.id: corner for corner in drawing.corners if corner is not None}
    all_read = None not in drawing.corners
    walls = []
    for number, wall in enumerate(drawing.walls):
        if wall is None:
            continue
        for key, corner in (("from", wall.from_corner), ("to", wall.to_corner)):
            if corner not in corners and all_read:
                faults.note(f"/walls/{number}/{key}", "unknown_corner", f"There is no corner {corner!r}.")
        if wall.from_corner in corners and wall.to_corner in corners:
            measured = _measured(wall, corners, f"/walls/{number}", faults)
            walls += [measured] if measured else []
    return tuple(walls)


def _measured(wall: DrawnWall, corners: Mapping[str, Corner], here: str, faults: Faults) -> Wall | None:
    start, end = ((corners[name].x_mm, corners[name].y_mm) for name in (wall.from_corner, wall.to_corner))
    length = length_between(start, end)
    if length < SAME_WITHIN_MM:
        faults.note(here, "zero_length", f"Wall {wall.id} has no length.")
        return None
    if length > LONGEST_WALL_MM:
        message = Sentence(
            "Wall {wall} is {length:along} long; at most {most:along} is taken.",
            wall=wall.id,
            length=length,
            most=LONGEST_WALL_MM,
        )
        faults.note(here, "too_large", message)
        return None
    return Wall(
        id=wall.id,
        from_corner=wall.from_corner,
        to_corner=wall.to_corner,
        start=wall.start,
        length_mm=length,
        overhangs_mm=wall.overhangs_mm,
    )


def segments_of(walls: Iterable[Wall], corners: Iterable[Corner | None]) -> dict[str, Segment]:
    """Every wall as a segment between its corners' centres."""
    at = {corner.id: (corner.x_mm, corner.y_mm) for corner in corners if corner is not None}
    return {wall.id: (at[wall.from_corner], at[wall.to_corner]) for wall in walls}


def check_outline(drawing: Drawing, walls: tuple[Wall, ...], faults: Faults) -> None:
    """The walls close to one outline of right angles that uses every corner once."""
    if len(walls) < 4:
        faults.note("/walls", "does_not_close", "A cabin needs at least four walls.")
        return
    segments = segments_of(walls, drawing.corners)
    # Walls that share a name cannot be told apart; that fault is named already.
    if _check_chain(walls, faults) and len(segments) == len(walls):
        _check_corners_used(walls, drawing.corners, faults)
        _check_turns(walls, segments, faults)
    for number, wall in enumerate(walls):
        if drawing.log_middle_mm is not None and wall.length_mm < 2 * drawing.log_middle_mm:
            faults.note(
                f"/walls/{number}",
                "too_short",
                f"Wall {wall.id} is shorter than two logs lying side by side.",
            )


def _check_chain(walls: tuple[Wall, ...], faults: Faults) -> bool:
    closes = True
    for number, wall in enumerate(walls):
        following = walls[(number + 1) % len(walls)]
        if wall.to_corner != following.from_corner:
            closes = False
            faults.note(
                f"/walls/{number}/to",
                "does_not_close",
                f"Wall {wall.id} ends at corner {wall.to_corner}, but the next wall, {following.id}, "
                f"begins at corner {following.from_corner}.",
            )
    return closes


def _check_corners_used(walls: tuple[Wall, ...], corners: tuple[Corner | None, ...], faults: Faults) -> None:
    uses = [wall.from_corner for wall in walls]
    for number, corner in enumerate(corners):
        if corner is not None and corner.id not in uses:
            faults.note(f"/corners/{number}", "unused_corner", f"No wall uses corner {corner.id}.")
    for number, wall in enumerate(walls):
        if wall.from_corner in uses[:number]:
            faults.note(
                f"/walls/{number}/from",
                "walls_cross",
                f"The walls come through corner {wall.from_corner} twice.",
            )


def _check_turns(walls: tuple[Wall, ...], segments: Segments, faults: Faults) -> None:
    for number, wall in enumerate(walls):
        before = walls[number - 1]
        if not are_square(segments[before.id], segments[wall.id]):
            faults.note(
                f"/walls/{number}",
                "not_at_right_angles",
                f"Walls {before.id} and {wall.id} do not stand at right angles at corner {wall.from_corner}.",
            )
        if before.start is wall.start:
            faults.note(
                f"/walls/{number}/start",
                "same_start",
                f"Walls {before.id} and {wall.id} both start {wall.start.value} and cross at corner "
                f"{wall.from_corner}; one must start low, the other high.",
            )


def check_walls_apart(drawing: Drawing, walls: tuple[Wall, ...], lines: Segments, faults: Faults) -> None:
    """No logs of walls that do not cross meet, overhangs and all. `lines`: as far as each wall runs on."""
    log = drawing.log_middle_mm or SAME_WITHIN_MM
    long = whole_logs(drawing, walls, lines)
    for number, wall in enumerate(walls):
        for other_number in range(number + 2, len(walls)):
            neighbours = number == 0 and other_number == len(walls) - 1
            other = walls[other_number]
            shared = {wall.from_corner, wall.to_corner} & {other.from_corner, other.to_corner}
            if neighbours or shared or _meet(wall, other) or _meet(other, wall):
                continue
            # Logs side by side keep a log between their centres.
            if segments_meet(lines[wall.id], lines[other.id], within_mm=log):
                faults.note(
                    f"/walls/{other_number}",
                    "walls_cross",
                    f"The logs of walls {wall.id} and {other.id} would meet.",
                )
            elif tails_collide(long[wall.id], long[other.id], log_mm=log):
                note_tails(f"/walls/{other_number}", wall.id, other.id, faults)


def _meet(wall: Wall, other: Wall) -> bool:
    """Whether `wall` runs on to `other`."""
    return any(run_on.tee.wall == other.id for run_on in wall.run_ons if run_on)


def whole_logs(drawing: Drawing, walls: Iterable[Wall], lines: Segments) -> dict[str, Segment]:
    """Every wall as a segment from end to end of its whole logs, overhangs and all."""
    return {
        wall.id: lengthened(lines[wall.id], drawn_overhangs(drawing, wall.overhangs_mm)) for wall in walls
    }


def drawn_overhangs(drawing: Drawing, own_mm: OwnOverhangs) -> tuple[float, float]:
    """How far a wall's logs reach past its ends, as far as that is told."""
    start, end = ((drawing.overhang_mm or 0.0) if one is None else one for one in own_mm)
    return start, end


def tails_collide(one: Segment, other: Segment, *, log_mm: float) -> bool:
    """Whether the logs of two walls that do not cross, from end to end, run into each other.

    Between two ends half a log stays free, to trim and oil them (common practice, no source).
    """
    near = segments_meet(one, other, within_mm=log_mm / 2)
    return near or bands_overlap(one, other, width_mm=BUTT_PER_MIDDLE * log_mm)


def note_tails(here: str, one: str, other: str, faults: Faults) -> None:
    """Note that overhangs of two walls collide, with both names and what would do."""
    faults.note(
        here,
        TAILS_COLLIDE,
        f"An overhang of {one} or {other} runs into the other: shorten it at that end (overhang_start_mm, "
        f"overhang_end_mm), or draw them farther apart.",
    )
