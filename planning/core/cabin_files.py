"""Reads and writes a cabin of the problem file `wall-problem/1` (as parsed JSON)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from planning.core.problem import (
    AsBuilt,
    Half,
    HalfPlace,
    ProblemCabin,
    ProblemMember,
    ProblemOpening,
    ProblemSillFlat,
    ProblemTee,
    ProblemWall,
    Rows,
)
from planning.core.reading import Reader, UnreadableFile

Courses = tuple[tuple[tuple[float, float], ...], ...]
_GAP_MM = 300.0
_CABIN = {"openings", "as_built", "tees", "members", "courses", "start_heights", "sill_flat", "sealer"}
_CABIN |= {"half_places", "gap_band", "cut_share"}


def read_cabin(spot: Reader) -> ProblemCabin:
    """The cabin at this spot; faults are added to the reader's, and UnreadableFile ends the hopeless."""
    if not spot.fields(required={"id", "rounds", "gap", "pitch", "walls"}, optional=_CABIN):
        raise UnreadableFile(spot.faults)
    built = AsBuilt(round=0, tops_mm={})
    rounds = spot.whole("rounds", least=1, most=60)
    if spot.value.get("as_built") is not None:
        built = _read_as_built(spot.child("as_built"), rounds)
    gap = spot.number("gap", least=-_GAP_MM, most=_GAP_MM)
    return ProblemCabin(
        id=spot.text("id"),
        rounds=rounds,
        gap_mm=gap,
        pitch_mm=spot.number("pitch", above=0.0),
        walls=tuple(_read_wall(wall) for wall in spot.items("walls")),
        openings=tuple(_read_opening(opening) for opening in spot.items("openings")),
        tees=tuple(_read_tee(tee) for tee in spot.items("tees")),
        members=tuple(_read_member(member) for member in spot.items("members")),
        as_built=built,
        courses_mm=_read_courses(spot, rounds),
        start_heights_mm=_read_start_heights(spot),
        sill_flat=_read_sill_flat(spot),
        half_places=tuple(_read_half_place(half) for half in spot.items("half_places")),
        gap_band_mm=_read_gap_band(spot, gap),
        cut_share=spot.number("cut_share", above=0.0, most=1.0) if "cut_share" in spot.value else None,
    )


def _read_wall(spot: Reader) -> ProblemWall:
    if not spot.fields(required={"id", "length", "start", "corners"}, optional={"overhang", "overhangs"}):
        raise UnreadableFile(spot.faults)
    corners = spot.value["corners"]
    if not isinstance(corners, list) or len(corners) != 2:
        spot.blame("must be the two corners' numbers", "corners")
        corners = [0, 1]
    numbers = Reader(corners, f"{spot.pointer}/corners", spot.faults)
    return ProblemWall(
        id=spot.text("id"),
        length_mm=spot.number("length", above=0.0),
        overhangs_mm=_read_overhangs(spot),
        start=spot.choice("start", ("low", "high")),
        corners=(numbers.whole(0, least=0), numbers.whole(1, least=0)),
    )


def _read_overhangs(spot: Reader) -> tuple[float, float]:
    """`overhang` for both ends alike, or `overhangs` [start, end]."""
    if "overhangs" not in spot.value:
        if "overhang" not in spot.value:
            spot.blame("is missing", "overhang")
            return (0.0, 0.0)
        both = spot.number("overhang", least=0.0)
        return (both, both)
    if "overhang" in spot.value:
        spot.blame("stands beside overhang: give one of them", "overhangs")
    found = _numbers(spot, "overhangs", 2, 2, "must be [start, end]", least=0.0)
    return (found[0], found[1]) if len(found) == 2 else (0.0, 0.0)


def _numbers(
    spot: Reader, key: str | int, fewest: int, most: int, reason: str, *, least: float | None = None
) -> tuple[float, ...]:
    """A list of between `fewest` and `most` numbers; empty, and a fault for `reason`, where it is not."""
    found = spot.value[key]
    if not isinstance(found, list) or not fewest <= len(found) <= most:
        spot.blame(reason, key)
        return ()
    inner = Reader(found, f"{spot.pointer}/{key}", spot.faults)
    return tuple(inner.number(n, least=least) for n in range(len(found)))


def _read_opening(spot: Reader) -> ProblemOpening:
    if not spot.fields(
        required={"wall", "offset", "width", "sill", "head"},
        optional={"kind", "space", "threshold", "flatten"},
    ):
        raise UnreadableFile(spot.faults)
    return ProblemOpening(
        kind=spot.text("kind") if "kind" in spot.value else "window",
        wall=spot.text("wall"),
        offset_mm=spot.number("offset", above=0.0),
        width_mm=spot.number("width", above=0.0),
        sill_mm=spot.number("sill"),
        head_mm=spot.number("head"),
        space_mm=spot.number("space", least=0.0) if "space" in spot.value else 0.0,
        threshold=spot.choice("threshold", ("cut_through", "flattened", "kept"))
        if "threshold" in spot.value
        else "cut_through",
        flatten_mm=spot.number("flatten", least=0.0) if "flatten" in spot.value else 0.0,
    )


