"""What species, yards, racks and a yard's summary look like from outside."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, QueryIn, RowOut
from crews.history.sync import SyncedPage
from inventory.logs.fields import LengthQueryField
from inventory.logs.models import LogState


def _percent(most: int, *, places: int = 1, **kwargs: Any) -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=3 + places, decimal_places=places, min_value=Decimal(0), max_value=Decimal(most), **kwargs
    )


def _percent_or_null(most: int, *, places: int = 1) -> serializers.DecimalField:
    return _percent(most, places=places, required=False, allow_null=True, default=None)


def _change() -> serializers.DecimalField:
    return serializers.DecimalField(
        max_digits=6,
        decimal_places=5,
        min_value=Decimal(0),
        max_value=Decimal("0.01"),
        allow_null=True,
        default=None,
        help_text="Published change of a dimension per point of moisture, 6 to 14 %.",
    )


class SpeciesIn(BodyIn):
    name = NameField(max_length=80)
    basic_gravity = serializers.DecimalField(
        max_digits=4,
        decimal_places=3,
        min_value=Decimal("0.05"),
        max_value=Decimal("1.5"),
        help_text="Oven-dry weight over green volume, against water.",
    )
    moisture_heart_pct = _percent_or_null(400)
    moisture_sap_pct = _percent_or_null(400)
    shrink_radial_pct = _percent_or_null(25, places=2)
    shrink_tangential_pct = _percent_or_null(25, places=2)
    fibre_saturation_pct = serializers.DecimalField(
        max_digits=4, decimal_places=1, min_value=Decimal(5), max_value=Decimal(50), default=Decimal(30)
    )
    sapwood_mm = serializers.DecimalField(
        max_digits=4,
        decimal_places=1,
        min_value=Decimal(0),
        max_value=Decimal(500),
        allow_null=True,
        default=None,
        help_text="Usual thickness of the ring of sapwood.",
    )
    change_radial = _change()
    change_tangential = _change()
    green_density_kg_m3 = serializers.DecimalField(
        max_digits=5,
        decimal_places=1,
        min_value=Decimal(200),
        max_value=Decimal(1500),
        allow_null=True,
        default=None,
        help_text="A weight of green logs, published or your own; weights lie half way to it.",
    )
    source = serializers.CharField(  # type: ignore[assignment]  # a field of that name, which DRF collects
        max_length=1000, allow_blank=True, default="", help_text="Where these figures come from."
    )


class SpeciesOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    basic_gravity = serializers.FloatField(help_text="Oven-dry weight over green volume, against water.")
    moisture_heart_pct = serializers.FloatField(
        allow_null=True, help_text="Water in green heartwood, % of its dry weight; null: not known."
    )
    moisture_sap_pct = serializers.FloatField(allow_null=True)
    shrink_radial_pct = serializers.FloatField(allow_null=True, help_text="From green to oven-dry.")
    shrink_tangential_pct = serializers.FloatField(allow_null=True)
    fibre_saturation_pct = serializers.FloatField()
    sapwood_mm = serializers.FloatField(allow_null=True, help_text="Usual thickness of the ring of sapwood.")
    change_radial = serializers.FloatField(
        allow_null=True, help_text="Published change of a dimension per point of moisture, 6 to 14 %."
    )
    change_tangential = serializers.FloatField(allow_null=True)
    green_density_kg_m3 = serializers.FloatField(
        allow_null=True, help_text="A weight of green logs, published or the crew's own; null: none known."
    )
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class SpeciesPage(SyncedPage):
    items = SpeciesOut(many=True)
    next = serializers.CharField(allow_null=True)


class YardIn(BodyIn):
    name = NameField(max_length=80)
    remarks = serializers.CharField(max_length=2000, allow_blank=True, default="")


class YardOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    remarks = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class YardPage(SyncedPage):
    items = YardOut(many=True)
    next = serializers.CharField(allow_null=True)


class RackIn(BodyIn):
    yard = serializers.UUIDField()
    name = NameField(max_length=80)
    remarks = serializers.CharField(max_length=2000, allow_blank=True, default="")


class RackOut(RowOut):
    id = serializers.UUIDField()
    yard = serializers.UUIDField()
    name = serializers.CharField()
    remarks = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class RackPage(SyncedPage):
    items = RackOut(many=True)
    next = serializers.CharField(allow_null=True)


class SummaryQuery(QueryIn):
    crown_limit_mm = LengthQueryField(
        default=Decimal(25),
        least_mm=Decimal(1),
        help_text="The crown over which a log counts as bowed; common practice, no source.",
    )


class StateCountsOut(RowOut):
    in_rack = serializers.IntegerField()
    reserved = serializers.IntegerField()
    set = serializers.IntegerField()
    cut_up = serializers.IntegerField()
    put_aside = serializers.IntegerField()
    gone = serializers.IntegerField()


class GroupOut(RowOut):
    count = serializers.IntegerField()
    free = serializers.IntegerField(help_text="Of these not reserved.")
    length_mm = serializers.FloatField()
    free_length_mm = serializers.FloatField()
    mean_middle_mm = serializers.FloatField(allow_null=True)


class RackGroupOut(RowOut):
    rack = serializers.UUIDField(allow_null=True)
    name = serializers.CharField(allow_null=True)
    count = serializers.IntegerField()
    free = serializers.IntegerField()
    length_mm = serializers.FloatField()
    free_length_mm = serializers.FloatField()
    mean_middle_mm = serializers.FloatField(allow_null=True)


class SpeciesGroupOut(RowOut):
    species = serializers.UUIDField(allow_null=True)
    name = serializers.CharField(allow_null=True)
    count = serializers.IntegerField()
    free = serializers.IntegerField()
    length_mm = serializers.FloatField()
    free_length_mm = serializers.FloatField()
    mean_middle_mm = serializers.FloatField(allow_null=True)


class BinOut(RowOut):
    from_mm = serializers.FloatField()
    to_mm = serializers.FloatField(help_text="Not included: it begins the next bin.")
    count = serializers.IntegerField()
    mean_middle_mm = serializers.FloatField(allow_null=True)


class SpreadOut(RowOut):
    least_mm = serializers.FloatField()
    quarter_mm = serializers.FloatField(help_text="A quarter of the logs has less.")
    half_mm = serializers.FloatField()
    three_quarters_mm = serializers.FloatField()
    most_mm = serializers.FloatField()
    mean_mm = serializers.FloatField()
    bins = BinOut(many=True)


class UnfitLogOut(RowOut):
    id = serializers.UUIDField()
    number = serializers.CharField()
    state = serializers.ChoiceField(LogState.choices)
    why = serializers.CharField()
    piece_mm = serializers.FloatField(
        allow_null=True, help_text="For a bowed log: the longest piece whose crown is within the limit."
    )
    metal_from_butt_mm = serializers.ListField(child=serializers.FloatField())


class UnfitOut(RowOut):
    reason = serializers.CharField()
    detail = serializers.CharField()
    count = serializers.IntegerField()
    logs = UnfitLogOut(many=True)


class SummaryOut(RowOut):
    yard = serializers.UUIDField()
    name = serializers.CharField()
    count = serializers.IntegerField(help_text="Every log ever charted here.")
    by_state = StateCountsOut()
    lying = GroupOut(help_text="Logs that lie in the yard: free or reserved. What follows is about these.")
    lengths = SpreadOut(allow_null=True)
    middles = SpreadOut(allow_null=True)
    by_rack = RackGroupOut(many=True)
    by_species = SpeciesGroupOut(many=True)
    crown_limit_mm = serializers.FloatField()
    unfit = UnfitOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
