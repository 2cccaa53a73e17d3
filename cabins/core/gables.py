"""Gables of logs: how their rounds shorten to the roof line, and where purlins and ridge bear on them.

A gable stands over the last round of a wall. Its logs lie on one another without crossing logs between them,
each cut to the slope at both ends. Heights in mm above the deck, positions along the gable's wall.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

from cabins.core.layout_parts import Layout, LogWall
from cabins.core.members import MemberKind
from cabins.core.outline import SAME_WITHIN_MM
from cabins.core.places import column_at, columns_of
from cabins.core.roof_line import GablePlace, RidgeRun, RoofLine
from cabins.core.rounds import DUST_MM
from cabins.core.slopes import Bearing, SlopeCut, Slopes, bearings_of, slope_cuts
from cabins.core.stack import PiledTop, Stack

# More rounds than any gable has; what needs them is refused as too many members.
MOST_ROUNDS = 300
# So far walls may come to stand off what the layout expects (common practice, no source).
STAND_OFF_MM = 30.0
# A log stands beside a plate of which so much shows above what it lies on, and over one that shows less.
BESIDE_A_PLATE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class GableLog:
    """One round of a gable, between its two cuts. `length_mm` from long point to long point.

    `cut_mm`: the piece that the layout has cut for it; `lacks_mm`: what that is too short by.
    `diameter_mm`: at the piece's own middle, as the layout expects it where `is_assumed`.
    """

    member: str
    round: int
    underside_mm: float
    top_mm: float
    error_mm: float
    diameter_mm: float
    is_assumed: bool
    length_mm: float
    start: SlopeCut
    end: SlopeCut
    cut_mm: float
    lacks_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GableSeat:
    """Where a purlin or the ridge bears on a gable: `at_mm` along its wall, in which round, how deep.

    Round 0 is the wall's last. `share` of that log's thickness; a negative depth is what is left between the
    log and the member.
    """

    member: str
    at_mm: float
    underside_mm: float
    round: int
    depth_mm: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gable:
    """The gable over one wall. `on_mm`: how high the wall ends, half way.

    `tails_mm`: how far the tails of the wall's last round rise over the roof line at start and end; 0: not.
    `left_mm`: from the last log's top to where the slopes meet. `not_needed`: places that the thickness of
    the logs below leaves over.
    """

    wall: str
    on_mm: float
    tails_mm: tuple[float, float]
    logs: tuple[GableLog, ...]
    not_needed: tuple[str, ...]
    left_mm: float
    seats: tuple[GableSeat, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GableSheet:
    """A cabin's two gables and what bears on them."""

    roof_line: RoofLine
    slopes: Slopes
    gables: tuple[Gable, ...]
    bearings: tuple[Bearing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _WallTop:
    """What a gable stands on: the wall's end half way, the thickness of its last log, and the plates that
    cross it there (None: it is over them), by how far inside each corner's centre their faces are."""

    on_mm: float
    error_mm: float
    diameter_mm: float
    faces_mm: tuple[float | None, float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """A gable log in its round, between its two cuts."""

    underside_mm: float
    top_mm: float
    start: SlopeCut
    end: SlopeCut

    @property
    def length_mm(self) -> float:
        return self.end.at_mm - self.start.at_mm


def gable_walls(layout: Layout) -> tuple[LogWall, ...]:
    """The two walls that gables stand over: those the ridge runs across. None without a roof line."""
    if layout.roof_line is None:
        return ()
    walls = [wall for wall in layout.log_walls if not wall.is_partition]
    first_is_long = walls[0].length_mm >= walls[1].length_mm - SAME_WITHIN_MM
    along_first = first_is_long is (layout.roof_line.ridge is RidgeRun.ALONG)
    return (walls[1], walls[3]) if along_first else (walls[0], walls[2])


def gable_places(stack: Stack) -> tuple[GablePlace, ...]:
    """The places that a roof line gives, over the heights of `stack`, the layout's own.

    Reckoned with the thinnest logs it takes, under a line higher by what the walls may stand off, so that no
    gable of thicker ones has more rounds or longer logs; and so much longer at each end as a piece may run
    wild.
    """
    layout = stack.layout
    roof = layout.roof_line
    if roof is None:
        return ()
    least = roof.thickness_mm(layout.log_middle_mm)
    found: list[GablePlace] = []
    for wall in gable_walls(layout):
        slopes, base = _slopes(stack, wall, roof, over_mm=STAND_OFF_MM), _wall_top(stack, wall)
        below = base.on_mm
        for number in range(1, MOST_ROUNDS + 1):
            laid = _laid(layout, slopes, base, number, below_mm=below, diameter_mm=least)
            if laid is None:
                break
            below = laid.top_mm
            found.append(
                GablePlace(
                    wall=wall.id,
                    round=number,
                    length_mm=laid.length_mm + 2 * layout.run_wild_mm,
                    least_middle_mm=least,
                    crown_limit_mm=roof.crown_limit_mm,
                )
            )
    return tuple(found)


def gable_sheet(stack: Stack, *, diameters_mm: Mapping[str, float]) -> GableSheet | None:
    """The gables over the heights of `stack`; None where the layout has no roof line.

    `diameters_mm`: of the pieces made or planned for gable logs, ridge and purlins, at their own middles, by
    the member's name. Where one is missing a gable log is as thick as the layout's logs, a member as thick as
    the layout wants it at least.
    """
    layout = stack.layout
    roof = layout.roof_line
    if roof is None:
        return None
    walls = gable_walls(layout)
    slopes = _slopes(stack, walls[0], roof)
    bearings = bearings_of(layout, slopes, diameters_mm)
    gables = tuple(
        _gable(stack, wall, slopes, bearings, is_first=wall is walls[0], diameters_mm=diameters_mm)
        for wall in walls
    )
    return GableSheet(roof_line=roof, slopes=slopes, gables=gables, bearings=bearings)


def _gable(
    stack: Stack,
    wall: LogWall,
    slopes: Slopes,
    bearings: Sequence[Bearing],
    *,
    is_first: bool,
    diameters_mm: Mapping[str, float],
) -> Gable:
    layout, base = stack.layout, _wall_top(stack, wall)
    places = [place for place in layout.gable_places if place.wall == wall.id]
    ridges = [one.underside_mm for one in bearings if one.kind is MemberKind.RIDGE]
    under = min(ridges, default=slopes.ridge_mm)
    logs: list[GableLog] = []
    for place in places:
        name = place.member.id
        diameter = diameters_mm.get(name, layout.log_middle_mm)
        below = logs[-1].top_mm if logs else base.on_mm
        laid = _laid(layout, slopes, base, place.round, below_mm=below, diameter_mm=diameter)
        if laid is None or laid.underside_mm >= under - DUST_MM:
            break
        logs.append(
            GableLog(
                member=name,
                round=place.round,
                underside_mm=laid.underside_mm,
                top_mm=laid.top_mm,
                error_mm=math.hypot(base.error_mm, math.sqrt(place.round) * stack.errors.round_mm()),
                diameter_mm=diameter,
                is_assumed=name not in diameters_mm,
                length_mm=laid.length_mm,
                start=laid.start,
                end=laid.end,
                cut_mm=place.length_mm,
                lacks_mm=max(0.0, laid.length_mm - place.length_mm),
            )
        )
    start, end = (max(0.0, base.on_mm - slopes.height_mm(at)) for at in (wall.from_mm, wall.to_mm))
    return Gable(
        wall=wall.id,
        on_mm=base.on_mm,
        tails_mm=(start, end),
        logs=tuple(logs),
        not_needed=tuple(place.member.id for place in places[len(logs) :]),
        left_mm=max(0.0, slopes.ridge_mm - (logs[-1].top_mm if logs else base.on_mm)),
        # The gables face each other, so that their walls run opposite ways.
        seats=tuple(
            _seat(base, logs, one, one.at_mm if is_first else slopes.span_mm - one.at_mm) for one in bearings
        ),
    )


def _laid(
    layout: Layout, slopes: Slopes, base: _WallTop, number: int, *, below_mm: float, diameter_mm: float
) -> _Laid | None:
    """A log on what ends at `below_mm`; None where what is left under the roof line is not worth one.

    It must be as long as a piece is to be at least, and keep the share of its height that an opening would
    have to leave of a log.
    """
    underside = below_mm + layout.gap.target_mm
    top = underside + diameter_mm
    faces = base.faces_mm if number == 1 else (None, None)
    start, end = slope_cuts(slopes, underside_mm=underside, top_mm=top, faces_mm=faces)
    laid = _Laid(underside_mm=underside, top_mm=top, start=start, end=end)
    is_long = laid.length_mm >= max(layout.least_piece_mm, DUST_MM)
    is_high = slopes.ridge_mm - underside >= (1 - layout.cut_share) * diameter_mm
    return laid if is_long and is_high else None


def _seat(base: _WallTop, logs: Sequence[GableLog], one: Bearing, at_mm: float) -> GableSeat:
    below = [log for log in logs if log.underside_mm < one.underside_mm]
    if below:
        number, top, thick = below[-1].round, below[-1].top_mm, below[-1].diameter_mm
    else:
        number, top, thick = 0, base.on_mm, base.diameter_mm
    depth = top - one.underside_mm
    return GableSeat(
        member=one.member,
        at_mm=at_mm,
        underside_mm=one.underside_mm,
        round=number,
        depth_mm=depth,
        share=max(0.0, depth) / thick,
    )


def _slopes(stack: Stack, wall: LogWall, roof: RoofLine, *, over_mm: float = 0.0) -> Slopes:
    """The roof line of the whole cabin: level, from the mean of what its four corners end at."""
    corners = [corner.id for corner in stack.layout.corners]
    ends = [max(top.top_mm for top in _tops_at(stack, corner).values()) for corner in corners]
    foot = _mean(ends) + roof.heel_mm + over_mm
    return Slopes(foot_mm=foot, span_mm=wall.length_mm, slope=roof.slope)


def _wall_top(stack: Stack, wall: LogWall) -> _WallTop:
    columns = columns_of(stack.layout)[wall.id]
    ends: list[PiledTop] = []
    faces: list[float | None] = []
    for column in (columns[0], columns[-1]):
        tops = _tops_at(stack, column.crossing)
        own = tops.pop(wall.id)
        (plate,) = tops.values()
        shows = plate.top_mm - own.top_mm
        ends.append(own)
        faces.append(plate.diameter_mm / 2 if shows > BESIDE_A_PLATE * plate.diameter_mm else None)
    return _WallTop(
        on_mm=_mean([end.top_mm for end in ends]),
        error_mm=_mean([end.error_mm for end in ends]),
        diameter_mm=_mean([end.diameter_mm for end in ends]),
        faces_mm=(faces[0], faces[1]),
    )


def _tops_at(stack: Stack, corner: str) -> dict[str, PiledTop]:
    """The last top of each of the two walls that cross at a corner, half logs over the last round too."""
    columns = columns_of(stack.layout)
    last = {
        (top.wall, top.column): top
        for top in (*(one for one in stack.tops if one.round == stack.layout.round_count), *stack.half_tops)
    }
    outer = {wall.id for wall in stack.layout.walls}
    return {
        wall: last[wall, column_at(row, corner)]
        for wall, row in columns.items()
        if wall in outer and any(column.crossing == corner for column in row)
    }


def _mean(values: Sequence[float]) -> float:
    # One after the other: `sum` is more exact from Python 3.12 on, and no figure may hang on that.
    return reduce(add, values) / len(values)
