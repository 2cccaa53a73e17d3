"""Where the walls end: the heights of low and of high walls that a layout comes to before anyone plans."""

from dataclasses import dataclass
from functools import reduce
from operator import add

from cabins.core.layout_parts import Layout, Start, WallTop
from cabins.core.places import columns_of
from cabins.core.stack import half_log_mm, stack_up


@dataclass(frozen=True, slots=True, kw_only=True)
class WallEnd:
    """The height above the deck at which the low, or the high, walls end."""

    start: Start
    top_mm: float


def wall_ends(layout: Layout, *, middle_mm: float | None = None) -> tuple[WallEnd, ...]:
    """Where low and high walls end if every log is as thick as the layout expects, or `middle_mm` thick.

    Flats, half logs, a raised deck and the half logs of even tops are in it.
    """
    columns = columns_of(layout)
    diameters = {
        (wall, number, column.column): middle_mm
        for wall, row in columns.items()
        for number in range(1, layout.round_count + 1)
        for column in row
        if middle_mm is not None
    }
    stack = stack_up(layout, diameters_mm=diameters)
    ends = []
    for start in Start:
        tops = [
            stack.heights_mm[wall.id, layout.round_count, columns[wall.id][end].column]
            for wall in layout.log_walls
            if wall.start is start
            for end in (0, -1)
        ]
        # One after the other: `sum` is more exact from Python 3.12 on, and no figure may hang on that.
        top = reduce(add, tops) / len(tops)
        if start is Start.LOW and layout.top is WallTop.EVEN:
            thick = layout.log_middle_mm if middle_mm is None else middle_mm
            top += layout.gap.target_mm + half_log_mm(diameter_mm=thick, kerf_mm=layout.rip_kerf_mm)
        ends.append(WallEnd(start=start, top_mm=top))
    return tuple(ends)
