"""What the tests of planning need: a small rectangle and a yard that suffices for it."""

from typing import Any
from unittest.mock import patch
from uuid import UUID, uuid4

from inventory.logs.models import Log
from inventory.yards.models import Yard
from planning.jobs import tasks
from planning.jobs.models import PlanningStart
from tests.cabins.building import a_cabin, a_layout, a_log, a_yard

ROUNDS = 3
MOVES = 100_000


def a_hut(someone: Any, name: str = "Pond hut", **changed: Any) -> str:
    """A rectangle of three rounds, laid out; its id."""
    return a_cabin(someone, name=name, layout=a_layout(rounds=ROUNDS, **changed)).split("/")[1]


def logs_enough(someone: Any, count: int = 14, yard: Yard | None = None) -> list[Log]:
    """Logs of 6 m whose middles run from 290 to 330 mm."""
    crew = someone.who.crew
    yard = yard or a_yard(crew)
    return [
        a_log(crew, yard=yard, butt_mm=320 + 3 * n, middle_mm=300 + 3 * n, tip_mm=285 + 3 * n, crown_mm=n % 4)
        for n in range(count)
    ]


def ask(someone: Any, cabins: list[str], yards: list[UUID], **changed: Any) -> Any:
    body = {
        "id": str(uuid4()),
        "cabins": cabins,
        "yards": [str(yard) for yard in yards],
        "seconds": 1,
        "seed": 3,
        **changed,
    }
    return someone.post("planning-jobs", body)


_by_seconds = tasks._request_of


def _by_moves(start: PlanningStart) -> dict[str, Any]:
    """A search of so many moves instead of a second: the same on a slow machine, and done sooner."""
    return _by_seconds(start) | {"seconds": None, "moves": MOVES}


def planned(someone: Any, cabins: list[str], yards: list[UUID], **changed: Any) -> Any:
    """Ask for a plan, do the worker's work, and give the job as it ended."""
    job = ask(someone, cabins, yards, **changed)
    assert job.status_code == 202, job.body
    with patch.object(tasks, "_request_of", _by_moves):
        for number in range(job.body["starts"]):
            tasks.run_start(UUID(job.body["id"]), number)
    return someone.get(f"planning-jobs/{job.body['id']}").body