def _read_tee(spot: Reader) -> ProblemTee:
    if not spot.fields(required={"corner", "wall", "at"}):
        raise UnreadableFile(spot.faults)
    return ProblemTee(
        corner=spot.whole("corner", least=0), wall=spot.text("wall"), at_mm=spot.number("at", above=0.0)
    )


def _read_member(spot: Reader) -> ProblemMember:
    if not spot.fields(required={"id", "length", "least_middle", "crown_limit"}):
        raise UnreadableFile(spot.faults)
    return ProblemMember(
        id=spot.text("id"),
        length_mm=spot.number("length", above=0.0),
        least_middle_mm=spot.number("least_middle", least=0.0),
        crown_limit_mm=spot.number("crown_limit", least=0.0),
    )


def _read_as_built(spot: Reader, rounds: int) -> AsBuilt:
    if not spot.fields(required={"round", "tops"}, optional={"planned"}):
        raise UnreadableFile(spot.faults)
    built = spot.whole("round", least=0, most=rounds)
    planned = _read_rows(spot, "planned", built) if "planned" in spot.value else {}
    return AsBuilt(round=built, tops_mm=_read_rows(spot, "tops", built), planned_mm=planned)


def _read_rows(spot: Reader, key: str, built: int) -> dict[str, Rows]:
    tops = spot.child(key)
    if not isinstance(tops.value, dict):
        tops.blame("must be an object of walls")
        return {}
    read: dict[str, Rows] = {}
    for wall in tops.value:
        rows = tops.items(wall)
        if len(rows) < built:
            tops.blame(f"must have {built} rounds", wall)
        read[wall] = tuple(_read_tops(row) for row in rows[:built])
    return read


def _read_tops(row: Reader) -> tuple[float | None, ...]:
    if not isinstance(row.value, list) or len(row.value) < 2:
        row.blame("must be the tops at the two ends, then at tees, null where not measured")
        return (None, None)
    return tuple(None if row.value[n] is None else row.number(n) for n in range(len(row.value)))


def _read_courses(spot: Reader, rounds: int) -> dict[str, Courses]:
    if "courses" not in spot.value:
        return {}
    courses = spot.child("courses")
    if not isinstance(courses.value, dict):
        courses.blame("must be an object of walls")
        return {}
    read: dict[str, Courses] = {}
    for wall in courses.value:
        rows = courses.items(wall)
        if len(rows) != rounds:
            courses.blame(f"must have the places of {rounds} rounds", wall)
        read[wall] = tuple(_read_course(row) for row in rows)
    return read


def _read_course(row: Reader) -> tuple[tuple[float, float], ...]:
    if not isinstance(row.value, list) or not row.value:
        row.blame("must be a list of one or more places [start, end]")
        return ((0.0, 1.0),)
    places: list[tuple[float, float]] = []
    for n in range(len(row.value)):
        found = _numbers(row, n, 2, 2, "must be [start, end]")
        if len(found) == 2:
            if found[1] <= found[0] or (places and found[0] < places[-1][1]):
                row.blame("must run from start to end, behind the place before it", n)
            places.append((found[0], found[1]))
    return tuple(places)


def _read_start_heights(spot: Reader) -> dict[str, tuple[float, ...]]:
    if "start_heights" not in spot.value:
        return {}
    heights = spot.child("start_heights")
    if not isinstance(heights.value, dict):
        heights.blame("must be an object of walls")
        return {}
    return {wall: _numbers(heights, wall, 2, 50, "must be [start, end, tees ...]") for wall in heights.value}


def _read_sill_flat(spot: Reader) -> ProblemSillFlat | None:
    if "sill_flat" not in spot.value:
        if "sealer" in spot.value:
            spot.blame("lies under a sill_flat only", "sealer")
        return None
    flat = spot.child("sill_flat")
    if not isinstance(flat.value, dict) or set(flat.value) not in ({"depth"}, {"width"}):
        flat.blame("must give depth or width")
        return None
    return ProblemSillFlat(
        depth_mm=flat.number("depth", least=0.0) if "depth" in flat.value else None,
        width_mm=flat.number("width", least=0.0) if "width" in flat.value else None,
        sealer_mm=spot.number("sealer", least=0.0) if "sealer" in spot.value else 0.0,
    )


def _read_half_place(spot: Reader) -> HalfPlace:
    if not spot.fields(required={"halves", "kerf"}):
        raise UnreadableFile(spot.faults)
    halves = tuple(_read_half(half) for half in spot.items("halves"))
    if not 1 <= len(halves) <= 2:
        spot.blame("must be one half or two", "halves")
    return HalfPlace(halves=halves, kerf_mm=spot.number("kerf", least=0.0))


