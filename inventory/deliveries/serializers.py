"""What deliveries, their logs and the account of an order look like from outside."""

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.history.sync import SyncedPage
from inventory.deliveries.models import DeliveryState
from inventory.figures.serializers import BasisOut
from inventory.mills.models import PRICE_BY
from inventory.orders.models import OrderState
from inventory.orders.money import MoneyOut


class MillDeliveryIn(BodyIn):
    expected_on = serializers.DateField(required=False, allow_null=True, default=None)
    remarks = serializers.CharField(max_length=500, allow_blank=True, default="")


class DeliveryIn(MillDeliveryIn):
    order = serializers.UUIDField()


class DeliveryOut(RowOut):
    id = serializers.UUIDField()
    order = serializers.UUIDField()
    expected_on = serializers.DateField(allow_null=True)
    remarks = serializers.CharField()
    state = serializers.ChoiceField(DeliveryState.choices)
    received_at = serializers.DateTimeField(allow_null=True)
    rack = serializers.UUIDField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class DeliveryPage(SyncedPage):
    items = DeliveryOut(many=True)
    next = serializers.CharField(allow_null=True)


class ReceiveIn(BodyIn):
    rack = serializers.UUIDField()
    first_number = NameField(
        max_length=40,
        required=False,
        allow_null=True,
        default=None,
        help_text="The first log's number; null: the yard's sequence goes on.",
    )


class RejectIn(BodyIn):
    reason = NameField(max_length=180)


class CountForIn(BodyIn):
    line = serializers.IntegerField(
        min_value=1, allow_null=True, help_text="The order's line; null: nothing like it was ordered."
    )


class DeliveredLogOut(RowOut):
    id = serializers.UUIDField()
    delivery = serializers.UUIDField()
    place = serializers.IntegerField(help_text="Counted through the tally.")
    line_number = serializers.IntegerField(
        allow_null=True, help_text="The order's line it counts for; null: nothing like it was ordered."
    )
    number = serializers.CharField(help_text="The mill's tag.")
    species = serializers.CharField()
    length_mm = serializers.FloatField()
    butt_mm = serializers.FloatField(allow_null=True)
    middle_mm = serializers.FloatField(allow_null=True)
    tip_mm = serializers.FloatField(allow_null=True)
    sawn_thickness_mm = serializers.FloatField(allow_null=True)
    board_feet = serializers.FloatField(allow_null=True, help_text="As the mill scaled it.")
    volume_m3 = serializers.FloatField(allow_null=True)
    remarks = serializers.CharField()
    log = serializers.UUIDField(allow_null=True, help_text="The log in the yard, once received.")
    yard_number = serializers.CharField(allow_null=True)
    rejected_at = serializers.DateTimeField(allow_null=True)
    reject_reason = serializers.CharField()
    version = serializers.IntegerField()


class DeliveredLogPage(SyncedPage):
    items = DeliveredLogOut(many=True)
    next = serializers.CharField(allow_null=True)


class LineAccountOut(RowOut):
    line = serializers.IntegerField(allow_null=True, help_text="Null: the total, or what was not ordered.")
    ordered = serializers.IntegerField()
    delivered = serializers.IntegerField()
    accepted = serializers.IntegerField()
    rejected = serializers.IntegerField()
    short = serializers.IntegerField(help_text="Logs the mill still owes.")
    over = serializers.IntegerField()
    outside = serializers.IntegerField(help_text="Accepted, but outside the class that was ordered.")
    not_measured = serializers.IntegerField(help_text="Known by the mill's figures only.")
    ordered_amount = MoneyOut(allow_null=True)
    mill_quantity = serializers.FloatField(allow_null=True, help_text="Of accepted logs, as priced.")
    our_quantity = serializers.FloatField(allow_null=True)
    billed_amount = MoneyOut(allow_null=True, help_text="Every log that came, by the mill's scale.")
    rejected_amount = MoneyOut(allow_null=True)
    to_pay_amount = MoneyOut(allow_null=True, help_text="Accepted logs by the mill's scale.")
    our_amount = MoneyOut(allow_null=True, help_text="The same logs by our scale.")
    difference_amount = MoneyOut(allow_null=True, help_text="By the mill's scale less by ours.")


class AccountLogOut(RowOut):
    id = serializers.UUIDField()
    line = serializers.IntegerField(allow_null=True)
    number = serializers.CharField()
    yard_number = serializers.CharField(allow_null=True)
    length_mm = serializers.FloatField()
    middle_mm = serializers.FloatField()
    measured = serializers.BooleanField(help_text="By the crew; else these are the mill's figures.")


class OutsideLogOut(AccountLogOut):
    why = serializers.ListField(child=serializers.CharField())


class RejectedLogOut(AccountLogOut):
    reason = serializers.CharField()


class ReconciliationOut(RowOut):
    currency = serializers.CharField()
    price_by = serializers.ChoiceField(PRICE_BY)
    state = serializers.ChoiceField(OrderState.choices)
    lines = LineAccountOut(many=True)
    total = LineAccountOut()
    outside_logs = OutsideLogOut(many=True)
    rejected_logs = RejectedLogOut(many=True)
    basis = BasisOut()
    cautions = serializers.ListField(child=serializers.CharField())
