"""A member beyond the walls is made from part of a log: it fits, is thick and straight enough, made once."""

from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction

from cabins.cabins.models import Cabin
from cabins.layouts.actions import SetLogsInTheWay
from cabins.roof_members.actions import (
    MemberInstalled,
    RoofMemberStands,
    install_member,
    undo_roof_member,
)
from cabins.roof_members.models import RoofMember
from cabins.set_logs.actions import LogGone, MetalNearCut
from crews.api.problems import InvalidInput, refusal_of
from crews.api.versions import Expected
from inventory.logs.checks import DoubtsUnconfirmed
from inventory.logs.models import Log
from tests.cabins.building import DOOR, EVENING, NOON, a_cabin, a_layout, a_log, id_of, record_set

RIDGE = {
    "id": "ridge",
    "kind": "ridge",
    "length_mm": 4000,
    "least_middle_mm": 300,
    "crown_limit_mm": 10,
    "count": 1,
}
POSTS = {**RIDGE, "id": "post", "kind": "post", "length_mm": 2400, "least_middle_mm": 200, "count": 2}


def a_roofed_cabin(someone: Any, **changed: Any) -> str:
    layout = {"members": [RIDGE, POSTS], "openings": [DOOR], **changed}
    return a_cabin(someone, layout=a_layout(**layout))


def made(someone: Any, cabin: str, log: Log, member: str = "ridge", **fields: Any) -> RoofMember:
    """The member made from `log`, a metre from its butt."""
    usual: dict[str, Any] = {
        "id": uuid4(),
        "from_butt_mm": Decimal(1000),
        "installed_at": NOON,
        "installed_by": None,
        "metal_removed": False,
        "remarks": "",
    }
    row, created = install_member(
        crew=someone.who.crew,
        cabin=id_of(cabin),
        member=member,
        log=log.id,
        recorded_by=someone.who.member,
        at=EVENING,
        **{**usual, **fields},
    )
    assert created
    return row


def faults(caught: Any) -> set[tuple[str, str]]:
    return {(one["pointer"], one["code"]) for one in caught.value.errors}


def codes(row: RoofMember) -> list[str]:
    return [warned["code"] for warned in row.warnings]


def test_a_member_takes_its_part_of_the_log_and_the_rest_is_left(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)

    row = made(builder, cabin, log)

    log.refresh_from_db()
    assert (row.kind, row.length_mm, row.installed_by, row.warnings) == (
        "ridge",
        4000,
        builder.who.member,
        [],
    )
    assert log.state == "cut_up"
    found = builder.get(f"logs/{log.id}/pieces").body
    (piece,) = found["pieces"]
    assert (piece["member"], piece["member_kind"], piece["roof_member"]) == ("ridge", "ridge", str(row.id))
    assert (piece["set_log"], piece["wall"], piece["round"], piece["piece"]) == (None, None, None, None)
    assert (piece["near_butt_mm"], piece["near_tip_mm"]) == (1000, 5000)
    assert [(s["near_butt_mm"], s["near_tip_mm"]) for s in found["left"]] == [(25, 945), (5055, 5975)]
    assert Cabin.objects.get(id=id_of(cabin)).built_version == 1


def test_a_member_and_a_wall_share_a_log_a_cut_and_two_trims_apart(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)
    record_set(builder, cabin, log, piece=0, from_butt_mm=Decimal(25))  # to 2425

    with pytest.raises(InvalidInput) as caught:
        made(builder, cabin, log, "post 1", from_butt_mm=Decimal(2424), confirm_doubtful=True)
    with pytest.raises(DoubtsUnconfirmed) as close:
        made(builder, cabin, log, "post 1", from_butt_mm=Decimal(2479))
    made(builder, cabin, log, "post 1", from_butt_mm=Decimal(2480))  # to 4880
    with pytest.raises(InvalidInput) as of_wall:
        record_set(builder, cabin, log, piece=1, from_butt_mm=Decimal(3400))

    assert faults(caught) == {("/from_butt_mm", "overlaps_piece")}
    assert faults(close) == {("/from_butt_mm", "close_to_piece")}
    assert ("/from_butt_mm", "overlaps_piece") in faults(of_wall)
    assert [p["member"] for p in builder.get(f"logs/{log.id}/pieces").body["pieces"]] == [None, "post 1"]


