"""What cabins and their places look like from outside."""

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.history.sync import SyncedPage


class CabinIn(BodyIn):
    name = NameField(max_length=80)
    remarks = serializers.CharField(max_length=4000, allow_blank=True, default="")


class CabinOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    remarks = serializers.CharField()
    layout_version = serializers.IntegerField(help_text="0 until the cabin is laid out.")
    rounds = serializers.IntegerField(allow_null=True)
    built_version = serializers.IntegerField(help_text="Grows with every log set or undone and every height.")
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class CabinPage(SyncedPage):
    items = CabinOut(many=True)
    next = serializers.CharField(allow_null=True)


class PlaceOut(RowOut):
    id = serializers.IntegerField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField(help_text="Numbered from 0 at the wall's start corner.")
    start_mm = serializers.FloatField(help_text="Along the wall; negative in the overhang.")
    end_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    set_log = serializers.UUIDField(allow_null=True)
    log = serializers.UUIDField(allow_null=True, help_text="The log that fills it.")
    log_number = serializers.CharField(allow_null=True)


class PlacePage(RowOut):
    items = PlaceOut(many=True)
    next = serializers.CharField(allow_null=True)
