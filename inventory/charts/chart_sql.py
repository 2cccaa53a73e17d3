"""A chart's cells written by the database, as `write_chart` writes them, for yards of many thousand logs.

One expression for each kind of cell, whose reader and writer stand in `inventory.core.chart_cells`. Python
takes many times as long over a row as the database; a test holds both to the same bytes.
"""

from collections.abc import Callable

from inventory.core import chart_cells as cells
from inventory.core.chart_cells import CellKind, Units
from inventory.core.chart_columns import COLUMNS
from inventory.core.measure import EXACT_INCHES, MM_PER, MM_PER_FT, MM_PER_IN, Unit

_ROWS = """
    SELECT {cells} FROM inventory_log log
    LEFT JOIN inventory_rack rack ON rack.id = log.rack_id
    LEFT JOIN inventory_species species ON species.id = log.species_id
    WHERE log.yard_id = %(yard)s AND log.crew_id = %(crew)s ORDER BY log.number_order, log.id
"""
_NAMES = {"rack": "rack.name", "species": "species.name"}
# Up to the last there is: to look through all of Unicode took a tenth of every start.
BLANKS = "".join(sign for sign in map(chr, range(0x3001)) if sign.isspace())
# Parameters of the query: signs that a cell may not begin or end with unless an apostrophe stands before it.
MARKS = {"first": "".join(cells.FORMULA_MARKS) + BLANKS, "last": BLANKS}


def chart_rows_sql(unit: Unit) -> str:
    """The cells of a yard's logs in the order of their numbers; takes `yard`, `crew` and MARKS."""
    units = Units.of(unit)
    written = (_CELLS[one.kind](_NAMES.get(one.field, f"log.{one.field}"), units) for one in COLUMNS)
    return _ROWS.format(cells=", ".join(written))


def _text(text: str, _: Units) -> str:
    """As `marked` writes it. An empty text is an empty cell, as nothing is."""
    marked = f"strpos(%(first)s, left({text}, 1)) > 0 OR strpos(%(last)s, right({text}, 1)) > 0"
    return f"CASE WHEN {text} = '' THEN NULL WHEN {marked} THEN '''' || {text} ELSE {text} END"


def _length(mm: str, unit: Unit) -> str:
    """Exactly; in decimals if it is a length in inches that no thirty-second gives."""
    if unit not in (Unit.IN, Unit.FT_IN):
        in_unit = mm if unit == Unit.MM else f"{mm} * {1 / MM_PER[unit]}"
        return f"trim_scale({in_unit}) || ' {unit}'"
    step_mm = MM_PER_IN / 32
    inches = _inches(f"({mm} / {step_mm})::int", in_feet=unit == Unit.FT_IN)
    return f"CASE WHEN mod({mm}, {step_mm}) = 0 THEN {inches} ELSE {_decimal_inches(mm, unit)} END"


def _decimal_inches(mm: str, unit: Unit) -> str:
    places = -int(EXACT_INCHES.as_tuple().exponent)
    if unit == Unit.FT_IN:
        rest = f"trim_scale(round(mod({mm}, {MM_PER_FT}) / {MM_PER_IN}, {places}))"
        return f"trim_scale(div({mm}, {MM_PER_FT})) || ''' ' || {rest} || chr(34)"
    return f"trim_scale(round({mm} / {MM_PER_IN}, {places})) || chr(34)"


def _inches(steps: str, *, in_feet: bool) -> str:
    """Thirty-seconds of an inch, the fraction in its lowest terms; beside feet whole inches even if none."""
    part, inches = f"({steps} & 31)", f"({steps} / 32)"
    fraction = f"CASE WHEN {part} <> 0 THEN {part} / gcd({part}, 32) || '/' || 32 / gcd({part}, 32) END"
    if in_feet:
        return f"concat({inches} / 12, ''' ', concat_ws(' ', mod({inches}, 12), {fraction}), '\"')"
    whole = f"CASE WHEN {inches} <> 0 OR {part} = 0 THEN {inches} END"
    return f"concat(concat_ws(' ', {whole}, {fraction}), '\"')"


def _along(mm: str, units: Units) -> str:
    return _length(mm, units.along)


def _across(mm: str, units: Units) -> str:
    return _length(mm, units.across)


def _parts(document: str, written: Callable[[str], str]) -> str:
    """Each part of a document as `written`, in their order; nothing if there is none.

    Most documents have one part: a query for each of those would take as long as all other cells.
    """
    return (
        f"CASE jsonb_array_length({document}) WHEN 0 THEN NULL WHEN 1 THEN {written(f'({document}->0)')}"
        f" ELSE (SELECT string_agg({written('part')}, '; ' ORDER BY number)"
        f" FROM jsonb_array_elements({document}) WITH ORDINALITY AS parts (part, number)) END"
    )


def _figure(part: str, name: str) -> str:
    return f"({part}->>'{name}')::numeric(11, 5)"


def _twice(mm: str, units: Units) -> str:
    """All that was read at a station. Most logs were read once: a query for each would take its time."""
    station = mm.removeprefix("log.").removesuffix("_mm")
    first, across = (_across(_figure("part", name), units) for name in ("first_mm", "across_mm"))
    return (
        f"CASE jsonb_array_length(log.read_across) WHEN 0 THEN {_across(mm, units)} ELSE coalesce("
        f"(SELECT concat({first}, ' x ', {across}) FROM jsonb_array_elements(log.read_across) AS part"
        f" WHERE part->>'station' = '{station}'), {_across(mm, units)}) END"
    )


def _stations(document: str, units: Units) -> str:
    def written(part: str) -> str:
        at = _along(_figure(part, "from_butt_mm"), units)
        return f"concat({at}, ': ', {_across(_figure(part, 'diameter_mm'), units)})"

    return _parts(document, written)


def _hazards(document: str, units: Units) -> str:
    def written(part: str) -> str:
        at, extent = _along(_figure(part, "from_butt_mm"), units), _across(_figure(part, "extent_mm"), units)
        face, reach = f"' face ' || nullif({part}->>'face', '')", f"' extent ' || {extent}"
        return f"concat({part}->>'kind', ' ', {at}, {face}, {reach})"

    return _parts(document, written)


def _as_it_is(value: str, _: Units) -> str:
    return value


_CELLS: dict[CellKind, Callable[[str, Units], str]] = {
    cells.NAME: _text,
    cells.TEXT: _text,
    cells.ALONG: _along,
    cells.ACROSS: _across,
    cells.TWICE: _twice,
    cells.STATIONS: _stations,
    cells.HAZARDS: _hazards,
    cells.SLOPE: lambda slope, _: f"'1 in ' || {slope}",
    cells.SIDE: _as_it_is,
    cells.HAND: _as_it_is,
    cells.YES: lambda yes, _: f"CASE WHEN {yes} THEN 'yes' ELSE 'no' END",
    cells.STATE: lambda state, _: f"replace({state}, '_', ' ')",
    cells.SEASONING: lambda how, _: f"replace({how}, '_', ' ')",
    cells.DAY: lambda day, _: f"to_char({day}, 'YYYY-MM-DD')",
}
