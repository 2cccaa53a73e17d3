"""When a charted log cannot be (a fault) and when it can but someone should look again (a doubt).

The limits are common practice, no source: wide enough for a real yard, narrow enough to catch a slip of the
pencil, a wrong unit or two columns swapped.
"""

from collections.abc import Iterator
from dataclasses import fields
from decimal import Decimal

from inventory.core.chart_line import (
    ChartLine,
    Code,
    Hazard,
    ReadAcross,
    Station,
    profile_of_line,
)
from inventory.core.crew_units import IN_MM, CrewUnits
from inventory.core.finding import Finding
from inventory.core.measure import LONGEST_MM
from inventory.core.profile import BadProfile

SHORTEST_LOG_MM, LONGEST_LOG_MM = Decimal(300), Decimal(30_000)
SHORT_LOG_MM, LONG_LOG_MM = Decimal(1_000), Decimal(16_000)
THINNEST_MM, THICKEST_MM = Decimal(40), Decimal(1_500)
THIN_MM, THICK_MM = Decimal(100), Decimal(700)
# Flare makes a middle thinner than the mean of its ends, down to the tip, never thicker than the butt. What
# else puts it outside them is a swelling at a knot, and the error of reading.
MIDDLE_OVER_BUTT_SHARE, MIDDLE_OVER_BUTT_MM = Decimal("0.10"), Decimal(25)
MIDDLE_UNDER_TIP_SHARE, MIDDLE_UNDER_TIP_MM = Decimal("0.05"), Decimal(12)
STRONG_TAPER = Decimal("0.025")  # 25 mm per m; forest-grown wall logs lose about 8 to 12
FURTHER_OUTSIDE_SHARE = Decimal("0.15")
LARGE_BOW_SHARE, LARGEST_BOW_SHARE = Decimal("0.02"), Decimal("0.10")  # of the length
STEEPEST_GRAIN, STEEP_GRAIN = Decimal(1), Decimal(5)
FACE_OFF_THE_MIDDLE_MM = Decimal(12)
OVAL_SHARE = Decimal("0.12")  # of the mean: more is oftener a knot under the caliper than an oval log
_FIELDS = [field.name for field in fields(ChartLine)]
LONGEST_TEXT = {
    "number": 40,
    "rack": 80,
    "species": 80,
    "mill_tag": 200,
    "charted_by": 80,
    "remarks": 2_000,
}


def faults_of_line(line: ChartLine, *, units: CrewUnits = IN_MM) -> tuple[Finding, ...]:
    """Everything about this line that cannot be; such a line is not stored. Lengths are shown in `units`."""
    findings = (*_text_faults(line), *_number_faults(line))
    if findings:
        return findings
    findings = (*_length_faults(line, units), *_diameter_faults(line, units))
    if findings:
        return findings
    rules = (
        _across_faults,
        _end_faults,
        _station_faults,
        _hazard_faults,
        _bow_faults,
        _grain_faults,
        _face_faults,
    )
    return tuple(finding for rule in rules for finding in rule(line, units))


def doubts_of_line(line: ChartLine, *, units: CrewUnits = IN_MM) -> tuple[Finding, ...]:
    """What is possible but doubtful about a line without faults, for a person to confirm."""
    rules = (
        _size_doubts,
        _across_doubts,
        _end_doubts,
        _taper_doubts,
        _station_doubts,
        _bow_doubts,
        _grain_doubts,
        _face_doubts,
        _felling_doubts,
    )
    return tuple(finding for rule in rules for finding in rule(line, units))


def _text_faults(line: ChartLine) -> Iterator[Finding]:
    for field, longest in LONGEST_TEXT.items():
        text = getattr(line, field) or ""
        if len(text) > longest:
            wrong = f"it is longer than {longest} characters"
            yield Finding(pointer=f"/{field}", code=Code.TEXT_TOO_LONG, read=text[:40] + "…", text=wrong)
        if "\0" in text or (field != "remarks" and len(text.splitlines()) > 1):
            wrong = "it is not one line of text"
            yield Finding(pointer=f"/{field}", code=Code.UNREADABLE_VALUE, read=repr(text[:40]), text=wrong)
    if not line.number.strip():
        yield Finding(pointer="/number", code=Code.MISSING_VALUE, read="", text="a log has a number")


