"""Reads and writes the problem file `wall-problem/1` and the plan file `wall-plan/1` (as parsed JSON)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from planning.core.layout_faults import blame_layout
from planning.core.problem import (
    WEIGHT_NAMES,
    AsBuilt,
    Cabin,
    Hazard,
    Log,
    Member,
    Opening,
    Params,
    Piece,
    Plan,
    Problem,
    Tee,
    Wall,
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


def read_problem(document: object) -> Problem:
    """The problem in a parsed `wall-problem/1` file; raises UnreadableFile naming every fault."""
    root = Reader(document)
    if not root.fields(
        required={"format", "name", "params", "cabins", "logs"}, optional={"unit", "pinned", "excluded"}
    ):
        raise UnreadableFile(root.faults)
    root.choice("format", (PROBLEM_FORMAT,))
    if "unit" in root.value:
        root.choice("unit", ("mm",))
    params = _read_params(root.child("params"))
    cabins = tuple(_read_cabin(spot) for spot in root.items("cabins"))
    logs = tuple(_read_log(spot) for spot in root.items("logs"))
    pinned = tuple(_read_piece(spot) for spot in root.items("pinned"))
    excluded = frozenset(spot.value for spot in root.items("excluded") if isinstance(spot.value, str))
    if not cabins:
        root.blame("must name at least one cabin", "cabins")
    _blame_twins(root, "cabins", [cabin.id for cabin in cabins])
    _blame_twins(root, "logs", [log.id for log in logs])
    if root.faults:
        raise UnreadableFile(root.faults)
    problem = Problem(
        name=root.text("name"), params=params, cabins=cabins, logs=logs, pinned=pinned, excluded=excluded
    )
    root.faults.extend(blame_layout(problem))
    if root.faults:
        raise UnreadableFile(root.faults)
    return problem


def read_plan(document: object) -> Plan:
    """The plan in a parsed `wall-plan/1` file; raises UnreadableFile naming every fault."""
    root = Reader(document)
    if not root.fields(required={"format", "problem", "pieces"}):
        raise UnreadableFile(root.faults)
    root.choice("format", (PLAN_FORMAT,))
    plan = Plan(
        problem=root.text("problem"), pieces=tuple(_read_piece(spot) for spot in root.items("pieces"))
    )
    if root.faults:
        raise UnreadableFile(root.faults)
    return plan


def write_plan(plan: Plan) -> dict[str, Any]:
    """The plan as `wall-plan/1`."""
    return {"format": PLAN_FORMAT, "problem": plan.problem, "pieces": [write_piece(p) for p in plan.pieces]}


def write_piece(piece: Piece) -> dict[str, Any]:
    """One piece as it stands in a plan file."""
    where: dict[str, Any] = (
        {"cabin": piece.cabin, "member": piece.member}
        if piece.member is not None
        else {"cabin": piece.cabin, "wall": piece.wall, "round": piece.round, "piece": piece.piece}
    )
    return where | {"log": piece.log, "from_butt": _short(piece.from_butt_mm), "butt_at": piece.butt_at}


def write_problem(problem: Problem) -> dict[str, Any]:
    """The problem as `wall-problem/1`; optional parts are left out where they say nothing."""
    document: dict[str, Any] = {
        "format": PROBLEM_FORMAT,
        "name": problem.name,
        "unit": "mm",
        "params": _write_params(problem.params),
        "cabins": [_write_cabin(cabin) for cabin in problem.cabins],
        "logs": [_write_log(log) for log in problem.logs],
    }
    if problem.pinned:
        document["pinned"] = [write_piece(piece) for piece in problem.pinned]
    if problem.excluded:
        document["excluded"] = sorted(problem.excluded)
    return document


def _short(number: float) -> float:
    """Whole numbers without their decimal point, as people write them."""
    return int(number) if number == int(number) else number


def _blame_twins(root: Reader, key: str, ids: list[str]) -> None:
    for twin, count in Counter(ids).items():
        if count > 1:
            root.blame(f"{twin} stands {count} times", key)


def _read_params(spot: Reader) -> Params:
    spot.fields(required=_PARAMS, optional={"cull_longest"})
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
    )


def read_weights(spot: Reader) -> Weights:
    """The weights of the objective's terms; `grain` may be left out (0)."""
    if not spot.fields(required=set(WEIGHT_NAMES) - {"grain"}, optional={"grain"}):
        raise UnreadableFile(spot.faults)
    return Weights(**{name: spot.number(name, least=0.0) for name in WEIGHT_NAMES if name in spot.value})


