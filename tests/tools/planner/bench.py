"""Measures the planner: quality, baselines, first plan, cost per move, planning again, how sure.

Every figure is the judge's. Each function gives rows for one table; `bench_planner` prints them.
"""

from __future__ import annotations

import math
import statistics
import time
from dataclasses import dataclass, replace

import numpy as np

from planning.core.check import Report, judge
from planning.core.plate_error import MeasuringErrors, PlateError, Readings, plate_error
from planning.core.problem import AsBuilt, KeptPiece, Rows, WallPlan, WallProblem
from planning.core.search import Progress, make_plan
from planning.core.search.engine import hands_and_teams, load_kernels
from planning.core.weights import USUAL
from tests.tools.planner.baseline import careful_plan, paper_plan
from tests.tools.planner.exact import prove_two_rounds
from tests.tools.planner.seasons import CrewHabits, simulate_seasons

Row = dict[str, str | float | int]

# How far the gap of the public problems, which name none, goes below its target and above it.
BAND_MM = (9.0, 25.0)
_USUAL = MeasuringErrors()
SEASON_CREWS = {
    "does not steer": CrewHabits(errors=_USUAL, steers=False, plans_again="never"),
    "does not steer, plans again after every round": CrewHabits(
        errors=_USUAL, steers=False, plans_again="after every round"
    ),
    "steers, lays the plate logs once": CrewHabits(errors=_USUAL, tries=0),
    "as usual: steers, tries the plate logs": CrewHabits(errors=_USUAL),
    "and plans again after every round": CrewHabits(errors=_USUAL, plans_again="after every round"),
    "and reads every diameter twice": CrewHabits(
        errors=replace(_USUAL, diameter_mm=_USUAL.diameter_mm / math.sqrt(2.0))
    ),
    "and reads the tops of the last two rounds twice": CrewHabits(
        errors=_USUAL, readings=Readings(last_rounds=2)
    ),
    "and reads tops by a storey pole, 2 mm": CrewHabits(errors=replace(_USUAL, top_mm=2.0)),
    "and reads tops by a level, 1 mm": CrewHabits(errors=replace(_USUAL, top_mm=1.0)),
}


@dataclass(slots=True)
class FirstFeasible:
    """Notes when the first complete feasible plan was reported."""

    began: float
    after_s: float | None = None

    def __call__(self, progress: Progress) -> None:
        if progress.feasible and self.after_s is None:
            self.after_s = time.monotonic() - self.began


def quality_rows(problem: WallProblem, *, seconds: float, seeds: int) -> list[Row]:
    """One row: median and range over the seeds, plans that are feasible, when the first feasible one came."""
    objectives, firsts, feasible, moves = [], [], 0, 0
    for seed in range(1, seeds + 1):
        first = FirstFeasible(time.monotonic())
        result = make_plan(problem, seconds=seconds, seed=seed, on_progress=first)
        objectives.append(result.report.objective)
        firsts.append(first.after_s if first.after_s is not None else float("inf"))
        feasible += result.report.feasible
        moves += result.moves
    return [
        {
            "problem": problem.name,
            "seconds": seconds,
            "median": round(statistics.median(objectives), 2),
            "best": round(min(objectives), 2),
            "worst": round(max(objectives), 2),
            "feasible": f"{feasible}/{seeds}",
            "first feasible s": round(max(firsts), 2),
            "million moves/s": round(moves / seconds / seeds / 1e6, 2),
        }
    ]


def verdict_row(problem: WallProblem, way: str, report: Report) -> Row:
    """One plan as a row: objective with and without the charge for hard notches, and what it wastes."""
    return {
        "problem": problem.name,
        "way": way,
        "objective": round(report.objective, 1),
        "without hard": round(report.objective - report.terms["hard"], 1),
        "notches beyond": int(report.metrics["notch_beyond"]),
        "empty places": int(report.metrics["short_places"]),
        "metal": int(report.metrics["metal"]),
        "worst plate mm": round(report.metrics["max_plate_out_of_level"], 1),
        "waste %": round(report.metrics["waste_pct"], 1),
    }


def baseline_rows(problem: WallProblem, *, seconds: float, seed: int = 1) -> list[Row]:
    """Paper, careful builder and the search on one problem."""
    return [
        verdict_row(problem, "paper", judge(problem, paper_plan(problem))),
        verdict_row(problem, "careful builder", judge(problem, careful_plan(problem))),
        verdict_row(problem, f"search {seconds:g} s", make_plan(problem, seconds=seconds, seed=seed).report),
    ]


