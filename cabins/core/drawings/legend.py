"""What the drawings of a wall share: the legend of its logs, and heights written beside it."""

from collections.abc import Sequence

from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.next_log import ON_THE_LINE_MM
from cabins.core.stack import PiledTop
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, LegendEntry
from inventory.core.drawings.hazards import hazard_entries
from inventory.core.drawings.pen import DASHED, FAINT, PAPER, TIMBER, Pen, Point
from inventory.core.drawings.svg import SvgElement


def legend_of(
    pieces: Sequence[PieceToDraw],
    *,
    any_empty: bool,
    any_opening: bool,
    any_measured: bool,
    any_butt: bool = True,
    beyond: Sequence[Filling] = (),
) -> list[LegendEntry]:
    """The legend of a wall's logs; `beyond`: how what is drawn beside its places is filled."""

    def field(fill: str, weight: float, words: str, dash: Sequence[float] | None = None) -> LegendEntry:
        def swatch(pen: Pen, at: Point) -> list[SvgElement]:
            x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
            corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
            return [pen.path(corners, fill=fill, weight=weight, dash=dash)]

        return LegendEntry(words=words, swatch=swatch)

    def reserved(words: str) -> LegendEntry:
        def swatch(pen: Pen, at: Point) -> list[SvgElement]:
            return list(field(pen.hatch, 0.3, words).swatch(pen, at))

        return LegendEntry(words=words, swatch=swatch)

    def butt(pen: Pen, at: Point) -> list[SvgElement]:
        x = at[0] + pen.mm(SWATCH_MM[0] / 2)
        return [pen.line((x, at[1]), (x, at[1] + pen.mm(SWATCH_MM[1])), weight=1.3)]

    butts = {piece.filling for piece in pieces}
    there = butts | set(beyond)
    found = [field(TIMBER, 0.45, "set")] if Filling.SET in there else []
    found += [reserved(str(one)) for one in (Filling.RESERVED, Filling.PROPOSED) if one in there]
    found += [field("none", 0.25, "empty: usual size", DASHED)] if any_empty else []
    found += [LegendEntry(words="butt end", swatch=butt)] if butts and any_butt else []
    found += [field(PAPER, 0.7, "opening")] if any_opening else []
    found += hazard_entries(sorted({hazard.kind for piece in pieces for hazard in piece.hazards}))
    return [*found, *([LegendEntry(words="measured height", swatch=_measured)] if any_measured else [])]


def _measured(pen: Pen, at: Point) -> list[SvgElement]:
    return [pen.text((at[0] + pen.mm(1), at[1] + pen.mm(3.1)), "1.23", size=2.6, bold=True, underlined=True)]


def height_mark(pen: Pen, top: PiledTop, units: CrewUnits, *, edge: float, way: int) -> list[SvgElement]:
    """A tick at a top's height and the height in words, left (`way` -1) or right (1) of `edge`.

    Where the top stands off its plan, by how much stands under it.
    """
    y, x = -top.top_mm, edge + way * pen.mm(3.8)
    anchor = "end" if way < 0 else "start"
    marks = [
        pen.line((edge + way * pen.mm(0.8), y), (edge + way * pen.mm(3), y), colour=FAINT),
        pen.text(
            (x, y + pen.mm(0.9)),
            units.along(top.top_mm),
            size=2.6,
            anchor=anchor,
            bold=top.is_measured,
            underlined=top.is_measured,
        ),
    ]
    off = top.stands_off_mm or 0.0
    if abs(off) > ON_THE_LINE_MM:
        words = f"{units.across(abs(off))} {'high' if off > 0 else 'low'}"
        marks.append(pen.text((x, y + pen.mm(3.6)), words, size=2.3, anchor=anchor, colour=FAINT))
    return marks
