"""From stored rows to what drawings and printed sheets take: a crew's units, the dangers in a log."""

from collections.abc import Iterable, Mapping
from typing import Any

from crews.models import Crew
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.hazards import HazardToDraw
from inventory.core.measure import Unit


def units_of(crew: Crew) -> CrewUnits:
    """How the crew writes lengths."""
    return CrewUnits(unit=Unit(crew.length_unit), fraction=crew.fraction)


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
