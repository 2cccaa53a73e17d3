"""`make scale`: planning jobs a minute with one worker and with two; fair, and none run twice.

One crew asks for many plans, then ten crews ask for a few each; only then do the workers begin. On this
machine alone, with a database of its own that is gone afterwards. `--kill-one` kills a worker on the way,
if there is another. Each run ends by itself within 25 minutes, as a failure if its jobs have not ended.
"""

import argparse
import contextlib
import json
import os
import random
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg

from config.children import start_child, stop_child
from config.run import manage, service_commands
from tests.bench.service import free_port, throwaway_database
from tests.soak.calling import Book, Broken, Client, Pace
from tests.soak.papers import HUT, chart

CREWS = 10
_LONGEST_S, _START_S = 1500, 120
_LOGS = 14
# How often each job was begun is what the queue's books say, whatever the job itself tells.
_JOBS = """
    SELECT job.id::text, crew.name, job.state, plan.id::text,
        (SELECT min(event.at) FROM procrastinate_events event JOIN procrastinate_jobs held
            ON held.id = event.job_id WHERE held.args->>'job_id' = job.id::text AND event.type = 'started'),
        (SELECT count(*) FROM procrastinate_events event JOIN procrastinate_jobs held
            ON held.id = event.job_id WHERE held.args->>'job_id' = job.id::text AND event.type = 'started')
    FROM planning_planningjob job JOIN crews_crew crew ON crew.id = job.crew_id
    LEFT JOIN planning_plan plan ON plan.job_id = job.id WHERE job.id = ANY(%s)
"""
_AT_HAND = "SELECT args->>'job_id' FROM procrastinate_jobs WHERE queue_name = 'planning' AND status = 'doing'"


def say(text: str) -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def main() -> int:
    asked = _arguments()
    with throwaway_database() as url:
        env = dict(os.environ) | {"ROUNDLAY_SECRET_KEY": secrets.token_urlsafe(32)}
        manage("migrate", "--verbosity", "0", env=env, quiet=True)
        key = manage("found_crew", "First crew", "--lead", "Odda", env=env, quiet=True).strip()
        port = free_port()
        with (
            _running(["web", "default"], port, env),
            psycopg.connect(url, autocommit=True) as sql,
        ):
            founder = Client(port=port, key=key, book=Book(), pace=Pace(chance=random.Random(1), pause_s=0))
            _await_web(founder)
            found = [
                _measured(founder, sql, env, port=port, workers=workers, asked=asked)
                for workers in asked.workers
            ]
    if asked.json:
        asked.json.write_text(json.dumps(found[-1], default=str))
    return 0


def _arguments() -> argparse.Namespace:
    reader = argparse.ArgumentParser(description="Planning jobs a minute, on this machine.")
    reader.add_argument("--workers", type=int, nargs="+", default=[1, 2], choices=range(1, 9), metavar="N")
    reader.add_argument("--greedy", type=int, default=20, help="plans that one crew asks for first")
    reader.add_argument("--each", type=int, default=2, help="plans that each of ten others asks for then")
    reader.add_argument("--kill-one", action="store_true", help="kill one of several when some jobs are done")
    reader.add_argument("--json", type=Path, help="write the last figures there too")
    return reader.parse_args()


@contextmanager
def _running(names: list[str], port: int, env: dict[str, str]) -> Iterator[list["subprocess.Popen[bytes]"]]:
    """Processes of the service, by their names; the same one may be named more than once."""
    commands = service_commands(port)
    children = [start_child(commands[name], env=env) for name in names]
    try:
        yield children
    finally:
        for child in reversed(children):
            stop_child(child, how=signal.SIGTERM, seconds=10)


