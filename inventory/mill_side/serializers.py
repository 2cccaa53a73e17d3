"""What the mill's side of an order looks like: keys, proposals, the order as the mill reads it."""

from decimal import Decimal

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage
from inventory.core.order import MOST_LOGS
from inventory.logs.fields import LengthField
from inventory.mills.models import PRICE_BY
from inventory.orders.models import OrderState, ProposalState
from inventory.orders.serializers import LineOut


class MillKeyIn(BodyIn):
    name = NameField(max_length=120)
    expires_at = TimeField()


class MillKeyOut(RowOut):
    id = serializers.UUIDField()
    order = serializers.UUIDField()
    name = serializers.CharField()
    hint = serializers.CharField(help_text="How the key begins.")
    expires_at = serializers.DateTimeField()
    last_used_at = serializers.DateTimeField(allow_null=True)
    revoked_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class MillKeyPage(SyncedPage):
    items = MillKeyOut(many=True)
    next = serializers.CharField(allow_null=True)


class NewMillKeyOut(MillKeyOut):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown once; null when the request is repeated."
    )


class MillOrderOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    crew = serializers.CharField()
    mill = serializers.CharField()
    state = serializers.ChoiceField(OrderState.choices)
    sent_on = serializers.DateField(allow_null=True)
    wanted_on = serializers.DateField(allow_null=True)
    remarks = serializers.CharField()
    currency = serializers.CharField()
    price_by = serializers.ChoiceField(PRICE_BY)
    lines = LineOut(many=True)
    version = serializers.IntegerField()


class ConfirmIn(BodyIn):
    lines = serializers.ListField(
        child=serializers.IntegerField(min_value=1),
        required=False,
        allow_null=True,
        default=None,
        max_length=500,
        help_text="The numbers of the lines; null: all of them.",
    )


class ProposalIn(BodyIn):
    line = serializers.IntegerField(required=False, allow_null=True, default=None, min_value=1)
    length_mm = LengthField(
        least_mm=Decimal(300), most_mm=Decimal(30_000), required=False, allow_null=True, default=None
    )
    count = serializers.IntegerField(
        min_value=1, max_value=MOST_LOGS, required=False, allow_null=True, default=None
    )
    wanted_on = serializers.DateField(
        required=False, allow_null=True, default=None, help_text="Another date for the order."
    )
    reason = serializers.CharField(max_length=300, allow_blank=True, default="")


class ProposalOut(RowOut):
    id = serializers.UUIDField()
    order = serializers.UUIDField()
    line_number = serializers.IntegerField(allow_null=True)
    length_mm = serializers.FloatField(allow_null=True)
    count = serializers.IntegerField(allow_null=True)
    wanted_on = serializers.DateField(allow_null=True)
    reason = serializers.CharField()
    state = serializers.ChoiceField(ProposalState.choices)
    decided_by_name = serializers.CharField(allow_null=True)
    decided_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class ProposalPage(SyncedPage):
    items = ProposalOut(many=True)
    next = serializers.CharField(allow_null=True)
