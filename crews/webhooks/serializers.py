"""What webhooks and their deliveries look like from outside."""

from rest_framework import serializers

from crews.api.reading import BodyIn, RowOut
from crews.events.models import EventKind
from crews.history.sync import SyncedPage
from crews.webhooks.models import DeliveryStanding


class WebhookIn(BodyIn):
    url = serializers.CharField(max_length=500, help_text="An https address in the open internet.")
    kinds = serializers.ListField(
        child=serializers.ChoiceField(EventKind.choices), allow_empty=False, max_length=len(EventKind)
    )


class WebhookOut(RowOut):
    id = serializers.UUIDField()
    url = serializers.CharField()
    kinds = serializers.ListField(child=serializers.ChoiceField(EventKind.choices))
    old_secret_until = serializers.DateTimeField(
        allow_null=True, help_text="Until then the secret before the last rotation signs as well."
    )
    removed_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class NewWebhookOut(WebhookOut):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown once; null when the request is repeated or changes the webhook."
    )


class WebhookPage(SyncedPage):
    items = WebhookOut(many=True)
    next = serializers.CharField(allow_null=True)


class AttemptOut(RowOut):
    at = serializers.DateTimeField()
    status = serializers.IntegerField(allow_null=True, help_text="What the receiver answered; null: nothing.")
    error = serializers.CharField(help_text="Empty if the receiver took it.")
    duration_ms = serializers.FloatField()


class WebhookDeliveryRowOut(RowOut):
    id = serializers.UUIDField()
    webhook = serializers.UUIDField()
    event = serializers.UUIDField()
    kind = serializers.ChoiceField(EventKind.choices)
    state = serializers.ChoiceField(DeliveryStanding.choices)
    created_at = serializers.DateTimeField()
    failures = serializers.IntegerField()
    due_at = serializers.DateTimeField(allow_null=True, help_text="When it is tried next.")


class WebhookDeliveryOut(WebhookDeliveryRowOut):
    attempts = AttemptOut(many=True)


class WebhookDeliveryPage(RowOut):
    items = WebhookDeliveryRowOut(many=True)
    next = serializers.CharField(allow_null=True)
