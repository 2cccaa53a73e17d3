"""How high single ends of walls stand: the tops of the wall stack that progress asks for, without the rest.

Heights in mm above the deck. `stack_up` gives the same tops (a test holds both to the last bit), but with
every round, column, notch and mismatch of the cabin, and from the diameters of every log; here an end is
reckoned from its last measured height, so that the logs below it are not needed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cabins.core.layout_parts import Layout, Start
from cabins.core.places import Column, Spot
from cabins.core.stack import top_error_mm

# One round of one wall.
Course = tuple[str, int]
# By wall, as `columns_of` gives them.
Columns = Mapping[str, Sequence[Column]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """The top of a wall's end after a round: what `Top` says of it."""

    top_mm: float
    error_mm: float
    is_measured: bool
    is_assumed: bool


def courses_needed(
    layout: Layout, columns: Columns, courses: Iterable[Course], measured_mm: Mapping[Spot, float]
) -> set[Course]:
    """The courses whose diameters the tops after `courses` hang on: those above the last measured height."""
    low = [wall.id for wall in layout.log_walls if wall.start is Start.LOW]
    needed: set[Course] = set()
    for wall, number in courses:
        for column in _ends(columns[wall]):
            last = _last_measured(column, number, measured_mm)
            needed |= {(wall, above) for above in range((last or 0) + 1, number + 1)}
            if last is None and wall not in low:
                needed |= {(one, 1) for one in low}
    return needed


def ends_after(
    layout: Layout,
    columns: Columns,
    courses: Iterable[Course],
    *,
    diameters_mm: Mapping[Spot, float],
    measured_mm: Mapping[Spot, float],
) -> dict[Course, tuple[Reached, Reached]]:
    """The tops at start and end of each wall after its round, as `stack_up` reckons them.

    `measured_mm`: as-built tops, sparse, where a log lies. `diameters_mm`: those of `courses_needed`; where
    no log is known the layout's middle diameter stands in.
    """

    def rise_mm(column: Column, number: int) -> float:
        spot = (column.wall, number, column.column)
        return diameters_mm.get(spot, layout.log_middle_mm) + layout.gap.target_mm

    low = [wall.id for wall in layout.log_walls if wall.start is Start.LOW]
    first = [rise_mm(column, 1) for wall in low for column in _ends(columns[wall])]
    high_start = 0.5 * (sum(first) / len(first))

    def reached(column: Column, number: int) -> Reached:
        last = _last_measured(column, number, measured_mm)
        base = 0.0 if column.wall in low else high_start
        top = base if last is None else measured_mm[column.wall, last, column.column]
        since = range((last or 0) + 1, number + 1)
        for above in since:
            top += rise_mm(column, above)
        return Reached(
            top_mm=top,
            error_mm=top_error_mm(rounds_since_measured=len(since)),
            is_measured=last == number,
            is_assumed=bool(since) and (column.wall, number, column.column) not in diameters_mm,
        )

    return {
        (wall, number): (reached(columns[wall][0], number), reached(columns[wall][-1], number))
        for wall, number in courses
    }


def _ends(columns: Sequence[Column]) -> tuple[Column, Column]:
    return columns[0], columns[-1]


def _last_measured(column: Column, number: int, measured_mm: Mapping[Spot, float]) -> int | None:
    """The last round up to `number` after which this end was measured."""
    rounds = range(number, -1, -1)
    return next((one for one in rounds if (column.wall, one, column.column) in measured_mm), None)
