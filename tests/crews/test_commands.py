"""What whoever runs the server asks and does from its command line."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from crews.accounts.models import Crew
from tests.cabins.building import a_log
from tests.people import Someone


def said(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out)
    return out.getvalue()


def test_the_crews_are_listed_with_what_they_have(lead, builder, stranger):
    lead.get("me")
    a_log(lead.who.crew)

    own, far = sorted(said("crews").splitlines()[1:], key=lambda line: "Far Ridge" in line)

    assert own.split()[:5] == [str(lead.who.crew.id), "2", "0", "1", "0"]
    assert own.endswith(lead.who.crew.name)
    assert far.split()[:6] == [str(stranger.who.crew.id), "1", "0", "0", "0", "-"]


def test_a_lead_who_lost_the_key_gets_another_one(lead, asker):
    name = lead.get("me").body["member"]["name"]

    key = said("new_lead_key", lead.who.crew.name, name).strip()

    again = asker(Someone(crew=lead.who.crew, member=lead.who.member, key=key))
    assert again.get("me").body["role"] == "lead"
    assert lead.get("me").status_code == 200, "the old key still opens"


def test_a_key_is_made_for_a_lead_of_one_crew_alone(lead, builder):
    crew = str(lead.who.crew.id)
    with pytest.raises(CommandError, match="no lead of this crew 'Brone'"):
        said("new_lead_key", crew, "Brone")
    with pytest.raises(CommandError, match="no crew 'Nobody'"):
        said("new_lead_key", "Nobody", "Brone")
    Crew.objects.create(
        id=builder.who.member.id,
        name=lead.who.crew.name,
        created_at=lead.who.crew.created_at,
        changed_at=lead.who.crew.created_at,
    )
    with pytest.raises(CommandError, match="more than one crew"):
        said("new_lead_key", lead.who.crew.name, "Brone")
