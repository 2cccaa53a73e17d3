"""How far a crew's readings and cuts may be off, and what its own walls tell of it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

LEAST_TOPS = 30
"""So many measured tops tell a crew's error to an eighth of itself (1 / sqrt(2 * 30)); so do as many
tops read again."""

PRACTICE = "common practice, no source"


class TopReading(StrEnum):
    """With what a crew reads the height of a top."""

    TAPE = "tape"
    STOREY_POLE = "storey_pole"
    LEVEL = "level"


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOfReading:
    """One way to read tops; `error_mm`: one standard deviation of one reading."""

    top_reading: TopReading
    words: str
    error_mm: float
    source: str = PRACTICE


WAYS_OF_READING = {
    one.top_reading: one
    for one in (
        WayOfReading(top_reading=TopReading.TAPE, words="a tape held to the deck", error_mm=2.5),
        WayOfReading(
            top_reading=TopReading.STOREY_POLE, words="a storey pole stood on the deck", error_mm=2.0
        ),
        WayOfReading(top_reading=TopReading.LEVEL, words="a builder's level and a staff", error_mm=1.0),
    )
}
USUAL_READING = TopReading.TAPE


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewErrors:
    """One standard deviation each, in mm, taken as independent.

    `diameter_mm`: one reading of calipers over bark-free wood, 3 to 6 mm are usual. `height_mm`: one reading
    of a top, by `WAYS_OF_READING`. `cut_mm`: a notch or gap against what was asked, a few mm are usual. All
    three common practice, no source.
    """

    diameter_mm: float = 4.0
    height_mm: float = WAYS_OF_READING[USUAL_READING].error_mm
    cut_mm: float = 3.0

    def round_mm(self) -> float:
        """What one round adds: a diameter read and a notch cut."""
        return math.hypot(self.diameter_mm, self.cut_mm)

    def top_mm(self, *, rounds_since_measured: int, times_read: int = 1) -> float:
        """Of a top that is computed: the mean of `times_read` readings, and what each round above it adds."""
        return math.sqrt(self.height_mm**2 / times_read + rounds_since_measured * self.round_mm() ** 2)

    def half_log_mm(self) -> float:
        """Of half a log's computed top: half a diameter's, and that of the deck it lies on."""
        return math.hypot(self.height_mm, self.diameter_mm / 2)

    def scaled(self, times: float) -> "CrewErrors":
        """All of them larger or smaller."""
        return replace(
            self,
            diameter_mm=self.diameter_mm * times,
            height_mm=self.height_mm * times,
            cut_mm=self.cut_mm * times,
        )


USUAL_ERRORS = CrewErrors()


@dataclass(frozen=True, slots=True, kw_only=True)
class TopsRecord:
    """Computed against measured tops: how many, and the sum of their squared misses, each in usual errors."""

    tops: int = 0
    squares: float = 0.0

    def __add__(self, other: "TopsRecord") -> "TopsRecord":
        return TopsRecord(tops=self.tops + other.tops, squares=self.squares + other.squares)

    @property
    def times_usual(self) -> float | None:
        """How many times the usual errors this crew's are; None until enough tops were measured."""
        return math.sqrt(self.squares / self.tops) if self.tops >= LEAST_TOPS else None

    @property
    def errors(self) -> CrewErrors | None:
        """The crew's own errors. Its tops cannot tell readings from cuts, so all grow or shrink together."""
        times = self.times_usual
        return None if times is None else USUAL_ERRORS.scaled(times)


@dataclass(frozen=True, slots=True, kw_only=True)
class RepeatsRecord:
    """Tops read again: how many readings, and the sum of their squared misses in mm (`repeat_miss_mm`)."""

    readings: int = 0
    squares: float = 0.0

    @property
    def height_mm(self) -> float | None:
        """The crew's own error of reading a top; None until enough tops were read again."""
        return math.sqrt(self.squares / self.readings) if self.readings >= LEAST_TOPS else None


def usual_miss_mm(*, rounds_since: int) -> float:
    """One standard deviation of a measured top less the computed one, with the usual errors.

    `rounds_since`: how many rounds lie between the reading that the computed top started from and this one.
    Such a miss holds both readings of heights and what each round added.
    """
    return math.hypot(USUAL_ERRORS.top_mm(rounds_since_measured=rounds_since), USUAL_ERRORS.height_mm)


def record_of(misses: Iterable[tuple[float, int]]) -> TopsRecord:
    """The record of computed tops that were then measured: (measured less computed in mm, rounds since)."""
    found = TopsRecord()
    for miss_mm, rounds_since in misses:
        usual = usual_miss_mm(rounds_since=rounds_since)
        found += TopsRecord(tops=1, squares=(miss_mm / usual) ** 2)
    return found
