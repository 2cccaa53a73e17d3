"""What three readings of a log tell, against stems that were measured at many heights."""

import math
from collections import defaultdict
from collections.abc import Iterator

from inventory.core.profile import (
    BETWEEN_READINGS_RMS_MM,
    LogProfile,
    diameter_mm_at,
    profile_of,
    section_area_mm2_at,
)
from inventory.core.tally_logs import FLARE_SHARE
from inventory.core.volume import huber_mm3, newton_mm3, smalian_mm3, volume_mm3
from tests.outside.check_volume import STEMS, stems
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of

MEASURED = "stems of timbeR and dyntaper (MIT), measured at 9 to 17 heights each"
INSET_MM = 305.0
# A stump of a foot, then logs of the lengths that a stem gives; no log goes on where it is thinner than this.
STUMP_MM, THINNEST_MM = 300.0, 80.0
# A diameter measured so near to a reading tells nothing of what lies between the readings.
TOO_NEAR_MM = 150.0


def logs_of(file: str, *, log_mm: float) -> Iterator[tuple[str, bool, float, LogProfile, LogProfile]]:
    """Each log cut one after the other from each stem: its name, whether it is a butt log, where it begins,
    the stem, and the log as a crew reads it: three diameters.
    """
    for tree, (_, stem) in stems(file).items():
        for number in range(4):
            start = STUMP_MM + number * log_mm
            if start + log_mm > stem.length_mm:
                break
            butt, middle, tip = (
                diameter_mm_at(stem, start + at) for at in (INSET_MM, log_mm / 2, log_mm - INSET_MM)
            )
            if tip < THINNEST_MM:
                break
            log = profile_of(length_mm=log_mm, butt_mm=butt, middle_mm=middle, tip_mm=tip)
            yield f"{file} {tree}, log {number + 1}", number == 0, start, stem, log


def between_readings(*, is_butt: bool, log_mm: float) -> Iterator[tuple[str, float, float]]:
    """Name, our diameter and the measured one, wherever a stem was measured between a log's readings."""
    for file in STEMS:
        for label, is_butt_log, start, stem, log in logs_of(file, log_mm=log_mm):
            if is_butt_log is is_butt:
                for height, measured in stem.stations:
                    at = height - start
                    near = min(abs(at - station) for station, _ in log.stations)
                    if 0 <= at <= log.length_mm and near > TOO_NEAR_MM:
                        yield f"{label}, {at:.0f} mm in", diameter_mm_at(log, at), measured


def rms_mm(pairs: Iterator[tuple[str, float, float]]) -> float:
    """Root of the mean square of what ours stands off."""
    squares = [(ours - measured) ** 2 for _, ours, measured in pairs]
    return math.sqrt(sum(squares) / len(squares))


@outside_check(
    what="Diameter between three readings of a butt log of 6 m, from a stump of a foot",
    source=MEASURED,
    mark="seen",
    kind="measured",
    unit="%",
    limit=15,
)
def between_readings_of_butt_logs() -> list[Compared]:
    """Straight lines between the readings; the flare is what they miss."""
    return [
        against_percent(label, ours=ours, theirs=measured)
        for label, ours, measured in between_readings(is_butt=True, log_mm=6000)
    ]


@outside_check(
    what="Diameter between three readings of a log of 4 m above the butt log",
    source=MEASURED,
    mark="seen",
    kind="measured",
    unit="%",
    limit=6,
)
def between_readings_above() -> list[Compared]:
    """Straight lines between the readings."""
    return [
        against_percent(label, ours=ours, theirs=measured)
        for label, ours, measured in between_readings(is_butt=False, log_mm=4000)
    ]


