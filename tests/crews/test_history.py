"""Who changed what, from what to what, when, by which key."""

from uuid import uuid4

from django.apps import apps
from django.db import connection

from crews.accounts.models import AccessKey, CrewOwned, Member
from crews.history.authors import acting
from crews.history.models import Change
from crews.history.triggers import AuditTrigger


def the_changes(asker, query=""):
    return asker.get(f"history?{query}").body["items"]


def test_a_change_tells_who_from_what_to_what_and_by_which_key(lead):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1, **{"x-request-id": "phone-7"})

    change = the_changes(lead, "kind=crew&order=-at")[0]

    assert (change["before"], change["after"]) == ({"length_unit": "mm"}, {"length_unit": "ft_in"})
    assert change["object"] == str(lead.who.crew.id)
    assert change["version"] == 2
    assert (change["member"], change["member_name"]) == (str(lead.who.member.id), "Odda")
    assert change["key"] == str(AccessKey.objects.get(member=lead.who.member).id)
    assert change["request_id"] == "phone-7"


def test_what_is_new_has_no_before_and_a_new_name_belongs_to_the_member(lead):
    address = f"members/{uuid4()}"
    lead.put(address, {"name": "Ash", "role": "learner"})

    lead.put(address, {"name": "Asher", "role": "builder"}, version=1)

    made, *changes = lead.get(f"history/{address.replace('members', 'member')}").body["items"]
    assert made["before"] is None
    assert made["after"]["role"] == "learner"
    told = {}
    for change in changes:
        told |= {name: (change["before"][name], change["after"][name]) for name in change["after"]}
    assert told == {"name": ("Ash", "Asher"), "role": ("learner", "builder")}


def test_a_repeat_and_a_refusal_leave_no_trace(lead):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    before = Change.objects.count()

    lead.patch("crew", {"length_unit": "ft_in"})
    lead.patch("crew", {"length_unit": "m"}, version=1)

    assert Change.objects.count() == before


def test_the_history_holds_no_secret_and_not_every_use_of_a_key(lead):
    address = f"keys/{uuid4()}"
    lead.put(address, {"member": str(lead.who.member.id), "name": "rack phone", "role": "learner"})

    changes = the_changes(lead, "kind=access_key")

    told = {name for change in changes for name in change["after"]}
    assert "hint" in told
    assert {"secret_sha256", "last_used_at"}.isdisjoint(told)
    assert all(change["before"] is None for change in changes)


def test_only_a_lead_reads_the_history_of_keys(lead, builder):
    kinds = {change["kind"] for change in the_changes(builder)}
    assert "member" in kinds
    assert "access_key" not in kinds
    key = AccessKey.objects.get(member=builder.who.member)

    assert lead.get(f"history/access_key/{key.id}").status_code == 200
    assert builder.get(f"history/access_key/{key.id}").status_code == 404


def test_nobody_reads_the_history_of_another_crew(lead, stranger):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)

    ours = {change["id"] for change in the_changes(lead)}
    theirs = {change["id"] for change in the_changes(stranger)}

    assert ours
    assert theirs
    assert ours.isdisjoint(theirs)
    assert stranger.get(f"history/crew/{lead.who.crew.id}").status_code == 404
    assert the_changes(stranger, f"object={lead.who.crew.id}") == []
    assert the_changes(stranger, f"member={lead.who.member.id}") == []


def test_the_history_is_paged_and_filtered(lead, builder):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    lead.patch("crew", {"length_unit": "m"}, version=2)
    mine = f"kind=crew&member={lead.who.member.id}"

    first = lead.get(f"history?{mine}&limit=1").body
    rest = lead.get(f"history?{mine}&limit=1&after={first['next']}").body

    assert [first["items"][0]["version"], rest["items"][0]["version"]] == [2, 3]
    assert rest["next"] is None
    assert the_changes(lead, f"member={builder.who.member.id}") == []
    assert lead.get("history?kind=cloud").status_code == 400


def test_a_connection_forgets_who_used_it(lead):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    Member.objects.filter(id=lead.who.member.id).update(version=7)
    lead.who.crew.name = "By hand"
    lead.who.crew.save(update_fields=["name"])

    change = the_changes(lead, "kind=crew&order=-at")[0]

    assert change["after"] == {"name": "By hand"}
    assert (change["member"], change["key"], change["request_id"]) == (None, None, "")
    assert len(the_changes(lead, "kind=member")) == 1  # a version alone is no change


def test_work_outside_a_request_signs_with_a_name_of_its_own(lead):
    with acting(member=lead.who.member.id, request="nightly"):
        Member.objects.filter(id=lead.who.member.id).update(name="Odda the Elder")

    change = the_changes(lead, "kind=member&order=-at")[0]

    assert (change["after"], change["request_id"]) == ({"name": "Odda the Elder"}, "nightly")
    assert change["member"] == str(lead.who.member.id)


def test_what_is_deleted_is_told_as_it_was(lead, learner):
    AccessKey.objects.filter(member=learner.who.member).delete()

    change = the_changes(lead, "kind=access_key&order=-at")[0]

    assert change["after"] is None
    assert change["before"]["name"] == "test"


def test_a_history_can_be_taken_from_a_table_and_given_back(db):
    kept = AuditTrigger(kind="crew")
    with connection.schema_editor() as editor:
        editor.remove_constraint(type_of_crew(), kept)
        assert triggers_of("crews_crew") == set()

        editor.add_constraint(type_of_crew(), kept)

    assert triggers_of("crews_crew") == {
        f"history_of_crew_{event}" for event in ("insert", "update", "delete")
    }
    assert kept == kept.clone() != AuditTrigger(kind="member")
    assert len({kept, kept.clone()}) == 1


def type_of_crew():
    return Change._meta.get_field("crew").related_model


def triggers_of(table):
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgname FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal", [table]
        )
        return {name for (name,) in cursor.fetchall()}


def test_whatever_belongs_to_a_crew_is_kept_unless_it_is_itself_a_record(db):
    records = {"PlanningJob", "PastLayout", "OrderEvent"}
    owned = {m for m in apps.get_models() if issubclass(m, CrewOwned) and m.__name__ not in records}

    kept = {m for m in owned if any(isinstance(c, AuditTrigger) for c in m._meta.constraints)}

    assert owned - kept == set()
    for model in kept:
        assert len(triggers_of(model._meta.db_table)) == 3
