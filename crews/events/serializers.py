"""What events look like from outside."""

from rest_framework import serializers

from crews.api.reading import RowOut
from crews.events.models import EventKind


class ToldEventOut(RowOut):
    id = serializers.UUIDField(help_text="Also the `webhook-id` under which it is sent.")
    kind = serializers.ChoiceField(EventKind.choices)
    data = serializers.DictField()  # type: ignore[assignment] # a field, which DRF takes out of the class
    at = serializers.DateTimeField()


class ToldEventPage(RowOut):
    items = ToldEventOut(many=True)
    next = serializers.CharField(allow_null=True)
