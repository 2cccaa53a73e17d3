"""Species, yards and racks: where logs lie and what they are made of."""

from uuid import uuid4

import pytest

from inventory.core.wood import seed_species

SPRUCE = {"name": "valley spruce", "basic_gravity": 0.37, "moisture_sap_pct": 130}


@pytest.fixture
def yard(lead):
    return lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body


@pytest.fixture
def rack(lead, yard):
    return lead.put(f"racks/{uuid4()}", {"yard": yard["id"], "name": "R1"}).body


def test_a_species_of_ones_own_is_kept_with_its_figures(builder):
    address = f"species/{uuid4()}"

    made = builder.put(address, SPRUCE)
    again = builder.put(address, SPRUCE)

    assert (made.status_code, again.status_code) == (201, 200)
    assert builder.get(address).body["basic_gravity"] == 0.37
    assert made.body["moisture_heart_pct"] is None
    assert again.headers["ETag"] == '"1"'


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("basic_gravity", 1.6),
        ("basic_gravity", 0),
        ("moisture_sap_pct", -1),
        ("shrink_radial_pct", 31),
        ("fibre_saturation_pct", 4),
        ("name", ""),
    ],
)
def test_wood_that_cannot_be_is_refused(builder, field, value):
    answer = builder.put(f"species/{uuid4()}", {**SPRUCE, field: value})

    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.body["errors"]] == [f"/{field}"]


def test_wood_cannot_hold_more_water_than_it_has_room_for(builder):
    answer = builder.put(f"species/{uuid4()}", {**SPRUCE, "basic_gravity": 1.2})

    assert answer.status_code == 422
    assert answer.body["errors"][0]["code"] == "no_wood"


def test_a_new_crew_starts_with_species_and_their_sources(lead, stranger):
    ours = lead.get("species?limit=500").body["items"]
    theirs = stranger.get("species?limit=500").body["items"]

    assert len(ours) == len(seed_species())
    assert all(one["source"] for one in ours)
    assert {one["name"]: one["basic_gravity"] for one in ours} == {
        one.name: one.basic_gravity for one in seed_species()
    }
    assert not {one["id"] for one in ours} & {one["id"] for one in theirs}


def test_a_changed_figure_needs_the_version_it_changes(builder):
    address = f"species/{uuid4()}"
    builder.put(address, SPRUCE)
    changed = {**SPRUCE, "basic_gravity": 0.4}

    missing = builder.put(address, changed)
    done = builder.put(address, changed, version=1)
    stale = builder.put(address, SPRUCE, version=1)

    assert (missing.status_code, done.status_code, stale.status_code) == (428, 200, 412)
    assert stale.body["current"]["basic_gravity"] == 0.4


def test_a_name_is_used_once(lead, yard, rack):
    yard_again = lead.put(f"yards/{uuid4()}", {"name": "Lower yard"})
    rack_again = lead.put(f"racks/{uuid4()}", {"yard": yard["id"], "name": "R1"})
    lead.put(f"species/{uuid4()}", SPRUCE)
    species_again = lead.put(f"species/{uuid4()}", SPRUCE)

    for answer in (yard_again, rack_again, species_again):
        assert answer.status_code == 409
        assert answer.body["type"] == "/problems/name-taken"


def test_another_yard_may_have_a_rack_of_the_same_name(lead, rack):
    upper = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body

    answer = lead.put(f"racks/{uuid4()}", {"yard": upper["id"], "name": "R1"})

    assert answer.status_code == 201
    assert [r["id"] for r in lead.get(f"racks?yard={upper['id']}").body["items"]] == [answer.body["id"]]


def test_yards_and_racks_are_renamed_by_version(lead, yard, rack):
    yards = lead.put(f"yards/{yard['id']}", {"name": "River yard"}, version=1)
    racks = lead.put(f"racks/{rack['id']}", {"yard": yard["id"], "name": "R1b"}, version=1)

    assert (yards.body["name"], racks.body["name"]) == ("River yard", "R1b")
    assert lead.put(f"yards/{yard['id']}", {"name": "x"}).status_code == 428
    assert lead.put(f"racks/{rack['id']}", {"yard": yard["id"], "name": "x"}, version=1).status_code == 412


def test_a_rack_stays_in_its_yard(lead, rack):
    upper = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body

    answer = lead.put(f"racks/{rack['id']}", {"yard": upper["id"], "name": "R1"}, version=1)

    assert answer.status_code == 422
    assert answer.body["errors"][0]["pointer"] == "/yard"


def test_a_rack_needs_a_yard_of_this_crew(lead, stranger, yard):
    answer = stranger.put(f"racks/{uuid4()}", {"yard": yard["id"], "name": "R1"})

    assert answer.status_code == 422
    assert answer.body["errors"] == [
        {"pointer": "/yard", "detail": "No such yard in this crew.", "code": "unknown"}
    ]


def test_strangers_find_nothing_of_ours(lead, stranger, yard, rack):
    species = lead.put(f"species/{uuid4()}", SPRUCE).body

    for address, body in (
        (f"yards/{yard['id']}", {"name": "Mine now"}),
        (f"species/{species['id']}", SPRUCE),
    ):
        assert stranger.get(address).status_code == 404
        assert stranger.put(address, body).status_code == 404
    own = stranger.put(f"yards/{uuid4()}", {"name": "Far yard"}).body
    assert stranger.get(f"racks/{rack['id']}").status_code == 404
    assert stranger.put(f"racks/{rack['id']}", {"yard": own["id"], "name": "R1"}).status_code == 404
    assert [y["id"] for y in stranger.get("yards").body["items"]] == [own["id"]]


def test_a_learner_adds_a_rack_but_no_yard_and_no_species(learner, yard):
    assert learner.put(f"racks/{uuid4()}", {"yard": yard["id"], "name": "R7"}).status_code == 201
    assert learner.put(f"yards/{uuid4()}", {"name": "New"}).status_code == 403
    assert learner.put(f"species/{uuid4()}", SPRUCE).status_code == 403
