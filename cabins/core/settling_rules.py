"""Settling allowances: the space that a named rule says to leave. What will happen is predicted elsewhere."""

import math
from dataclasses import dataclass
from enum import StrEnum

from cabins.core.sources import ILBA_MEMORY, MP579, Source, SourceMark
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence

INCH_MM = 25.4
# The rule that counts until a crew chooses another.
USUAL_RULE = "mp579"

CAUTION_CODE = (
    "Local code decides what must be left for settling; ask before cutting. A door or post without its space "
    "will carry the wall and can break or burst its frame."
)


class SettlingError(ValueError):
    """A height, share or range that settling cannot be reckoned from."""


class SettlingMember(StrEnum):
    """What stands in a wall that settles, and must be given space."""

    DOOR = "door"
    WINDOW = "window"
    POST = "post"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareOfHeight:
    """An allowance as a share of the log wall's height that settles."""

    low_share: float
    high_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedSpace:
    """An allowance as a space in mm, published for heights from `from_mm` to `to_mm`.

    Beyond those it goes in proportion. Where no height was published (None) it is taken as it is.
    """

    low_mm: float
    high_mm: float
    from_mm: float | None = None
    to_mm: float | None = None


Amount = ShareOfHeight | FixedSpace


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowanceRule:
    """A named rule: what it allows at a door, a window, a post, what for, and where it comes from."""

    id: str
    applies_to: str
    source: Source
    door: Amount
    window: Amount
    post: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class SettlingAllowance:
    """The space a rule says to leave; `leave_mm` is the top of its range. Not a prediction."""

    member: SettlingMember
    height_mm: float
    low_mm: float
    high_mm: float
    leave_mm: float
    rule: str
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def _whole_wall(rule: str, *, low: float, high: float, applies_to: str, source: Source) -> AllowanceRule:
    share = ShareOfHeight(low_share=low, high_share=high)
    return AllowanceRule(id=rule, applies_to=applies_to, source=source, door=share, window=share, post=share)


RULES = {
    rule.id: rule
    for rule in (
        AllowanceRule(
            id="mp579",
            applies_to="logs reasonably dry; doors of 80 to 84 in, ordinary double-hung windows, a storey",
            source=MP579,
            door=FixedSpace(
                low_mm=2.5 * INCH_MM, high_mm=4 * INCH_MM, from_mm=80 * INCH_MM, to_mm=84 * INCH_MM
            ),
            window=FixedSpace(low_mm=1.5 * INCH_MM, high_mm=3 * INCH_MM),
            post=FixedSpace(low_mm=3 * INCH_MM, high_mm=4 * INCH_MM),
        ),
        _whole_wall("ilba2000_green", low=0.06, high=0.06, applies_to="green logs", source=ILBA_MEMORY),
        _whole_wall(
            "ilba2000_dry",
            low=0.03,
            high=0.03,
            applies_to="dry logs, 19 % moisture or less",
            source=ILBA_MEMORY,
        ),
        _whole_wall(
            "fi_laminated",
            low=0.02,
            high=0.02,
            applies_to="laminated squared logs; solid logs settle more",
            source=Source(title="a Finnish article quoting a structural engineer", mark=SourceMark.SEEN),
        ),
        _whole_wall(
            "fi_round",
            low=0.03,
            high=0.05,
            applies_to="round or hewn solid logs",
            source=Source(title="Finnish trade guidance", mark=SourceMark.MEMORY),
        ),
    )
}


def local_code_rule(*, low_percent: float, high_percent: float, title: str) -> AllowanceRule:
    """The rule of the local code, as the crew read it: percent of log-wall height. Raises SettlingError."""
    if not title.strip():
        raise SettlingError("a rule of the local code needs the name of the code")
    if not 0 <= low_percent <= high_percent <= 20:
        raise SettlingError(
            f"an allowance runs from low to high within 0 to 20 percent, not {low_percent} to {high_percent}"
        )
    return _whole_wall(
        "local_code",
        low=low_percent / 100,
        high=high_percent / 100,
        applies_to="what the local code says",
        source=Source(title=title.strip(), mark=SourceMark.LOCAL_CODE),
    )


def allowance_for(
    *, member: SettlingMember, height_mm: float, rule: AllowanceRule, local_code: AllowanceRule | None = None
) -> SettlingAllowance:
    """The space to leave at a member, by the local code if the crew gave one, else by the rule it chose.

    `height_mm`: height of log wall that settles beside the member. Raises SettlingError.
    """
    if not (math.isfinite(height_mm) and height_mm >= 0):
        raise SettlingError(Sentence("{height:along} is no height of a wall", height=height_mm))
    governing = local_code or rule
    amount = {
        SettlingMember.DOOR: governing.door,
        SettlingMember.WINDOW: governing.window,
        SettlingMember.POST: governing.post,
    }[member]
    low, high = _space_mm(amount, height_mm)
    cautions = [CAUTION_CODE]
    if governing.source.mark is SourceMark.MEMORY:
        cautions.append("This rule was written down from memory; check it against its source before use.")
    if isinstance(amount, FixedSpace) and amount.from_mm is None:
        cautions.append("The rule was published without a height; for a taller member leave more.")
    return SettlingAllowance(
        member=member,
        height_mm=height_mm,
        low_mm=low,
        high_mm=high,
        leave_mm=high,
        rule=governing.id,
        basis=Basis(
            rule=governing.id,
            source=str(governing.source),
            assumption=f"published for {governing.applies_to}; posts and frames keep their length",
        ),
        uncertainty="low to high as the rule gives them; the prediction beside it tells what will happen",
        cautions=tuple(cautions),
    )


def _space_mm(amount: Amount, height_mm: float) -> tuple[float, float]:
    if isinstance(amount, ShareOfHeight):
        return amount.low_share * height_mm, amount.high_share * height_mm
    scale = 1.0
    if amount.from_mm is not None and amount.to_mm is not None:
        scale = height_mm / min(max(height_mm, amount.from_mm), amount.to_mm)
    return amount.low_mm * scale, amount.high_mm * scale
