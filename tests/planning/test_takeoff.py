"""Take-offs by HTTP: from stored cabins and from sketches, against yards, every fault named."""

from typing import Any
from uuid import uuid4

import pytest

from cabins.cabins.models import Cabin
from inventory.logs.models import LogState
from inventory.yards.models import Species
from planning.plans.models import Plan
from tests.cabins.building import DOOR, a_cabin, a_layout, a_log, a_yard, id_of, record_set, set_round
from tests.people import MORNING
from tests.planning.planning_yard import a_hut, logs_enough, planned

# The rectangle: A and C 5000, B and D 4000, overhang 400: 5850 (6000) and 4850 (5000) with trim. Middle 300:
# classes 312.5-337.5, 287.5-312.5, 262.5-287.5. Four rounds: one thick, two usual, one thin.
NO_SPARE = {"spare": {"rounds": 0}}


def take_off(someone: Any, **asked: Any) -> Any:
    return someone.post("take-offs", asked)


def counts(body: dict[str, Any], field: str = "count") -> dict[tuple[float, float], int]:
    """A line's figure by length class and least middle."""
    return {(line["length_mm"], line["least_middle_mm"]): line[field] for line in body["lines"]}


def test_a_stored_cabin_is_counted_by_class_with_a_spare_round(learner, builder):
    hut = id_of(a_cabin(builder))

    answer = take_off(learner, cabins=[str(hut)])

    assert answer.status_code == 200
    assert counts(answer.body) == {
        (6000, 312.5): 2,
        (6000, 287.5): 4,
        (6000, 262.5): 2,
        (5000, 312.5): 2 + 1,
        (5000, 287.5): 4,
        (5000, 262.5): 2,
    }
    assert counts(answer.body, "spare") == {
        (6000, 312.5): 0,
        (6000, 287.5): 2,
        (6000, 262.5): 0,
        (5000, 312.5): 0,
        (5000, 287.5): 2,
        (5000, 262.5): 0,
    }
    (cabin,) = answer.body["cabins"]
    assert (cabin["cabin"], cabin["id"], cabin["rounds"], cabin["half_logs"]) == (
        "Lake cabin",
        str(hut),
        4,
        2,
    )
    assert cabin["with_yards"] is None
    assert any("two are better" in sentence for sentence in answer.body["advice"])
    assert any("licensed practice" in caution for caution in answer.body["cautions"])
    assert all("common practice, no source" in basis["source"] for basis in answer.body["basis"][:3])


def test_a_sketch_that_is_stored_nowhere_is_counted_alike(learner, builder):
    hut = id_of(a_cabin(builder))
    stored = take_off(builder, cabins=[str(hut)]).body

    sketch = take_off(learner, layouts=[{"name": "Lake cabin", "layout": a_layout()}]).body

    assert sketch["lines"] == stored["lines"]
    assert sketch["cabins"][0]["id"] is None
    assert Cabin.objects.count() == 1


def test_lengths_are_read_as_the_trade_writes_them(learner):
    # 5850 mm is 19.2 ft: 20 ft; 4850 is 15.9 ft: 16 ft.
    body = take_off(
        learner,
        layouts=[{"name": "Sketch", "layout": a_layout(log_middle_mm="12 in")}],
        class_step_mm="2 ft",
        middle_step_mm="1 in",
        **NO_SPARE,
    ).body

    assert {line["length_mm"] for line in body["lines"]} == {6096, 4876.8}
    assert {line["least_middle_mm"] for line in body["lines"]} == {317.5, 292.1, 266.7}


def test_the_yard_covers_by_assignment_and_the_order_takes_the_rest(builder):
    hut = id_of(a_cabin(builder))
    yard = a_yard(builder.who.crew)
    for middle in (320, 325):
        a_log(builder.who.crew, yard=yard, middle_mm=middle, butt_mm=350)
    # Long enough, but the middles are of no class, or the log is no good.
    a_log(builder.who.crew, yard=yard, middle_mm=340, butt_mm=350)
    a_log(builder.who.crew, yard=yard, middle_mm=320, butt_mm=350, culled=True)
    a_log(builder.who.crew, yard=yard, middle_mm=320, butt_mm=350, state=LogState.PUT_ASIDE)
    a_log(builder.who.crew, yard=a_yard(builder.who.crew, "Far yard"), middle_mm=320, butt_mm=350)

    body = take_off(builder, cabins=[str(hut)], yards=[str(yard.id)], species="test PINE", **NO_SPARE).body

    # By counting, the two thick logs of 6000 would do for A and C as well as for B and D.
    assert counts(body, "covered")[6000, 312.5] == 2
    assert counts(body, "short")[5000, 312.5] == 3
    assert (body["covered"], body["short"], body["to_order"]) == (2, 15, 15)
    line = next(line for line in body["lines"] if line["covered"])
    assert {log["log"]["number"] for log in line["logs"]} == {"1", "2"}
    assert {log["log"]["yard_name"] for log in line["logs"]} == {"North yard"}
    assert sum(order["count"] for order in body["order"]) == 15
    assert {order["species"] for order in body["order"]} == {"Test pine"}
    assert body["cabins"][0]["with_yards"]["mean_middle_mm"] == pytest.approx((320 + 325 + 340) / 3)


