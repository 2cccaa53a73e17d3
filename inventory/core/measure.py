"""Trade lengths in and out, exact: what a crew writes in its notebook, and millimetres.

A length is kept as a `Decimal` of millimetres with five places, because 1/32 in is 0.79375 mm exactly: what
was measured as 11 5/8 in comes back as 11 5/8 in for ever.
"""

import re
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

MM_PER_IN = Decimal("25.4")  # international inch, exact by definition since 1959
MM_PER_FT = Decimal("304.8")
KG_PER_LB = Decimal("0.45359237")  # avoirdupois pound, exact by the same agreement
FT3_PER_M3 = float(1 / (MM_PER_FT / 1000) ** 3)
EXACT_INCHES = Decimal("0.0000001")  # reads back as what is stored
STORED_PLACES = Decimal("0.00001")
LONGEST_MM = Decimal(1_000_000)
LONGEST_TEXT = 40
FRACTIONS = (1, 2, 4, 8, 16, 32)


class Unit(StrEnum):
    """The unit of a plain number, and the way lengths are shown. A plain number in `ft_in` is feet."""

    IN = "in"
    FT_IN = "ft_in"
    M = "m"
    CM = "cm"
    MM = "mm"


class WeightUnit(StrEnum):
    """The unit of weights."""

    KG = "kg"
    LB = "lb"


MM_PER = {
    Unit.IN: MM_PER_IN,
    Unit.FT_IN: MM_PER_FT,
    Unit.M: Decimal(1000),
    Unit.CM: Decimal(10),
    Unit.MM: Decimal(1),
}

# A chart kept in feet writes its diameters in inches, one kept in metres writes them in centimetres.
THICKNESS_UNIT = {
    Unit.IN: Unit.IN,
    Unit.FT_IN: Unit.IN,
    Unit.M: Unit.CM,
    Unit.CM: Unit.CM,
    Unit.MM: Unit.MM,
}


class BadLength(ValueError):
    """This is not a length that can be read; `text` is what was read, `reason` what is wrong with it."""

    def __init__(self, text: str, reason: str) -> None:
        self.text = text
        self.reason = reason
        super().__init__(f"{text!r} cannot be read as a length: {reason}")


_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_VULGAR |= {"⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅙": "1/6", "⅒": "1/10"}  # read, then refused with a reason
_SAME_AS = str.maketrans(
    {
        **dict.fromkeys("′’‘´`ʹ‛", "'"),
        **dict.fromkeys("″”“„‟ʺ", '"'),
        **dict.fromkeys("‐‑‒–—−", "-"),
        **dict.fromkeys("⁄∕", "/"),
        **dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\t", " "),
    }
)
_NUMBER = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_MIXED = r"(?:(?:[0-9]+(?:\s*-\s*|\s+))?[0-9]+\s*/\s*[0-9]+)"
_VALUE = rf"(?:{_MIXED}|{_NUMBER})"
_FEET = r"(?:'|feet|foot|ft\.?)"
_INCHES = r"(?:\"|inches|inch|in\.?)"
_FEET_AND_INCHES = re.compile(rf"({_VALUE})\s*{_FEET}(?:\s*[-,]?\s*({_VALUE})\s*{_INCHES}?)?")
_ONE_UNIT = re.compile(
    rf"({_VALUE})\s*({_INCHES}|mm|millimet(?:er|re)s?|cm|centimet(?:er|re)s?|m|met(?:er|re)s?)?"
)
_MIXED_PARTS = re.compile(r"(?:([0-9]+)(?:\s*-\s*|\s+))?([0-9]+)\s*/\s*([0-9]+)")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


def parse_length(text: str, *, default_unit: Unit) -> Decimal:
    """The length a person wrote, in mm with five places; a plain number is in `default_unit`.

    Reads `11 5/8`, `11-5/8"`, `11½ in`, `19' 4 1/2"`, `19 ft 4 in`, `5.89 m`, `5,89 m`, `29.5 cm`, `295 mm`,
    with typographic quotes, primes and spaces. A plain number in `ft_in` is feet. Finer than 0.00001 mm is
    rounded half up. Raises BadLength.
    """
    return _read(text, default_unit)


