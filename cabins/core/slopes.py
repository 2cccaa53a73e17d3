"""The roof line over a gable as two slopes, and what touches it: logs cut to it, round members under it.

Heights in mm above the deck, positions along the gable's wall from its start corner's centre.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from cabins.core.layout_parts import Layout
from cabins.core.members import MemberKind, SingleMember


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """The two slopes over a gable: `foot_mm` high over the centres of both corners, `span_mm` apart."""

    foot_mm: float
    span_mm: float
    slope: float

    @property
    def ridge_mm(self) -> float:
        """How high the slopes meet, half way."""
        return self.foot_mm + self.slope * self.span_mm / 2

    def height_mm(self, at_mm: float) -> float:
        """Height of the roof line at a position, also past the corners."""
        return self.foot_mm + self.slope * min(at_mm, self.span_mm - at_mm)

    def inset_mm(self, height_mm: float) -> float:
        """How far inside each corner's centre the line is so high; negative: outside. At most half way."""
        return min((height_mm - self.foot_mm) / self.slope, self.span_mm / 2)

    def axis_mm(self, at_mm: float, diameter_mm: float) -> float:
        """Height of the axis of a round log that lies across the gable and touches the line from below."""
        return self.height_mm(at_mm) - diameter_mm / 2 * math.hypot(1.0, self.slope)


@dataclass(frozen=True, slots=True, kw_only=True)
class SlopeCut:
    """How a gable log ends: its long point `at_mm` along the wall, plumb from the underside up for `plumb_mm`
    (where it stands against a plate), then cut to the slope, which runs in along the log by `run_mm`."""

    at_mm: float
    plumb_mm: float
    run_mm: float


def slope_cuts(
    slopes: Slopes,
    *,
    underside_mm: float,
    top_mm: float,
    faces_mm: tuple[float | None, float | None] = (None, None),
) -> tuple[SlopeCut, SlopeCut]:
    """The ends of a log that lies so high, at the wall's start and end.

    `faces_mm`: how far inside each corner's centre the face of a plate is that the log stands against.
    """
    found = []
    for face in faces_mm:
        long = slopes.inset_mm(underside_mm)
        if face is not None:
            long = min(max(long, face), slopes.span_mm / 2)
        short = max(long, slopes.inset_mm(top_mm))
        plumb = min(top_mm, slopes.height_mm(long)) - underside_mm
        found.append(SlopeCut(at_mm=long, plumb_mm=max(0.0, plumb), run_mm=short - long))
    start, end = found
    return start, SlopeCut(at_mm=slopes.span_mm - end.at_mm, plumb_mm=end.plumb_mm, run_mm=end.run_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """A purlin or the ridge where it touches the roof line, `at_mm` along the first gable's wall.

    `diameter_mm`: at its own middle, as the layout wants it at least where `is_assumed`.
    """

    member: str
    kind: MemberKind
    at_mm: float
    underside_mm: float
    axis_mm: float
    top_mm: float
    diameter_mm: float
    is_assumed: bool


def bearings_of(layout: Layout, slopes: Slopes, diameters_mm: Mapping[str, float]) -> tuple[Bearing, ...]:
    """Purlins, then the ridge, in the order of the layout.

    Purlins lie in pairs, the lowest first, evenly between wall and ridge.
    """
    purlins = [one for one in layout.single_members if one.kind is MemberKind.PURLIN]
    ridges = [one for one in layout.single_members if one.kind is MemberKind.RIDGE]
    half, steps = slopes.span_mm / 2, len(purlins) // 2 + 1
    insets = [half * (number // 2 + 1) / steps for number in range(len(purlins))]
    places = [
        *(inset if number % 2 == 0 else slopes.span_mm - inset for number, inset in enumerate(insets)),
        *(half for _ in ridges),
    ]
    return tuple(
        _bearing(one, at_mm, slopes, diameters_mm.get(one.id))
        for one, at_mm in zip((*purlins, *ridges), places, strict=True)
    )


def _bearing(one: SingleMember, at_mm: float, slopes: Slopes, diameter_mm: float | None) -> Bearing:
    diameter = one.least_middle_mm if diameter_mm is None else diameter_mm
    axis = slopes.axis_mm(at_mm, diameter)
    return Bearing(
        member=one.id,
        kind=one.kind,
        at_mm=at_mm,
        underside_mm=axis - diameter / 2,
        axis_mm=axis,
        top_mm=axis + diameter / 2,
        diameter_mm=diameter,
        is_assumed=diameter_mm is None,
    )
