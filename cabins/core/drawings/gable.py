"""The gable over a wall's elevation: its logs between their cuts, the roof line, purlins and ridge."""

from collections.abc import Mapping
from dataclasses import dataclass

from cabins.core.drawings.pieces import Filling
from cabins.core.gables import Gable, GableLog
from cabins.core.members import MemberKind
from cabins.core.outline import Point
from cabins.core.slopes import Bearing, SlopeCut, Slopes
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, LegendEntry
from inventory.core.drawings.pen import DASHED, END_GRAIN, FAINT, PENCIL, TIMBER, Pen, group
from inventory.core.drawings.svg import SvgElement

ROOF_WEIGHT = 0.5
# From one line of what is told over the gable to the next, on paper.
LINE_MM = 3.5


@dataclass(frozen=True, slots=True, kw_only=True)
class GableToDraw:
    """A gable with what bears on it; `numbers` and `fillings` of the logs known, by the member's name."""

    slopes: Slopes
    gable: Gable
    bearings: Mapping[str, Bearing]
    numbers: Mapping[str, str]
    fillings: Mapping[str, Filling]

    @property
    def top_mm(self) -> float:
        """The highest point of it."""
        return self.slopes.ridge_mm

    @property
    def room_above_mm(self) -> float:
        """Room on paper for what is told over it."""
        return LINE_MM * len(self.bearings)

    @property
    def known(self) -> list[Filling]:
        """How those of its logs are filled that are known."""
        return [self.fillings[log.member] for log in self.gable.logs if log.member in self.fillings]


def draw_gable(
    pen: Pen, shown: GableToDraw, units: CrewUnits, *, left: float, right: float
) -> list[SvgElement]:
    """The gable between the wall's tails at `left` and `right`; y is minus the height above the deck.

    Each log is a polygon with `data-member`, each purlin and ridge a circle.
    """
    return [
        *(_log(pen, shown, log) for log in shown.gable.logs),
        _roof_line(pen, shown, left, right),
        *_told_above(pen, shown, units),
        *(mark for seat in shown.gable.seats for mark in _bearing(pen, shown, seat.member, seat.at_mm)),
        *(mark for log in shown.gable.logs for mark in _height(pen, log, units, left, right)),
    ]


def gable_entries() -> list[LegendEntry]:
    """Its lines of the legend."""

    def line(pen: Pen, at: Point) -> list[SvgElement]:
        y = at[1] + pen.mm(SWATCH_MM[1] / 2)
        return [pen.line((at[0], y), (at[0] + pen.mm(SWATCH_MM[0]), y), weight=ROOF_WEIGHT)]

    def circle(pen: Pen, at: Point) -> list[SvgElement]:
        centre = (at[0] + pen.mm(SWATCH_MM[0] / 2), at[1] + pen.mm(SWATCH_MM[1] / 2))
        return [pen.circle(centre, pen.mm(1.8), fill=END_GRAIN)]

    return [LegendEntry(words="roof line", swatch=line), LegendEntry(words="purlin, ridge", swatch=circle)]


def _log(pen: Pen, shown: GableToDraw, log: GableLog) -> SvgElement:
    filling = shown.fillings.get(log.member)
    is_set = filling is Filling.SET
    shape = pen.path(
        [(x, -y) for x, y in log_outline(shown.slopes, log)],
        fill="none" if filling is None else TIMBER if is_set else pen.hatch,
        weight=0.45 if is_set else 0.3,
        colour=FAINT if filling is None else PENCIL,
        dash=DASHED if filling is None else None,
        data_member=log.member,
        data_filling="empty" if filling is None else str(filling),
    )
    number = shown.numbers.get(log.member, "")
    at = (_clear_of_ridge(shown, log), -(log.underside_mm + log.top_mm) / 2 + pen.mm(1.2))
    label = pen.text(at, number, size=3.4, bold=True, anchor="middle", halo=True)
    told = f"log {number}, {filling}" if number else "empty"
    return group(shape, label, title=f"{log.member}: {told}")


