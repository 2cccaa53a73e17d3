"""A crew chooses its rule for settling, its notches and what it makes of grain; answers say who chose."""

from decimal import Decimal
from uuid import uuid4

import pytest

from cabins.core.grain import RULES
from inventory.yards.models import Species
from tests.cabins.building import DOOR, NOON, a_cabin, a_layout, a_log, id_of, record_set, set_round
from tests.people import MORNING

WALLS, GRAIN = "wall-settings", "grain-rules"


@pytest.fixture
def cabin(builder):
    """The rectangle with a door, of green pine of known shrinkage."""
    return a_cabin(builder, layout=a_layout(openings=[DOOR]))


@pytest.fixture
def pine(builder):
    return Species.objects.create(
        crew=builder.who.crew, name="Hill pine", basic_gravity="0.4", shrink_radial_pct="4.0",
        shrink_tangential_pct="7.0", source="invented for the test", created_at=MORNING, changed_at=MORNING,
    ).id  # fmt: skip


def settling(asker, cabin, pine, query=""):
    answer = asker.get(f"{cabin}/settling?species={pine}{query}")
    assert answer.status_code == 200, answer.body
    return answer.body


def used(body):
    return {one["name"]: (one["value"], one["chosen_by"]) for one in body["used"]}


def test_before_a_crew_chooses_the_documented_defaults_count(learner, cabin, pine):
    settings = learner.get(WALLS)
    body = settling(learner, cabin, pine)

    assert (settings.body["version"], settings.body["chosen"]) == (0, [])
    assert {by for _, by in used(body).values()} == {"default"}
    assert used(body)["rule"] == ("mp579", "default")
    assert {rule["id"] for rule in settings.body["settling_rules"]} >= {"mp579", "fi_round"}
    assert all("(" in rule["source"] for rule in settings.body["settling_rules"])


def test_the_rule_a_crew_chose_counts_until_a_question_says_otherwise(lead, learner, cabin, pine):
    lead.patch(WALLS, {"rule": "fi_round", "moisture_expected_pct": 15}, version=0)

    chosen = settling(learner, cabin, pine)
    asked = settling(learner, cabin, pine, "&rule=ilba2000_green&temperature_c=21&humidity_pct=40")

    assert chosen["openings"][0]["allowance"]["leave_mm"] == pytest.approx(0.05 * 800 / 0.95, abs=0.01)
    assert (chosen["rule"]["id"], used(chosen)["rule"]) == ("fi_round", ("fi_round", "crew"))
    assert chosen["moisture_expected_pct"] == 15
    assert (asked["rule"]["id"], used(asked)["rule"][1]) == ("ilba2000_green", "asked")
    assert used(asked)["moisture_expected_pct"][1] == "asked"  # by the air


def test_the_local_code_a_crew_keeps_governs_every_allowance(lead, learner, cabin, pine):
    code = {"code_title": "Shire code", "code_low_pct": 2, "code_high_pct": 8}
    lead.patch(WALLS, code, version=0)

    kept = settling(learner, cabin, pine, "&rule=fi_round")
    other = settling(learner, cabin, pine, "&code_title=Vale&code_low_pct=1&code_high_pct=3")

    assert kept["openings"][0]["allowance"]["leave_mm"] == pytest.approx(0.08 * 800 / 0.92, abs=0.01)
    assert "Shire code" in kept["rule"]["source"]
    assert "Vale" in other["rule"]["source"]
    half = learner.get(f"{cabin}/settling?species={pine}&code_low_pct=3")
    assert half.body["errors"][0]["pointer"] == "?code_high_pct"  # not one end asked, the other the crew's


def test_bedding_down_is_a_choice_and_is_told_apart_from_shrinkage(lead, cabin, pine):
    usual = settling(lead, cabin, pine)["openings"][0]["prediction"]
    lead.patch(WALLS, {"bedding_high_pct": 2.5}, version=0)

    more = settling(lead, cabin, pine)["openings"][0]["prediction"]
    none = settling(lead, cabin, pine, "&bedding_low_pct=0&bedding_high_pct=0")["openings"][0]["prediction"]

    assert (usual["bedding_high_mm"], more["bedding_high_mm"]) == (
        pytest.approx(8.421, abs=0.001),
        pytest.approx(21.053, abs=0.001),
    )
    assert more["shrinkage_high_mm"] == usual["shrinkage_high_mm"] == none["high_mm"]
    assert "2.5 % of the height" in more["basis"]["assumption"]


