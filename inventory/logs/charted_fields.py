"""What a chart says of a log, as the API takes and gives it: a field for each column, after the model's."""

from collections.abc import Iterable
from typing import Any

from django.db import models
from rest_framework import serializers

from crews.api.names import NameField
from inventory.core.chart_columns import COLUMNS
from inventory.logs.fields import LengthField
from inventory.logs.models import Log, MillimetreField

Field = serializers.Field[Any, Any, Any, Any]
_SAID = {column.field: column.says for column in COLUMNS}


def fields_taken(names: Iterable[str]) -> dict[str, Field]:
    """A field of a body for each column of a log. What may be left out has the default of the database."""
    return {name: _taken(Log._meta.get_field(name)) for name in names}


def fields_given(names: Iterable[str]) -> dict[str, Field]:
    """A field of an answer for each column of a log."""
    return {name: _given(Log._meta.get_field(name)) for name in names}


def _taken(column: Any) -> Field:
    options: dict[str, Any] = {"help_text": _SAID.get(column.name) or None}
    if column.null:
        options |= {"required": False, "allow_null": True, "default": None}
    elif column.has_default():
        options["default"] = column.to_python(column.get_default())
    if column.choices:
        return serializers.ChoiceField(column.choices, **options)
    match column:
        case MillimetreField():
            return LengthField(**options)
        case models.BooleanField():
            return serializers.BooleanField(**options)
        case models.DateField():
            return serializers.DateField(**options)
        case models.CharField():
            options |= {"allow_blank": True, "default": ""} if column.blank else {}
            return NameField(max_length=column.max_length, **options)
    raise TypeError(f"{column}: say in the serializer how it is taken")


def _given(column: Any) -> Field:
    options: dict[str, Any] = {"help_text": _SAID.get(column.name) or None, "allow_null": column.null}
    if column.choices:
        return serializers.ChoiceField(column.choices, **options)
    match column:
        case models.DecimalField():
            return serializers.FloatField(**options)
        case models.BooleanField():
            return serializers.BooleanField(**options)
        case models.DateField():
            return serializers.DateField(**options)
        case models.CharField() | models.TextField():
            return serializers.CharField(**options)
    raise TypeError(f"{column}: say in the serializer how it is given")