def log_outline(slopes: Slopes, log: GableLog) -> list[Point]:
    """The corners of a gable log as (position, height): along its underside, then back along its top."""
    start, end = log.start, log.end
    points = [(start.at_mm, log.underside_mm), (end.at_mm, log.underside_mm)]
    points += [(end.at_mm, log.underside_mm + end.plumb_mm)] if end.plumb_mm else []
    points += [(x, min(log.top_mm, slopes.height_mm(x))) for x in (_short(end, -1), _short(start, 1))]
    points += [(start.at_mm, log.underside_mm + start.plumb_mm)] if start.plumb_mm else []
    return points


def _short(cut: SlopeCut, way: int) -> float:
    return cut.at_mm + way * cut.run_mm


def _clear_of_ridge(shown: GableToDraw, log: GableLog) -> float:
    """Where along a log its number is written: half way, or aside where the ridge is drawn over it."""
    half = shown.slopes.span_mm / 2
    over = [
        one
        for one in shown.bearings.values()
        if one.kind is MemberKind.RIDGE and one.underside_mm < log.top_mm
    ]
    return (_short(log.start, 1) + half - over[0].diameter_mm / 2) / 2 if over else half


def _roof_line(pen: Pen, shown: GableToDraw, left: float, right: float) -> SvgElement:
    half = shown.slopes.span_mm / 2
    points = [(x, -shown.slopes.height_mm(x)) for x in (left, half, right)]
    return pen.path(points, closed=False, weight=ROOF_WEIGHT)


def _told_above(pen: Pen, shown: GableToDraw, units: CrewUnits) -> list[SvgElement]:
    """Over the gable, a line each: where the slopes meet, and the undersides of ridge and purlins."""
    lines = [f"roof line meets at {units.along(shown.slopes.ridge_mm)}"]
    for one in reversed(tuple(shown.bearings.values())):
        number = shown.numbers.get(one.member)
        log = f", log {number}" if number else ""
        lines.append(f"{one.member}{log}: underside {units.along(one.underside_mm)}")
    x, y = shown.slopes.span_mm / 2, -shown.slopes.ridge_mm - pen.mm(2)
    return [
        pen.text((x, y - pen.mm(LINE_MM * at)), words, size=2.6, anchor="middle", halo=True)
        for at, words in enumerate(lines)
    ]


def _bearing(pen: Pen, shown: GableToDraw, member: str, at_mm: float) -> list[SvgElement]:
    one = shown.bearings[member]
    circle = pen.circle(
        (at_mm, -one.axis_mm),
        one.diameter_mm / 2,
        fill=END_GRAIN,
        weight=0.4,
        dash=DASHED if one.is_assumed else None,
        data_member=member,
    )
    marks = [group(circle, title=member)]
    if one.kind is not MemberKind.RIDGE:
        way = -1 if at_mm < shown.slopes.span_mm / 2 else 1
        at = (at_mm + way * pen.mm(2.5), -shown.slopes.height_mm(at_mm) - pen.mm(0.8))
        marks.append(pen.text(at, member, size=2.4, anchor="end" if way < 0 else "start", halo=True))
    return marks


def _height(pen: Pen, log: GableLog, units: CrewUnits, left: float, right: float) -> list[SvgElement]:
    """The top of a gable's round in the right margin, its number and length in the left one."""
    y, x = -log.top_mm, right + pen.mm(3.8)
    words = f"gable {log.round}: {units.along(log.length_mm)}"
    at = (left - pen.mm(3.8), pen.mm(1) - (log.underside_mm + log.top_mm) / 2)
    return [
        pen.line((right + pen.mm(0.8), y), (right + pen.mm(3), y), colour=FAINT),
        pen.text((x, y + pen.mm(0.9)), units.along(log.top_mm), size=2.6),
        pen.text(at, words, size=2.6, anchor="end", colour=FAINT),
    ]
