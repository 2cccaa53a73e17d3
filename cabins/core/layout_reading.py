"""Reads the parts of a layout document one by one: shapes, names, words and numbers, before any geometry."""

from collections.abc import Mapping
from dataclasses import dataclass

from cabins.core.beginning_reading import BEGINNING_KEYS, Beginning, read_beginning
from cabins.core.faults import (
    Faults,
    read_choice,
    read_flag,
    read_list,
    read_name,
    read_number,
    read_object,
    read_whole_number,
)
from cabins.core.layout_parts import (
    LEAST_PIECE_MM,
    RUN_WILD_MM,
    Corner,
    Gap,
    HighStart,
    NotchKind,
    Opening,
    OwnOverhangs,
    Start,
    Tee,
)
from cabins.core.member_reading import read_member
from cabins.core.members import LayoutMember
from cabins.core.opening_reading import LONGEST_WALL_MM, read_opening
from cabins.core.openings import CUT_SHARE
from cabins.core.roof_line import RoofLine, read_roof_line
from inventory.core.crew_units import Sentence

# Sizes beyond which a number is a slip of the pen, not a cabin.
FARTHEST_MM = 100_000.0
LOG_MIDDLE_MM = (80.0, 1_000.0)
GAP_MM = (-250.0, 250.0)
OVERHANG_MM = (0.0, 3_000.0)
WALL_HEIGHT_MM = (100.0, 15_000.0)
ROUNDS = (1, 60)
MOST_PARTS = 200
CUT_SHARES = (0.1, 0.9)
RUN_WILD_MOST_MM = 300.0
LEAST_PIECE_MOST_MM = 3_000.0

REQUIRED = ("corners", "walls", "overhang_mm", "notch", "gap", "log_middle_mm", "wall_height_mm")
OPENING_KEYS = ("cut_share", "run_wild_mm", "least_piece_mm")
OPTIONAL = (
    *("partitions", "high_start", "rounds", "openings", "members", "roof_line"),
    *OPENING_KEYS,
    *BEGINNING_KEYS,
)
# What counts where a document does not say.
USUAL_SIZES = {"cut_share": CUT_SHARE, "run_wild_mm": RUN_WILD_MM, "least_piece_mm": LEAST_PIECE_MM}
# Whether a wall's logs run on past an inner corner, to the wall that they meet there.
RUNS_ON = ("runs_on_start", "runs_on_end")
# How far a wall's or partition's logs reach past its ends, where not as far as the layout says.
OWN_OVERHANGS = ("overhang_start_mm", "overhang_end_mm")

