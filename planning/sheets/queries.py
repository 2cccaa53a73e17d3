"""Reads that a crew works from: setting sheets and expected heights, from a plan and from what stands."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from cabins.cabins.models import Cabin
from cabins.choices.grain import grain_judge
from cabins.choices.queries import joints_used, values_of
from cabins.core.advice import return_lines
from cabins.core.along_the_wall import is_outside
from cabins.core.grain import GrainVerdict, GrainWeight
from cabins.core.half_logs import rip_line
from cabins.core.layout_parts import Layout
from cabins.core.places import is_half_round, rounds_with_places
from cabins.core.sources import MP579
from cabins.core.stack import PiledTop, Stack
from cabins.core.steering import steer_next_log
from cabins.openings.queries import place_of_row
from cabins.set_logs.fitting import LogStretch, crosses_saw_cut
from cabins.walls.queries import Rows, Standing, is_lost, place_key, stack_of, standing_of
from crews.accounts.models import Crew
from crews.accounts.versioned_rows import one_of
from crews.api.problems import NotFound, Refusal, fault
from inventory.core.basis import Basis
from inventory.core.crew_units import CrewUnits, Sentence
from inventory.logs.models import LogState
from inventory.logs.profiles import profile_of_row
from planning.core.lifts import Rig
from planning.core.lying import Lying, WallLying, leaves_band
from planning.core.printed.cut_list import ACROSS
from planning.core.problem_builder import HazardOnLog
from planning.core.sheets import SettingRow, SheetPiece, ends_of, setting_rows, turned_round
from planning.jobs.sawn_logs import sawn_stretches
from planning.openings.queries import openings_among
from planning.plans.adoption import PlanStale
from planning.plans.lifting import AS_PLANNED, PlanLifts
from planning.plans.models import CurrentPlan, Plan, PlannedPiece
from planning.plans.queries import still_to_come
from planning.walls.planned import OF_LOG, wall_of_plan

LIFTING = (
    "Weights are estimates with the range shown: plan every lift on the top of it. Lift plans are made by "
    "competent people under local rules."
)
STRUCTURE = "Notches, structure and settling are decided by local code and licensed practice."


# On what tops, notches and levels rest, and how sure they are.
_HEIGHTS = {
    "basis": asdict(
        Basis(
            rule="each log is steered to the plan's own top: where the wall stands off its plan, by what the "
            "gap's band brings back in one round; a notch is the crossing log's top less the underside the "
            "log is to have",
            source=f"geometry; {MP579}, for the notch and for steering by it",
            assumption="diameters straight between stations, tops as measured where they are",
        )
    ),
}


def _how_sure(standing: Standing) -> str:
    """What error_mm and top_error_mm of a sheet rest on."""
    return Sentence(
        "error_mm and top_error_mm: one standard deviation, readings and cuts taken as independent; {used}",
        used=standing.errors.words,
    )


class NoPlanYet(Refusal):
    """No plan has been adopted for this cabin."""


Row = Mapping[str, Any]


def _sheet_piece(row: Row) -> SheetPiece:
    return SheetPiece(
        wall=row["wall"],
        round=row["round"],
        piece=row["piece"],
        log=str(row["log"]),
        from_butt_mm=float(row["from_butt_mm"]),
        butt_at=row["butt_at"],
        profile=profile_of_row(row),
        crown_mm=None if row["crown_mm"] is None else float(row["crown_mm"]),
        crown_at_mm=None if row["crown_at_mm"] is None else float(row["crown_at_mm"]),
        crown_side=row["crown_side"],
        hazards=tuple(
            HazardOnLog(
                kind=h["kind"],
                from_butt_mm=float(h["from_butt_mm"]),
                extent_mm=float(h.get("extent_mm") or 0),
            )
            for h in row["hazards"]
        ),
    )


def plan_and_cabin(crew: Crew, plan: UUID, cabin: UUID) -> tuple[Plan, Cabin]:
    """The plan and one of its cabins. Raises NotFound, or PlanStale if the layout was changed since."""
    held = one_of(Plan, crew=crew, id=plan)
    building = one_of(Cabin, crew=crew, id=cabin)
    made_from = held.made_from["cabins"].get(str(cabin))
    if made_from is None:
        raise NotFound
    if made_from["layout_version"] != building.layout_version:
        raise PlanStale(f"The layout of {building.name} was changed since this plan was made.")
    return held, building


def current_plan(cabin: Cabin) -> Plan:
    """The plan the cabin is built by. Raises NoPlanYet, or PlanStale if the layout was changed since."""
    current = CurrentPlan.objects.filter(cabin=cabin).select_related("plan").first()
    if current is None:
        raise NoPlanYet
    if current.plan.made_from["cabins"][str(cabin.id)]["layout_version"] != cabin.layout_version:
        raise PlanStale(f"The layout of {cabin.name} was changed since its plan was adopted.")
    return current.plan


def merged(plan: Plan, cabin: Cabin) -> tuple[Standing, Rows, Stack]:
    """What stands, and the plan's pieces for the open places: rows of both, and the stack they make."""
    standing = standing_of([cabin], planned={cabin.id: wall_of_plan(plan, cabin)})[cabin.id]
    _refuse_if_too_short(standing.coming)
    return standing, standing.coming, stack_of(standing)