def test_logs_of_another_species_do_not_cover(builder):
    hut = id_of(a_cabin(builder))
    log = a_log(builder.who.crew, middle_mm=320, butt_mm=350)
    Species.objects.create(
        crew=builder.who.crew, name="Test larch", basic_gravity="0.5", created_at=MORNING, changed_at=MORNING
    )

    body = take_off(builder, cabins=[str(hut)], yards=[str(log.yard_id)], species="Test larch").body

    assert (body["covered"], body["other_species"]) == (0, 1)


def test_metal_in_a_log_leaves_only_its_clear_stretch(builder):
    hut = id_of(a_cabin(builder))
    nail = {"kind": "metal", "from_butt_mm": 600, "face": None, "extent_mm": None}
    log = a_log(builder.who.crew, middle_mm=325, butt_mm=350, hazards=[nail])

    body = take_off(builder, cabins=[str(hut)], yards=[str(log.yard_id)], **NO_SPARE).body

    # 6000 - 600 - 300 clear leaves 5100: enough for B or D (4850), not for A or C (5850).
    assert counts(body, "covered")[5000, 312.5] == 1
    assert body["covered"] == 1


@pytest.mark.django_db(transaction=True)
def test_logs_reserved_for_the_cabin_cover_it_and_no_other(builder, lead):
    hut, other = a_hut(builder), a_hut(builder, name="Moor hut")
    logs = logs_enough(builder)
    yard = str(logs[0].yard_id)
    job = planned(builder, [hut], [logs[0].yard_id])
    assert lead.post(f"plans/{job['plan_id']}/adopt").status_code == 200

    own = take_off(builder, cabins=[hut], yards=[yard], **NO_SPARE).body
    others = take_off(builder, cabins=[other], yards=[yard], **NO_SPARE).body

    reserved = Plan.objects.get().pieces.values("log").distinct().count()
    assert own["covered"] > others["covered"]
    assert others["covered"] <= len(logs) - reserved


def test_what_is_set_is_not_counted_again(builder):
    address = a_cabin(builder)
    set_round(builder, address, 1)
    record_set(builder, address, a_log(builder.who.crew), wall="A", round=2)

    body = take_off(builder, cabins=[str(id_of(address))], **NO_SPARE).body

    (cabin,) = body["cabins"]
    assert (cabin["places"], cabin["places_filled"], cabin["half_logs"]) == (11, 5, 0)
    assert body["logs"] == 11
    assert any("5 places are filled" in caution for caution in body["cautions"])


def test_short_pieces_beside_a_door_share_logs(learner):
    # The door takes rounds 1 (212 of 312), 2 and 3 (276 of 312) of A: pieces of 2400 and 2500, 5005 together.
    body = take_off(
        learner, layouts=[{"name": "Sketch", "layout": a_layout(openings=[DOOR])}], **NO_SPARE
    ).body

    shared = [log for line in body["lines"] for log in line["logs"] if len(log["targets"]) == 2]
    walls = [log for log in shared if log["targets"][0]["use"] == "wall"]
    assert sorted(t["round"] for log in walls for t in log["targets"]) == [1, 1, 2, 2, 3, 3]
    assert {log["needed_mm"] for log in walls if log["targets"][0]["round"] == 1} == {2400 + 2500 + 100 + 5}


def test_members_and_spare_by_percent(learner):
    ridge = {"id": "R", "kind": "ridge", "length_mm": "24 ft", "least_middle_mm": "12 in", "count": 1}
    posts = {"id": "S", "kind": "post", "length_mm": 2400, "least_middle_mm": 200, "count": 6}

    body = take_off(learner, members=[ridge, posts], spare={"percent": 25}).body

    # 7 logs, a quarter spare: 2; shares 1.71 and 0.29 give one post, and the larger remainder one more.
    assert counts(body) == {(7500, 304.8): 1, (2500, 200): 6}
    assert counts(body, "spare") == {(7500, 304.8): 0, (2500, 200): 2}
    assert body["lines"][0]["note"] == "ridge R: 1"
    assert body["order"][1]["count"] == 8


