"""What a yard's summary looks like from outside."""

from decimal import Decimal

from rest_framework import serializers

from config.api.reading import QueryIn, RowOut
from inventory.models import LogState
from inventory.serializers.lengths import LengthQueryField


class SummaryQuery(QueryIn):
    crown_limit_mm = LengthQueryField(
        default=Decimal(25),
        least_mm=Decimal(1),
        help_text="The crown over which a log counts as bowed; common practice, no source.",
    )


class StateCountsOut(RowOut):
    in_rack = serializers.IntegerField()
    promised = serializers.IntegerField()
    set = serializers.IntegerField()
    cut_up = serializers.IntegerField()
    put_aside = serializers.IntegerField()
    gone = serializers.IntegerField()


class GroupOut(RowOut):
    count = serializers.IntegerField()
    free = serializers.IntegerField(help_text="Of these not promised.")
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
    lying = GroupOut(help_text="Logs that lie in the yard: free or promised. What follows is about these.")
    lengths = SpreadOut(allow_null=True)
    middles = SpreadOut(allow_null=True)
    by_rack = RackGroupOut(many=True)
    by_species = SpeciesGroupOut(many=True)
    crown_limit_mm = serializers.FloatField()
    unfit = UnfitOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
