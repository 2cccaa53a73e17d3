"""One cell of a chart, read and written: each kind has both here, so that it reads back as written."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.core.chart_line import Face, GrainHand, Hazard, HazardKind, Station
from inventory.core.measure import THICKNESS_UNIT, BadLength, Unit, parse_length, write_length
from inventory.core.weight import Seasoning


class BadCell(ValueError):
    """This cell cannot be read; the text says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """What a plain number in a cell means, and how lengths are written: along the log and across it."""

    along: Unit
    across: Unit
    fraction: int = 8

    @staticmethod
    def of(unit: Unit, *, fraction: int = 8) -> "Units":
        """Units of a chart kept in `unit`: in feet along means inches across, metres mean centimetres."""
        return Units(along=unit, across=THICKNESS_UNIT[unit], fraction=fraction)


@dataclass(frozen=True, slots=True, kw_only=True)
class CellKind:
    """How one kind of cell is read (raises BadCell) and written; `blank` is what an empty cell means."""

    read: Callable[[str, Units], Any]
    write: Callable[[Any, Units], str]
    blank: Any = None


# A spreadsheet runs a cell that begins with one of these as a formula; an apostrophe before it stops that.
# Some spreadsheets take the full-width signs of East Asian writing for the others.
FORMULA_MARKS = ("=", "+", "-", "@", "'", "＝", "＋", "－", "＠")
_HAZARD_WORDS = {kind.value: kind for kind in HazardKind} | {
    "knots": HazardKind.KNOT,
    "nail": HazardKind.METAL,
    "wire": HazardKind.METAL,
    "staple": HazardKind.METAL,
    "rotten": HazardKind.ROT,
    "check": HazardKind.SPLIT,
    "crack": HazardKind.SPLIT,
    "insect": HazardKind.INSECTS,
}
_FACE_WORDS = {face.value: face for face in Face}
_FACE_WORDS |= {
    "up": Face.TOP,
    "down": Face.BOTTOM,
    "t": Face.TOP,
    "b": Face.BOTTOM,
    "l": Face.LEFT,
    "r": Face.RIGHT,
}
_HAND_WORDS = {hand.value: hand for hand in GrainHand}
_HAND_WORDS |= {
    "l": GrainHand.LEFT,
    "r": GrainHand.RIGHT,
    "none": GrainHand.STRAIGHT,
    "s": GrainHand.STRAIGHT,
}
# Written with a blank, as crews write it; a test holds the database to the same.
_SEASONING_WORDS = {one.value.replace("_", " "): one for one in Seasoning}
_SEASONING_WORDS |= {
    "fresh": Seasoning.GREEN,
    "partly_dry": Seasoning.PARTLY_DRY,
    "half dry": Seasoning.PARTLY_DRY,
    "partly seasoned": Seasoning.PARTLY_DRY,
    "seasoned": Seasoning.DRY,
    "air dry": Seasoning.DRY,
}
_YES, _NO = (
    frozenset({"yes", "y", "x", "true", "1", "peeled", "cull", "culled"}),
    frozenset({"no", "n", "false", "0"}),
)
_SIDE = "|".join(_FACE_WORDS.keys() - set("tblr"))
_HAZARD = re.compile(
    rf"(?P<kind>[a-z]+)\s+(?:at\s+)?(?P<at>.+?)"
    rf"(?:\s+(?:face\s+)?(?P<face>{_SIDE})(?:\s+face)?)?(?:\s+extent\s+(?P<extent>.+))?",
    re.IGNORECASE,
)
_SLOPE = re.compile(r"(?:1\s*(?::|/|in)\s*)?([0-9]+(?:[.,][0-9]+)?)", re.IGNORECASE)
_DAY_MONTH_YEAR = re.compile(r"([0-9]{1,2})\.\s*([0-9]{1,2})\.\s*([0-9]{4})")
_ISO_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_BETWEEN = re.compile(r"[;|]")
_ACROSS_EACH_OTHER = re.compile(r"[xX×]")


def unmarked(cell: str) -> str:
    """The text of a cell: blanks at its ends dropped, unless an apostrophe before it keeps it as it is."""
    kept = cell[1:]
    if cell.startswith("'") and (kept.startswith(FORMULA_MARKS) or kept != kept.strip()):
        return kept
    return cell.strip()


def marked(text: str) -> str:
    """The text as a cell that no spreadsheet takes for a formula, and that `unmarked` reads back."""
    return f"'{text}" if text.startswith(FORMULA_MARKS) or text != text.strip() else text


def _read_along(text: str, units: Units) -> Decimal:
    return _read_length(text, units.along)


def _read_across(text: str, units: Units) -> Decimal:
    return _read_length(text, units.across)


def _read_length(text: str, unit: Unit) -> Decimal:
    try:
        return parse_length(text, default_unit=unit)
    except BadLength as bad:
        raise BadCell(bad.reason) from bad


def _write_along(mm: Decimal, units: Units) -> str:
    return write_length(mm, unit=units.along, fraction=units.fraction, exact=True)


def _write_across(mm: Decimal, units: Units) -> str:
    return write_length(mm, unit=units.across, fraction=units.fraction, exact=True)


