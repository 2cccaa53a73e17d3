"""What orders look like from outside."""

import re
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, QueryIn, RowOut
from crews.history.sync import SyncedPage
from inventory.core.order import MOST_LOGS
from inventory.figures.serializers import BasisOut
from inventory.logs.fields import LengthField
from inventory.mills.models import PRICE_BY
from inventory.orders.models import OrderState
from inventory.orders.money import MoneyOut, PriceField

MOST_LINES = 200


class CurrencyField(serializers.CharField):
    """Three capitals, as ISO 4217 has them."""

    default_error_messages = {"no_code": "A currency is three capitals, such as CAD."}

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        if not re.fullmatch(r"[A-Z]{3}", text):
            self.fail("no_code")
        return text


class OrderIn(BodyIn):
    mill = serializers.UUIDField()
    name = NameField(max_length=80)
    currency = CurrencyField(max_length=3)
    price_by = serializers.ChoiceField(PRICE_BY, help_text="What the lines' prices are for.")
    wanted_on = serializers.DateField(required=False, allow_null=True, default=None)
    remarks = serializers.CharField(max_length=2000, allow_blank=True, default="")


class OrderOut(RowOut):
    id = serializers.UUIDField()
    mill = serializers.UUIDField()
    mill_name = serializers.CharField()
    name = serializers.CharField()
    currency = serializers.CharField()
    price_by = serializers.ChoiceField(PRICE_BY)
    wanted_on = serializers.DateField(allow_null=True)
    remarks = serializers.CharField()
    state = serializers.ChoiceField(OrderState.choices)
    sent_on = serializers.DateField(allow_null=True)
    form_version = serializers.IntegerField(
        allow_null=True, help_text="The version of the mill's form it was sent in; null before."
    )
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class OrderPage(SyncedPage):
    items = OrderOut(many=True)
    next = serializers.CharField(allow_null=True)


class LineIn(BodyIn):
    species = NameField(max_length=80)
    length_mm = LengthField(
        least_mm=Decimal(300), most_mm=Decimal(30_000), help_text="As cut, with its trim."
    )
    least_middle_mm = LengthField(least_mm=Decimal(40), most_mm=Decimal(1_500))
    largest_middle_mm = LengthField(least_mm=Decimal(40), most_mm=Decimal(1_500))
    sawn_thickness_mm = LengthField(
        least_mm=Decimal(40), most_mm=Decimal(1_500), required=False, allow_null=True, default=None
    )
    count = serializers.IntegerField(min_value=1, max_value=MOST_LOGS)
    price = PriceField(required=False, allow_null=True, default=None)
    note = NameField(max_length=500, allow_blank=True, default="")


class LinesIn(BodyIn):
    lines = serializers.ListField(child=LineIn(), max_length=MOST_LINES)


class LineOut(RowOut):
    id = serializers.UUIDField()
    line = serializers.IntegerField()
    species = serializers.CharField()
    length_mm = serializers.FloatField()
    least_middle_mm = serializers.FloatField()
    largest_middle_mm = serializers.FloatField()
    sawn_thickness_mm = serializers.FloatField(allow_null=True)
    count = serializers.IntegerField()
    price = MoneyOut(allow_null=True)
    note = serializers.CharField()
    confirmed_at = serializers.DateTimeField(allow_null=True)


class LinesOut(RowOut):
    items = LineOut(many=True)
    version = serializers.IntegerField(help_text="The order's, for If-Match.")


class OrderFiguresQuery(QueryIn):
    payload_kg = serializers.FloatField(
        required=False, min_value=100, max_value=1_000_000, help_text="What the truck carries."
    )


class _FiguresOut(RowOut):
    count = serializers.IntegerField()
    board_feet = serializers.FloatField(allow_null=True)
    volume_m3 = serializers.FloatField()
    linear_m = serializers.FloatField()
    linear_ft = serializers.FloatField()
    amount = MoneyOut(allow_null=True)
    low_kg = serializers.FloatField(allow_null=True)
    high_kg = serializers.FloatField(allow_null=True)
    why_no_board_feet = serializers.CharField()


class LineFiguresOut(_FiguresOut):
    line = serializers.IntegerField()
    price = MoneyOut(allow_null=True)


class TotalFiguresOut(_FiguresOut):
    pass


class TruckloadsOut(RowOut):
    payload_kg = serializers.FloatField()
    fewest = serializers.IntegerField()
    most = serializers.IntegerField()


class OrderFiguresOut(RowOut):
    currency = serializers.CharField()
    price_by = serializers.ChoiceField(PRICE_BY)
    lines = LineFiguresOut(many=True)
    total = TotalFiguresOut()
    truckloads = TruckloadsOut(allow_null=True)
    basis = BasisOut()
    cautions = serializers.ListField(child=serializers.CharField())


class OrderReasonIn(BodyIn):
    reason = serializers.CharField(max_length=200, allow_blank=True, default="")


class OrderEntryOut(RowOut):
    id = serializers.UUIDField()
    step = serializers.IntegerField()
    what = serializers.CharField()
    state_before = serializers.ChoiceField(OrderState.choices)
    state_after = serializers.ChoiceField(OrderState.choices)
    detail = serializers.CharField()
    member = serializers.UUIDField(allow_null=True)
    member_name = serializers.CharField(allow_null=True)
    mill_key = serializers.UUIDField(allow_null=True)
    mill_key_name = serializers.CharField(allow_null=True, help_text="Given if the mill did it by its key.")
    created_at = serializers.DateTimeField()


class OrderEntryPage(RowOut):
    items = OrderEntryOut(many=True)
    next = serializers.CharField(allow_null=True)
