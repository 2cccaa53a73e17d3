"""The most that a list or a map of a request holds, told in the schema: drf-spectacular passes it over."""

from typing import Any

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from drf_spectacular.openapi import AutoSchema
from rest_framework import serializers


def list_of(
    child: serializers.Serializer[Any], *, most: int, **given: Any
) -> "serializers.ListSerializer[Any]":
    """A list of at most so many of these."""
    return serializers.ListSerializer(child=child, max_length=most, **given)


class BoundedMap(serializers.DictField):
    """Values by name, `most` of them: no more names are known."""

    def __init__(self, *, most: int, **given: Any) -> None:
        super().__init__(**given)
        self.most = most

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, dict) and len(data) > self.most:
            raise serializers.ValidationError(f"There are {self.most} names at most.", code="too_many")
        return super().to_internal_value(data)


class _BoundedMapTold(OpenApiSerializerFieldExtension):
    target_class = BoundedMap

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        told = auto_schema._map_serializer_field(self.target, direction, bypass_extensions=True)
        return {**told, "maxProperties": self.target.most}


class _ListTold(OpenApiSerializerFieldExtension):
    target_class = "rest_framework.serializers.ListSerializer"
    match_subclasses = True

    def map_serializer_field(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        told = auto_schema._map_serializer_field(self.target, direction, bypass_extensions=True)
        bounds = {"minItems": self.target.min_length, "maxItems": self.target.max_length}
        return {**told, **{name: most for name, most in bounds.items() if most is not None}}