@outside_check(
    what="How far a butt log stands off the lines between its readings, rms, as a piece's answer says it: "
    "logs of 4, 6 and 8 m, least and most",
    source=MEASURED,
    mark="seen",
    kind="measured",
    unit="%",
    limit=10,
)
def said_between_readings() -> list[Compared]:
    """The two ends of the range that is said."""
    found = [rms_mm(between_readings(is_butt=True, log_mm=length)) for length in (4000, 6000, 8000)]
    return [
        against_percent(label, ours=ours, theirs=theirs)
        for label, ours, theirs in zip(
            ("least", "most"), BETWEEN_READINGS_RMS_MM, (min(found), max(found)), strict=True
        )
    ]


@outside_check(
    what="Volume of a log of 4 m by its three readings, against frustums through every measured diameter",
    source=MEASURED,
    mark="seen",
    kind="measured",
    unit="%",
    limit=6,
    decides="price",
)
def volume_by_three_readings() -> list[Compared]:
    """Butt logs and those above."""
    return [
        against_percent(
            label,
            ours=volume_mm3(log),
            theirs=volume_mm3(stem, from_butt_mm=start, to_mm=start + log.length_mm),
        )
        for file in STEMS
        for label, _, start, stem, log in logs_of(file, log_mm=4000)
    ]


@outside_check(
    what="Flare of butt logs of 4 to 8 m: middle below the mean of the ends, as a share of the taper",
    source=MEASURED,
    mark="seen",
    kind="measured",
    unit="of the taper",
    limit=0.01,
)
def flare_of_butt_logs() -> list[Compared]:
    """The share that a tally's middle is taken by, against the mean over all such logs of a set of stems."""
    compared = []
    for file in STEMS:
        shares = [share for _, stem in stems(file).values() for share in _flares(stem)]
        mean = sum(shares) / len(shares)
        compared.append(against(file, ours=float(FLARE_SHARE), theirs=mean))
    return compared


def _flares(stem: LogProfile) -> list[float]:
    """Of every log from within a metre of the ground whose tip is 10 cm or more, ends a foot in."""
    found = []
    for start in (200.0, 700.0):
        for length in (4000.0, 6000.0, 8000.0):
            stations = (start + INSET_MM, start + length / 2, start + length - INSET_MM)
            if stations[-1] <= stem.length_mm:
                butt, middle, tip = (diameter_mm_at(stem, at) for at in stations)
                if tip >= 100:
                    found.append(((butt + tip) / 2 - middle) / (butt - tip))
    return found


@outside_check(
    what="Errors of Smalian, Huber and Newton on measured stems, flared butt logs among them, again",
    source=MEASURED,
    mark="computed",
    kind="same formula",
    unit="points of %",
    limit=0.06,
)
def errors_on_stems() -> list[Compared]:
    """Each rule from ends and middle of a piece, against the sum of frustums through all diameters."""
    compared = []
    for row in rows_of("stem_errors.csv"):
        label = f"{row['stems']} {row['start']} to {row['end']} {row['of']}"
        for rule, error in stem_errors_pct(row).items():
            compared.append(against(f"{rule}, {label}", ours=error, theirs=float(row[f"{rule}_pct"])))
    return compared


def stem_errors_pct(row: dict[str, str]) -> dict[str, float]:
    """Error of the total volume of all stems of one row of stem_errors.csv, in percent, by rule."""
    total, fine = defaultdict(float), 0.0
    for height_m, stem in stems(row["stems"]).values():
        scale = (height_m if row["of"] == "height" else 1.0) * 1000
        start, end = float(row["start"]) * scale, float(row["end"]) * scale
        large, middle, small = (section_area_mm2_at(stem, at) for at in (start, (start + end) / 2, end))
        ends = {"small_mm2": small, "large_mm2": large, "length_mm": end - start}
        total["smalian"] += smalian_mm3(**ends)
        total["newton"] += newton_mm3(middle_mm2=middle, **ends)
        total["huber"] += huber_mm3(middle_mm2=middle, length_mm=end - start)
        fine += volume_mm3(stem, from_butt_mm=start, to_mm=end)
    return {rule: (mm3 / fine - 1) * 100 for rule, mm3 in total.items()}
