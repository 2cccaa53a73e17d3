"""Reads the members of a layout document, and checks their names and number."""

from collections.abc import Mapping, Sequence

from cabins.core.faults import (
    Faults,
    read_choice,
    read_name,
    read_number,
    read_object,
    read_whole_number,
)
from cabins.core.members import LayoutMember, MemberKind, names_of

# Sizes beyond which a number is a slip of the pen.
SIZES_MM = {
    "length_mm": (100.0, 50_000.0),
    "least_middle_mm": (50.0, 1_000.0),
    "crown_limit_mm": (0.0, 500.0),
}
COUNT = (1, 60)
MOST_MEMBERS = 200


def read_member(raw: object, here: str, faults: Faults) -> LayoutMember | None:
    """The member at `here`, or None with its faults noted. Without a count it is one."""
    fields = read_object(
        raw, pointer=here, required=("id", "kind", *SIZES_MM), optional=("count",), faults=faults
    )
    if fields is None:
        return None
    name = read_name(fields, "id", pointer=here, faults=faults)
    kind = read_choice(fields, "kind", pointer=here, choices=MemberKind, faults=faults)
    length, middle, crown = (_size(fields, key, here, faults) for key in SIZES_MM)
    count = read_whole_number(
        fields, "count", pointer=here, smallest=COUNT[0], largest=COUNT[1], faults=faults
    )
    if name is None or kind is None or length is None or middle is None or crown is None:
        return None
    return LayoutMember(
        id=name,
        kind=kind,
        length_mm=length,
        least_middle_mm=middle,
        crown_limit_mm=crown,
        count=count or 1,
    )


def _size(fields: Mapping[str, object], key: str, here: str, faults: Faults) -> float | None:
    smallest, largest = SIZES_MM[key]
    return read_number(fields, key, pointer=here, smallest=smallest, largest=largest, faults=faults)


def check_members(members: Sequence[LayoutMember | None], faults: Faults) -> None:
    """Every member has a name of its own, also once `purlin` has become `purlin 1` and `purlin 2`."""
    taken: set[str] = set()
    for number, member in enumerate(members):
        if member is None:
            continue
        names = {member.id, *names_of(member)}
        for twice in sorted(names & taken)[:1]:
            faults.note(f"/members/{number}/id", "duplicate_id", f"The name {twice!r} is used twice.")
        taken |= names
    total = sum(member.count for member in members if member is not None)
    if total > MOST_MEMBERS:
        faults.note("/members", "too_many", f"At most {MOST_MEMBERS} members are taken; there are {total}.")