# The lengths of a yard repeat themselves: a chart of many thousand logs has a few hundred diameters.
_REMEMBERED = 1 << 14


@lru_cache(_REMEMBERED)
def _read(text: str, default_unit: Unit) -> Decimal:
    cleaned = _clean(text)
    if found := _FEET_AND_INCHES.fullmatch(cleaned):
        mm = _feet_and_inches(text, feet=found[1], inches=found[2])
    elif found := _ONE_UNIT.fullmatch(cleaned):
        unit = _unit_written(found[2]) or default_unit
        if "/" in found[1] and unit not in (Unit.IN, Unit.FT_IN):
            raise BadLength(text, f"a fraction is in inches or feet, but the unit here is {unit}")
        mm = _value(text, found[1], unit=unit) * Fraction(MM_PER[unit])
    else:
        raise BadLength(text, _why_unreadable(cleaned))
    if mm > LONGEST_MM:
        raise BadLength(text, "it is longer than a kilometre")
    return to_places(mm, STORED_PLACES)


def write_length(mm: Decimal | float, *, unit: Unit, fraction: int = 8, exact: bool = False) -> str:
    """The length in a crew's unit: `11 5/8"`, `19' 4 1/2"`, `5.89 m`, `29.5 cm`, `295 mm`.

    Inches are rounded half up to the `fraction` (1, 2, 4, 8, 16 or 32), metric units to whole millimetres.
    With `exact` nothing is rounded: a finer fraction, or failing that decimals of an inch, are written where
    `fraction` would lose something, so that the text reads back as what is stored. Raises BadLength.
    """
    if fraction not in FRACTIONS:
        raise BadLength(str(fraction), "the fraction of an inch shown is 1, 2, 4, 8, 16 or 32")
    value = mm if isinstance(mm, Decimal) else Decimal(repr(mm))
    if not value.is_finite():
        raise BadLength(str(mm), "it is not a number")
    if abs(value) > LONGEST_MM:
        raise BadLength(str(mm), "it is longer than a kilometre")
    if not exact:
        return _write_rounded(value, unit, fraction)
    return _write_exactly(value.quantize(STORED_PLACES, rounding=ROUND_HALF_UP), unit, fraction)


def written_to_step(value: float, *, places: int, thousands: bool = False) -> str:
    """A number to so many decimal places, halves away from nought; noughts at its end are left out."""
    step = Decimal(1).scaleb(-places)
    rounded = Decimal(repr(round(value, 9))).quantize(step, rounding=ROUND_HALF_UP)
    text = _plain(rounded) if rounded else "0"
    return f"{Decimal(text):,}" if thousands else text


@lru_cache(_REMEMBERED)
def _write_rounded(mm: Decimal, unit: Unit, fraction: int) -> str:
    return _write(mm, unit=unit, fraction=fraction, metric_step_mm=Decimal(1))


@lru_cache(_REMEMBERED)
def _write_exactly(stored: Decimal, unit: Unit, fraction: int) -> str:
    for finer in (f for f in FRACTIONS if f >= fraction):
        written = _write(stored, unit=unit, fraction=finer, metric_step_mm=STORED_PLACES)
        if _reads_as(written, stored):
            return written
    feet, inches = (
        divmod(abs(stored) / MM_PER_IN, 12) if unit is Unit.FT_IN else (None, abs(stored) / MM_PER_IN)
    )
    text = f'{_plain(inches.quantize(EXACT_INCHES, rounding=ROUND_HALF_UP))}"'
    body = text if feet is None else f"{feet:f}' {text}"
    return body if stored >= 0 else f"-{body}"


def spelled_plainly(text: str) -> str:
    """The text with plain signs for typographic quotes, primes, dashes, blanks and fractions."""
    spelled = "".join(f" {_VULGAR[c]}" if c in _VULGAR else c for c in text)
    return spelled.translate(_SAME_AS).replace("''", '"')


