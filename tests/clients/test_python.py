"""The Python client: every operation has its function, and the main job is done with nothing else."""

import re
import time
from importlib import import_module
from io import BytesIO
from typing import Any
from uuid import UUID, uuid4

import pytest

from tests.browser.building import HEAD
from tests.cabins.building import EVENING, a_layout
from tests.schema import schema


def test_no_operation_is_dropped_and_no_answer_left_out(python_client):
    operations = {
        operation["operationId"] for path in schema()["paths"].values() for operation in path.values()
    }

    made = {file.stem for file in python_client.folder.glob("api/*/*.py") if file.stem != "__init__"}

    assert made == operations
    assert re.findall(r"(?i)warning|error|unable|unsupported", python_client.said) == []


class Crew:
    """Someone who knows the service only by its generated client."""

    def __init__(self, root: str, key: str) -> None:
        package = import_module("roundlay_client")
        self.models, self.types = (
            import_module("roundlay_client.models"),
            import_module("roundlay_client.types"),
        )
        self.client = package.AuthenticatedClient(base_url=root, token=key, raise_on_unexpected_status=True)

    def ask(self, operation: str, *ids: UUID, **given: Any) -> Any:
        """The answer of `cabins.put_cabin`; a refusal fails the test."""
        answer = import_module(f"roundlay_client.api.{operation}").sync(*ids, client=self.client, **given)
        assert not isinstance(answer, self.models.Problem), answer
        return answer


@pytest.fixture
def crew(live, python_client):
    one = Crew(live.root, live.crew().key)
    with one.client:
        yield one


def charted_yard(crew: Crew) -> UUID:
    yard = uuid4()
    rows = [f"{n + 1},R1,white spruce,{320 + 3 * n},{300 + 3 * n},{285 + 3 * n},6000,0,," for n in range(14)]
    crew.ask("yards.put_yard", yard, body=crew.models.YardIn(name="North yard"))
    chart = crew.types.File(payload=BytesIO("\n".join([HEAD, *rows, ""]).encode()))
    crew.ask("yards.import_chart", yard, body=chart, unit=crew.models.ImportChartUnit.MM, new_racks=True)
    return yard


def planned(crew: Crew, cabin: UUID, yard: UUID) -> UUID:
    job = crew.models.PlanningJobIn(id=uuid4(), cabins=[cabin], yards=[yard], seconds=1, seed=3)
    crew.ask("planning_jobs.ask_for_plan", body=job)
    for _ in range(900):
        found = crew.ask("planning_jobs.show_planning_job", job.id)
        if found.ended_at:
            return found.plan_id
        time.sleep(0.2)
    raise AssertionError(found)


def test_the_main_job_is_done_with_the_client_alone(crew):
    yard, cabin = charted_yard(crew), uuid4()
    logs = crew.ask("logs.list_logs", yard=yard).items
    crew.ask("cabins.put_cabin", cabin, body=crew.models.CabinIn(name="Pond hut"))
    crew.ask("cabins.lay_out_cabin", cabin, body=crew.models.LayoutIn.from_dict(a_layout(rounds=3)))
    plan = planned(crew, cabin, yard)
    crew.ask("plans.adopt_plan", plan)
    sheet = crew.ask("cabins.show_setting_sheet", cabin, round_=1)
    heights = crew.ask("plans.show_plan_heights", plan, cabin=cabin)

    for row in sheet.rows:
        done = crew.models.SetLogIn(
            cabin=cabin, wall=row.wall, round_=row.round_, piece=row.piece, log=row.log, butt_at=row.butt_at,
            from_butt_mm=row.cut_near_butt_mm, set_at=EVENING, gap_mm="1/2 in",
        )  # fmt: skip
        crew.ask("set_logs.set_log", uuid4(), body=done)
    for top in heights.tops:
        if top.round_ == 1:
            end = "end" if top.column else "start"
            measured = crew.models.HeightIn(
                cabin=cabin, wall=top.wall, round_=1, end=end, height_mm=top.top_mm + 4, measured_at=EVENING
            )
            crew.ask("heights.put_height", uuid4(), body=measured)

    assert len(logs) == 14
    assert len(sheet.rows) == 4
    progress = crew.ask("cabins.show_progress", cabin)
    assert (progress.rounds_complete, progress.logs_set, progress.logs_left) == (1, 4, 8)
    tops = {(top.wall, top.column): top.top_mm for top in heights.tops if top.round_ == 1}
    for wall in progress.walls:
        assert wall.start_is_measured
        assert wall.start_mm == pytest.approx(tops[wall.wall, 0] + 4)
    assert crew.ask("cabins.show_next_log", cabin).row.round_ == 2


def test_files_come_as_files_and_drawings_as_text(crew):
    yard = charted_yard(crew)

    paper = crew.ask("sheets.print_blank_chart").payload.read()
    drawing = crew.ask("yards.draw_yard", yard)
    chart = crew.ask("yards.export_chart", yard)

    assert paper.startswith(b"%PDF-")
    assert drawing.startswith("<?xml")
    assert chart.decode().count("white spruce") == 14


def test_a_refusal_comes_as_the_problem_that_it_is(crew):
    answer = import_module("roundlay_client.api.logs.show_log").sync(uuid4(), client=crew.client)

    assert isinstance(answer, crew.models.Problem)
    assert answer.type_ == "/problems/not-found"
