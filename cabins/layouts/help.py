"""What helps to lay openings out: how they fall on the courses, better heights, stubs, set logs to be cut."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any
from uuid import UUID

from cabins.cabins.models import Cabin
from cabins.choices.queries import settling_rule
from cabins.core.courses import FittedOpening, fit_openings, settling_space_mm, settling_spaces_mm
from cabins.core.layout_parts import Layout
from cabins.core.opening_help import OtherHeight, Stub, other_heights, position_words, stubs_of
from cabins.core.opening_sheet import OpeningSheet, opening_sheet
from cabins.core.openings import NOTHING_MM
from cabins.core.places import columns_of
from cabins.openings.queries import changed_openings, expected_of, free_middles_mm, laid_logs
from cabins.sheets.texts import opening_told
from cabins.walls.queries import Standing, standing_of
from inventory.core.crew_units import CrewUnits
from inventory.logs.drawing_values import units_of

NO_HELP: dict[str, Any] = {"openings": [], "stubs": [], "set_logs_cut": []}


def layout_help(cabin: Cabin, layout: Layout, *, yards: Iterable[UUID]) -> dict[str, Any]:
    """How each opening of `layout` falls on the courses expected, and what to know before it is laid out.

    Heights are those of what stands, above it of the logs to be had in `yards`, else of the layout's middle
    diameter.
    """
    units, rule = units_of(cabin.crew), settling_rule(cabin.crew)
    standing = None if cabin.layout is None else standing_of([cabin])[cabin.id]
    stack = expected_of(layout, standing, middles_mm=free_middles_mm(cabin.crew, yards))
    logs = [] if standing is None else laid_logs(standing.pieces, is_set=True)
    told = [
        (fitted, opening_sheet(fitted, layout=layout, logs=logs, units=units))
        for fitted in fit_openings(stack, spaces_mm=settling_spaces_mm(layout, rule))
    ]
    columns = {wall: [column.at_mm for column in row] for wall, row in columns_of(layout).items()}
    return {
        "openings": [
            _fall(
                fitted,
                sheet,
                others=other_heights(
                    stack, fitted.opening, space_of=lambda one: settling_space_mm(one, rule)
                ),
                units=units,
            )
            for fitted, sheet in told
        ],
        "stubs": [_stub(layout, stub, units) for stub in stubs_of(layout, columns)],
        "set_logs_cut": _set_logs_cut([sheet for _, sheet in told], layout, standing),
    }


def _fall(
    fitted: FittedOpening, sheet: OpeningSheet, *, others: Iterable[OtherHeight], units: CrewUnits
) -> dict[str, Any]:
    return {
        **opening_told(units, sheet),
        "other_heights": [_other(fitted, one, units) for one in others],
    }


def _other(fitted: FittedOpening, other: OtherHeight, units: CrewUnits) -> dict[str, Any]:
    way = "higher" if other.change_mm > 0 else "lower"
    needs = []
    if other.cut_mm > NOTHING_MM:
        needs.append(f"a cut of {units.across(other.cut_mm)}")
    if other.infill_mm > NOTHING_MM:
        needs.append(f"an infill of {units.across(other.infill_mm)}")
    need = " and ".join(needs) if needs else "no cut at all"
    return {
        **units.beside({**asdict(other), "line": other.line.value}, along=["height"]),
        "words": f"{fitted.opening.id}: {other.line} {units.across(abs(other.change_mm))} {way}, at "
        f"{units.along(other.height_mm)}: {need} there.",
    }


def _stub(layout: Layout, stub: Stub, units: CrewUnits) -> dict[str, Any]:
    spans = layout.courses[stub.wall, stub.round]
    position = position_words(layout, stub.wall, spans, stub.piece) or ""
    length = stub.end_mm - stub.start_mm
    why = []
    if stub.is_short:
        why.append(f"only {units.along(length)} long, less than {units.along(layout.least_piece_mm)}")
    if stub.is_free:
        why.append("held by a notch at one end only")
    return {
        "wall": stub.wall,
        "round": stub.round,
        "piece": stub.piece,
        "position": position,
        "length_mm": length,
        "is_short": stub.is_short,
        "is_free": stub.is_free,
        "words": f"Wall {stub.wall}, round {stub.round}, {position}: {' and '.join(why)}; brace it until the "
        "jambs are in.",
    }


def _set_logs_cut(
    sheets: Iterable[OpeningSheet], layout: Layout, standing: Standing | None
) -> list[dict[str, Any]]:
    """Set logs that openings which `layout` changes would be cut into."""
    if standing is None:
        return []
    changed = changed_openings(standing.layout, layout)
    cuts = [cut for sheet in sheets if sheet.opening in changed for cut in (sheet.sill, sheet.header) if cut]
    return [
        {
            "opening": cut.opening,
            "side": cut.side,
            "wall": cut.wall,
            "round": cut.round,
            "piece": cut.piece,
            "log": cut.log,
            "log_number": cut.log_number,
            "depth_near_mm": cut.depth_near_mm,
            "depth_far_mm": cut.depth_far_mm,
            "share": cut.share,
            "words": f"Log {cut.log_number} is set already. {cut.words}",
        }
        for cut in cuts
        if cut.is_set and max(cut.depth_near_mm, cut.depth_far_mm) > NOTHING_MM
    ]
