"""How openings fall on the courses, and the nearest heights of sill and head that need the least cutting."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from cabins.core.courses import FittedOpening, fitted_opening
from cabins.core.layout_parts import Layout, Opening
from cabins.core.openings import Jambs, Threshold, edge_mm
from cabins.core.places import is_half_round
from cabins.core.stack import Stack

# A change of less is none: it is within what a tape reads.
WORTH_MM = 5.0
# A height farther off than a round or so is another opening.
FARTHEST_MM = 400.0
MOST_SWAPS = 60

SpaceOf = Callable[[Opening], float]


class OpeningLine(StrEnum):
    """Which line of an opening is moved: its sill, or its head with the sill where it is."""

    SILL = "sill"
    HEAD = "head"


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherHeight:
    """Another height for the sill or head of an opening, and what it would need.

    `change_mm`: upward positive. `cut_mm` and `infill_mm`: the most at a jamb at that edge. `edge_mm`: cut
    and infill at both edges of the opening.
    """

    line: OpeningLine
    height_mm: float
    change_mm: float
    cut_mm: float
    infill_mm: float
    edge_mm: float


def other_heights(stack: Stack, opening: Opening, *, space_of: SpaceOf) -> tuple[OtherHeight, ...]:
    """The nearest heights below and above, of sill and of head, that fall between two courses.

    Only what needs less cutting and filling than the opening as it is. `space_of`: settling space over an
    opening.
    """
    now = fitted_opening(stack, opening, space_of(opening))
    lines = (
        [OpeningLine.HEAD]
        if opening.threshold is not Threshold.CUT_THROUGH or _is_at_deck(now)
        else list(OpeningLine)
    )
    found = []
    for line in lines:
        at = _height_of(opening, line)
        heights = [
            height
            for height in _between_courses(now, opening, line, space_of)
            if WORTH_MM <= abs(height - at) <= FARTHEST_MM
        ]
        below, above = [h for h in heights if h < at], [h for h in heights if h > at]
        for height in [*([max(below)] if below else []), *([min(above)] if above else [])]:
            other = _tried(stack, opening, line, height, space_of)
            if other is not None and _is_better(other, now):
                found.append(other)
    return tuple(sorted(found, key=lambda one: (one.edge_mm, abs(one.change_mm))))


def _is_better(other: OtherHeight, now: FittedOpening) -> bool:
    """Less to cut and fill at the line that is moved, and at both together."""
    edge = now.fit.sill if other.line is OpeningLine.SILL else now.fit.header
    line_mm = float("inf") if edge is None else max(*edge.cut_mm, *edge.infill_mm)
    return (
        max(other.cut_mm, other.infill_mm) < line_mm - WORTH_MM
        and other.edge_mm < edge_mm(now.fit) - WORTH_MM
    )


def _is_at_deck(fitted: FittedOpening) -> bool:
    return fitted.hole.bottom_mm <= 0


def _between_courses(
    now: FittedOpening, opening: Opening, line: OpeningLine, space_of: SpaceOf
) -> list[float]:
    """Heights at which nothing is cut: on top of each course for a sill, under each for a hole's head."""
    if line is OpeningLine.SILL:
        tops = [max(band.top_mm for band in jambs) for jambs in now.courses.values()]
        return [_whole(top) for top in tops if top < opening.head_mm - WORTH_MM]
    under = [_lowest_under(jambs) for jambs in now.courses.values()]
    heads = [_head_for(opening, top, space_of) for top in under if top > opening.sill_mm + WORTH_MM]
    return [head for head in heads if head > opening.sill_mm + WORTH_MM]


def _lowest_under(jambs: Jambs) -> float:
    return min(band.underside_mm for band in jambs)


def _head_for(opening: Opening, top_mm: float, space_of: SpaceOf) -> float:
    """The head whose hole, with its settling space, ends at `top_mm`."""
    head = top_mm
    for _ in range(MOST_SWAPS):
        raised = replace(opening, head_mm=max(head, opening.sill_mm + 1.0))
        head = top_mm - space_of(raised)
    return _whole(head)


def _height_of(opening: Opening, line: OpeningLine) -> float:
    return opening.sill_mm if line is OpeningLine.SILL else opening.head_mm


def _whole(mm: float) -> float:
    return float(round(mm))


def _tried(
    stack: Stack, opening: Opening, line: OpeningLine, height_mm: float, space_of: SpaceOf
) -> OtherHeight | None:
    is_sill = line is OpeningLine.SILL
    changed = replace(opening, sill_mm=height_mm) if is_sill else replace(opening, head_mm=height_mm)
    if changed.sill_mm >= changed.head_mm:
        return None
    fit = fitted_opening(stack, changed, space_of(changed)).fit
    edge = fit.sill if line is OpeningLine.SILL else fit.header
    if edge is None:
        return None
    return OtherHeight(
        line=line,
        height_mm=height_mm,
        change_mm=height_mm - _height_of(opening, line),
        cut_mm=max(edge.cut_mm),
        infill_mm=max(edge.infill_mm),
        edge_mm=edge_mm(fit),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stub:
    """A piece beside an opening that is hard to hold still until the jambs are in.

    `is_short`: shorter than the layout's least length. `is_free`: only one of its ends is held by a notch.
    """

    wall: str
    round: int
    piece: int
    start_mm: float
    end_mm: float
    is_short: bool
    is_free: bool


def stubs_of(layout: Layout, columns_at_mm: Mapping[str, Sequence[float]]) -> tuple[Stub, ...]:
    """Every piece of a cut course that is short or held by one notch only. `columns_at_mm`: notches by
    wall. Half logs lie on their flat side and need no holding."""
    found = []
    for (wall, number), spans in layout.courses.items():
        if len(spans) == 1 or is_half_round(number, layout.round_count):
            continue
        for piece, (start, end) in enumerate(spans):
            notches = sum(start <= at <= end for at in columns_at_mm[wall])
            is_short, is_free = end - start < layout.least_piece_mm, notches < 2
            if is_short or is_free:
                found.append(
                    Stub(
                        wall=wall,
                        round=number,
                        piece=piece,
                        start_mm=start,
                        end_mm=end,
                        is_short=is_short,
                        is_free=is_free,
                    )
                )
    return tuple(found)


def position_words(layout: Layout, wall: str, spans: Sequence[tuple[float, float]], piece: int) -> str | None:
    """Where a piece of a cut course lies, as its wall is drawn, its start at the left: `left of door`,
    `between door and W1`, `right of W1`; None for a whole course."""
    if len(spans) < 2:
        return None
    start, end = spans[piece]
    here = sorted((o for o in layout.openings if o.wall == wall), key=lambda o: o.offset_mm)
    before = [o.id for o in here if abs(o.end_mm - start) < 1.0] if piece > 0 else []
    after = [o.id for o in here if abs(o.offset_mm - end) < 1.0] if piece < len(spans) - 1 else []
    left, right = (" or ".join(names) for names in (before, after))
    if left and right:
        return f"between {left} and {right}"
    if right:
        return f"left of {right}"
    return f"right of {left}" if left else f"piece {piece + 1} of {len(spans)}"
