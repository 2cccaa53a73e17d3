"""The openings of a cabin among its set and planned logs: what each log is cut into for them."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from cabins.choices.queries import settling_rule
from cabins.core.courses import FittedOpening, fit_openings, settling_spaces_mm
from cabins.core.opening_help import position_words
from cabins.core.opening_sheet import OpeningSheet, cuts_of, jamb_words, opening_sheet
from cabins.core.places import WallPlace, course_spans
from cabins.core.settling_rules import AllowanceRule
from cabins.core.stack import Stack
from cabins.openings.queries import diameter_along, laid_logs
from cabins.sheets.texts import cut_told
from crews.accounts.models import Crew
from inventory.core.crew_units import CrewUnits
from inventory.logs.drawing_values import units_of

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Openings:
    """The openings of a cabin as they lie among its set and planned logs."""

    stack: Stack
    rule: AllowanceRule
    fitted: tuple[FittedOpening, ...]
    sheets: tuple[OpeningSheet, ...]
    units: CrewUnits

    def of_place(self, place: WallPlace) -> dict[str, Any]:
        """What a piece's sheet says of openings: where it lies beside them, what it is cut, how it ends."""
        spans = course_spans(self.stack.layout, place.wall, place.round)
        cuts = cuts_of(self.sheets).get((place.wall, place.round, place.piece), ())
        return {
            "position": position_words(self.stack.layout, place.wall, spans, place.piece),
            "opening_cuts": [cut_told(self.units, asdict(cut)) for cut in cuts],
            "at_jambs": list(jamb_words(self.sheets, place, self.units)),
        }


def openings_among(crew: Crew, stack: Stack, *, set_pieces: Rows, coming: Rows) -> Openings:
    """The openings of `stack`'s cabin among its set and coming pieces; one query."""
    rule, units = settling_rule(crew), units_of(crew)
    fitted = fit_openings(
        stack,
        spaces_mm=settling_spaces_mm(stack.layout, rule),
        diameter_at=diameter_along([*set_pieces, *coming]),
    )
    logs = [*laid_logs(set_pieces, is_set=True), *laid_logs(coming, is_set=False)]
    sheets = tuple(opening_sheet(one, layout=stack.layout, logs=logs, units=units) for one in fitted)
    return Openings(stack=stack, rule=rule, fitted=fitted, sheets=sheets, units=units)
