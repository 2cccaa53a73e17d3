"""How far a crew's readings and cuts may be off: as it chose, else by its own record, else as usual."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

from django.db import connection

from crews.choosing import CREW, DEFAULT
from inventory.core.crew_errors import LEAST_TOPS, USUAL_ERRORS, CrewErrors, TopsRecord
from inventory.core.crew_units import Sentence

RECORD = "record"
ERROR_DEFAULTS: dict[str, float] = {
    f"{name.removesuffix('_mm')}_error_mm": value for name, value in asdict(USUAL_ERRORS).items()
}

_ROUND2 = USUAL_ERRORS.round_mm() ** 2
# Every top of the crew that was computed before it was measured, each miss in usual errors of such a one
# (crew_errors.usual_miss_mm), beside what the crew chose.
_USED = f"""
    SELECT record.*, {", ".join(f"settings.{name}" for name in ERROR_DEFAULTS)}
    FROM (
        SELECT count(*), sum((height_mm - computed_mm)^2 / (%(height2)s + rounds_since * %(round2)s))::float8
        FROM cabins_measuredheight WHERE crew_id = %(crew)s AND computed_mm IS NOT NULL
    ) AS record
    LEFT JOIN cabins_wallsettings settings ON settings.crew_id = %(crew)s
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorsUsed:
    """The errors that count, where each comes from (`crew`, `record` or `default`), and the crew's record."""

    errors: CrewErrors
    chosen_by: Mapping[str, str]
    record: TopsRecord

    @property
    def words(self) -> str:
        """Where the errors come from, for a person."""
        reads = Sentence(
            "a diameter is read to {diameter:error}, a height to {height:error}, a notch cut to {cut:error}",
            diameter=self.errors.diameter_mm,
            height=self.errors.height_mm,
            cut=self.errors.cut_mm,
        )
        who = {CREW: "as the crew chose", RECORD: f"by the crew's own record of {self.record.tops} tops"}
        sources = {who.get(by, f"as usual, common practice; {self._still}") for by in self.chosen_by.values()}
        return Sentence("{reads}: {who}", reads=reads, who="; ".join(sorted(sources)))

    @property
    def _still(self) -> str:
        return f"the crew's own record replaces it at {LEAST_TOPS} measured tops, now {self.record.tops}"


def errors_used(crew: UUID) -> ErrorsUsed:
    """What counts for a crew; one query."""
    with connection.cursor() as cursor:
        cursor.execute(_USED, {"crew": crew, "height2": 2 * USUAL_ERRORS.height_mm**2, "round2": _ROUND2})
        tops, squares, *chosen = cursor.fetchone()
    return used_errors(
        dict(zip(ERROR_DEFAULTS, chosen, strict=True)), TopsRecord(tops=tops, squares=squares or 0.0)
    )


def used_errors(chosen: Mapping[str, Any], record: TopsRecord) -> ErrorsUsed:
    """What the crew chose counts first, then its own record if it is long enough, then what is usual."""
    otherwise = asdict(record.errors or USUAL_ERRORS)
    values, by = {}, {}
    for name in ERROR_DEFAULTS:
        short = f"{name.removesuffix('_error_mm')}_mm"
        own = chosen.get(name)
        values[short] = otherwise[short] if own is None else float(own)
        by[name] = CREW if own is not None else RECORD if record.errors else DEFAULT
    return ErrorsUsed(errors=CrewErrors(**values), chosen_by=by, record=record)


USUALLY = used_errors({}, TopsRecord())
