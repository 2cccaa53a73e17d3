"""Every conversion of units against a general library of units."""

from decimal import Decimal

import pint

from inventory.core.board_feet import MM_PER_FT, MM_PER_IN
from inventory.core.measure import FT3_PER_M3, KG_PER_LB, MM_PER, Unit, parse_length
from inventory.core.wood import KG_M3_PER_LB_FT3
from tests.outside.registry import Compared, against, against_percent, outside_check

UNITS = pint.UnitRegistry(non_int_type=Decimal)
NAMES = {Unit.IN: "inch", Unit.FT_IN: "foot", Unit.M: "metre", Unit.CM: "centimetre", Unit.MM: "millimetre"}
WRITTEN = {Unit.IN: "in", Unit.FT_IN: "ft", Unit.M: "m", Unit.CM: "cm", Unit.MM: "mm"}


@outside_check(
    what="Lengths read in every unit", source="pint", mark="computed", kind="library", unit="mm", limit=5e-6
)
def lengths_read() -> list[Compared]:
    """Sixteenths of every unit, plain and with their unit written."""
    compared = []
    for unit, name in NAMES.items():
        for sixteenths in range(1, 200, 7):
            value = Decimal(sixteenths) / 16
            theirs = UNITS.Quantity(value, name).to("millimetre").magnitude
            for text in (str(value), f"{value} {WRITTEN[unit]}"):
                ours = parse_length(text, default_unit=unit)
                compared.append(against(f"{text} as {unit}", ours=float(ours), theirs=float(theirs)))
    return compared


@outside_check(
    what="Feet and inches read together",
    source="pint",
    mark="computed",
    kind="library",
    unit="mm",
    limit=5e-6,
)
def feet_and_inches_read() -> list[Compared]:
    """Whole feet with inches in eighths."""
    compared = []
    for feet in (1, 9, 19, 40):
        for eighths in range(0, 96, 5):
            theirs = UNITS.Quantity(feet, "foot") + UNITS.Quantity(Decimal(eighths) / 8, "inch")
            text = f"{feet}' {eighths // 8} {eighths % 8}/8\"" if eighths >= 8 else f"{feet}' {eighths}/8\""
            ours = parse_length(text, default_unit=Unit.MM)
            theirs_mm = float(theirs.to("millimetre").magnitude)
            compared.append(against(text, ours=float(ours), theirs=theirs_mm))
    return compared


@outside_check(
    what="Conversion factors", source="pint", mark="computed", kind="library", unit="%", limit=1e-10
)
def factors() -> list[Compared]:
    """Inch, foot, pound, cubic foot and pounds per cubic foot, wherever the core has one."""
    pairs = [(f"mm per {unit}", float(MM_PER[unit]), f"{name}", "millimetre") for unit, name in NAMES.items()]
    pairs += [
        ("in of scaling", MM_PER_IN, "inch", "millimetre"),
        ("ft of scaling", MM_PER_FT, "foot", "millimetre"),
        ("kg per lb", float(KG_PER_LB), "pound", "kilogram"),
        ("ft3 per m3", FT3_PER_M3, "metre ** 3", "foot ** 3"),
        ("kg/m3 per lb/ft3", KG_M3_PER_LB_FT3, "pound / foot ** 3", "kilogram / metre ** 3"),
    ]
    return [
        against_percent(label, ours=ours, theirs=float(UNITS.Quantity(Decimal(1), a).to(b).magnitude))
        for label, ours, a, b in pairs
    ]