def _number_faults(line: ChartLine) -> Iterator[Finding]:
    """Not a number, or less than nothing: what no later rule could compare."""
    values: list[tuple[str, Decimal]] = []
    for name in _FIELDS:
        value = getattr(line, name)
        if isinstance(value, Decimal):
            values.append((name, value))
        elif isinstance(value, tuple):
            values += [(name, number) for one in value for number in _numbers_of(one)]
    for name, number in values:
        if not number.is_finite() or not 0 <= number <= LONGEST_MM / 2:
            wrong = "it is no number that a log could have"
            yield Finding(pointer=f"/{name}", code=Code.UNREADABLE_VALUE, read=str(number), text=wrong)


def _numbers_of(one: Station | Hazard | ReadAcross) -> list[Decimal]:
    if isinstance(one, ReadAcross):
        return [one.first_mm, one.across_mm]
    if isinstance(one, Station):
        return [one.from_butt_mm, one.diameter_mm]
    return [one.from_butt_mm] if one.extent_mm is None else [one.from_butt_mm, one.extent_mm]


def _length_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    if not SHORTEST_LOG_MM <= line.length_mm <= LONGEST_LOG_MM:
        yield Finding(
            pointer="/length_mm",
            code=Code.LENGTH_OUT_OF_REASON,
            read=units.along(line.length_mm),
            text=f"a log is {units.along(SHORTEST_LOG_MM)} to {units.along(LONGEST_LOG_MM)} long",
        )


def _diameters(line: ChartLine) -> Iterator[tuple[str, Decimal]]:
    yield from (("butt_mm", line.butt_mm), ("middle_mm", line.middle_mm), ("tip_mm", line.tip_mm))
    yield from (("further_stations", one.diameter_mm) for one in line.further_stations)


def _diameter_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    for field, diameter in _diameters(line):
        if not THINNEST_MM <= diameter <= THICKEST_MM:
            yield Finding(
                pointer=f"/{field}",
                code=Code.DIAMETER_OUT_OF_REASON,
                read=units.across(diameter),
                text=f"a log is {units.across(THINNEST_MM)} to {units.across(THICKEST_MM)} thick",
            )


def _across_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    stations = [one.station for one in line.read_across]
    for one in line.read_across:
        field, read = f"{one.station}_mm", f"{units.across(one.first_mm)} x {units.across(one.across_mm)}"
        if stations.count(one.station) > 1:
            wrong = "its two readings are written down twice"
            yield Finding(pointer=f"/{field}", code=Code.READ_TWICE, read=read, text=wrong)
        elif not all(THINNEST_MM <= mm <= THICKEST_MM for mm in (one.first_mm, one.across_mm)):
            wrong = f"a log is {units.across(THINNEST_MM)} to {units.across(THICKEST_MM)} thick"
            yield Finding(pointer=f"/{field}", code=Code.DIAMETER_OUT_OF_REASON, read=read, text=wrong)
        elif line.diameter_mm(one.station) != one.mean_mm:
            wrong = (
                f"{units.across(line.diameter_mm(one.station))} is neither of its two readings nor their mean"
            )
            yield Finding(pointer=f"/{field}", code=Code.NOT_THE_MEAN, read=read, text=wrong)


def _across_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    for one in line.read_across:
        if one.difference_mm > one.mean_mm * OVAL_SHARE:
            read = f"{units.across(one.first_mm)} x {units.across(one.across_mm)}"
            wrong = (
                f"the two readings are {units.across(one.difference_mm)} apart: read both again beside any "
                "knot; where the log is so oval, its height in the wall follows from how it is turned"
            )
            yield Finding(pointer=f"/{one.station}_mm", code=Code.OVAL, read=read, text=wrong)


def _middle_range(line: ChartLine) -> tuple[Decimal, Decimal]:
    """The thinnest and the thickest middle that a log with such ends can have."""
    under = max(MIDDLE_UNDER_TIP_MM, line.tip_mm * MIDDLE_UNDER_TIP_SHARE)
    over = max(MIDDLE_OVER_BUTT_MM, line.butt_mm * MIDDLE_OVER_BUTT_SHARE)
    return line.tip_mm - under, line.butt_mm + over


