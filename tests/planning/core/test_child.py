"""The search as a process of its own: events out, stop in, gone when its parent is gone."""

import io
import json
import subprocess
import sys
import threading

import pytest

from planning.core.files import read_plan, write_plan, write_problem
from planning.core.search.child import Teller, serve
from planning.core.search.smallest import smallest_problem
from tests.planning.core_problems import a_problem, one_log_each, shared_document

CHILD = [sys.executable, "-m", "planning.core.search.child"]


def answer(request):
    """The events of one request served in this process."""
    out = io.StringIO()
    serve(json.dumps(request), Teller(out), threading.Event())
    return [json.loads(line) for line in out.getvalue().splitlines()]


def test_a_request_ends_with_the_plan_and_the_judges_report():
    problem = write_problem(a_problem())

    *progress, done = answer({"problem": problem, "moves": 20_000, "start": write_plan(one_log_each())})

    assert done["event"] == "done"
    assert len(read_plan(done["plan"]).pieces) == 8
    assert done["report"]["feasible"] is True
    assert [len(tops) for tops in done["report"]["heights"]["K1"]["A"]] == [2, 2, 2]
    assert done["report"]["notches"][0]["share"] == pytest.approx(0.4, abs=0.2)
    assert all(event["event"] == "progress" for event in progress)


@pytest.mark.parametrize(
    ("request_", "reason"),
    [
        ({"problem": {}, "moves": 10}, "cannot be read"),
        ({"moves": 10}, "cannot be read"),
        ([], "cannot be read"),
        ({"problem": write_problem(smallest_problem())}, "neither seconds nor moves"),
    ],
)
def test_a_request_that_cannot_be_served_says_why(request_, reason):
    (event,) = answer(request_)

    assert event["event"] == "failed"
    assert reason in event["reason"]


def ask(child, request):
    child.stdin.write(json.dumps(request) + "\n")
    child.stdin.flush()


def events_until_answered(child):
    for line in child.stdout:
        event = json.loads(line)
        yield event
        if event["event"] in ("done", "failed"):
            return


def test_stop_is_heard_at_once_and_the_process_takes_another_request():
    with subprocess.Popen(CHILD, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        ask(child, {"problem": shared_document("M-1"), "seconds": 60})
        first = json.loads(child.stdout.readline())
        child.stdin.write("stop\n")
        child.stdin.flush()
        *on_the_way, last = events_until_answered(child)
        child.stdin.write("stop\n")  # too late for the first, and not meant for the second
        ask(child, {"problem": write_problem(a_problem()), "moves": 40_000})
        *_, second = events_until_answered(child)
        child.stdin.close()

        # It tells twice a second how far it is: at most a few times before it heard, of a hundred and twenty.
        assert len(on_the_way) <= 10
        assert first["event"] == "progress" and "plan" in first
        assert last["event"] == "done" and last["report"]["complete"]
        assert second["report"]["searched"] and not second["last"]
        assert child.wait(timeout=30) == 0, "nobody waited for an answer"


def test_a_cold_process_with_a_second_searches_a_whole_second():
    with subprocess.Popen(CHILD, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        ask(child, {"problem": shared_document("S-1"), "seconds": 1})
        *_, done = events_until_answered(child)

        assert done["report"]["searched"] is True
        assert done["report"]["feasible"] is True
        assert done["report"]["objective"] < 1000


def test_a_process_that_has_grown_large_says_so():
    out = io.StringIO()

    serve(json.dumps({"problem": {}, "moves": 1}), Teller(out, before_answer=lambda: True), threading.Event())

    assert json.loads(out.getvalue())["last"] is True


def test_a_large_parent_does_not_make_its_planner_look_large():
    large = "import sys, subprocess; held = bytearray(700 * 2**20); sys.exit(subprocess.call(sys.argv[1:]))"

    through = [sys.executable, "-c", large, *CHILD]
    with subprocess.Popen(through, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        ask(child, {"problem": write_problem(a_problem()), "moves": 1_000})
        *_, done = events_until_answered(child)
        child.stdin.close()

        assert done["last"] is False


def test_a_process_whose_parent_is_gone_ends_at_once():
    with subprocess.Popen(CHILD, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as child:
        child.stdin.write(json.dumps({"problem": shared_document("M-1"), "seconds": 60}) + "\n")
        child.stdin.flush()
        child.stdout.readline()
        child.stdin.close()

        assert child.wait(timeout=30) == 1


def test_warming_compiles_every_kernel():
    ran = subprocess.run(
        [*CHILD[:2], "planning.core.search.warm"], capture_output=True, text=True, check=True
    )

    assert "planner ready" in ran.stdout