def _read_cabin(spot: Reader) -> Cabin:
    if not spot.fields(
        required={"id", "rounds", "gap", "pitch", "walls"},
        optional={"openings", "as_built", "tees", "members"},
    ):
        raise UnreadableFile(spot.faults)
    built = AsBuilt(round=0, tops_mm={})
    rounds = spot.whole("rounds", least=1, most=60)
    if spot.value.get("as_built") is not None:
        built = _read_as_built(spot.child("as_built"), rounds)
    return Cabin(
        id=spot.text("id"),
        rounds=rounds,
        gap_mm=spot.number("gap", least=-300.0, most=300.0),
        pitch_mm=spot.number("pitch", above=0.0),
        walls=tuple(_read_wall(wall) for wall in spot.items("walls")),
        openings=tuple(_read_opening(opening) for opening in spot.items("openings")),
        tees=tuple(_read_tee(tee) for tee in spot.items("tees")),
        members=tuple(_read_member(member) for member in spot.items("members")),
        as_built=built,
    )


def _read_wall(spot: Reader) -> Wall:
    if not spot.fields(required={"id", "length", "overhang", "start", "corners"}):
        raise UnreadableFile(spot.faults)
    corners = spot.value["corners"]
    if not isinstance(corners, list) or len(corners) != 2:
        spot.blame("must be the two corners' numbers", "corners")
        corners = [0, 1]
    numbers = Reader(corners, f"{spot.pointer}/corners", spot.faults)
    return Wall(
        id=spot.text("id"),
        length_mm=spot.number("length", above=0.0),
        overhang_mm=spot.number("overhang", least=0.0),
        start=spot.choice("start", ("low", "high")),
        corners=(numbers.whole(0, least=0), numbers.whole(1, least=0)),
    )


def _read_opening(spot: Reader) -> Opening:
    if not spot.fields(required={"wall", "offset", "width", "sill", "head"}, optional={"kind"}):
        raise UnreadableFile(spot.faults)
    return Opening(
        kind=spot.text("kind") if "kind" in spot.value else "window",
        wall=spot.text("wall"),
        offset_mm=spot.number("offset", above=0.0),
        width_mm=spot.number("width", above=0.0),
        sill_mm=spot.number("sill"),
        head_mm=spot.number("head"),
    )


def _read_tee(spot: Reader) -> Tee:
    if not spot.fields(required={"corner", "wall", "at"}):
        raise UnreadableFile(spot.faults)
    return Tee(
        corner=spot.whole("corner", least=0), wall=spot.text("wall"), at_mm=spot.number("at", above=0.0)
    )


def _read_member(spot: Reader) -> Member:
    if not spot.fields(required={"id", "length", "least_middle", "crown_limit"}):
        raise UnreadableFile(spot.faults)
    return Member(
        id=spot.text("id"),
        length_mm=spot.number("length", above=0.0),
        least_middle_mm=spot.number("least_middle", least=0.0),
        crown_limit_mm=spot.number("crown_limit", least=0.0),
    )


def _read_as_built(spot: Reader, rounds: int) -> AsBuilt:
    if not spot.fields(required={"round", "tops"}):
        raise UnreadableFile(spot.faults)
    built = spot.whole("round", least=0, most=rounds)
    tops = spot.child("tops")
    if not isinstance(tops.value, dict):
        tops.blame("must be an object of walls")
        return AsBuilt(round=0, tops_mm={})
    read: dict[str, tuple[tuple[float | None, float | None], ...]] = {}
    for wall in tops.value:
        rows = tops.items(wall)
        if len(rows) < built:
            tops.blame(f"must have {built} rounds", wall)
        read[wall] = tuple(_read_tops(row) for row in rows[:built])
    return AsBuilt(round=built, tops_mm=read)


def _read_tops(row: Reader) -> tuple[float | None, float | None]:
    if not isinstance(row.value, list) or len(row.value) != 2:
        row.blame("must be the tops at the two ends, null where not measured")
        return (None, None)
    first, second = (None if row.value[e] is None else row.number(e) for e in (0, 1))
    return (first, second)


def _read_log(spot: Reader) -> Log:
    if not spot.fields(
        required={"id", "length", "butt", "middle", "tip"},
        optional={"crown", "hazards", "grain", "culled", "stations", "yard", "twist"},
    ):
        raise UnreadableFile(spot.faults)
    found: Mapping[str, object] = spot.value
    length = spot.number("length", above=0.0)
    return Log(
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
    )


