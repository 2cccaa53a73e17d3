"""Who may come in, and what each role may do."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils.timezone import now

from crews.accounts.models import AccessKey, Role


def test_without_a_key_nothing_opens(nobody):
    answer = nobody.get("me")

    assert answer.status_code == 401
    assert answer.body["type"] == "/problems/key-needed"
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_a_key_shows_its_secret_once_and_is_stored_hashed(lead):
    me = lead.get("me").body["member"]["id"]
    address = f"keys/{uuid4()}"
    wanted = {"member": me, "name": "rack phone", "role": "learner"}

    first = lead.put(address, wanted)
    again = lead.put(address, wanted)

    assert (first.status_code, again.status_code) == (201, 200)
    assert again.body["secret"] is None
    secret = first.body["secret"]
    assert secret.encode() not in bytes(AccessKey.objects.get(id=first.body["id"]).secret_sha256)
    assert secret not in lead.get("keys").content.decode()


def test_a_revoked_or_expired_key_opens_nothing(lead, builder):
    key = AccessKey.objects.get(member=builder.who.member)
    assert builder.get("me").status_code == 200

    lead.post(f"keys/{key.id}/revoke")

    assert builder.get("me").status_code == 401
    AccessKey.objects.filter(id=key.id).update(
        revoked_at=None,
        created_at=datetime(2026, 1, 1, tzinfo=UTC),
        expires_at=datetime(2026, 1, 2, tzinfo=UTC),
    )
    assert builder.get("me").status_code == 401


@pytest.mark.parametrize(("seconds", "written"), [(50, False), (70, True)])
def test_when_a_key_was_used_last_is_known_to_the_minute(builder, seconds, written):
    before = now() - timedelta(seconds=seconds)
    AccessKey.objects.filter(member=builder.who.member).update(last_used_at=before)

    builder.get("me")

    assert (AccessKey.objects.get(member=builder.who.member).last_used_at > before) is written


def test_a_key_allows_no_more_than_its_member(lead, learner):
    wanted = {"member": str(learner.who.member.id), "name": "too strong", "role": "lead"}

    answer = lead.put(f"keys/{uuid4()}", wanted)

    assert answer.status_code == 422
    assert answer.body["errors"][0]["pointer"] == "/role"


def test_asking_for_the_head_alone_needs_the_same_role(lead, learner):
    def status(someone, method):
        headers = {"authorization": f"Bearer {someone.who.key}"}
        return Client().generic(method, "/api/v1/keys", headers=headers).status_code

    assert [status(learner, method) for method in ("GET", "HEAD")] == [403, 403]
    assert [status(lead, method) for method in ("GET", "HEAD")] == [200, 200]


def test_a_demoted_members_keys_shrink_with_them(lead, builder):
    address = f"members/{builder.who.member.id}"
    version = lead.get(address).body["version"]

    lead.put(address, {"name": "Brone", "role": "learner"}, version=version)

    assert builder.get("me").body["role"] == "learner"


def test_only_a_lead_manages_members_and_keys(builder, learner):
    for someone in (builder, learner):
        assert someone.put(f"members/{uuid4()}", {"name": "Ash", "role": "learner"}).status_code == 403
        assert someone.get("keys").status_code == 403


def test_the_last_lead_stays(lead):
    me = lead.get("me").body["member"]

    answer = lead.put(f"members/{me['id']}", {"name": me["name"], "role": "builder"}, version=me["version"])

    assert answer.status_code == 409
    assert answer.body["type"] == "/problems/last-lead"
    assert lead.delete(f"members/{me['id']}", version=me["version"]).status_code == 409


def test_a_member_is_made_once_and_changed_after(lead):
    address = f"members/{uuid4()}"

    made = lead.put(address, {"name": "Ash", "role": "learner"})
    same = lead.put(address, {"name": "Ash", "role": "learner"})
    changed = lead.put(address, {"name": "Ash", "role": "builder"}, version=1)

    assert [one.status_code for one in (made, same, changed)] == [201, 200, 200]
    assert (changed.body["role"], changed.body["version"]) == ("builder", 2)


def test_a_member_who_left_has_no_keys_that_work(lead, learner):
    address = f"members/{learner.who.member.id}"

    left = lead.delete(address, version=1)

    assert left.body["left_at"] is not None
    assert learner.get("me").status_code == 401


def test_strangers_see_nothing_of_ours(lead, stranger):
    ours = lead.get("me").body["member"]

    assert stranger.get(f"members/{ours['id']}").status_code == 404
    assert stranger.put(f"members/{ours['id']}", {"name": "Ash", "role": "lead"}).status_code == 404
    assert [m["id"] for m in stranger.get("members").body["items"]] != [ours["id"]]


def test_a_change_names_the_version_it_changes(lead):
    crew = lead.get("crew")
    assert crew.headers["ETag"].startswith('"1.c')

    missing = lead.patch("crew", {"length_unit": "ft_in"})
    stale = lead.patch("crew", {"length_unit": "ft_in"}, version=9)
    done = lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    repeat = lead.patch("crew", {"length_unit": "ft_in"})

    assert (missing.status_code, stale.status_code, done.status_code) == (428, 412, 200)
    assert stale.body["current"]["version"] == 1
    assert done.headers["ETag"] == '"2"'
    assert repeat.status_code == 200
    assert repeat.body["version"] == 2


def test_a_lead_founds_another_crew_and_gets_its_first_key(lead, asker):
    answer = lead.put(f"crews/{uuid4()}", {"name": "Hollow Creek crew", "length_unit": "m"})

    assert answer.status_code == 201
    assert answer.body["key"].startswith("log_")
    assert answer.body["crew"]["length_unit"] == "m"
    assert lead.put(f"crews/{answer.body['crew']['id']}", {"name": "Again"}).status_code == 409


def test_an_unknown_field_is_a_fault_and_so_is_an_unknown_parameter(lead):
    body = lead.put(f"members/{uuid4()}", {"name": "Ash", "roll": "learner"})
    query = lead.get("members?nmae=Ash")

    assert {e["pointer"] for e in body.body["errors"]} == {"/role", "/roll"}
    assert query.status_code == 400
    assert query.body["errors"][0]["pointer"] == "?nmae"


def test_lists_go_on_from_their_cursor(lead):
    for name in ("Ash", "Birch", "Cedar"):
        lead.put(f"members/{uuid4()}", {"name": name, "role": "learner"})

    first = lead.get("members?limit=3").body
    rest = lead.get(f"members?limit=3&after={first['next']}").body

    assert len(first["items"]) == 3
    assert [m["name"] for m in rest["items"]] == ["Cedar"]
    assert rest["next"] is None
    assert lead.get("members?after=nonsense").status_code == 400
    assert lead.get("members?limit=0").status_code == 400


def test_a_body_that_is_not_json_is_refused(lead):
    for body in (b"{", b'{"name": NaN}', b"\xff\xfe"):
        assert lead.put(f"members/{uuid4()}", body).status_code == 400
    assert lead.put(f"members/{uuid4()}", b"name=Ash", media="text/plain").status_code == 415


def test_a_key_that_expires_in_the_past_is_not_made(lead):
    me = lead.get("me").body["member"]["id"]
    past = (datetime.now(UTC) - timedelta(hours=1)).isoformat()

    answer = lead.put(f"keys/{uuid4()}", {"member": me, "name": "x", "role": "lead", "expires_at": past})

    assert answer.status_code == 422
    assert answer.body["errors"][0]["pointer"] == "/expires_at"


def keys_of(someone) -> list[str]:
    return [key["id"] for key in someone.get("keys").body["items"] if key["revoked_at"] is None]


def test_the_last_key_that_opens_the_crew_to_a_lead_is_not_revoked(lead, builder):
    (own,) = [key for key in keys_of(lead) if AccessKey.objects.get(id=key).role == Role.LEAD]

    refused = lead.post(f"keys/{own}/revoke")
    assert (refused.status_code, refused.body["type"]) == (409, "/problems/last-lead-key")

    member = {"member": str(lead.who.member.id), "role": "lead"}
    lead.put(f"keys/{uuid4()}", {**member, "name": "the other phone"})
    assert lead.post(f"keys/{own}/revoke").status_code == 200


def test_a_key_that_is_over_does_not_count_as_the_last(lead):
    (own,) = keys_of(lead)
    member = {"member": str(lead.who.member.id), "role": "lead", "name": "lent"}
    lead.put(f"keys/{uuid4()}", member)
    made = lead.who.member.created_at
    lent = AccessKey.objects.filter(crew=lead.who.crew, name="lent")
    lent.update(created_at=made, expires_at=made + timedelta(days=1))

    assert lead.post(f"keys/{own}/revoke").status_code == 409


def test_a_person_of_two_crews_is_renamed_in_one_alone(lead):
    founded = lead.put(f"crews/{uuid4()}", {"name": "Hollow Creek crew"}).body
    there = {"authorization": f"Bearer {founded['key']}"}
    client = Client()
    address = f"/api/v1/members/{founded['member']}"
    assert client.get(address, headers=there).json()["name"] == "Odda"

    body, kind = {"name": "Odda of the Creek", "role": "lead"}, "application/json"
    answer = client.put(address, body, kind, headers={**there, "if-match": '"1"'})

    assert answer.json()["name"] == "Odda of the Creek"
    assert [one["name"] for one in lead.get("members").body["items"]] == ["Odda"]


def test_an_operator_may_keep_founding_to_themselves(lead, settings):
    settings.LEADS_FOUND_CREWS = False

    answer = lead.put(f"crews/{uuid4()}", {"name": "Hollow Creek crew"})

    assert (answer.status_code, answer.body["type"]) == (403, "/problems/founding-closed")