def _read_half(spot: Reader) -> Half:
    if not spot.fields(required={"wall", "piece", "start", "end"}, optional={"round"}):
        raise UnreadableFile(spot.faults)
    start = spot.number("start")
    return Half(
        wall=spot.text("wall"),
        piece=spot.whole("piece", least=0),
        start_mm=start,
        end_mm=spot.number("end", above=start, default=start + 1.0),
        round=spot.whole("round", least=0) if "round" in spot.value else 0,
    )


def _read_gap_band(spot: Reader, gap: float) -> tuple[float, float] | None:
    if "gap_band" not in spot.value:
        return None
    band = spot.pair("gap_band", least=-_GAP_MM)
    if not band[0] <= gap <= band[1]:
        spot.blame("must have the gap within it", "gap_band")
    return band


def short(number: float) -> float:
    """Whole numbers without their decimal point, as people write them."""
    return int(number) if number == int(number) else number


def write_cabin(cabin: ProblemCabin) -> dict[str, Any]:
    """The cabin as it stands in a problem file; parts that say nothing are left out."""
    written: dict[str, Any] = {
        "id": cabin.id,
        "rounds": cabin.rounds,
        "gap": short(cabin.gap_mm),
        "pitch": short(cabin.pitch_mm),
        "walls": [_write_wall(wall) for wall in cabin.walls],
        "openings": [_write_opening(opening) for opening in cabin.openings],
    }
    if cabin.as_built.round:
        written["as_built"] = {"round": cabin.as_built.round, "tops": _write_rows(cabin.as_built.tops_mm)}
        if cabin.as_built.planned_mm:
            written["as_built"]["planned"] = _write_rows(cabin.as_built.planned_mm)
    if cabin.tees:
        written["tees"] = [{"corner": t.corner, "wall": t.wall, "at": short(t.at_mm)} for t in cabin.tees]
    if cabin.members:
        written["members"] = [
            {
                "id": m.id,
                "length": short(m.length_mm),
                "least_middle": short(m.least_middle_mm),
                "crown_limit": short(m.crown_limit_mm),
            }
            for m in cabin.members
        ]
    return written | _write_ways_of_building(cabin)


def _write_ways_of_building(cabin: ProblemCabin) -> dict[str, Any]:
    written: dict[str, Any] = {}
    if cabin.courses_mm:
        written["courses"] = {
            wall: [[[short(a), short(b)] for a, b in places] for places in rounds]
            for wall, rounds in cabin.courses_mm.items()
        }
    if cabin.start_heights_mm:
        written["start_heights"] = {w: [short(h) for h in row] for w, row in cabin.start_heights_mm.items()}
    if (flat := cabin.sill_flat) is not None:
        by_depth = flat.depth_mm is not None
        written["sill_flat"] = {
            "depth" if by_depth else "width": flat.depth_mm if by_depth else flat.width_mm
        }
        written["sealer"] = short(flat.sealer_mm)
    if cabin.half_places:
        written["half_places"] = [
            {
                "halves": [
                    {
                        "wall": half.wall,
                        "piece": half.piece,
                        "start": short(half.start_mm),
                        "end": short(half.end_mm),
                        **({"round": half.round} if half.round else {}),
                    }
                    for half in entry.halves
                ],
                "kerf": short(entry.kerf_mm),
            }
            for entry in cabin.half_places
        ]
    if cabin.cut_share is not None:
        written["cut_share"] = cabin.cut_share
    if cabin.gap_band_mm is not None:
        written["gap_band"] = [short(edge) for edge in cabin.gap_band_mm]
    return written


def _write_rows(rows: Mapping[str, Rows]) -> dict[str, list[list[float | None]]]:
    return {wall: [list(row) for row in rounds] for wall, rounds in rows.items()}


def _write_wall(wall: ProblemWall) -> dict[str, Any]:
    start, end = wall.overhangs_mm
    overhang = {"overhang": short(start)} if start == end else {"overhangs": [short(start), short(end)]}
    return {
        "id": wall.id,
        "length": short(wall.length_mm),
        **overhang,
        "start": wall.start,
        "corners": list(wall.corners),
    }


def _write_opening(o: ProblemOpening) -> dict[str, Any]:
    written: dict[str, Any] = {
        "kind": o.kind,
        "wall": o.wall,
        "offset": short(o.offset_mm),
        "width": short(o.width_mm),
        "sill": short(o.sill_mm),
        "head": short(o.head_mm),
    }
    if o.threshold != "cut_through":
        written |= {"threshold": o.threshold, "flatten": short(o.flatten_mm)}
    return written | ({"space": short(o.space_mm)} if o.space_mm else {})