def _clean(text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise BadLength(text[:LONGEST_TEXT] + "…", f"it is longer than {LONGEST_TEXT} characters")
    cleaned = spelled_plainly(text).strip().lower()
    if not cleaned:
        raise BadLength(text, "nothing is written")
    return cleaned


def _why_unreadable(cleaned: str) -> str:
    if cleaned.startswith("-"):
        return "a length is not negative"
    if cleaned.count(",") + cleaned.count(".") > 1:
        return "it has more than one decimal mark"
    return 'expected a number with a unit, such as 11 5/8", 19\' 4", 5.89 m or 29.5 cm'


def _unit_written(mark: str | None) -> Unit | None:
    if not mark:
        return None
    if mark.startswith(("mm", "milli")):
        return Unit.MM
    if mark.startswith("c"):
        return Unit.CM
    return Unit.M if mark.startswith("m") else Unit.IN


def _feet_and_inches(text: str, *, feet: str, inches: str | None) -> Fraction:
    whole_feet = _value(text, feet, unit=Unit.FT_IN)
    mm = whole_feet * Fraction(MM_PER_FT)
    if inches is None:
        return mm
    if whole_feet.denominator != 1:
        raise BadLength(text, "feet beside inches are whole feet")
    value = _value(text, inches, unit=Unit.IN)
    if value >= 12:
        raise BadLength(text, "inches beside feet are less than 12")
    return mm + value * Fraction(MM_PER_IN)


def _value(text: str, written: str, *, unit: Unit) -> Fraction:
    """The number written, a mixed fraction or a decimal, exactly."""
    if parts := _MIXED_PARTS.fullmatch(written):
        whole, numerator, denominator = int(parts[1] or 0), int(parts[2]), int(parts[3])
        if denominator not in FRACTIONS[1:]:
            raise BadLength(text, "a fraction is in halves, quarters, eighths, sixteenths or thirty-seconds")
        if numerator >= denominator:
            raise BadLength(text, "the fraction is not smaller than one")
        return whole + Fraction(numerator, denominator)
    # 1,234 mm may be a thousand or a decimal comma; a thousand inches, feet or metres is no log.
    if unit in (Unit.MM, Unit.CM) and _THOUSANDS.fullmatch(written):
        raise BadLength(text, "the comma may mark decimals or thousands; write it without, or with a point")
    return Fraction(written.replace(",", "."))


def to_places(value: Fraction, step: Decimal) -> Decimal:
    """The multiple of `step` nearest to a value that is not negative, halves up."""
    return ((value / Fraction(step) * 2 + 1) // 2) * step


def _write(mm: Decimal, *, unit: Unit, fraction: int, metric_step_mm: Decimal) -> str:
    size = Fraction(abs(mm))
    if unit in (Unit.IN, Unit.FT_IN):
        steps = to_places(size / Fraction(MM_PER_IN), Decimal(1) / fraction) * fraction
        body, is_zero = _write_inches(int(steps), fraction=fraction, in_feet=unit == Unit.FT_IN), steps == 0
    else:
        rounded = to_places(size, metric_step_mm)
        body, is_zero = f"{_plain(rounded / MM_PER[unit])} {unit}", rounded == 0
    return body if mm >= 0 or is_zero else f"-{body}"


def _write_inches(steps: int, *, fraction: int, in_feet: bool) -> str:
    whole, part = divmod(steps, fraction)
    rest = Fraction(part, fraction)
    feet, whole = divmod(whole, 12) if in_feet else (0, whole)
    # With feet the whole inches are written even if there are none: 1' 1/4" reads like a slip for 1 1/4".
    inches = f"{whole} {rest}" if rest and (whole or in_feet) else str(rest or whole)
    return f"{feet}' {inches}\"" if in_feet else f'{inches}"'


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _reads_as(written: str, stored: Decimal) -> bool:
    return stored >= 0 and parse_length(written, default_unit=Unit.MM) == stored
