"""Reads what a plan is made from: layouts, what is built, and the logs that may be used."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Q

from cabins.cabins.models import Cabin
from cabins.choices.queries import cut_limits
from cabins.core.courses import cut_courses
from cabins.core.layout_parts import Courses, Layout
from cabins.core.places import Spot, columns_of, is_half_round
from cabins.core.stack import PiledTop, Stack
from cabins.openings.queries import diameter_along, expected_of, set_courses_of, spaces_of
from cabins.roof_members.models import RoofMember
from cabins.roof_members.queries import members_installed_in
from cabins.set_logs.models import SetLog
from cabins.walls.queries import Standing, columns_set, set_pieces_of, stack_of, standing_of
from crews.accounts.models import Crew
from inventory.logs.models import Log, LogState
from inventory.logs.profiles import profile_of_log
from planning.core.changes import standing_pieces
from planning.core.halves import half_log_places, halves_pinned, pair_half_logs
from planning.core.lead_words import LeadWord, heed_lead
from planning.core.places import half_key
from planning.core.problem import PlanPiece, WallProblem
from planning.core.problem_builder import CabinToPlan, HazardOnLog, LogToPlan, build_problem
from planning.core.sawing import saw_up
from planning.core.takeoff.take_off import spare_to_leave
from planning.core.what_if import Place as PlaceKey
from planning.core.what_if import place_lengths_mm
from planning.instructions.actions import kinds_of_members, words_of_lead
from planning.jobs.models import PlanningJob
from planning.jobs.presets import params_of
from planning.jobs.sawn_logs import PreparedLogs, prepared_logs, priced
from planning.plans.in_force import kept_pieces, planned_tops_of
from planning.plans.models import CurrentPlan
from planning.reservations.models import Reservation
from planning.takeoffs.queries import cabins_to_build

FREE = [LogState.IN_RACK, LogState.PUT_ASIDE]


def logs_for(crew: Crew, *, cabins: Iterable[UUID], yards: Iterable[UUID]) -> list[Log]:
    """The logs a plan for these cabins may use: free ones, those reserved for them, those used in them.

    A log cut up for another cabin is left out: what is left of it belongs to that cabin's plan.
    """
    reserved = Reservation.objects.filter(log=OuterRef("pk"), ended_at=None, cabin__in=cabins)
    here = SetLog.objects.filter(log=OuterRef("pk"), undone_at=None, cabin__in=cabins)
    given = RoofMember.objects.filter(log=OuterRef("pk"), undone_at=None, cabin__in=cabins)
    return list(
        Log.objects.of(crew)
        .filter(
            Q(yard__in=yards, state__in=FREE)
            | Q(Exists(reserved), ~Q(state=LogState.GONE), yard__in=yards)
            | Q(Exists(here) | Exists(given), state__in=[LogState.SET, LogState.CUT_UP])
        )
        .order_by("yard", "number", "id")
    )


def draw_up(job: PlanningJob) -> tuple[WallProblem, dict[str, Any]]:
    """The job's problem, and from which versions of layouts, walls and measures it was made.

    Everything is read from one snapshot, so that a log set meanwhile is either in all of it or in none.
    """
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cabins = list(Cabin.objects.of(job.crew).filter(id__in=job.cabins).order_by("id"))
        logs = logs_for(job.crew, cabins=[c.id for c in cabins], yards=[UUID(y) for y in job.yards])
        to_plan = [_cabin_to_plan(cabin, logs, job.pinned) for cabin in cabins]
        pieces = [
            piece
            for cabin, drawn in zip(cabins, to_plan, strict=True)
            for piece in halves_pinned(drawn.pairs, _pieces_built(cabin))
        ]
        taken = {piece.place for piece in pieces}
        pieces += [piece for piece in map(_pinned, job.pinned) if piece.place not in taken]
        problem = _with_what_stands(
            build_problem(
                name=f"job {job.id}",
                cabins=to_plan,
                logs=[_log_to_plan(log) for log in logs],
                pinned=pieces,
                excluded=(set(job.excluded) & {str(log.id) for log in logs}) - {p.log for p in pieces},
                keep=kept_pieces(cabins),
                spare=spare_to_leave(cabins_to_build(cabins), rounds=job.spare_rounds),
                params=params_of(job.preset, job.weights, cut_limits(job.crew)),
            ),
            prepared_logs(log.id for log in logs),
            words=words_of_lead(logs),
            members=kinds_of_members(cabins),
            scope=job.scope,
        )
    return problem, {
        "cabins": {
            str(c.id): {"layout_version": c.layout_version, "built_version": c.built_version} for c in cabins
        },
        "logs": {str(log.id): log.measures_version for log in logs},
    }


def _with_what_stands(
    problem: WallProblem,
    prepared: PreparedLogs,
    *,
    words: Sequence[LeadWord],
    members: Mapping[PlaceKey, str],
    scope: Sequence[Mapping[str, Any]],
) -> WallProblem:
    """The problem with what a lead said, what is not planned anew, and what is sawn or prepared."""
    in_force = [kept.piece for kept in problem.keep]
    problem = heed_lead(problem, words, members=members, in_force=in_force)
    if scope:
        stands = standing_pieces(problem, in_force).values()
        pinned = {piece.place for piece in problem.pinned}
        held = [p for p in stands if p.place not in pinned and not _is_planned_anew(p, scope)]
        problem = replace(problem, pinned=(*problem.pinned, *held))
    return _with_sawn_logs(problem, prepared)


def _is_planned_anew(piece: PlanPiece, scope: Sequence[Mapping[str, Any]]) -> bool:
    for part in scope:
        if part["cabin"] != piece.cabin:
            continue
        is_whole = not part["walls"] and not part["rounds"]
        in_walls = not part["walls"] or piece.wall in part["walls"]
        in_rounds = not part["rounds"] or piece.round in part["rounds"]
        if is_whole or (piece.member is None and in_walls and in_rounds):
            return True
    return False


def _with_sawn_logs(problem: WallProblem, prepared: PreparedLogs) -> WallProblem:
    """The problem with what is sawn as pieces of their own, and what is prepared dearer to leave."""
    lengths = place_lengths_mm(problem)
    keep, held = priced(problem.keep, prepared, lengths)
    # A half log is held by both its halves or not at all: what is set says which.
    fixed = {piece.place for piece in problem.pinned} | {
        half_key(cabin, half)
        for cabin in problem.cabins
        for entry in cabin.half_places
        for half in entry.halves
    }
    usable = {log.id for log in problem.logs} - problem.excluded
    held = [piece for piece in held if piece.place not in fixed and piece.log in usable]
    problem = replace(problem, keep=tuple(keep), pinned=(*problem.pinned, *held))
    return saw_up(problem, prepared.sawn(lengths))


def _cabin_to_plan(cabin: Cabin, logs: Iterable[Log], pinned: Iterable[Mapping[str, Any]]) -> CabinToPlan:
    standing = standing_of([cabin])[cabin.id]
    stack, spaces = stack_of(standing), spaces_of(cabin.crew, standing.layout)
    middles = [float(log.middle_mm) for log in logs if not log.culled]
    kept = {(row["wall"], row["round"]) for row in pinned if row["cabin"] == str(cabin.id)}
    layout = replace(
        standing.layout,
        courses=_courses_to_plan(cabin, standing, stack, spaces_mm=spaces, middles_mm=middles, kept=kept),
    )
    halves = [
        _piece(cabin, row) for row in standing.pieces if is_half_round(row["round"], layout.round_count)
    ]
    return CabinToPlan(
        id=str(cabin.id),
        layout=layout,
        spaces_mm=spaces,
        tops_mm=tops_known(stack, standing),
        starts_mm=_starts_of(stack, _on_half_logs(layout, halves)),
        pairs=pair_half_logs(layout, halves),
        planned_tops_mm=planned_tops_of(cabin),
    )


def _has_plan(cabin: Cabin) -> bool:
    """Whether a plan of this very layout was adopted: its courses are cut by a plan's heights already."""
    current = CurrentPlan.objects.filter(cabin=cabin).values_list("plan__made_from", flat=True).first()
    was = None if current is None else current["cabins"].get(str(cabin.id))
    return was is not None and was["layout_version"] == cabin.layout_version