def test_a_post_beside_a_wall_is_as_high_as_the_logs_there(builder, cabin, pine):
    """Half way along wall A, of which one end was measured 20 mm higher than four rounds of 312 mm."""
    for number in range(1, 5):
        a_round = a_log(builder.who.crew, butt_mm=300, middle_mm=300, tip_mm=300)
        piece = {"piece": 1} if number < 4 else {"from_butt_mm": Decimal(60)}
        record_set(builder, cabin, a_round, round=number, **piece)
    body = {"cabin": str(id_of(cabin)), "wall": "A", "round": 4, "end": "end", "height_mm": 1268}
    measured = {**body, "measured_at": NOON.isoformat(), "confirm_doubtful": True}
    assert builder.put(f"heights/{uuid4()}", measured).status_code == 201

    posts = settling(builder, cabin, pine, "&posts_at=A:2500,C:8%20ft&posts_mm=2000")["posts"]

    assert [post["post"] for post in posts] == ["post 1", "A at 2500 mm", "C at 2438 mm"]
    assert [post["height_mm"] for post in posts] == [2000, pytest.approx(1258), pytest.approx(1248)]
    assert posts[1]["allowance"]["leave_mm"] > 0


@pytest.mark.parametrize("place", ["Z:100", "A:9000", "A", "A:long", ":5", "A:1,,B:2"])
def test_a_post_that_stands_nowhere_is_refused(builder, cabin, pine, place):
    answer = builder.get(f"{cabin}/settling?species={pine}&posts_at={place}")

    assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (400, "?posts_at")


def test_a_scribed_wall_is_predicted_to_come_down_more_than_a_chinked_one(builder, pine):
    groove = {"smallest_mm": -30, "target_mm": -20, "largest_mm": -10}
    chinked = a_cabin(builder, layout=a_layout(openings=[DOOR]))
    scribed = a_cabin(builder, name="Scribed", layout=a_layout(openings=[DOOR], gap=groove))

    loose, tight = (settling(builder, one, pine) for one in (chinked, scribed))

    assert (loose["is_scribed"], tight["is_scribed"]) == (False, True)
    lost = [one["openings"][0]["prediction"] for one in (loose, tight)]
    shares = [one["shrinkage_low_mm"] / one["height_mm"] for one in lost]
    assert shares[1] == pytest.approx(2 * shares[0], rel=1e-3)  # millimetres come in hundredths


def test_notches_are_cut_as_the_crew_chose(lead, builder, cabin):
    set_round(builder, a_cabin(builder, name="Other"), 1)
    usual = builder.get(f"{cabin}/corners/1").body
    lead.patch(WALLS, {"underscribe_mm": "1/4 in"}, version=0)

    chosen = builder.get(f"{cabin}/corners/1").body
    asked = builder.get(f"{cabin}/corners/1?underscribe_mm=0").body

    depth = [body["rows"][2]["cut"]["scriber_mm"] for body in (usual, chosen, asked)]
    assert depth[1] - depth[0] == pytest.approx(6.35)
    assert depth[2] == depth[0]
    assert used(chosen)["underscribe_mm"] == (6.35, "crew")
    assert used(asked)["underscribe_mm"] == (0, "asked")
    assert chosen["sum_mm"] == pytest.approx(chosen["height_mm"])


