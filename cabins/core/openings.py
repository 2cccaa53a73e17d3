"""How an opening lies among real courses: which it cuts through, what is cut of sill and header, what hole
results.

Heights in mm above the deck. A course is known by its band, underside and top, at both jambs of the opening;
where the bands come from (expected, planned, standing) is another's business.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import StrEnum

# Of a sill or header log so much may be cut away (common practice, no source); beyond it the log is cut
# through.
CUT_SHARE = 0.5
# A course stays as it is cut until the opening takes so much more, or less, than the share: the heights of a
# plan move by a few mm from turn to turn, and no course shall go to and fro with them.
HYSTERESIS = 0.05
# Less than this at an edge is neither cut nor filled: it is within what a chisel and a shim make good.
NOTHING_MM = 1.0


class Threshold(StrEnum):
    """What becomes of the log under a door: cut through where enough is taken, flattened, or kept as it
    is."""

    CUT_THROUGH = "cut_through"
    FLATTENED = "flattened"
    KEPT = "kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseBand:
    """Underside and top of a course at one position of its wall."""

    underside_mm: float
    top_mm: float

    @property
    def height_mm(self) -> float:
        """What of the wall's height the log itself takes there."""
        return self.top_mm - self.underside_mm


# A course at the near jamb (towards the wall's start) and at the far one.
Jambs = tuple[CourseBand, CourseBand]
Pair = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """The hole to leave: along the wall, from its bottom to its top with the settling space.

    `flatten_mm`: how deep a threshold is flattened from its top, where the layout says so.
    """

    near_mm: float
    far_mm: float
    bottom_mm: float
    top_mm: float
    threshold: Threshold = Threshold.CUT_THROUGH
    flatten_mm: float = 0.0

    @property
    def height_mm(self) -> float:
        """Height with settling space."""
        return self.top_mm - self.bottom_mm


class MisfitCode(StrEnum):
    """What is out of order at an opening."""

    CUT_TOO_DEEP = "cut_too_deep"
    HOLE_TOO_SMALL = "hole_too_small"
    NO_HEADER = "no_header"
    CUT_TWICE = "cut_twice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The log under or over a hole. `round` 0: what the wall starts on.

    `cut_mm`: depth to cut into it, at the near and the far jamb. `infill_mm`: what the hole has over there.
    `lacks_mm`: what it lacks, where a threshold stays higher than asked. `share`: the most of the log's
    height that is cut away.
    """

    round: int
    cut_mm: Pair
    infill_mm: Pair
    lacks_mm: Pair
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningFit:
    """What becomes of the courses at one opening. `header` is None where no log lies over it.

    `hole_mm`: the height of the hole on the day after the cuts, before any infill, at both jambs.
    """

    through: tuple[int, ...]
    sill: Edge
    header: Edge | None
    asked_mm: float
    hole_mm: Pair
    misfits: tuple[MisfitCode, ...]

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Sill, and header where there is one."""
        return (self.sill, *([self.header] if self.header else []))


def taken_share(hole: Hole, jambs: Jambs) -> float:
    """Share of a course's own height that the hole takes, the greater of both jambs; 0 to 1."""
    return max(_overlap_mm(hole, band) / band.height_mm if band.height_mm > 0 else 0.0 for band in jambs)


def _overlap_mm(hole: Hole, band: CourseBand) -> float:
    return max(0.0, min(band.top_mm, hole.top_mm) - max(band.underside_mm, hole.bottom_mm))


def rounds_cut_through(
    hole: Hole,
    courses: Mapping[int, Jambs],
    *,
    cut_share: float = CUT_SHARE,
    present: AbstractSet[int] | None = None,
) -> frozenset[int]:
    """The rounds whose log the hole cuts through: those of which it takes more than `cut_share`.

    `courses`: every round of the wall, 0 for a half log that it starts on. `present`: the rounds cut through
    so far; they change only where the share is passed by HYSTERESIS. A log that would be left both under and
    over the hole is cut through however little is taken: there is no way to cut a pocket into it.
    """
    threshold = threshold_round(hole, courses)
    kept = threshold if hole.threshold is not Threshold.CUT_THROUGH else None
    found = set()
    for number, jambs in courses.items():
        share = taken_share(hole, jambs)
        limit = cut_share
        if present is not None:
            limit += -HYSTERESIS if number in present else HYSTERESIS
        is_pocket = any(b.underside_mm < hole.bottom_mm and hole.top_mm < b.top_mm for b in jambs)
        if number != kept and (share > min(limit, 1.0 - 1e-9) or is_pocket):
            found.add(number)
    return frozenset(found)


