"""A line as it is said, over the API: read and asked, nothing stored; what is read makes a log."""

from uuid import uuid4

import pytest

from inventory.logs.models import Log

SAID = (
    "seventeen, butt fifteen, middle thirteen and three quarters, tip thirteen, length seventeen eight, "
    "slight crown, wire four foot two from the butt, top"
)


@pytest.fixture
def yard(lead):
    lead.patch("crew", {"length_unit": "ft_in"}, version=1)
    return lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]


def asked(answer):
    assert answer.status_code == 200, answer.body
    return {one["pointer"]: one["code"] for one in answer.body["questions"]}


def test_a_line_is_read_asked_and_not_stored(learner, yard):
    answer = learner.post("charts/line", {"line": SAID, "yard": yard})

    assert asked(answer) == {"/crown_mm": "no_figure"}
    [question] = answer.body["questions"]
    assert (question["read"], question["detail"]) == ("slight crown", "“slight crown”: how much?")
    assert answer.body["fields"] == {
        "number": "17",
        "length_mm": 5384.8,
        "butt_mm": 381.0,
        "middle_mm": 349.25,
        "tip_mm": 330.2,
        "hazards": [{"kind": "metal", "from_butt_mm": 1270.0, "face": "top", "extent_mm": None}],
    }
    assert not Log.objects.exists()


def test_what_is_read_is_a_logs_body(learner, yard):
    line = (
        "A3, butt 15 by 14 1/2, middle 13, tip 12, length 17 8, crown 1 up, grain left 1 in 20, peeled, green"
    )
    fields = learner.post("charts/line", {"line": line}).body["fields"]

    stored = learner.put(f"logs/{uuid4()}", {"yard": yard, **fields})

    assert stored.status_code == 201, stored.body
    assert {name: stored.body[name] for name in fields} == fields | {"butt_mm": 374.65}


def test_plain_numbers_are_in_the_crews_unit(lead):
    lead.patch("crew", {"length_unit": "m"}, version=1)

    answer = lead.post("charts/line", {"line": "12, butt 31, middle 29,5, tip 28, length five eighty nine"})

    assert answer.body["fields"] == {
        "number": "12", "butt_mm": 310.0, "middle_mm": 295.0, "tip_mm": 280.0, "length_mm": 5890.0,
    }  # fmt: skip
    assert asked(answer) == {}


def test_a_whole_line_is_held_to_the_rules_of_the_chart(learner, yard):
    thin = learner.post("charts/line", {"line": "17, butt 12, middle 13, tip 14, length 17"})
    doubtful = learner.post("charts/line", {"line": "17, butt 13, middle 13 1/2, tip 12, length 17"})

    assert asked(thin) == {"/butt_mm": "butt_thinner_than_tip"}
    assert asked(doubtful) == {"/middle_mm": "middle_over_butt"}
    assert doubtful.body["fields"]["middle_mm"] == 342.9


def test_a_number_that_the_yard_has_is_asked(learner, lead, yard):
    body = {"yard": yard, "number": "a17", "length_mm": 5000, "butt_mm": 320, "middle_mm": 300, "tip_mm": 280}
    assert learner.put(f"logs/{uuid4()}", body).status_code == 201
    other = lead.put(f"yards/{uuid4()}", {"name": "Upper yard"}).body["id"]

    here = learner.post("charts/line", {"line": "log A17, butt 15", "yard": yard})
    there = learner.post("charts/line", {"line": "log A17, butt 15", "yard": other})

    assert asked(here) == {"/number": "number_taken"}
    assert asked(there) == {}


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"line": ""}, "/line"),
        ({"line": "butt 15 " * 60}, "/line"),
        ({"line": ["butt 15"]}, "/line"),
        ({}, "/line"),
        ({"line": "butt 15", "yard": "2f9be6f4-6f3e-4a2e-9d0e-3f3a4dd1b6f0"}, "/yard"),
        ({"line": "butt 15", "unit": "mm"}, "/unit"),
    ],
)
def test_a_body_that_cannot_be_read_says_where(learner, body, pointer):
    answer = learner.post("charts/line", body)

    assert answer.status_code == 422
    assert [one["pointer"] for one in answer.body["errors"]] == [pointer]