def _read_twice(text: str, units: Units) -> tuple[Decimal, ...]:
    readings = _ACROSS_EACH_OTHER.split(text)
    if len(readings) > 2:
        raise BadCell("expected a diameter, or two across each other, such as 31 cm x 29.5 cm")
    return tuple(_read_across(one.strip(), units) for one in readings)


def _write_twice(readings_mm: tuple[Decimal, ...], units: Units) -> str:
    return " x ".join(_write_across(one, units) for one in readings_mm)


def _read_stations(text: str, units: Units) -> tuple[Station, ...]:
    stations = []
    for part in _parts(text):
        at, colon, diameter = part.rpartition(":")
        if not colon:
            raise BadCell(f"{part!r} is not a place and a diameter, such as 2.5 m: 31 cm")
        stations.append(
            Station(from_butt_mm=_read_along(at, units), diameter_mm=_read_across(diameter, units))
        )
    return tuple(stations)


def _write_stations(stations: tuple[Station, ...], units: Units) -> str:
    return "; ".join(
        f"{_write_along(one.from_butt_mm, units)}: {_write_across(one.diameter_mm, units)}"
        for one in stations
    )


def _read_hazards(text: str, units: Units) -> tuple[Hazard, ...]:
    return tuple(_read_hazard(part, units) for part in _parts(text))


def _read_hazard(text: str, units: Units) -> Hazard:
    found = _HAZARD.fullmatch(text)
    kind = _HAZARD_WORDS.get(found["kind"].lower()) if found else None
    if not found or not kind:
        kinds = ", ".join(HazardKind)
        raise BadCell(
            f"{text!r} is not a danger and its distance from the butt, such as metal 14' 2\" ({kinds})"
        )
    return Hazard(
        kind=kind,
        from_butt_mm=_read_along(found["at"], units),
        face=_FACE_WORDS[found["face"].lower()] if found["face"] else None,
        extent_mm=_read_across(found["extent"], units) if found["extent"] else None,
    )


def _write_hazards(hazards: tuple[Hazard, ...], units: Units) -> str:
    return "; ".join(
        f"{one.kind} {_write_along(one.from_butt_mm, units)}"
        + (f" face {one.face}" if one.face else "")
        + (f" extent {_write_across(one.extent_mm, units)}" if one.extent_mm is not None else "")
        for one in hazards
    )


def _parts(text: str) -> list[str]:
    return [part.strip() for part in _BETWEEN.split(text) if part.strip()]


def _read_slope(text: str, _: Units) -> Decimal:
    found = _SLOPE.fullmatch(text)
    if not found or len(text) > 20:
        raise BadCell("expected the run for one across, such as 1 in 20")
    return Decimal(found[1].replace(",", "."))


def _write_slope(slope: Decimal, _: Units) -> str:
    # Not 1/20 or 1:20, which a spreadsheet turns into a date or a time.
    return f"1 in {slope:f}"


def _one_of(words: dict[str, Any], text: str) -> Any:
    try:
        return words[text.lower()]
    except KeyError:
        known = ", ".join(dict.fromkeys(str(word) for word in words.values()))
        raise BadCell(f"expected one of {known}") from None


def _read_yes(text: str, _: Units) -> bool:
    if text.lower() in _YES:
        return True
    if text.lower() in _NO:
        return False
    raise BadCell("expected yes or no")


def _read_date(text: str, _: Units) -> date:
    try:
        if found := _DAY_MONTH_YEAR.fullmatch(text):
            return date(int(found[3]), int(found[2]), int(found[1]))
        if _ISO_DATE.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError as bad:
        raise BadCell(f"there is no such day ({bad})") from bad
    raise BadCell("expected a date such as 2026-05-14 or 14.5.2026")


# Text is unmarked by the reader of the chart before any kind sees it.
NAME = CellKind(read=lambda text, _: text, write=lambda name, _: marked(name or ""))
TEXT = CellKind(read=lambda text, _: text, write=lambda text, _: marked(text), blank="")
ALONG = CellKind(read=_read_along, write=_write_along)
ACROSS = CellKind(read=_read_across, write=_write_across)
# A diameter, or two across each other: the one kind whose value is not that of its field.
TWICE = CellKind(read=_read_twice, write=_write_twice)
STATIONS = CellKind(read=_read_stations, write=_write_stations, blank=())
HAZARDS = CellKind(read=_read_hazards, write=_write_hazards, blank=())
SLOPE = CellKind(read=_read_slope, write=_write_slope)
SIDE = CellKind(read=lambda text, _: _one_of(_FACE_WORDS, text), write=lambda face, _: str(face))
HAND = CellKind(read=lambda text, _: _one_of(_HAND_WORDS, text), write=lambda hand, _: str(hand))
YES = CellKind(read=_read_yes, write=lambda yes, _: "yes" if yes else "no", blank=False)
# Written only: `put_aside` as people say it.
STATE = CellKind(read=lambda text, _: text, write=lambda state, _: state.replace("_", " "), blank="")
SEASONING = CellKind(
    read=lambda text, _: _one_of(_SEASONING_WORDS, text), write=lambda how, _: str(how).replace("_", " ")
)
DAY = CellKind(read=_read_date, write=lambda day, _: day.isoformat())
