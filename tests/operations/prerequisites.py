"""What has to be there before an operation can do its work, and a body with which it does.

Most work on what the world has, with the example of the schema; the others are named here. One that is new
and cannot do its work so fails its tests until it is named as well.
"""

from collections.abc import Callable
from typing import Any
from uuid import UUID, uuid4

from crews.accounts.models import AccessKey, Role
from planning.jobs.models import PlanningJob
from planning.jobs.results import store_plan
from planning.plans.models import CurrentPlan
from tests.cabins.building import NOON, a_cabin
from tests.inventory.ordering import FIRST_TRUCK, FORM, LINES, SECOND_TRUCK, a_draft, a_rack, delivered, tally
from tests.operation_ids import Operation
from tests.operations.asking import Ids, address, body
from tests.operations.world import World
from tests.people import join
from tests.planning.planning_yard import ask

# The ids to work on, kind by kind, and the body to send; None for the usual one.
Ready = tuple[dict[str, str], Any]
_CHART = b"number,length,butt,middle,tip\nZ7,6000,340,315,290\n"


def _answered(world: World) -> Ready:
    """The mill's order, all that was proposed for it answered."""
    for one in world.lead.get(f"orders/{world.own['order'][0]}/proposals").body["items"]:
        assert world.lead.post(f"proposals/{one['id']}/decline").status_code == 200
    return {}, None


def _draft(world: World) -> str:
    return a_draft(world.lead, world.own["mill"][0], name="Not sent yet")


def _sent(world: World) -> str:
    order = _draft(world)
    assert world.lead.post(f"orders/{order}/send").status_code == 200
    return order


def _part_delivered(world: World) -> Ready:
    order = _sent(world)
    row = FIRST_TRUCK[0].replace("Q1", "Q77")
    delivered(world.lead, order, a_rack(world.lead, "R9"), [row])
    return {"order": order}, {"reason": "Five short, off the bill."}


def _aside(world: World) -> Ready:
    log = world.own["log"][0]
    assert world.lead.post(f"logs/{log}/put-aside", {"reason": "Soft tip."}).status_code == 200
    return {}, None


def _waiting(world: World) -> Ready:
    job = ask(world.lead, world.own["cabin"][:1], [UUID(world.own["yard"][0])])
    assert job.status_code == 202, job.body
    return {"planning job": job.body["id"]}, None


def _changes(world: World) -> Ready:
    """A plan like the one in force, made after what was built since."""
    current = CurrentPlan.objects.get(cabin__crew=world.lead.who.crew)
    was, cabin = current.plan, current.cabin
    built = {"layout_version": cabin.layout_version, "built_version": cabin.built_version}
    job = PlanningJob.objects.get(id=was.job_id)
    job.id = uuid4()
    job.save(force_insert=True)
    made_from = was.made_from | {"cabins": {str(cabin.id): built}}
    like = {"plan": job.best, "report": was.report, "problem": was.problem, "made_from": made_from}
    made = store_plan(job, id=uuid4(), at=NOON, **like)
    return {"plan": str(made.id)}, {"id": str(uuid4()), "against": [str(was.id)], "changes": []}


def _heights(world: World) -> Ready:
    line = {"wall": "A", "round": 0, "height_mm": 27, "measured_at": NOON.isoformat()}
    lines = [{**line, "id": str(uuid4()), "end": end} for end in ("start", "end")]
    return {}, {"heights": lines}


def _another_key(world: World) -> Ready:
    spare = join(world.lead.who.crew, "Spare", Role.LEARNER).member
    return {"key": str(AccessKey.objects.get(member=spare).id)}, None


def _spare_member(world: World) -> Ready:
    return {"member": str(join(world.lead.who.crew, "Spare", Role.LEARNER).member.id)}, None


def _bare_cabin(world: World) -> Ready:
    return {"cabin": a_cabin(world.lead, name="Nothing set").split("/")[1]}, None


READY: dict[str, Callable[[World], Ready]] = {
    "cancel_planning": _waiting,
    "close_order": _part_delivered,
    "confirm_lines": _answered,
    "confirm_order": _answered,
    "instruct_log": lambda _: ({}, {"instructions": [{"kind": "peel_first"}]}),
    "import_chart": lambda _: ({}, _CHART),
    "lay_out_cabin": _bare_cabin,
    "measure_heights": _heights,
    "part_with_member": _spare_member,
    "post_own_tally": lambda _: ({}, tally(SECOND_TRUCK)),
    "put_form": lambda _: ({}, {"document": {**FORM, "title": "Another title"}}),
    "put_order_lines": lambda world: ({"order": _draft(world)}, {"lines": LINES[:1]}),
    "put_tally": lambda _: ({}, tally(SECOND_TRUCK)),
    "return_log_to_rack": _aside,
    "revoke_key": _another_key,
    "take_plan_changes": _changes,
    "send_order": lambda world: ({"order": _draft(world)}, None),
}


def made_ready(world: World, operation: Operation) -> tuple[str, Any]:
    """The address and the body with which it does its work."""
    named, sent = READY.get(operation.name, lambda _: ({}, None))(world)
    ids: Ids = world.own | {kind: [id] for kind, id in named.items()}
    return address(operation, ids), body(operation, ids) if sent is None else sent
