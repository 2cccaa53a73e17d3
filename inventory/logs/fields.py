"""Lengths and numbers as the API reads them: in millimetres, or a trade length with its unit as a text."""

import math
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django_filters import Filter
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crews.api.problems import SpokenCode
from inventory.core.crew_units import Sentence
from inventory.core.measure import LONGEST_MM, STORED_PLACES, BadLength, Unit, parse_length


class NumberField(serializers.FloatField):
    """A number; a text such as `nan` or `inf`, which floats read, is none."""

    def to_internal_value(self, data: Any) -> float:
        value = float(super().to_internal_value(data))
        if not math.isfinite(value):
            self.fail("invalid")
        return value


_READS = "Millimetres as a number, or a text with its unit, such as `11 5/8 in`, `19' 4\"` or `5.89 m`."

_LONGEST_TEXT = 60


def length_mm_of_text(text: str) -> Decimal:
    """The length a text gives, in mm; raises BadLength, also for a number that says no unit."""
    mm = parse_length(text, default_unit=Unit.MM)
    if mm != parse_length(text, default_unit=Unit.M):
        raise BadLength(text, "it names no unit; write 29.5 cm, or send a number of millimetres")
    return mm


def _beyond(code: str, words: str, limit_mm: Decimal) -> serializers.ValidationError:
    said = Sentence(words, limit=limit_mm)
    return serializers.ValidationError(said, code=SpokenCode(code, said=said))


@extend_schema_field({"type": ["number", "string"], "maxLength": _LONGEST_TEXT, "description": _READS})
class LengthField(serializers.Field[Decimal, Any, Any, Any]):
    """A length in millimetres with five places; a text is read in the unit that it names."""

    default_error_messages = {
        "not_a_length": "A length is a number of millimetres, or a text with its unit.",
        "too_long": f"A length is written in {_LONGEST_TEXT} signs at most.",
    }

    def __init__(
        self, *, least_mm: Decimal | None = Decimal(0), most_mm: Decimal = LONGEST_MM / 2, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.least_mm = -most_mm if least_mm is None else least_mm
        self.most_mm = most_mm

    def to_internal_value(self, data: Any) -> Decimal:
        if isinstance(data, str):
            if len(data) > _LONGEST_TEXT:
                self.fail("too_long")
            try:
                mm = length_mm_of_text(data)
            except BadLength as bad:
                raise serializers.ValidationError(str(bad), code="unreadable_length") from bad
        elif isinstance(data, int | float) and not isinstance(data, bool):
            mm = Decimal(repr(data))
        else:
            self.fail("not_a_length")
        if mm < self.least_mm:
            raise _beyond("too_small", "A length here is not less than {limit:along}.", self.least_mm)
        if mm > self.most_mm:
            raise _beyond("too_large", "A length here is not more than {limit:along}.", self.most_mm)
        return mm.quantize(STORED_PLACES, rounding=ROUND_HALF_UP)

    def to_representation(self, value: Decimal) -> Decimal:
        return value


@extend_schema_field({"type": "string", "description": f"{_READS} A plain number is millimetres."})
class LengthQueryField(LengthField):
    """A length in a query, where everything is text: a plain number is millimetres."""

    def to_internal_value(self, data: Any) -> Decimal:
        try:
            mm = parse_length(data, default_unit=Unit.MM)
        except BadLength as bad:
            raise serializers.ValidationError(str(bad), code="unreadable_length") from bad
        return super().to_internal_value(f"{mm} mm")


class _LengthInQuery(forms.CharField):
    """A length in a query: a plain number is millimetres."""

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value)
        if not text:
            return None
        try:
            return parse_length(text, default_unit=Unit.MM)
        except BadLength as bad:
            raise forms.ValidationError(str(bad)) from bad


class LengthParameter(Filter):
    """A filter of a list by a length."""

    field_class = _LengthInQuery