def test_every_fault_is_named_at_once(learner, builder, stranger):
    unlaid = str(uuid4())
    builder.put(f"cabins/{unlaid}", {"name": "Bare ground"})
    theirs = str(id_of(a_cabin(stranger)))
    layout = a_layout(overhang_mm="much", walls=[])

    answer = take_off(
        learner,
        cabins=[unlaid, theirs],
        yards=[str(a_yard(stranger.who.crew).id)],
        layouts=[{"name": "Sketch", "layout": layout, "colour": "red"}, {"name": "Flat", "layout": 7}],
        species="Ironwood",
        class_step_mm="24",
        spare={"rounds": 1, "percent": 5},
        members=[
            {"id": "R", "kind": "roof", "length_mm": 0, "least_middle_mm": 300},
            {
                "id": "P",
                "kind": "purlin",
                "length_mm": 6000,
                "least_middle_mm": 300,
                "largest_middle_mm": 200,
            },
        ],
    )

    assert answer.status_code == 422
    pointers = {error["pointer"] for error in answer.body["errors"]}
    assert pointers >= {
        "/cabins/0", "/cabins/1", "/yards/0", "/layouts/0/layout/overhang_mm", "/layouts/0/colour",
        "/layouts/1/layout", "/species", "/class_step_mm", "/spare", "/members/0/kind",
        "/members/0/length_mm", "/members/1/largest_middle_mm",
    }  # fmt: skip
    codes = {error["pointer"]: error["code"] for error in answer.body["errors"]}
    assert codes["/layouts/0/layout/overhang_mm"] == "not_a_length"
    assert codes["/cabins/0"] == "no_layout"


def test_names_must_tell_cabins_apart(builder):
    hut = str(id_of(a_cabin(builder)))
    sketch = {"name": "Lake cabin", "layout": a_layout()}

    answer = take_off(builder, cabins=[hut], layouts=[sketch])
    twice = take_off(builder, cabins=[hut, hut])

    assert [e["pointer"] for e in answer.body["errors"]] == ["/layouts/0/name"]
    assert [e["pointer"] for e in twice.body["errors"]] == ["/cabins/1"]


def test_an_empty_request_has_nothing_to_count(learner):
    answer = take_off(learner)

    assert answer.status_code == 422
    assert answer.body["errors"][0]["code"] == "nothing_to_count"


def test_what_cannot_be_counted_is_refused_with_its_reason(learner):
    sketch = [{"name": "Sketch", "layout": a_layout()}]
    posts = [
        {"id": f"S{n}", "kind": "post", "length_mm": 2400, "least_middle_mm": 200, "count": 500}
        for n in range(9)
    ]

    short = take_off(learner, layouts=sketch, longest_log_mm=5000)
    many = take_off(learner, members=posts)

    assert (short.status_code, short.body["errors"][0]["pointer"]) == (422, "/longest_log_mm")
    assert (many.status_code, many.body["errors"][0]["code"]) == (422, "too_much")


def test_less_trim_than_a_plan_takes_and_bowed_logs_are_told(builder):
    hut = id_of(a_cabin(builder))
    log = a_log(builder.who.crew, middle_mm=320, butt_mm=350, crown_mm=60)

    body = take_off(builder, cabins=[str(hut)], yards=[str(log.yard_id)], trim_each_end_mm=0).body

    assert body["bowed"] == 1
    assert sum("bow more" in caution for caution in body["cautions"]) == 1
    assert sum("too short" in caution for caution in body["cautions"]) == 1


@pytest.mark.parametrize(
    ("spare", "said"),
    [
        ({"rounds": 0}, "No round"),
        ({"rounds": 1}, "One round"),
        ({"percent": 10}, "Two rounds"),
        ({"rounds": 2}, ""),
    ],
    ids=["none", "one round", "a tenth", "two rounds"],
)
def test_two_spare_rounds_are_advised_to_whoever_takes_less(learner, spare, said):
    body = take_off(learner, layouts=[{"name": "Sketch", "layout": a_layout()}], spare=spare).body

    assert [sentence[: len(said)] for sentence in body["advice"]] == ([said] if said else [])


def test_members_of_stored_and_sketched_layouts_are_counted_besides_those_asked_for(builder):
    ridge = {"id": "ridge", "kind": "ridge", "length_mm": 7200, "least_middle_mm": 260, "crown_limit_mm": 25}
    posts = {**ridge, "id": "post", "kind": "post", "length_mm": 2400, "least_middle_mm": 200, "count": 2}
    stored = str(id_of(a_cabin(builder, layout=a_layout(members=[ridge, posts]))))
    sketch = {"name": "Sketch", "layout": a_layout(members=[{**ridge, "length_mm": "24 ft"}])}
    joist = {"id": "J", "kind": "joist", "length_mm": 4000, "least_middle_mm": 180}
    log = a_log(builder.who.crew, length_mm=9000)
    made = {"cabin": stored, "log": str(log.id), "from_butt_mm": 100, "installed_at": "2026-05-04T12:00:00Z"}
    assert builder.put(f"roof-members/{uuid4()}", {**made, "member": "post 1"}).status_code == 201

    body = take_off(builder, cabins=[stored], layouts=[sketch], members=[joist], **NO_SPARE).body

    found = [t for line in body["lines"] for one in line["logs"] for t in one["targets"] if t["member"]]
    assert sorted((t["member"], t["cabin"] or "", t["length_mm"]) for t in found) == [
        ("J", "", 4000),
        ("post 2", "Lake cabin", 2400),
        ("ridge", "Lake cabin", 7200),
        ("ridge", "Sketch", 7315.2),
    ]
    assert [(c["members"], c["members_installed"]) for c in body["cabins"]] == [(2, 1), (1, 0)]
    assert any("1 members are made already" in caution for caution in body["cautions"])