def _end_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    thinnest, thickest = _middle_range(line)
    if line.butt_mm >= line.tip_mm and thinnest <= line.middle_mm <= thickest:
        return
    butt, middle, tip = units.across(line.butt_mm), units.across(line.middle_mm), units.across(line.tip_mm)
    if line.butt_mm < line.tip_mm:
        wrong = f"the butt is thinner than the tip, {tip}"
        yield Finding(pointer="/butt_mm", code=Code.BUTT_THINNER_THAN_TIP, read=butt, text=wrong)
    else:
        wrong = f"the middle lies outside its ends, {butt} and {tip}, by more than flare explains"
        yield Finding(pointer="/middle_mm", code=Code.MIDDLE_OUTSIDE_ENDS, read=middle, text=wrong)


def _station_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    code = Code.STATION_OUTSIDE_LOG
    if line.station_inset_mm * 2 >= line.length_mm:
        wrong = f"so far from both ends leaves nothing of a log of {units.along(line.length_mm)}"
        read = units.across(line.station_inset_mm)
        yield Finding(pointer="/station_inset_mm", code=code, read=read, text=wrong)
        return
    for one in line.further_stations:
        if one.from_butt_mm > line.length_mm:
            wrong = f"the log is only {units.along(line.length_mm)} long"
            read = units.along(one.from_butt_mm)
            yield Finding(pointer="/further_stations", code=code, read=read, text=wrong)
            return
    try:
        profile_of_line(line)
    except BadProfile as bad:
        field = "further_stations" if line.further_stations else "tip_mm"
        read = ", ".join(units.across(diameter) for _, diameter in _diameters(line))
        yield Finding(pointer=f"/{field}", code=code, read=read, text=units.say(bad))


def _hazard_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    for hazard in line.hazards:
        reach = hazard.from_butt_mm + (hazard.extent_mm or 0)
        if reach > line.length_mm:
            wrong = f"it reaches {units.along(reach)} from the butt of a log of {units.along(line.length_mm)}"
            read = f"{hazard.kind} {units.along(hazard.from_butt_mm)}"
            yield Finding(pointer="/hazards", code=Code.HAZARD_OUTSIDE_LOG, read=read, text=wrong)


def _bows(line: ChartLine) -> tuple[tuple[str, Decimal | None, str, Decimal | None], ...]:
    return (
        ("crown_mm", line.crown_mm, "crown_at_mm", line.crown_at_mm),
        ("crook_mm", line.crook_mm, "crook_at_mm", line.crook_at_mm),
    )


def _bow_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    for field, amount, at_field, at in _bows(line):
        if amount is not None and amount > line.length_mm * LARGEST_BOW_SHARE:
            wrong = f"so much in {units.along(line.length_mm)} is out of any reason"
            read = units.across(amount)
            yield Finding(pointer=f"/{field}", code=Code.BOW_OUT_OF_REASON, read=read, text=wrong)
        if at is not None and at > line.length_mm:
            wrong = f"the log is only {units.along(line.length_mm)} long"
            yield Finding(
                pointer=f"/{at_field}", code=Code.BOW_OUT_OF_REASON, read=units.along(at), text=wrong
            )


def _grain_faults(line: ChartLine, _units: CrewUnits) -> Iterator[Finding]:
    if line.grain_slope is not None and line.grain_slope < STEEPEST_GRAIN:
        wrong = "grain does not wind more than 1 in 1; write the run for one across, as 1 in 20"
        read = str(line.grain_slope)
        yield Finding(pointer="/grain_slope", code=Code.GRAIN_OUT_OF_REASON, read=read, text=wrong)


