"""The pen: lines, shapes and lettering in one look, paper, pencil and timber, readable without colour.

Sizes of lines and letters are mm on the printed sheet, positions are in the drawing's own units.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.drawings.svg import SvgElement, mark

Point = tuple[float, float]

PAPER, PENCIL, FAINT = "#fdfbf4", "#26221d", "#6a6258"
TIMBER, END_GRAIN = "#e6d2aa", "#f1e4c8"
FONT = "Helvetica, Arial, 'DejaVu Sans', 'Libertinus Serif', sans-serif"
# Mean width of a letter over its size in the fonts above; only to cut a text that would not fit.
_LETTER_WIDTH = 0.56
DASHED, CENTRE_LINE = (1.6, 1.1), (3.0, 0.8, 0.6, 0.8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """Draws at a scale: on paper one mm stands for `scale` mm of the thing drawn.

    `key` names the drawing, so that several stand on one page without mixing their ids.
    """

    key: str
    scale: float

    @property
    def hatch(self) -> str:
        """The filling of what is reserved: hatched, so that no colour is needed to see it."""
        return f"url(#{self.key}-reserved)"

    def mm(self, on_paper_mm: float) -> float:
        """A size on the printed sheet, in units of the drawing."""
        return on_paper_mm * self.scale

    def line(
        self,
        start: Point,
        end: Point,
        *,
        weight: float = 0.2,
        colour: str = PENCIL,
        dash: Sequence[float] | None = None,
    ) -> SvgElement:
        return mark(
            "line",
            x1=start[0],
            y1=start[1],
            x2=end[0],
            y2=end[1],
            stroke=colour,
            stroke_width=self.mm(weight),
            stroke_dasharray=self._dash(dash),
        )

    def path(
        self,
        points: Sequence[Point],
        *children: SvgElement,
        closed: bool = True,
        fill: str = "none",
        weight: float = 0.25,
        colour: str = PENCIL,
        dash: Sequence[float] | None = None,
        **more: str,
    ) -> SvgElement:
        """A polygon, or an open line through `points`."""
        return mark(
            "polygon" if closed else "polyline",
            *children,
            points=" ".join(f"{x:.3f},{y:.3f}" for x, y in points),
            fill=fill,
            stroke=colour,
            stroke_width=self.mm(weight),
            stroke_linejoin="round",
            stroke_dasharray=self._dash(dash),
            **more,
        )

    def circle(
        self,
        centre: Point,
        radius: float,
        *children: SvgElement,
        fill: str = "none",
        weight: float = 0.25,
        colour: str = PENCIL,
        dash: Sequence[float] | None = None,
        **more: str,
    ) -> SvgElement:
        return mark(
            "circle",
            *children,
            cx=centre[0],
            cy=centre[1],
            r=radius,
            fill=fill,
            stroke=colour,
            stroke_width=self.mm(weight),
            stroke_dasharray=self._dash(dash),
            **more,
        )

    def text(
        self,
        at: Point,
        words: str,
        *,
        size: float = 3.0,
        anchor: str = "start",
        bold: bool = False,
        colour: str = PENCIL,
        halo: bool = False,
        width: float | None = None,
        turned: bool = False,
        underlined: bool = False,
    ) -> SvgElement:
        """Lettering, its baseline at `at`; cut off where it would be wider than `width` (drawing units)."""
        fitting = words if width is None else self.fitted(words, width=width, size=size)
        return mark(
            "text",
            fitting,
            x=at[0],
            y=at[1],
            font_size=self.mm(size),
            font_weight="bold" if bold else None,
            text_anchor=None if anchor == "start" else anchor,
            fill=colour,
            stroke=PAPER if halo else None,
            stroke_width=self.mm(0.9) if halo else None,
            stroke_linejoin="round" if halo else None,
            paint_order="stroke" if halo else None,
            text_decoration="underline" if underlined else None,
            transform=f"rotate(-90 {at[0]:.3f} {at[1]:.3f})" if turned else None,
        )

    def fitted(self, words: str, *, width: float, size: float) -> str:
        """The words, or as many letters of them as fit; nothing where not even one does."""
        room = int(width / (self.mm(size) * _LETTER_WIDTH))
        if len(words) <= room:
            return words
        return f"{words[: room - 1]}…" if room > 1 else ""

    def width_of(self, words: str, *, size: float) -> float:
        """About how wide a text will be."""
        return len(words) * self.mm(size) * _LETTER_WIDTH

    def hatching(self) -> SvgElement:
        """The definition behind `hatch`."""
        gap = self.mm(1.8)
        return mark(
            "defs",
            mark(
                "pattern",
                mark("rect", width=gap, height=gap, fill=PAPER),
                mark("line", x1=0, y1=0, x2=0, y2=gap, stroke=FAINT, stroke_width=self.mm(0.3)),
                id=f"{self.key}-reserved",
                width=gap,
                height=gap,
                patternUnits="userSpaceOnUse",
                patternTransform="rotate(45)",
            ),
        )

    def _dash(self, dash: Sequence[float] | None) -> str | None:
        return None if dash is None else " ".join(f"{self.mm(one):.3f}" for one in dash)


def group(*marks: SvgElement, title: str = "", **attributes: str) -> SvgElement:
    """Marks that belong together, with words that appear where one points at them."""
    told = (mark("title", title),) if title else ()
    return mark("g", *told, *marks, **attributes)
