"""The layout document: read as a whole with every fault named, and written back."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from cabins.core.beginning_reading import beginning_document, check_beginning
from cabins.core.courses import cut_courses, settling_spaces_mm
from cabins.core.faults import LATER_FAULTS, Faults, LayoutFaults
from cabins.core.gables import gable_places
from cabins.core.layout_checks import check_ids, check_outline, check_walls_apart, measured_walls
from cabins.core.layout_parts import (
    Corner,
    Courses,
    Gap,
    HighStart,
    Layout,
    LogWall,
    NotchKind,
    Opening,
    OpeningKind,
    OwnOverhangs,
    Partition,
    Start,
    Tee,
    Wall,
)
from cabins.core.layout_reading import OWN_OVERHANGS, RUNS_ON, Drawing, read_drawing
from cabins.core.member_reading import MOST_MEMBERS, check_members
from cabins.core.members import LayoutMember, MemberKind
from cabins.core.opening_checks import check_apart, check_openings
from cabins.core.partition_checks import fitted_partitions
from cabins.core.places import crossings_of
from cabins.core.roof_line import check_gable_names, check_roof_line, roof_line_document
from cabins.core.run_on_checks import lines_of, run_on_walls
from cabins.core.stack import stack_up

__all__ = [
    "Corner",
    "Gap",
    "HighStart",
    "Layout",
    "LayoutFaults",
    "LayoutMember",
    "LogWall",
    "MemberKind",
    "NotchKind",
    "Opening",
    "OpeningKind",
    "Partition",
    "Start",
    "Tee",
    "Wall",
    "layout_document",
    "read_layout",
]


def read_layout(document: object, *, courses: Courses | None = None, stands: bool = False) -> Layout:
    """The layout in `document` (JSON-like), checked as a whole.

    Shapes are read first; geometry is judged over what could be read, so that one answer names every
    fault. `courses`: how they are cut; without, as the openings cut them where every log has the layout's
    middle diameter. `stands`: it was checked when it was stored; what became a fault later passes. Raises
    LayoutFaults.
    """
    faults = Faults(passes=LATER_FAULTS if stands else frozenset())
    drawing = read_drawing(document, faults)
    layout = _checked(drawing, faults) if drawing is not None else None
    if layout is None or faults.found:
        raise LayoutFaults(faults.found)
    return replace(layout, courses=courses) if courses is not None else layout


def _checked(drawing: Drawing, faults: Faults) -> Layout | None:
    check_ids(drawing, faults)
    walls = measured_walls(drawing, faults)
    before = len(faults.found)
    all_walls = len(walls) == len(drawing.walls) and None not in drawing.corners
    if all_walls:
        check_outline(drawing, walls, faults)
    sound = all_walls and len(faults.found) == before
    # Walls that share a name cannot be told apart; that fault is named already.
    if sound and len({wall.id for wall in walls}) == len(walls):
        walls = run_on_walls(drawing, walls, faults)
        check_walls_apart(drawing, walls, lines_of(walls, drawing.corners), faults)
        sound = len(faults.found) == before
    partitions = fitted_partitions(drawing, walls, sound, faults)
    _check_sizes(drawing, faults)
    check_beginning(
        drawing.beginning,
        high_start=drawing.high_start,
        log_middle_mm=drawing.log_middle_mm,
        faults=faults,
    )
    check_members(drawing.members, faults)
    check_roof_line(drawing.roof_line, walls=len(drawing.walls), members=drawing.members, faults=faults)
    check_openings(drawing, walls, partitions, faults)
    if faults.found:
        return None
    layout = _layout(drawing, walls, partitions)
    _check_crossing_names(layout, faults)
    if faults.found:
        return None
    expected = stack_up(layout, diameters_mm={})
    check_apart(expected, faults)
    places = gable_places(expected)
    check_gable_names(places, layout.members, faults)
    _check_member_count(layout, len(places), faults)
    return replace(
        layout,
        courses=cut_courses(expected, spaces_mm=settling_spaces_mm(layout)),
        gable_places=places,
    )


def _check_member_count(layout: Layout, gable_logs: int, faults: Faults) -> None:
    total = sum(member.count for member in layout.members) + gable_logs
    if gable_logs and total > MOST_MEMBERS:
        faults.note(
            "/roof_line",
            "too_many",
            f"At most {MOST_MEMBERS} members are taken; with {gable_logs} gable logs there are {total}.",
        )


def _layout(drawing: Drawing, walls: tuple[Wall, ...], partitions: tuple[Partition, ...]) -> Layout:
    # What is missing or could not be read is a fault already, so a drawing without faults is complete.
    assert drawing.high_start is not None
    assert drawing.notch is not None
    assert drawing.gap is not None
    assert drawing.overhang_mm is not None
    assert drawing.log_middle_mm is not None
    assert drawing.wall_height_mm is not None
    assert drawing.cut_share is not None
    assert drawing.run_wild_mm is not None
    assert drawing.least_piece_mm is not None
    return Layout(
        corners=tuple(corner for corner in drawing.corners if corner is not None),
        walls=walls,
        partitions=partitions,
        high_start=drawing.high_start,
        overhang_mm=drawing.overhang_mm,
        notch=drawing.notch,
        gap=drawing.gap,
        log_middle_mm=drawing.log_middle_mm,
        wall_height_mm=drawing.wall_height_mm,
        rounds=drawing.rounds,
        openings=tuple(opening for opening in drawing.openings if opening is not None),
        members=tuple(member for member in drawing.members if member is not None),
        sill_flat=drawing.beginning.sill_flat,
        sealer_mm=drawing.beginning.sealer_mm,
        half_logs=drawing.beginning.half_logs,
        rip_kerf_mm=drawing.beginning.rip_kerf_mm,
        deck_raise_mm=drawing.beginning.deck_raise_mm,
        top=drawing.beginning.top,
        cut_share=drawing.cut_share,
        run_wild_mm=drawing.run_wild_mm,
        least_piece_mm=drawing.least_piece_mm,
        roof_line=drawing.roof_line,
    )


def _check_sizes(drawing: Drawing, faults: Faults) -> None:
    middle, gap = drawing.log_middle_mm, drawing.gap
    if middle is None:
        return
    for here, overhang in _overhangs(drawing):
        if drawing.notch is not None and overhang < _least_overhang(drawing.notch, middle):
            faults.note(
                here,
                "too_small",
                f"An overhang of {overhang:g} does not carry the log across the log it crosses; "
                f"{_least_overhang(drawing.notch, middle):g} or more is needed.",
            )
    if gap is not None and gap.smallest_mm < -middle / 2:
        faults.note("/gap/smallest_mm", "too_small", "An overlap of more than half a log leaves no wall.")


def _overhangs(drawing: Drawing) -> Iterator[tuple[str, float]]:
    """Every overhang that is told, with its pointer."""
    if drawing.overhang_mm is not None:
        yield "/overhang_mm", drawing.overhang_mm
    for key, parts in (("walls", drawing.walls), ("partitions", drawing.partitions)):
        for number, part in enumerate(parts):
            for name, told in zip(OWN_OVERHANGS, part.overhangs_mm if part else (), strict=False):
                if told is not None:
                    yield f"/{key}/{number}/{name}", told


def _least_overhang(notch: NotchKind, middle_mm: float) -> float:
    # Reckoned from the corner's centre. A saddle or lap cut flush is too weak, so the log must at least
    # cross the whole log below; dovetailed logs are hewn, half as thick as high (common practice, no source).
    return middle_mm / 2 if notch in (NotchKind.SADDLE, NotchKind.LAP) else middle_mm / 4


def _check_crossing_names(layout: Layout, faults: Faults) -> None:
    names = [crossing.id for crossing in crossings_of(layout)]
    at = {wall.id: f"/walls/{number}" for number, wall in enumerate(layout.walls)}
    at |= {one.id: f"/partitions/{number}" for number, one in enumerate(layout.partitions)}
    for tee in layout.wall_tees:
        if names.count(tee.id) > 1:
            faults.note(
                f"{at[tee.wall]}/id",
                "duplicate_id",
                f"The tee {tee.id} would bear the name of another crossing; rename {tee.wall}.",
            )


def layout_document(layout: Layout) -> dict[str, object]:
    """The document that reads back to `layout`, with every field written out."""
    return {
        "corners": [
            {"id": corner.id, "x_mm": _plain(corner.x_mm), "y_mm": _plain(corner.y_mm)}
            for corner in layout.corners
        ],
        "walls": [
            {
                "id": wall.id,
                "from": wall.from_corner,
                "to": wall.to_corner,
                "start": wall.start.value,
                **_overhangs_document(wall.overhangs_mm),
                **{key: run_on is not None for key, run_on in zip(RUNS_ON, wall.run_ons, strict=True)},
            }
            for wall in layout.walls
        ],
        "partitions": [
            {
                "id": partition.id,
                "from": _tee_document(partition.from_tee),
                "to": _tee_document(partition.to_tee),
                "start": partition.start.value,
                **_overhangs_document(partition.overhangs_mm),
            }
            for partition in layout.partitions
        ],
        "high_start": layout.high_start.value,
        "overhang_mm": _plain(layout.overhang_mm),
        "notch": layout.notch.value,
        "gap": {
            "smallest_mm": _plain(layout.gap.smallest_mm),
            "target_mm": _plain(layout.gap.target_mm),
            "largest_mm": _plain(layout.gap.largest_mm),
        },
        "log_middle_mm": _plain(layout.log_middle_mm),
        "wall_height_mm": _plain(layout.wall_height_mm),
        "rounds": layout.rounds,
        "openings": [_opening_document(opening) for opening in layout.openings],
        "members": [_member_document(member) for member in layout.members],
        "cut_share": layout.cut_share,
        "run_wild_mm": _plain(layout.run_wild_mm),
        "least_piece_mm": _plain(layout.least_piece_mm),
        "roof_line": roof_line_document(layout.roof_line),
        **beginning_document(layout),
    }


def _overhangs_document(own_mm: OwnOverhangs) -> Mapping[str, object]:
    return {
        name: None if told is None else _plain(told) for name, told in zip(OWN_OVERHANGS, own_mm, strict=True)
    }


def _tee_document(tee: Tee) -> Mapping[str, object]:
    return {"wall": tee.wall, "at_mm": _plain(tee.at_mm)}


def _opening_document(opening: Opening) -> Mapping[str, object]:
    return {
        "id": opening.id,
        "kind": opening.kind.value,
        "wall": opening.wall,
        "offset_mm": _plain(opening.offset_mm),
        "width_mm": _plain(opening.width_mm),
        "sill_mm": _plain(opening.sill_mm),
        "head_mm": _plain(opening.head_mm),
        "threshold": opening.threshold.value,
        "flatten_mm": _plain(opening.flatten_mm),
    }


def _member_document(member: LayoutMember) -> Mapping[str, object]:
    return {
        "id": member.id,
        "kind": member.kind.value,
        "length_mm": _plain(member.length_mm),
        "least_middle_mm": _plain(member.least_middle_mm),
        "crown_limit_mm": _plain(member.crown_limit_mm),
        "count": member.count,
    }


def _plain(value_mm: float) -> float | int:
    # 2300.0 is written as a person would: 2300.
    return int(value_mm) if value_mm == int(value_mm) else value_mm
