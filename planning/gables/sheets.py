"""The sheet of a cabin's gables, as an answer."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from cabins.core.gable_words import BASIS, CAUTIONS, gable_notes, seat_words
from cabins.core.gables import Gable, GableLog, GableSeat, GableSheet
from cabins.core.slopes import Bearing, SlopeCut
from crews.accounts.models import Crew
from inventory.core.crew_units import CrewUnits
from planning.gables.queries import Gables, gables_among
from planning.sheets.drawings import wall_shown


def gables_answer(crew: Crew, cabin: UUID, *, plan: UUID | None) -> dict[str, Any]:
    """What GablesOut describes. Raises NotFound, NotLaidOut, PlanStale for a plan named."""
    shown = wall_shown(crew, cabin, plan=plan, as_built=False)
    found, units = gables_among(shown.cabin, shown.stack, shown.plan), shown.units
    answer: dict[str, Any] = {
        "cabin": shown.cabin.id,
        "cabin_name": shown.cabin.name,
        "plan": shown.plan and shown.plan.id,
        "of_what": shown.of_what,
        "roof": None,
        "gables": [],
        "bearings": [],
        "basis": asdict(BASIS),
        "cautions": list(CAUTIONS),
    }
    if found is None:
        return answer
    cut_share = shown.stack.layout.cut_share
    return answer | {
        "roof": _roof(found.sheet, units),
        "gables": [_gable(found, gable, cut_share, units) for gable in found.sheet.gables],
        "bearings": [_bearing(found, one, units) for one in found.sheet.bearings],
    }


def _roof(sheet: GableSheet, units: CrewUnits) -> dict[str, Any]:
    return units.beside(
        {
            "slope": sheet.roof_line.slope,
            "ridge": sheet.roof_line.ridge.value,
            "foot_mm": sheet.slopes.foot_mm,
            "ridge_mm": sheet.slopes.ridge_mm,
        },
        along=["foot", "ridge"],
    )


def _gable(found: Gables, gable: Gable, cut_share: float, units: CrewUnits) -> dict[str, Any]:
    return units.beside(
        {
            "wall": gable.wall,
            "on_mm": gable.on_mm,
            "left_mm": gable.left_mm,
            "logs": [_log(found, log, units) for log in gable.logs],
            "seats": [_seat(gable, seat, units) for seat in gable.seats],
            "not_needed": list(gable.not_needed),
            "notes": list(gable_notes(gable, cut_share=cut_share)),
        },
        along=["on"],
        across=["left"],
    )


def _log(found: Gables, log: GableLog, units: CrewUnits) -> dict[str, Any]:
    ends = {"start": _cut(log.start, units), "end": _cut(log.end, units)}
    return units.beside(
        asdict(log) | ends | _of_log(found, log.member),
        along=["underside", "top", "length", "cut"],
        across=["diameter", "lacks"],
        error=["error"],
    )


def _cut(cut: SlopeCut, units: CrewUnits) -> dict[str, Any]:
    return units.beside(asdict(cut), along=["at"], across=["plumb", "run"])


def _seat(gable: Gable, seat: GableSeat, units: CrewUnits) -> dict[str, Any]:
    told = asdict(seat) | {"lies_in": seat_words(gable, seat)}
    return units.beside(told, along=["at", "underside"], across=["depth"])


def _bearing(found: Gables, one: Bearing, units: CrewUnits) -> dict[str, Any]:
    told = asdict(one) | {"kind": one.kind.value} | _of_log(found, one.member)
    return units.beside(told, along=["at", "underside", "axis", "top"], across=["diameter"])


def _of_log(found: Gables, member: str) -> dict[str, Any]:
    """The log of a member and whether it is made, reserved or proposed; nothing where none is known."""
    one = found.logs.get(member)
    return {
        "log": one and one.log,
        "log_number": one and one.log_number,
        "filling": one and one.filling.value,
    }
