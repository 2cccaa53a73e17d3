"""Where the walls end: the heights of low and of high walls that a layout comes to before anyone plans."""

from dataclasses import dataclass
from functools import reduce
from operator import add

from cabins.core.layout_parts import Layout, Start
from cabins.core.pile import half_ends
from cabins.core.places import columns_of
from cabins.core.stack import stack_up


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
    spots = [
        (wall, number, column.column)
        for wall, row in columns.items()
        for number in range(1, layout.round_count + 1)
        for column in row
    ]
    spots += [(wall, layout.round_count + 1, end.column) for wall, end, _ in half_ends(layout, columns)]
    stack = stack_up(layout, diameters_mm=dict.fromkeys(spots, middle_mm) if middle_mm is not None else {})
    starts = {wall.id: wall.start for wall in layout.log_walls}
    ends = []
    for start in Start:
        last = [
            stack.heights_mm[wall, layout.round_count, columns[wall][end].column]
            for wall, own in starts.items()
            if own is start
            for end in (0, -1)
        ]
        # Where half logs end the low walls, theirs are the last tops.
        tops = [top.top_mm for top in stack.half_tops if starts[top.wall] is start] or last
        # One after the other: `sum` is more exact from Python 3.12 on, and no figure may hang on that.
        ends.append(WallEnd(start=start, top_mm=reduce(add, tops) / len(tops)))
    return tuple(ends)
