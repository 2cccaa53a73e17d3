"""Underside and top of every course at a position of its wall, between the columns where heights are
known."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from cabins.core.layout_parts import HighStart, Layout, Start, WallTop
from cabins.core.openings import CourseBand, Jambs
from cabins.core.pile import over_last_mm
from cabins.core.places import columns_of
from cabins.core.stack import Stack

# The diameter in mm of what lies in (wall, round) at a position along the wall; None where no log is known.
DiameterAt = Callable[[str, int, float], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnTop:
    """A course at one column: position along the wall, top, and the log's diameter there."""

    at_mm: float
    top_mm: float
    diameter_mm: float


def band_at(columns: Sequence[ColumnTop], at_mm: float, *, diameter_mm: float | None = None) -> CourseBand:
    """The band of a course at `at_mm`: its axis lies straight between the columns, half the diameter each
    way.

    `columns` go along the wall. `diameter_mm`: the log's own diameter there; without one it lies on the line
    between the columns too.
    """
    left, right = next(pair for pair in pairwise(columns) if at_mm <= pair[1].at_mm or pair[1] is columns[-1])
    part = (at_mm - left.at_mm) / (right.at_mm - left.at_mm)
    low, high = (one.top_mm - one.diameter_mm / 2 for one in (left, right))
    axis = low + (high - low) * part
    if diameter_mm is None:
        diameter_mm = left.diameter_mm + (right.diameter_mm - left.diameter_mm) * part
    return CourseBand(underside_mm=axis - diameter_mm / 2, top_mm=axis + diameter_mm / 2)


def wall_bands(
    stack: Stack, wall: str, positions_mm: Sequence[float], *, diameter_at: DiameterAt | None = None
) -> dict[int, tuple[CourseBand, ...]]:
    """Every course of a wall at each position, by round: 0 for a half log that the wall starts on, the one
    over the last for a half log that it ends in."""
    layout, columns = stack.layout, columns_of(stack.layout)[wall]
    tops = [
        [
            ColumnTop(
                at_mm=column.at_mm,
                top_mm=stack.heights_mm[wall, number, column.column],
                diameter_mm=stack.diameters_mm[wall, number, column.column] if number else 0.0,
            )
            for column in columns
        ]
        for number in range(layout.round_count + 1)
    ]
    found = bands_of(
        tops,
        positions_mm,
        on_half_log=first_round(layout, wall) == 0,
        diameter_at=None if diameter_at is None else partial(diameter_at, wall),
    )
    if _ends_in_half_log(layout, wall):
        last = layout.round_count
        found[last + 1] = tuple(
            _half_over(layout, below.top_mm, diameter_at(wall, last + 1, at) if diameter_at else None)
            for below, at in zip(found[last], positions_mm, strict=True)
        )
    return found


def bands_of(
    tops: Sequence[Sequence[ColumnTop]],
    positions_mm: Sequence[float],
    *,
    on_half_log: bool,
    diameter_at: Callable[[int, float], float | None] | None = None,
) -> dict[int, tuple[CourseBand, ...]]:
    """Every course of a wall at each position, by round, from its tops along the wall.

    `tops[0]`: what the wall starts on, with no diameter; `on_half_log`: that is a half log on the deck, and a
    course too. `diameter_at(round, position)`: of the log there; None where no log is known.
    """
    floors = [band_at(tops[0], at).top_mm for at in positions_mm]
    found: dict[int, tuple[CourseBand, ...]] = {}
    if on_half_log:
        found[0] = tuple(CourseBand(underside_mm=0.0, top_mm=floor) for floor in floors)
    for number, row in enumerate(tops[1:], start=1):
        bands = [
            band_at(row, at, diameter_mm=diameter_at(number, at) if diameter_at else None)
            for at in positions_mm
        ]
        if number == 1:
            bands = [_not_below(band, floor) for band, floor in zip(bands, floors, strict=True)]
        found[number] = tuple(bands)
    return found


def jamb_bands(
    stack: Stack, wall: str, near_mm: float, far_mm: float, *, diameter_at: DiameterAt | None = None
) -> Mapping[int, Jambs]:
    """Every course of a wall at the two jambs of an opening, by round."""
    bands = wall_bands(stack, wall, (near_mm, far_mm), diameter_at=diameter_at)
    return {number: (near, far) for number, (near, far) in bands.items()}


def first_round(layout: Layout, wall: str) -> int:
    """0 for a wall that starts on a half log, which an opening at the deck takes; else 1."""
    is_high = _start_of(layout, wall) is Start.HIGH
    return 0 if is_high and layout.high_start is HighStart.HALF_LOG else 1


def _start_of(layout: Layout, wall: str) -> Start:
    return next(one.start for one in layout.log_walls if one.id == wall)


def _ends_in_half_log(layout: Layout, wall: str) -> bool:
    return layout.top is WallTop.EVEN and _start_of(layout, wall) is Start.LOW


def _half_over(layout: Layout, below_mm: float, diameter_mm: float | None) -> CourseBand:
    """A half log over the last one, flat side up, whose top lies at `below_mm`."""
    diameter = layout.log_middle_mm if diameter_mm is None else diameter_mm
    top = over_last_mm(layout, last_mm=below_mm, diameter_mm=diameter)
    return CourseBand(underside_mm=below_mm + layout.gap.target_mm, top_mm=top)


def starts_on_mm(stack: Stack, wall: str, at_mm: float) -> float:
    """Height of what a wall starts on, at a position: the deck, a half log's top, a raised deck."""
    columns = columns_of(stack.layout)[wall]
    tops = [
        ColumnTop(at_mm=c.at_mm, top_mm=stack.heights_mm[wall, 0, c.column], diameter_mm=0.0) for c in columns
    ]
    return band_at(tops, at_mm).top_mm


def _not_below(band: CourseBand, least_mm: float) -> CourseBand:
    """The band of a first log, which cannot reach below what it lies on: its flat is cut away."""
    if band.underside_mm >= least_mm:
        return band
    return CourseBand(underside_mm=min(least_mm, band.top_mm), top_mm=band.top_mm)