def test_sheets_are_written_as_the_crew_writes_lengths(lead, builder, cabin, pine):
    lead.patch("crew", {"length_unit": "ft_in", "fraction": 8}, version=1)
    log = a_log(builder.who.crew, butt_mm=300, middle_mm=300, tip_mm=300)

    sheet = builder.get(f"{cabin}/sheet?wall=B&round=1&log={log.id}&from_butt_mm=60").body
    corner = builder.get(f"{cabin}/corners/1").body
    body = settling(builder, cabin, pine, "&rule=fi_round")

    end = sheet["steering"]["ends"][0]
    assert (sheet["near_butt_text"], sheet["length_text"]) == ("0' 2 3/8\"", "15' 9\"")  # 4800 mm: 15' 8.98"
    assert (end["notch_mm"], end["notch_text"]) == (144, '5 5/8"')
    assert any('cut the notch 5 5/8" deep' in line for line in sheet["steering"]["advice"])
    assert (corner["height_mm"], corner["height_text"]) == (1404, "4' 7 1/4\"")
    assert body["openings"][0]["allowance"]["leave_text"] == '1 5/8"'  # 42.1 mm
    assert body["rounds"][0]["now_text"] == "1' 0 1/4\""  # 312 mm


def test_a_measured_height_comes_back_as_it_was_read(lead, builder, cabin):
    lead.patch("crew", {"length_unit": "in", "fraction": 8}, version=1)
    record_set(builder, cabin, a_log(builder.who.crew))
    id = uuid4()
    body = {"cabin": str(id_of(cabin)), "wall": "A", "round": 1, "end": "start", "height_mm": "13 5/8 in"}

    kept = builder.put(f"heights/{id}", {**body, "measured_at": NOON.isoformat()})

    assert (kept.body["height_mm"], kept.body["height_text"]) == (346.075, '13 5/8"')
    assert builder.get("heights").body["items"][0]["height_text"] == '13 5/8"'


def test_every_rule_of_grain_is_listed_with_its_source_and_mark(learner):
    body = learner.get(GRAIN).body

    assert [rule["id"] for rule in body["rules"]] == list(RULES)
    assert all(rule["source"] and rule["mark"] and rule["text"] for rule in body["rules"])
    assert {rule["mark"] for rule in body["rules"]} == {"seen", "from memory"}
    assert not any(rule["weight"] == "bind" for rule in body["rules"] if rule["mark"] == "from memory")
    assert (body["straight_run"], body["moderate_run"], body["version"]) == (30, 20, 0)


def a_twisted_log(crew, **fields):
    level = {"butt_mm": 300, "middle_mm": 300, "tip_mm": 300}
    return a_log(crew, **{**level, "grain_hand": "left", "grain_slope": Decimal(22), **fields})


def verdict(asker, cabin, log, **place):
    query = "&".join(f"{name}={value}" for name, value in place.items())
    return asker.get(f"{cabin}/sheet?log={log.id}&from_butt_mm=60&{query}").body["grain"]


def test_a_twisted_log_is_judged_in_the_place_where_it_is_tried(builder):
    cabin, log = a_cabin(builder), a_twisted_log(builder.who.crew)

    low, high = (verdict(builder, cabin, log, wall="A", round=number) for number in (1, 4))

    assert (low["band"], low["may_lie"], low["objections"]) == ("moderate", True, [])
    assert {one["rule"] for one in high["objections"]} == {
        "twist_low",
        "left_moderate_lowest_third",
        "top_round_straight",
    }
    assert high["may_lie"]  # these warn
    assert any("from memory" in caution for caution in high["cautions"])
    assert high["basis"]["source"]


def test_a_crew_switches_a_rule_off_or_lets_it_bind(lead, builder):
    cabin, log = a_cabin(builder), a_twisted_log(builder.who.crew)
    wanted = {"weights": {"twist_low": "off", "top_round_straight": "bind"}}

    told = lead.patch(GRAIN, wanted, version=0).body
    top = verdict(builder, cabin, log, wall="A", round=4)

    assert {rule["id"]: rule["weight"] for rule in told["rules"] if rule["is_chosen"]} == {
        "twist_low": "off",
        "top_round_straight": "bind",
    }
    assert not top["may_lie"]
    assert {one["rule"]: one["weight"] for one in top["objections"]} == {
        "left_moderate_lowest_third": "warn",
        "top_round_straight": "bind",
    }
    back = lead.patch(GRAIN, {"weights": {"twist_low": None}}, version=1).body
    assert {rule["id"] for rule in back["rules"] if rule["is_chosen"]} == {"top_round_straight"}


