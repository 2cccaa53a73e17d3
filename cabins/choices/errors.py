"""How far a crew's readings and cuts may be off: as it chose, else by its own record, else as usual."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

from django.db import connection

from crews.accounts.crew_settings import CREW, DEFAULT
from inventory.core.crew_errors import (
    LEAST_TOPS,
    USUAL_ERRORS,
    USUAL_READING,
    WAYS_OF_READING,
    CrewErrors,
    RepeatsRecord,
    TopReading,
    TopsRecord,
)
from inventory.core.crew_units import Sentence

RECORD, WAY = "record", "way"
HEIGHT = "height_error_mm"
NO_REPEATS = RepeatsRecord()
ERROR_DEFAULTS: dict[str, float] = {
    f"{name.removesuffix('_mm')}_error_mm": value for name, value in asdict(USUAL_ERRORS).items()
}

_ROUND2 = USUAL_ERRORS.round_mm() ** 2
# Every top of the crew that was computed before it was measured, each miss in usual errors of such a one
# (crew_errors.usual_miss_mm), and every one that was read again, beside what the crew chose.
_USED = f"""
    SELECT record.*, settings.top_reading, {", ".join(f"settings.{name}" for name in ERROR_DEFAULTS)}
    FROM (
        SELECT count(computed_mm),
            sum((height_mm - computed_mm)^2 / (%(height2)s + rounds_since * %(round2)s))::float8,
            count(repeat_mm), sum(repeat_mm^2)::float8
        FROM cabins_measuredheight WHERE crew_id = %(crew)s AND undone_at IS NULL
    ) AS record
    LEFT JOIN cabins_wallsettings settings ON settings.crew_id = %(crew)s
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorsUsed:
    """The errors that count, where each comes from, and the crew's record.

    `chosen_by`: `crew`, its own `record`, for heights the `way` in which it says it reads tops, or `default`.
    """

    errors: CrewErrors
    chosen_by: Mapping[str, str]
    record: TopsRecord
    repeats: RepeatsRecord = NO_REPEATS
    reading: TopReading = USUAL_READING

    @property
    def words(self) -> str:
        """Where the errors come from, for a person."""
        reads = Sentence(
            "a diameter is read to {diameter:error}, a height to {height:error}, a notch cut to {cut:error}",
            diameter=self.errors.diameter_mm,
            height=self.errors.height_mm,
            cut=self.errors.cut_mm,
        )
        sources = {self._who(name, by) for name, by in self.chosen_by.items()}
        return Sentence("{reads}: {who}", reads=reads, who="; ".join(sorted(sources)))

    def _who(self, name: str, by: str) -> str:
        if by == CREW:
            return "as the crew chose"
        if by == WAY:
            way = WAYS_OF_READING[self.reading]
            return (
                f"heights by {way.words}, {way.source}; the crew's own record replaces it at {LEAST_TOPS} "
                f"tops read again, now {self.repeats.readings}"
            )
        if by == RECORD and name == HEIGHT and self.repeats.height_mm is not None:
            return f"heights by the crew's own record of {self.repeats.readings} tops read again"
        if by == RECORD:
            return f"by the crew's own record of {self.record.tops} tops"
        still = f"the crew's own record replaces it at {LEAST_TOPS} measured tops, now {self.record.tops}"
        return f"as usual, common practice; {still}"


def errors_used(crew: UUID) -> ErrorsUsed:
    """What counts for a crew; one query."""
    with connection.cursor() as cursor:
        cursor.execute(_USED, {"crew": crew, "height2": 2 * USUAL_ERRORS.height_mm**2, "round2": _ROUND2})
        tops, squares, again, again_squares, *chosen = cursor.fetchone()
    return used_errors(
        dict(zip(("top_reading", *ERROR_DEFAULTS), chosen, strict=True)),
        TopsRecord(tops=tops, squares=squares or 0.0),
        RepeatsRecord(readings=again, squares=again_squares or 0.0),
    )


def used_errors(
    chosen: Mapping[str, Any], record: TopsRecord, repeats: RepeatsRecord = NO_REPEATS
) -> ErrorsUsed:
    """What the crew chose counts first, then its own record if it is long enough, then what is usual.

    Of heights the readings of tops that were read before are the record; until there are enough of them, the
    way in which the crew says it reads tops goes before what its computed tops tell.
    """
    otherwise = asdict(record.errors or USUAL_ERRORS)
    values, by = {}, {}
    way = chosen.get("top_reading")
    for name in ERROR_DEFAULTS:
        short = f"{name.removesuffix('_error_mm')}_mm"
        own = chosen.get(name)
        values[short] = otherwise[short] if own is None else float(own)
        by[name] = CREW if own is not None else RECORD if record.errors else DEFAULT
    if by[HEIGHT] != CREW and repeats.height_mm is not None:
        values["height_mm"], by[HEIGHT] = repeats.height_mm, RECORD
    elif by[HEIGHT] != CREW and way is not None:
        values["height_mm"], by[HEIGHT] = WAYS_OF_READING[TopReading(way)].error_mm, WAY
    return ErrorsUsed(
        errors=CrewErrors(**values),
        chosen_by=by,
        record=record,
        repeats=repeats,
        reading=TopReading(way or USUAL_READING),
    )


USUALLY = used_errors({}, TopsRecord())
