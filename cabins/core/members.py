"""Members beyond the walls, as a layout wants them: plate, joists, purlins, ridge, posts, gable logs."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class MemberKind(StrEnum):
    """A member beyond the walls."""

    PLATE = "plate"
    JOIST = "joist"
    PURLIN = "purlin"
    RIDGE = "ridge"
    POST = "post"
    GABLE = "gable"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutMember:
    """`count` members of one size. A piece for one bows at most `crown_limit_mm` over its length, and is at
    its own middle at least `least_middle_mm` thick."""

    id: str
    kind: MemberKind
    length_mm: float
    least_middle_mm: float
    crown_limit_mm: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleMember:
    """One member under its own name: `ridge`, or `purlin 2` where there are several of a size."""

    id: str
    kind: MemberKind
    length_mm: float
    least_middle_mm: float
    crown_limit_mm: float


def single_members(members: Iterable[LayoutMember]) -> tuple[SingleMember, ...]:
    """Every member by itself, in the order of the layout."""
    return tuple(
        SingleMember(
            id=name,
            kind=member.kind,
            length_mm=member.length_mm,
            least_middle_mm=member.least_middle_mm,
            crown_limit_mm=member.crown_limit_mm,
        )
        for member in members
        for name in names_of(member)
    )


def names_of(member: LayoutMember) -> tuple[str, ...]:
    """The name of each: the id itself for a single one, else the id with a number from 1."""
    if member.count == 1:
        return (member.id,)
    return tuple(f"{member.id} {number}" for number in range(1, member.count + 1))