def growth_row(problem: WallProblem, *, moves: int = 4_000_000) -> Row:
    """How the cost of a move and of getting ready grows with the problem."""
    load_kernels()
    began = time.monotonic()
    make_plan(problem, moves=1)
    ready = time.monotonic() - began
    result = make_plan(problem, moves=moves, seed=1)
    return {
        "problem": problem.name,
        "places": len(result.plan.pieces),
        "logs": len(problem.logs),
        "ready s": round(ready, 3),
        "microseconds per move and core": round((result.seconds - ready) * 2e6 / result.moves, 3),
    }


def hands_rows(problem: WallProblem, *, moves: int, seeds: int, threads: tuple[int, ...]) -> list[Row]:
    """What dealing the work out to more threads costs in quality: every search makes the same moves in all.

    By moves and not by clock, so that a machine of two cores shows what one of sixteen would find.
    """
    rows: list[Row] = []
    for many in threads:
        hands, teams = hands_and_teams(many, len(problem.cabins))
        found = [
            make_plan(problem, moves=moves, seed=seed, threads=many).report.objective
            for seed in range(1, seeds + 1)
        ]
        rows.append(
            {
                "problem": problem.name,
                "threads": many,
                "hands a state": hands,
                "states": teams,
                "million moves": round(moves / 1e6),
                "median": round(statistics.median(found), 1),
                "best": round(min(found), 1),
                "worst": round(max(found), 1),
            }
        )
    return rows


def habit_rows(problem: WallProblem, *, moves: int, seeds: int) -> list[Row]:
    """What the trade's habits cost: each weight alone, then all as usual; means over the seeds.

    The objective is judged without them, so that it shows what is given up for them. Courses of the problems
    are cut already, so that what their openings miss is none of the search's doing and is left out.
    """
    habits = {name: getattr(USUAL, name) for name in ("alternate", "late_level", "long")}
    usual = replace(USUAL, opening=0.0)
    none = replace(usual, **dict.fromkeys(habits, 0.0))
    counted = replace(none, **dict.fromkeys(("big_low", *habits), 1.0))
    tried = {"none": none, **{name: replace(none, **{name: value}) for name, value in habits.items()}}
    rows: list[Row] = []
    for way, weights in {**tried, "usual": usual}.items():
        asked = replace(problem, params=replace(problem.params, weights=weights))
        plans = [make_plan(asked, moves=moves, seed=seed).plan for seed in range(1, seeds + 1)]
        found = [judge(problem, plan, weights=counted).terms for plan in plans]
        costs = [judge(problem, plan, weights=none) for plan in plans]
        courses = sum((cabin.rounds - 1) * len(cabin.walls) for cabin in problem.cabins)

        def mean(name: str, found: list[dict[str, float]] = found) -> float:
            return statistics.fmean(terms[name] for terms in found)

        rows.append(
            {
                "problem": problem.name,
                "habits weighed": way,
                "objective without them": round(statistics.fmean(cost.objective for cost in costs), 1),
                "butts not alternating %": round(100 * mean("alternate") / courses, 1),
                "rounds rising, mm in all": round(mean("big_low"), 1),
                "last rounds out of level, mm in all": round(mean("late_level"), 1),
                "long logs lost, m": round(mean("long"), 1),
                "worst plate mm": round(
                    statistics.fmean(cost.metrics["max_plate_out_of_level"] for cost in costs), 1
                ),
            }
        )
    return rows


def proof_row(problem: WallProblem, *, seconds: float = 1.0) -> Row:
    """The search's objective of a two-round cabin beside the optimum proven by branch and bound."""
    found = make_plan(problem, seconds=seconds, seed=1).report.objective
    began = time.monotonic()
    proof = prove_two_rounds(problem, upper=found)
    return {
        "problem": problem.name,
        f"search {seconds:g} s": round(found, 4),
        "proven optimum": round(proof.optimum, 4),
        "pairs of low and high walls": proof.pairs_of_walls,
        "left for linear programs": proof.programs,
        "proof s": round(time.monotonic() - began, 2),
    }


def built_up_to(problem: WallProblem, plan: WallPlan, *, rounds: int, seed: int) -> WallProblem:
    """The problem of one cabin with so many rounds set as planned, their tops as they really came out."""
    errors = MeasuringErrors(diameter_mm=6.0, top_mm=3.0, cut_mm=0.0)  # of docs/planner.md
    rng = np.random.default_rng(seed)
    (house,) = problem.cabins
    tops = judge(problem, plan).heights[house.id].top_mm
    read: dict[str, Rows] = {}
    for wall in house.walls:
        drift = rng.normal(0.0, errors.diameter_mm, (rounds, 2)).cumsum(axis=0)
        drift += rng.normal(0.0, errors.top_mm, (rounds, 2))
        read[wall.id] = tuple(
            (tops[wall.id, r, 0] + float(drift[r - 1, 0]), tops[wall.id, r, 1] + float(drift[r - 1, 1]))
            for r in range(1, rounds + 1)
        )
    built = replace(house, as_built=AsBuilt(round=rounds, tops_mm=read))
    laid = tuple(piece for piece in plan.pieces if piece.member is None and piece.round <= rounds)
    return replace(problem, cabins=(built,), pinned=laid)


