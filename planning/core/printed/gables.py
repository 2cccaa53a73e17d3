"""The gables of a cabin on paper, beside the marks of the storey pole: texts only."""

from collections.abc import Mapping
from typing import Any

from cabins.core.gable_words import gable_notes, seat_words
from cabins.core.gables import Gable, GableLog, GableSeat, GableSheet
from cabins.core.slopes import SlopeCut
from inventory.core.crew_units import CrewUnits

# A plumb of less than a pencil's line is none.
LINE_MM = 1.0


def gable_rows(
    sheet: GableSheet, cut_share: float, log_numbers: Mapping[str, str], units: CrewUnits
) -> list[dict[str, Any]]:
    """Both gables as the template sets them: the last round first, as the pole stands; then what bears."""
    slopes = sheet.slopes
    return [
        {
            "name": f"Gable over wall {gable.wall}",
            "about": f"roof line {units.along(slopes.foot_mm)} high over the corners, "
            f"{units.along(slopes.ridge_mm)} where it meets; the wall ends at {units.along(gable.on_mm)}",
            "logs": [_log(log, log_numbers, units) for log in reversed(gable.logs)],
            "seats": [_seat(gable, seat, log_numbers, units) for seat in gable.seats],
            "notes": [units.say(note) for note in gable_notes(gable, cut_share=cut_share)],
        }
        for gable in sheet.gables
    ]


def _log(log: GableLog, log_numbers: Mapping[str, str], units: CrewUnits) -> dict[str, str]:
    return {
        "round": str(log.round),
        "log": log_numbers.get(log.member, ""),
        "top": units.along(log.top_mm),
        "sure": f"± {units.error(log.error_mm)}",
        "underside": units.along(log.underside_mm),
        "length": units.along(log.length_mm),
        "cuts": "; ".join(dict.fromkeys(_cut(cut, units) for cut in (log.start, log.end))),
    }


def _cut(cut: SlopeCut, units: CrewUnits) -> str:
    plumb = f"plumb {units.across(cut.plumb_mm)}, then " if cut.plumb_mm > LINE_MM else ""
    return f"{plumb}{units.across(cut.run_mm)} in"


def _seat(gable: Gable, seat: GableSeat, log_numbers: Mapping[str, str], units: CrewUnits) -> dict[str, str]:
    deep = seat.depth_mm >= 0
    where = seat_words(gable, seat)
    return {
        "member": seat.member,
        "log": log_numbers.get(seat.member, ""),
        "underside": units.along(seat.underside_mm),
        "at": units.along(seat.at_mm),
        "seat": f"{units.across(abs(seat.depth_mm))} {'deep in' if deep else 'packed up over'} {where}",
    }