def threshold_round(hole: Hole, courses: Mapping[int, Jambs]) -> int | None:
    """The lowest round that the hole takes anything of: what would be stepped over."""
    touched = [number for number, jambs in courses.items() if taken_share(hole, jambs) > 0]
    return min(touched, default=None)


def fit_opening(
    hole: Hole,
    courses: Mapping[int, Jambs],
    *,
    through: AbstractSet[int],
    starts_on_mm: Pair = (0.0, 0.0),
    cut_share: float = CUT_SHARE,
) -> OpeningFit:
    """What is cut of sill and header, and the hole that results, with the rounds `through` cut through.

    `starts_on_mm`: the deck's height at both jambs, which a hole ends on where no log is left under it.
    """
    under, over = _neighbours(hole, courses, through)
    # A half log that is cut through is no sill: the hole ends on the deck.
    left = {number: jambs for number, jambs in courses.items() if number not in through}
    sill = _sill(hole, under, left, starts_on_mm)
    header = None if over is None else _header(hole, over, courses[over])
    hole_mm = tuple(
        (hole.top_mm + (header.infill_mm[side] if header else 0.0))
        - (hole.bottom_mm - sill.infill_mm[side] + sill.lacks_mm[side])
        for side in (0, 1)
    )
    return OpeningFit(
        through=tuple(sorted(through)),
        sill=sill,
        header=header,
        asked_mm=hole.height_mm,
        hole_mm=(hole_mm[0], hole_mm[1]),
        misfits=_misfits(sill, header, cut_share),
    )


def _neighbours(
    hole: Hole, courses: Mapping[int, Jambs], through: AbstractSet[int]
) -> tuple[int, int | None]:
    """The rounds under and over the hole; 0 under where none is left, None over where there is none."""
    if through:
        under, over = min(through) - 1, max(through) + 1
        return max(under, 0), over if over in courses else None
    middle = (hole.bottom_mm + hole.top_mm) / 2
    lower = [n for n, jambs in courses.items() if _middle_mm(jambs) < middle]
    under = max(lower, default=0)
    return under, under + 1 if under + 1 in courses else None


def _middle_mm(jambs: Jambs) -> float:
    return sum(band.underside_mm + band.top_mm for band in jambs) / 4


def _sill(hole: Hole, under: int, courses: Mapping[int, Jambs], starts_on_mm: Pair) -> Edge:
    bands = courses.get(under)
    if bands is None:
        ends = [hole.bottom_mm - on for on in starts_on_mm]
        return Edge(
            round=under,
            cut_mm=(0.0, 0.0),
            infill_mm=_over(ends),
            lacks_mm=_over([-e for e in ends]),
            share=0.0,
        )
    stands = [band.top_mm - hole.bottom_mm for band in bands]
    cut = _over(stands)
    if hole.threshold is not Threshold.CUT_THROUGH and under == threshold_round(hole, courses):
        told = hole.flatten_mm if hole.threshold is Threshold.FLATTENED else 0.0
        cut = (told, told)
    left = [stand - depth for stand, depth in zip(stands, cut, strict=True)]
    return Edge(
        round=under,
        cut_mm=cut,
        infill_mm=_over([-one for one in left]),
        lacks_mm=_over(left),
        share=_share(cut, bands),
    )


def _header(hole: Hole, over: int, bands: Jambs) -> Edge:
    hangs = [hole.top_mm - band.underside_mm for band in bands]
    cut = _over(hangs)
    return Edge(
        round=over,
        cut_mm=cut,
        infill_mm=_over([-one for one in hangs]),
        lacks_mm=(0.0, 0.0),
        share=_share(cut, bands),
    )


def _over(values: Sequence[float]) -> Pair:
    return max(0.0, values[0]), max(0.0, values[1])


def _share(cut_mm: Pair, bands: Jambs) -> float:
    return max(
        depth / band.height_mm if band.height_mm > 0 else 0.0
        for depth, band in zip(cut_mm, bands, strict=True)
    )


def _misfits(sill: Edge, header: Edge | None, cut_share: float) -> tuple[MisfitCode, ...]:
    found = []
    # As far as the hysteresis lets a whole log be cut, it is in order.
    if max(sill.share, header.share if header else 0.0) > cut_share + HYSTERESIS + 1e-9:
        found.append(MisfitCode.CUT_TOO_DEEP)
    if max(sill.lacks_mm) > NOTHING_MM:
        found.append(MisfitCode.HOLE_TOO_SMALL)
    if header is None:
        found.append(MisfitCode.NO_HEADER)
    return tuple(found)


def edge_mm(fit: OpeningFit) -> float:
    """What an opening costs in cutting and filling: cut plus infill at both edges, the mean of the jambs."""
    return sum(sum(edge.cut_mm) + sum(edge.infill_mm) + sum(edge.lacks_mm) for edge in fit.edges) / 2