Fields = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnWall:
    """A wall as written, before its corners are looked up."""

    id: str
    from_corner: str
    to_corner: str
    start: Start
    overhangs_mm: OwnOverhangs
    runs_on: tuple[bool, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPartition:
    """A partition as written, before its walls are looked up."""

    id: str
    from_tee: Tee
    to_tee: Tee
    start: Start
    overhangs_mm: OwnOverhangs

    @property
    def tees(self) -> tuple[Tee, Tee]:
        """Where it meets walls with its start and its end."""
        return self.from_tee, self.to_tee


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A document's parts as far as they could be read. None: that part has faults of its own."""

    corners: tuple[Corner | None, ...]
    walls: tuple[DrawnWall | None, ...]
    partitions: tuple[DrawnPartition | None, ...]
    openings: tuple[Opening | None, ...]
    members: tuple[LayoutMember | None, ...]
    high_start: HighStart | None
    overhang_mm: float | None
    notch: NotchKind | None
    gap: Gap | None
    log_middle_mm: float | None
    wall_height_mm: float | None
    rounds: int | None
    beginning: Beginning
    cut_share: float | None
    run_wild_mm: float | None
    least_piece_mm: float | None
    roof_line: RoofLine | None


def read_drawing(document: object, faults: Faults) -> Drawing | None:
    """Read every part of `document` by itself, noting what cannot be read; None if it is no object."""
    fields = read_object(document, pointer="", required=REQUIRED, optional=OPTIONAL, faults=faults)
    if fields is None:
        return None
    return Drawing(
        corners=tuple(_corner(raw, here, faults) for raw, here in _parts(fields, "corners", faults)),
        walls=tuple(_wall(raw, here, faults) for raw, here in _parts(fields, "walls", faults)),
        partitions=tuple(_partition(raw, here, faults) for raw, here in _parts(fields, "partitions", faults)),
        openings=tuple(read_opening(raw, here, faults) for raw, here in _parts(fields, "openings", faults)),
        members=tuple(read_member(raw, here, faults) for raw, here in _parts(fields, "members", faults)),
        high_start=read_choice(
            {"high_start": HighStart.HALF_LOG, **fields},
            "high_start",
            pointer="",
            choices=HighStart,
            faults=faults,
        ),
        overhang_mm=_top_number(fields, "overhang_mm", OVERHANG_MM, faults),
        notch=read_choice(fields, "notch", pointer="", choices=NotchKind, faults=faults),
        gap=_gap(fields, faults),
        log_middle_mm=_top_number(fields, "log_middle_mm", LOG_MIDDLE_MM, faults),
        wall_height_mm=_top_number(fields, "wall_height_mm", WALL_HEIGHT_MM, faults),
        rounds=read_whole_number(
            fields, "rounds", pointer="", smallest=ROUNDS[0], largest=ROUNDS[1], faults=faults
        ),
        beginning=read_beginning(fields, faults),
        cut_share=_top_number({**USUAL_SIZES, **fields}, "cut_share", CUT_SHARES, faults),
        run_wild_mm=_top_number({**USUAL_SIZES, **fields}, "run_wild_mm", (0.0, RUN_WILD_MOST_MM), faults),
        least_piece_mm=_top_number(
            {**USUAL_SIZES, **fields}, "least_piece_mm", (0.0, LEAST_PIECE_MOST_MM), faults
        ),
        roof_line=read_roof_line(fields, faults),
    )


def _parts(fields: Fields, key: str, faults: Faults) -> list[tuple[object, str]]:
    rows = read_list(fields, key, pointer="", largest=MOST_PARTS, faults=faults)
    return [(raw, f"/{key}/{number}") for number, raw in enumerate(rows)]


def _top_number(fields: Fields, key: str, limits: tuple[float, float], faults: Faults) -> float | None:
    return read_number(fields, key, pointer="", smallest=limits[0], largest=limits[1], faults=faults)


def _corner(raw: object, here: str, faults: Faults) -> Corner | None:
    fields = read_object(raw, pointer=here, required=("id", "x_mm", "y_mm"), faults=faults)
    if fields is None:
        return None
    name = read_name(fields, "id", pointer=here, faults=faults)
    x, y = (
        read_number(fields, key, pointer=here, smallest=-FARTHEST_MM, largest=FARTHEST_MM, faults=faults)
        for key in ("x_mm", "y_mm")
    )
    return None if name is None or x is None or y is None else Corner(id=name, x_mm=x, y_mm=y)


def _own_overhangs(fields: Fields, here: str, faults: Faults) -> OwnOverhangs:
    start, end = (
        None
        if fields.get(key) is None
        else read_number(
            fields, key, pointer=here, smallest=OVERHANG_MM[0], largest=OVERHANG_MM[1], faults=faults
        )
        for key in OWN_OVERHANGS
    )
    return start, end


def _wall(raw: object, here: str, faults: Faults) -> DrawnWall | None:
    fields = read_object(
        raw,
        pointer=here,
        required=("id", "from", "to", "start"),
        optional=(*OWN_OVERHANGS, *RUNS_ON),
        faults=faults,
    )
    if fields is None:
        return None
    name, from_corner, to_corner = (
        read_name(fields, key, pointer=here, faults=faults) for key in ("id", "from", "to")
    )
    start = read_choice(fields, "start", pointer=here, choices=Start, faults=faults)
    runs_on_start, runs_on_end = (read_flag(fields, key, pointer=here, faults=faults) for key in RUNS_ON)
    if name is None or from_corner is None or to_corner is None or start is None:
        return None
    return DrawnWall(
        id=name,
        from_corner=from_corner,
        to_corner=to_corner,
        start=start,
        overhangs_mm=_own_overhangs(fields, here, faults),
        runs_on=(runs_on_start, runs_on_end),
    )


def _partition(raw: object, here: str, faults: Faults) -> DrawnPartition | None:
    fields = read_object(
        raw, pointer=here, required=("id", "from", "to", "start"), optional=OWN_OVERHANGS, faults=faults
    )
    if fields is None:
        return None
    name = read_name(fields, "id", pointer=here, faults=faults)
    from_tee, to_tee = (_tee(fields, key, f"{here}/{key}", faults) for key in ("from", "to"))
    start = read_choice(fields, "start", pointer=here, choices=Start, faults=faults)
    if name is None or from_tee is None or to_tee is None or start is None:
        return None
    return DrawnPartition(
        id=name,
        from_tee=from_tee,
        to_tee=to_tee,
        start=start,
        overhangs_mm=_own_overhangs(fields, here, faults),
    )


def _tee(fields: Fields, key: str, here: str, faults: Faults) -> Tee | None:
    if key not in fields:
        return None
    tee = read_object(fields[key], pointer=here, required=("wall", "at_mm"), faults=faults)
    if tee is None:
        return None
    wall = read_name(tee, "wall", pointer=here, faults=faults)
    at_mm = read_number(tee, "at_mm", pointer=here, smallest=0.0, largest=LONGEST_WALL_MM, faults=faults)
    return None if wall is None or at_mm is None else Tee(wall=wall, at_mm=at_mm)


def _gap(fields: Fields, faults: Faults) -> Gap | None:
    if "gap" not in fields:
        return None
    names = ("smallest_mm", "target_mm", "largest_mm")
    gap = read_object(fields["gap"], pointer="/gap", required=names, faults=faults)
    if gap is None:
        return None
    smallest, target, largest = (
        read_number(gap, key, pointer="/gap", smallest=GAP_MM[0], largest=GAP_MM[1], faults=faults)
        for key in names
    )
    if smallest is None or target is None or largest is None:
        return None
    if not smallest <= target <= largest:
        faults.note(
            "/gap",
            "gap_out_of_order",
            Sentence(
                "The gap's band must run from smallest over target to largest, an overlap being negative; "
                "it is {smallest:across}, {target:across}, {largest:across}.",
                smallest=smallest,
                target=target,
                largest=largest,
            ),
        )
        return None
    return Gap(smallest_mm=smallest, target_mm=target, largest_mm=largest)
