"""A crew chooses once how its logs are scaled; a question may say otherwise; the answer says who chose."""

from uuid import uuid4

import pytest

SETTINGS = "scaling-settings"


@pytest.fixture
def log(lead):
    """A log of 12 in without taper, 31 ft long."""
    yard = lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]
    body = {"yard": yard, "number": "A1", "length_mm": "31 ft", "butt_mm": 304.8, "middle_mm": 304.8}
    return f"logs/{lead.put(f'logs/{uuid4()}', {**body, 'tip_mm': 304.8}).body['id']}"


def scaled(asker, log, query="board_rule=doyle"):
    body = asker.get(f"{log}/figures?{query}").body
    return body["board_feet"][0], {one["name"]: (one["value"], one["chosen_by"]) for one in body["scaling"]}


def test_before_a_crew_chooses_the_documented_defaults_count(learner, log):
    settings = learner.get(SETTINGS)

    board_feet, used = scaled(learner, log)

    assert (settings.body["version"], settings.body["chosen"]) == (0, [])
    assert settings.headers["ETag"].startswith('"0.c')
    assert settings.body["defaults"] == {
        "trim_mm": 152.4,
        "length_step_ft": 2,
        "longest_ft": 20,
        "odd_feet": "butt",
    }
    assert {by for _, by in used.values()} == {"default"}
    # 30 ft are left of 31 after half a foot of trim: two pieces, since none is longer than 20 ft.
    assert [piece["length_ft"] for piece in board_feet["pieces"]] == [14, 16]


def test_what_a_crew_chose_counts_until_a_question_says_otherwise(lead, learner, log):
    lead.patch(SETTINGS, {"longest_ft": 40, "trim_mm": "12 in"}, version=0)

    chosen, used = scaled(learner, log)
    asked, used_then = scaled(learner, log, "board_rule=doyle&longest_ft=10")

    assert [piece["length_ft"] for piece in chosen["pieces"]] == [30]
    assert chosen["board_feet"] == 120  # (12 - 4)^2 30 / 16
    assert (used["longest_ft"], used["trim_mm"]) == ((40, "crew"), (304.8, "crew"))
    assert used["odd_feet"] == ("butt", "default")
    assert [piece["length_ft"] for piece in asked["pieces"]] == [10, 10, 10]
    assert used_then["longest_ft"] == (10, "asked")


def test_the_odd_feet_of_the_international_rule_go_to_the_end_the_crew_chose(lead, log):
    rule = "board_rule=international_eighth_inch&longest_ft=40"
    at_the_butt, _ = scaled(lead, log, rule)
    lead.patch(SETTINGS, {"odd_feet": "top"}, version=0)

    at_the_top, used = scaled(lead, log, rule)

    # Seven whole sections; the two feet left over are thicker at the butt by 3.5 in.
    by_hand = (0.22 * (15.5**2 - 12**2) - 0.71 * 3.5) / 2
    assert at_the_butt["board_feet"] - at_the_top["board_feet"] == pytest.approx(by_hand, abs=1)
    assert "top end" in at_the_top["basis"]["assumption"]
    assert used["odd_feet"] == ("top", "crew")


def test_a_choice_is_changed_under_its_version_and_given_up_with_null(lead, builder):
    first = lead.patch(SETTINGS, {"longest_ft": 40}, version=0)
    repeated = lead.patch(SETTINGS, {"longest_ft": 40})

    assert (first.body["version"], first.body["chosen"]) == (1, ["longest_ft"])
    assert (repeated.status_code, repeated.body["version"]) == (200, 1)
    assert lead.patch(SETTINGS, {"longest_ft": 30}).status_code == 428
    stale = lead.patch(SETTINGS, {"longest_ft": 30}, version=0)
    assert (stale.status_code, stale.body["current"]["longest_ft"]) == (412, 40)
    given_up = lead.patch(SETTINGS, {"longest_ft": None}, version=1).body
    assert (given_up["longest_ft"], given_up["chosen"], given_up["version"]) == (20, [], 2)
    assert builder.patch(SETTINGS, {"longest_ft": 30}, version=2).status_code == 403


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"longest_ft": 4}, "/longest_ft"),
        ({"length_step_ft": 0}, "/length_step_ft"),
        ({"trim_mm": "-1 in"}, "/trim_mm"),
        ({"trim_mm": 4000}, "/trim_mm"),
        ({"odd_feet": "middle"}, "/odd_feet"),
        ({"longest": 30}, "/longest"),
    ],
)
def test_a_way_of_scaling_that_cannot_be_is_refused(lead, wrong, pointer):
    answer = lead.patch(SETTINGS, wrong, version=0)

    assert (answer.status_code, answer.body["errors"][0]["pointer"]) == (422, pointer)
    assert lead.get(SETTINGS).body["version"] == 0


def test_another_crews_choices_are_its_own(lead, stranger):
    lead.patch(SETTINGS, {"longest_ft": 40}, version=0)

    assert stranger.get(SETTINGS).body["longest_ft"] == 20


def test_who_changed_how_logs_are_scaled_is_kept(lead):
    lead.patch(SETTINGS, {"longest_ft": 40}, version=0)

    changes = lead.get("history?kind=scaling_settings").body["items"]

    assert [change["after"]["longest_ft"] for change in changes] == [40]
