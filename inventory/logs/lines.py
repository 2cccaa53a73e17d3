"""From a charted line to the columns of a stored log, and back."""

from collections.abc import Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from inventory.core.chart_columns import COLUMNS
from inventory.core.chart_line import (
    ChartLine,
    Face,
    GrainHand,
    Hazard,
    HazardKind,
    ReadAcross,
    Station,
    StationName,
)
from inventory.core.weight import Seasoning
from inventory.logs.models import MEASURES

# What a chart says about a log, beside its number and the names of its rack and species.
_BESIDE = {"number", "rack", "species", *MEASURES}
CHARTED = [*MEASURES, *(one.field for one in COLUMNS if one.is_read and one.field not in _BESIDE)]
_SLOPE_PLACES = Decimal("0.01")


def name_key(name: str) -> str:
    """Names and numbers that have one key are one to a reader, whatever their blanks and capitals."""
    return " ".join(name.casefold().split())


def fields_of_line(line: ChartLine) -> dict[str, Any]:
    """What is stored of a line, by column; crown and grain that nobody wrote down stay unknown."""
    slope = line.grain_slope
    fields = {name: getattr(line, name) for name in CHARTED}
    return fields | {
        "further_stations": [
            {"from_butt_mm": _number(one.from_butt_mm), "diameter_mm": _number(one.diameter_mm)}
            for one in line.further_stations
        ],
        "read_across": [
            {
                "station": str(one.station),
                "first_mm": _number(one.first_mm),
                "across_mm": _number(one.across_mm),
                "difference_mm": _number(one.difference_mm),
            }
            for one in line.read_across
        ],
        "crown_side": line.crown_side and str(line.crown_side),
        "crook_mm": line.crook_mm or Decimal(0),
        "grain_hand": line.grain_hand and str(line.grain_hand),
        "seasoning": line.seasoning and str(line.seasoning),
        "grain_slope": None if slope is None else slope.quantize(_SLOPE_PLACES, rounding=ROUND_HALF_UP),
        "hazards": [
            {
                "kind": str(one.kind),
                "from_butt_mm": _number(one.from_butt_mm),
                "face": one.face and str(one.face),
                "extent_mm": None if one.extent_mm is None else _number(one.extent_mm),
            }
            for one in line.hazards
        ],
    }


def line_of_fields(
    fields: Mapping[str, Any], *, number: str, rack: str | None = None, species: str | None = None
) -> ChartLine:
    """The line of a stored log, from a `.values()` row or the fields of a body."""
    hand, side, how = fields["grain_hand"], fields["crown_side"], fields["seasoning"]
    as_stored = {name: fields[name] for name in CHARTED if name not in _REBUILT}
    return ChartLine(
        number=number,
        rack=rack,
        species=species,
        further_stations=tuple(_stations(fields["further_stations"])),
        read_across=tuple(readings_across(fields["read_across"])),
        hazards=tuple(_hazards(fields["hazards"])),
        grain_hand=GrainHand(hand) if hand else None,
        crown_side=Face(side) if side else None,
        seasoning=Seasoning(how) if how else None,
        **as_stored,
    )


def with_kept_readings(columns: dict[str, Any], held: Mapping[str, Any]) -> dict[str, Any]:
    """A chart's columns with the readings across that still hold: those of stations whose diameter stays."""
    told = {one["station"]: one for one in columns["read_across"]}
    for one in held["read_across"]:
        name = f"{one['station']}_mm"
        if columns[name] == held[name]:
            told.setdefault(one["station"], one)
    return columns | {"read_across": [told[name] for name in StationName if name in told]}


_REBUILT = {"further_stations", "read_across", "hazards", "grain_hand", "crown_side", "seasoning"}


def _stations(rows: Iterable[Mapping[str, Any]]) -> Iterable[Station]:
    for row in rows:
        yield Station(from_butt_mm=_exact(row["from_butt_mm"]), diameter_mm=_exact(row["diameter_mm"]))


def readings_across(rows: Iterable[Mapping[str, Any]]) -> Iterable[ReadAcross]:
    """The stations read twice, from stored rows or those of a body."""
    for row in rows:
        yield ReadAcross(
            station=StationName(row["station"]),
            first_mm=_exact(row["first_mm"]),
            across_mm=_exact(row["across_mm"]),
        )


def _hazards(rows: Iterable[Mapping[str, Any]]) -> Iterable[Hazard]:
    for row in rows:
        face, extent = row.get("face"), row.get("extent_mm")
        yield Hazard(
            kind=HazardKind(row["kind"]),
            from_butt_mm=_exact(row["from_butt_mm"]),
            face=Face(face) if face else None,
            extent_mm=None if extent is None else _exact(extent),
        )


def _number(mm: Decimal) -> int | float:
    """As a JSON number; the repr of a float keeps fifteen digits, a length has eleven."""
    return int(mm) if mm == mm.to_integral_value() else float(mm)


def _exact(number: float | Decimal) -> Decimal:
    return Decimal(str(number))