def _refuse_if_too_short(coming: Rows) -> None:
    """A log measured again may have turned out too short for the piece planned from it."""
    short = [r for r in coming if r["from_butt_mm"] + r["end_mm"] - r["start_mm"] > r["length_mm"]]
    if short:
        raise PlanStale(
            errors=[
                fault("", f"Log {row['log_number']} was measured again and is too short now.", "log_measured")
                for row in short
            ]
        )


def members_to_come(plan: Plan, cabin: Cabin) -> list[dict[str, Any]]:
    """The plan's pieces for members not made yet, as a cut list takes them: each from 0 to its length."""
    pieces = PlannedPiece.objects.filter(plan=plan, cabin=cabin, wall__isnull=True)
    rows: QuerySet[PlannedPiece, Any] = (
        still_to_come(pieces)
        .order_by("member")
        .values("log", "from_butt_mm", "butt_at", "member", "member_kind", "member_length_mm", **OF_LOG)
    )
    return [{**row, "start_mm": 0, "end_mm": row["member_length_mm"]} for row in rows]


def with_rip_lines(layout: Layout, rows: Iterable[Row]) -> list[Row]:
    """The rows, those of half logs with how they are ripped (`rip`)."""
    return [
        {
            **row,
            "rip": rip_line(
                profile_of_row(row),
                cut_near_butt_mm=float(row["from_butt_mm"]),
                cut_near_tip_mm=float(row["from_butt_mm"] + row["end_mm"] - row["start_mm"]),
                kerf_mm=layout.rip_kerf_mm,
            ),
        }
        if is_half_round(row["round"], layout.round_count)
        else row
        for row in rows
    ]


