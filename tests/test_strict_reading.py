"""What looks right and is not: a key twice, a sign that nobody sees, a filter that says nothing."""

import time
from uuid import uuid4

import pytest
from django.test import Client


def pointers(answer):
    return [(fault["pointer"], fault["code"]) for fault in answer.body["errors"]]


@pytest.mark.parametrize(
    "body",
    [
        b'{"name": "Lower yard", "name": "Upper yard"}',
        b'{"name" : "Lower yard", "remarks": "", "remarks": ""}',
        b'{"name": "Lower yard", "remarks": {"a": [{"b": 1, "b": 2}]}}',
    ],
)
def test_a_key_that_stands_twice_is_no_json_of_ours(lead, body):
    answer = lead.put(f"yards/{uuid4()}", body)

    assert answer.status_code == 400
    assert "twice" in answer.body["detail"]


def test_what_looks_like_a_key_in_a_text_is_none(lead):
    told = lead.put(f"yards/{uuid4()}", {"name": "Lower yard", "remarks": 'Called "the bog": wet. "x" : 1'})

    assert told.status_code == 201
    assert told.body["remarks"] == 'Called "the bog": wet. "x" : 1'


@pytest.mark.parametrize(
    "sign", ["\u200b", "\u202e", "\u2066", "\ufeff", "\u00ad", "\u2028", "\ue000", "\x07"]
)
def test_a_name_has_no_sign_that_cannot_be_seen(lead, sign):
    for address in ("yards", "cabins", "members"):
        body = {"name": f"Lo{sign}wer"} | ({"role": "learner"} if address == "members" else {})
        answer = lead.put(f"{address}/{uuid4()}", body)

        assert answer.status_code == 422, address
        assert pointers(answer) == [("/name", "several_lines")]


def test_a_name_in_any_writing_is_a_name(lead):
    for name in ("Żółw", "Jääkarhu 2", "سفلي", "下の置き場"):
        assert lead.put(f"yards/{uuid4()}", {"name": name}).body["name"] == name


@pytest.mark.parametrize(
    ("asked", "wrong"),
    [("set-logs?undone=22884", "?undone"), ("logs?free=perhaps", "?free"), ("logs?order=", "?order")],
)
def test_a_filter_that_cannot_be_read_is_refused(learner, asked, wrong):
    answer = learner.get(asked)

    assert answer.status_code == 400
    assert [fault["pointer"] for fault in answer.body["errors"]] == [wrong]


def seconds_of(ask):
    """The processor's seconds that an answer takes, and the answer."""
    began = time.process_time()
    answer = ask()
    return time.process_time() - began, answer


def test_what_is_nested_too_deep_is_refused_and_breaks_nothing(lead):
    name = b'["a",' * 1000 + b"1" + b"]" * 1000

    answer = lead.patch("crew", b'{"name": ' + name + b"}", version=1)

    assert (answer.status_code, answer.body["detail"]) == (400, "The body is nested too deep.")
    assert lead.patch("crew", b'{"name": ' + b"[" * 99 + b"]" * 99 + b"}", version=1).status_code == 422


def test_of_many_unknown_fields_some_are_told(lead):
    body = b"{" + b",".join(b'"k%d":1' % n for n in range(300_000)) + b"}"

    took, answer = seconds_of(lambda: lead.patch("crew", body, version=1))

    assert answer.status_code == 422
    assert [one["pointer"] for one in answer.body["errors"]] == [f"/k{n}" for n in range(20)]
    assert took < 3


def test_a_list_that_is_too_long_is_refused_before_its_parts_are_looked_at(lead):
    body = {"url": "https://bench.example/", "kinds": ["x"] * 200_000}

    took, answer = seconds_of(lambda: lead.put(f"webhooks/{uuid4()}", body))

    assert [(one["pointer"], one["code"]) for one in answer.body["errors"]] == [("/kinds", "max_length")]
    assert took < 3


def test_a_list_where_a_word_belongs_is_not_written_out(lead):
    took, answer = seconds_of(lambda: lead.patch("crew", {"name": [1] * 3_000_000}, version=1))

    assert [(one["pointer"], one["code"]) for one in answer.body["errors"]] == [("/name", "invalid")]
    assert took < 3


@pytest.mark.parametrize(
    "chart",
    [
        b"\n".join([b"," * 1_000_000] * 18),
        b"," * 18_000_000,
        b"number,length,butt,tip\n" + b"\n".join([b"," * 1_000_000] * 17),
        b'number,length,butt,tip\n"' + b'"' * 17_000_000,
        b"\n" * 18_000_000,
        b"number,length,butt,tip\n" + b"x,y,z\n" * 3_000_000,
    ],
    ids=["rows of commas", "one row of commas", "commas below a head", "quotes", "empty rows", "short rows"],
)
def test_a_chart_of_nothing_costs_no_more_than_one_of_logs(lead, chart):
    yard = f"yards/{uuid4()}"
    lead.put(yard, {"name": "Yard"})

    took, answer = seconds_of(lambda: lead.post(f"{yard}/chart", chart, media="text/csv"))

    assert answer.status_code == 422
    assert took < 5


def test_of_the_faults_of_a_chart_the_first_thousand_are_told(lead):
    yard = f"yards/{uuid4()}"
    lead.put(yard, {"name": "Yard"})
    chart = b"number,length,butt,middle,tip,rack\n" + b"1,long,thick,thick,thin,R1\n" * 2_000

    answer = lead.post(f"{yard}/chart", chart, media="text/csv")

    assert answer.status_code == 422
    assert len(answer.body["errors"]) == 1000
    assert "the first 1000 are told" in answer.body["detail"]


def test_an_id_that_is_none_is_told_as_such(lead):
    for address, odd in (
        ("cabins/Bunkhouse", "Bunkhouse"),
        ("cabins/7/progress", "7"),
        ("logs/A1/figures", "A1"),
    ):
        answer = Client().get(f"/api/v1/{address}", headers={"authorization": f"Bearer {lead.who.key}"})

        assert answer.status_code == 404
        assert answer.json()["detail"].startswith(f"{odd!r} is no id")
    nowhere = Client().get("/api/v1/barns/7", headers={"authorization": f"Bearer {lead.who.key}"})
    assert nowhere.json()["detail"] == "There is nothing here that is yours."
