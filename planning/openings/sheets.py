"""The sheets of a cabin's openings: as an answer, drawn, printed."""

from datetime import datetime
from typing import Any
from uuid import UUID

from cabins.core.cad.opening import opening_dxf
from cabins.core.drawings.hole import OpeningToDraw
from cabins.core.drawings.opening import draw_opening
from cabins.sheets.texts import opening_told
from crews.accounts.models import Crew
from crews.api.problems import NotFound
from inventory.core.printed.press import Paper
from inventory.logs.drawing_values import as_of
from planning.core.printed.opening import print_opening
from planning.openings.queries import Openings, openings_among
from planning.sheets.drawings import WallShown, wall_shown


def openings_shown(crew: Crew, cabin: UUID, *, plan: UUID | None) -> tuple[WallShown, Openings]:
    """The cabin as it is drawn and its openings. Raises NotFound, NotLaidOut, PlanStale for a plan named."""
    shown = wall_shown(crew, cabin, plan=plan, as_built=False)
    return shown, openings_among(crew, shown.stack, set_pieces=shown.set_rows, coming=shown.coming_rows)


def opening_sheets(crew: Crew, cabin: UUID, *, plan: UUID | None) -> dict[str, Any]:
    """What OpeningSheetsOut describes. Raises as `openings_shown`."""
    shown, found = openings_shown(crew, cabin, plan=plan)
    return {
        "cabin": shown.cabin.id,
        "cabin_name": shown.cabin.name,
        "plan": shown.plan and shown.plan.id,
        "of_what": shown.of_what,
        "rule": found.rule.id,
        "rule_source": found.rule.source.in_words,
        "cut_share": shown.stack.layout.cut_share,
        "openings": [opening_told(found.units, sheet) for sheet in found.sheets],
    }


def opening_drawing(crew: Crew, cabin: UUID, *, plan: UUID | None, opening: str) -> str:
    """One opening with the logs around it as SVG. Raises NotFound too for no such opening."""
    shown, found = openings_shown(crew, cabin, plan=plan)
    return _drawn(shown, found, _number_of(found, opening))


def opening_for_cad(crew: Crew, cabin: UUID, *, plan: UUID | None, opening: str) -> bytes:
    """One opening with the logs around it as DXF. Raises NotFound too for no such opening."""
    shown, found = openings_shown(crew, cabin, plan=plan)
    return opening_dxf(_to_draw(shown, found, _number_of(found, opening)))


def _number_of(found: Openings, opening: str) -> int:
    names = [sheet.opening for sheet in found.sheets]
    if opening not in names:
        known = f"It has {', '.join(names)}." if names else "It has none."
        raise NotFound(f"This cabin has no opening {opening}. {known}")
    return names.index(opening)


def _drawn(shown: WallShown, found: Openings, number: int) -> str:
    return draw_opening(_to_draw(shown, found, number))


def _to_draw(shown: WallShown, found: Openings, number: int) -> OpeningToDraw:
    return OpeningToDraw(
        cabin=shown.cabin.name,
        of_what=shown.of_what,
        stack=shown.stack,
        pieces=shown.pieces,
        fitted=found.fitted[number],
        units=found.units,
    )


def opening_file(
    crew: Crew, cabin: UUID, *, plan: UUID | None, opening: str, paper: Paper, at: datetime
) -> bytes:
    """The sheet of one opening as PDF. Raises NotFound, NotLaidOut, PlanStale for a plan named."""
    shown, found = openings_shown(crew, cabin, plan=plan)
    number = _number_of(found, opening)
    return print_opening(
        shown.cabin.name,
        found.sheets[number],
        of_what=shown.of_what,
        rule=found.rule.source.in_words,
        drawing=_drawn(shown, found, number),
        units=found.units,
        as_of=as_of(at),
        paper=paper,
    )
