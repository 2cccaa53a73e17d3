"""Draws up a problem for the planner from layouts, charted logs and what is built already."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from cabins.core.cutting import USUAL_CUTS
from cabins.core.layout_parts import Layout, Start
from cabins.core.notching import NOTCH_GOOD, NOTCH_LIMIT
from cabins.core.places import Spot, columns_of, counted_columns, crossings_of
from inventory.core.profile import STATION_INSET_MM, LogProfile, diameter_mm_at
from planning.core.halves import HalfPair, half_places
from planning.core.problem import (
    AsBuilt,
    KeptPiece,
    Params,
    PlanPiece,
    ProblemCabin,
    ProblemHazard,
    ProblemLog,
    ProblemMember,
    ProblemOpening,
    ProblemSillFlat,
    ProblemTee,
    ProblemWall,
    Spare,
    WallProblem,
)
from planning.core.usual_log import BowAndGrain, UsualLog, usual_log
from planning.core.weights import USUAL

USUAL_PARAMS = Params(
    station_inset_mm=STATION_INSET_MM,
    trim_each_end_mm=USUAL_CUTS.trim_each_end_mm,
    kerf_mm=USUAL_CUTS.kerf_mm,
    hazard_clear_mm=USUAL_CUTS.hazard_clear_mm,
    max_pieces_per_log=USUAL_CUTS.most_pieces,
    split_overlap=0.25,
    crown_limit_sill_plate_mm=12,
    crown_limit_other_mm=25,
    jamb_tol_mm=10,
    notch_good=NOTCH_GOOD,
    notch_limit=NOTCH_LIMIT,
    weights=USUAL,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CabinToPlan:
    """A cabin as laid out; `tops_mm[wall, round, column]` are the tops that are known of what lies already.

    `starts_mm[wall]`: what a wall starts on at each of its columns, where that is known and not to be
    reckoned from the logs of the plan. `pairs`: which half logs are ripped from one part of a log.
    `planned_tops_mm[wall]`: the tops that the plan in force has, per round from 0: start, end, tees.
    """

    id: str
    layout: Layout
    # Settling space by opening; with it courses are cut by the plan's own heights.
    spaces_mm: Mapping[str, float] = field(default_factory=dict)
    tops_mm: Mapping[Spot, float] = field(default_factory=dict)
    starts_mm: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    pairs: tuple[HalfPair, ...] = ()
    planned_tops_mm: Mapping[str, Sequence[Sequence[float]]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardOnLog:
    """A hazard and how far along the log it reaches from `from_butt_mm` towards the tip."""

    kind: str
    from_butt_mm: float
    extent_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LogToPlan:
    """A charted log that the plan may use. `twist` is the slope of the spiral grain (0.05 is 1:20).

    A crown or grain of None: nobody looked at it; the planner takes it for the usual one of these logs.
    """

    id: str
    profile: LogProfile
    crown_mm: float | None = 0.0
    hazards: tuple[HazardOnLog, ...] = ()
    grain: str | None = "straight"
    twist: float | None = None
    culled: bool = False
    yard: str | None = None


def build_problem(
    *,
    name: str,
    cabins: Iterable[CabinToPlan],
    logs: Iterable[LogToPlan],
    pinned: Iterable[PlanPiece] = (),
    excluded: Iterable[str] = (),
    keep: Iterable[KeptPiece] = (),
    spare: Iterable[Spare] = (),
    params: Params = USUAL_PARAMS,
) -> WallProblem:
    """The problem as the planner takes it and as the file `wall-problem/1` holds it."""
    charted = list(logs)
    usual = usual_log(
        BowAndGrain(length_mm=log.profile.length_mm, crown_mm=log.crown_mm, grain=log.grain, twist=log.twist)
        for log in charted
    )
    return WallProblem(
        name=name,
        params=params,
        cabins=tuple(_cabin(cabin) for cabin in cabins),
        logs=tuple(_log(log, params, usual) for log in charted),
        pinned=tuple(pinned),
        excluded=frozenset(excluded),
        keep=tuple(keep),
        spare=tuple(spare),
    )


def _cabin(cabin: CabinToPlan) -> ProblemCabin:
    layout = cabin.layout
    numbers = {crossing.id: number for number, crossing in enumerate(crossings_of(layout))}
    counted = counted_columns(layout)
    return ProblemCabin(
        id=cabin.id,
        rounds=layout.round_count,
        gap_mm=layout.gap.target_mm,
        pitch_mm=layout.pitch_mm,
        walls=tuple(
            ProblemWall(
                id=wall.id,
                length_mm=wall.length_mm,
                overhangs_mm=wall.overhangs_mm,
                start=wall.start.value,
                corners=(numbers[counted[wall.id][0].crossing], numbers[counted[wall.id][1].crossing]),
            )
            for wall in layout.log_walls
        ),
        openings=tuple(
            ProblemOpening(
                wall=o.wall,
                offset_mm=o.offset_mm,
                width_mm=o.width_mm,
                sill_mm=o.sill_mm,
                head_mm=o.head_mm,
                kind=o.kind.value,
                space_mm=cabin.spaces_mm.get(o.id, 0.0),
                threshold=o.threshold.value,
                flatten_mm=o.flatten_mm,
            )
            for o in layout.openings
        ),
        courses_mm=_courses(layout),
        cut_share=layout.cut_share,
        tees=_tees(layout, numbers),
        members=tuple(
            ProblemMember(
                id=member.id,
                length_mm=member.length_mm,
                least_middle_mm=member.least_middle_mm,
                crown_limit_mm=member.crown_limit_mm,
            )
            for member in layout.single_members
        ),
        as_built=as_built_of(cabin),
        gap_band_mm=(layout.gap.smallest_mm, layout.gap.largest_mm),
        start_heights_mm=_starts(cabin),
        sill_flat=_sill_flat(layout),
        half_places=half_places(layout, cabin.pairs),
    )


def _tees(layout: Layout, numbers: Mapping[str, int]) -> tuple[ProblemTee, ...]:
    """What crosses walls between their ends: tees, and corners that a wall runs on past."""
    tees = [
        ProblemTee(corner=numbers[column.crossing], wall=wall, at_mm=column.at_mm)
        for wall, columns in counted_columns(layout).items()
        for column in columns[2:]
    ]
    return tuple(sorted(tees, key=lambda tee: tee.corner))


def _sill_flat(layout: Layout) -> ProblemSillFlat | None:
    flat = layout.sill_flat
    if flat is None:
        return None
    return ProblemSillFlat(depth_mm=flat.depth_mm, width_mm=flat.width_mm, sealer_mm=layout.sealer_mm)


def _starts(cabin: CabinToPlan) -> dict[str, tuple[float, ...]]:
    """What walls start on, where that is said outright, as the problem counts columns."""
    layout = cabin.layout
    said = dict(cabin.starts_mm)
    if layout.deck_raise_mm is not None:
        high = [wall.id for wall in layout.log_walls if wall.start is Start.HIGH]
        said = {wall: (layout.deck_raise_mm,) * len(columns_of(layout)[wall]) for wall in high} | said
    return {
        wall: tuple(heights[column.column] for column in counted_columns(layout)[wall])
        for wall, heights in said.items()
    }


def _courses(layout: Layout) -> dict[str, tuple[tuple[tuple[float, float], ...], ...]]:
    return {
        wall.id: tuple(layout.courses[wall.id, number] for number in range(1, layout.round_count + 1))
        for wall in layout.log_walls
    }


def as_built_of(cabin: CabinToPlan) -> AsBuilt:
    """The tops that are known of a cabin, as its problem holds them."""
    tops = cabin.tops_mm
    reached = max((round_number for _, round_number, _ in tops), default=0)
    if not reached:
        return AsBuilt(round=0, tops_mm={})
    counted = counted_columns(cabin.layout)
    return AsBuilt(
        round=reached,
        tops_mm={
            wall: tuple(
                tuple(tops.get((wall, number, column.column)) for column in row)
                for number in range(1, reached + 1)
            )
            for wall, row in counted.items()
        },
        planned_mm={
            wall: tuple(tuple(row) for row in rows[1 : reached + 1])
            for wall, rows in cabin.planned_tops_mm.items()
            if wall in counted and len(rows) > reached
        },
    )


def _log(log: LogToPlan, params: Params, usual: UsualLog) -> ProblemLog:
    """The log with its three diameters where the problem takes them, and every other station beside."""
    inset, length = params.station_inset_mm, log.profile.length_mm
    ends = (inset, length / 2, length - inset)
    butt, middle, tip = (diameter_mm_at(log.profile, at) for at in ends)
    further = tuple(s for s in log.profile.stations if all(abs(s[0] - at) >= 1 for at in ends))
    return ProblemLog(
        id=log.id,
        length_mm=length,
        butt_mm=butt,
        middle_mm=middle,
        tip_mm=tip,
        crown_mm=usual.crown_mm(length) if log.crown_mm is None else log.crown_mm,
        hazards=tuple(spot for hazard in log.hazards for spot in _spots(hazard, params.hazard_clear_mm)),
        grain=_grain(log, usual),
        twist=usual.twist if log.grain is None else log.twist,
        culled=log.culled,
        stations=further,
        yard=log.yard,
    )


def _grain(log: LogToPlan, usual: UsualLog) -> Literal["straight", "left", "right"]:
    if log.grain is None:
        return usual.grain
    return "left" if log.grain == "left" else "right" if log.grain == "right" else "straight"


def _spots(hazard: HazardOnLog, clear_mm: float) -> list[ProblemHazard]:
    """A hazard as points so near to each other that no notch fits between them.

    Metal is metal; whatever else weakens the wood (knot, rot, shake) is kept clear of notches like a knot.
    """
    steps = max(1, int(hazard.extent_mm // max(clear_mm, 1.0)) + 1) if hazard.extent_mm > 0 else 0
    shift = hazard.extent_mm / steps if steps else 0.0
    return [
        ProblemHazard(
            from_butt_mm=hazard.from_butt_mm + shift * step,
            kind="metal" if hazard.kind == "metal" else "knot",
        )
        for step in range(steps + 1)
    ]
