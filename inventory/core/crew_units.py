"""How a crew writes what it reads: lengths along a log and across it, weights, volumes, sentences.

The one formatter: pages, sheets, drawings and messages all come here. Its twin for pages, which writes the
same texts, is crews/static/crews/lengths.js.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from string import Formatter
from typing import Any, Protocol, Self

from crews.api.figures import noise_free
from inventory.core.measure import (
    FT3_PER_M3,
    KG_PER_LB,
    THICKNESS_UNIT,
    BadLength,
    Unit,
    WeightUnit,
    write_length,
    written_to_step,
)

TONNE_FROM_KG = 10_000.0
FINEST_ERROR = 16
CROWN_POINTS = {"top": "up", "bottom": "down", "left": "left", "right": "right"}
Number = float | Decimal


def counted(number: int, word: str) -> str:
    """A number of things: 1 log, 2 logs."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


class WritesUnits(Protocol):
    """Who chose how lengths and weights are written: a crew."""

    length_unit: str
    weight_unit: str | None
    fraction: int


def _written(mm: Number, unit: Unit, fraction: int = 8) -> str:
    # As the number beside it is told: of two ways to round, paper and phone would each take another.
    return write_length(round(noise_free(float(mm)), 5), unit=unit, fraction=fraction)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewUnits:
    """A crew's unit of length, the finest fraction of an inch it reads, and its unit of weight.

    Without a `weight_unit` weights go with lengths: pounds with inches, kilograms with millimetres.
    """

    unit: Unit
    fraction: int = 8
    weight_unit: WeightUnit | None = None

    @classmethod
    def of(cls, crew: WritesUnits) -> Self:
        """As the crew chose."""
        weight = None if crew.weight_unit is None else WeightUnit(crew.weight_unit)
        return cls(unit=Unit(crew.length_unit), fraction=crew.fraction, weight_unit=weight)

    def along(self, mm: Number) -> str:
        """A length, a position or a height: `19' 4 1/2"`, `5.89 m`."""
        return _written(mm, self.unit, self.fraction)

    def across(self, mm: Number) -> str:
        """A diameter, a notch, a gap: `11 5/8"`, `29.5 cm`."""
        return _written(mm, THICKNESS_UNIT[self.unit], self.fraction)

    def error(self, mm: Number) -> str:
        """What a length may be off: `3/16"`, `4 mm`. Finer than what a tape is read to, and never nothing."""
        if self.is_metric:
            return _written(max(float(mm), 1.0), Unit.MM)
        finest = max(self.fraction, FINEST_ERROR)
        return _written(max(float(mm), 25.4 / finest), Unit.IN, finest)

    def gain(self, mm: Number) -> str:
        """How much surer a length becomes, finer than a tape is read to: `0.3 mm`, `0.02"`."""
        if self.is_metric:
            return f"{written_to_step(float(mm), places=1)} mm"
        return f'{written_to_step(float(mm) / 25.4, places=2)}"'

    def weight(self, kg: Number) -> str:
        """A weight: `462 lb`, `210 kg`, a truck's load `12.4 t`, in pounds `27,300 lb`."""
        if self.weighs_in is WeightUnit.LB:
            return f"{written_to_step(float(kg) / float(KG_PER_LB), places=0, thousands=True)} lb"
        if abs(float(kg)) >= TONNE_FROM_KG:
            return f"{written_to_step(float(kg) / 1000, places=1)} t"
        return f"{written_to_step(float(kg), places=0)} kg"

    def crown(self, mm: Number | None, side: str | None) -> str:
        """A log's bow and where it points as it lay charted, seen from the butt: `2 3/4", up`."""
        if mm is None:
            return "not looked at"
        bow = self.across(mm)
        if bow == self.across(0):
            return "straight"
        return f"{bow}, {CROWN_POINTS.get(side or '', 'side not charted')}"

    def volume(self, m3: Number) -> str:
        """A volume: `28.4 ft³`, `0.804 m³`."""
        if self.is_metric:
            return f"{written_to_step(float(m3), places=3 if abs(float(m3)) < 10 else 1)} m³"
        return f"{written_to_step(float(m3) * FT3_PER_M3, places=1, thousands=True)} ft³"

    def density(self, kg_per_m3: Number) -> str:
        """A density: `42 lb/ft³`, `673 kg/m³`."""
        if self.weighs_in is WeightUnit.LB:
            return f"{written_to_step(float(kg_per_m3) / float(KG_PER_LB) / FT3_PER_M3, places=1)} lb/ft³"
        return f"{written_to_step(float(kg_per_m3), places=0)} kg/m³"

    def taper(self, mm_per_m: Number) -> str:
        """What a diameter loses on its way to the tip: `1/8" a foot`, `10 mm a metre`."""
        if self.is_metric:
            return f"{_written(mm_per_m, Unit.MM)} a metre"
        return f"{_written(float(mm_per_m) * 0.3048, Unit.IN, max(self.fraction, FINEST_ERROR))} a foot"

    @property
    def weighs_in(self) -> WeightUnit:
        """The unit of weight that counts."""
        if self.weight_unit is not None:
            return self.weight_unit
        return WeightUnit.KG if self.is_metric else WeightUnit.LB

    @property
    def is_metric(self) -> bool:
        """Whether rulers are drawn in metres rather than feet."""
        return self.unit not in (Unit.IN, Unit.FT_IN)

    def beside(
        self,
        row: Mapping[str, Any],
        *,
        along: Sequence[str] = (),
        across: Sequence[str] = (),
        error: Sequence[str] = (),
    ) -> dict[str, Any]:
        """The row with a text in the crew's unit beside each length named, `cut` for `cut_mm` and `cut_text`.

        A length that is None has None for a text.
        """
        ways = ((along, self.along), (across, self.across), (error, self.error))
        named = [(name, write) for names, write in ways for name in names]
        return dict(row) | {
            f"{name}_text": None if row[f"{name}_mm"] is None else write(row[f"{name}_mm"])
            for name, write in named
        }

    def say(self, what: str | Exception) -> str:
        """A sentence, or that of an error, in the crew's units."""
        said = sentence_of(what) if isinstance(what, Exception) else what
        return said.in_units(self) if isinstance(said, Sentence) else str(said)

    def told(self, value: Any) -> Any:
        """An answer of dicts and lists with every sentence in the crew's units: what is stored or printed."""
        if isinstance(value, Mapping):
            return {name: self.told(part) for name, part in value.items()}
        if isinstance(value, list | tuple):
            return [self.told(part) for part in value]
        return value.in_units(self) if isinstance(value, Sentence) else value


