"""Readings of one top, kept together: their mean is the height that counts.

They belong to one top as long as the same log lies there and the wall has not settled in between: those
within `TOGETHER` of the latest. What was read before stays on record, but the wall was another one then.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

# A green wall comes down by a millimetre or two a week, less than a reading's error (common practice, no
# source).
TOGETHER = timedelta(days=7)


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleReading:
    """One height read on the wall, above the deck, whose reading it is (a member's id), and its own id."""

    height_mm: Decimal
    measured_at: datetime
    measured_by: object = None
    id: object = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TopReadings:
    """The readings of one top that count, oldest first; at least one."""

    readings: tuple[SingleReading, ...]

    @property
    def times(self) -> int:
        """How often the top was read."""
        return len(self.readings)

    @property
    def mean_mm(self) -> Decimal:
        """The height that counts."""
        return sum((one.height_mm for one in self.readings), Decimal(0)) / self.times

    @property
    def spread_mm(self) -> float:
        """Highest less lowest reading; 0 of a single one."""
        heights = [one.height_mm for one in self.readings]
        return float(max(heights) - min(heights))

    @property
    def last_at(self) -> datetime:
        """When it was read last."""
        return self.readings[-1].measured_at


def readings_together(readings: Iterable[SingleReading], *, since: datetime | None) -> TopReadings | None:
    """The readings of one top that count; None where none does.

    `since`: when the log was set whose top it is; what was read before was another log's. None: no log lies
    there, the wall starts on it as it is.
    """
    in_order = sorted(readings, key=lambda one: (one.measured_at, str(one.id)))
    counting = [one for one in in_order if since is None or one.measured_at >= since]
    if not counting:
        return None
    last = counting[-1].measured_at
    return TopReadings(readings=tuple(one for one in counting if one.measured_at >= last - TOGETHER))


def repeat_miss_mm(height_mm: float, earlier: TopReadings) -> float:
    """How far a reading is off the mean of those before it, brought to what one reading's error would show.

    The difference holds its own error and that of a mean of n: sqrt(1 + 1/n) times the error of one.
    """
    return (height_mm - float(earlier.mean_mm)) / math.sqrt(1 + 1 / earlier.times)
