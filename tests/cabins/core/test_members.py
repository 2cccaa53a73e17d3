"""Members beyond the walls in a layout: read, named one by one, and every fault of theirs named."""

from typing import Any

import pytest

from cabins.core.layout import LayoutFaults, MemberKind, read_layout
from cabins.core.members import SingleMember
from tests.cabins.core.drawings import a_member, a_rectangle


def faults_of(*members: Any) -> set[tuple[str, str]]:
    with pytest.raises(LayoutFaults) as refused:
        read_layout(a_rectangle(members=list(members)))
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


def test_a_single_member_bears_its_own_name_and_several_are_numbered():
    purlins = a_member(id="purlin", kind="purlin", length_mm=5400, least_middle_mm=220, count=2)

    layout = read_layout(a_rectangle(members=[a_member(), purlins]))

    assert [member.id for member in layout.single_members] == ["ridge", "purlin 1", "purlin 2"]
    assert layout.single_members[2] == SingleMember(
        id="purlin 2", kind=MemberKind.PURLIN, length_mm=5400, least_middle_mm=220, crown_limit_mm=25
    )


def test_a_member_without_a_count_is_one():
    member = a_member()
    del member["count"]

    layout = read_layout(a_rectangle(members=[member]))

    assert layout.members[0].count == 1


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"kind": "beam"}, "not_a_choice"),
        ({"length_mm": 99}, "too_small"),
        ({"length_mm": "7 m"}, "not_a_number"),
        ({"least_middle_mm": 1001}, "too_large"),
        ({"crown_limit_mm": -1}, "too_small"),
        ({"count": 0}, "too_small"),
        ({"count": 61}, "too_large"),
        ({"count": 1.5}, "not_whole"),
        ({"id": " ridge"}, "not_a_name"),
        ({"slope": 3}, "unknown_field"),
    ],
)
def test_every_fault_of_a_member_is_named_where_it_stands(change: dict[str, Any], code: str):
    assert faults_of(a_member(id="post"), a_member(**change)) == {(f"/members/1/{next(iter(change))}", code)}


def test_what_a_member_must_say_is_missed_by_name():
    missing = {(f"/members/0/{key}", "missing") for key in ("kind", "length_mm", "least_middle_mm")}

    assert faults_of({"id": "ridge", "crown_limit_mm": 10}) == missing
    assert faults_of("ridge") == {("/members/0", "not_an_object")}


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"id": "post"}, {"id": "post"}),
        ({"id": "post", "count": 2}, {"id": "post 2"}),
        ({"id": "post 1"}, {"id": "post", "count": 3}),
        ({"id": "post"}, {"id": "post", "count": 3}),
    ],
)
def test_no_two_members_share_a_name_even_when_they_are_numbered(first: Any, second: Any):
    assert faults_of(a_member(**first), a_member(**second)) == {("/members/1/id", "duplicate_id")}


def test_a_cabin_has_at_most_two_hundred_members():
    posts = [a_member(id=f"row {row} post", kind="post", count=50) for row in range(4)]

    assert len(read_layout(a_rectangle(members=posts)).single_members) == 200
    assert faults_of(*posts, a_member()) == {("/members", "too_many")}
