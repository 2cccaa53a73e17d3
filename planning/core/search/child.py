"""One search in a process of its own: `python -m planning.core.search.child`.

Reads one JSON line on stdin: {"problem", "seconds" and/or "moves", "seed", "start": a plan or null}.
Writes JSON lines on stdout: progress about twice a second (the plan only when it changed), then `done` or
`failed`. A line `stop` ends it with the best so far; the end of stdin (its parent died) ends it at once.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from dataclasses import asdict
from typing import Any, TextIO

from planning.core.check import Report
from planning.core.files import read_plan, read_problem, write_plan
from planning.core.problem import Plan, Problem
from planning.core.reading import UnreadableFile

TELL_EVERY_S = 0.5
STEERING_BAND_MM = 10.0
LEAST_MOVES = 20_000


def report_document(report: Report) -> dict[str, Any]:
    """The judge's verdict as plain JSON values; heights as {cabin: {wall: [[start, end, ...] per round]}}."""
    return {
        "objective": report.objective,
        "feasible": report.feasible,
        "complete": report.complete,
        "errors": report.errors,
        "terms": report.terms,
        "metrics": report.metrics,
        "shortages": [asdict(shortage) for shortage in report.shortages],
        "heights": {cabin: _tops(heights.top_mm) for cabin, heights in report.heights.items()},
        "notches": [asdict(notch) | {"share": notch.share} for notch in report.notches],
    }


def _tops(tops_mm: dict[tuple[str, int, int], float]) -> dict[str, list[list[float]]]:
    walls: dict[str, list[list[float]]] = {}
    for (wall, round_no, column), top in sorted(tops_mm.items()):
        rounds = walls.setdefault(wall, [])
        if round_no == len(rounds):
            rounds.append([])
        rounds[round_no].insert(column, top)
    return walls


class Teller:
    """Writes events, progress no more often than twice a second and plans only when they changed."""

    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.last = -TELL_EVERY_S
        self.plan: Plan | None = None

    def tell(self, event: dict[str, Any]) -> None:
        self.out.write(json.dumps(event) + "\n")
        self.out.flush()

    def progress(self, progress: Any) -> None:
        now = time.monotonic()
        if now - self.last < TELL_EVERY_S:
            return
        self.last = now
        event = {
            "event": "progress",
            "fraction": progress.fraction,
            "moves": progress.moves,
            "objective": progress.objective,
            "feasible": progress.feasible,
        }
        if progress.plan is not self.plan:
            self.plan = progress.plan
            event["plan"] = write_plan(progress.plan)
        self.tell(event)


def _listen(lines: TextIO, stopped: threading.Event) -> None:
    """Wait for `stop`; when the other end is gone nobody wants the answer, so leave at once."""
    for line in lines:
        if line.strip() == "stop":
            stopped.set()
    os._exit(1)


def serve(request_line: str, teller: Teller, stopped: threading.Event) -> None:
    """Answer one request; every way it can go wrong becomes a `failed` event with a sentence."""
    try:
        request = json.loads(request_line)
        problem = read_problem(request["problem"])
        start = read_plan(request["start"]) if request.get("start") else None
        seconds, moves = request.get("seconds"), request.get("moves")
        if seconds is None and moves is None:
            teller.tell({"event": "failed", "reason": "The request gives neither seconds nor moves."})
            return
    except UnreadableFile as fault:
        teller.tell({"event": "failed", "reason": f"The problem or plan cannot be read: {fault}"})
        return
    except (ValueError, KeyError, TypeError) as fault:
        teller.tell({"event": "failed", "reason": f"The request cannot be read: {fault!r}"})
        return
    # Only here, so that a bad request is answered without waiting for the compiler's cache.
    from planning.core.search import make_plan

    tabled = bool(request.get("trade_offs"))
    result = make_plan(
        problem,
        moves=moves,
        # Half of the time is for the plan; the table makes one plan for each set of weights in the other.
        seconds=seconds / 2 if tabled and seconds else seconds,
        seed=int(request.get("seed") or 0),
        start=start,
        on_progress=teller.progress,
        stop=stopped.is_set,
    )
    teller.tell(
        {
            "event": "done",
            "moves": result.moves,
            "seconds": result.seconds,
            "plan": write_plan(result.plan),
            "report": report_document(result.report)
            | {
                "sure": sure_rows(problem, result.plan),
                "trade_offs": _trade_off_rows(problem, result.moves, request) if tabled else [],
            },
        }
    )


def sure_rows(problem: Problem, plan: Plan) -> list[dict[str, Any]]:
    """Expected error at each cabin's plate: as planned or planned again each round, steered or not."""
    from planning.core.sure import plate_error

    return [
        {"cabin": cabin.id, "replanned": replanned, "steered": band is not None}
        | asdict(plate_error(problem, plan, cabin=cabin.id, replanned=replanned, band_mm=band, seed=1))
        for cabin in problem.cabins
        for replanned in (False, True)
        for band in (None, STEERING_BAND_MM)
    ]


def _trade_off_rows(problem: Problem, moves_made: int, request: dict[str, Any]) -> list[dict[str, Any]]:
    from planning.core.weights import PRESETS, trade_offs

    moves = max(LEAST_MOVES, moves_made // len(PRESETS))
    return [asdict(row) for row in trade_offs(problem, moves=moves, seed=int(request.get("seed") or 0))]


def main() -> None:
    teller, stopped = Teller(sys.stdout), threading.Event()
    request_line = sys.stdin.readline()
    threading.Thread(target=_listen, args=(sys.stdin, stopped), daemon=True).start()
    try:
        serve(request_line, teller, stopped)
    except MemoryError:
        teller.tell({"event": "failed", "reason": "The machine has not enough memory for this problem."})
    sys.stdout.flush()
    os._exit(0)  # the listening thread still waits on stdin


if __name__ == "__main__":
    main()