def lost_logs(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """What LostLogOut describes: the planned pieces (of a wall or a member) whose logs are not to be had."""
    return [
        {
            **{name: row.get(name) for name in ("wall", "round", "piece", "member")},
            "log": row["log"],
            "log_number": row["log_number"],
            "detail": f"Log {row['log_number']} {'is gone' if _is_gone(row) else 'lies in another cabin'}: "
            f"plan again or choose another for {_where(row)}.",
        }
        for row in rows
        if is_lost(row)
    ]


def _is_gone(row: Row) -> bool:
    return bool(row["log_state"] == LogState.GONE)


def _where(row: Row) -> str:
    if row.get("member"):
        return str(row["member"])
    return f"wall {row['wall']}, round {row['round']}"


def setting_sheet(plan: Plan, cabin: Cabin, round_number: int, *, rig: Rig = AS_PLANNED) -> dict[str, Any]:
    """The setting sheet of a round: every log still to be set there, in the order of lifting."""
    standing, coming, stack = merged(plan, cabin)
    layout = standing.layout
    _refuse_no_such_round(layout, round_number)
    rows = {place_key(row): row for row in coming}
    sheet = setting_rows(layout, [_sheet_piece(r) for r in coming], round_number=round_number, stack=stack)
    judge = grain_judge(cabin.crew)
    parts = _RowParts(plan, cabin.crew, rig, standing, coming, stack)

    def told(row: SettingRow) -> dict[str, Any]:
        of_log = rows[row.wall, row.round, row.piece]
        grain = judge.judge(stack, place_of_row(of_log), of_log)
        return _sheet_row(row, of_log, grain, parts)

    return {
        "cabin": cabin.id,
        "cabin_name": cabin.name,
        "plan": plan.id,
        "round": round_number,
        "already_set": sum(1 for row in standing.pieces if row["round"] == round_number),
        "rows": [told(row) for row in sheet],
        "lost": lost_logs(row for row in standing.lost if row["round"] == round_number),
        "levels": _levels(stack, round_number),
        **_HEIGHTS,
        "uncertainty": _how_sure(standing),
        "cautions": [LIFTING, STRUCTURE],
    }


def _refuse_no_such_round(layout: Layout, round_number: int) -> None:
    rounds = rounds_with_places(layout)
    if round_number not in rounds:
        raise NotFound(f"This cabin has rounds {rounds[0]} to {rounds[-1]}.")


def _sheet_row(
    sheet: SettingRow,
    row: Row,
    grain: GrainVerdict,
    parts: "_RowParts",
) -> dict[str, Any]:
    openings = parts.openings
    layout = openings.stack.layout
    rounds_left = layout.round_count - sheet.round
    lying = parts.lying(sheet)
    return asdict(sheet) | {
        "advice": return_lines(sheet.corners, gap=layout.gap, rounds_left=rounds_left, units=openings.units),
        **openings.of_place(place_of_row(row)),
        "log": row["log"],
        "log_number": row["log_number"],
        "yard_name": row["yard_name"],
        "rack_name": row["rack_name"],
        "lift": asdict(parts.lifts.lift(sheet, row)),
        "lying": asdict(lying),
        "grain": asdict(grain),
        "cautions": [*sheet.cautions, *parts.cautions(sheet, row), *_grain_cautions(grain), *lying.cautions],
    }


class _RowParts:
    """What a row of a sheet has beside its cuts: the lift, how the log lies over the course below,
    openings."""

    def __init__(
        self,
        plan: Plan,
        crew: Crew,
        rig: Rig,
        standing: Standing,
        coming: Rows,
        stack: Stack,
    ) -> None:
        self.lifts = PlanLifts(plan, rig)
        self.openings = openings_among(crew, stack, set_pieces=standing.pieces, coming=coming)
        pieces = [_sheet_piece(row) for row in (*standing.pieces, *coming)]
        self._walls = WallLying(standing.layout, pieces, stack)
        self._sawn = sawn_stretches({row["log"] for row in coming})
        is_scribed = standing.layout.gap.is_scribed
        self._overscribe_mm = float(values_of(joints_used(crew, {}))["overscribe_mm"]) if is_scribed else 0.0

    def cautions(self, sheet: SettingRow, row: Row) -> list[str]:
        """What was done to the log, or said of it."""
        part = LogStretch(near_butt_mm=sheet.cut_near_butt_mm, near_tip_mm=sheet.cut_near_tip_mm)
        return [ACROSS] * crosses_saw_cut(part, self._sawn[row["log"]]) + lead_cautions(row)

    def lying(self, sheet: SettingRow) -> Lying:
        key = (sheet.wall, sheet.round, sheet.piece)
        return self._walls.lying(key, overscribe_mm=self._overscribe_mm)


def lead_cautions(row: Row) -> list[str]:
    """What a lead said of the log."""
    return [f"The lead said of it: {one['text']}" for one in row["instructions"]]


def _grain_cautions(grain: GrainVerdict) -> list[str]:
    return [
        f"Spiral grain, {grain.band}{', not here' if rule.weight is GrainWeight.BIND else ''}: {rule.text} "
        f"Source: {rule.source}."
        for rule in grain.objections
    ]


def _levels(stack: Stack, round_number: int) -> list[dict[str, Any]]:
    return [asdict(level) for level in stack.levels if level.round == round_number]


def plan_heights(plan: Plan, cabin: Cabin) -> dict[str, Any]:
    """Expected tops at every crossing after every round, every notch, level and mismatch of a plan."""
    standing, coming, stack = merged(plan, cabin)
    return {
        "cabin": cabin.id,
        "plan": plan.id,
        "rounds": standing.layout.round_count,
        "open_places": len(coming) + len(standing.lost),
        "set_places": len(standing.pieces),
        "tops": [_top_row(top) for top in stack.tops],
        "notches": [asdict(notch) for notch in stack.notches],
        "levels": [asdict(level) for level in stack.levels],
        "mismatches": [asdict(mismatch) for mismatch in stack.mismatches],
        "outside_band": _outside_band(standing, coming, stack),
        **_HEIGHTS,
        "uncertainty": _how_sure(standing),
        "cautions": [STRUCTURE],
    }


def _outside_band(standing: Standing, coming: Rows, stack: Stack) -> list[dict[str, Any]]:
    """The logs still to come whose gap to the course below leaves the layout's band along the wall."""
    walls = WallLying(standing.layout, map(_sheet_piece, (*standing.pieces, *coming)), stack)
    band = standing.layout.gap
    return [
        {
            **{name: row[name] for name in ("wall", "round", "piece", "log", "log_number")},
            **asdict(gap),
            "detail": leaves_band(gap, band),
        }
        for row in coming
        if (gap := walls.gap(place_key(row))) is not None and is_outside(gap, band)
    ]


def _top_row(top: PiledTop) -> dict[str, Any]:
    return {name: value for name, value in asdict(top).items() if name != "seat"}


def next_log(plan: Plan, cabin: Cabin, *, rig: Rig = AS_PLANNED) -> dict[str, Any]:
    """The log to be set next, its sheet and how to steer it; `row` is null when every log is set.

    Lowest round first, low walls before the high ones that lie over them; never a round over a place whose
    log is lost.
    """
    standing, coming, stack = merged(plan, cabin)
    answer = {
        "cabin": cabin.id,
        "plan": plan.id,
        "open_places": len(coming) + len(standing.lost),
        "row": None,
        "steering": None,
        "lost": lost_logs(standing.lost),
    }
    number = min((row["round"] for row in (*coming, *standing.lost)), default=0)
    lowest = [row for row in coming if row["round"] == number]
    if not lowest:
        return answer
    pieces = {place_key(row): _sheet_piece(row) for row in lowest}
    sheet = setting_rows(standing.layout, pieces.values(), round_number=number, stack=stack)[0]
    place = (sheet.wall, sheet.round, sheet.piece)
    row = next(r for r in lowest if place_key(r) == place)
    grain = grain_judge(cabin.crew).judge(stack, place_of_row(row), row)
    parts = _RowParts(plan, cabin.crew, rig, standing, coming, stack)
    return answer | {
        "row": _sheet_row(sheet, row, grain, parts),
        "steering": _steering(stack, pieces[place], parts.openings.units),
    }


def _steering(stack: Stack, piece: SheetPiece, units: CrewUnits) -> dict[str, Any] | None:
    """What each end needs, as the log lies and turned; None for a piece that is notched over no other log."""
    if is_half_round(piece.round, stack.layout.round_count):
        return None
    as_it_lies, turned = ends_of(stack.layout, piece), ends_of(stack.layout, turned_round(piece))
    if not as_it_lies:
        return None
    return asdict(
        steer_next_log(
            stack,
            wall=piece.wall,
            round_number=piece.round,
            diameters_mm=as_it_lies,
            turned_mm=turned,
            units=units,
        )
    )
