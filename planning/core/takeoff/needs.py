"""What a cabin needs to be cut from logs: its places, its half logs, members beyond the walls, spare rounds.

Lengths and diameters in mm. A place is (wall, round, piece), as in the layout.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.layout_parts import Layout
from cabins.core.members import MemberKind, SingleMember
from cabins.core.places import HalfLog, WallPlace, half_logs_of, is_half_round, places_of

# In which middle class the spare rounds are taken: the usual class serves its neighbours with a little
# steering, then the thick logs, which a mill has fewest of (common practice, no source).
SPARE_CLASSES = (0, 1, -1)
# Lengths that are equal on paper must not differ by float dust.
DUST_MM = 0.01


class PartUse(StrEnum):
    """What a part of a log becomes."""

    WALL = "wall"
    HALF_LOG = "half_log"
    MEMBER = "member"
    SPARE = "spare"


@dataclass(frozen=True, slots=True, kw_only=True)
class MiddleBand:
    """The middle diameters that will do, both limits included."""

    least_mm: float
    largest_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What one part of a log is for: a place, a half log under a wall, a member, or nothing yet (spare)."""

    use: PartUse
    length_mm: float
    cabin: str | None = None
    wall: str | None = None
    round: int | None = None
    piece: int | None = None
    member: str | None = None
    member_kind: MemberKind | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NeededStretch:
    """A length of log to be cut; it has two targets where it is ripped into half logs, else one.

    `is_straight`: it lies in the first or last round, where a bow shows and costs most. `may_share`: it is a
    piece beside an opening. Only those share logs: a course over a whole wall, a half log or a member from a
    log of its own is what a mill cuts and a crew can lift (common practice, no source). `crown_limit_mm`: the
    bow that a member may have; None: as for a place of the wall.
    """

    targets: tuple[Target, ...]
    length_mm: float
    band: MiddleBand
    is_straight: bool = False
    may_share: bool = False
    crown_limit_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinToBuild:
    """A cabin as laid out; `filled` are the places (wall, round, piece) in which logs are set already, and
    `given` the names of its members that are made."""

    name: str
    layout: Layout
    filled: frozenset[tuple[str, int, int]] = frozenset()
    given: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberWanted:
    """So many members of one size. Without `largest_middle_mm` they take two middle steps over the least."""

    id: str
    kind: MemberKind
    length_mm: float
    least_middle_mm: float
    largest_middle_mm: float | None
    count: int


def class_of_round(round_number: int, rounds: int) -> int:
    """The middle class of a round: 1 the thick logs, 0 the usual ones, -1 the thin ones.

    The bottom third of the rounds is thick and the top third thin, as lifting gets harder with height
    (common practice, no source). Both thirds have equally many rounds (a third rounded to the nearest), so
    that the wall still rises by the layout's middle diameter on average.
    """
    third = math.floor(rounds / 3 + 0.5)
    if round_number <= third:
        return 1
    return -1 if round_number > rounds - third else 0


def band_of(layout: Layout, middle_class: int, *, middle_step_mm: float) -> MiddleBand:
    """The band of a middle class: `middle_step_mm` wide, the usual one centred on the layout's middle."""
    centre = layout.log_middle_mm + middle_class * middle_step_mm
    return MiddleBand(
        least_mm=without_dust(centre - middle_step_mm / 2),
        largest_mm=without_dust(centre + middle_step_mm / 2),
    )


def without_dust(length_mm: float) -> float:
    """The length to five places, which hold every trade length: it goes onto an order."""
    return round(length_mm, 5)


def open_places(cabin: CabinToBuild) -> list[WallPlace]:
    """The places in which no log is set yet."""
    return [
        place
        for place in places_of(cabin.layout)
        if (place.wall, place.round, place.piece) not in cabin.filled
    ]


def wall_stretches(cabin: CabinToBuild, *, middle_step_mm: float) -> list[NeededStretch]:
    """One stretch for every open place."""
    rounds = cabin.layout.round_count
    whole_mm = {wall.id: wall.log_mm for wall in cabin.layout.log_walls}
    return [
        NeededStretch(
            targets=(
                Target(
                    use=PartUse.WALL,
                    length_mm=place.length_mm,
                    cabin=cabin.name,
                    wall=place.wall,
                    round=place.round,
                    piece=place.piece,
                ),
            ),
            length_mm=place.length_mm,
            band=band_of(cabin.layout, class_of_round(place.round, rounds), middle_step_mm=middle_step_mm),
            is_straight=place.round in (1, rounds),
            may_share=place.length_mm < whole_mm[place.wall] - DUST_MM,
        )
        for place in open_places(cabin)
        if not is_half_round(place.round, rounds)
    ]


