"""What a mill's form can show and read: our names for it, and whether an order or a tally has it."""

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What is in a cell."""

    ALONG = "along"
    ACROSS = "across"
    WHOLE = "whole"
    NUMBER = "number"
    MONEY = "money"
    TEXT = "text"


class On(StrEnum):
    """Where a column stands: on the order that goes out, on the tally that comes back, or on both."""

    BOTH = "both"
    ORDER = "order"
    TALLY = "tally"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormField:
    """One thing a column can hold. `adds_up`: equal lines that are counted together add it."""

    name: str
    kind: Kind
    on: On
    meaning: str
    adds_up: bool = False


FIELDS = {
    field.name: field
    for field in (
        FormField(name="line", kind=Kind.WHOLE, on=On.BOTH, meaning="the line of the order"),
        FormField(name="number", kind=Kind.TEXT, on=On.BOTH, meaning="the log: counted, or the mill's tag"),
        FormField(name="species", kind=Kind.TEXT, on=On.BOTH, meaning="the species"),
        FormField(name="length_mm", kind=Kind.ALONG, on=On.BOTH, meaning="the length, trim included"),
        FormField(name="least_middle_mm", kind=Kind.ACROSS, on=On.ORDER, meaning="the least middle"),
        FormField(name="largest_middle_mm", kind=Kind.ACROSS, on=On.ORDER, meaning="the largest middle"),
        FormField(name="middle_mm", kind=Kind.ACROSS, on=On.BOTH, meaning="the middle, or that of the class"),
        FormField(name="least_tip_mm", kind=Kind.ACROSS, on=On.ORDER, meaning="the tip of the least middle"),
        FormField(name="butt_mm", kind=Kind.ACROSS, on=On.TALLY, meaning="the butt"),
        FormField(name="tip_mm", kind=Kind.ACROSS, on=On.TALLY, meaning="the tip"),
        FormField(name="sawn_thickness_mm", kind=Kind.ACROSS, on=On.BOTH, meaning="between two sawn faces"),
        FormField(name="count", kind=Kind.WHOLE, on=On.BOTH, meaning="how many logs", adds_up=True),
        FormField(
            name="board_feet", kind=Kind.NUMBER, on=On.BOTH, meaning="board feet of the row", adds_up=True
        ),
        FormField(name="volume_m3", kind=Kind.NUMBER, on=On.BOTH, meaning="m3 of the row", adds_up=True),
        FormField(name="linear_m", kind=Kind.NUMBER, on=On.ORDER, meaning="running metres", adds_up=True),
        FormField(name="linear_ft", kind=Kind.NUMBER, on=On.ORDER, meaning="running feet", adds_up=True),
        FormField(name="price", kind=Kind.MONEY, on=On.ORDER, meaning="the price of one unit"),
        FormField(name="amount", kind=Kind.MONEY, on=On.ORDER, meaning="the line's money", adds_up=True),
        FormField(name="note", kind=Kind.TEXT, on=On.ORDER, meaning="the note to the line"),
        FormField(name="remarks", kind=Kind.TEXT, on=On.TALLY, meaning="what the mill remarks"),
    )
}

# What can stand above and below the table, once for the whole order.
HEADER_FIELDS = {
    "order": Kind.TEXT,
    "crew": Kind.TEXT,
    "mill": Kind.TEXT,
    "order_date": Kind.TEXT,
    "wanted_on": Kind.TEXT,
    "remarks": Kind.TEXT,
    "currency": Kind.TEXT,
    "total_count": Kind.WHOLE,
    "total_board_feet": Kind.NUMBER,
    "total_volume_m3": Kind.NUMBER,
    "total_linear_m": Kind.NUMBER,
    "total_linear_ft": Kind.NUMBER,
    "total_amount": Kind.MONEY,
}

# How many decimals a number has where a column does not say.
USUAL_DECIMALS = {"board_feet": 0, "volume_m3": 3, "linear_m": 2, "linear_ft": 2, "price": 2, "amount": 2}
