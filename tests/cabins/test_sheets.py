"""Any log is tried in any place; a corner's sheet adds up; settling shows allowance and prediction apart."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from inventory.yards.models import Species
from tests.cabins.building import (
    DOOR,
    NOON,
    a_cabin,
    a_layout,
    a_log,
    id_of,
    record_set,
    set_round,
)
from tests.people import MORNING


def measure(someone, cabin, height_mm, *, wall="A", round=1, end="start"):
    at = (NOON + timedelta(hours=1)).isoformat()
    body = {"cabin": str(id_of(cabin)), "wall": wall, "round": round, "end": end}
    sent = {**body, "height_mm": height_mm, "measured_at": at, "confirm_doubtful": True}
    assert someone.put(f"heights/{uuid4()}", sent).status_code == 201


def sheet(cabin, log, **asked):
    usual = {"wall": "A", "round": 1, "log": log.id, "from_butt_mm": 60}
    return f"{cabin}/sheet?" + "&".join(f"{name}={value}" for name, value in {**usual, **asked}.items())


def a_plain_log(crew, **fields):
    return a_log(crew, **{"butt_mm": 300, "middle_mm": 300, "tip_mm": 300, **fields})


def a_level_round(builder, number=1):
    cabin = a_cabin(builder)
    for wall in "ABCD":
        record_set(builder, cabin, a_plain_log(builder.who.crew), wall=wall, round=number)
    return cabin


def test_the_first_low_log_lies_on_the_deck_without_a_notch(builder, learner):
    cabin, log = a_cabin(builder), a_plain_log(builder.who.crew)

    body = learner.get(sheet(cabin, log)).body

    ends = body["steering"]["ends"]
    assert (body["near_butt_mm"], body["near_tip_mm"]) == (60, 5860)
    assert [(e["crossing"], e["notch_mm"], e["top_mm"]) for e in ends] == [("1", None, 312), ("2", None, 312)]
    assert (body["steering"]["remedy"], body["misfits"], body["filled_by"]) == ("none", [], None)


def test_the_next_notch_follows_from_the_heights_that_were_measured(builder):
    """A worked example. Wall A measured 330 at its end, the high wall B starts at 156; a 300 mm log with the
    target gap of 12 is cut 330 - (156 + 12) = 162 deep."""
    cabin = a_level_round(builder)
    measure(builder, cabin, 330, end="end")
    log = a_plain_log(builder.who.crew)

    body = builder.get(sheet(cabin, log, wall="B", round=1, reach_mm=156 + 312)).body

    first = body["steering"]["ends"][0]
    assert (first["crossing"], first["own_top_mm"], first["crossing_top_mm"]) == ("2", 156, 330)
    assert (first["gap_needed_mm"], first["notch_needed_mm"], first["notch_mm"]) == (12, 162, 162)
    assert first["is_within_band"]
    assert first["is_within_limit"]
    assert body["filled_by"] is not None


def test_a_low_end_is_reached_by_a_wider_gap_and_so_a_shallower_notch(builder):
    cabin = a_level_round(builder)
    measure(builder, cabin, 306)
    measure(builder, cabin, 318, end="end")
    log = a_plain_log(builder.who.crew)

    ends = builder.get(sheet(cabin, log, round=2, reach_mm=624)).body["steering"]["ends"]

    assert [e["gap_needed_mm"] for e in ends] == [18, 6]
    assert (
        ends[0]["notch_mm"] == ends[1]["notch_mm"]
    )  # both undersides come to 324 mm, the crossings are level
    assert [e["off_mm"] for e in ends] == [0, 0]


def test_what_does_not_reach_is_advised_on(builder):
    cabin = a_level_round(builder)
    log = a_log(builder.who.crew, butt_mm=340, middle_mm=300, tip_mm=260)

    body = builder.get(sheet(cabin, log, round=2, reach_mm="24 1/2 in")).body

    steering = body["steering"]
    assert steering["remedy"] in ("share", "turn", "another_log")
    assert not all(end["is_within_band"] for end in steering["ends"])
    assert steering["advice"]
    assert any("Measure at the corner again" in caution for caution in steering["cautions"])
    assert steering["basis"]["source"]


def test_a_piece_beside_an_opening_has_one_corner_or_none(builder):
    window = {**DOOR, "id": "w", "offset_mm": 600, "width_mm": 600}
    other = {**DOOR, "id": "v", "offset_mm": 2400, "width_mm": 600}
    cabin = a_cabin(builder, layout=a_layout(openings=[window, other]))
    log = a_plain_log(builder.who.crew)

    start = builder.get(sheet(cabin, log, piece=0)).body
    between = builder.get(sheet(cabin, log, piece=1)).body

    assert [e["crossing"] for e in start["steering"]["ends"]] == ["1"]
    assert between["steering"] is None
    assert between["length_mm"] == 1200


def test_the_sheet_says_what_is_in_the_way_and_where_metal_is(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    metal = {"kind": "metal", "face": None, "extent_mm": None, "from_butt_mm": 2740}
    log = a_plain_log(builder.who.crew, hazards=[metal])
    record_set(builder, cabin, log, piece=0, from_butt_mm=Decimal(25))

    body = builder.get(sheet(cabin, log, piece=1, from_butt_mm=2470)).body
    far = builder.get(sheet(cabin, log, piece=1, from_butt_mm=3400)).body

    assert [(m["code"], m["is_doubtful"]) for m in body["misfits"]] == [("close_to_piece", True)]
    assert [(h["kind"], h["distance_mm"], h["is_near"]) for h in body["hazards"]] == [("metal", 270, True)]
    assert "Metal lies near a cut" in body["cautions"][0]
    assert (far["hazards"], far["cautions"], far["log_state"]) == ([], [], "cut_up")


def test_metal_inside_a_piece_is_a_caution_even_far_from_cuts(builder):
    cabin = a_cabin(builder)
    metal = {"kind": "metal", "face": None, "extent_mm": None, "from_butt_mm": 3000}
    log = a_plain_log(builder.who.crew, hazards=[metal])

    cautions = builder.get(sheet(cabin, log)).body["cautions"]

    assert len(cautions) == 1
    assert "mark it on the log" in cautions[0]


def test_bad_questions_for_a_sheet_are_named(builder, stranger):
    cabin, log = a_cabin(builder), a_plain_log(builder.who.crew)
    theirs = a_plain_log(stranger.who.crew)

    def pointers(answer):
        return [e["pointer"] for e in answer.body["errors"]]

    beyond = builder.get(sheet(cabin, log, from_butt_mm=300))
    assert (beyond.status_code, pointers(beyond)) == (400, ["?from_butt_mm"])
    assert pointers(builder.get(sheet(cabin, log, from_butt_mm="a%20lot"))) == ["?from_butt_mm"]
    assert pointers(builder.get(sheet(cabin, log, butt_at="top"))) == ["?butt_at"]
    assert pointers(builder.get(sheet(cabin, log, side="top"))) == ["?side"]
    assert builder.get(f"{cabin}/sheet").status_code == 400
    assert builder.get(sheet(cabin, log, wall="Z")).status_code == 404
    assert builder.get(sheet(cabin, log, round=7)).status_code == 404
    assert builder.get(sheet(cabin, theirs)).status_code == 404
    assert stranger.get(sheet(cabin, theirs)).status_code == 404


@pytest.mark.parametrize("notch", ["saddle", "lap", "half_dovetail", "full_dovetail"])
def test_a_corners_sheet_adds_up_to_the_height_of_the_wall(builder, notch):
    cabin = a_cabin(builder, layout=a_layout(notch=notch))
    set_round(builder, cabin, 1)
    measure(builder, cabin, 340)

    body = builder.get(f"{cabin}/corners/1?underscribe_mm=3").body

    hundredths = 0.005 * (len(body["rows"]) + 1)
    assert sum(row["takes_mm"] for row in body["rows"]) == pytest.approx(body["height_mm"], abs=hundredths)
    assert body["sum_mm"] == pytest.approx(body["height_mm"])
    assert [(r["wall"], r["round"]) for r in body["rows"][:3]] == [("A", 1), ("D", 1), ("A", 2)]
    assert [r["is_assumed"] for r in body["rows"]] == [False] * 2 + [True] * 6
    assert body["rows"][0]["is_measured"]
    assert body["cautions"]


def test_a_corner_that_is_not_there_and_a_notch_that_cannot_be(builder, stranger):
    cabin = a_cabin(builder)

    none = builder.get(f"{cabin}/corners/9")

    assert none.status_code == 404
    assert "1, 2, 3, 4" in none.body["detail"]
    for wrong in ("slope=0", "slope=nan", "underscribe_mm=900", "thickness_mm=0", "top_share=x", "depth=3"):
        assert builder.get(f"{cabin}/corners/1?{wrong}").status_code == 400
    assert stranger.get(f"{cabin}/corners/1").status_code == 404


def a_pine(crew, **fields):
    figures = {"basic_gravity": "0.4", "shrink_radial_pct": "4.0", "shrink_tangential_pct": "7.0", **fields}
    return Species.objects.create(
        crew=crew,
        name=f"Pine {uuid4()}",
        created_at=MORNING,
        changed_at=MORNING,
        source="invented for the test",
        **figures,
    )


def test_allowance_and_prediction_stand_side_by_side_for_openings_posts_and_rounds(builder, learner):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    pine = a_pine(builder.who.crew)

    body = learner.get(f"{cabin}/settling?species={pine.id}&rule=fi_round&posts_mm=2400,8%20ft").body

    door = body["openings"][0]
    assert door["beside_mm"] == pytest.approx(800 / 0.95, abs=0.01)  # 800 high, and 5 % of it all above
    assert door["allowance"]["leave_mm"] == pytest.approx(0.05 * 800 / 0.95, abs=0.01)
    assert door["prediction"]["low_mm"] < door["prediction"]["high_mm"]
    assert door["prediction"]["basis"]["assumption"]
    assert any("Local code" in caution for caution in door["allowance"]["cautions"])
    assert [p["height_mm"] for p in body["posts"]] == [2400, 2438.4]
    last = body["rounds"][-1]
    assert last["later_low_mm"] < last["later_high_mm"] < last["now_mm"]
    assert (body["moisture_now_pct"], body["is_scribed"], body["air"]) == (None, False, None)


def test_drier_logs_settle_less_and_air_gives_the_moisture_expected(builder):
    cabin, pine = a_cabin(builder, layout=a_layout(openings=[DOOR])), a_pine(builder.who.crew)

    green = builder.get(f"{cabin}/settling?species={pine.id}").body
    dry = builder.get(
        f"{cabin}/settling?species={pine.id}&moisture_now_pct=19&temperature_c=21&humidity_pct=40"
    ).body

    assert dry["openings"][0]["prediction"]["high_mm"] < green["openings"][0]["prediction"]["high_mm"]
    # Wood Handbook FPL-GTR-190, Table 4-2: 7.7 % at 21.1 degrees and 40 %.
    assert dry["moisture_expected_pct"] == pytest.approx(7.7, abs=0.1)
    assert dry["air"]["basis"]["source"]


def test_the_local_code_governs_what_to_leave(builder):
    cabin, pine = a_cabin(builder, layout=a_layout(openings=[DOOR])), a_pine(builder.who.crew)

    body = builder.get(
        f"{cabin}/settling?species={pine.id}&code_low_pct=2&code_high_pct=8&code_title=Shire%20code"
    ).body

    assert body["rule"]["id"] == "local_code"
    assert body["openings"][0]["allowance"]["leave_mm"] == pytest.approx(0.08 * 800 / 0.92, abs=0.01)
    assert "Shire code" in body["openings"][0]["allowance"]["basis"]["source"]


def test_the_species_is_that_of_the_logs_set(builder):
    cabin = a_cabin(builder)
    pine = a_pine(builder.who.crew)
    unknown = builder.get(f"{cabin}/settling")
    log = a_log(builder.who.crew)
    log.species = pine
    log.save(update_fields=["species"])
    record_set(builder, cabin, log)

    found = builder.get(f"{cabin}/settling")
    record_set(builder, cabin, a_log(builder.who.crew), wall="C")
    mixed = builder.get(f"{cabin}/settling")

    assert [e["pointer"] for e in unknown.body["errors"]] == ["?species"]
    assert [one["id"] for one in found.body["species"]] == [str(pine.id)]
    assert mixed.status_code == 400


@pytest.mark.parametrize(
    ("asked", "pointer"),
    [
        ("rule=grandfather", "?rule"),
        ("moisture_now_pct=900", "?moisture_now_pct"),
        ("moisture_expected_pct=-1", "?moisture_expected_pct"),
        ("moisture_now_pct=inf", "?moisture_now_pct"),
        ("temperature_c=20", "?humidity_pct"),
        ("humidity_pct=20", "?temperature_c"),
        ("temperature_c=20&humidity_pct=300", "?humidity_pct"),
        ("temperature_c=20&humidity_pct=50&moisture_expected_pct=9", "?moisture_expected_pct"),
        ("code_low_pct=3", "?code_high_pct"),
        ("code_high_pct=3", "?code_low_pct"),
        ("code_low_pct=3&code_high_pct=3", "?code_title"),
        ("code_low_pct=5&code_high_pct=3&code_title=Shire", "?code_low_pct"),
        ("posts_mm=tall", "?posts_mm"),
        ("posts_mm=" + ",".join(["9"] * 51), "?posts_mm"),
    ],
)
def test_what_cannot_be_is_named_and_no_figure_is_given(builder, asked, pointer):
    cabin, pine = a_cabin(builder), a_pine(builder.who.crew)

    answer = builder.get(f"{cabin}/settling?species={pine.id}&{asked}")

    assert answer.status_code == 400
    assert [e["pointer"] for e in answer.body["errors"]] == [pointer]


def test_a_wall_of_two_species_may_lose_anything_from_the_least_of_one_to_the_most_of_the_other(builder):
    cabin = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    quiet = a_pine(builder.who.crew, shrink_radial_pct="2.0", shrink_tangential_pct="4.0")
    lively = a_pine(builder.who.crew)
    for wall, species in (("B", quiet), ("D", lively)):
        log = a_log(builder.who.crew)
        log.species = species
        log.save(update_fields=["species"])
        record_set(builder, cabin, log, wall=wall)

    both, one, other = (
        builder.get(f"{cabin}/settling{query}").body
        for query in ("", f"?species={quiet.id}", f"?species={lively.id}")
    )

    assert {found["id"] for found in both["species"]} == {str(quiet.id), str(lively.id)}
    assert (both["shrinkage"]["low"], both["shrinkage"]["high"]) == (
        one["shrinkage"]["low"],
        other["shrinkage"]["high"],
    )
    assert both["openings"][0]["prediction"]["high_mm"] == other["openings"][0]["prediction"]["high_mm"]


def test_a_species_of_unknown_shrinkage_and_one_of_another_crew_give_no_figure(builder, stranger):
    cabin = a_cabin(builder)
    unknown = a_pine(builder.who.crew, shrink_radial_pct=None)

    for species in (unknown.id, a_pine(stranger.who.crew).id, "pine"):
        answer = builder.get(f"{cabin}/settling?species={species}")
        assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (400, "?species")
    assert stranger.get(f"{cabin}/settling").status_code == 404


def test_heights_that_cannot_be_give_no_settling(builder):
    """A post beside a wall whose start was measured far above its last round."""
    cabin, pine = a_cabin(builder), a_pine(builder.who.crew)
    record_set(builder, cabin, a_log(builder.who.crew), round=4)
    for end in ("start", "end"):
        measure(builder, cabin, 90_000, round=0, end=end)
        measure(builder, cabin, 900, round=4, end=end)

    answer = builder.get(f"{cabin}/settling?species={pine.id}&posts_at=A:2500")

    assert (answer.status_code, answer.body["type"]) == (404, "/problems/cannot-reckon")


def test_a_cabin_without_a_layout_has_no_sheets(builder):
    address, log, pine = f"cabins/{uuid4()}", a_plain_log(builder.who.crew), a_pine(builder.who.crew)
    builder.put(address, {"name": "Bare"})

    assert builder.get(f"{address}/corners/1").body["type"] == "/problems/not-laid-out"
    assert builder.get(f"{address}/settling?species={pine.id}").body["type"] == "/problems/not-laid-out"
    assert builder.get(sheet(address, log)).status_code == 404
