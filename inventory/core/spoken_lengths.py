"""Lengths in words as people say them: thirteen and three quarters, four foot two, five eighty nine."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from inventory.core.chart_columns import UNIT_WORDS
from inventory.core.measure import LONGEST_MM, MM_PER, STORED_PLACES, Unit, to_places

DIGITS = "0123456789"
_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
SMALL = {word: n for n, word in enumerate(_ONES)} | {"nought": 0, "nil": 0}
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
TENS = {word: n * 10 for n, word in enumerate(_TENS, start=2)}
PARTS = {"half": 2, "halves": 2, "quarter": 4, "quarters": 4, "eighth": 8, "eighths": 8}
PARTS |= {"sixteenth": 16, "sixteenths": 16, "thirty-second": 32, "thirty-seconds": 32}
_LONGEST_DIGITS = 6


class NotClear(ValueError):
    """This can be read in more than one way, or in none."""


@dataclass(frozen=True, slots=True)
class _Number:
    """A number said: its value, where it ends, and how it was said.

    `is_loose`: of tens and ones with a blank between, as in "twenty four", which may be two numbers.
    """

    value: Fraction
    end: int
    has_part: bool = False
    is_whole: bool = True
    is_loose: bool = False
    has_comma: bool = False
    words: int = 1


def is_figure(word: str) -> bool:
    """True if a number begins with this word."""
    is_said = word in SMALL or word in TENS or word in PARTS
    return is_said or "-" in word[1:] or (word != "" and word[0] in DIGITS)


def whole_number(words: list[str]) -> int:
    """The one whole number that these words are. Raises NotClear."""
    found = _number(words, 0)
    if found is None or found.end != len(words) or not found.is_whole:
        raise NotClear
    return int(found.value)


def read_measure(words: list[str], i: int, unit: Unit) -> tuple[Decimal, int]:
    """The length said from the i-th word on, in mm with five places, and where it ends. Raises NotClear."""
    mm, end = _measure(words, i, unit)
    if mm > LONGEST_MM:
        raise NotClear
    return to_places(mm, STORED_PLACES), end


def follows_one(word: str) -> bool:
    """True if "a" before this word is one of it: an inch, a half, a hundred."""
    return word in UNIT_WORDS or word in PARTS or word == "hundred"


def _at(words: list[str], i: int) -> str:
    return words[i] if i < len(words) else ""


def _measure(words: list[str], i: int, default: Unit) -> tuple[Fraction, int]:
    if _at(words, i) in ("a", "an") and _at(words, i + 1) in UNIT_WORDS:
        first = _Number(Fraction(1), i + 1)
    else:
        found = _value(words, i)
        if found is None:
            raise NotClear
        first = found
    unit, end = _unit(words, first.end)
    if first.has_comma and (unit or default) in (Unit.IN, Unit.FT_IN):
        raise NotClear
    if unit is None:
        return _bare(words, first, default)
    if first.has_part and unit not in (Unit.IN, Unit.FT_IN) and first.value.denominator > 2:
        raise NotClear
    mm = first.value * Fraction(MM_PER[unit])
    match unit:
        case Unit.FT_IN:
            return _after_feet(words, first, end)
        case Unit.M:
            return _after_metres(words, first, end)
        case Unit.IN | Unit.CM if first.is_whole:
            part = _part(words, end + 1 if _at(words, end) == "and" else end)
            if part is None:
                return mm, end
            if unit is Unit.CM and part.value.denominator != 2:
                raise NotClear
            return mm + part.value * Fraction(MM_PER[unit]), part.end
        case _:
            return mm, end


def _bare(words: list[str], first: _Number, default: Unit) -> tuple[Fraction, int]:
    """A number without a unit, or two: feet and inches, metres and hundredths."""
    mm = first.value * Fraction(MM_PER[default])
    if default not in (Unit.IN, Unit.FT_IN) and first.has_part and first.value.denominator > 2:
        raise NotClear
    second = _value(words, first.end) if first.is_whole else None
    if default is Unit.FT_IN:
        if second is not None:
            return _inches_beside(words, first, second)
        # "twenty four" is 24 feet or 20 feet 4; "seventeen and a quarter" is of a foot or of an inch.
        if (
            first.is_loose
            or (first.has_part and first.value.denominator > 2)
            or (first.value < 1 and first.has_part)
        ):
            raise NotClear
    if default is Unit.M and second is not None:
        return _hundredths_beside(first, second), second.end
    return mm, first.end


def _after_feet(words: list[str], first: _Number, end: int) -> tuple[Fraction, int]:
    start = end + 1 if _at(words, end) in ("and", ",") else end
    second = _value(words, start)
    if second is None or (_at(words, end) == "," and _unit(words, second.end)[0] is not Unit.IN):
        return first.value * Fraction(MM_PER[Unit.FT_IN]), end
    return _inches_beside(words, first, second)


def _inches_beside(words: list[str], feet: _Number, inches: _Number) -> tuple[Fraction, int]:
    unit, end = _unit(words, inches.end)
    if not feet.is_whole or inches.value >= 12 or unit not in (None, Unit.IN):
        raise NotClear
    if unit is None and inches.value < 1 and inches.has_part:
        raise NotClear  # "four foot and a half": half a foot, or half an inch
    if unit is Unit.IN and inches.is_whole:
        part = _part(words, end + 1 if _at(words, end) == "and" else end)
        if part is not None:
            return feet.value * Fraction("304.8") + (inches.value + part.value) * Fraction("25.4"), part.end
    return feet.value * Fraction("304.8") + inches.value * Fraction("25.4"), end


def _after_metres(words: list[str], first: _Number, end: int) -> tuple[Fraction, int]:
    second = _value(words, end + 1 if _at(words, end) == "and" else end)
    if second is None:
        return first.value * 1000, end
    unit, after = _unit(words, second.end)
    if not first.is_whole or unit not in (None, Unit.CM, Unit.MM):
        raise NotClear
    if unit is None:
        return _hundredths_beside(first, second), second.end
    rest = second.value * Fraction(MM_PER[unit])
    if rest >= 1000 or (second.has_part and second.value.denominator > 2):
        raise NotClear
    return first.value * 1000 + rest, after


def _hundredths_beside(metres: _Number, hundredths: _Number) -> Fraction:
    """Five eighty nine: two figures after the metres are centimetres; one may be tenths as well."""
    if not metres.is_whole or not hundredths.is_whole or not 10 <= hundredths.value <= 99:
        raise NotClear
    return metres.value * 1000 + hundredths.value * 10


def _unit(words: list[str], i: int) -> tuple[Unit | None, int]:
    """The unit named from the i-th word on, if there is one, and where it ends: inch, of an inch."""
    j = i
    while j < i + 2 and _at(words, j) in ("of", "a", "an"):
        j += 1
    unit = UNIT_WORDS.get(_at(words, j))
    return (None, i) if unit is None else (unit, j + 1)


def _value(words: list[str], i: int) -> _Number | None:
    """A number with the fraction behind it."""
    if (part := _part(words, i)) is not None:
        return part
    whole = _number(words, i)
    if whole is None or not whole.is_whole:
        return whole
    part = _part(words, whole.end + 1 if _at(words, whole.end) == "and" else whole.end)
    if part is None:
        return whole
    return _Number(whole.value + part.value, part.end, has_part=True, is_whole=False)


def _part(words: list[str], i: int) -> _Number | None:
    """A fraction of one: 3/4, three quarters, a half, half."""
    word = _at(words, i)
    if "/" in word and word[0] in DIGITS:
        over, under = (one.strip() for one in word.split("/"))
        if len(over) > 2 or len(under) > 2:
            raise NotClear
        return _fraction(int(over), int(under), i + 1)
    if word in ("a", "an") and _at(words, i + 1) in PARTS:
        return _fraction(1, PARTS[_at(words, i + 1)], i + 2)
    if word in PARTS:
        return _fraction(1, PARTS[word], i + 1)
    over_number = _number(words, i)
    if over_number is None or not over_number.is_whole:
        return None
    named = _part_named(words, over_number.end)
    if named is None:
        return None
    if over_number.words > 1:
        raise NotClear  # "twenty three eighths": 20 3/8, or 23/8
    return _fraction(int(over_number.value), *named)


def _part_named(words: list[str], i: int) -> tuple[int, int] | None:
    if _at(words, i) in PARTS:
        return PARTS[_at(words, i)], i + 1
    if _at(words, i) == "thirty" and _at(words, i + 1) in ("second", "seconds"):
        return 32, i + 2
    return None


def _fraction(over: int, under: int, end: int) -> _Number:
    if under not in (2, 4, 8, 16, 32) or not 0 < over < under:
        raise NotClear
    return _Number(Fraction(over, under), end, has_part=True, is_whole=False)


def _number(words: list[str], i: int) -> _Number | None:
    """A number in words or figures, whole or with decimals."""
    word = _at(words, i)
    if word[:1] in DIGITS and word:
        if "/" in word:
            return None
        if "." in word or "," in word:
            whole, _, decimals = word.replace(",", ".").partition(".")
            if len(whole) > _LONGEST_DIGITS or len(decimals) > 5 or ("," in word and len(decimals) == 3):
                raise NotClear
            value = Fraction(f"{whole}.{decimals}")
            return _Number(value, i + 1, is_whole=False, has_comma="," in word)
        if len(word) > _LONGEST_DIGITS:
            raise NotClear
        number, end, loose = int(word), i + 1, False
    else:
        found = _in_words(words, i)
        if found is None:
            return None
        number, end, loose = found
    if _at(words, end) != "point":
        return _Number(Fraction(number), end, is_loose=loose, words=end - i)
    decimals = ""
    j = end + 1
    while (digit := _digit(_at(words, j))) is not None:
        decimals, j = decimals + digit, j + 1
    if not decimals or len(decimals) > 5:
        raise NotClear
    return _Number(Fraction(f"{number}.{decimals}"), j, is_whole=False)


def _digit(word: str) -> str | None:
    if word in ("oh", "o"):
        return "0"
    if word and all(one in DIGITS for one in word):
        return word
    value = SMALL.get(word, 10)
    return str(value) if value < 10 else None


def _in_words(words: list[str], i: int) -> tuple[int, int, bool] | None:
    """A whole number in words, where it ends, and whether tens and ones stand apart in it."""
    head = _below_thousand(words, i)
    if head is None or _at(words, head[1]) != "thousand":
        return head
    value, end = head[0] * 1000, head[1] + 1
    rest = _below_thousand(words, end + 1 if _at(words, end) == "and" else end)
    return (value, end, False) if rest is None else (value + rest[0], rest[1], False)


def _below_thousand(words: list[str], i: int) -> tuple[int, int, bool] | None:
    if _at(words, i) == "a" and _at(words, i + 1) == "hundred":
        head: tuple[int, int, bool] | None = (1, i + 1, False)
    else:
        head = _below_hundred(words, i)
    if head is None or _at(words, head[1]) != "hundred" or not 1 <= head[0] <= 9:
        return head
    value, end = head[0] * 100, head[1] + 1
    rest = _below_hundred(words, end + 1 if _at(words, end) == "and" else end)
    return (value, end, False) if rest is None else (value + rest[0], rest[1], False)


def _below_hundred(words: list[str], i: int) -> tuple[int, int, bool] | None:
    word = _at(words, i)
    tens, _, ones = word.partition("-")
    if ones and tens in TENS and ones in SMALL:
        return TENS[tens] + SMALL[ones], i + 1, False
    if word in SMALL:
        return SMALL[word], i + 1, False
    if word not in TENS:
        return None
    behind = SMALL.get(_at(words, i + 1), 0)
    return (TENS[word] + behind, i + 2, True) if 1 <= behind <= 9 else (TENS[word], i + 1, False)
