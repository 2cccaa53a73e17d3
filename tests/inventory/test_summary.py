"""A yard read as a whole."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.logs.models import Log

CHART = """number,rack,length,butt,middle,tip,crown,crook,hazards,culled
A1,R1,6000,320,290,272,10,,,
A2,R1,6000,320,300,272,40,,metal 2 m,
A3,R2,4000,320,310,272,100,,"metal 1 m; rot 3,2 m",
A4,,5200,320,295,272,,30,knot 2 m,
A5,R2,8000,320,305,272,,,,yes
A6,R2,7000,320,300,272,,,,
"""


@pytest.fixture
def yard(lead):
    yard = lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]
    address = f"yards/{yard}/chart?unit=mm&new_racks=true&confirm_doubtful=true"
    assert lead.post(address, CHART.encode(), media="text/csv").status_code == 200
    Log.objects.filter(number="A6").update(state="set")
    Log.objects.filter(number="A1").update(state="reserved")
    return yard


def summary(asker, yard, query=""):
    answer = asker.get(f"yards/{yard}/summary{query}")
    assert answer.status_code == 200, answer.body
    return answer.body


def test_logs_are_counted_by_state_and_by_what_is_free(learner, yard):
    told = summary(learner, yard)

    assert told["count"] == 6
    assert told["by_state"] == {
        "in_rack": 3, "reserved": 1, "set": 1, "cut_up": 0, "put_aside": 1, "gone": 0,
    }  # fmt: skip
    assert told["lying"] == {
        "count": 5, "free": 4, "length_mm": 29200, "free_length_mm": 23200, "mean_middle_mm": 300,
    }  # fmt: skip


def test_the_spread_of_middles_has_quarters_and_bins_from_edge_to_edge(learner, yard):
    told = summary(learner, yard)["middles"]

    assert (told["least_mm"], told["quarter_mm"], told["half_mm"]) == (290, 295, 300)
    assert (told["three_quarters_mm"], told["most_mm"], told["mean_mm"]) == (305, 310, 300)
    assert [(b["from_mm"], b["to_mm"], b["count"]) for b in told["bins"]] == [
        (290, 300, 2),
        (300, 310, 2),
        (310, 320, 1),
    ]


def test_the_bins_of_lengths_say_how_thick_such_logs_are(learner, yard):
    bins = summary(learner, yard)["lengths"]["bins"]

    assert [(b["from_mm"], b["count"], b["mean_middle_mm"]) for b in bins if b["count"]] == [
        (4000, 1, 310),
        (5000, 1, 295),
        (6000, 2, 295),
        (8000, 1, 305),
    ]
    assert len(bins) == 9


def test_a_crew_that_thinks_in_inches_gets_bins_of_inches(lead, yard):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)

    told = summary(lead, yard)

    assert told["middles"]["bins"][0]["from_mm"] == 279.4
    assert told["lengths"]["bins"][0]["to_mm"] - told["lengths"]["bins"][0]["from_mm"] == pytest.approx(609.6)


def test_racks_and_species_are_told_apart(learner, yard):
    told = summary(learner, yard)

    assert [(g["name"], g["count"], g["free"], g["mean_middle_mm"]) for g in told["by_rack"]] == [
        ("R1", 2, 1, 295),
        ("R2", 2, 2, 307.5),
        (None, 1, 1, 295),
    ]
    assert [(g["name"], g["count"]) for g in told["by_species"]] == [(None, 5)]


def test_what_is_unfit_is_named_with_the_reason(learner, yard):
    told = {one["reason"]: one for one in summary(learner, yard)["unfit"]}

    unlooked = told.pop("not_looked_at")
    numbers = {reason: [log["number"] for log in one["logs"]] for reason, one in told.items() if one["count"]}
    assert numbers == {
        "culled": ["A5"],
        "metal": ["A2", "A3"],
        "rot": ["A3"],
        "crown": ["A2", "A3"],
        "crook": ["A4"],
    }
    assert [(log["number"], log["why"]) for log in unlooked["logs"]] == [
        ("A1", "grain"),
        ("A2", "grain"),
        ("A3", "grain"),
        ("A4", "crown and grain"),
        ("A5", "crown and grain"),
    ]
    assert told["metal"]["logs"][0]["why"] == "2000 mm from the butt"
    assert told["crown"]["logs"][1]["metal_from_butt_mm"] == [1000]


def test_a_bowed_log_says_how_long_a_piece_of_it_is_straight_enough(learner, yard):
    told = summary(learner, yard)
    crown = next(one for one in told["unfit"] if one["reason"] == "crown")

    # A quarter of the crown is left in half the length: 100 mm in 4 m is 25 mm in 2 m.
    assert [(log["number"], log["piece_mm"]) for log in crown["logs"]][1] == ("A3", 2000)
    stricter = summary(learner, yard, "?crown_limit_mm=5")
    assert [len(one["logs"]) for one in stricter["unfit"] if one["reason"] == "crown"] == [3]


@pytest.mark.parametrize(
    "query", ["?crown_limit_mm=bent", "?crown_limit_mm=0", "?crown_limit_mm=", "?limit=3"]
)
def test_a_limit_that_says_nothing_is_refused(learner, yard, query):
    assert learner.get(f"yards/{yard}/summary{query}").status_code == 400


def test_an_empty_yard_and_a_yard_of_one_log_have_a_summary(lead):
    empty = lead.put(f"yards/{uuid4()}", {"name": "Empty"}).body["id"]
    assert summary(lead, empty)["middles"] is None

    lead.post(
        f"yards/{empty}/chart?unit=mm", b"number,length,butt,middle,tip\n1,6000,320,295,272", media="text/csv"
    )

    assert summary(lead, empty)["middles"]["quarter_mm"] == 295


def test_strangers_get_no_summary(stranger, yard):
    assert stranger.get(f"yards/{yard}/summary").status_code == 404


def test_a_summary_asks_twice_whatever_lies_there(learner, yard):
    with CaptureQueriesContext(connection) as queries:
        summary(learner, yard)

    assert len([query for query in queries if "inventory_" in query["sql"]]) == 2