def sentence_of(error: Exception) -> str:
    """What an error says, a sentence still one; `str(error)` would have it in millimetres."""
    return error.args[0] if error.args and isinstance(error.args[0], Sentence) else str(error)


IN_MM = CrewUnits(unit=Unit.MM)


class _InUnits(Formatter):
    """Fills a sentence; a length says how it is read: `{at:along}`."""

    def __init__(self, units: CrewUnits) -> None:
        self.units = units

    def format_field(self, value: Any, format_spec: str) -> str:
        if format_spec in Sentence.WAYS:
            with suppress(BadLength, ArithmeticError):
                return str(getattr(self.units, format_spec)(value))
            return str(value)  # what is no number is said as it is
        if isinstance(value, Sentence | Exception) and not format_spec:
            return self.units.say(value)
        return str(super().format_field(value, format_spec))


class Sentence(str):
    """A sentence with quantities that every crew reads in its own units, wherever it was written.

    `Sentence("{at:along} from the butt", at=879.4)` reads in millimetres and kilograms as it is; an answer is
    written in the units of the crew that asked. The ways to write a part are the methods of CrewUnits: along,
    across, error, weight, volume, density, taper. A part may be a sentence, or an error that says one.
    """

    WAYS = frozenset({"along", "across", "error", "weight", "volume", "density", "taper"})
    words: str
    parts: dict[str, Any]

    def __new__(cls, words: str, /, **parts: Any) -> Self:
        made = super().__new__(cls, _InUnits(IN_MM).vformat(words, (), parts))
        made.words, made.parts = words, parts
        return made

    @classmethod
    def joined(cls, sentences: Iterable[str], *, by: str = " ") -> Self:
        """Sentences as one."""
        parts = {f"part{number}": part for number, part in enumerate(sentences)}
        return cls(by.join(f"{{{name}}}" for name in parts), **parts)

    def in_units(self, units: CrewUnits) -> str:
        """What the crew reads."""
        return _InUnits(units).vformat(self.words, (), self.parts)

    def said_to(self, crew: WritesUnits) -> str:
        """What the crew reads; an answer's JSON is written by this (crews/api/render.py)."""
        return self.in_units(CrewUnits.of(crew))

    def __getnewargs_ex__(self) -> tuple[tuple[str], dict[str, Any]]:  # for copies of frozen rows
        return (self.words,), self.parts