def _face_faults(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    if line.sawn_thickness_mm is None and line.sawn_face_height_mm is not None:
        wrong = "a sawn log needs the thickness between its faces as well"
        read = units.across(line.sawn_face_height_mm)
        yield Finding(pointer="/sawn_thickness_mm", code=Code.FACES_INCOMPLETE, read=read, text=wrong)
    elif line.sawn_thickness_mm is not None and not THINNEST_MM <= line.sawn_thickness_mm <= THICKEST_MM:
        wrong = f"a log is {units.across(THINNEST_MM)} to {units.across(THICKEST_MM)} thick"
        read = units.across(line.sawn_thickness_mm)
        yield Finding(pointer="/sawn_thickness_mm", code=Code.DIAMETER_OUT_OF_REASON, read=read, text=wrong)


def _size_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    if not SHORT_LOG_MM <= line.length_mm <= LONG_LOG_MM:
        wrong = f"most logs are {units.along(SHORT_LOG_MM)} to {units.along(LONG_LOG_MM)} long"
        read = units.along(line.length_mm)
        yield Finding(pointer="/length_mm", code=Code.LENGTH_UNUSUAL, read=read, text=wrong)
    for field, diameter in _diameters(line):
        if not THIN_MM <= diameter <= THICK_MM:
            wrong = f"most logs are {units.across(THIN_MM)} to {units.across(THICK_MM)} thick"
            yield Finding(
                pointer=f"/{field}", code=Code.DIAMETER_UNUSUAL, read=units.across(diameter), text=wrong
            )


def _end_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    middle = units.across(line.middle_mm)
    if line.middle_mm > line.butt_mm:
        wrong = f"the middle is thicker than the butt, {units.across(line.butt_mm)}"
        yield Finding(pointer="/middle_mm", code=Code.MIDDLE_OVER_BUTT, read=middle, text=wrong)
    elif line.middle_mm < line.tip_mm:
        wrong = f"the middle is thinner than the tip, {units.across(line.tip_mm)}"
        yield Finding(pointer="/middle_mm", code=Code.MIDDLE_UNDER_TIP, read=middle, text=wrong)


def _taper_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    between = line.length_mm - 2 * line.station_inset_mm
    if line.butt_mm - line.tip_mm > between * STRONG_TAPER:
        wrong = f"from butt {units.across(line.butt_mm)} it is an unusually strong taper"
        yield Finding(pointer="/tip_mm", code=Code.TAPER_STRONG, read=units.across(line.tip_mm), text=wrong)


def _station_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    thickest = max(line.butt_mm, line.middle_mm) * (1 + FURTHER_OUTSIDE_SHARE)
    thinnest = min(line.tip_mm, line.middle_mm) * (1 - FURTHER_OUTSIDE_SHARE)
    for one in line.further_stations:
        if not thinnest <= one.diameter_mm <= thickest:
            read = f"{units.along(one.from_butt_mm)}: {units.across(one.diameter_mm)}"
            wrong = "it lies far outside the butt, middle and tip"
            yield Finding(pointer="/further_stations", code=Code.STATION_OFF_THE_LINE, read=read, text=wrong)


def _bow_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    for field, amount, _, _ in _bows(line):
        if amount is not None and amount > line.length_mm * LARGE_BOW_SHARE:
            wrong = f"it is unusually much in {units.along(line.length_mm)}"
            yield Finding(pointer=f"/{field}", code=Code.BOW_LARGE, read=units.across(amount), text=wrong)


def _grain_doubts(line: ChartLine, _units: CrewUnits) -> Iterator[Finding]:
    if line.grain_slope is None:
        return
    read = f"1 in {line.grain_slope:f}"
    if line.grain_slope < STEEP_GRAIN:
        wrong = "it is unusually steep for a log that is to lie in a wall"
        yield Finding(pointer="/grain_slope", code=Code.GRAIN_STEEP, read=read, text=wrong)
    if line.grain_hand is None:
        wrong = "a slope of grain says little without its hand, left or right"
        yield Finding(pointer="/grain_hand", code=Code.GRAIN_HAND_MISSING, read=read, text=wrong)


def _face_doubts(line: ChartLine, units: CrewUnits) -> Iterator[Finding]:
    height = line.sawn_face_height_mm
    if height is not None and abs(height - line.middle_mm) > FACE_OFF_THE_MIDDLE_MM:
        wrong = (
            f"the middle of a sawn log is the height of its face, and it reads {units.across(line.middle_mm)}"
        )
        code = Code.FACE_OFF_THE_MIDDLE
        yield Finding(pointer="/sawn_face_height_mm", code=code, read=units.across(height), text=wrong)


def _felling_doubts(line: ChartLine, _: CrewUnits) -> Iterator[Finding]:
    if line.felled_on and line.charted_on and line.felled_on > line.charted_on:
        wrong = f"the log was charted before, on {line.charted_on.isoformat()}"
        code = Code.FELLED_AFTER_CHARTED
        yield Finding(pointer="/felled_on", code=code, read=line.felled_on.isoformat(), text=wrong)