def half_log_stretches(cabin: CabinToBuild, *, middle_step_mm: float) -> list[NeededStretch]:
    """The stretches to rip for the half logs that high walls start on; one gives two of them.

    Two of a length go together; where lengths differ the stretch is as long as the longer. Where half logs
    are no places of the layout, a wall in which a log is set stands on its half log already.
    """
    begun = {wall for wall, _, _ in cabin.filled}

    def is_open(half: HalfLog) -> bool:
        if half.round is None or half.piece is None:
            return half.wall not in begun
        return (half.wall, half.round, half.piece) not in cabin.filled

    halves = sorted(
        (half for half in half_logs_of(cabin.layout) if is_open(half)),
        key=lambda half: (-half.length_mm, half.wall, half.piece or 0),
    )
    band = band_of(cabin.layout, class_of_round(1, cabin.layout.round_count), middle_step_mm=middle_step_mm)
    return [
        NeededStretch(
            targets=tuple(_half_target(cabin, half) for half in halves[first : first + 2]),
            length_mm=halves[first].length_mm,
            band=band,
            is_straight=True,
        )
        for first in range(0, len(halves), 2)
    ]


def _half_target(cabin: CabinToBuild, half: HalfLog) -> Target:
    return Target(
        use=PartUse.HALF_LOG,
        length_mm=half.length_mm,
        cabin=cabin.name,
        wall=half.wall,
        round=half.round,
        piece=half.piece,
    )


def member_stretches(members: Iterable[MemberWanted], *, middle_step_mm: float) -> list[NeededStretch]:
    """One stretch for every member."""
    return [
        NeededStretch(
            targets=(
                Target(
                    use=PartUse.MEMBER, length_mm=member.length_mm, member=member.id, member_kind=member.kind
                ),
            ),
            length_mm=member.length_mm,
            band=MiddleBand(
                least_mm=member.least_middle_mm,
                largest_mm=without_dust(
                    member.largest_middle_mm or member.least_middle_mm + 2 * middle_step_mm
                ),
            ),
        )
        for member in members
        for _ in range(member.count)
    ]


def open_members(cabin: CabinToBuild) -> list[SingleMember]:
    """The members of the layout that are not made yet."""
    return [member for member in cabin.layout.single_members if member.id not in cabin.given]


def cabin_member_stretches(cabin: CabinToBuild, *, middle_step_mm: float) -> list[NeededStretch]:
    """One stretch for every member of the layout that is not made yet, up to two middle steps thicker."""
    return [
        NeededStretch(
            targets=(
                Target(
                    use=PartUse.MEMBER,
                    length_mm=member.length_mm,
                    cabin=cabin.name,
                    member=member.id,
                    member_kind=member.kind,
                ),
            ),
            length_mm=member.length_mm,
            band=MiddleBand(
                least_mm=without_dust(member.least_middle_mm),
                largest_mm=without_dust(member.least_middle_mm + 2 * middle_step_mm),
            ),
            crown_limit_mm=member.crown_limit_mm,
        )
        for member in open_members(cabin)
    ]


def spare_stretches(cabin: CabinToBuild, *, rounds: int, middle_step_mm: float) -> list[NeededStretch]:
    """So many rounds more: in each, a log over the whole length of every wall. None for a finished cabin."""
    if not open_places(cabin):
        return []
    return [
        NeededStretch(
            targets=(Target(use=PartUse.SPARE, length_mm=length, cabin=cabin.name, wall=wall.id),),
            length_mm=length,
            band=band_of(
                cabin.layout,
                SPARE_CLASSES[number % len(SPARE_CLASSES)],
                middle_step_mm=middle_step_mm,
            ),
        )
        for number in range(rounds)
        for wall in cabin.layout.log_walls
        for length in (wall.log_mm,)
    ]


def longest_mm(stretches: Sequence[NeededStretch]) -> float:
    """The length of the longest stretch; 0 without any."""
    return max((stretch.length_mm for stretch in stretches), default=0.0)