def test_a_crew_sets_its_own_bands_of_grain(lead, builder):
    cabin, log = a_cabin(builder), a_twisted_log(builder.who.crew)

    lead.patch(GRAIN, {"straight_run": 20, "moderate_run": "12.5"}, version=0)

    assert verdict(builder, cabin, log, wall="A", round=4)["band"] == "straight"


def test_a_twisted_piece_beside_a_door_has_fewer_than_two_full_notches(builder, cabin):
    log = a_twisted_log(builder.who.crew)

    beside = verdict(builder, cabin, log, wall="A", round=1, piece=0)

    assert not beside["may_lie"]
    assert [one["rule"] for one in beside["objections"]] == ["twist_two_full_notches"]


def test_setting_a_twisted_log_where_it_should_not_lie_is_a_warning_with_its_source(lead, builder):
    cabin = a_cabin(builder)
    lead.patch(GRAIN, {"weights": {"top_round_straight": "bind"}}, version=0)
    log = a_twisted_log(builder.who.crew)

    row, created = record_set(builder, cabin, log, round=4)

    assert created
    codes = [warned["code"] for warned in row.warnings]
    assert codes.count("grain_forbidden") == 1
    assert codes.count("grain_doubtful") == 2
    assert all("ILBA" in warned["detail"] for warned in row.warnings if "grain" in warned["code"])
    straight, _ = record_set(builder, cabin, a_log(builder.who.crew), round=4, wall="B")
    assert not [warned for warned in straight.warnings if "grain" in warned["code"]]


@pytest.mark.parametrize(
    ("address", "wrong", "pointer"),
    [
        (WALLS, {"rule": "guess"}, "/rule"),
        (WALLS, {"code_low_pct": 3}, "/code_title"),
        (WALLS, {"code_title": "Shire", "code_low_pct": 5, "code_high_pct": 3}, "/code_low_pct"),
        (WALLS, {"code_title": "Shire", "code_low_pct": 5, "code_high_pct": 30}, "/code_high_pct"),
        (WALLS, {"bedding_low_pct": 3}, "/bedding_low_pct"),
        (WALLS, {"moisture_now_pct": -1}, "/moisture_now_pct"),
        (WALLS, {"moisture_expected_pct": "nan"}, "/moisture_expected_pct"),
        (WALLS, {"underscribe_mm": 900}, "/underscribe_mm"),
        (WALLS, {"slope": 0}, ""),
        (WALLS, {"top_share": 1}, ""),
        (WALLS, {"depth": 3}, "/depth"),
        (GRAIN, {"weights": {"twist_high": "off"}}, "/weights/twist_high"),
        (GRAIN, {"weights": {"twist_low": "must"}}, "/weights/twist_low"),
        (GRAIN, {"straight_run": 10}, "/moderate_run"),
        (GRAIN, {"moderate_run": 0.5}, "/moderate_run"),
        (GRAIN, {"moderate_run": "inf"}, "/moderate_run"),
    ],
)
def test_a_choice_that_cannot_be_is_refused_by_name(lead, address, wrong, pointer):
    answer = lead.patch(address, wrong, version=0)

    assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (422, pointer), answer.body
    assert lead.get(address).body["version"] == 0


@pytest.mark.parametrize(("address", "wanted", "other"), [
    (WALLS, {"rule": "fi_round"}, {"rule": "ilba2000_dry"}),
    (GRAIN, {"weights": {"twist_low": "off"}}, {"weights": {"twist_low": "bind"}}),
])  # fmt: skip
def test_a_choice_has_a_version_and_a_history_and_is_the_leads(
    lead, builder, stranger, address, wanted, other
):
    first = lead.patch(address, wanted, version=0)

    assert (first.status_code, first.headers["ETag"]) == (200, '"1"')
    assert lead.patch(address, wanted).body["version"] == 1
    assert lead.patch(address, other).status_code == 428
    stale = lead.patch(address, other, version=0)
    assert (stale.status_code, stale.body["current"]["version"]) == (412, 1)
    assert builder.patch(address, other, version=1).status_code == 403
    assert stranger.get(address).body["version"] == 0
    kind = {WALLS: "wall_settings", GRAIN: "grain_settings"}[address]
    assert len(lead.get(f"history?kind={kind}").body["items"]) == 1
