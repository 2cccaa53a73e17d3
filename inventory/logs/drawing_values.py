"""From stored rows to what drawings and printed sheets take: a crew's units, the dangers in a log."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from crews.accounts.models import Crew
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.hazards import HazardToDraw
from inventory.core.printed.press import Paper


def units_of(crew: Crew) -> CrewUnits:
    """How the crew writes lengths and weights."""
    return CrewUnits.of(crew)


def hazards_to_draw(rows: Iterable[Mapping[str, Any]]) -> tuple[HazardToDraw, ...]:
    """The dangers charted in a log, as stored with it."""
    return tuple(
        HazardToDraw(
            kind=row["kind"],
            from_butt_mm=float(row["from_butt_mm"]),
            extent_mm=float(row.get("extent_mm") or 0),
            face=row.get("face"),
        )
        for row in rows
    )


def paper_of(crew: Crew, asked: str | None) -> Paper:
    """The paper asked for, else Letter for a crew that reads inches and A4 for any other."""
    if asked:
        return Paper(asked)
    return Paper.A4 if units_of(crew).is_metric else Paper.LETTER


def as_of(at: datetime) -> str:
    """How a sheet says how old it is, in the zone of `at`."""
    zone = at.tzname() or ""
    return f"as of {at:%Y-%m-%d %H:%M} {zone if zone.isalpha() else f'UTC{zone}'}"
