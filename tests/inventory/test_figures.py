"""Figures of logs and pieces over the API: each with its basis, its uncertainty and its cautions."""

import json
import math
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.core.moisture import equilibrium_moisture_pct
from inventory.core.wood import density_kg_m3


@pytest.fixture
def species(lead):
    wood = {"name": "valley spruce", "basic_gravity": 0.4, "moisture_heart_pct": 40, "moisture_sap_pct": 120}
    wood |= {"shrink_radial_pct": 4, "shrink_tangential_pct": 8}
    return lead.put(f"species/{uuid4()}", wood).body["id"]


@pytest.fixture
def yard(lead):
    return lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]


@pytest.fixture
def log(lead, yard, species):
    """A log without taper: its figures follow by hand."""
    body = {"yard": yard, "species": species, "number": "A1", "length_mm": "20 ft"}
    body |= {"butt_mm": 304.8, "middle_mm": 304.8, "tip_mm": 304.8, "crown_mm": 40, "crown_side": "top"}
    body |= {"hazards": [{"kind": "metal", "from_butt_mm": 1500}, {"kind": "knot", "from_butt_mm": 4000}]}
    answer = lead.put(f"logs/{uuid4()}", body)
    assert answer.status_code == 201, answer.body
    return f"logs/{answer.body['id']}"


def figures(asker, log, query=""):
    answer = asker.get(f"{log}/figures{query}")
    assert answer.status_code == 200, answer.body
    return answer.body


def test_a_cylinder_has_the_same_volume_by_every_cubic_rule(learner, log):
    told = figures(learner, log)["volumes"]

    by_hand = math.pi * 0.3048**2 / 4 * 6.096
    assert [one["rule"] for one in told] == ["frustums", "huber", "smalian", "newton"]
    for one in told:
        assert one["volume_m3"] == pytest.approx(by_hand, rel=1e-4)
        assert one["low_m3"] < one["volume_m3"] < one["high_m3"]
        assert one["basis"]["rule"]
        assert one["uncertainty"]


def test_board_feet_follow_the_rule_asked_for(learner, log):
    # 12 in by 18 ft after half a foot of trim: (12 - 4)^2 18 / 16 = 72.
    told = figures(learner, log, "?board_rule=doyle")["board_feet"]

    assert [(one["rule"], one["board_feet"]) for one in told] == [("doyle", 72)]
    assert told[0]["pieces"] == [{"small_end_in": 12, "length_ft": 18, "board_feet": 72}]
    whole = figures(learner, log, "?board_rule=doyle&trim_mm=0")["board_feet"]
    assert whole[0]["board_feet"] == 80
    in_pieces = figures(learner, log, "?board_rule=doyle&trim_mm=0&longest_ft=10")["board_feet"]
    assert [piece["length_ft"] for piece in in_pieces[0]["pieces"]] == [10, 10]


def test_a_rule_that_does_not_reach_a_log_says_so(learner, log):
    told = {one["rule"]: one for one in figures(learner, log, "?trim_mm=19 ft")["board_feet"]}

    assert set(told) > {"doyle", "scribner_decimal_c"}
    for one in told.values():
        assert one["board_feet"] is None
        assert "2 ft" in one["why_not"]


def test_a_lift_is_planned_on_the_top_of_the_range(learner, log):
    told = figures(learner, log, "?moisture_pct=60")

    weight, sling = told["weight"], told["sling"]
    by_hand = told["volumes"][0]["volume_m3"] * density_kg_m3(gravity=0.4, moisture_pct=60)
    assert weight["low_kg"] < by_hand < weight["high_kg"] == weight["lift_kg"]
    assert weight["lift_lb"] == pytest.approx(weight["lift_kg"] / 0.45359237, rel=1e-3)
    assert sling["tension_kg"] == pytest.approx(weight["lift_kg"] * 0.57735, rel=1e-3)
    assert weight["cautions"]
    assert sling["cautions"]


def test_a_flatter_sling_pulls_harder_and_is_warned_of(learner, log):
    steep, flat = (figures(learner, log, f"?sling_angle_deg={deg}")["sling"] for deg in (60, 30))

    assert flat["share_of_load"] == pytest.approx(1, rel=1e-4)
    assert steep["share_of_load"] < flat["share_of_load"]
    assert any("too flat" in caution for caution in flat["cautions"])


def test_a_dry_log_weighs_less_than_a_green_one(learner, log):
    green, dry = (figures(learner, log, f"?seasoning={one}")["weight"] for one in ("green", "dry"))

    assert dry["high_kg"] < green["high_kg"]


def test_a_log_weighs_as_dry_as_it_was_charted_unless_the_question_says_otherwise(learner, log):
    unknown = figures(learner, log)["weight"]
    version = learner.get(log).body["version"]
    learner.patch(log, {"seasoning": "dry", "felled_on": "2025-02-01"}, version=version)

    charted, asked = figures(learner, log)["weight"], figures(learner, log, "?seasoning=green")["weight"]

    assert charted["high_kg"] < unknown["high_kg"] == asked["high_kg"]
    assert "reckoned as green" in unknown["basis"]["assumption"]
    assert "dry:" in charted["basis"]["assumption"]


