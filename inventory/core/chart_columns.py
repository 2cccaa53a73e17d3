"""The columns of a chart: what each is called, in the spellings crews use, and the unit its heading gives."""

import re
from dataclasses import dataclass

from inventory.core import chart_cells as cells
from inventory.core.chart_cells import CellKind
from inventory.core.measure import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: the field of ChartLine, the heading we write, other spellings we read.

    One that is not read is written for people only, and passed over where it comes back.
    """

    field: str
    heading: str
    kind: CellKind
    spellings: tuple[str, ...] = ()
    required: bool = False
    is_read: bool = True


COLUMNS = (
    Column(
        field="number",
        heading="number",
        kind=cells.NAME,
        spellings=("no", "nr", "num", "#", "log", "tag", "id", "log number", "log no", "log tag"),
        required=True,
    ),
    Column(field="rack", heading="rack", kind=cells.NAME, spellings=("stack", "bunk", "deck", "pile")),
    Column(field="species", heading="species", kind=cells.NAME, spellings=("wood", "kind", "timber")),
    Column(
        field="length_mm", heading="length", kind=cells.ALONG, spellings=("len", "l", "long"), required=True
    ),
    Column(
        field="butt_mm", heading="butt", kind=cells.TWICE, spellings=("butt end", "large end"), required=True
    ),
    Column(
        field="middle_mm",
        heading="middle",
        kind=cells.TWICE,
        spellings=("mid", "centre", "center"),
        required=True,
    ),
    Column(
        field="tip_mm",
        heading="tip",
        kind=cells.TWICE,
        spellings=("top", "tip end", "small end"),
        required=True,
    ),
    Column(
        field="station_inset_mm",
        heading="station distance",
        kind=cells.ACROSS,
        spellings=("station", "station inset", "inset", "ends taken at"),
    ),
    Column(
        field="further_stations",
        heading="further stations",
        kind=cells.STATIONS,
        spellings=("further", "other stations", "more stations", "stations"),
    ),
    Column(field="crown_mm", heading="crown", kind=cells.ACROSS, spellings=("bow", "sweep")),
    Column(field="crown_side", heading="crown side", kind=cells.SIDE, spellings=("bow side", "sweep side")),
    Column(field="crown_at_mm", heading="crown at", kind=cells.ALONG, spellings=("bow at", "sweep at")),
    Column(field="crook_mm", heading="crook", kind=cells.ACROSS),
    Column(field="crook_at_mm", heading="crook at", kind=cells.ALONG),
    Column(
        field="grain_hand",
        heading="grain hand",
        kind=cells.HAND,
        spellings=("grain", "spiral", "spiral hand"),
    ),
    Column(field="grain_slope", heading="grain slope", kind=cells.SLOPE, spellings=("spiral slope", "slope")),
    Column(
        field="hazards", heading="hazards", kind=cells.HAZARDS, spellings=("hazard", "dangers", "defects")
    ),
    Column(
        field="sawn_face_height_mm",
        heading="face height",
        kind=cells.ACROSS,
        spellings=("sawn face height", "face", "sawn height"),
    ),
    Column(
        field="sawn_thickness_mm",
        heading="thickness",
        kind=cells.ACROSS,
        spellings=("sawn thickness", "sawn"),
    ),
    Column(field="mill_tag", heading="mill tag", kind=cells.TEXT, spellings=("mill number", "mill no")),
    Column(field="peeled", heading="peeled", kind=cells.YES, spellings=("debarked", "bark off")),
    Column(
        field="seasoning",
        heading="seasoning",
        kind=cells.SEASONING,
        spellings=("dryness", "how dry", "seasoned"),
    ),
    Column(
        field="felled_on",
        heading="felled on",
        kind=cells.DAY,
        spellings=("felled", "date felled", "felling date"),
    ),
    Column(field="culled", heading="culled", kind=cells.YES, spellings=("cull", "put aside")),
    Column(field="charted_by", heading="charted by", kind=cells.TEXT, spellings=("by", "measured by")),
    Column(field="charted_on", heading="charted on", kind=cells.DAY, spellings=("date", "on", "measured on")),
    Column(
        field="remarks", heading="remarks", kind=cells.TEXT, spellings=("remark", "notes", "note", "comments")
    ),
    Column(field="state", heading="state", kind=cells.STATE, is_read=False),
)

_UNIT_WORDS = {
    **dict.fromkeys(("in", "inch", "inches", '"', "″"), Unit.IN),
    **dict.fromkeys(("ft", "feet", "foot", "'", "′"), Unit.FT_IN),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Unit.M),
    **dict.fromkeys(("cm", "centimetres", "centimeters"), Unit.CM),
    **dict.fromkeys(("mm", "millimetres", "millimeters"), Unit.MM),
}
_FILLERS = frozenset({"diameter", "diam", "dia", "d", "ø", "of", "the", "log", "mark"})
_BY_SPELLING = {spelling: column for column in COLUMNS for spelling in (column.heading, *column.spellings)}
_BETWEEN_WORDS = re.compile(r"[\s_\-./,:()\[\]]+")


def column_headed(heading: str) -> tuple[Column | None, Unit | None]:
    """The column meant by a heading and the unit it names: `Butt Ø (in)`, `length_m`, `LOG NO.`."""
    words = [word for word in _BETWEEN_WORDS.split(heading.strip().lower()) if word]
    if column := _BY_SPELLING.get(" ".join(words)):
        return column, None
    unit = _UNIT_WORDS.get(words[-1]) if words else None
    named = words[:-1] if unit else words
    for spelled in (named, [word for word in named if word not in _FILLERS]):
        if column := _BY_SPELLING.get(" ".join(spelled)):
            return column, unit
    return None, None
