"""What a crew may store, and how many planning jobs it may have under way."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from config.crew_sizes import bytes_of, count_crews
from crews.accounts.models import CrewSize
from crews.accounts.storage import full_crews


@pytest.fixture
def counted(settings, monkeypatch):
    settings.CREW_MB = 1
    monkeypatch.setattr("crews.accounts.storage._BELIEVED_S", -1.0)
    return lambda: count_crews(at=datetime.now(UTC), changed_within=timedelta(hours=1))


def test_a_crew_is_counted_by_its_own_rows(lead, stranger, counted):
    before = bytes_of(lead.who.crew.id)
    theirs = bytes_of(stranger.who.crew.id)
    for n in range(20):
        assert lead.put(f"yards/{uuid4()}", {"name": f"Yard {n}", "remarks": ""}).status_code == 201

    assert bytes_of(lead.who.crew.id) > before + 20 * 100
    assert bytes_of(stranger.who.crew.id) == theirs
    assert counted() == 2
    assert CrewSize.objects.get(crew=lead.who.crew).stored_bytes == bytes_of(lead.who.crew.id)


def test_a_crew_that_is_full_reads_and_deletes_and_writes_nothing(lead, stranger, counted):
    hook = f"webhooks/{uuid4()}"
    lead.put(hook, {"url": "https://bench.example/", "kinds": ["delivered"]})
    counted()
    CrewSize.objects.filter(crew=lead.who.crew).update(stored_bytes=1024**2 + 1)

    refused = lead.put(f"yards/{uuid4()}", {"name": "One more"})

    assert (refused.status_code, refused.body["type"]) == (503, "/problems/crew-full")
    assert "1 MB" in refused.body["detail"]
    assert lead.get("yards").status_code == 200
    assert lead.delete(hook).status_code in (200, 204)
    assert stranger.put(f"yards/{uuid4()}", {"name": "Theirs"}).status_code == 201


def test_without_a_limit_nobody_looks(lead, settings):
    settings.CREW_MB = 0
    looked = full_crews.looked

    assert lead.put(f"yards/{uuid4()}", {"name": "Yard"}).status_code == 201
    assert full_crews.looked == looked
