"""An order's figures: board feet, cubic metres, running lengths and money of its lines.

A line orders a class, not a log. Its figures are those of its nominal log: the middle of the class and an
even taper (see `nominal_profile`). What is paid in the end follows from the logs delivered.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from inventory.core.basis import Basis, is_positive
from inventory.core.board_feet import Scaling, scale_log
from inventory.core.crew_units import Sentence, sentence_of
from inventory.core.log_rules import BadScale, BoardRule
from inventory.core.measure import MM_PER_FT
from inventory.core.profile import STATION_INSET_MM, BadProfile, LogProfile, profile_of
from inventory.core.volume import CubicRule, cubic_volume

TAPER_MM_PER_M = 10.0  # common practice, no source: forest-grown wall logs lose about 8 to 12 mm a metre
CENT = Decimal("0.01")
MOST_LOGS = 5_000  # a form may have a line for each; more is several orders
M3_STEP, M_STEP, FT_STEP = Decimal("0.001"), Decimal("0.001"), Decimal("0.01")


class BadOrder(ValueError):
    """No log follows from this line of an order."""


class PriceBy(StrEnum):
    """What a price is for."""

    BOARD_FOOT = "board_foot"
    LINEAR_FOOT = "linear_foot"
    PIECE = "piece"
    CUBIC_METRE = "cubic_metre"


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """How a mill reckons: its log rule with its scaling, its cubic rule, and the taper counted with."""

    board_rule: BoardRule = BoardRule.INTERNATIONAL_QUARTER
    cubic_rule: CubicRule = CubicRule.HUBER
    scaling: Scaling = field(default_factory=Scaling)
    taper_mm_per_m: float = TAPER_MM_PER_M
    price_by: PriceBy = PriceBy.PIECE


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassLine:
    """So many logs of a class: species, length and the middle diameters between which they may lie.

    The length is as cut, trim included. For logs sawn on two faces the middle is the height of the face.
    """

    line: int
    species: str
    length_mm: Decimal
    least_middle_mm: Decimal
    largest_middle_mm: Decimal
    count: int
    sawn_thickness_mm: Decimal | None = None
    price: Decimal | None = None
    note: str = ""

    @property
    def middle_mm(self) -> Decimal:
        """The middle of the class."""
        return (self.least_middle_mm + self.largest_middle_mm) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantities:
    """What one log or many come to; `board_feet` is None where the rule does not reach: `why_not`."""

    pieces: int
    board_feet: Decimal | None
    volume_m3: Decimal
    linear_m: Decimal
    linear_ft: Decimal
    why_not: str = ""


def nominal_profile(
    *,
    length_mm: Decimal,
    middle_mm: Decimal,
    taper_mm_per_m: float = TAPER_MM_PER_M,
    sawn_thickness_mm: Decimal | None = None,
) -> LogProfile:
    """A log of this length and middle with an even taper from butt to tip. Raises BadOrder.

    Ends are taken a foot in, on a short log a quarter of its length.
    """
    length, middle = float(length_mm), float(middle_mm)
    if not is_positive(length, middle):
        raise BadOrder("a length and a middle diameter are more than nothing")
    inset = min(STATION_INSET_MM, length / 4)
    run_off = taper_mm_per_m * (length / 2 - inset) / 1000
    try:
        return profile_of(
            length_mm=length,
            butt_mm=middle + run_off,
            middle_mm=middle,
            tip_mm=middle - run_off,
            station_inset_mm=inset,
            sawn_thickness_mm=None if sawn_thickness_mm is None else float(sawn_thickness_mm),
        )
    except BadProfile as bad:
        raise BadOrder(
            Sentence("with a taper of {taper:taper} {bad}", taper=taper_mm_per_m, bad=bad)
        ) from bad


def check_line(line: ClassLine, terms: Terms) -> None:
    """Raises BadOrder if with this taper some log of the class, from least to largest, is none."""
    for middle_mm in (line.least_middle_mm, line.middle_mm, line.largest_middle_mm):
        nominal_profile(
            length_mm=line.length_mm,
            middle_mm=middle_mm,
            taper_mm_per_m=terms.taper_mm_per_m,
            sawn_thickness_mm=line.sawn_thickness_mm,
        )


def nominal_basis(terms: Terms) -> Basis:
    """On what the figures of an order rest, for the answer that carries them."""
    return Basis(
        rule=f"board feet: {terms.board_rule}; cubic metres: {terms.cubic_rule}, each log to 0.001 m3",
        source="the mill's terms",
        assumption=Sentence(
            "each log counted as the middle of its class with an even taper of {taper:taper} "
            "(common practice, no source), length as cut with its trim",
            taper=terms.taper_mm_per_m,
        ),
    )


def quantities_of_log(profile: LogProfile, *, length_mm: Decimal, terms: Terms) -> Quantities:
    """What one log comes to under these terms."""
    board_feet: Decimal | None = None
    why_not = ""
    try:
        scaled = scale_log(profile, rule=terms.board_rule, scaling=terms.scaling)
        board_feet = Decimal(repr(scaled.board_feet))
    except BadScale as bad:
        why_not = sentence_of(bad)
    cubic = cubic_volume(profile, rule=terms.cubic_rule)
    return Quantities(
        pieces=1,
        board_feet=board_feet,
        volume_m3=rounded(Decimal(repr(cubic.volume_m3)), M3_STEP),
        linear_m=rounded(length_mm / 1000, M_STEP),
        linear_ft=rounded(length_mm / MM_PER_FT, FT_STEP),
        why_not=why_not,
    )


def quantities_of_line(line: ClassLine, terms: Terms) -> Quantities:
    """What the logs of a line come to: the nominal log times their count. Raises BadOrder."""
    profile = nominal_profile(
        length_mm=line.length_mm,
        middle_mm=line.middle_mm,
        taper_mm_per_m=terms.taper_mm_per_m,
        sawn_thickness_mm=line.sawn_thickness_mm,
    )
    one = quantities_of_log(profile, length_mm=line.length_mm, terms=terms)
    return sum_of([one] * line.count)


def sum_of(parts: Iterable[Quantities]) -> Quantities:
    """All parts together; no board feet where one of them has none."""
    found = list(parts)
    feet = [one.board_feet for one in found]
    return Quantities(
        pieces=sum(one.pieces for one in found),
        board_feet=None if None in feet else sum((bf for bf in feet if bf is not None), Decimal(0)),
        volume_m3=sum((one.volume_m3 for one in found), Decimal(0)),
        linear_m=sum((one.linear_m for one in found), Decimal(0)),
        linear_ft=sum((one.linear_ft for one in found), Decimal(0)),
        why_not=next((one.why_not for one in found if one.why_not), ""),
    )


def paid_quantity(quantities: Quantities, price_by: PriceBy) -> Decimal | None:
    """The quantity that a price is multiplied with; None: board feet that the rule does not reach."""
    match price_by:
        case PriceBy.BOARD_FOOT:
            return quantities.board_feet
        case PriceBy.LINEAR_FOOT:
            return quantities.linear_ft
        case PriceBy.CUBIC_METRE:
            return quantities.volume_m3
        case _:
            return Decimal(quantities.pieces)


def amount_of(price: Decimal | None, quantity: Decimal | None) -> Decimal | None:
    """Price times quantity, rounded to the cent once, halves up; None if either is not known."""
    if price is None or quantity is None:
        return None
    return rounded(price * quantity, CENT)


def total_of(amounts: Iterable[Decimal | None]) -> Decimal | None:
    """The sum of amounts that are cents already, so it adds up exactly; None if one of them is not known."""
    total = Decimal(0)
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total.quantize(CENT)


def rounded(value: Decimal, step: Decimal) -> Decimal:
    """To the step, halves up."""
    return value.quantize(step, rounding=ROUND_HALF_UP)


def written_money(value: Decimal | None) -> str | None:
    """Money as an exact text with two decimals at least: `84.50`, `0.825`; None where it is not known."""
    if value is None:
        return None
    text = f"{value.normalize():f}"
    whole, _, part = text.partition(".")
    return f"{whole}.{part:0<2}"
