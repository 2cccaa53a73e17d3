"""How a crew writes what is printed or drawn: lengths along a log or wall, and thicknesses across it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.core.measure import THICKNESS_UNIT, Unit, write_length


def counted(number: int, word: str) -> str:
    """A number of things: 1 log, 2 logs."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewUnits:
    """A crew's unit of length, and the finest fraction of an inch it reads."""

    unit: Unit
    fraction: int = 8

    def along(self, mm: float) -> str:
        """A length, a position or a height: `19' 4 1/2"`, `5.89 m`."""
        return write_length(float(mm), unit=self.unit, fraction=self.fraction)

    def across(self, mm: float) -> str:
        """A diameter, a notch, a gap: `11 5/8"`, `29.5 cm`."""
        return write_length(float(mm), unit=THICKNESS_UNIT[self.unit], fraction=self.fraction)

    def beside(
        self, row: Mapping[str, Any], *, along: Sequence[str] = (), across: Sequence[str] = ()
    ) -> dict[str, Any]:
        """The row with a text in the crew's unit beside each length named, `cut` for `cut_mm` and `cut_text`.

        A length that is None has None for a text.
        """
        named = [(name, self.along) for name in along] + [(name, self.across) for name in across]
        return dict(row) | {
            f"{name}_text": None if row[f"{name}_mm"] is None else write(row[f"{name}_mm"])
            for name, write in named
        }

    @property
    def is_metric(self) -> bool:
        """Whether rulers are drawn in metres rather than feet."""
        return self.unit not in (Unit.IN, Unit.FT_IN)


IN_MM = CrewUnits(unit=Unit.MM)
