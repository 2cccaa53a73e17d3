"""What is to be planned and what a plan is: frozen values, no behaviour beyond looking things up.

Lengths and diameters in mm, heights upward from the deck, positions along a wall from the centre of its
start corner, positions in a log from its butt end. The files that hold them are read in `files.py`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Literal

Start = Literal["low", "high"]
Rows = tuple[tuple[float | None, ...], ...]
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
    keep: float = 0.0
    alternate: float = 0.0
    late_level: float = 0.0
    long: float = 0.0
    opening: float = 0.0


WEIGHT_NAMES: tuple[str, ...] = tuple(f.name for f in fields(Weights))
NEWER_WEIGHTS = frozenset({"grain", "keep", "alternate", "late_level", "long", "opening"})
"""A file that leaves one of these out means 0."""

GRAIN_RULES = (
    "twist_low",
    "twist_two_full_notches",
    "twist_opening_cut",
    "left_severe_half_log_only",
    "left_moderate_lowest_third",
    "top_round_straight",
)
"""Rules of spiral grain that a problem may make binding, by the names they have in cabins/core/grain.py."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainBinds:
    """Rules of spiral grain that bind, and the bands: the run for one across up to which a spiral counts.

    A run longer than `straight_run` is straight, one up to `moderate_run` severe, between them moderate; a
    spiral whose slope nobody wrote down is severe.
    """

    rules: tuple[str, ...]
    straight_run: float = 30.0
    moderate_run: float = 20.0


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
    grain_binds: GrainBinds | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemHazard:
    """Metal (never at a notch or cut) or a large knot (counted there), measured from the butt."""

    from_butt_mm: float
    kind: Literal["metal", "knot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemLog:
    """One log as charted. `stations` are further diameters, (from_butt_mm, diameter_mm)."""

    id: str
    length_mm: float
    butt_mm: float
    middle_mm: float
    tip_mm: float
    crown_mm: float = 0.0
    hazards: tuple[ProblemHazard, ...] = ()
    grain: Literal["straight", "left", "right"] = "straight"
    twist: float | None = None
    """Slope of the spiral grain (0.05 is 1:20); None: not measured."""
    culled: bool = False
    stations: tuple[tuple[float, float], ...] = ()
    yard: str | None = None
    part_of: str | None = None
    """The log that this is a part of, sawn off already; None: a whole log."""
    part_from_mm: float = 0.0
    """Where the part begins in that log; all else of a part is measured from there."""
    is_sawn: bool = False
    """A part that is a piece sawn to length, not a rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemWall:
    """A wall between two corners; `corners` are numbers shared by the walls that cross there.

    `overhangs_mm`: how far its logs reach past the centres of its start and its end corner.
    """

    id: str
    length_mm: float
    overhangs_mm: tuple[float, float]
    start: Start
    corners: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemOpening:
    """A door or window: `offset_mm` along the wall, `sill_mm` and `head_mm` above the deck.

    `space_mm` is left free above the head for settling: the hole asked for ends at head + space. `threshold`:
    what becomes of the log at its foot; `flatten_mm`: how deep one that is flattened.
    """

    wall: str
    offset_mm: float
    width_mm: float
    sill_mm: float
    head_mm: float
    kind: str = "window"
    space_mm: float = 0.0
    threshold: Literal["cut_through", "flattened", "kept"] = "cut_through"
    flatten_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemTee:
    """What crosses a wall between its ends, at the corner number `corner`.

    A partition; or, at a corner that the wall runs on past, the other wall of that corner.
    """

    corner: int
    wall: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """Tops really measured, `tops_mm[wall][round - 1] = (start, end, tees ...)`; None where nobody measured.

    Tees may be left out. `planned_mm`, in the same shape: the tops that the plan in force had there.
    """

    round: int
    tops_mm: dict[str, Rows]
    planned_mm: dict[str, Rows] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemSillFlat:
    """The flat on which a log lies on the deck, by its depth or by its width; and a sealer's thickness."""

    depth_mm: float | None = None
    width_mm: float | None = None
    sealer_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Half:
    """A place for a half log, from `start_mm` to `end_mm` along its wall.

    In round 0 of a high wall; or, with even tops, in the round over the last one of a low wall, between the
    walls that cross there.
    """

    wall: str
    piece: int
    start_mm: float
    end_mm: float
    round: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfPlace:
    """One or two halves that one log part, ripped along its middle, fills; the part is as long as the longer.

    Both halves begin `from_butt` from the log's butt and have the butt at the same end of their own walls.
    """

    halves: tuple[Half, ...]
    kerf_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemMember:
    """A timber beyond the walls (plate, joist, purlin, ridge, post) that one log part must give."""

    id: str
    length_mm: float
    least_middle_mm: float
    crown_limit_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemCabin:
    """One building: its walls, openings, and how many rounds are to be laid.

    `courses_mm[wall][round - 1]` are places said outright, from and to along the wall, instead of the split
    by the nominal pitch. `start_heights_mm[wall]` are tops of round 0 (start, end, tees ...) said outright.
    `gap_band_mm` is the smallest and the largest gap a crew steers within. `cut_share`: a course is cut
    through where an opening takes more than this share of its log; then by a plan's own heights.
    """

    id: str
    rounds: int
    gap_mm: float
    pitch_mm: float
    walls: tuple[ProblemWall, ...]
    openings: tuple[ProblemOpening, ...] = ()
    tees: tuple[ProblemTee, ...] = ()
    members: tuple[ProblemMember, ...] = ()
    as_built: AsBuilt = field(default_factory=lambda: AsBuilt(round=0, tops_mm={}))
    courses_mm: dict[str, tuple[tuple[tuple[float, float], ...], ...]] = field(default_factory=dict)
    start_heights_mm: dict[str, tuple[float, ...]] = field(default_factory=dict)
    sill_flat: ProblemSillFlat | None = None
    half_places: tuple[HalfPlace, ...] = ()
    gap_band_mm: tuple[float, float] | None = None
    cut_share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPiece:
    """Part of a log in a place of a wall, or given to a member (then `wall` is empty, `member` its id).

    Round 0 of a high wall is a half log, and so is the round over the last one of a low wall; both halves of
    one part name the same log and `from_butt_mm`.
    """

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
class WallPlan:
    """Which part of which log goes where, for the problem named."""

    problem: str
    pieces: tuple[PlanPiece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPiece:
    """A piece of the plan in force, which it costs to leave: `due_rounds` are laid before it."""

    piece: PlanPiece
    due_rounds: int = 0
    prepared: bool = False


SPARE_TIMES = 3.0
"""What `long` charges for a log of a length that is to be left over, times what it charges for others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """So many logs of a length that are to be left over: for other work, or in case one breaks."""

    length_mm: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WallProblem:
    """Cabins to be built from one yard. `pinned` pieces stay as they are; `excluded` logs give none.

    `keep` is the plan in force; `spare` is what the longest logs are needed for beyond these cabins.
    """

    name: str
    params: Params
    cabins: tuple[ProblemCabin, ...]
    logs: tuple[ProblemLog, ...]
    pinned: tuple[PlanPiece, ...] = ()
    excluded: frozenset[str] = frozenset()
    keep: tuple[KeptPiece, ...] = ()
    spare: tuple[Spare, ...] = ()