def _read_station(spot: Reader, length: float) -> tuple[float, float]:
    if not isinstance(spot.value, list) or len(spot.value) != 2:
        spot.blame("must be [from_butt, diameter]")
        return (0.0, 1.0)
    return (spot.number(0, least=0.0, most=length), spot.number(1, above=0.0))


def _read_hazard(spot: Reader) -> Hazard:
    if not spot.fields(required={"from_butt", "kind"}):
        raise UnreadableFile(spot.faults)
    return Hazard(from_butt_mm=spot.number("from_butt"), kind=spot.choice("kind", ("metal", "knot")))


def _read_piece(spot: Reader) -> Piece:
    required = {"cabin", "log", "from_butt", "butt_at"}
    if isinstance(spot.value, dict) and "member" in spot.value:
        required |= {"member"}
    else:
        required |= {"wall", "round", "piece"}
    if not spot.fields(required=required):
        raise UnreadableFile(spot.faults)
    member = "member" in spot.value
    return Piece(
        cabin=spot.text("cabin"),
        wall="" if member else spot.text("wall"),
        round=0 if member else spot.whole("round", least=1),
        piece=0 if member else spot.whole("piece", least=0),
        member=spot.text("member") if member else None,
        log=spot.text("log"),
        from_butt_mm=spot.number("from_butt"),
        butt_at=spot.choice("butt_at", ("start", "end")),
    )


def _write_params(params: Params) -> dict[str, Any]:
    written: dict[str, Any] = {
        "station_inset": _short(params.station_inset_mm),
        "trim_each_end": _short(params.trim_each_end_mm),
        "kerf": _short(params.kerf_mm),
        "hazard_clear": _short(params.hazard_clear_mm),
        "max_pieces_per_log": params.max_pieces_per_log,
        "split_overlap": params.split_overlap,
        "crown_limit_sill_plate": _short(params.crown_limit_sill_plate_mm),
        "crown_limit_other": _short(params.crown_limit_other_mm),
        "jamb_tol": _short(params.jamb_tol_mm),
        "weights": {name: getattr(params.weights, name) for name in WEIGHT_NAMES},
        "notch_good": list(params.notch_good),
        "notch_limit": list(params.notch_limit),
    }
    if params.cull_longest_mm is not None:
        written["cull_longest"] = _short(params.cull_longest_mm)
    return written


def _write_cabin(cabin: Cabin) -> dict[str, Any]:
    written: dict[str, Any] = {
        "id": cabin.id,
        "rounds": cabin.rounds,
        "gap": _short(cabin.gap_mm),
        "pitch": _short(cabin.pitch_mm),
        "walls": [
            {
                "id": wall.id,
                "length": _short(wall.length_mm),
                "overhang": _short(wall.overhang_mm),
                "start": wall.start,
                "corners": list(wall.corners),
            }
            for wall in cabin.walls
        ],
        "openings": [
            {
                "kind": o.kind,
                "wall": o.wall,
                "offset": _short(o.offset_mm),
                "width": _short(o.width_mm),
                "sill": _short(o.sill_mm),
                "head": _short(o.head_mm),
            }
            for o in cabin.openings
        ],
    }
    if cabin.as_built.round:
        tops = {wall: [list(row) for row in rows] for wall, rows in cabin.as_built.tops_mm.items()}
        written["as_built"] = {"round": cabin.as_built.round, "tops": tops}
    if cabin.tees:
        written["tees"] = [{"corner": t.corner, "wall": t.wall, "at": _short(t.at_mm)} for t in cabin.tees]
    if cabin.members:
        written["members"] = [
            {
                "id": m.id,
                "length": _short(m.length_mm),
                "least_middle": _short(m.least_middle_mm),
                "crown_limit": _short(m.crown_limit_mm),
            }
            for m in cabin.members
        ]
    return written


def _write_log(log: Log) -> dict[str, Any]:
    written: dict[str, Any] = {
        "id": log.id,
        "length": _short(log.length_mm),
        "butt": _short(log.butt_mm),
        "middle": _short(log.middle_mm),
        "tip": _short(log.tip_mm),
        "crown": _short(log.crown_mm),
        "hazards": [{"from_butt": _short(h.from_butt_mm), "kind": h.kind} for h in log.hazards],
        "grain": log.grain,
        "culled": log.culled,
    }
    if log.twist is not None:
        written["twist"] = log.twist
    if log.stations:
        written["stations"] = [list(station) for station in log.stations]
    if log.yard is not None:
        written["yard"] = log.yard
    return written
