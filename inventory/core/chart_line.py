"""One line of a chart: everything a crew writes down about one log, and what can be said about a line."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from typing import Any

from inventory.core import profile
from inventory.core.measure import STORED_PLACES
from inventory.core.profile import LogProfile, profile_of
from inventory.core.weight import Seasoning

STATION_INSET_MM = Decimal(profile.STATION_INSET_MM)


class Face(StrEnum):
    """A side of the log as charted, seen from its butt."""

    TOP = "top"
    RIGHT = "right"
    BOTTOM = "bottom"
    LEFT = "left"


class GrainHand(StrEnum):
    """Which way the grain winds, hand laid along the log."""

    LEFT = "left"
    RIGHT = "right"
    STRAIGHT = "straight"


class HazardKind(StrEnum):
    """What a saw or a notch must not meet."""

    METAL = "metal"
    KNOT = "knot"
    ROT = "rot"
    SHAKE = "shake"
    SPLIT = "split"
    INSECTS = "insects"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A danger in the log; `extent_mm` runs on from `from_butt_mm` toward the tip."""

    kind: HazardKind
    from_butt_mm: Decimal
    face: Face | None = None
    extent_mm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A further diameter, taken anywhere along the log."""

    from_butt_mm: Decimal
    diameter_mm: Decimal


class StationName(StrEnum):
    """Where on every log a diameter is taken."""

    BUTT = "butt"
    MIDDLE = "middle"
    TIP = "tip"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadAcross:
    """Two readings of one station, across each other; an oval log's diameter is the mean of both."""

    station: StationName
    first_mm: Decimal
    across_mm: Decimal

    @property
    def mean_mm(self) -> Decimal:
        """What counts as the station's diameter, with five places."""
        return ((self.first_mm + self.across_mm) / 2).quantize(STORED_PLACES, rounding=ROUND_HALF_UP)

    @property
    def difference_mm(self) -> Decimal:
        """How oval the log is there."""
        return abs(self.first_mm - self.across_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartLine:
    """One log as charted. None: not written down. `grain_slope` is the run for one across: 20 for 1 in 20.

    A crown of 0 was looked at and is straight; nobody looked at one of None, nor at a grain without a hand.
    `state` is only written, for whoever reads the chart: no chart changes it.

    For a log sawn on two faces the diameters are heights of the face; `sawn_face_height_mm` is its height at
    mid-length if it was measured on its own, `sawn_thickness_mm` the distance between the faces.
    """

    number: str
    length_mm: Decimal
    butt_mm: Decimal
    middle_mm: Decimal
    tip_mm: Decimal
    rack: str | None = None
    species: str | None = None
    station_inset_mm: Decimal = STATION_INSET_MM
    further_stations: tuple[Station, ...] = ()
    read_across: tuple[ReadAcross, ...] = ()
    crown_mm: Decimal | None = None
    crown_side: Face | None = None
    crown_at_mm: Decimal | None = None
    crook_mm: Decimal | None = None
    crook_at_mm: Decimal | None = None
    grain_hand: GrainHand | None = None
    grain_slope: Decimal | None = None
    hazards: tuple[Hazard, ...] = ()
    sawn_face_height_mm: Decimal | None = None
    sawn_thickness_mm: Decimal | None = None
    mill_tag: str = ""
    peeled: bool = False
    seasoning: Seasoning | None = None
    felled_on: date | None = None
    culled: bool = False
    charted_by: str = ""
    charted_on: date | None = None
    remarks: str = ""
    state: str = ""

    def readings_mm(self, station: StationName) -> tuple[Decimal, ...]:
        """What was read at a station: one diameter, or two across each other."""
        twice = next((one for one in self.read_across if one.station == station), None)
        return (self.diameter_mm(station),) if twice is None else (twice.first_mm, twice.across_mm)

    def diameter_mm(self, station: StationName) -> Decimal:
        """What counts as the diameter of a station."""
        return {
            StationName.BUTT: self.butt_mm,
            StationName.MIDDLE: self.middle_mm,
            StationName.TIP: self.tip_mm,
        }[station]


def with_means(line: ChartLine, *, held: Collection[ReadAcross] = ()) -> ChartLine:
    """The line with the mean for the diameter of each station that was read twice.

    Either reading may stand for the mean there. Where neither does, the two readings go if they are `held`:
    the diameter was taken anew since; else the line has a fault.
    """
    kept: list[ReadAcross] = []
    means: dict[str, Any] = {}
    for one in line.read_across:
        if line.diameter_mm(one.station) in (one.mean_mm, one.first_mm, one.across_mm):
            means[f"{one.station}_mm"] = one.mean_mm
        elif one in held:
            continue
        kept.append(one)
    return replace(line, read_across=tuple(kept), **means)


class Code(StrEnum):
    """What is wrong or doubtful, in one word for a program."""

    UNREADABLE_FILE = "unreadable_file"
    NO_LOGS = "no_logs"
    MISSING_COLUMN = "missing_column"
    COLUMN_TWICE = "column_twice"
    COLUMN_NOT_READ = "column_not_read"
    EXTRA_CELLS = "extra_cells"
    MISSING_VALUE = "missing_value"
    UNREADABLE_VALUE = "unreadable_value"
    TEXT_TOO_LONG = "text_too_long"
    NUMBER_TWICE = "number_twice"
    UNKNOWN_RACK = "unknown_rack"
    UNKNOWN_SPECIES = "unknown_species"
    LENGTH_OUT_OF_REASON = "length_out_of_reason"
    DIAMETER_OUT_OF_REASON = "diameter_out_of_reason"
    BUTT_THINNER_THAN_TIP = "butt_thinner_than_tip"
    MIDDLE_OUTSIDE_ENDS = "middle_outside_ends"
    STATION_OUTSIDE_LOG = "station_outside_log"
    HAZARD_OUTSIDE_LOG = "hazard_outside_log"
    BOW_OUT_OF_REASON = "bow_out_of_reason"
    GRAIN_OUT_OF_REASON = "grain_out_of_reason"
    FACES_INCOMPLETE = "faces_incomplete"
    LENGTH_UNUSUAL = "length_unusual"
    DIAMETER_UNUSUAL = "diameter_unusual"
    MIDDLE_OVER_BUTT = "middle_over_butt"
    MIDDLE_UNDER_TIP = "middle_under_tip"
    TAPER_STRONG = "taper_strong"
    STATION_OFF_THE_LINE = "station_off_the_line"
    BOW_LARGE = "bow_large"
    GRAIN_STEEP = "grain_steep"
    GRAIN_HAND_MISSING = "grain_hand_missing"
    FACE_OFF_THE_MIDDLE = "face_off_the_middle"
    READ_TWICE = "read_twice"
    NOT_THE_MEAN = "not_the_mean"
    OVAL = "oval"
    FELLED_AFTER_CHARTED = "felled_after_charted"


def profile_of_line(line: ChartLine) -> LogProfile:
    """The diameters of a charted log along its length, in float mm. Raises BadProfile."""
    return profile_of(
        length_mm=float(line.length_mm),
        butt_mm=float(line.butt_mm),
        middle_mm=float(line.middle_mm),
        tip_mm=float(line.tip_mm),
        station_inset_mm=float(line.station_inset_mm),
        further=[(float(one.from_butt_mm), float(one.diameter_mm)) for one in line.further_stations],
        sawn_thickness_mm=None if line.sawn_thickness_mm is None else float(line.sawn_thickness_mm),
    )
