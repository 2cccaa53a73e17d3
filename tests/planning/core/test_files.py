"""Problem and plan files: read and written again, and every fault named with its place."""

import copy
from dataclasses import replace

import pytest

from planning.core.files import read_plan, read_problem, write_plan, write_problem
from planning.core.problem import AsBuilt, PlanPiece, ProblemMember, WallPlan
from planning.core.reading import UnreadableFile
from tests.planning.core.test_check import with_partition
from tests.planning.core_problems import (
    a_log,
    a_piece,
    a_problem,
    one_log_each,
    shared_document,
    shared_problem,
    some_params,
)


@pytest.mark.parametrize("name", ["tiny2-1", "tiny3-1", "tiny4-1", "S-1", "M-1", "L-1", "XL-1"])
def test_a_problem_written_and_read_again_is_the_same(name):
    problem = shared_problem(name)

    assert read_problem(write_problem(problem)) == problem
    assert write_problem(problem)["logs"] == shared_document(name)["logs"]


def test_all_optional_parts_survive_writing_and_reading():
    cabin = replace(
        with_partition(),
        members=(ProblemMember(id="ridge", length_mm=3500.0, least_middle_mm=300.5, crown_limit_mm=10.0),),
        as_built=AsBuilt(round=1, tops_mm={"A": ((320.0, None),)}),
    )
    logs = (a_log("0", yard="upper", twist=0.05, stations=((900.0, 318.0),)), *a_problem().logs[1:])
    problem = a_problem(
        cabin=cabin,
        logs=logs,
        params=some_params(cull_longest_mm=2000.0),
        pinned=(a_piece("A", 1, "0"), PlanPiece(cabin="K1", member="ridge", log="9", from_butt_mm=50.5)),
        excluded=frozenset({"3"}),
    )

    assert read_problem(write_problem(problem)) == problem


def test_a_plan_written_and_read_again_is_the_same():
    pieces = (*one_log_each().pieces, PlanPiece(cabin="K1", member="ridge", log="9", from_butt_mm=50.5))
    plan = WallPlan(problem="small", pieces=pieces)

    assert read_plan(write_plan(plan)) == plan


def faults_of(document, reader=read_problem):
    with pytest.raises(UnreadableFile) as caught:
        reader(document)
    assert str(caught.value)
    reasons = {}
    for fault in caught.value.faults:
        reasons[fault.pointer] = "; ".join(filter(None, [reasons.get(fault.pointer), fault.text]))
    return reasons


def changed(path, value):
    """The smallest shared problem with one value changed (or removed, when value is `...`)."""
    document = copy.deepcopy(shared_document("tiny2-1"))
    *way, last = path
    spot = document
    for step in way:
        spot = spot[step]
    if value is ...:
        del spot[last]
    else:
        spot[last] = value
    return document


CABIN = ("cabins", 0)
WALL = (*CABIN, "walls", 0)
LOG = ("logs", 2)
WINDOW = {"wall": "A", "offset": 1000, "width": 900, "sill": 0, "head": 700}


