"""How the courses of a cabin are cut by its openings: the stretches of wall that its logs are to cover."""

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from cabins.core.course_bands import DiameterAt, jamb_bands, starts_on_mm
from cabins.core.layout_parts import Courses, Layout, Opening, OpeningKind, Span
from cabins.core.openings import (
    NOTHING_MM,
    Hole,
    Jambs,
    MisfitCode,
    OpeningFit,
    fit_opening,
    rounds_cut_through,
)
from cabins.core.places import rounds_of_wall, whole_spans
from cabins.core.rounds import DUST_MM
from cabins.core.settling_rules import RULES, USUAL_RULE, AllowanceRule, SettlingMember, allowance_for
from cabins.core.stack import Stack

Course = tuple[str, int]  # (wall, round)


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedOpening:
    """An opening of a layout among the courses as they are, or are expected."""

    opening: Opening
    space_mm: float
    hole: Hole
    courses: Mapping[int, Jambs]
    fit: OpeningFit


def settling_space_mm(
    opening: Opening, rule: AllowanceRule, local_code: AllowanceRule | None = None
) -> float:
    """The space to leave over an opening's head by the crew's rule: the top of its range.

    The log wall that settles beside it is as high as the opening and its space, so a share of the height is
    taken of both.
    """
    member = settling_member(opening)
    frame, space = opening.head_mm - opening.sill_mm, 0.0
    for _ in range(60):
        leave = allowance_for(
            member=member, height_mm=frame + space, rule=rule, local_code=local_code
        ).leave_mm
        if abs(leave - space) < DUST_MM:
            return leave
        space = leave
    return space


def settling_spaces_mm(layout: Layout, rule: AllowanceRule = RULES[USUAL_RULE]) -> dict[str, float]:
    """Settling space by opening; the usual rule's where a crew chose none."""
    return {one.id: settling_space_mm(one, rule) for one in layout.openings}


def settling_member(opening: Opening) -> SettlingMember:
    """As what a rule of settling takes an opening."""
    return SettlingMember.WINDOW if opening.kind is OpeningKind.WINDOW else SettlingMember.DOOR


def hole_of(opening: Opening, space_mm: float) -> Hole:
    """The hole to leave for an opening: from its sill to its head and the settling space over it."""
    return Hole(
        near_mm=opening.offset_mm,
        far_mm=opening.end_mm,
        bottom_mm=opening.sill_mm,
        top_mm=opening.head_mm + space_mm,
        threshold=opening.threshold,
        flatten_mm=opening.flatten_mm,
    )


def spans_of(whole: Sequence[Span], cuts: Sequence[Span]) -> tuple[Span, ...]:
    """What is left of the stretches of a course between `cuts`, each (near jamb, far jamb); cuts that meet
    are one."""
    spans = []
    for start, end in whole:
        for near, far in sorted(cuts):
            if far <= start or near >= end:
                continue
            if near > start:
                spans.append((start, near))
            start = far
        if start < end:
            spans.append((start, end))
    return tuple(spans)


def is_cut_between(spans: Sequence[Span], near_mm: float, far_mm: float) -> bool:
    """Whether a course of these pieces is cut through between two jambs: no piece runs across."""
    middle = (near_mm + far_mm) / 2
    return not any(start < middle < end for start, end in spans)


def cut_courses(
    stack: Stack,
    *,
    spaces_mm: Mapping[str, float],
    present: Courses | None = None,
    set_courses: AbstractSet[Course] = frozenset(),
    changed: AbstractSet[str] = frozenset(),
    diameter_at: DiameterAt | None = None,
) -> Courses:
    """The courses of a cabin as its openings cut them among the heights of `stack`.

    `spaces_mm`: settling space by opening. `present`: as they are cut so far; they change only where the
    share is clearly passed. `set_courses`: those with logs set, which stay as they are for every opening but
    those `changed`.
    """
    layout = stack.layout
    cuts: dict[Course, list[Span]] = {}
    for opening in layout.openings:
        bands = jamb_bands(stack, opening.wall, opening.offset_mm, opening.end_mm, diameter_at=diameter_at)
        is_new = present is None or opening.id in changed
        cut = None if is_new else rounds_cut_at(present or {}, opening, bands)
        hole = hole_of(opening, spaces_mm[opening.id])
        anew = rounds_cut_through(hole, bands, cut_share=layout.cut_share, present=cut)
        for number in bands:
            stays = cut is not None and (opening.wall, number) in set_courses
            if number in (cut if stays and cut is not None else anew):
                cuts.setdefault((opening.wall, number), []).append((opening.offset_mm, opening.end_mm))
    return {
        (wall.id, number): spans_of(whole_spans(layout, wall, number), cuts.get((wall.id, number), []))
        for wall in layout.log_walls
        for number in rounds_of_wall(layout, wall)
    }


