"""Checks the partitions of a layout: how each meets two walls in a T, inside, clear of the others."""

from collections.abc import Mapping

from cabins.core.faults import Faults
from cabins.core.layout_checks import Segments, segments_of
from cabins.core.layout_parts import Partition, Start, Tee, Wall
from cabins.core.layout_reading import Drawing, DrawnPartition
from cabins.core.outline import (
    SAME_WITHIN_MM,
    Segment,
    are_square,
    is_inside,
    length_between,
    lengthened,
    point_along,
    segments_meet,
)


def fitted_partitions(
    drawing: Drawing, walls: tuple[Wall, ...], outline_is_sound: bool, faults: Faults
) -> tuple[Partition, ...]:
    """The partitions with their lengths, as far as they fit between two walls of the outline."""
    segments = segments_of(walls, drawing.corners)
    named: dict[str, Wall | None] = {wall.id: None for wall in drawing.walls if wall is not None}
    named.update({wall.id: wall for wall in walls})
    half = (drawing.log_middle_mm or 0.0) / 2.0
    fitted = []
    for number, partition in enumerate(drawing.partitions):
        if partition is None:
            continue
        here = f"/partitions/{number}"
        ends = [
            _tee_fits(partition, named, tee, f"{here}/{key}", half, faults)
            for key, tee in (("from", partition.from_tee), ("to", partition.to_tee))
        ]
        if all(ends) and outline_is_sound:
            line = (
                point_along(segments[partition.from_tee.wall], partition.from_tee.at_mm),
                point_along(segments[partition.to_tee.wall], partition.to_tee.at_mm),
            )
            if _lies_inside(partition, line, drawing.overhang_mm or 0.0, segments, here, faults):
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
    partition: DrawnPartition,
    walls: Mapping[str, Wall | None],
    tee: Tee,
    here: str,
    half: float,
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
    if not 2 * half <= tee.at_mm <= wall.length_mm - 2 * half or not 0 < tee.at_mm < wall.length_mm:
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
    overhang_mm: float,
    segments: Segments,
    here: str,
    faults: Faults,
) -> bool:
    own = {partition.from_tee.wall, partition.to_tee.wall}
    if len(own) == 1 or length_between(*line) < SAME_WITHIN_MM:
        message = f"Partition {partition.id} must run from one wall to another."
    elif not all(are_square(line, segments[wall]) for wall in own):
        message = f"Partition {partition.id} does not stand at right angles to the walls it meets."
    elif any(
        segments_meet(lengthened(line, overhang_mm), segment)
        for wall, segment in segments.items()
        if wall not in own
    ):
        message = f"Partition {partition.id} or its overhang runs into another wall."
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