def again_rows(
    problem: WallProblem, *, seconds: float, fresh_seconds: float, plan_seconds: float, seeds: int
) -> list[Row]:
    """Planning again after a quarter, half and three quarters of the rounds, against a fresh, longer plan."""
    rows: list[Row] = []
    plan = make_plan(problem, seconds=plan_seconds, seed=1).plan
    total = problem.cabins[0].rounds
    for rounds in (total // 4, total // 2, 3 * total // 4):
        again, fresh = [], []
        for seed in range(1, seeds + 1):
            state = built_up_to(problem, plan, rounds=rounds, seed=seed)
            again.append(make_plan(state, seconds=seconds, seed=seed, start=plan).report.objective)
            fresh.append(make_plan(state, seconds=fresh_seconds, seed=seed).report.objective)
        ratios = [a / f for a, f in zip(again, fresh, strict=True)]
        rows.append(
            {
                "problem": problem.name,
                "rounds set": rounds,
                f"again {seconds:g} s": round(statistics.median(again), 1),
                f"fresh {fresh_seconds:g} s": round(statistics.median(fresh), 1),
                "median ratio": round(statistics.median(ratios), 4),
                "worst ratio": round(max(ratios), 4),
            }
        )
    return rows


def change_rows(problem: WallProblem, *, moves: int, states: int) -> list[Row]:
    """What planning again changes: rounds set as planned, every measured end 5 to 20 mm off, steered.

    Per number of rounds set: median share of the open places that keep log and way round, the objective over
    a fresh search's, both with the same moves and judged without `keep`, and the expected plate errors.
    """
    plain = replace(
        problem, params=replace(problem.params, weights=replace(problem.params.weights, keep=5.0))
    )
    plan = make_plan(plain, moves=moves, seed=1).plan
    rows: list[Row] = []
    for rounds in sorted({problem.cabins[0].rounds // 4, problem.cabins[0].rounds // 2}):
        kept, ratios, errors = [], [], []
        for state in range(states):
            built = off_plan(plain, plan, rounds=rounds, seed=state)
            again = make_plan(built, moves=moves, seed=state + 1).plan
            fresh = make_plan(replace(built, keep=()), moves=moves, seed=state + 1).plan
            judged = [judge(replace(built, keep=()), one).objective for one in (again, fresh)]
            kept.append(judge(built, again).metrics["kept"] / max(1, len(built.keep)))
            ratios.append(judged[0] / judged[1])
            sure = [plate_error(built, one, cabin=built.cabins[0].id).mean_mm for one in (again, fresh)]
            errors.append(sure[0] - sure[1])
        rows.append(
            {
                "problem": problem.name,
                "rounds set": rounds,
                "states": states,
                "moves": moves,
                "places kept %": round(100 * statistics.median(kept), 1),
                "objective over fresh": round(statistics.median(ratios), 4),
                "worst": round(max(ratios), 4),
                "plate error over fresh mm": round(statistics.median(errors), 2),
            }
        )
    return rows


def off_plan(problem: WallProblem, plan: WallPlan, *, rounds: int, seed: int) -> WallProblem:
    """So many rounds set as planned, each measured end 5 to 20 mm off either way; the rest is to be kept."""
    (house,) = problem.cabins
    rng = np.random.default_rng(seed)
    planned = judge(problem, plan).heights[house.id].planned_mm
    meant: dict[str, Rows] = {}
    tops: dict[str, Rows] = {}
    for wall in house.walls:
        meant[wall.id] = tuple((planned[wall.id, r, 0], planned[wall.id, r, 1]) for r in range(1, rounds + 1))
        off = rng.uniform(5.0, 20.0, (rounds, 2)) * rng.choice((-1.0, 1.0), (rounds, 2))
        tops[wall.id] = tuple(
            (planned[wall.id, r, 0] + float(off[r - 1, 0]), planned[wall.id, r, 1] + float(off[r - 1, 1]))
            for r in range(1, rounds + 1)
        )
    built = replace(
        house,
        gap_band_mm=(house.gap_mm - 9.0, house.gap_mm + 25.0),
        as_built=AsBuilt(round=rounds, tops_mm=tops, planned_mm=meant),
    )
    open_pieces = [piece for piece in plan.pieces if piece.member is not None or piece.round > rounds]
    return replace(
        problem,
        cabins=(built,),
        pinned=tuple(piece for piece in plan.pieces if piece not in open_pieces),
        keep=tuple(
            KeptPiece(piece=piece, due_rounds=max(0, piece.round - rounds - 1)) for piece in open_pieces
        ),
    )


def banded(problem: WallProblem) -> WallProblem:
    """The problem of one cabin with the gap's band of the docs, where it says none."""
    (house,) = problem.cabins
    band = house.gap_band_mm or (house.gap_mm - BAND_MM[0], house.gap_mm + BAND_MM[1])
    return replace(problem, cabins=(replace(house, gap_band_mm=band),))


def sure_rows(problem: WallProblem, *, moves: int) -> list[Row]:
    """Worst wall at the plate for paper, careful builder and plan, each as laid to the gap and as steered."""
    problem = banded(problem)
    (house,) = problem.cabins
    plans = {
        "paper": paper_plan(problem),
        "careful builder": careful_plan(problem),
        "plan": make_plan(problem, moves=moves, seed=1).plan,
    }
    return [
        {
            "problem": problem.name,
            "way": way,
            "steered": "yes" if steered else "no",
            **_plate(plate_error(problem, plan, cabin=house.id, steered=steered)),
        }
        for way, plan in plans.items()
        for steered in (False, True)
    ]


def _plate(found: PlateError) -> Row:
    return {
        "mean mm": round(found.mean_mm, 1),
        "90 % mm": round(found.p90_mm, 1),
        "steering mm": round(found.steering_mean_mm, 1),
        "ends outside %": round(100 * found.ends_outside, 1),
        "walls inside %": round(100 * found.walls_inside, 1),
    }


def season_rows(problem: WallProblem, *, moves: int, seasons: int, search_moves: int = 20_000) -> list[Row]:
    """Whole seasons of one plan under several ways of working, each beside the estimate of the same way."""
    problem = banded(problem)
    (house,) = problem.cabins
    plan = make_plan(problem, moves=moves, seed=1).plan

    def search(rest: WallProblem, so_far: WallPlan, seed: int) -> WallPlan:
        return make_plan(rest, moves=search_moves, seed=seed, start=so_far).plan

    rows: list[Row] = []
    for way, crew in SEASON_CREWS.items():
        # A search after every round takes its time: a tenth of the seasons.
        searches = crew.plans_again == "after every round"
        many = max(1, seasons // 10) if searches else seasons
        found = simulate_seasons(problem, plan, crew, seasons=many, seed=0, search=search)
        row: Row = {
            "problem": problem.name,
            "the crew": way,
            "seasons": many,
            "mean mm": round(found.plate.mean_mm, 1),
            "90 % mm": round(found.plate.p90_mm, 1),
            "planned again": round(found.planned_again, 2),
        }
        # No estimate of a way that no rule of the product advises.
        about, over = "–", "–"
        if not searches:
            estimate = plate_error(
                problem,
                plan,
                cabin=house.id,
                errors=crew.errors,
                steered=crew.steers,
                tries=crew.tries,
                readings=crew.readings,
            ).mean_mm
            about, over = f"{estimate:.1f}", f"{estimate / found.plate.mean_mm:.2f}"
        rows.append({**row, "estimate mm": about, "estimate over seasons": over})
    return rows


def growth_svg(rows: list[Row]) -> str:
    """Cost per move over the number of places, as a small drawing; the logs of each yard stand beside it."""
    width, height, left, base = 520, 240, 60, 200
    most = max(float(row["places"]) for row in rows)
    top = max(1.0, *(float(row["microseconds per move and core"]) for row in rows))
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        'font-family="sans-serif" font-size="12">',
        f'<path d="M{left} 20V{base}H{width - 20}" fill="none" stroke="black"/>',
        f'<text x="{left}" y="14">microseconds per move and core</text>',
        f'<text x="{width - 20}" y="{height - 8}" text-anchor="end">places</text>',
        f'<text x="{left - 6}" y="24" text-anchor="end">{top:g}</text>',
        f'<text x="{left - 6}" y="{base}" text-anchor="end">0</text>',
    ]
    for row in rows:
        x = left + (width - left - 60) * float(row["places"]) / most
        y = base - (base - 20) * float(row["microseconds per move and core"]) / top
        drawn.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
        drawn.append(f'<text x="{x:.1f}" y="{y - 8:.1f}">{row["problem"]}, {row["logs"]} logs</text>')
        drawn.append(f'<text x="{x:.1f}" y="{base + 16}" text-anchor="middle">{row["places"]}</text>')
    return "\n".join([*drawn, "</svg>", ""])


def as_table(rows: list[Row]) -> str:
    """The rows as a Markdown table."""
    if not rows:
        return ""
    names = list(rows[0])
    lines = ["| " + " | ".join(names) + " |", "|" + "---|" * len(names)]
    lines += ["| " + " | ".join(str(row[name]) for name in names) + " |" for row in rows]
    return "\n".join(lines)
