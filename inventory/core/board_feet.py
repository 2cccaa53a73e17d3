"""Board feet of a charted log: how it is scaled for the log rule that a mill pays on.

Where published conventions differ there is a setting, and the answer says which was used.
"""

import math
from dataclasses import dataclass

from inventory.core.basis import Basis, is_positive
from inventory.core.crew_units import Sentence
from inventory.core.log_rules import BadScale, BoardRule, OddFeet, board_feet, to_nearest
from inventory.core.profile import (
    READING_SD_MM,
    LogProfile,
    diameter_error_mm_at,
    diameter_mm_at,
)

MM_PER_IN = 25.4
MM_PER_FT = 304.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Scaling:
    """How a log is scaled before a rule is applied; each is a setting of the sale.

    `trim_mm` is not paid; scaled lengths are multiples of `length_step_ft`; a log longer than `longest_ft` is
    scaled in pieces: 20 ft east of the Cascades, 40 ft west of them (Forest Service scaling handbook, seen).
    """

    trim_mm: float = 152.4
    length_step_ft: int = 2
    longest_ft: int = 20
    odd_feet: OddFeet = OddFeet.BUTT


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaledPiece:
    """One piece as scaled: its small-end diameter to the whole inch and its length in whole feet."""

    small_end_in: int
    length_ft: int
    board_feet: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFeet:
    """Board feet of a log. Low and high: the small ends read two standard deviations thinner and thicker.

    None: the table held here does not reach that far.
    """

    rule: BoardRule
    board_feet: float
    low_board_feet: float | None
    high_board_feet: float | None
    pieces: tuple[ScaledPiece, ...]
    basis: Basis
    uncertainty: str
    cautions: tuple[str, ...]


def scale_log(
    profile: LogProfile,
    *,
    rule: BoardRule,
    scaling: Scaling | None = None,
    reading_sd_mm: float = READING_SD_MM,
) -> BoardFeet:
    """Scales a charted log: trim off, whole pieces, small ends to the nearest inch, then the rule.

    Pieces are as nearly equal as the length step allows, the longer ones towards the butt (common practice,
    no source), each with the diameter the log has where it ends. Raises BadScale, OutsideTable.
    """
    scaling = scaling or Scaling()
    lengths_ft = pieces_ft(profile.length_mm, scaling)
    small_ends: list[tuple[float, float]] = []
    at_mm = profile.length_mm
    for feet in lengths_ft:
        small_ends.append(
            (
                diameter_mm_at(profile, at_mm),
                diameter_error_mm_at(profile, at_mm, reading_sd_mm=reading_sd_mm),
            )
        )
        at_mm -= feet * MM_PER_FT

    def scaled(shift_sd: float) -> tuple[ScaledPiece, ...]:
        pieces = []
        for feet, (diameter_mm, error_mm) in zip(lengths_ft, small_ends, strict=True):
            inches = int(to_nearest(1, (diameter_mm + shift_sd * error_mm) / MM_PER_IN))
            bf = board_feet(rule=rule, small_end_in=inches, length_ft=feet, odd_feet=scaling.odd_feet)
            pieces.append(ScaledPiece(small_end_in=inches, length_ft=feet, board_feet=bf))
        return tuple(pieces)

    def total(shift_sd: float) -> float | None:
        try:
            return sum(piece.board_feet for piece in scaled(shift_sd))
        except BadScale:
            return None

    pieces = scaled(0.0)
    return BoardFeet(
        rule=rule,
        board_feet=sum(piece.board_feet for piece in pieces),
        low_board_feet=total(-2.0),
        high_board_feet=total(2.0),
        pieces=pieces,
        basis=_basis(rule, scaling),
        uncertainty=Sentence(
            "small ends two standard deviations thinner and thicker, {sd:error} each", sd=reading_sd_mm
        ),
        cautions=(*_CAUTIONS.get(rule, ()), "The mill's own scale decides what is paid."),
    )


def pieces_ft(length_mm: float, scaling: Scaling) -> tuple[int, ...]:
    """Lengths in whole feet that a log is scaled in, from the tip down. Raises BadScale."""
    if not is_positive(length_mm, scaling.length_step_ft) or scaling.longest_ft < scaling.length_step_ft:
        raise BadScale("a length, its step and the longest piece are numbers of feet greater than nothing")
    if not 0 <= scaling.trim_mm < math.inf:
        raise BadScale(Sentence("a trim of {trim:along} is none", trim=scaling.trim_mm))
    # A hair's breadth of rounding in mm must not cost a whole step of length.
    steps = math.floor((length_mm - scaling.trim_mm) / MM_PER_FT / scaling.length_step_ft + 1e-9)
    if steps < 1:
        raise BadScale(
            Sentence(
                "less than {step} ft is left of {length:along} after the trim",
                step=scaling.length_step_ft,
                length=length_mm,
            )
        )
    pieces = math.ceil(steps / (scaling.longest_ft // scaling.length_step_ft))
    each, over = divmod(steps, pieces)
    return tuple(
        (each + (1 if index >= pieces - over else 0)) * scaling.length_step_ft for index in range(pieces)
    )


_RULES: dict[BoardRule, tuple[str, str]] = {
    BoardRule.DOYLE: ("Doyle: (D - 4)^2 L / 16, to the whole board foot", "Purdue Extension FNR-191, seen"),
    BoardRule.SCRIBNER_FORMULA: (
        "Scribner formula: (0.79 D^2 - 2 D - 4) L / 16, to the whole board foot",
        "published forestry functions (Larsen), seen",
    ),
    BoardRule.SCRIBNER_DECIMAL_C: (
        "Scribner Decimal C: the published table, in tens",
        "US Forest Service volume library, scrib.f, seen",
    ),
    BoardRule.INTERNATIONAL_QUARTER: (
        "International 1/4-inch: 4 ft sections of 0.905 (0.22 d^2 - 0.71 d), to the nearest 5",
        "US Forest Service volume library, routine INTL14, seen",
    ),
    BoardRule.INTERNATIONAL_EIGHTH: (
        "International 1/8-inch: 4 ft sections of 0.22 d^2 - 0.71 d, to the whole board foot",
        "computed from the 1/4-inch rule without its factor 0.905",
    ),
}
_CAUTIONS: dict[BoardRule, tuple[str, ...]] = {
    BoardRule.DOYLE: (
        "Doyle understates small logs strongly: at 8 in by 16 ft 16 board feet, where International has 40.",
    ),
}


def _basis(rule: BoardRule, scaling: Scaling) -> Basis:
    name, source = _RULES[rule]
    said = [
        f"small end inside bark to the nearest inch; {scaling.trim_mm / MM_PER_IN:g} in of trim not scaled",
        f"lengths in steps of {scaling.length_step_ft} ft; over {scaling.longest_ft} ft scaled in pieces",
    ]
    if rule in (BoardRule.INTERNATIONAL_QUARTER, BoardRule.INTERNATIONAL_EIGHTH):
        said.append(f"feet beyond whole 4 ft sections taken at the {scaling.odd_feet} end")
    return Basis(rule=name, source=source, assumption="; ".join(said))