def _courses_to_plan(
    cabin: Cabin,
    standing: Standing,
    stack: Stack,
    *,
    spaces_mm: dict[str, float],
    middles_mm: list[float],
    kept: set[tuple[str, int]],
) -> Courses:
    """The courses as the planner begins with them: by the plan in force and what stands (`stack`), without a
    plan by the logs at hand. Courses with set logs, and those `kept`, stay as they are."""
    rows = [*standing.pieces, *standing.coming]
    if not _has_plan(cabin):
        stack, rows = expected_of(standing.layout, standing, middles_mm=middles_mm), [*standing.pieces]
    return cut_courses(
        stack,
        spaces_mm=spaces_mm,
        present=standing.layout.courses,
        set_courses=set_courses_of(standing) | kept,
        diameter_at=diameter_along(rows),
    )


def _on_half_logs(layout: Layout, halves: Iterable[PlanPiece]) -> set[str]:
    """The walls that start on half logs all of which lie already."""
    laid = {(half.wall, half.piece) for half in halves}
    wanted = [place for place in half_log_places(layout) if place.round == 0]
    missing = {place.wall for place in wanted if (place.wall, place.piece) not in laid}
    return {place.wall for place in wanted} - missing


def _starts_of(stack: Stack, with_half_logs: set[str]) -> dict[str, tuple[float, ...]]:
    """What walls start on, of those where that was measured or a half log lies: no plan changes it."""
    starts = [top for top in stack.tops if top.round == 0]
    known = with_half_logs | {top.wall for top in starts if top.is_measured}
    columns = columns_of(stack.layout)
    return {
        wall: tuple(stack.heights_mm[wall, 0, column.column] for column in columns[wall]) for wall in known
    }


