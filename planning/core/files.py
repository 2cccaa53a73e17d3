"""Reads and writes the problem file `wall-problem/1` and the plan file `wall-plan/1` (as parsed JSON)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Set
from typing import Any

from planning.core.cabin_files import read_cabin, short, write_cabin
from planning.core.layout_faults import blame_layout
from planning.core.problem import (
    GRAIN_RULES,
    NEWER_WEIGHTS,
    WEIGHT_NAMES,
    GrainBinds,
    KeptPiece,
    Params,
    PlanPiece,
    ProblemHazard,
    ProblemLog,
    Spare,
    WallPlan,
    WallProblem,
    Weights,
)
from planning.core.reading import Reader, UnreadableFile

PROBLEM_FORMAT = "wall-problem/1"
PLAN_FORMAT = "wall-plan/1"

_PARAMS = {
    "station_inset",
    "trim_each_end",
    "kerf",
    "hazard_clear",
    "max_pieces_per_log",
    "split_overlap",
    "crown_limit_sill_plate",
    "crown_limit_other",
    "jamb_tol",
    "weights",
    "notch_good",
    "notch_limit",
}


def read_problem(document: object) -> WallProblem:
    """The problem in a parsed `wall-problem/1` file; raises UnreadableFile naming every fault."""
    root = Reader(document)
    if not root.fields(
        required={"format", "name", "params", "cabins", "logs"},
        optional={"unit", "pinned", "excluded", "keep", "spare"},
    ):
        raise UnreadableFile(root.faults)
    root.choice("format", (PROBLEM_FORMAT,))
    if "unit" in root.value:
        root.choice("unit", ("mm",))
    params = _read_params(root.child("params"))
    cabins = tuple(read_cabin(spot) for spot in root.items("cabins"))
    logs = tuple(_read_log(spot) for spot in root.items("logs"))
    pinned = tuple(_read_piece(spot) for spot in root.items("pinned"))
    excluded = frozenset(spot.value for spot in root.items("excluded") if isinstance(spot.value, str))
    keep = tuple(_read_kept(spot) for spot in root.items("keep"))
    spare = tuple(_read_spare(spot) for spot in root.items("spare"))
    if not cabins:
        root.blame("must name at least one cabin", "cabins")
    _blame_twins(root, "cabins", [cabin.id for cabin in cabins])
    _blame_twins(root, "logs", [log.id for log in logs])
    if root.faults:
        raise UnreadableFile(root.faults)
    problem = WallProblem(
        name=root.text("name"),
        params=params,
        cabins=cabins,
        logs=logs,
        pinned=pinned,
        excluded=excluded,
        keep=keep,
        spare=spare,
    )
    root.faults.extend(blame_layout(problem))
    if root.faults:
        raise UnreadableFile(root.faults)
    return problem


def read_plan(document: object) -> WallPlan:
    """The plan in a parsed `wall-plan/1` file; raises UnreadableFile naming every fault."""
    root = Reader(document)
    if not root.fields(required={"format", "problem", "pieces"}):
        raise UnreadableFile(root.faults)
    root.choice("format", (PLAN_FORMAT,))
    plan = WallPlan(
        problem=root.text("problem"), pieces=tuple(_read_piece(spot) for spot in root.items("pieces"))
    )
    if root.faults:
        raise UnreadableFile(root.faults)
    return plan


def write_plan(plan: WallPlan) -> dict[str, Any]:
    """The plan as `wall-plan/1`."""
    return {"format": PLAN_FORMAT, "problem": plan.problem, "pieces": [write_piece(p) for p in plan.pieces]}


def write_piece(piece: PlanPiece) -> dict[str, Any]:
    """One piece as it stands in a plan file."""
    where: dict[str, Any] = (
        {"cabin": piece.cabin, "member": piece.member}
        if piece.member is not None
        else {"cabin": piece.cabin, "wall": piece.wall, "round": piece.round, "piece": piece.piece}
    )
    return where | {"log": piece.log, "from_butt": short(piece.from_butt_mm), "butt_at": piece.butt_at}


def write_problem(problem: WallProblem) -> dict[str, Any]:
    """The problem as `wall-problem/1`; optional parts are left out where they say nothing."""
    document: dict[str, Any] = {
        "format": PROBLEM_FORMAT,
        "name": problem.name,
        "unit": "mm",
        "params": _write_params(problem.params),
        "cabins": [write_cabin(cabin) for cabin in problem.cabins],
        "logs": [_write_log(log) for log in problem.logs],
    }
    if problem.pinned:
        document["pinned"] = [write_piece(piece) for piece in problem.pinned]
    if problem.excluded:
        document["excluded"] = sorted(problem.excluded)
    if problem.keep:
        document["keep"] = [
            write_piece(kept.piece) | {"due": kept.due_rounds, "prepared": kept.prepared}
            for kept in problem.keep
        ]
    if problem.spare:
        document["spare"] = [{"length": short(s.length_mm), "count": s.count} for s in problem.spare]
    return document


def _blame_twins(root: Reader, key: str, ids: list[str]) -> None:
    for twin, count in Counter(ids).items():
        if count > 1:
            root.blame(f"{twin} stands {count} times", key)


def _read_params(spot: Reader) -> Params:
    spot.fields(required=_PARAMS, optional={"cull_longest", "grain_binds"})
    if not isinstance(spot.value, dict) or _PARAMS - spot.value.keys():
        raise UnreadableFile(spot.faults)
    good = spot.pair("notch_good", least=0.0)
    limit = spot.pair("notch_limit", least=0.0)
    if not limit[0] <= good[0] <= good[1] <= limit[1]:
        spot.blame("must lie within notch_limit", "notch_good")
    return Params(
        station_inset_mm=spot.number("station_inset", least=0.0),
        trim_each_end_mm=spot.number("trim_each_end", least=0.0),
        kerf_mm=spot.number("kerf", least=0.0),
        hazard_clear_mm=spot.number("hazard_clear", least=0.0),
        max_pieces_per_log=spot.whole("max_pieces_per_log", least=1, most=8),
        split_overlap=spot.number("split_overlap", least=0.0),
        crown_limit_sill_plate_mm=spot.number("crown_limit_sill_plate", least=0.0),
        crown_limit_other_mm=spot.number("crown_limit_other", least=0.0),
        jamb_tol_mm=spot.number("jamb_tol", least=0.0),
        notch_good=good,
        notch_limit=limit,
        weights=read_weights(spot.child("weights")),
        cull_longest_mm=spot.number("cull_longest", least=0.0) if "cull_longest" in spot.value else None,
        grain_binds=_read_grain(spot.child("grain_binds")) if "grain_binds" in spot.value else None,
    )


def _read_grain(spot: Reader) -> GrainBinds:
    if not spot.fields(required={"rules"}, optional={"straight_run", "moderate_run"}):
        return GrainBinds(rules=())
    rules = tuple(rule.value for rule in spot.items("rules"))
    for n, rule in enumerate(rules):
        if rule not in GRAIN_RULES:
            spot.blame(f"must be one of {', '.join(GRAIN_RULES)}", f"rules/{n}")
    straight = spot.number("straight_run", least=1.0) if "straight_run" in spot.value else 30.0
    moderate = spot.number("moderate_run", least=1.0) if "moderate_run" in spot.value else 20.0
    if moderate > straight:
        spot.blame("must not be longer than straight_run", "moderate_run")
    return GrainBinds(rules=rules, straight_run=straight, moderate_run=moderate)


def read_weights(spot: Reader) -> Weights:
    """The weights of the objective's terms; the newer ones may be left out (0)."""
    if not spot.fields(required=set(WEIGHT_NAMES) - NEWER_WEIGHTS, optional=NEWER_WEIGHTS):
        raise UnreadableFile(spot.faults)
    return Weights(**{name: spot.number(name, least=0.0) for name in WEIGHT_NAMES if name in spot.value})


