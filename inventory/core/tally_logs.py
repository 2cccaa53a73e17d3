"""A tallied log as a charted one: what the mill did not measure follows from the usual taper and flare."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from inventory.core.chart_line import STATION_INSET_MM, ChartLine
from inventory.core.chart_rules import faults_of_line
from inventory.core.crew_units import CrewUnits
from inventory.core.finding import Finding

# By how much a middle lies below the mean of its ends, as a share of what the log loses from butt to tip: the
# mean of logs of 4 to 8 m cut within a metre of the ground, from the published stems of timbeR (8 loblolly
# pines) and dyntaper (10 eucalypts), both MIT, is 0.106 in each. Logs from farther up have next to none.
FLARE_SHARE = Decimal("0.10")
_PLACES = Decimal("0.00001")
_SCALED = Decimal("0.0001")  # board feet and cubic metres as a mill scales one log


@dataclass(frozen=True, slots=True, kw_only=True)
class TallyRow:
    """One row of a tally: the mill's figures for a log, or for `count` alike; None: not in the tally.

    `board_feet` and `volume_m3` are those of the whole row.
    """

    row: int
    length_mm: Decimal
    number: str = ""
    count: int = 1
    line: int | None = None
    species: str = ""
    butt_mm: Decimal | None = None
    middle_mm: Decimal | None = None
    tip_mm: Decimal | None = None
    sawn_thickness_mm: Decimal | None = None
    board_feet: Decimal | None = None
    volume_m3: Decimal | None = None
    remarks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Diameters:
    """Butt, middle and tip of a tallied log, measured or from the taper, and how far in the ends lie."""

    butt_mm: Decimal
    middle_mm: Decimal
    tip_mm: Decimal
    station_inset_mm: Decimal


def diameters_of(row: TallyRow, *, taper_mm_per_m: float) -> Diameters:
    """The three diameters, with those that the mill did not measure.

    Between two ends the middle is their mean less the usual flare, never more than the mean: a butt flares.
    Beside one diameter only, the others follow by an even taper. Raises ValueError for a row without any.
    """
    inset = min(STATION_INSET_MM, row.length_mm / 4)
    run_off = Decimal(repr(taper_mm_per_m)) * (row.length_mm / 2 - inset) / 1000
    butt, middle, tip = row.butt_mm, row.middle_mm, row.tip_mm
    if middle is None:
        if tip is not None and butt is not None:
            middle = (butt + tip) / 2 - FLARE_SHARE * max(butt - tip, Decimal(0))
        elif tip is not None:
            middle = tip + run_off
        elif butt is not None:
            middle = butt - run_off
        else:
            raise ValueError("a tallied log has a diameter")
    return Diameters(
        butt_mm=_stored(middle + run_off if butt is None else butt),
        middle_mm=_stored(middle),
        tip_mm=_stored(middle - run_off if tip is None else tip),
        station_inset_mm=_stored(inset),
    )


def logs_of_row(row: TallyRow) -> Iterator[TallyRow]:
    """Each log of a row on its own; what the mill scaled for the row is shared out so that it adds up."""
    for index in range(row.count):
        yield replace(
            row,
            count=1,
            board_feet=_part(row.board_feet, index, row.count),
            volume_m3=_part(row.volume_m3, index, row.count),
        )


def _part(total: Decimal | None, index: int, count: int) -> Decimal | None:
    if total is None:
        return None
    before, with_it = (
        (total * n / count).quantize(_SCALED, rounding=ROUND_HALF_UP) for n in (index, index + 1)
    )
    return with_it - before


def line_of_row(row: TallyRow, *, number: str, taper_mm_per_m: float) -> ChartLine:
    """The log as a line of a chart, under the number it gets in the yard."""
    found = diameters_of(row, taper_mm_per_m=taper_mm_per_m)
    return ChartLine(
        number=number,
        length_mm=row.length_mm,
        butt_mm=found.butt_mm,
        middle_mm=found.middle_mm,
        tip_mm=found.tip_mm,
        station_inset_mm=found.station_inset_mm,
        sawn_thickness_mm=row.sawn_thickness_mm,
        mill_tag=row.number,
        remarks=row.remarks,
        peeled=True,
    )


def faults_of_row(row: TallyRow, *, taper_mm_per_m: float, units: CrewUnits) -> tuple[Finding, ...]:
    """Why such a log cannot be, by the rules of a chart."""
    return faults_of_line(line_of_row(row, number="1", taper_mm_per_m=taper_mm_per_m), units=units)


def _stored(mm: Decimal) -> Decimal:
    return mm.quantize(_PLACES, rounding=ROUND_HALF_UP)
