"""What measured heights look like from outside."""

from decimal import Decimal

from rest_framework import serializers

from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage
from inventory.logs.fields import LengthField

MOST_AT_ONCE = 500
_WHERE = "`start` or `end` of the wall, or the tee of a partition between them by its name: `P-A`."


class _MeasuredIn(BodyIn):
    wall = serializers.CharField(max_length=40)
    round = serializers.IntegerField(
        min_value=0,
        max_value=1000,
        help_text="0: what the wall starts on, deck or half log; one over the last: half logs at the top.",
    )
    end = serializers.CharField(max_length=81, help_text=_WHERE)
    height_mm = LengthField(least_mm=Decimal(-1000), help_text="Top of the log above the deck.")
    measured_at = TimeField()
    measured_by = serializers.UUIDField(
        allow_null=True, default=None, help_text="A member; null: whoever records it."
    )
    remarks = serializers.CharField(max_length=4000, allow_blank=True, default="")


class HeightIn(_MeasuredIn):
    cabin = serializers.UUIDField()
    confirm_doubtful = serializers.BooleanField(default=False)


class HeightLineIn(_MeasuredIn):
    id = serializers.UUIDField()


class HeightsIn(BodyIn):
    heights = serializers.ListField(child=HeightLineIn(), min_length=1, max_length=MOST_AT_ONCE)
    confirm_doubtful = serializers.BooleanField(default=False)


class HeightOut(RowOut):
    id = serializers.UUIDField()
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    end = serializers.CharField(help_text=_WHERE)
    height_mm = serializers.FloatField()
    height_text = serializers.CharField(help_text="As the crew writes it.")
    measured_at = serializers.DateTimeField()
    measured_by = serializers.UUIDField()
    recorded_by = serializers.UUIDField()
    remarks = serializers.CharField()
    undone_at = serializers.DateTimeField(allow_null=True)
    undone_by = serializers.UUIDField(allow_null=True)
    undo_reason = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class HeightPage(SyncedPage):
    items = HeightOut(many=True)
    next = serializers.CharField(allow_null=True)


class HeightsOut(RowOut):
    heights = HeightOut(many=True, help_text="In the order sent.")
