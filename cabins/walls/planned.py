"""What is planned for a cabin's open places, and how high: cabins ask, whoever plans answers.

Cabins come before plans in the house, so planning registers its answer when Django starts. Without one
nothing is planned.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.core.layout_parts import Courses
from cabins.core.places import Spot

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWall:
    """What the plan that a cabin is built by has for all its places; see `Standing` for the rows.

    `tops_mm`: the plan's own tops, from round 0 on. `courses`: how it cuts them; None: as the cabin has them.
    """

    pieces: Rows = ()
    tops_mm: Mapping[Spot, float] = field(default_factory=dict)
    courses: Courses | None = None


PlannedWalls = Callable[[Sequence[Cabin]], Mapping[UUID, PlannedWall]]


_answers: list[PlannedWalls] = []


def register_planned_walls(answer: PlannedWalls) -> None:
    """Let `answer` say what is planned for the cabins given; those without a plan that holds are left out."""
    _answers[:] = [answer]


def planned_walls_of(cabins: Sequence[Cabin]) -> Mapping[UUID, PlannedWall]:
    """What the plans in force have for these cabins; those without one are left out."""
    return _answers[0](cabins) if _answers else {}
