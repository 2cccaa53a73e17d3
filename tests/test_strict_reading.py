"""What looks right and is not: a key twice, a sign that nobody sees, a filter that says nothing."""

from uuid import uuid4

import pytest


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
