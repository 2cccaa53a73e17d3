"""Trade lengths: what a crew writes is what it gets back, to the thirty-second of an inch."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.measure import BadLength, Unit, parse_length, write_length

WRITTEN = [
    ("11 5/8", Unit.IN, "295.275"),
    ('11-5/8"', Unit.MM, "295.275"),
    ("11–5/8″", Unit.MM, "295.275"),
    ("11⅝", Unit.IN, "295.275"),
    ("11 5⁄8”", Unit.MM, "295.275"),
    ("11.625 in", Unit.MM, "295.275"),
    ("11,625", Unit.IN, "295.275"),
    ("½ inch", Unit.MM, "12.7"),
    ("5/8", Unit.IN, "15.875"),
    ("19' 4\"", Unit.MM, "5892.8"),
    ("19’4”", Unit.MM, "5892.8"),
    ("19 ft 4 in", Unit.MM, "5892.8"),
    ("19\u00a0ft. 4\u202fin.", Unit.MM, "5892.8"),
    ("19 feet, 4 inches", Unit.MM, "5892.8"),
    ("19' 4 1/2''", Unit.MM, "5905.5"),
    ("19′ 4½″", Unit.MM, "5905.5"),
    ("19' 4", Unit.MM, "5892.8"),
    ("19'", Unit.MM, "5791.2"),
    ("19 1/2 ft", Unit.MM, "5943.6"),
    ("1 foot", Unit.MM, "304.8"),
    ("19.5", Unit.FT_IN, "5943.6"),
    ("5.89 m", Unit.IN, "5890"),
    ("5,89 m", Unit.IN, "5890"),
    ("5,890 metres", Unit.IN, "5890"),
    (".5 m", Unit.IN, "500"),
    ("295 mm", Unit.IN, "295"),
    ("29.5cm", Unit.IN, "295"),
    ("29,5", Unit.CM, "295"),
    ("  295  ", Unit.MM, "295"),
    ("0", Unit.IN, "0"),
    ("1/32 in", Unit.MM, "0.79375"),
    ("0.000005 mm", Unit.IN, "0.00001"),
]

REFUSED = [
    ("", "nothing"),
    ("about a foot", "expected"),
    ("-3 in", "negative"),
    ("11 5/7", "halves"),
    ("11 ⅓ in", "halves"),
    ("11 9/8", "smaller than one"),
    ("1,234 mm", "thousands"),
    ("1,234.5 mm", "more than one"),
    ("19.5' 4\"", "whole feet"),
    ("5' 14\"", "less than 12"),
    ("19-4", "expected"),
    ("2000000 mm", "kilometre"),
    ("nan", "expected"),
    ("1e3", "expected"),
    ("٣ mm", "expected"),
    ("1" * 60, "characters"),
]


@pytest.mark.parametrize(("text", "unit", "mm"), WRITTEN)
def test_a_length_is_read_as_a_crew_writes_it(text: str, unit: Unit, mm: str):
    assert parse_length(text, default_unit=unit) == Decimal(mm)


@pytest.mark.parametrize(("text", "reason"), REFUSED)
def test_what_is_no_length_is_refused_with_the_reason(text: str, reason: str):
    with pytest.raises(BadLength) as refused:
        parse_length(text, default_unit=Unit.IN)

    assert reason in refused.value.reason
    assert refused.value.text[:5] == text[:5]


def test_a_fraction_in_a_metric_chart_needs_its_unit():
    with pytest.raises(BadLength, match="a fraction is in inches or feet"):
        parse_length("11 5/8", default_unit=Unit.MM)


@pytest.mark.parametrize(
    ("mm", "unit", "fraction", "text"),
    [
        ("295.275", Unit.IN, 8, '11 5/8"'),
        ("295.275", Unit.IN, 4, '11 3/4"'),
        ("292.1", Unit.IN, 1, '12"'),
        ("15.875", Unit.IN, 8, '5/8"'),
        ("15.875", Unit.FT_IN, 8, "0' 0 5/8\""),
        ("0", Unit.IN, 8, '0"'),
        ("-0.1", Unit.IN, 8, '0"'),
        ("-38.1", Unit.IN, 8, '-1 1/2"'),
        ("5905.5", Unit.FT_IN, 8, "19' 4 1/2\""),
        ("304.7", Unit.FT_IN, 8, "1' 0\""),
        ("5890", Unit.M, 8, "5.89 m"),
        ("6000", Unit.M, 8, "6 m"),
        ("295", Unit.CM, 8, "29.5 cm"),
        ("294.5", Unit.MM, 8, "295 mm"),
        ("-6.5", Unit.MM, 8, "-7 mm"),
    ],
)
def test_a_length_is_shown_in_the_crews_unit_and_fraction(mm: str, unit: Unit, fraction: int, text: str):
    assert write_length(Decimal(mm), unit=unit, fraction=fraction) == text


def test_a_float_is_shown_like_the_decimal_it_prints_as():
    assert write_length(295.275, unit=Unit.IN) == '11 5/8"'


@pytest.mark.parametrize("mm", [Decimal("NaN"), float("inf"), float("nan"), Decimal(10) ** 7])
def test_no_number_and_no_kilometre_is_ever_shown(mm: Decimal | float):
    with pytest.raises(BadLength):
        write_length(mm, unit=Unit.IN)


def test_a_fraction_that_no_tape_has_is_refused():
    with pytest.raises(BadLength, match="1, 2, 4, 8, 16 or 32"):
        write_length(Decimal(1), unit=Unit.IN, fraction=10)


@given(
    steps=st.integers(min_value=0, max_value=32 * 12 * 60),
    fraction=st.sampled_from([2, 4, 8, 16, 32]),
    unit=st.sampled_from([Unit.IN, Unit.FT_IN]),
)
def test_a_tape_reading_comes_back_as_the_same_text_for_ever(steps: int, fraction: int, unit: Unit):
    mm = Decimal(steps) * Decimal("25.4") / fraction

    text = write_length(mm, unit=unit, fraction=fraction)
    again = write_length(parse_length(text, default_unit=Unit.MM), unit=unit, fraction=fraction)

    assert again == text
    assert parse_length(text, default_unit=Unit.MM) == mm


@given(
    mm=st.decimals(min_value=0, max_value=40_000, places=5),
    unit=st.sampled_from(Unit),
    fraction=st.sampled_from([1, 2, 4, 8, 16, 32]),
)
def test_an_exact_text_loses_nothing_in_any_unit(mm: Decimal, unit: Unit, fraction: int):
    text = write_length(mm, unit=unit, fraction=fraction, exact=True)

    assert parse_length(text, default_unit=Unit.IN) == mm


@given(mm=st.decimals(min_value=-40_000, max_value=40_000, places=5), fraction=st.sampled_from([1, 2, 8, 32]))
def test_what_is_shown_is_within_half_a_fraction_of_what_is_stored(mm: Decimal, fraction: int):
    text = write_length(mm, unit=Unit.IN, fraction=fraction)

    shown = parse_length(text.removeprefix("-"), default_unit=Unit.MM)
    half_a_step_mm = Decimal("12.7") / fraction
    assert abs(shown - abs(mm)) <= half_a_step_mm + Decimal("0.00001")


def test_an_overlap_keeps_its_sign_and_is_exact():
    assert write_length(Decimal("-38.1"), unit=Unit.IN, exact=True) == '-1.5"'
