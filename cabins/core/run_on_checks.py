"""Checks the walls that run on past an inner corner: into the room, to the wall that they meet there."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from cabins.core.faults import Faults
from cabins.core.layout_checks import Segments, segments_of
from cabins.core.layout_parts import Corner, RunOn, Tee, Wall
from cabins.core.layout_reading import RUNS_ON, Drawing
from cabins.core.outline import (
    SAME_WITHIN_MM,
    Point,
    Segment,
    are_square,
    direction,
    is_inside,
    length_between,
    point_along,
)

# Which end of a wall: 0 its start, 1 its end.
WallEnd = tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """From a corner's centre straight on to the first wall that lies across, met at `at_mm` from its start
    corner."""

    length_mm: float
    met: str
    at_mm: float


def run_on_walls(drawing: Drawing, walls: tuple[Wall, ...], faults: Faults) -> tuple[Wall, ...]:
    """The walls of a sound outline, each with the stretches by which it runs on; as they were where one does
    not fit."""
    before = len(faults.found)
    segments = segments_of(walls, drawing.corners)
    stretches: dict[WallEnd, _Stretch] = {}
    for number, drawn in enumerate(drawing.walls):
        for end, runs_on in enumerate(drawn.runs_on if drawn else ()):
            if drawn is None or not runs_on:
                continue
            stretch = _stretch(segments, drawn.id, end)
            if stretch is None:
                corner = (drawn.from_corner, drawn.to_corner)[end]
                faults.note(
                    f"/walls/{number}/{RUNS_ON[end]}",
                    "cannot_run_on",
                    f"Wall {drawn.id} cannot run on past corner {corner}: that is no inner corner, so its "
                    f"logs would leave the cabin.",
                )
            else:
                stretches[drawn.id, end] = stretch
    longer = tuple(_run_on(wall, stretches) for wall in walls)
    _check_clear(drawing, longer, faults)
    return longer if len(faults.found) == before else walls


def lines_of(walls: Iterable[Wall], corners: Iterable[Corner | None]) -> dict[str, Segment]:
    """Every wall as a segment from its start to its end, with what it runs on past its corners."""
    walls = list(walls)
    segments = segments_of(walls, corners)
    return {
        wall.id: (
            point_along(segments[wall.id], -wall.from_corner_mm),
            point_along(segments[wall.id], wall.length_mm - wall.from_corner_mm),
        )
        for wall in walls
    }


def _run_on(wall: Wall, stretches: Mapping[WallEnd, _Stretch]) -> Wall:
    start, end = (_told(stretches, (wall.id, number)) for number in (0, 1))
    length = wall.length_mm + sum(one.length_mm for one in (start, end) if one)
    return replace(wall, length_mm=length, run_ons=(start, end))


def _told(stretches: Mapping[WallEnd, _Stretch], end: WallEnd) -> RunOn | None:
    stretch = stretches.get(end)
    if stretch is None:
        return None
    # Along the wall that is met positions count from where it starts, if that runs on too.
    before = stretches.get((stretch.met, 0))
    at_mm = stretch.at_mm + (before.length_mm if before else 0.0)
    return RunOn(length_mm=stretch.length_mm, tee=Tee(wall=stretch.met, at_mm=at_mm))


def _stretch(segments: Segments, wall: str, end: int) -> _Stretch | None:
    """How a wall would run on past its start or its end; None where that leads out of the cabin."""
    start, far = segments[wall]
    corner, way = (far, direction((start, far))) if end else (start, direction((far, start)))
    met = [found for other, line in segments.items() if (found := _meeting(corner, way, other, line))]
    if not met:
        return None
    first = min(met, key=lambda one: one.length_mm)
    middle = (corner[0] + way[0] * first.length_mm / 2, corner[1] + way[1] * first.length_mm / 2)
    return first if is_inside(middle, [line[0] for line in segments.values()]) else None


def _meeting(corner: Point, way: Point, other: str, line: Segment) -> _Stretch | None:
    """Where a ray from `corner` meets a wall that lies across it; None where it does not."""
    if not are_square(line, (corner, (corner[0] + way[0], corner[1] + way[1]))):
        return None
    along, across = (
        [(x - corner[0]) * dx + (y - corner[1]) * dy for x, y in line] for dx, dy in (way, (-way[1], way[0]))
    )
    part = across[0] / (across[0] - across[1])
    length = along[0] + (along[1] - along[0]) * part
    beside = min(across) > SAME_WITHIN_MM or max(across) < -SAME_WITHIN_MM
    if beside or length < SAME_WITHIN_MM:
        return None
    return _Stretch(length_mm=length, met=other, at_mm=length_between(*line) * part)


def _check_clear(drawing: Drawing, walls: tuple[Wall, ...], faults: Faults) -> None:
    """A wall that runs on meets the other a log's diameter or more from all its corners."""
    named = {wall.id: wall for wall in walls}
    log = drawing.log_middle_mm or 0.0
    for number, drawn in enumerate(drawing.walls):
        for end, run_on in enumerate(named[drawn.id].run_ons if drawn else ()):
            if drawn is None or run_on is None:
                continue
            met = named[run_on.tee.wall]
            corners = (0.0, met.from_corner_mm, met.to_corner_mm, met.length_mm)
            if any(abs(run_on.tee.at_mm - corner) < log for corner in corners):
                faults.note(
                    f"/walls/{number}/{RUNS_ON[end]}",
                    "cannot_run_on",
                    f"Wall {drawn.id} would run on to wall {met.id} and meet it less than a log's diameter "
                    f"from one of its corners.",
                )
