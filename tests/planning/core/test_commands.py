"""plan_file and bench_planner: files in, files and tables out, no database."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from planning.core.check import judge
from planning.core.files import read_plan
from tests.planning.core_problems import DATA, a_cabin, a_log, a_problem, shared_problem
from tests.tools.planner.bench import SEASON_CREWS, again_rows, as_table, growth_row, season_rows, sure_rows


def test_plan_file_writes_a_plan_and_prints_the_judges_verdict(tmp_path):
    out, told = tmp_path / "plan.json", StringIO()

    call_command("plan_file", str(DATA / "S-1.json"), out=out, moves=300_000, seed=2, stdout=told)

    plan = read_plan(json.loads(out.read_text()))
    verdict = json.loads(told.getvalue())
    assert verdict["feasible"] is True
    assert verdict["objective"] == pytest.approx(judge(shared_problem("S-1"), plan).objective, abs=1e-3)


def test_plan_file_goes_on_from_a_plan(tmp_path):
    first, second, told = tmp_path / "1.json", tmp_path / "2.json", StringIO()
    call_command("plan_file", str(DATA / "S-1.json"), out=first, seconds=0.5, stdout=StringIO())

    call_command("plan_file", str(DATA / "S-1.json"), out=second, moves=2_000, start=first, stdout=told)

    before = judge(shared_problem("S-1"), read_plan(json.loads(first.read_text()))).objective
    assert json.loads(told.getvalue())["objective"] <= round(before, 3)


def test_plan_file_names_every_fault_of_a_file_it_cannot_plan_with(tmp_path):
    broken, torn = tmp_path / "broken.json", tmp_path / "torn.json"
    document = json.loads((DATA / "S-1.json").read_text())
    document["logs"][3]["length"] = -5
    document["cabins"][0]["rounds"] = 0
    broken.write_text(json.dumps(document))
    torn.write_text('{"format": ')

    with pytest.raises(CommandError, match=r"(?s)/cabins/0/rounds: must be 1 or more.*/logs/3/length"):
        call_command("plan_file", str(broken), out=tmp_path / "plan.json")
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("plan_file", str(torn), out=tmp_path / "plan.json")


def test_the_bench_prints_its_tables(tmp_path):
    told = StringIO()

    call_command(
        "bench_planner",
        "quality",
        "baselines",
        "proof",
        problems=["tiny3-1"],
        seconds=[0.3],
        seeds=1,
        stdout=told,
    )

    assert "| tiny3-1 | careful builder |" in told.getvalue()
    assert "| tiny2-1 | 269.4" in told.getvalue()
    assert "1/1" in told.getvalue()


def test_the_bench_draws_how_cost_grows(tmp_path):
    plot, told = tmp_path / "growth.svg", StringIO()

    call_command("bench_planner", "growth", problems=["tiny2-1", "tiny4-1"], plot=plot, stdout=told)

    assert "tiny4-1, 18 logs" in plot.read_text()
    assert "| tiny4-1 | 16 | 18 |" in told.getvalue()


def test_the_bench_knows_its_parts():
    with pytest.raises(SystemExit):
        call_command("bench_planner", "beauty", stdout=StringIO(), stderr=StringIO())


def test_planning_again_and_how_sure_are_measured_on_built_rounds():
    logs = tuple(a_log(f"{n}", middle_mm=340.0 - n, taper_mm=10.0) for n in range(20))
    problem = a_problem(cabin=a_cabin(rounds=4), logs=logs)

    again = again_rows(problem, seconds=0.2, fresh_seconds=0.2, plan_seconds=0.2, seeds=1)
    sure = sure_rows(problem, moves=5_000)
    seasons = season_rows(problem, moves=5_000, seasons=2, search_moves=1_000)

    assert [row["rounds set"] for row in again] == [1, 2, 3]
    assert all(0.3 < row["median ratio"] < 3.0 for row in again)
    assert [row["way"] for row in sure[::2]] == ["paper", "careful builder", "plan"]
    assert [row["the crew"] for row in seasons] == list(SEASON_CREWS)
    assert as_table(again).count("\n") == 4


@pytest.mark.no_cover  # a large problem, judged often; traced it takes a minute
def test_a_move_costs_microseconds_however_large_the_yard():
    def cost(name: str) -> float:
        """What else the machine does only adds to it, so the least of three runs counts."""
        runs = [growth_row(shared_problem(name), moves=400_000) for _ in range(3)]
        return min(float(run["microseconds per move and core"]) for run in runs)

    assert cost("XL-1") < 5 * cost("S-1")
    assert as_table([]) == ""
