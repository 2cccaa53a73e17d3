"""Level of each wall round by round: how far its end lies above its start, and how sure that is."""

import math
from collections.abc import Sequence

from cabins.core.next_log import ON_THE_LINE_MM
from cabins.core.places import columns_of
from cabins.core.stack import Level, Stack
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, Swatch, framed
from inventory.core.drawings.pen import END_GRAIN, FAINT, PAPER, PENCIL, Pen, Point, group
from inventory.core.drawings.svg import Box, SvgElement

_ROUND_MM, _PANEL_MM, _IN_A_ROW = 8.0, 62.0, 4


def draw_levels(cabin: str, of_what: str, stack: Stack, *, units: CrewUnits) -> str:
    """The levels as SVG, a panel for each wall; drawn larger sideways, so without a scale.

    Each round is a circle with `data-wall`, `data-round` and `data-level-mm`.
    """
    pen = Pen(key="levels", scale=1)
    walls = [wall.id for wall in stack.layout.log_walls]
    reach = max(abs(one.out_of_level_mm) + one.error_mm for one in stack.levels)
    reach = max(math.ceil(reach / 5) * 5.0, 10.0)
    height = _ROUND_MM * stack.layout.round_count
    marks: list[SvgElement] = []
    for number, wall in enumerate(walls):
        x = (number % _IN_A_ROW + 0.5) * _PANEL_MM
        y = (number // _IN_A_ROW) * (height + 28) + height
        levels = [one for one in stack.levels if one.wall == wall]
        marks += _panel(pen, stack, wall, levels, (x, y), reach, units)
    rows = math.ceil(len(walls) / _IN_A_ROW)
    worst = max(stack.levels, key=lambda one: abs(one.out_of_level_mm))
    last = [one for one in stack.levels if one.round == stack.layout.round_count]
    plate = "; ".join(f"wall {one.wall} {_signed(one.out_of_level_mm, units)}" for one in last)
    return framed(
        pen,
        heading=Heading(
            title=f"{cabin}: level of each wall, {of_what}",
            subtitle="end top minus start top after each round; to the right: the end is higher",
            desc=(
                f"Level of every wall of {cabin} round by round, {of_what}. Largest: wall {worst.wall}, "
                f"round {worst.round}, {_signed(worst.out_of_level_mm, units)}. "
                f"After the last round: {plate}."
            ),
        ),
        content=Box(
            left=0.0, top=-8.0, right=_PANEL_MM * min(len(walls), _IN_A_ROW), bottom=rows * (height + 28) - 16
        ),
        marks=marks,
        legend=_legend(units),
    )


def _signed(mm: float, units: CrewUnits) -> str:
    words = units.across(mm)
    return f"+{words}" if mm > 0 and any(digit in words for digit in "123456789") else words


def _panel(
    pen: Pen,
    stack: Stack,
    wall: str,
    levels: Sequence[Level],
    foot: Point,
    reach: float,
    units: CrewUnits,
) -> list[SvgElement]:
    """One wall, its zero line standing at `foot`."""
    x, y = foot
    height = _ROUND_MM * len(levels)
    scale = (_PANEL_MM / 2 - 14) / reach
    columns = columns_of(stack.layout)[wall]
    ends = {columns[0].column, columns[-1].column}
    measured = {
        number
        for number in range(1, len(levels) + 1)
        if all(t.is_measured for t in stack.tops if (t.wall, t.round) == (wall, number) and t.column in ends)
    }
    band = ON_THE_LINE_MM * scale
    corners = [(x - band, y), (x + band, y), (x + band, y - height), (x - band, y - height)]
    points = [(x + one.out_of_level_mm * scale, y - (one.round - 0.5) * _ROUND_MM) for one in levels]
    marks = [
        pen.text((x, y - height - 3), f"wall {wall}", size=3.6, bold=True, anchor="middle"),
        pen.path(corners, fill=END_GRAIN, weight=0.0),
        pen.line((x, y), (x, y - height), weight=0.35),
        pen.path([(x, y), *points], closed=False, weight=0.2, colour=FAINT),
        pen.text((x - reach * scale, y + 4), _signed(-reach, units), size=2.6, anchor="middle"),
        pen.text((x, y + 4), "level", size=2.6, anchor="middle"),
        pen.text((x + reach * scale, y + 4), _signed(reach, units), size=2.6, anchor="middle"),
        pen.line((x - reach * scale, y), (x + reach * scale, y), weight=0.2),
    ]
    for one, point in zip(levels, points, strict=True):
        error = one.error_mm * scale
        fill = PENCIL if one.round in measured else PAPER
        off = _signed(one.out_of_level_mm, units)
        left, right = x - reach * scale - 2, x + reach * scale + 1
        marks.append(
            group(
                pen.line((point[0] - error, point[1]), (point[0] + error, point[1]), weight=0.3),
                pen.circle(
                    point, 1.3, fill=fill, weight=0.35, data_wall=wall, data_round=str(one.round),
                    data_level_mm=f"{one.out_of_level_mm:.1f}",
                ),
                pen.text((right, point[1] + 1), off, size=2.6),
                pen.text((left, point[1] + 1), str(one.round), size=2.6, anchor="end", colour=FAINT),
                title=f"round {one.round}: {off}",
            )
        )  # fmt: skip
    return marks


def _legend(units: CrewUnits) -> list[LegendEntry]:
    def dot(fill: str) -> Swatch:
        def swatch(pen: Pen, at: Point) -> Sequence[SvgElement]:
            x, y = at[0] + pen.mm(SWATCH_MM[0] / 2), at[1] + pen.mm(2)
            return [
                pen.line((x - 4, y), (x + 4, y), weight=0.3),
                pen.circle((x, y), pen.mm(1.3), fill=fill, weight=0.35),
            ]

        return swatch

    def band(pen: Pen, at: Point) -> Sequence[SvgElement]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        return [pen.path([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], fill=END_GRAIN, weight=0.15)]

    return [
        LegendEntry(words="measured at both ends", swatch=dot(PENCIL)),
        LegendEntry(words="reckoned; line: one standard deviation", swatch=dot(PAPER)),
        LegendEntry(words=f"within {units.across(ON_THE_LINE_MM)}: level", swatch=band),
    ]
