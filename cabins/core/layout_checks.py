"""Checks the walls and partitions of a layout: ids, closing, right angles, crossings, how partitions fit."""

from collections.abc import Iterable, Mapping

from cabins.core.faults import Faults
from cabins.core.layout_parts import Corner, Partition, Start, Tee, Wall
from cabins.core.layout_reading import LONGEST_WALL_MM, Drawing, DrawnPartition, DrawnWall
from cabins.core.outline import (
    SAME_WITHIN_MM,
    Segment,
    are_square,
    is_inside,
    length_between,
    point_along,
    segments_meet,
)

Segments = Mapping[str, Segment]


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


def _named_once(groups: tuple[tuple[str, tuple[object, ...]], ...], faults: Faults) -> None:
    seen: set[str] = set()
    for key, parts in groups:
        for number, part in enumerate(parts):
            if part is None:
                continue
            name: str = part.id  # type: ignore[attr-defined]  # every part has one; they share no base class
            if name in seen:
                faults.note(f"/{key}/{number}/id", "duplicate_id", f"The name {name!r} is used twice.")
            seen.add(name)


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
        faults.note(
            here, "too_large", f"Wall {wall.id} is {length:g} long; at most {LONGEST_WALL_MM:g} is taken."
        )
        return None
    return Wall(
        id=wall.id,
        from_corner=wall.from_corner,
        to_corner=wall.to_corner,
        start=wall.start,
        length_mm=length,
    )


def segments_of(walls: Iterable[Wall], corners: Iterable[Corner | None]) -> dict[str, Segment]:
    """Every wall as a segment between its corners' centres."""
    at = {corner.id: (corner.x_mm, corner.y_mm) for corner in corners if corner is not None}
    return {wall.id: (at[wall.from_corner], at[wall.to_corner]) for wall in walls}


def check_outline(
    walls: tuple[Wall, ...], corners: tuple[Corner | None, ...], log_middle_mm: float | None, faults: Faults
) -> None:
    """The walls close to one outline of right angles that uses every corner once and never meets itself."""
    if len(walls) < 4:
        faults.note("/walls", "does_not_close", "A cabin needs at least four walls.")
        return
    segments = segments_of(walls, corners)
    if _check_chain(walls, faults):
        _check_corners_used(walls, corners, faults)
        _check_turns(walls, segments, faults)
        _check_apart(walls, segments, faults)
    for number, wall in enumerate(walls):
        if log_middle_mm is not None and wall.length_mm < 2 * log_middle_mm:
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


def _check_apart(walls: tuple[Wall, ...], segments: Segments, faults: Faults) -> None:
    for number, wall in enumerate(walls):
        for other_number in range(number + 2, len(walls)):
            neighbours = number == 0 and other_number == len(walls) - 1
            other = walls[other_number]
            shared = {wall.from_corner, wall.to_corner} & {other.from_corner, other.to_corner}
            if not neighbours and not shared and segments_meet(segments[wall.id], segments[other.id]):
                faults.note(f"/walls/{other_number}", "walls_cross", f"Walls {wall.id} and {other.id} meet.")


def fitted_partitions(
    drawing: Drawing, walls: tuple[Wall, ...], outline_is_sound: bool, faults: Faults
) -> tuple[Partition, ...]:
    """The partitions with their lengths, as far as they fit between two walls of the outline."""
    segments = segments_of(walls, drawing.corners)
    by_id = {wall.id: wall for wall in walls}
    half = (drawing.log_middle_mm or 0.0) / 2.0
    fitted = []
    for number, partition in enumerate(drawing.partitions):
        if partition is None:
            continue
        here = f"/partitions/{number}"
        ends = [
            _tee_fits(partition, by_id, tee, f"{here}/{key}", half, faults)
            for key, tee in (("from", partition.from_tee), ("to", partition.to_tee))
        ]
        if all(ends) and outline_is_sound:
            line = (
                point_along(segments[partition.from_tee.wall], partition.from_tee.at_mm),
                point_along(segments[partition.to_tee.wall], partition.to_tee.at_mm),
            )
            if _lies_inside(partition, line, segments, here, faults):
                fitted.append((number, partition, line))
    _check_partitions_apart(fitted, 2 * half, faults)
    return tuple(
        Partition(
            id=partition.id,
            from_tee=partition.from_tee,
            to_tee=partition.to_tee,
            start=partition.start,
            length_mm=length_between(*line),
        )
        for _, partition, line in fitted
    )


def _tee_fits(
    partition: DrawnPartition, walls: Mapping[str, Wall], tee: Tee, here: str, half: float, faults: Faults
) -> bool:
    wall = walls.get(tee.wall)
    if wall is None:
        faults.note(f"{here}/wall", "unknown_wall", f"There is no sound wall {tee.wall!r} to meet.")
        return False
    if wall.start is partition.start:
        other = Start.LOW if wall.start is Start.HIGH else Start.HIGH
        faults.note(
            f"{here.rsplit('/', 1)[0]}/start",
            "same_start",
            f"Partition {partition.id} and wall {wall.id} both start {wall.start.value}; "
            f"the partition must start {other.value}.",
        )
    if not 2 * half <= tee.at_mm <= wall.length_mm - 2 * half or not 0 < tee.at_mm < wall.length_mm:
        faults.note(
            f"{here}/at_mm",
            "partition_does_not_fit",
            f"Partition {partition.id} must meet wall {wall.id} a log's diameter or more from its corners.",
        )
        return False
    return True


def _lies_inside(
    partition: DrawnPartition, line: Segment, segments: Segments, here: str, faults: Faults
) -> bool:
    own = {partition.from_tee.wall, partition.to_tee.wall}
    if len(own) == 1 or length_between(*line) < SAME_WITHIN_MM:
        message = f"Partition {partition.id} must run from one wall to another."
    elif not all(are_square(line, segments[wall]) for wall in own):
        message = f"Partition {partition.id} does not stand at right angles to the walls it meets."
    elif any(segments_meet(line, segment) for wall, segment in segments.items() if wall not in own):
        message = f"Partition {partition.id} runs into another wall."
    elif not is_inside(
        ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2),
        [segment[0] for segment in segments.values()],
    ):
        message = f"Partition {partition.id} lies outside the cabin."
    else:
        return True
    faults.note(here, "partition_does_not_fit", message)
    return False


def _check_partitions_apart(
    fitted: list[tuple[int, DrawnPartition, Segment]], log_mm: float, faults: Faults
) -> None:
    for place, (number, partition, line) in enumerate(fitted):
        for _, other, other_line in fitted[:place]:
            tees = [(a, b) for a in _tees(partition) for b in _tees(other) if a.wall == b.wall]
            too_near = any(abs(a.at_mm - b.at_mm) < log_mm for a, b in tees)
            if too_near or segments_meet(line, other_line):
                faults.note(
                    f"/partitions/{number}",
                    "partition_does_not_fit",
                    f"Partitions {other.id} and {partition.id} meet, or lie within a log of each other.",
                )


def _tees(partition: DrawnPartition) -> tuple[Tee, Tee]:
    return partition.from_tee, partition.to_tee
