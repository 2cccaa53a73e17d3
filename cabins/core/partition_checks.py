"""Checks the partitions of a layout: how each meets two walls in a T, inside, clear of the others."""

from collections.abc import Mapping, Sequence

from cabins.core.faults import Faults
from cabins.core.layout_checks import (
    Segments,
    drawn_overhangs,
    note_tails,
    segments_of,
    tails_collide,
    whole_logs,
)
from cabins.core.layout_parts import Partition, Start, Tee, Wall
from cabins.core.layout_reading import Drawing, DrawnPartition
from cabins.core.outline import (
    SAME_WITHIN_MM,
    Point,
    Segment,
    are_square,
    is_inside,
    length_between,
    lengthened,
    point_along,
    segments_meet,
)
from cabins.core.run_on_checks import lines_of


def fitted_partitions(
    drawing: Drawing, walls: tuple[Wall, ...], outline_is_sound: bool, faults: Faults
) -> tuple[Partition, ...]:
    """The partitions with their lengths, as far as they fit between two walls of the outline."""
    segments = lines_of(walls, drawing.corners)
    named: dict[str, Wall | None] = {wall.id: None for wall in drawing.walls if wall is not None}
    named.update({wall.id: wall for wall in walls})
    outline = [line[0] for line in segments_of(walls, drawing.corners).values()]
    log = drawing.log_middle_mm or 0.0
    fitted = []
    for number, partition in enumerate(drawing.partitions):
        if partition is None:
            continue
        here = f"/partitions/{number}"
        ends = [
            _tee_fits(partition, named, tee, f"{here}/{key}", log, faults)
            for key, tee in (("from", partition.from_tee), ("to", partition.to_tee))
        ]
        if all(ends) and outline_is_sound:
            line = (
                point_along(segments[partition.from_tee.wall], partition.from_tee.at_mm),
                point_along(segments[partition.to_tee.wall], partition.to_tee.at_mm),
            )
            if _lies_inside(partition, line, segments, outline, here, faults):
                fitted.append((number, partition, line))
    if outline_is_sound and drawing.log_middle_mm is not None:
        _check_tails(drawing, whole_logs(drawing, walls, segments), fitted, drawing.log_middle_mm, faults)
    return tuple(
        Partition(
            id=partition.id,
            from_tee=partition.from_tee,
            to_tee=partition.to_tee,
            start=partition.start,
            length_mm=length_between(*line),
            overhangs_mm=partition.overhangs_mm,
        )
        for _, partition, line in fitted
    )


def _tee_fits(
    partition: DrawnPartition,
    walls: Mapping[str, Wall | None],
    tee: Tee,
    here: str,
    log_mm: float,
    faults: Faults,
) -> bool:
    wall = walls.get(tee.wall)
    if wall is None:
        # A wall that is named but has faults of its own is no fault of the partition.
        if tee.wall not in walls:
            faults.note(f"{here}/wall", "unknown_wall", f"There is no wall {tee.wall!r} to meet.")
        return False
    if wall.start is partition.start:
        other = Start.LOW if wall.start is Start.HIGH else Start.HIGH
        faults.note(
            f"{here.rsplit('/', 1)[0]}/start",
            "same_start",
            f"Partition {partition.id} and wall {wall.id} both start {wall.start.value}; "
            f"the partition must start {other.value}.",
        )
    corners = (0.0, wall.from_corner_mm, wall.to_corner_mm, wall.length_mm)
    is_clear = all(abs(tee.at_mm - corner) >= log_mm for corner in corners)
    if not is_clear or not 0 < tee.at_mm < wall.length_mm:
        faults.note(
            f"{here}/at_mm",
            "partition_does_not_fit",
            f"Partition {partition.id} must meet wall {wall.id} a log's diameter or more from its corners.",
        )
        return False
    return True


def _lies_inside(
    partition: DrawnPartition,
    line: Segment,
    segments: Segments,
    outline: Sequence[Point],
    here: str,
    faults: Faults,
) -> bool:
    own = {partition.from_tee.wall, partition.to_tee.wall}
    if len(own) == 1 or length_between(*line) < SAME_WITHIN_MM:
        message = f"Partition {partition.id} must run from one wall to another."
    elif not all(are_square(line, segments[wall]) for wall in own):
        message = f"Partition {partition.id} does not stand at right angles to the walls it meets."
    elif crossed := [
        wall for wall, segment in segments.items() if wall not in own and segments_meet(line, segment)
    ]:
        message = f"Partition {partition.id} runs into wall {', '.join(crossed)}."
    elif not is_inside(
        ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2),
        outline,
    ):
        message = f"Partition {partition.id} lies outside the cabin."
    else:
        return True
    faults.note(here, "partition_does_not_fit", message)
    return False


def _check_tails(
    drawing: Drawing,
    standing: Mapping[str, Segment],
    fitted: list[tuple[int, DrawnPartition, Segment]],
    log_mm: float,
    faults: Faults,
) -> None:
    """No partition runs into the logs of a wall that it does not cross, nor of another partition."""
    long = {
        partition.id: lengthened(line, drawn_overhangs(drawing, partition.overhangs_mm))
        for _, partition, line in fitted
    }
    for place, (number, partition, line) in enumerate(fitted):
        here, own = f"/partitions/{number}", {partition.from_tee.wall, partition.to_tee.wall}
        for wall, segment in standing.items():
            if wall not in own and tails_collide(segment, long[partition.id], log_mm=log_mm):
                note_tails(here, wall, partition.id, faults)
        for _, other, other_line in fitted[:place]:
            tees = [(a, b) for a in partition.tees for b in other.tees if a.wall == b.wall]
            too_near = any(abs(a.at_mm - b.at_mm) < log_mm for a, b in tees)
            if too_near or segments_meet(line, other_line):
                faults.note(
                    here,
                    "partition_does_not_fit",
                    f"Partitions {other.id} and {partition.id} meet, or lie within a log of each other.",
                )
            elif tails_collide(long[other.id], long[partition.id], log_mm=log_mm):
                note_tails(here, other.id, partition.id, faults)