def _read_log(spot: Reader) -> ProblemLog:
    if not spot.fields(
        required={"id", "length", "butt", "middle", "tip"},
        optional={
            "crown",
            "hazards",
            "grain",
            "culled",
            "stations",
            "yard",
            "twist",
            "part_of",
            "part_from",
            "sawn",
        },
    ):
        raise UnreadableFile(spot.faults)
    found: Mapping[str, object] = spot.value
    length = spot.number("length", above=0.0)
    return ProblemLog(
        id=spot.text("id"),
        length_mm=length,
        butt_mm=spot.number("butt", above=0.0),
        middle_mm=spot.number("middle", above=0.0),
        tip_mm=spot.number("tip", above=0.0),
        crown_mm=spot.number("crown", least=0.0) if "crown" in found else 0.0,
        hazards=tuple(_read_hazard(hazard) for hazard in spot.items("hazards")),
        grain=spot.choice("grain", ("straight", "left", "right")) if "grain" in found else "straight",
        twist=spot.number("twist", least=0.0) if found.get("twist") is not None else None,
        culled=spot.truth("culled"),
        stations=tuple(_read_station(station, length) for station in spot.items("stations")),
        yard=spot.text("yard") if found.get("yard") is not None else None,
        part_of=spot.text("part_of") if found.get("part_of") is not None else None,
        part_from_mm=spot.number("part_from") if "part_from" in found else 0.0,
        is_sawn=spot.truth("sawn"),
    )


