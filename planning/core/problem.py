"""What is to be planned and what a plan is: frozen values, no behaviour beyond looking things up.

Lengths and diameters in mm, heights upward from the deck, positions along a wall from the centre of its
start corner, positions in a log from its butt end. The files that hold them are read in `files.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Literal

Start = Literal["low", "high"]
ButtAt = Literal["start", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """What each term of the objective costs; see docs/planner.md for the meaning of each."""

    level: float
    level_plate: float
    corner: float
    plate_spread: float
    big_low: float
    crown: float
    knot: float
    notch: float
    jamb: float
    waste: float
    culled: float
    short: float
    short_per_mm: float
    hard: float
    grain: float = 0.0


WEIGHT_NAMES: tuple[str, ...] = tuple(f.name for f in fields(Weights))


@dataclass(frozen=True, slots=True, kw_only=True)
class Params:
    """The rules of the job: how logs may be cut, what is a good notch, and the weights."""

    station_inset_mm: float
    trim_each_end_mm: float
    kerf_mm: float
    hazard_clear_mm: float
    max_pieces_per_log: int
    split_overlap: float
    crown_limit_sill_plate_mm: float
    crown_limit_other_mm: float
    jamb_tol_mm: float
    notch_good: tuple[float, float]
    notch_limit: tuple[float, float]
    weights: Weights
    cull_longest_mm: float | None = None
    """A culled log gives no piece longer than this; None: any length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """Metal (never at a notch or cut) or a large knot (counted there), measured from the butt."""

    from_butt_mm: float
    kind: Literal["metal", "knot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """One log as charted. `stations` are further diameters, (from_butt_mm, diameter_mm)."""

    id: str
    length_mm: float
    butt_mm: float
    middle_mm: float
    tip_mm: float
    crown_mm: float = 0.0
    hazards: tuple[Hazard, ...] = ()
    grain: Literal["straight", "left", "right"] = "straight"
    twist: float | None = None
    """Slope of the spiral grain (0.05 is 1:20); None: not measured."""
    culled: bool = False
    stations: tuple[tuple[float, float], ...] = ()
    yard: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall between two corners; `corners` are numbers shared by the walls that cross there."""

    id: str
    length_mm: float
    overhang_mm: float
    start: Start
    corners: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A door or window: `offset_mm` along the wall, `sill_mm` and `head_mm` above the deck."""

    wall: str
    offset_mm: float
    width_mm: float
    sill_mm: float
    head_mm: float
    kind: str = "window"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tee:
    """Where a partition's end (corner number `corner`) crosses another wall between that wall's ends."""

    corner: int
    wall: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """Tops really measured, `tops_mm[wall][round - 1] = (start, end)`; None where nobody measured."""

    round: int
    tops_mm: dict[str, tuple[tuple[float | None, float | None], ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A timber beyond the walls (plate, joist, purlin, ridge, post) that one log part must give."""

    id: str
    length_mm: float
    least_middle_mm: float
    crown_limit_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cabin:
    """One building: its walls, openings, and how many rounds are to be laid."""

    id: str
    rounds: int
    gap_mm: float
    pitch_mm: float
    walls: tuple[Wall, ...]
    openings: tuple[Opening, ...] = ()
    tees: tuple[Tee, ...] = ()
    members: tuple[Member, ...] = ()
    as_built: AsBuilt = field(default_factory=lambda: AsBuilt(round=0, tops_mm={}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Part of a log in a place of a wall, or given to a member (then `wall` is empty, `member` its id)."""

    cabin: str
    wall: str = ""
    round: int = 0
    piece: int = 0
    member: str | None = None
    log: str
    from_butt_mm: float
    butt_at: ButtAt = "start"

    @property
    def place(self) -> tuple[str, str, int, int]:
        """The place this piece fills; a member's place is (cabin, `member:ID`, 0, 0)."""
        if self.member is not None:
            return (self.cabin, f"member:{self.member}", 0, 0)
        return (self.cabin, self.wall, self.round, self.piece)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Which part of which log goes where, for the problem named."""

    problem: str
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Cabins to be built from one yard. `pinned` pieces stay as they are; `excluded` logs give none."""

    name: str
    params: Params
    cabins: tuple[Cabin, ...]
    logs: tuple[Log, ...]
    pinned: tuple[Piece, ...] = ()
    excluded: frozenset[str] = frozenset()