def test_a_piece_thinner_or_more_bowed_than_the_layout_wants_is_a_fault(builder):
    cabin = a_roofed_cabin(builder)
    thin = a_log(builder.who.crew, middle_mm=299, butt_mm=310, tip_mm=280)
    bowed = a_log(builder.who.crew, crown_mm=23)  # 10.2 mm over four of its six metres
    as_bowed_as_may_be = a_log(builder.who.crew, crown_mm=Decimal("22.5"))

    for log, fault in ((thin, ("/from_butt_mm", "too_thin")), (bowed, ("/log", "too_crooked"))):
        with pytest.raises(InvalidInput) as caught:
            made(builder, cabin, log)
        assert faults(caught) == {fault}

    assert made(builder, cabin, as_bowed_as_may_be).warnings == []


def test_the_thickness_is_that_of_the_pieces_own_middle(builder):
    cabin = a_roofed_cabin(builder)
    log = a_log(builder.who.crew, length_mm=9000, butt_mm=330, middle_mm=300, tip_mm=270)

    made(builder, cabin, log, from_butt_mm=Decimal(100))
    with pytest.raises(InvalidInput) as caught:
        made(builder, a_cabin(builder, name="Hill cabin", layout=a_layout(members=[RIDGE])),
             a_log(builder.who.crew, length_mm=9000, butt_mm=330, middle_mm=300, tip_mm=270),
             from_butt_mm=Decimal(4900))  # fmt: skip

    assert faults(caught) == {("/from_butt_mm", "too_thin")}


@pytest.mark.parametrize("from_butt", [24, 1976])
def test_a_member_short_of_its_trim_is_recorded_once_that_is_confirmed(builder, from_butt):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(DoubtsUnconfirmed) as caught:
        made(builder, cabin, log, from_butt_mm=Decimal(from_butt))
    row = made(builder, cabin, log, from_butt_mm=Decimal(from_butt), confirm_doubtful=True)

    assert faults(caught) == {("/from_butt_mm", "short_of_trim")}
    assert [one["code"] for one in row.warnings] == ["short_of_trim"]


def test_a_member_longer_than_what_is_left_of_its_log_is_never_recorded(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)

    with pytest.raises(InvalidInput) as caught:
        made(builder, cabin, log, from_butt_mm=Decimal(2001), confirm_doubtful=True)

    assert faults(caught) == {("/from_butt_mm", "outside_log")}


def test_a_ridge_of_a_log_whose_crown_nobody_looked_at_is_recorded_with_a_warning(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew, crown_mm=None)

    row = made(builder, cabin, log)

    assert [one["code"] for one in row.warnings] == ["crown_unknown"]


def test_a_member_that_the_layout_does_not_have_is_a_fault(builder):
    cabin, bare, log = a_roofed_cabin(builder), f"cabins/{uuid4()}", a_log(builder.who.crew)
    builder.put(bare, {"name": "Bare cabin"})

    for where, member in ((cabin, "post"), (cabin, "purlin 1"), (bare, "ridge")):
        with pytest.raises(InvalidInput) as caught:
            made(builder, where, log, member)
        assert faults(caught) == {("/member", "unknown")}


def test_a_member_is_made_once(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)
    row = made(builder, cabin, log)

    with pytest.raises(MemberInstalled) as caught:
        made(builder, cabin, a_log(builder.who.crew))
    row.id = uuid4()
    with pytest.raises(Exception, match="member_installed_once") as by_database, transaction.atomic():
        row.save(force_insert=True)

    assert log.number in caught.value.detail
    assert isinstance(refusal_of(by_database.value), MemberInstalled)


