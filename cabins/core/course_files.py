"""The courses of a cabin as they are kept and sent: {wall: [[[start, end], ...] per round]} in mm, round 1
first."""

from collections.abc import Mapping, Sequence
from typing import Any

from cabins.core.layout_parts import Courses, Span

Document = Mapping[str, Sequence[Sequence[Sequence[float]]]]


def read_courses(document: Document | None) -> Courses | None:
    """The courses in a document that `write_courses` wrote; None for none."""
    if document is None:
        return None
    return {
        (wall, number): tuple((float(start), float(end)) for start, end in spans)
        for wall, rounds in document.items()
        for number, spans in enumerate(rounds, start=1)
    }


def write_courses(courses: Courses) -> dict[str, Any]:
    """The document that reads back to `courses`."""
    walls = dict.fromkeys(wall for wall, _ in courses)
    return {
        wall: [_spans(courses[course]) for course in sorted(c for c in courses if c[0] == wall)]
        for wall in walls
    }


def _spans(spans: Sequence[Span]) -> list[list[float]]:
    return [[start, end] for start, end in spans]