def tops_known(stack: Stack, standing: Standing) -> dict[Spot, float]:
    """The tops that are known of what lies: those measured, and tees on the line between measured ones."""
    lying = columns_set(standing.layout, standing.pieces)
    measured = {(top.wall, top.round) for top in stack.tops if top.is_measured}
    ends = {
        (wall, column.column)
        for wall, row in columns_of(standing.layout).items()
        for column in (row[0], row[-1])
    }

    def is_known(top: PiledTop) -> bool:
        spot = (top.wall, top.round, top.column)
        follows = (top.wall, top.round) in measured and (top.wall, top.column) not in ends and spot in lying
        return top.round > 0 and (top.is_measured or follows)

    return {(top.wall, top.round, top.column): top.top_mm for top in stack.tops if is_known(top)}


def _pieces_built(cabin: Cabin) -> list[PlanPiece]:
    """What is set in the cabin's walls and given to its members: it stays as it is."""
    given = [
        PlanPiece(
            cabin=str(cabin.id),
            member=row.member,
            log=str(row.log_id),
            from_butt_mm=float(row.from_butt_mm),
        )
        for row in members_installed_in([cabin])
    ]
    return given + [_piece(cabin, row) for row in set_pieces_of(cabin)]


def _piece(cabin: Cabin, row: Mapping[str, Any]) -> PlanPiece:
    return PlanPiece(
        cabin=str(cabin.id),
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        log=str(row["log"]),
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=row["butt_at"],
    )


def _pinned(row: dict[str, Any]) -> PlanPiece:
    if row.get("member") is not None:
        return PlanPiece(
            cabin=row["cabin"],
            member=row["member"],
            log=row["log"],
            from_butt_mm=float(row["from_butt_mm"]),
            butt_at=row["butt_at"],
        )
    return PlanPiece(
        cabin=row["cabin"],
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        log=row["log"],
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=row["butt_at"],
    )


def _log_to_plan(log: Log) -> LogToPlan:
    return LogToPlan(
        id=str(log.id),
        profile=profile_of_log(log),
        crown_mm=None if log.crown_mm is None else float(log.crown_mm),
        hazards=tuple(
            HazardOnLog(
                kind=hazard["kind"],
                from_butt_mm=float(hazard["from_butt_mm"]),
                extent_mm=float(hazard.get("extent_mm") or 0),
            )
            for hazard in log.hazards
        ),
        grain=log.grain_hand,
        twist=float(1 / log.grain_slope) if log.grain_slope else None,
        culled=log.culled,
        yard=str(log.yard_id),
    )
