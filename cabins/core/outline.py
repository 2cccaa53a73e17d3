"""Plane geometry of an outline in mm: right angles, crossings of segments, inside and outside."""

import math
from collections.abc import Sequence

Point = tuple[float, float]
Segment = tuple[Point, Point]

# A millimetre per metre: what a good square on a deck can be laid out to.
SQUARE_WITHIN = 0.001
# Positions that differ by less are the same position.
SAME_WITHIN_MM = 0.5


def length_between(start: Point, end: Point) -> float:
    """Distance between two points."""
    return math.hypot(end[0] - start[0], end[1] - start[1])


def direction(segment: Segment) -> Point:
    """Unit vector along a segment of positive length."""
    (x0, y0), (x1, y1) = segment
    length = length_between(segment[0], segment[1])
    return (x1 - x0) / length, (y1 - y0) / length


def point_along(segment: Segment, at_mm: float) -> Point:
    """The point `at_mm` from the start of a segment of positive length."""
    dx, dy = direction(segment)
    return segment[0][0] + dx * at_mm, segment[0][1] + dy * at_mm


def are_square(one: Segment, other: Segment) -> bool:
    """Whether two segments of positive length stand at right angles."""
    (ax, ay), (bx, by) = direction(one), direction(other)
    return abs(ax * bx + ay * by) <= SQUARE_WITHIN


def lengthened(segment: Segment, by_mm: tuple[float, float]) -> Segment:
    """A segment of positive length, made longer before its start and past its end."""
    length = length_between(segment[0], segment[1])
    return point_along(segment, -by_mm[0]), point_along(segment, length + by_mm[1])


def bands_overlap(one: Segment, other: Segment, *, width_mm: float) -> bool:
    """Whether two bands of `width_mm` about their centre lines overlap; the lines are parallel or square."""
    (x0, y0), (dx, dy) = one[0], direction(one)
    half = width_mm / 2
    spans = [[(x - x0) * along[0] + (y - y0) * along[1] for x, y in other] for along in ((dx, dy), (-dy, dx))]
    is_square = are_square(one, other)
    along_low, along_high = min(spans[0]) - half * is_square, max(spans[0]) + half * is_square
    across_low, across_high = min(spans[1]) - half * (not is_square), max(spans[1]) + half * (not is_square)
    over_along = min(along_high, length_between(*one)) - max(along_low, 0.0)
    over_across = min(across_high, half) - max(across_low, -half)
    return over_along > SAME_WITHIN_MM and over_across > SAME_WITHIN_MM


def segments_meet(one: Segment, other: Segment, *, within_mm: float = SAME_WITHIN_MM) -> bool:
    """Whether two segments cross, or come nearer to each other than `within_mm`."""
    return _cross(one, other) or any(
        distance_to(point, segment) < within_mm
        for segment, points in ((one, other), (other, one))
        for point in points
    )


def _cross(one: Segment, other: Segment) -> bool:
    def turns(segment: Segment) -> bool:
        a, b = segment
        against = other if segment is one else one
        return _side(a, b, against[0]) * _side(a, b, against[1]) < 0

    return turns(one) and turns(other)


def _side(a: Point, b: Point, point: Point) -> float:
    # Only the sign counts; a product of two areas in mm² would do no harm but is harder to read in a test.
    area = (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
    return math.copysign(1.0, area) if area else 0.0


def distance_to(point: Point, segment: Segment) -> float:
    """Distance from a point to a segment of positive length."""
    dx, dy = direction(segment)
    along = (point[0] - segment[0][0]) * dx + (point[1] - segment[0][1]) * dy
    nearest = point_along(segment, min(max(along, 0.0), length_between(segment[0], segment[1])))
    return length_between(point, nearest)


def is_inside(point: Point, outline: Sequence[Point]) -> bool:
    """Whether a point lies inside a closed outline, by counting the walls a ray from it crosses."""
    x, y = point
    inside = False
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if (y0 > y) != (y1 > y) and x < x0 + (x1 - x0) * (y - y0) / (y1 - y0):
            inside = not inside
    return inside
