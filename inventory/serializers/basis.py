"""What a figure rests on, as every answer with figures carries it."""

from rest_framework import serializers

from config.api.reading import RowOut


class BasisOut(RowOut):
    rule = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects
    assumption = serializers.CharField()