def rounds_cut_at(courses: Courses, opening: Opening, rounds: Iterable[int]) -> frozenset[int]:
    """Those of `rounds` that are cut through at an opening as `courses` are cut."""
    return frozenset(
        number
        for number in rounds
        if (opening.wall, number) in courses
        and is_cut_between(courses[opening.wall, number], opening.offset_mm, opening.end_mm)
    )


def fitted_opening(
    stack: Stack,
    opening: Opening,
    space_mm: float,
    *,
    present: Courses | None = None,
    diameter_at: DiameterAt | None = None,
) -> FittedOpening:
    """One opening among the heights of `stack`: its courses cut as `present` is, or without it cut anew."""
    hole = hole_of(opening, space_mm)
    bands = jamb_bands(stack, opening.wall, hole.near_mm, hole.far_mm, diameter_at=diameter_at)
    through = rounds_cut_through(hole, bands, cut_share=stack.layout.cut_share)
    if present is not None:
        # A half log that is no place of the layout is cut as its share says.
        unplaced = frozenset(n for n in through if (opening.wall, n) not in present)
        through = rounds_cut_at(present, opening, bands) | unplaced
    near, far = (starts_on_mm(stack, opening.wall, at) for at in (hole.near_mm, hole.far_mm))
    return FittedOpening(
        opening=opening,
        space_mm=space_mm,
        hole=hole,
        courses=bands,
        fit=fit_opening(
            hole,
            bands,
            through=through,
            starts_on_mm=(0.0, 0.0) if 0 in bands else (near, far),
            cut_share=stack.layout.cut_share,
        ),
    )


def fit_openings(
    stack: Stack, *, spaces_mm: Mapping[str, float], diameter_at: DiameterAt | None = None
) -> tuple[FittedOpening, ...]:
    """Every opening of a cabin among the heights of `stack`, its courses cut as the layout has them cut."""
    fitted = [
        fitted_opening(
            stack,
            opening,
            spaces_mm[opening.id],
            present=stack.layout.courses,
            diameter_at=diameter_at,
        )
        for opening in stack.layout.openings
    ]
    return tuple(_with_shared_logs(one, fitted, stack.layout.cut_share) for one in fitted)


def _with_shared_logs(
    one: FittedOpening, all_of_them: Sequence[FittedOpening], cut_share: float
) -> FittedOpening:
    """The same with a misfit where a log is cut into from both sides and too little of it is left."""
    shares = {edge.round: edge.share for edge in one.fit.edges if edge.share > 0}
    for other in all_of_them:
        if other is one or other.opening.wall != one.opening.wall or not _over_each_other(one, other):
            continue
        for edge in other.fit.edges:
            if edge.round in shares and shares[edge.round] + edge.share > cut_share:
                misfits = (*one.fit.misfits, MisfitCode.CUT_TWICE)
                return replace(one, fit=replace(one.fit, misfits=misfits))
    return one


def _over_each_other(one: FittedOpening, other: FittedOpening) -> bool:
    return one.hole.near_mm < other.hole.far_mm and other.hole.near_mm < one.hole.far_mm


def needs_nothing(fit: OpeningFit) -> bool:
    """Whether an opening falls between the courses without any cut or infill worth the name."""
    return all(max(*edge.cut_mm, *edge.infill_mm, *edge.lacks_mm) <= NOTHING_MM for edge in fit.edges)