@pytest.mark.parametrize(
    ("path", "value", "pointer", "reason"),
    [
        (("format",), "wall-problem/2", "/format", "must be one of wall-problem/1"),
        (("unit",), "inch", "/unit", "must be one of mm"),
        (("colour",), "red", "/colour", "is not known"),
        (("logs",), ..., "/logs", "is missing"),
        (("logs",), {}, "/logs", "must be a list"),
        (("cabins",), [], "/cabins", "must name at least one cabin"),
        (("name",), "", "/name", "must be a text"),
        (("params",), 3, "/params", "must be an object"),
        (("params", "kerf"), ..., "/params/kerf", "is missing"),
        (("params", "kerf"), -1, "/params/kerf", "must be 0 or more"),
        (("params", "max_pieces_per_log"), 2.5, "/params/max_pieces_per_log", "must be a whole number"),
        (("params", "notch_good"), [0.6, 0.3], "/params/notch_good", "must not fall"),
        (("params", "notch_good"), 0.3, "/params/notch_good", "must be a list of two numbers"),
        (("params", "notch_good"), [0.1, 0.6], "/params/notch_good", "must lie within notch_limit"),
        (("params", "weights", "level"), ..., "/params/weights/level", "is missing"),
        ((*CABIN, "rounds"), 0, "/cabins/0/rounds", "must be 1 or more"),
        ((*CABIN, "pitch"), 0, "/cabins/0/pitch", "must be more than 0"),
        ((*CABIN, "gap"), 900, "/cabins/0/gap", "must be 300 or less"),
        ((*CABIN, "gap"), True, "/cabins/0/gap", "must be a number"),
        ((*CABIN, "walls"), ..., "/cabins/0/walls", "is missing"),
        ((*CABIN, "walls"), [], "/cabins/0/walls", "must name the walls"),
        ((*WALL, "start"), "middle", "/cabins/0/walls/0/start", "must be one of low, high"),
        ((*WALL, "start"), ..., "/cabins/0/walls/0/start", "is missing"),
        ((*WALL, "corners"), [0], "/cabins/0/walls/0/corners", "must be the two corners' numbers"),
        ((*WALL, "corners"), [0, 7], "/cabins/0/walls", "at corner 1 one low and one high"),
        ((*WALL, "start"), "high", "/cabins/0/walls", "at corner 0 one low and one high"),
        ((*WALL, "id"), "B", "/cabins/0/walls", "two walls have the same id"),
        ((*CABIN, "openings"), [{**WINDOW, "wall": "Z"}], "/cabins/0/openings/0/wall", "there is no wall Z"),
        ((*CABIN, "openings"), [{**WINDOW, "width": 4000}], "/cabins/0/openings/0", "reaches over"),
        ((*CABIN, "openings"), [{**WINDOW, "head": 0}], "/cabins/0/openings/0/head", "must lie above"),
        ((*CABIN, "openings"), [{"wall": "A"}], "/cabins/0/openings/0/offset", "is missing"),
        (
            (*CABIN, "openings"),
            [WINDOW, {**WINDOW, "offset": 1500}],
            "/cabins/0/openings",
            "two openings of wall A meet in round 1",
        ),
        (
            (*CABIN, "tees"),
            [{"corner": 9, "wall": "Z", "at": 9}],
            "/cabins/0/tees/0/wall",
            "there is no wall",
        ),
        ((*CABIN, "tees"), [{"corner": 9}], "/cabins/0/tees/0/at", "is missing"),
        ((*CABIN, "members"), [{"id": "x"}], "/cabins/0/members/0/length", "is missing"),
        (
            (*CABIN, "members"),
            [{"id": "x", "length": 9, "least_middle": 9, "crown_limit": 9}] * 2,
            "/cabins/0/members",
            "two members have the same id",
        ),
        ((*CABIN, "as_built"), {"round": 1}, "/cabins/0/as_built/tops", "is missing"),
        ((*CABIN, "as_built"), {"round": 1, "tops": []}, "/cabins/0/as_built/tops", "must be an object"),
        ((*CABIN, "as_built"), {"round": 1, "tops": {"A": []}}, "/cabins/0/as_built/tops/A", "must have 1"),
        ((*CABIN, "as_built"), {"round": 1, "tops": {"Z": [[1, 2]]}}, "/cabins/0/as_built/tops/Z", "no wall"),
        ((*CABIN, "as_built"), {"round": 1, "tops": {"A": [[1]]}}, "/cabins/0/as_built/tops/A/0", "two ends"),
        ((*LOG, "butt"), ..., "/logs/2/butt", "is missing"),
        ((*LOG, "id"), "L0001", "/logs", "L0001 stands 2 times"),
        ((*LOG, "length"), 600, "/logs/2/length", "too short to have three stations"),
        ((*LOG, "culled"), "no", "/logs/2/culled", "must be true or false"),
        ((*LOG, "stations"), [[305, 300]], "/logs/2/stations", "stand twice"),
        ((*LOG, "stations"), [7], "/logs/2/stations/0", "must be [from_butt, diameter]"),
        ((*LOG, "hazards"), [{"kind": "metal"}], "/logs/2/hazards/0/from_butt", "is missing"),
        (("excluded",), ["nobody"], "/excluded", "there is no log nobody"),
        (("pinned",), [{"cabin": "K1"}], "/pinned/0/log", "is missing"),
    ],
)
def test_a_fault_is_named_with_its_place(path, value, pointer, reason):
    faults = faults_of(changed(path, value))

    assert reason in faults[pointer]


def test_pinned_pieces_must_name_a_place_and_a_log_once():
    pin = {
        "cabin": "K1",
        "wall": "A",
        "round": 1,
        "piece": 0,
        "log": "L0001",
        "from_butt": 50,
        "butt_at": "start",
    }
    pins = [pin, pin, {**pin, "round": 2, "log": "nobody"}, {**pin, "wall": "Z"}]

    faults = faults_of(changed(("pinned",), pins))

    assert faults == {
        "/pinned/1": "the place is pinned twice",
        "/pinned/2/log": "there is no log nobody",
        "/pinned/3": "there is no such place",
    }


def test_a_partition_may_not_end_in_a_window_or_beside_its_wall():
    document = write_problem(a_problem(cabin=with_partition()))
    window = {"wall": "B", "offset": 1200, "width": 600, "sill": 0, "head": 700}
    document["cabins"][0]["openings"] = [window]
    assert "another wall crosses" in faults_of(document)["/cabins/0/openings"]

    document["cabins"][0]["openings"] = []
    document["cabins"][0]["tees"][0]["at"] = 3100
    assert "beyond the ends" in faults_of(document)["/cabins/0/tees"]


def test_a_plan_file_with_faults_is_not_read():
    assert faults_of({"format": "wall-plan/1"}, read_plan)["/pieces"] == "is missing"
    assert faults_of([], read_plan) == {"": "must be an object"}
    document = write_plan(one_log_each())
    document["pieces"][3]["butt_at"] = "top"
    assert faults_of(document, read_plan) == {"/pieces/3/butt_at": "must be one of start, end"}
