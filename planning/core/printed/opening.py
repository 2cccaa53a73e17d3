"""An opening's sheet on paper: its drawing, the hole to leave, what is cut of which log, the jambs."""

from pathlib import Path
from typing import Any

from cabins.core.opening_sheet import JambPiece, OpeningCut, OpeningSheet
from inventory.core.crew_units import CrewUnits
from inventory.core.printed.press import Paper, print_sheet

_TEMPLATE = Path(__file__).with_name("opening.typ")


def print_opening(
    cabin: str,
    sheet: OpeningSheet,
    *,
    of_what: str,
    rule: str,
    drawing: str,
    units: CrewUnits,
    as_of: str,
    paper: Paper,
) -> bytes:
    """The sheet of one opening as PDF. `drawing`: the opening as SVG; `rule`: where the
    settling space comes from."""
    data = opening_data(cabin, sheet, of_what=of_what, rule=rule, units=units, as_of=as_of)
    return print_sheet(_TEMPLATE, {**data, "drawing": drawing}, paper=paper)


def opening_data(
    cabin: str, sheet: OpeningSheet, *, of_what: str, rule: str, units: CrewUnits, as_of: str
) -> dict[str, Any]:
    """What the template sets: texts only, every figure in the crew's units."""
    along, across = units.along, units.across
    return {
        "title": f"{cabin}: {sheet.opening} in wall {sheet.wall}",
        "subtitle": f"{of_what}; heights above the deck, positions from the wall's start",
        "as_of": as_of,
        "figures": [
            ["asked, width and height", f"{along(sheet.width_mm)} x {along(sheet.height_mm)}"],
            ["sill and head", _both(sheet.sill_mm, sheet.head_mm, units)],
            ["settling space above", across(sheet.space_mm)],
            ["hole to leave", along(sheet.hole_asked_mm)],
            ["top of the hole", along(sheet.hole_top_mm)],
            ["hole on the day, near and far jamb", _both(sheet.hole_near_mm, sheet.hole_far_mm, units)],
            ["jambs, near and far", _both(sheet.near_mm, sheet.far_mm, units)],
        ],
        "rule": f"Settling space by {rule}.",
        "edges": [_edge(cut, units) for cut in (sheet.sill, sheet.header) if cut is not None],
        "threshold": sheet.threshold or "",
        "wild": _wild_words(sheet, units),
        "jambs": [_jamb(piece, units) for piece in sheet.jambs],
        "keyway": sheet.keyway,
        "out_of_order": [one.detail for one in sheet.out_of_order],
        "cautions": list(sheet.cautions),
    }


def _both(one_mm: float, other_mm: float, units: CrewUnits) -> str:
    return f"{units.along(one_mm)} and {units.along(other_mm)}"


def _wild_words(sheet: OpeningSheet, units: CrewUnits) -> str:
    wild = max((piece.run_wild_mm for piece in sheet.jambs), default=0.0)
    if wild == 0.0:
        return "Each is cut plumb at its jamb line."
    return f"Each may run {units.across(wild)} past its jamb line until it is cut plumb."


def _edge(cut: OpeningCut, units: CrewUnits) -> dict[str, str]:
    log = "what the wall starts on" if cut.round == 0 else f"round {cut.round}"
    if cut.log_number is not None:
        log += f", log {cut.log_number}{', set' if cut.is_set else ''}"
    in_log = ""
    if cut.log_from_mm is not None and cut.log_to_mm is not None:
        in_log = f"{units.along(cut.log_from_mm)} to {units.along(cut.log_to_mm)}"
    return {
        "side": cut.side,
        "log": log,
        "depth": f"{units.across(cut.depth_near_mm)} / {units.across(cut.depth_far_mm)}",
        "in_log": in_log,
        "infill": f"{units.across(cut.infill_near_mm)} / {units.across(cut.infill_far_mm)}",
        "share": f"{cut.share:.0%}",
        "words": cut.words,
    }


def _jamb(piece: JambPiece, units: CrewUnits) -> dict[str, str]:
    return {
        "round": str(piece.round),
        "position": piece.position,
        "log": piece.log_number or "",
        "jamb": f"{piece.jamb}, {units.along(piece.jamb_mm)}",
        "brace": "brace" if piece.needs_brace else "",
    }
