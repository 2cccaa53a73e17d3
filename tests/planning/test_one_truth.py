"""One figure for each notch and top still to come, whichever address is asked."""

import os
from collections.abc import Iterator
from random import Random
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from cabins.cabins.models import Cabin
from cabins.walls.queries import stack_of, standing_of
from inventory.logs.drawing_values import units_of
from planning.core.printed.storey_pole import storey_pole_data
from tests.cabins.building import DOOR, a_yard
from tests.planning.made_up_plans import a_made_up_plan
from tests.planning.planning_yard import ROUNDS, a_hut
from tests.planning.planning_yard import logs_enough as logs_of_the_yard
from tests.schema import fields_shown

pytestmark = pytest.mark.django_db(transaction=True)
# Of all cabins, two of each wall.
STATES = int(os.environ.get("STATES") or 20)
NOON, EVENING = "2026-05-04T12:00:00Z", "2026-05-04T18:00:00Z"

# (wall, round, crossing) -> top and notch, the notch None where the log lies on the deck.
Figures = dict[tuple[str, int, str], tuple[float, float | None]]

# A partition, a door, a scribed wall, a flat under the sill: what changes how heights come about.
CABINS: list[dict[str, Any]] = [
    {},
    {"openings": [DOOR]},
    {"gap": {"smallest_mm": -30, "target_mm": -20, "largest_mm": -12}},
    {"half_logs": True, "sill_flat": {"width_mm": 60}, "sealer_mm": 6},
    {
        "partitions": [
            {
                "id": "P",
                "from": {"wall": "A", "at_mm": 2500},
                "to": {"wall": "C", "at_mm": 2500},
                "start": "high",
            }
        ]
    },
]


def from_setting_sheets(someone: Any, hut: str) -> Figures:
    """What the sheets of all rounds say."""
    rows = [
        row
        for number in range(1, ROUNDS + 1)
        for row in someone.get(f"cabins/{hut}/setting-sheet?round={number}").body["rows"]
    ]
    return dict(_of_row(rows))


def _of_row(rows: list[dict[str, Any]]) -> Iterator[tuple[tuple[str, int, str], tuple[float, float | None]]]:
    for row in rows:
        for corner in row["corners"]:
            yield (
                (row["wall"], row["round"], corner["crossing"]),
                (corner["top_mm"], corner["notch_mm"]),
            )


def from_plan_sheets(someone: Any, hut: str, plan: str) -> Figures:
    rows = [
        row
        for number in range(1, ROUNDS + 1)
        for row in someone.get(f"plans/{plan}/setting-sheet?cabin={hut}&round={number}").body["rows"]
    ]
    return dict(_of_row(rows))


def _of_steering(row: dict[str, Any], steering: dict[str, Any] | None) -> Figures:
    ends = steering["ends"] if steering else []
    return {(row["wall"], row["round"], end["crossing"]): (end["top_mm"], end["notch_mm"]) for end in ends}


def from_next_log(someone: Any, hut: str) -> Figures:
    """What the phone shows first: the row, and how to steer it."""
    answer = someone.get(f"cabins/{hut}/next-log").body
    if answer["row"] is None:
        return {}
    if answer["row"]["round"] == 0:
        assert answer["steering"] is None, "a half log lies on the deck: nothing steers it"
        return {}
    row = dict(_of_row([answer["row"]]))
    steering = _of_steering(answer["row"], answer["steering"])
    assert row == steering
    return row


def from_tried_logs(someone: Any, hut: str, chance: Random, count: int) -> Figures:
    """Some of the planned logs, each tried in the place that the plan has for it."""
    sheet = someone.get(f"cabins/{hut}/setting-sheet?round={chance.randrange(1, ROUNDS + 1)}").body
    found: Figures = {}
    for row in chance.sample(sheet["rows"], min(count, len(sheet["rows"]))):
        asked = (
            f"wall={row['wall']}&round={row['round']}&piece={row['piece']}&log={row['log']}"
            f"&from_butt_mm={row['cut_near_butt_mm']}&butt_at={row['butt_at']}"
        )
        answer = someone.get(f"cabins/{hut}/sheet?{asked}")
        assert answer.status_code == 200, answer.body
        found |= _of_steering(row, answer.body["steering"])
    return found


def from_corners(someone: Any, hut: str, crossings: set[str]) -> Figures:
    found: Figures = {}
    for crossing in crossings:
        for row in someone.get(f"cabins/{hut}/corners/{crossing}").body["rows"]:
            depth = None if row["seat_mm"] == 0 and not found else row["cut"]["depth_mm"]
            found[row["wall"], row["round"], crossing] = (row["top_mm"], depth)
    return found


def from_plan_heights(someone: Any, hut: str, plan: str) -> Figures:
    answer = someone.get(f"plans/{plan}/heights?cabin={hut}").body
    depths = {(n["wall"], n["round"], n["column"]): n for n in answer["notches"]}
    crossing_of = {(n["wall"], n["column"]): n["crossing"] for n in answer["notches"]}
    return {
        (top["wall"], top["round"], crossing_of[top["wall"], top["column"]]): (
            top["top_mm"],
            depths[top["wall"], top["round"], top["column"]]["depth_mm"]
            if (top["wall"], top["round"], top["column"]) in depths
            else None,
        )
        for top in answer["tops"]
        if top["round"] > 0
    }