def test_a_log_of_no_known_species_has_no_weight_but_a_balance(lead, yard):
    body = {"yard": yard, "number": "B1", "length_mm": 6000, "butt_mm": 340, "middle_mm": 300, "tip_mm": 270}
    log = f"logs/{lead.put(f'logs/{uuid4()}', body).body['id']}"

    told = figures(lead, log)

    assert (told["weight"], told["sling"]) == (None, None)
    assert "species" in told["why_no_weight"]
    assert 2500 < told["balance"]["from_butt_end_mm"] < 3000
    assert told["taper_mm_per_m"] == pytest.approx(70 / 5.39, rel=1e-3)


def test_lengths_are_written_as_the_crew_writes_them(lead, log):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)

    told = figures(lead, log)

    assert told["written"]["length"] == "20' 0\""
    assert told["written"]["middle"] == '12"'
    assert told["crown"]["half_length_mm"] == 10
    assert [d["from_butt_mm"] for d in told["diameters"]] == [0, 305, 3048, 5791, 6096]


def test_metal_is_told_of_wherever_the_log_is(learner, log):
    whole = figures(learner, log)
    with_it = learner.get(f"{log}/piece?from_butt_mm=1000&length_mm=2000").body
    without = learner.get(f"{log}/piece?from_butt_mm=2000&length_mm=3000").body

    assert any("metal" in caution for caution in whole["cautions"])
    assert with_it["hazards"][0]["from_piece_mm"] == 500
    assert any("metal" in caution for caution in with_it["cautions"])
    assert [one["kind"] for one in without["hazards"]] == ["knot"]
    assert without["cautions"] == []


def test_half_a_log_has_a_quarter_of_its_crown_and_half_its_weight(learner, log):
    whole = figures(learner, log)

    half = learner.get(f"{log}/piece?from_butt_mm=5 ft&length_mm=10 ft").body

    assert half["crown_mm"] == 10
    assert half["middle_mm"] == 304.8
    assert half["weight"]["likely_kg"] == pytest.approx(whole["weight"]["likely_kg"] / 2, rel=1e-3)
    assert half["balance"]["from_butt_end_mm"] == pytest.approx(1524)
    assert half["balance"]["from_log_butt_mm"] == pytest.approx(3048)


@pytest.mark.parametrize(
    ("address", "pointer"),
    [
        ("piece", "?from_butt_mm"),
        ("piece?from_butt_mm=0&length_mm=0", "?length_mm"),
        ("piece?from_butt_mm=-3&length_mm=100", "?from_butt_mm"),
        ("piece?from_butt_mm=6000&length_mm=100", "?length_mm"),
        ("piece?from_butt_mm=here&length_mm=100", "?from_butt_mm"),
        ("figures?moisture_pct=-1", "?moisture_pct"),
        ("figures?moisture_pct=350", "?moisture_pct"),
        ("figures?moisture_pct=nan", "?moisture_pct"),
        ("figures?sling_angle_deg=0", "?sling_angle_deg"),
        ("figures?sling_angle_deg=inf", "?sling_angle_deg"),
        ("figures?sling_angle_deg=nan", "?sling_angle_deg"),
        ("figures?seasoning=wet", "?seasoning"),
        ("figures?cubic_rule=guess", "?cubic_rule"),
        ("figures?longest_ft=1", "?longest_ft"),
        ("figures?rule=doyle", "?rule"),
    ],
)
def test_a_figure_that_cannot_be_is_refused_by_name(learner, log, address, pointer):
    answer = learner.get(f"{log}/{address}")

    assert answer.status_code == 400
    assert answer.body["errors"][0]["pointer"] == pointer


def test_wood_comes_to_a_moisture_with_the_air(learner):
    answer = learner.get("figures/moisture?temperature_c=21.1&humidity_pct=65")

    assert answer.body["moisture_pct"] == pytest.approx(
        equilibrium_moisture_pct(temperature_c=21.1, humidity_pct=65), abs=0.001
    )
    assert answer.body["basis"]["source"]


@pytest.mark.parametrize(
    "query",
    ["", "?temperature_c=20", "?temperature_c=90&humidity_pct=50", "?temperature_c=nan&humidity_pct=50"],
)
def test_air_that_cannot_be_is_refused(learner, query):
    assert learner.get(f"figures/moisture{query}").status_code == 400


def test_a_log_loses_between_radial_and_tangential(learner, species):
    told = learner.get(f"species/{species}/shrinkage?dimension_mm=300&to_moisture_pct=0").body

    assert (told["radial_mm"], told["tangential_mm"]) == (12, 24)
    assert told["low_mm"] < 12 < 24 < told["high_mm"]


def test_shrinkage_that_nobody_knows_is_refused(lead, species):
    unknown = lead.put(f"species/{uuid4()}", {"name": "odd wood", "basic_gravity": 0.5}).body["id"]

    assert lead.get(f"species/{unknown}/shrinkage?dimension_mm=300").status_code == 400
    assert lead.get(f"species/{species}/shrinkage?dimension_mm=300&to_moisture_pct=399").status_code == 400
    assert lead.get(f"species/{species}/shrinkage").status_code == 400


def test_strangers_get_no_figures_of_ours(stranger, log, species):
    assert stranger.get(f"{log}/figures").status_code == 404
    assert stranger.get(f"{log}/piece?from_butt_mm=0&length_mm=100").status_code == 404
    assert stranger.get(f"species/{species}/shrinkage?dimension_mm=300").status_code == 404


def test_figures_ask_for_the_log_and_for_how_it_is_scaled(learner, log):
    with CaptureQueriesContext(connection) as queries:
        told = figures(learner, log)

    assert len([query for query in queries if "inventory_" in query["sql"]]) == 2
    assert "NaN" not in json.dumps(told)
