"""The demo comes into an empty database through the apps' own actions, once."""

import json
from dataclasses import replace
from io import StringIO

import pytest
from django.core.management import call_command

from cabins.cabins.models import Cabin
from cabins.heights.models import MeasuredHeight
from cabins.set_logs.models import SetLog
from crews.accounts.models import AccessKey, Crew, Member, Role
from fixtures.make_demo import HERE
from inventory.logs.models import Log, LogState, Measurement
from inventory.mills.models import Mill, MillForm
from inventory.yards.models import Rack, Yard
from planning.demo import demo_id
from tests.people import a_crew

KEPT = (Crew, Member, AccessKey, Yard, Rack, Log, Measurement, Mill, MillForm, Cabin, SetLog, MeasuredHeight)
BUILT = json.loads((HERE / "built/bunkhouse.json").read_text(encoding="utf-8"))


def load() -> list[str]:
    out = StringIO()
    call_command("load_demo", stdout=out)
    return out.getvalue().splitlines()


def rows_kept() -> list[list[dict]]:
    return [list(model.objects.order_by("id").values()) for model in KEPT]


@pytest.fixture
def loaded(db: None) -> list[str]:
    return load()


def test_the_demo_school_is_found_whole(loaded):
    counts = {model.__name__: model.objects.count() for model in (Yard, Rack, Log, Cabin)}

    assert counts == {"Yard": 2, "Rack": 5, "Log": 160, "Cabin": 3}
    assert Member.objects.filter(role=Role.LEAD).count() == 1
    assert Log.objects.filter(state=LogState.PUT_ASIDE).count() == 8
    assert Log.objects.filter(state__in=(LogState.SET, LogState.CUT_UP)).count() == 16
    assert Log.objects.values("species").distinct().count() == 3
    assert not Log.objects.filter(rack=None).exists()


def test_the_bunkhouse_is_half_built_and_its_record_tells_of_the_nail(loaded):
    bunkhouse = Cabin.objects.get(name="Bunkhouse")

    assert bunkhouse.rounds == 8
    assert SetLog.objects.filter(cabin=bunkhouse).count() == len(BUILT["set_logs"])
    assert MeasuredHeight.objects.filter(cabin=bunkhouse).count() == len(BUILT["heights"])
    # A nail far from every cut is told for ever; nothing else was doubtful.
    warned = [one["code"] for row in SetLog.objects.exclude(warnings=[]) for one in row.warnings]
    assert warned == ["metal_in_piece"]
    assert not SetLog.objects.exclude(cabin=bunkhouse).exists()


def test_the_mills_are_known_with_their_own_forms(loaded):
    with_forms = MillForm.objects.values_list("mill__name", flat=True)

    assert set(with_forms) == {mill.name for mill in Mill.objects.all()}
    assert len(with_forms) == len(list((HERE / "mills").glob("*.json")))


def test_the_last_line_is_the_leads_key_and_it_opens_the_api(loaded, asker):
    word, _, key = loaded[-1].partition(": ")

    me = asker(replace(a_crew("Far Ridge crew"), key=key)).get("me")

    assert word == "key"
    assert me.status_code == 200
    assert me.body["crew"]["name"] == "Alder Bend school"


def test_a_second_load_changes_nothing(loaded):
    before = rows_kept()

    said = load()

    assert rows_kept() == before
    assert not any(line.startswith("key") for line in said)


def test_a_database_with_a_crew_is_left_alone(db):
    crew = a_crew("Far Ridge crew").crew

    said = load()

    assert list(Crew.objects.all()) == [crew]
    assert said == ["There is a crew already; the demo was not loaded."]


def test_what_the_demo_has_bears_the_same_ids_wherever_it_is_loaded(loaded):
    assert Crew.objects.get().id == demo_id("crew", "Alder Bend school")
    assert {cabin.id for cabin in Cabin.objects.all()} == {
        demo_id("cabin", name) for name in ("Bunkhouse", "Schoolroom", "Tool shed")
    }
    first = BUILT["set_logs"][0]
    place = (first["wall"], first["round"], first["piece"])
    assert SetLog.objects.filter(id=demo_id("set log", "Bunkhouse", *place)).exists()
