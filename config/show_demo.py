"""The main job by HTTP alone, as a front end does it: plan the demo's first cabin, show its sheet.

python -m config.show_demo http://127.0.0.1:8000 KEY_FILE
"""

import json
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

from inventory.core.crew_units import CrewUnits

PLAN_SECONDS = 10
_WAIT_SECONDS = 120


class Api:
    """A plain HTTP client with a key."""

    def __init__(self, root: str, key: str) -> None:
        self.root, self.key = f"{root}/api/v1/", key

    def ask(self, method: str, path: str, body: Any = None) -> Any:
        """The answer's JSON; RuntimeError with the problem's words for a refusal."""
        request = urllib.request.Request(
            self.root + path,
            method=method,
            data=None if body is None else json.dumps(body).encode(),
            headers={"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"},
        )
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as refusal:
            raise RuntimeError(f"{method} {path}: {refusal.read().decode()[:600]}") from refusal


class Writer:
    """Writes lengths and weights the way the crew reads them."""

    def __init__(self, crew: dict[str, Any]) -> None:
        self.units = CrewUnits.of(SimpleNamespace(**crew))

    def __call__(self, value_mm: float | None) -> str:
        if value_mm is None:
            return "-"
        return self.units.along(value_mm)


def say(text: str = "") -> None:
    print(text, flush=True)  # noqa: T201 - this is what the command is for


def cabin_to_plan(api: Api) -> dict[str, Any] | None:
    """The largest cabin that is laid out and in which no log is set yet: it needs the yards most."""
    waiting = [c for c in api.ask("GET", "progress")["cabins"] if c["places"] and not c["logs_set"]]
    return max(waiting, key=lambda cabin: cabin["places"], default=None)


def plan_of(api: Api, cabin: dict[str, Any]) -> str:
    """The cabin's plan: the one adopted, else one that the worker makes now and the lead adopts."""
    reservations = api.ask("GET", f"reservations?open=true&cabin={cabin['cabin']}&limit=1")["items"]
    if reservations:
        say(f"   {cabin['cabin_name']} has an adopted plan; going on with it.")
        return str(reservations[0]["plan"])
    yards = [yard["id"] for yard in api.ask("GET", "yards")["items"]]
    job = {
        "id": str(uuid4()),
        "cabins": [cabin["cabin"]],
        "yards": yards,
        "seconds": PLAN_SECONDS,
        "seed": 7,
    }
    say(f"   asking for a plan of {cabin['cabin_name']} ({PLAN_SECONDS} s)")
    api.ask("POST", "planning-jobs", job)
    plan = _await(api, str(job["id"]))
    api.ask("POST", f"plans/{plan}/adopt")
    return plan


def _await(api: Api, job: str) -> str:
    for _ in range(_WAIT_SECONDS):
        found = api.ask("GET", f"planning-jobs/{job}")
        if found["ended_at"]:
            if found["plan_id"] is None:
                raise RuntimeError(f"The planning job ended as {found['state']}: {found['reason']}")
            return str(found["plan_id"])
        best = "" if found["objective"] is None else f", best so far {found['objective']:.0f}"
        say(f"   {found['state']} {found['fraction']:.0%}{best}")
        time.sleep(2)
    raise RuntimeError("The planning job did not end in time; is a worker running?")


def show_sheet(sheet: dict[str, Any], length: Writer) -> None:
    say(f"\nSETTING SHEET  {sheet['cabin_name']}, round {sheet['round']}")
    heads = ("log", "wall", "butt at", "cut from butt end", "notch at each corner")
    say("{:>5}  {:4} {:8} {:>26}  {:34} weight to lift".format(*heads))
    for row in sheet["rows"]:
        cuts = f"{length(row['cut_near_butt_mm'])} to {length(row['cut_near_tip_mm'])}"
        notches = ", ".join(f"{c['crossing']} {length(c['notch_mm'])}" for c in row["corners"])
        lift = row["lift"]
        weight = (
            f"{length.units.weight(lift['weight_low_kg'])} to {length.units.weight(lift['weight_high_kg'])}"
        )
        say(f"{row['log_number']:>5}  {row['wall']:4} {row['butt_at']:8} {cuts:>26}  {notches:34} {weight}")
        for hazard in row["hazards"]:
            say(f"       ! {hazard['kind']} {length(hazard['from_butt_mm'])} from the butt")
        for caution in row["cautions"]:
            say(f"       ! {caution}")
    for caution in sheet["cautions"]:
        say(f"  {caution}")


def show_levels(heights: dict[str, Any], length: Writer) -> None:
    say("\nEXPECTED LEVELS at the plate (end top minus start top)")
    last = heights["rounds"]
    for level in (level for level in heights["levels"] if level["round"] == last):
        tops = f"{length(level['start_mm'])} and {length(level['end_mm'])}"
        out, error = length.units.across(level["out_of_level_mm"]), length.units.error(level["error_mm"])
        level_by = f"out of level by {out}, give or take {error}"
        say(f"  wall {level['wall']:4} tops at {tops}, {level_by}")
    say("  Give or take: one standard deviation, from the readings of tape and calipers; measuring the wall")
    say("  after each round and planning the rest again keeps it small.")


def main(root: str, key_file: str) -> int:
    api = Api(root, Path(key_file).read_text().strip())
    crew = api.ask("GET", "crew")
    cabin = cabin_to_plan(api)
    if cabin is None:
        say("   every cabin has logs set; ask for the next log at /api/v1/cabins/{id}/next-log")
        return 0
    plan = plan_of(api, cabin)
    found = api.ask("GET", f"plans/{plan}")
    say(f"   plan {plan}: objective {found['objective']:.0f}, feasible {found['feasible']}")
    length = Writer(crew)
    show_sheet(api.ask("GET", f"plans/{plan}/setting-sheet?cabin={cabin['cabin']}&round=1"), length)
    show_levels(api.ask("GET", f"plans/{plan}/heights?cabin={cabin['cabin']}"), length)
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(*sys.argv[1:]))
    except (RuntimeError, OSError) as reason:
        say(f"   {reason}")
        sys.exit(1)
