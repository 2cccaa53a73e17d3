"""A cabin's settling sheet: per opening, per post and per round, allowance and prediction side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from cabins.core.courses import settling_member, settling_space_mm
from cabins.core.layout_parts import Opening
from cabins.core.settling import BEDDING_DOWN, Prediction, ShrinkageShare, predict_settling
from cabins.core.settling_rules import (
    AllowanceRule,
    SettlingAllowance,
    SettlingError,
    SettlingMember,
    allowance_for,
)
from cabins.core.stack import Stack, top_at_mm
from inventory.core.crew_units import Sentence

CAUTION_MORE = "The prediction exceeds the rule's allowance: leave the larger space, or dry the logs first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A post that stands beside or under the log wall and does not shorten as it does."""

    id: str
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningSettling:
    """Space over an opening's head. `beside_mm`: height of log wall that settles beside it, with the
    space."""

    opening: str
    wall: str
    beside_mm: float
    allowance: SettlingAllowance
    prediction: Prediction
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PostSettling:
    """What a screw jack at a post must take up, by the rule and by the prediction."""

    post: str
    height_mm: float
    allowance: SettlingAllowance
    prediction: Prediction
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundSettling:
    """A wall's height after a round, mean of its ends: now, and as expected once settled."""

    wall: str
    round: int
    now_mm: float
    later_low_mm: float
    later_high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingSheet:
    """What to leave and what to expect, cabin-wide."""

    is_scribed: bool
    openings: tuple[OpeningSettling, ...]
    posts: tuple[PostSettling, ...]
    rounds: tuple[RoundSettling, ...]


def settling_sheet(
    stack: Stack,
    *,
    share: ShrinkageShare,
    rule: AllowanceRule,
    local_code: AllowanceRule | None = None,
    posts: Sequence[Post] = (),
    bedding_down: tuple[float, float] = BEDDING_DOWN,
) -> SettlingSheet:
    """The settling sheet of a cabin from its heights, measured or computed.

    The local code, where the crew gave one, governs every allowance. `bedding_down`: low and high fraction of
    the height. Raises SettlingError.
    """
    is_scribed = stack.layout.gap.is_scribed

    def both(
        member: SettlingMember, height_mm: float
    ) -> tuple[SettlingAllowance, Prediction, tuple[str, ...]]:
        allowance = allowance_for(member=member, height_mm=height_mm, rule=rule, local_code=local_code)
        prediction = predict_settling(
            height_mm=height_mm, share=share, is_scribed=is_scribed, bedding_down=bedding_down
        )
        exceeds = prediction.high_mm > allowance.leave_mm
        return allowance, prediction, (CAUTION_MORE,) if exceeds else ()

    openings = []
    for opening in stack.layout.openings:
        beside = height_beside_mm(opening, rule, local_code)
        allowance, prediction, cautions = both(settling_member(opening), beside)
        openings.append(
            OpeningSettling(
                opening=opening.id,
                wall=opening.wall,
                beside_mm=beside,
                allowance=allowance,
                prediction=prediction,
                cautions=cautions,
            )
        )
    standing = []
    for post in posts:
        allowance, prediction, cautions = both(SettlingMember.POST, post.height_mm)
        standing.append(
            PostSettling(
                post=post.id,
                height_mm=post.height_mm,
                allowance=allowance,
                prediction=prediction,
                cautions=cautions,
            )
        )
    return SettlingSheet(
        is_scribed=is_scribed,
        openings=tuple(openings),
        posts=tuple(standing),
        rounds=_rounds(stack, share, bedding_down),
    )


def height_beside_mm(opening: Opening, rule: AllowanceRule, local_code: AllowanceRule | None = None) -> float:
    """Height of log wall that settles beside an opening: from its sill to the header over its space."""
    return opening.head_mm - opening.sill_mm + settling_space_mm(opening, rule, local_code)


def post_beside_wall(stack: Stack, *, wall: str, at_mm: float) -> Post:
    """A post that stands beside a wall at a position and carries what the top of the wall carries.

    Its height is that of the logs beside it, from what the wall starts on. Raises SettlingError where there
    is no such wall, or the position is not on it.
    """
    found = next((one for one in stack.layout.log_walls if one.id == wall), None)
    if found is None:
        raise SettlingError(f"there is no log wall {wall}")
    if not 0 <= at_mm <= found.length_mm:
        raise SettlingError(
            Sentence(
                "wall {wall} is {length:along} long; {at:along} is not on it",
                wall=wall,
                length=found.length_mm,
                at=at_mm,
            )
        )
    bottom, top = (
        top_at_mm(stack, wall=wall, round_number=number, at_mm=at_mm)
        for number in (0, stack.layout.round_count)
    )
    return Post(id=Sentence("{wall} at {at:along}", wall=wall, at=at_mm), height_mm=top - bottom)


def _rounds(
    stack: Stack, share: ShrinkageShare, bedding_down: tuple[float, float]
) -> tuple[RoundSettling, ...]:
    rounds = []
    for level in stack.levels:
        now = (level.start_mm + level.end_mm) / 2
        lost = predict_settling(
            height_mm=now,
            share=share,
            is_scribed=stack.layout.gap.is_scribed,
            bedding_down=bedding_down,
        )
        rounds.append(
            RoundSettling(
                wall=level.wall,
                round=level.round,
                now_mm=now,
                later_low_mm=now - lost.high_mm,
                later_high_mm=now - lost.low_mm,
            )
        )
    return tuple(rounds)
