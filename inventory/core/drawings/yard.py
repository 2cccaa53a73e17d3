"""A yard's logs as histograms of middle diameter and length, free ones apart from reserved ones."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.frame import SWATCH_MM, Heading, LegendEntry, axis_steps, framed
from inventory.core.drawings.pen import FAINT, TIMBER, Pen, Point, group
from inventory.core.drawings.svg import Box, SvgElement

# Widths of the bins, across and along, in steps a crew thinks in.
_BINS_MM = {True: (10.0, 500.0), False: (12.7, 609.6)}
_MOST_BINS = 40
_PANEL_MM = (240.0, 62.0)
_BETWEEN_MM = 26.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LogInYard:
    """A log that lies in the yard."""

    middle_mm: float
    length_mm: float
    is_reserved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """How many logs have a size from `from_mm` up to `to_mm`, that one not included."""

    from_mm: float
    to_mm: float
    free: int
    reserved: int


def binned(sizes: Sequence[tuple[float, bool]], *, bin_mm: float) -> list[Bin]:
    """Sizes and whether each is reserved, counted in bins that begin at multiples of `bin_mm`.

    Where that gives more bins than can be read, they are made wider by whole times.
    """
    if not sizes:
        return []
    least, most = min(size for size, _ in sizes), max(size for size, _ in sizes)
    width = bin_mm * math.ceil((most - least) / bin_mm / _MOST_BINS) if most > least else bin_mm
    first, last = math.floor(least / width), math.floor(most / width)
    counts = [[0, 0] for _ in range(first, last + 1)]
    for size, is_reserved in sizes:
        counts[math.floor(size / width) - first][is_reserved] += 1
    return [
        Bin(from_mm=(first + n) * width, to_mm=(first + n + 1) * width, free=free, reserved=reserved)
        for n, (free, reserved) in enumerate(counts)
    ]


def draw_yard(name: str, logs: Sequence[LogInYard], *, units: CrewUnits) -> str:
    """The yard as SVG: middles above, lengths below. Bars carry `data-free` and `data-reserved`."""
    across, along = _BINS_MM[units.is_metric]
    pen = Pen(key="yard", scale=1)
    middles = binned([(log.middle_mm, log.is_reserved) for log in logs], bin_mm=across)
    lengths = binned([(log.length_mm, log.is_reserved) for log in logs], bin_mm=along)
    reserved = sum(log.is_reserved for log in logs)
    told = f"{len(logs)} logs lie here: {len(logs) - reserved} free, {reserved} reserved"
    second = _PANEL_MM[1] + _BETWEEN_MM
    marks: list[SvgElement] = []
    if logs:
        marks += _panel(pen, middles, "middle diameter", 0.0, [units.across(b.from_mm) for b in middles])
        marks += _panel(pen, lengths, "length", second, [units.along(b.from_mm) for b in lengths])
    return framed(
        pen,
        heading=Heading(
            title=f"{name}: what lies in the yard",
            subtitle=told,
            desc=f"{told}. {_spoken('Middle diameters', middles, units.across)} "
            f"{_spoken('Lengths', lengths, units.along)}",
        ),
        content=Box(left=0.0, top=-4.0, right=_PANEL_MM[0], bottom=second + _PANEL_MM[1] + 14),
        marks=marks,
        legend=[_entry("free", is_reserved=False), _entry("reserved", is_reserved=True)],
    )


def _spoken(what: str, bins: Sequence[Bin], write: Callable[[float], str]) -> str:
    if not bins:
        return ""
    fullest = max(bins, key=lambda one: one.free + one.reserved)
    span = f"{write(bins[0].from_mm)} to {write(bins[-1].to_mm)}"
    most = f"{write(fullest.from_mm)} to {write(fullest.to_mm)}"
    return f"{what} run from {span}, most logs have {most}."


def _panel(pen: Pen, bins: Sequence[Bin], what: str, top: float, labels: Sequence[str]) -> list[SvgElement]:
    foot, (width, height) = top + _PANEL_MM[1], _PANEL_MM
    steps = [n for n in axis_steps(0, max(b.free + b.reserved for b in bins), most=6) if n == int(n)]
    scale, step = (height - 6) / steps[-1], width / len(bins)
    marks = [pen.text((0, top + 1), f"logs by {what}", size=3.4, bold=True)]
    for n in steps:
        y = foot - n * scale
        marks.append(pen.line((8, y), (width, y), weight=0.12, colour=FAINT))
        marks.append(pen.text((6.5, y + 1), f"{n:.0f}", size=2.8, anchor="end", colour=FAINT))
    bar = (width - 10) / len(bins)
    # As many labels as have room, each under the left edge of its bin.
    every = max(1, math.ceil((pen.width_of(max(labels, key=len), size=2.6) + 3) / bar))
    for n, (one, label) in enumerate(zip(bins, labels, strict=True)):
        left = 10 + n * bar
        marks.append(_bar(pen, one, left, foot, min(bar, step) * 0.94, scale))
        if n % every == 0:
            marks.append(pen.line((left, foot), (left, foot + 1.4), weight=0.2))
            marks.append(pen.text((left, foot + 4.6), label, size=2.6, anchor="middle"))
    return [*marks, pen.line((8, foot), (width, foot), weight=0.4)]


def _bar(pen: Pen, one: Bin, left: float, foot: float, width: float, scale: float) -> SvgElement:
    def block(low: float, high: float, fill: str) -> SvgElement:
        corners = [(left, low), (left + width, low), (left + width, high), (left, high)]
        return pen.path(corners, fill=fill, weight=0.3)

    middle = foot - one.free * scale
    parts = [block(foot, middle, TIMBER)] if one.free else []
    parts += [block(middle, middle - one.reserved * scale, pen.hatch)] if one.reserved else []
    return group(
        *parts,
        title=f"{one.free} free, {one.reserved} reserved",
        data_free=str(one.free),
        data_reserved=str(one.reserved),
    )


def _entry(words: str, *, is_reserved: bool) -> LegendEntry:
    def swatch(pen: Pen, at: Point) -> Sequence[SvgElement]:
        x, y, w, h = *at, pen.mm(SWATCH_MM[0]), pen.mm(SWATCH_MM[1])
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        return [pen.path(corners, fill=pen.hatch if is_reserved else TIMBER, weight=0.3)]

    return LegendEntry(words=words, swatch=swatch)