def _measured(
    founder: Client, sql: psycopg.Connection[Any], env: dict[str, str], *, port: int, workers: int,
    asked: argparse.Namespace,
) -> dict[str, Any]:  # fmt: skip
    greedy = _a_crew(founder, "greedy")
    jobs = [_ask(*greedy) for _ in range(asked.greedy)]
    for number in range(CREWS):
        patient = _a_crew(founder, f"crew {number}")
        jobs += [_ask(*patient) for _ in range(asked.each)]
    began, at_hand = time.monotonic(), []
    kill_one = asked.kill_one and workers > 1
    with _running(["planner"] * workers, port, env) as planners:
        if kill_one:
            _await(sql, jobs, ended=6, until=began + _LONGEST_S)
            at_hand = _kill(planners[0], sql)
        _await(sql, jobs, ended=len(jobs), until=began + _LONGEST_S)
    seconds = time.monotonic() - began
    rows = sql.execute(_JOBS, [jobs]).fetchall()
    names = ("id", "crew", "state", "plan", "first_begun_at", "runs")
    found = [dict(zip(names, row, strict=True)) for row in rows]
    again = sum(job["runs"] > 1 for job in found)
    ahead = _ahead(found)
    say(
        f"{workers} worker{'s' if workers > 1 else ''}: {len(jobs)} jobs of 1 s in {seconds:.0f} s, "
        f"{60 * len(jobs) / seconds:.0f} a minute; {again} begun again{' after a kill' if kill_one else ''}; "
        f"{ahead} of the greedy crew's {asked.greedy} were begun before the last of the others; "
        f"load average {os.getloadavg()[0]:.0f}"
    )
    return {"jobs": found, "at_hand_when_killed": at_hand, "killed_at_work": again > 0, "seconds": seconds}


def _ahead(jobs: list[dict[str, Any]]) -> int:
    """How many of the greedy crew's jobs were begun before the last job of all others."""
    last = max(job["first_begun_at"] for job in jobs if job["crew"] != "greedy")
    return sum(job["first_begun_at"] < last for job in jobs if job["crew"] == "greedy")


def _a_crew(founder: Client, name: str) -> tuple[Client, str, str]:
    """A crew's lead, a hut laid out and a yard that suffices for it."""
    made = founder.ask("found_crew", "PUT", f"crews/{uuid4()}", {"name": name})
    lead, hut, yard = founder.with_key(made["key"]), str(uuid4()), str(uuid4())
    lead.ask("put_cabin", "PUT", f"cabins/{hut}", {"name": "Hut"})
    lead.ask("lay_out_cabin", "PUT", f"cabins/{hut}/layout", HUT)
    lead.ask("put_yard", "PUT", f"yards/{yard}", {"name": "Yard"})
    lead.ask("import_chart", "POST", f"yards/{yard}/chart?unit=mm&new_racks=true", chart(1, _LOGS))
    return lead, hut, yard


def _ask(lead: Client, hut: str, yard: str) -> str:
    job = {"id": str(uuid4()), "cabins": [hut], "yards": [yard], "seconds": 1, "seed": 3}
    lead.ask("ask_for_plan", "POST", "planning-jobs", job)
    return str(job["id"])


def _await_web(client: Client) -> None:
    for _ in range(_START_S * 2):
        with contextlib.suppress(Broken):
            client.ask("ready", "GET", "/health/ready")
            return
        time.sleep(0.5)
    raise TimeoutError("the web process did not come up")


def _await(sql: psycopg.Connection[Any], jobs: list[str], *, ended: int, until: float) -> None:
    """Until so many of the jobs have ended."""
    while time.monotonic() < until:
        query = "SELECT count(*) FROM planning_planningjob WHERE id = ANY(%s) AND ended_at IS NOT NULL"
        found = sql.execute(query, [jobs]).fetchone()
        if found and found[0] >= ended:
            return
        time.sleep(0.2)
    raise TimeoutError(f"not {ended} jobs ended within {_LONGEST_S} s")


def _kill(worker: "subprocess.Popen[bytes]", sql: psycopg.Connection[Any]) -> list[str]:
    """Kill the worker at its work; the jobs that were at hand, of all workers, when it stood still."""
    worker.send_signal(signal.SIGSTOP)
    at_hand = [row[0] for row in sql.execute(_AT_HAND)]
    worker.kill()
    worker.wait()
    return at_hand


if __name__ == "__main__":
    sys.exit(main())