def _read_station(spot: Reader, length: float) -> tuple[float, float]:
    if not isinstance(spot.value, list) or len(spot.value) != 2:
        spot.blame("must be [from_butt, diameter]")
        return (0.0, 1.0)
    return (spot.number(0, least=0.0, most=length), spot.number(1, above=0.0))


def _read_hazard(spot: Reader) -> ProblemHazard:
    if not spot.fields(required={"from_butt", "kind"}):
        raise UnreadableFile(spot.faults)
    return ProblemHazard(from_butt_mm=spot.number("from_butt"), kind=spot.choice("kind", ("metal", "knot")))


def _read_kept(spot: Reader) -> KeptPiece:
    return KeptPiece(
        piece=_read_piece(spot, optional={"due", "prepared"}),
        due_rounds=spot.whole("due", least=0) if "due" in spot.value else 0,
        prepared=spot.truth("prepared"),
    )


def _read_spare(spot: Reader) -> Spare:
    if not spot.fields(required={"length", "count"}):
        raise UnreadableFile(spot.faults)
    return Spare(length_mm=spot.number("length", above=0.0), count=spot.whole("count", least=1))


def _read_piece(spot: Reader, *, optional: Set[str] = frozenset()) -> PlanPiece:
    required = {"cabin", "log", "from_butt", "butt_at"}
    if isinstance(spot.value, dict) and "member" in spot.value:
        required |= {"member"}
    else:
        required |= {"wall", "round", "piece"}
    if not spot.fields(required=required, optional=optional):
        raise UnreadableFile(spot.faults)
    member = "member" in spot.value
    return PlanPiece(
        cabin=spot.text("cabin"),
        wall="" if member else spot.text("wall"),
        round=0 if member else spot.whole("round", least=0),
        piece=0 if member else spot.whole("piece", least=0),
        member=spot.text("member") if member else None,
        log=spot.text("log"),
        from_butt_mm=spot.number("from_butt"),
        butt_at=spot.choice("butt_at", ("start", "end")),
    )


def _write_params(params: Params) -> dict[str, Any]:
    written: dict[str, Any] = {
        "station_inset": short(params.station_inset_mm),
        "trim_each_end": short(params.trim_each_end_mm),
        "kerf": short(params.kerf_mm),
        "hazard_clear": short(params.hazard_clear_mm),
        "max_pieces_per_log": params.max_pieces_per_log,
        "split_overlap": params.split_overlap,
        "crown_limit_sill_plate": short(params.crown_limit_sill_plate_mm),
        "crown_limit_other": short(params.crown_limit_other_mm),
        "jamb_tol": short(params.jamb_tol_mm),
        "weights": {name: getattr(params.weights, name) for name in WEIGHT_NAMES},
        "notch_good": list(params.notch_good),
        "notch_limit": list(params.notch_limit),
    }
    if params.cull_longest_mm is not None:
        written["cull_longest"] = short(params.cull_longest_mm)
    if (binds := params.grain_binds) is not None:
        written["grain_binds"] = {
            "rules": list(binds.rules),
            "straight_run": short(binds.straight_run),
            "moderate_run": short(binds.moderate_run),
        }
    return written


def _write_log(log: ProblemLog) -> dict[str, Any]:
    written: dict[str, Any] = {
        "id": log.id,
        "length": short(log.length_mm),
        "butt": short(log.butt_mm),
        "middle": short(log.middle_mm),
        "tip": short(log.tip_mm),
        "crown": short(log.crown_mm),
        "hazards": [{"from_butt": short(h.from_butt_mm), "kind": h.kind} for h in log.hazards],
        "grain": log.grain,
        "culled": log.culled,
    }
    if log.twist is not None:
        written["twist"] = log.twist
    if log.stations:
        written["stations"] = [list(station) for station in log.stations]
    if log.yard is not None:
        written["yard"] = log.yard
    if log.part_of is not None:
        written |= {"part_of": log.part_of, "part_from": short(log.part_from_mm)}
    if log.is_sawn:
        written["sawn"] = True
    return written
