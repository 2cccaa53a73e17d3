"""Logs sawn on two faces, and crooked ones, from the notebook's line to the wall."""

import math
from uuid import UUID, uuid4

import pytest

from inventory.core.wood import density_kg_m3
from inventory.logs.models import Log
from tests.cabins.building import a_cabin, a_layout, record_set

CHART = """number,species,length,butt,middle,tip,face height,thickness,crook,crook at
S1,hill pine,6 m,25 cm,25 cm,25 cm,25 cm,15 cm,,
S2,hill pine,6 m,25 cm,25 cm,25 cm,25 cm,15 cm,,
S3,hill pine,6 m,25 cm,25 cm,25 cm,25 cm,15 cm,,
S4,hill pine,6 m,25 cm,25 cm,25 cm,25 cm,15 cm,,
K1,hill pine,6 m,30 cm,30 cm,30 cm,,,6 cm,2 m
"""


@pytest.fixture
def yard(lead):
    lead.patch("crew", {"length_unit": "m"}, version=1)
    lead.put(f"species/{uuid4()}", {"name": "hill pine", "basic_gravity": 0.4})
    yard = lead.put(f"yards/{uuid4()}", {"name": "Saw yard"}).body["id"]
    charted = lead.post(f"yards/{yard}/chart", CHART.encode(), media="text/csv")
    assert (charted.status_code, charted.body["added"]) == (200, 5), charted.body
    return yard


def the_log(yard, number):
    return Log.objects.get(yard=UUID(yard), number=number)


def test_a_sawn_logs_volume_is_that_of_a_circle_cut_by_two_planes(learner, yard):
    body = learner.get(f"logs/{the_log(yard, 'S1').id}/figures?moisture_pct=60").body

    radius = math.hypot(125, 75)
    section = 2 * (75 * 125 + radius**2 * math.asin(75 / radius))
    by_hand = section * 6000 / 1e9
    assert [one["volume_m3"] for one in body["volumes"]] == pytest.approx([by_hand] * 4, rel=1e-4)
    assert section < 250 * 2 * radius  # less than the block around it
    assert (body["sawn_thickness_mm"], body["written"]["sawn_thickness"]) == (150, "15 cm")
    weight = by_hand * density_kg_m3(gravity=0.4, moisture_pct=60)
    assert body["weight"]["low_kg"] < weight < body["weight"]["high_kg"]
    assert body["balance"]["from_butt_end_mm"] == pytest.approx(3000)
    assert body["balance"]["from_butt_end_text"] == "3 m"


def test_a_corner_of_sawn_logs_takes_their_thickness_from_the_chart(builder, yard):
    cabin = a_cabin(builder, layout=a_layout(notch="half_dovetail", log_middle_mm=250))
    for number, wall in (("S1", "A"), ("S2", "B"), ("S3", "C"), ("S4", "D")):
        record_set(builder, cabin, the_log(yard, number), wall=wall)

    body = builder.get(f"{cabin}/corners/1").body
    thinner = builder.get(f"{cabin}/corners/1?thickness_mm=120").body

    assert (body["thickness_mm"], thinner["thickness_mm"]) == (150, 120)
    assert {row["cut"]["width_mm"] for row in body["rows"]} == {150}
    assert body["sum_mm"] == pytest.approx(body["height_mm"])
    assert "hewn on two faces" in body["rows"][0]["cut"]["basis"]["assumption"]


def test_a_crook_stays_whole_in_the_piece_that_holds_it_and_is_nothing_in_the_others(learner, yard):
    log = f"logs/{the_log(yard, 'K1').id}"

    whole = learner.get(f"{log}/figures").body["crown"]
    holding = learner.get(f"{log}/piece?from_butt_mm=1500&length_mm=1000").body
    beyond = learner.get(f"{log}/piece?from_butt_mm=2500&length_mm=3000").body

    assert (whole["crook_mm"], whole["crook_at_mm"], whole["crown_mm"]) == (60, 2000, None)
    assert (holding["crook_mm"], holding["crown_mm"]) == (60, None)
    assert beyond["crook_mm"] == 0
    assert (beyond["from_butt_text"], beyond["length_text"], beyond["middle_text"]) == (
        "2.5 m",
        "3 m",
        "30 cm",
    )


def test_a_round_and_a_sawn_log_in_one_wall_have_no_thickness_in_common(builder, yard):
    cabin = a_cabin(builder)
    for number, wall in (("S1", "A"), ("K1", "C")):
        record_set(builder, cabin, the_log(yard, number), wall=wall)

    assert builder.get(f"{cabin}/corners/1").body["thickness_mm"] is None
