"""The courses of a cabin as they are kept: {wall: {round: [[start, end], ...]}} in mm, half logs too."""

from collections.abc import Mapping, Sequence
from typing import Any

from cabins.core.layout_parts import Courses, Span

Document = Mapping[str, Mapping[str, Sequence[Sequence[float]]]]


def read_courses(document: Document | None) -> Courses | None:
    """The courses in a document that `write_courses` wrote; None for none."""
    if document is None:
        return None
    return {
        (wall, int(number)): tuple((float(start), float(end)) for start, end in spans)
        for wall, rounds in document.items()
        for number, spans in rounds.items()
    }


def write_courses(courses: Courses) -> dict[str, Any]:
    """The document that reads back to `courses`."""
    walls = dict.fromkeys(wall for wall, _ in courses)
    return {
        wall: {str(number): _spans(spans) for (here, number), spans in courses.items() if here == wall}
        for wall in walls
    }


def _spans(spans: Sequence[Span]) -> list[list[float]]:
    return [[start, end] for start, end in spans]