def test_a_log_that_is_gone_and_a_day_to_come_make_no_member(builder):
    cabin = a_roofed_cabin(builder)

    with pytest.raises(LogGone):
        made(builder, cabin, a_log(builder.who.crew, state="gone"))
    with pytest.raises(InvalidInput) as caught:
        made(builder, cabin, a_log(builder.who.crew), installed_at=EVENING + timedelta(days=1))

    assert faults(caught) == {("/installed_at", "future")}


def test_metal_near_a_members_cut_is_refused_unless_it_was_taken_out(builder):
    cabin = a_roofed_cabin(builder)
    metal = {"kind": "metal", "face": "top", "extent_mm": None, "from_butt_mm": 1200}
    log = a_log(builder.who.crew, hazards=[metal])

    with pytest.raises(MetalNearCut):
        made(builder, cabin, log)
    row = made(builder, cabin, log, metal_removed=True)

    assert codes(row) == ["metal_removed"]


def test_what_is_doubtful_about_a_member_stays_with_its_record(builder):
    cabin = a_roofed_cabin(builder)
    hazards = [
        {"kind": "metal", "face": None, "extent_mm": None, "from_butt_mm": 3000},
        {"kind": "knot", "face": None, "extent_mm": 80, "from_butt_mm": 4900},
    ]
    log = a_log(builder.who.crew, hazards=hazards, crook_mm=30, crook_at_mm=2500, culled=True)

    row = made(builder, cabin, log)

    assert codes(row) == ["metal_in_piece", "knot_near_cut", "crook_in_piece", "culled"]


def test_an_undone_member_frees_its_log_and_needs_a_reason(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)
    row = made(builder, cabin, log)

    undone = undo_roof_member(
        crew=builder.who.crew, id=row.id, reason="Wrong log", undone_by=builder.who.member, at=EVENING
    )

    log.refresh_from_db()
    assert log.state == "in_rack"
    assert undone.undone_by == builder.who.member
    assert Cabin.objects.get(id=id_of(cabin)).built_version == 2
    with pytest.raises(RoofMemberStands):
        made(builder, cabin, log, id=row.id, remarks="After all", expected=Expected.only(undone.version))
    with pytest.raises(Exception, match="member_undone_with_a_reason") as caught, transaction.atomic():
        RoofMember.objects.filter(id=row.id).update(undo_reason="")
    assert isinstance(refusal_of(caught.value), InvalidInput)


def test_a_layout_that_changes_a_member_already_made_is_refused_naming_it(builder):
    cabin = a_roofed_cabin(builder)
    made(builder, cabin, a_log(builder.who.crew))
    longer = a_layout(openings=[DOOR], members=[{**RIDGE, "length_mm": 4100}, POSTS])
    without = a_layout(openings=[DOOR], members=[POSTS])
    stricter = a_layout(openings=[DOOR], members=[{**RIDGE, "least_middle_mm": 320}])

    checked = builder.post(f"{cabin}/layout/check", longer).body
    refused = builder.put(f"{cabin}/layout", without, version=1)
    taken = builder.put(f"{cabin}/layout", stricter, version=1)

    assert [(r["member"], r["change"]) for r in checked["roof_members_in_the_way"]] == [("ridge", "changed")]
    assert refused.status_code == SetLogsInTheWay.status
    assert [(e["pointer"], e["code"]) for e in refused.body["errors"]] == [("/members", "member_removed")]
    assert taken.status_code == 200


def test_a_member_that_was_made_has_a_history(builder):
    cabin, log = a_roofed_cabin(builder), a_log(builder.who.crew)
    row = made(builder, cabin, log)

    with connection.cursor() as cursor:
        cursor.execute("SELECT kind FROM crews_change WHERE object = %s", [row.id])
        kinds = [kind for (kind,) in cursor.fetchall()]

    assert kinds == ["roof_member"]
