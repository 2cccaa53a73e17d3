"""The columns of a chart: what each is called, in the spellings crews use, and the unit its heading gives."""

import re
from dataclasses import dataclass

from inventory.core import chart_cells as cells
from inventory.core.chart_cells import CellKind
from inventory.core.measure import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartColumn:
    """One column: the field of ChartLine, the heading we write, other spellings we read.

    One that is not read is written for people only, and passed over where it comes back. `says` describes the
    field to programs, where its name does not.
    """

    field: str
    heading: str
    kind: CellKind
    spellings: tuple[str, ...] = ()
    required: bool = False
    is_read: bool = True
    says: str = ""


COLUMNS = (
    ChartColumn(
        field="number",
        heading="number",
        kind=cells.NAME,
        spellings=("no", "nr", "num", "#", "log", "tag", "id", "log number", "log no", "log tag"),
        required=True,
    ),
    ChartColumn(field="rack", heading="rack", kind=cells.NAME, spellings=("stack", "bunk", "deck", "pile")),
    ChartColumn(field="species", heading="species", kind=cells.NAME, spellings=("wood", "kind", "timber")),
    ChartColumn(
        field="length_mm", heading="length", kind=cells.ALONG, spellings=("len", "l", "long"), required=True
    ),
    ChartColumn(
        field="butt_mm", heading="butt", kind=cells.TWICE, spellings=("butt end", "large end"), required=True
    ),
    ChartColumn(
        field="middle_mm",
        heading="middle",
        kind=cells.TWICE,
        spellings=("mid", "centre", "center"),
        required=True,
    ),
    ChartColumn(
        field="tip_mm",
        heading="tip",
        kind=cells.TWICE,
        spellings=("top", "tip end", "small end"),
        required=True,
    ),
    ChartColumn(
        field="station_inset_mm",
        heading="station distance",
        says="How far from the end butt and tip were taken.",
        kind=cells.ACROSS,
        spellings=("station", "station inset", "inset", "ends taken at"),
    ),
    ChartColumn(
        field="further_stations",
        heading="further stations",
        kind=cells.STATIONS,
        spellings=("further", "other stations", "more stations", "stations"),
    ),
    ChartColumn(
        field="crown_mm",
        heading="crown",
        says="Null: nobody looked at it yet; 0: looked at, and straight.",
        kind=cells.ACROSS,
        spellings=("bow", "sweep"),
    ),
    ChartColumn(
        field="crown_side", heading="crown side", kind=cells.SIDE, spellings=("bow side", "sweep side")
    ),
    ChartColumn(field="crown_at_mm", heading="crown at", kind=cells.ALONG, spellings=("bow at", "sweep at")),
    ChartColumn(field="crook_mm", heading="crook", kind=cells.ACROSS),
    ChartColumn(field="crook_at_mm", heading="crook at", kind=cells.ALONG),
    ChartColumn(
        field="grain_hand",
        heading="grain hand",
        says="Null: nobody looked at it yet.",
        kind=cells.HAND,
        spellings=("grain", "spiral", "spiral hand"),
    ),
    ChartColumn(
        field="grain_slope", heading="grain slope", kind=cells.SLOPE, spellings=("spiral slope", "slope")
    ),
    ChartColumn(
        field="hazards", heading="hazards", kind=cells.HAZARDS, spellings=("hazard", "dangers", "defects")
    ),
    ChartColumn(
        field="sawn_face_height_mm",
        heading="face height",
        kind=cells.ACROSS,
        spellings=("sawn face height", "face", "sawn height"),
    ),
    ChartColumn(
        field="sawn_thickness_mm",
        heading="thickness",
        kind=cells.ACROSS,
        spellings=("sawn thickness", "sawn"),
    ),
    ChartColumn(
        field="mill_tag",
        heading="mill tag",
        says="The mill's own number, as on its tag; empty: none known.",
        kind=cells.TEXT,
        spellings=("mill number", "mill no"),
    ),
    ChartColumn(field="peeled", heading="peeled", kind=cells.YES, spellings=("debarked", "bark off")),
    ChartColumn(
        field="seasoning",
        heading="seasoning",
        says="How far it has dried; null: nobody said, and its weight is reckoned as green.",
        kind=cells.SEASONING,
        spellings=("dryness", "how dry", "seasoned"),
    ),
    ChartColumn(
        field="felled_on",
        heading="felled on",
        kind=cells.DAY,
        spellings=("felled", "date felled", "felling date"),
    ),
    ChartColumn(field="culled", heading="culled", kind=cells.YES, spellings=("cull", "put aside")),
    ChartColumn(field="charted_by", heading="charted by", kind=cells.TEXT, spellings=("by", "measured by")),
    ChartColumn(
        field="charted_on", heading="charted on", kind=cells.DAY, spellings=("date", "on", "measured on")
    ),
    ChartColumn(
        field="remarks", heading="remarks", kind=cells.TEXT, spellings=("remark", "notes", "note", "comments")
    ),
    ChartColumn(field="state", heading="state", kind=cells.STATE, is_read=False),
)

UNIT_WORDS = {
    **dict.fromkeys(("in", "inch", "inches", '"', "″"), Unit.IN),
    **dict.fromkeys(("ft", "feet", "foot", "'", "′"), Unit.FT_IN),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Unit.M),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Unit.CM),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), Unit.MM),
}
_FILLERS = frozenset({"diameter", "diam", "dia", "d", "ø", "of", "the", "log", "mark"})
_BY_SPELLING = {spelling: column for column in COLUMNS for spelling in (column.heading, *column.spellings)}
_BETWEEN_WORDS = re.compile(r"[\s_\-./,:()\[\]]+")


def column_headed(heading: str) -> tuple[ChartColumn | None, Unit | None]:
    """The column meant by a heading and the unit it names: `Butt Ø (in)`, `length_m`, `LOG NO.`."""
    words = [word for word in _BETWEEN_WORDS.split(heading.strip().lower()) if word]
    if column := _BY_SPELLING.get(" ".join(words)):
        return column, None
    unit = UNIT_WORDS.get(words[-1]) if words else None
    named = words[:-1] if unit else words
    for spelled in (named, [word for word in named if word not in _FILLERS]):
        if column := _BY_SPELLING.get(" ".join(spelled)):
            return column, unit
    return None, None
