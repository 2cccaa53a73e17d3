"""The parts of a layout as frozen values: corners, walls, partitions, gap, openings, members."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import wraps
from typing import Any, TypeVar

from cabins.core.members import LayoutMember, SingleMember, single_members
from cabins.core.openings import CUT_SHARE, Threshold
from cabins.core.roof_line import GablePlace, RoofLine
from cabins.core.rounds import rounds_for_height

# A piece beside an opening may run so far past its jamb until it is cut plumb (common practice, no source).
RUN_WILD_MM = 25.0
# A shorter piece beside an opening is hard to hold still until the jambs are in (common practice, no source).
LEAST_PIECE_MM = 600.0

# Where along its wall a piece lies, from its start to its end.
Span = tuple[float, float]
# The pieces of every course, along the wall: by (wall, round).
Courses = Mapping[tuple[str, int], tuple[Span, ...]]


T = TypeVar("T")

# What a wall's logs reach past its start and its end; None: as far as the layout says.
OwnOverhangs = tuple[float | None, float | None]


class Start(StrEnum):
    """How a wall starts: its first log on the deck, or half a log up."""

    LOW = "low"
    HIGH = "high"


class HighStart(StrEnum):
    """With what the high walls start: a log ripped in half, or a deck built higher under them."""

    HALF_LOG = "half_log"
    RAISED_DECK = "raised_deck"


class WallTop(StrEnum):
    """How walls end: low and high ones half a round apart, or level by half logs on the low ones."""

    AS_IT_FALLS = "as_it_falls"
    EVEN = "even"


class NotchKind(StrEnum):
    """The cut by which a log sits over the crossing log."""

    SADDLE = "saddle"
    LAP = "lap"
    HALF_DOVETAIL = "half_dovetail"
    FULL_DOVETAIL = "full_dovetail"


class OpeningKind(StrEnum):
    """What an opening is for."""

    DOOR = "door"
    WINDOW = "window"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A corner, at the centre of the logs that cross there."""

    id: str
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tee:
    """Where a wall meets another one between that one's ends: `at_mm` along it from where it starts."""

    wall: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOn:
    """A stretch of a wall past an inner corner, into the room to the wall that it meets: a partition of the
    same logs. `length_mm` from the corner's centre to the tee's."""

    length_mm: float
    tee: Tee


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """An outer wall from corner to corner, and on to a tee where it runs on past an inner corner.

    `length_mm` from centre to centre of what crosses at its two ends. Positions count from the first of them:
    the start corner, or the tee where the wall runs on past that corner.
    """

    id: str
    from_corner: str
    to_corner: str
    start: Start
    length_mm: float
    overhangs_mm: OwnOverhangs = (None, None)
    run_ons: tuple[RunOn | None, RunOn | None] = (None, None)

    @property
    def tees(self) -> tuple[Tee | None, Tee | None]:
        """Where it meets other walls with its start and its end; None where that is a corner."""
        start, end = (run_on.tee if run_on else None for run_on in self.run_ons)
        return start, end

    @property
    def from_corner_mm(self) -> float:
        """Where along it its start corner lies."""
        return self.run_ons[0].length_mm if self.run_ons[0] else 0.0

    @property
    def to_corner_mm(self) -> float:
        """Where along it its end corner lies."""
        return self.length_mm - (self.run_ons[1].length_mm if self.run_ons[1] else 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class WallTee:
    """The end of a wall or partition that crosses another wall between that one's ends, `at_mm` along its
    own."""

    wall: str
    at_mm: float
    tee: Tee

    @property
    def id(self) -> str:
        """The name of the crossing."""
        return f"{self.wall}-{self.tee.wall}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Partition:
    """A log wall inside the cabin that meets a wall in a T at both ends."""

    id: str
    from_tee: Tee
    to_tee: Tee
    start: Start
    length_mm: float
    overhangs_mm: OwnOverhangs = (None, None)

    @property
    def tees(self) -> tuple[Tee, Tee]:
        """Where it meets walls with its start and its end."""
        return self.from_tee, self.to_tee


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """The band of the gap between two logs of a wall. Negative: a scribed overlap."""

    smallest_mm: float
    target_mm: float
    largest_mm: float

    @property
    def is_scribed(self) -> bool:
        """Whether the logs overlap in a scribed groove instead of leaving a gap to chink."""
        return self.target_mm < 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SillFlat:
    """The flat under a first log: hewn to one depth, or to one width and then deeper in thick wood.

    Just one of the two is given. A width of 50 to 75 mm is published: MP 579.
    """

    depth_mm: float | None = None
    width_mm: float | None = None

    def depth_in_mm(self, diameter_mm: float) -> float:
        """How deep the flat goes into a log of `diameter_mm`: the height of the segment cut off."""
        if self.depth_mm is not None:
            return self.depth_mm
        half = min(self.width_mm or 0.0, diameter_mm) / 2
        return diameter_mm / 2 - math.sqrt(diameter_mm * diameter_mm / 4 - half * half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """An opening; `offset_mm` along its wall, `sill_mm` and `head_mm` above the deck.

    `threshold`: what becomes of the log at its foot; `flatten_mm`: how deep one that is flattened.
    """

    id: str
    kind: OpeningKind
    wall: str
    offset_mm: float
    width_mm: float
    sill_mm: float
    head_mm: float
    threshold: Threshold = Threshold.CUT_THROUGH
    flatten_mm: float = 0.0

    @property
    def end_mm(self) -> float:
        """The far edge of the opening along its wall."""
        return self.offset_mm + self.width_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class LogWall:
    """A wall or partition seen as a row of logs: all that heights and places ask of it.

    `overhangs_mm`: how far its logs reach past the centres of its start and its end corner.
    """

    id: str
    length_mm: float
    overhangs_mm: tuple[float, float]
    start: Start
    is_partition: bool

    @property
    def from_mm(self) -> float:
        """Where a whole log begins along the wall: before the start corner's centre, so negative."""
        return -self.overhangs_mm[0]

    @property
    def to_mm(self) -> float:
        """Where a whole log ends along the wall."""
        return self.length_mm + self.overhangs_mm[1]

    @property
    def log_mm(self) -> float:
        """The length of a whole log of this wall."""
        return self.to_mm - self.from_mm


def once_a_layout(work_out: Callable[["Layout"], T]) -> Callable[["Layout"], T]:
    """A function of a layout that is worked out once for each: a wall's heights ask for it at every log."""

    @wraps(work_out)
    def kept(layout: "Layout") -> T:
        if work_out.__name__ not in layout.derived:
            layout.derived[work_out.__name__] = work_out(layout)
        found: T = layout.derived[work_out.__name__]
        return found

    return kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A cabin's layout, checked as a whole. `rounds` is None where the wall height decides."""

    corners: tuple[Corner, ...]
    walls: tuple[Wall, ...]
    partitions: tuple[Partition, ...]
    high_start: HighStart
    overhang_mm: float
    notch: NotchKind
    gap: Gap
    log_middle_mm: float
    wall_height_mm: float
    rounds: int | None
    openings: tuple[Opening, ...]
    members: tuple[LayoutMember, ...]
    # None: a first log lies on packing as high as the gap, as layouts without a flat mean it.
    sill_flat: SillFlat | None = None
    # The sill sealer between the deck and the first logs.
    sealer_mm: float = 0.0
    # Whether the half logs that high walls start on are places to be filled; their saw cut.
    half_logs: bool = False
    rip_kerf_mm: float = 5.0
    # How much higher the deck lies under the high walls; None: not told, half a round.
    deck_raise_mm: float | None = None
    top: WallTop = WallTop.AS_IT_FALLS
    # Of a sill or header log so much may be cut away; where an opening takes more the log is cut through.
    cut_share: float = CUT_SHARE
    run_wild_mm: float = RUN_WILD_MM
    least_piece_mm: float = LEAST_PIECE_MM
    # The pieces of every course: how its openings cut it, by the heights expected, planned or standing.
    courses: Courses = field(default_factory=dict)
    # The line that gables of logs shorten to, and the places of their logs; None: no gables of logs.
    roof_line: RoofLine | None = None
    gable_places: tuple[GablePlace, ...] = ()
    # What follows from the layout alone, worked out once: see `once_a_layout`.
    derived: dict[str, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def pitch_mm(self) -> float:
        """The nominal height of a round: the middle diameter expected plus the target gap."""
        return self.log_middle_mm + self.gap.target_mm

    @property
    def round_count(self) -> int:
        """Rounds as given, or the least number whose low walls' top reaches the wall height wanted."""
        return self.rounds or rounds_for_height(self.wall_height_mm, self.pitch_mm)

    @property
    def single_members(self) -> tuple[SingleMember, ...]:
        """Every member beyond the walls by itself, in the order of the document, then the gables' logs."""
        return (*single_members(self.members), *(place.member for place in self.gable_places))

    @property
    @once_a_layout
    def log_walls(self) -> tuple[LogWall, ...]:
        """Walls, then partitions, in the order of the document."""
        walls: tuple[Wall | Partition, ...] = (*self.walls, *self.partitions)
        return tuple(
            LogWall(
                id=wall.id,
                length_mm=wall.length_mm,
                overhangs_mm=self._overhangs_mm(wall.overhangs_mm),
                start=wall.start,
                is_partition=isinstance(wall, Partition),
            )
            for wall in walls
        )

    @property
    @once_a_layout
    def wall_tees(self) -> tuple[WallTee, ...]:
        """Every tee: those of partitions in the order of the document, then those of walls that run on."""
        walls: tuple[Wall | Partition, ...] = (*self.partitions, *self.walls)
        return tuple(
            WallTee(wall=one.id, at_mm=at_mm, tee=tee)
            for one in walls
            for tee, at_mm in zip(one.tees, (0.0, one.length_mm), strict=True)
            if tee is not None
        )

    def _overhangs_mm(self, own_mm: OwnOverhangs) -> tuple[float, float]:
        start, end = (self.overhang_mm if one is None else one for one in own_mm)
        return start, end