# Each address that shows a top or a notch; what it shows is compared below, or why it is another thing.
COMPARED = {
    "show_setting_sheet", "show_plan_setting_sheet", "show_next_log", "try_log", "show_corner",
    "show_plan_heights",
}  # fmt: skip
OF_ANOTHER_THING = {
    "explain_placement": "notches beyond their limit if logs were laid otherwise, as a plan on paper",
    "show_layout": "how deep the flat under a first log is to be, and where walls end before any plan",
    "estimate_height": "where walls end with logs that nobody laid anywhere yet, before any plan",
    "show_gables": "logs over the walls, on the tops of show_plan_heights: compared in test_gables.py",
    "list_layouts": "how deep the flat under a first log is to be",
}
FIGURES = {"notch_mm", "depth_mm", "reach_mm", "top_mm", "notch_needed_mm"}


def test_no_address_shows_a_top_or_a_notch_that_is_not_compared_here():
    showing = {name for name, fields in fields_shown().items() if fields & FIGURES}

    assert showing == COMPARED | set(OF_ANOTHER_THING)


def a_wall_going_up(someone: Any, hut: str, chance: Random, logs: int) -> None:
    """Some logs set as the plan has them, each end measured or not, 20 mm off at most."""
    for _ in range(logs):
        row = someone.get(f"cabins/{hut}/next-log").body["row"]
        if row is None:
            return
        turned = "end" if row["butt_at"] == "start" else "start"
        body = {
            "cabin": hut,
            **{name: row[name] for name in ("wall", "round", "piece", "log")},
            "from_butt_mm": row["cut_near_butt_mm"],
            # Now and then a log is set the other way round than planned.
            "butt_at": turned if chance.random() < 0.15 else row["butt_at"],
            "set_at": NOON,
        }
        assert someone.put(f"set-logs/{uuid4()}", body).status_code == 201
        for end, corner in (("start", 0), ("end", -1)):
            if len(row["corners"]) < 2 or chance.random() < 0.4:
                continue
            measured = {
                "cabin": hut, "wall": row["wall"], "round": row["round"], "end": end,
                "height_mm": round(row["corners"][corner]["top_mm"] + chance.uniform(-20, 20)),
                "measured_at": EVENING, "confirm_doubtful": True,
            }  # fmt: skip
            assert someone.put(f"heights/{uuid4()}", measured).status_code in (200, 201)


@pytest.mark.truth
@pytest.mark.parametrize("changed", CABINS, ids=["plain", "door", "scribed", "half_logs", "partition"])
@given(seed=st.integers(0, 2**31))
@settings(
    max_examples=STATES // (2 * len(CABINS)),
    phases=[Phase.generate], deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
def test_every_address_says_the_same_of_every_notch_and_top_to_come(lead, changed, seed: int):
    chance = Random(seed)
    yard = a_yard(lead.who.crew, name=f"Yard {uuid4()}")
    logs_of_the_yard(lead, count=24, yard=yard)
    hut = a_hut(lead, name=f"Hut {uuid4()}", **changed)
    plan = a_made_up_plan(lead, hut, [yard.id], chance)
    assert lead.post(f"plans/{plan}/adopt").status_code == 200

    for logs in (chance.randrange(0, 3), chance.randrange(1, 6)):
        a_wall_going_up(lead, hut, chance, logs)
        assert_one_truth(lead, hut, plan, chance)


def assert_one_truth(someone: Any, hut: str, plan: str, chance: Random) -> None:
    """Every address that shows a notch or a top still to come, beside the setting sheets."""
    to_come = from_setting_sheets(someone, hut)
    assert from_plan_sheets(someone, hut, plan) == to_come
    assert from_tried_logs(someone, hut, chance, 2).items() <= to_come.items()
    assert from_next_log(someone, hut).items() <= to_come.items()
    assert_says(from_plan_heights(someone, hut, plan), to_come)
    assert_says(from_corners(someone, hut, {crossing for _, _, crossing in to_come}), to_come)
    assert_the_pole_says(hut, to_come)


def assert_says(found: Figures, to_come: Figures) -> None:
    """The same tops and notches, far within the stored precision of a hundredth of a millimetre."""
    for spot, (top, notch) in to_come.items():
        assert found[spot][0] == pytest.approx(top, abs=1e-5), spot
        if notch is not None:
            assert found[spot][1] == pytest.approx(notch, abs=1e-5), spot


def assert_the_pole_says(hut: str, to_come: Figures) -> None:
    """Page and paper of the pole are printed from this stack."""
    cabin = Cabin.objects.get(id=UUID(hut))
    stack = stack_of(standing_of([cabin])[cabin.id])
    units = units_of(cabin.crew)
    pole = {one["name"]: one for one in storey_pole_data("", stack, (), units=units, as_of="")["corners"]}
    low = {wall.id for wall in stack.layout.log_walls if wall.start.value == "low"}
    for (wall, number, crossing), (top, _) in to_come.items():
        mark = next(mark for mark in pole[crossing]["marks"] if mark["round"] == str(number))
        assert mark["low" if wall in low else "high"] == units.along(top)
