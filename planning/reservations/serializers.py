"""What reservations look like from outside."""

from rest_framework import serializers

from crews.api.reading import BodyIn, RowOut
from crews.history.sync import SyncedPage
from planning.reservations.models import ReservationEnd


class ReservationOut(RowOut):
    id = serializers.UUIDField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    plan = serializers.UUIDField()
    ended_at = serializers.DateTimeField(allow_null=True)
    ended_because = serializers.ChoiceField(ReservationEnd.choices, allow_blank=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class ReservationPage(SyncedPage):
    items = ReservationOut(many=True)
    next = serializers.CharField(allow_null=True)


class UndoIn(BodyIn):
    reason = serializers.CharField(max_length=500)
