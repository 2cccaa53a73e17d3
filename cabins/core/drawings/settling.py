"""Settling over time: heights as measured on their dates, and where each round is expected once dry."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cabins.core.settling_sheet import RoundSettling
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, framed, pen_for
from inventory.core.drawings.pen import FAINT, PAPER, PENCIL, Pen, Point, group
from inventory.core.drawings.svg import Box, SvgElement

CAUTION = (
    "A prediction with its range; local code and licensed practice decide what space is left above openings "
    "and posts."
)
_WALL_MM, _TIME_MM = 30.0, 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightReading:
    """A height as it was measured on a day."""

    wall: str
    round: int
    end: str
    on: date
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SpaceToLeave:
    """What is left over an opening by the rule, and how far the wall is expected to come down there."""

    opening: str
    wall: str
    leave_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingToDraw:
    """What the drawing of a cabin's settling shows."""

    cabin: str
    rounds: tuple[RoundSettling, ...]
    readings: tuple[HeightReading, ...]
    spaces: tuple[SpaceToLeave, ...]
    units: CrewUnits


def draw_settling(shown: SettlingToDraw) -> str:
    """The settling as SVG, one unit a millimetre of height; sideways stand dates and walls.

    Each round's expected heights are a box with `data-wall` and `data-round`.
    """
    walls = list(dict.fromkeys(one.wall for one in shown.rounds))
    tallest = max(
        (*(one.now_mm for one in shown.rounds), *(one.height_mm for one in shown.readings)), default=1000.0
    )
    pen = pen_for("settling", width_mm=1.0, height_mm=tallest)
    time = pen.mm(_TIME_MM) if shown.readings else 0.0
    left = time + pen.mm(26)
    marks = _readings(pen, shown, time) if shown.readings else []
    for number, wall in enumerate(walls):
        rounds = [one for one in shown.rounds if one.wall == wall]
        marks += _wall(pen, wall, rounds, left + number * pen.mm(_WALL_MM), shown.units)
    right = left + len(walls) * pen.mm(_WALL_MM)
    marks.append(pen.line((0, 0), (right, 0), weight=0.5))
    foot = pen.mm(10)
    for row, space in enumerate(shown.spaces):
        marks.append(_space(pen, space, (0.0, foot + pen.mm(4.5 * (row + 1))), right, shown.units))
    return framed(
        pen,
        heading=_heading(shown, walls),
        content=Box(
            left=0.0,
            top=-tallest - pen.mm(10),
            right=right,
            bottom=foot + pen.mm(4.5 * len(shown.spaces)),
        ),
        marks=marks,
        legend=_legend(any_readings=bool(shown.readings)),
        units=shown.units,
    )


def _wall(
    pen: Pen, wall: str, rounds: Sequence[RoundSettling], left: float, units: CrewUnits
) -> list[SvgElement]:
    """A wall's rounds: a line where each top is now, a hatched box where it is expected once dry."""
    width, top = pen.mm(_WALL_MM * 0.42), max(one.now_mm for one in rounds)
    marks = [
        pen.text((left + width / 2, -top - pen.mm(4)), f"wall {wall}", size=3.2, bold=True, anchor="middle")
    ]
    for one in rounds:
        low, high = -one.later_low_mm, -one.later_high_mm
        corners = [(left, low), (left + width, low), (left + width, high), (left, high)]
        words = f"round {one.round}: now {units.along(one.now_mm)}, "
        words += f"later {units.along(one.later_low_mm)} to {units.along(one.later_high_mm)}"
        now = -one.now_mm
        marks.append(
            group(
                pen.path(corners, fill=pen.hatch, weight=0.2, data_wall=wall, data_round=str(one.round)),
                pen.line((left - pen.mm(1), now), (left + width + pen.mm(1), now), weight=0.5),
                pen.text((left + width + pen.mm(1.6), now + pen.mm(0.9)), units.along(one.now_mm), size=2.4),
                title=words,
            )
        )
    return marks


def _readings(pen: Pen, shown: SettlingToDraw, width: float) -> list[SvgElement]:
    """Heights by day; readings of one end of one round are joined, so that coming down is seen."""
    first, last = min(one.on for one in shown.readings), max(one.on for one in shown.readings)
    inset, span = pen.mm(10), max((last - first).days, 1)

    def x_of(day: date) -> float:
        share = (day - first).days / span if last > first else 0.5
        return inset + share * (width - 2 * inset)

    spots: dict[tuple[str, int, str], list[HeightReading]] = {}
    for one in sorted(shown.readings, key=lambda one: one.on):
        spots.setdefault((one.wall, one.round, one.end), []).append(one)
    marks = [
        pen.text((x, pen.mm(4.5)), day.isoformat(), size=2.6, anchor="middle", colour=FAINT)
        for day, x in {first: x_of(first), last: x_of(last)}.items()
    ]
    for (wall, number, end), ones in spots.items():
        points = [(x_of(one.on), -one.height_mm) for one in ones]
        words = f"wall {wall}, round {number}, {end}: " + ", ".join(
            f"{shown.units.along(one.height_mm)} on {one.on.isoformat()}" for one in ones
        )
        joined = [pen.path(points, closed=False, weight=0.25)] if len(points) > 1 else []
        dots = [pen.circle(point, pen.mm(0.8), fill=PENCIL, weight=0.1) for point in points]
        marks.append(group(*joined, *dots, title=words))
    return marks


def _space(pen: Pen, space: SpaceToLeave, at: Point, right: float, units: CrewUnits) -> SvgElement:
    words = (
        f"{space.opening} in wall {space.wall}: leave {units.across(space.leave_mm)} by the rule; "
        f"expected to come down {units.across(space.low_mm)} to {units.across(space.high_mm)}"
    )
    more = space.high_mm > space.leave_mm
    return pen.text(at, f"{words}: leave the larger" if more else words, size=2.8, bold=more, width=right)


def _heading(shown: SettlingToDraw, walls: Sequence[str]) -> Heading:
    tops: Mapping[str, RoundSettling] = {one.wall: one for one in shown.rounds}
    units = shown.units
    told = "; ".join(
        f"wall {wall} from {units.along(tops[wall].now_mm)} to between "
        f"{units.along(tops[wall].later_low_mm)} and {units.along(tops[wall].later_high_mm)}"
        for wall in walls
    )
    return Heading(
        title=f"{shown.cabin}: settling",
        subtitle="mean top of every round now, and where it is expected once dry; heights above the deck",
        desc=f"Settling of {shown.cabin}: {told}. {len(shown.readings)} measured heights. {CAUTION}",
    )


def _legend(*, any_readings: bool) -> list[LegendEntry]:
    def now(pen: Pen, at: Point) -> Sequence[SvgElement]:
        y = at[1] + pen.mm(2)
        return [pen.line((at[0], y), (at[0] + pen.mm(SWATCH_MM[0]), y), weight=0.5)]

    def later(pen: Pen, at: Point) -> Sequence[SvgElement]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        return [pen.path([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill=pen.hatch, weight=0.2)]

    def dot(pen: Pen, at: Point) -> Sequence[SvgElement]:
        centre = (at[0] + pen.mm(SWATCH_MM[0] / 2), at[1] + pen.mm(2))
        return [pen.circle(centre, pen.mm(0.8), fill=PENCIL, colour=PAPER, weight=0.1)]

    found = [LegendEntry(words="measured on its day", swatch=dot)] if any_readings else []
    return [
        *found,
        LegendEntry(words="top now", swatch=now),
        LegendEntry(words="expected once dry", swatch=later),
    ]
