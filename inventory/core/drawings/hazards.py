"""How dangers in a log are drawn: each kind has a shape of its own, metal the heaviest."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.core.drawings.frame import SWATCH_MM, LegendEntry
from inventory.core.drawings.pen import PAPER, PENCIL, Pen, Point
from inventory.core.drawings.svg import SvgElement


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardToDraw:
    """A danger in a log; `extent_mm` runs on from `from_butt_mm` towards the tip. `face`: as charted."""

    kind: str
    from_butt_mm: float
    extent_mm: float = 0.0
    face: str | None = None


def hazard_sign(pen: Pen, at: Point, kind: str) -> list[SvgElement]:
    """The sign of a danger: metal a black diamond with a cross, a knot a ringed dot, others a crossed box."""
    x, y = at
    if kind == "metal":
        r = pen.mm(2.6)
        arm = pen.mm(1.0)
        diamond = [(x, y - r), (x + r, y), (x, y + r), (x - r, y)]
        return [
            pen.path(diamond, fill=PENCIL, colour=PAPER, weight=0.4),
            pen.line((x - arm, y - arm), (x + arm, y + arm), weight=0.5, colour=PAPER),
            pen.line((x - arm, y + arm), (x + arm, y - arm), weight=0.5, colour=PAPER),
        ]
    if kind == "knot":
        return [
            pen.circle(at, pen.mm(1.7), fill=PAPER, weight=0.35),
            pen.circle(at, pen.mm(0.6), fill=PENCIL, weight=0.1),
        ]
    r = pen.mm(1.5)
    box = [(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)]
    return [
        pen.path(box, fill=PAPER, weight=0.35),
        pen.line((x - r, y - r), (x + r, y + r), weight=0.35),
        pen.line((x - r, y + r), (x + r, y - r), weight=0.35),
    ]


def hazard_entries(kinds: Sequence[str]) -> list[LegendEntry]:
    """Legend lines for the kinds that occur."""
    middle = (SWATCH_MM[0] / 2, SWATCH_MM[1] / 2)

    def entry(kind: str, words: str) -> LegendEntry:
        return LegendEntry(
            words=words,
            swatch=lambda pen, at: hazard_sign(
                pen, (at[0] + pen.mm(middle[0]), at[1] + pen.mm(middle[1])), kind
            ),
        )

    found = [entry("metal", "metal: no saw, no chisel")] if "metal" in kinds else []
    found += [entry("knot", "knot")] if "knot" in kinds else []
    others = sorted(set(kinds) - {"metal", "knot"})
    return found + ([entry("other", ", ".join(others))] if others else [])
