"""The frame of every drawing: heading above, legend and scale bar below, the scale that suits a sheet."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.pen import FAINT, FONT, PAPER, PENCIL, Pen, Point
from inventory.core.drawings.svg import Box, SvgElement, document, mark

# Scales that a builder's rule has, and what fits an A4 sheet laid across beside heading and legend.
SCALES = (1, 2, 5, 10, 20, 25, 50, 100, 200, 500)
SHEET_MM = (262.0, 150.0)
MM_PER_FT = 304.8

Swatch = Callable[[Pen, Point], Sequence[SvgElement]]
SWATCH_MM = (10.0, 4.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LegendEntry:
    """One line of the legend: `swatch` draws it at the top left corner of a field of SWATCH_MM."""

    words: str
    swatch: Swatch


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What stands above a drawing, and what a screen reader is told of it."""

    title: str
    subtitle: str
    desc: str


def pen_for(key: str, *, width_mm: float, height_mm: float) -> Pen:
    """A pen with the largest usual scale at which something of this size fits the sheet."""
    for scale in SCALES:
        if width_mm <= SHEET_MM[0] * scale and height_mm <= SHEET_MM[1] * scale:
            return Pen(key=key, scale=scale)
    return Pen(key=key, scale=SCALES[-1])


def framed(
    pen: Pen,
    *,
    heading: Heading,
    content: Box,
    marks: Sequence[SvgElement],
    legend: Sequence[LegendEntry] = (),
    units: CrewUnits | None = None,
) -> str:
    """A whole drawing as SVG. `units`: draw a scale bar in the crew's unit; without, it has no scale."""
    margin, least = pen.mm(8), pen.mm(150)
    right = max(content.right, content.left + least)
    top = content.top - pen.mm(18)
    below, foot = _legend(pen, legend, left=content.left, right=right, top=content.bottom + pen.mm(7))
    bar = [] if units is None else _scale_bar(pen, (content.left, foot + pen.mm(6)), units)
    bottom = foot + (pen.mm(10) if bar else 0.0)
    view = Box(left=content.left - margin, top=top - margin, right=right + margin, bottom=bottom + margin)
    width = right - content.left
    above = [
        mark("rect", x=view.left, y=view.top, width=view.width, height=view.height, fill=PAPER),
        pen.text((content.left, top + pen.mm(4)), heading.title, size=5.5, bold=True, width=width),
        pen.text((content.left, top + pen.mm(10)), heading.subtitle, size=3.2, colour=FAINT, width=width),
    ]
    return document(
        key=pen.key,
        title=heading.title,
        desc=heading.desc,
        view=view,
        scale=pen.scale,
        marks=[pen.hatching(), *above, *marks, *below, *bar],
        font=FONT,
    )


def _legend(
    pen: Pen, legend: Sequence[LegendEntry], *, left: float, right: float, top: float
) -> tuple[list[SvgElement], float]:
    """The legend in lines from `left` to `right`, and where it ends."""
    marks: list[SvgElement] = []
    x, y = left, top
    for entry in legend:
        width = pen.mm(SWATCH_MM[0] + 2) + pen.width_of(entry.words, size=3)
        if x > left and x + width > right:
            x, y = left, y + pen.mm(6.5)
        marks += entry.swatch(pen, (x, y))
        marks.append(pen.text((x + pen.mm(SWATCH_MM[0] + 2), y + pen.mm(3.1)), entry.words, size=3))
        x += width + pen.mm(5)
    return marks, y + pen.mm(SWATCH_MM[1]) if legend else top - pen.mm(4)


def _scale_bar(pen: Pen, at: Point, units: CrewUnits) -> list[SvgElement]:
    """A ruler of five steps, every other one filled, and the scale in words."""
    step, word = next(
        (step, word) for step, word in _STEPS[units.is_metric] if step >= pen.mm(8) or step == _LARGEST
    )
    (x, y), height = at, pen.mm(1.6)
    marks = [
        mark(
            "rect", x=x + number * step, y=y, width=step, height=height, stroke=PENCIL,
            stroke_width=pen.mm(0.2), fill=PENCIL if number % 2 == 0 else PAPER,
        )
        for number in range(5)
    ]  # fmt: skip
    words = f"one field {word}; 1 : {pen.scale:g} if printed at full size"
    return [*marks, pen.text((x + 5 * step + pen.mm(3), y + height), words, size=3, colour=FAINT)]


_LARGEST = 100_000.0
_STEPS = {
    True: (
        *((float(mm), f"{mm} mm") for mm in (10, 20, 50, 100, 200, 500)),
        *((float(m * 1000), f"{m} m") for m in (1, 2, 5, 10, 20, 100)),
    ),
    False: (
        *((inches * 25.4, f"{inches} in") for inches in (1, 2, 3, 6)),
        *((feet * MM_PER_FT, f"{feet} ft") for feet in (1, 2, 5, 10, 20, 50)),
        (_LARGEST, "328 ft"),
    ),
}


def axis_steps(low: float, high: float, *, most: int = 10) -> list[float]:
    """Round numbers from at or below `low` to at or above `high`, at most about `most` of them."""
    steps = [base * 10.0**power for power in range(-1, 6) for base in (1, 2, 5)]
    step = next((step for step in steps if (high - low) / step <= most), steps[-1])
    first, last = int(low // step), int(-(-high // step))
    return [number * step for number in range(first, max(last, first + 1) + 1)]
