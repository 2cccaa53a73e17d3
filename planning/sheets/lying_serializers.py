"""What the lying of a log looks like from outside: the gap along the wall, and its scribing."""

from rest_framework import serializers

from cabins.core.along_the_wall import CrownLaid
from crews.api.reading import RowOut
from inventory.figures.serializers import BasisOut

CROWNS_LAID = [(one.value, one.value) for one in CrownLaid]


class GapAlongOut(RowOut):
    smallest_mm = serializers.FloatField(help_text="Negative: the logs overlap there.")
    smallest_text = serializers.CharField(help_text="As the crew writes it.")
    smallest_at_mm = serializers.FloatField(help_text="Along the wall from its start corner's centre.")
    smallest_at_text = serializers.CharField()
    largest_mm = serializers.FloatField()
    largest_text = serializers.CharField()
    largest_at_mm = serializers.FloatField()
    largest_at_text = serializers.CharField()


class OutsideBandOut(GapAlongOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    detail = serializers.CharField(help_text="By how much it leaves the band, as the crew writes it.")


class RestOut(RowOut):
    at_mm = serializers.FloatField(help_text="Along the wall from its start corner's centre.")
    at_text = serializers.CharField(help_text="As the crew writes it.")
    top_mm = serializers.FloatField(help_text="The log's top above the deck, before it is scribed.")
    top_text = serializers.CharField()
    rough_cut_mm = serializers.FloatField(help_text="How deep the notch was cut before; 0: not at all.")
    rough_cut_text = serializers.CharField()


class ScribeOut(RowOut):
    rests = RestOut(many=True, help_text="At the log's two supports, from the wall's start.")
    widest_mm = serializers.FloatField(help_text="The widest gap to the log below, as it rests.")
    widest_text = serializers.CharField(help_text="As the crew writes it.")
    widest_at_mm = serializers.FloatField()
    widest_at_text = serializers.CharField()
    setting_mm = serializers.FloatField(help_text="The one setting of the scribers: the log drops by it.")
    setting_text = serializers.CharField()
    groove_setting_mm = serializers.FloatField(help_text="With the crew's overscribe, for the groove.")
    groove_setting_text = serializers.CharField()
    tops_mm = serializers.ListField(
        child=serializers.FloatField(), help_text="To what tops the log comes down at its supports."
    )
    tops_text = serializers.ListField(child=serializers.CharField())


class GrooveOut(RowOut):
    at_mm = serializers.FloatField(help_text="Along the wall from its start corner's centre.")
    at_text = serializers.CharField(help_text="As the crew writes it.")
    overlap_mm = serializers.FloatField()
    overlap_text = serializers.CharField()
    width_mm = serializers.FloatField()
    width_text = serializers.CharField()
    share = serializers.FloatField(help_text="Of the log's diameter there.")


class ScribingOut(RowOut):
    crown_laid = serializers.ChoiceField(CROWNS_LAID)
    overlap_mm = serializers.FloatField(help_text="The least overlap wanted, at the widest place.")
    overlap_text = serializers.CharField(help_text="As the crew writes it.")
    first = ScribeOut(help_text="From un-notched, in one setting: its tops may lie off the plan's.")
    final = ScribeOut(help_text="After rough cuts that leave about 2 in: comes down level with the plan.")
    below_plan_mm = serializers.FloatField(help_text="How much lower than planned the final scribe takes it.")
    below_plan_text = serializers.CharField()
    grooves = GrooveOut(many=True, help_text="After the final scribe, at both supports and midway.")
    cautions = serializers.ListField(child=serializers.CharField())
    basis = BasisOut()


class LyingOut(RowOut):
    crown_laid = serializers.ChoiceField(CROWNS_LAID, help_text="Which way the side it bows to is turned.")
    gap_along = GapAlongOut(allow_null=True, help_text="Null: no log lies below.")
    is_outside_band = serializers.BooleanField(help_text="The gap leaves the layout's band along the wall.")
    scribing = ScribingOut(allow_null=True, help_text="Null: the wall is chinked, or no log lies below.")
    lines = serializers.ListField(
        child=serializers.CharField(), help_text="What to do, as the crew says and writes it."
    )
    cautions = serializers.ListField(child=serializers.CharField())
    basis = BasisOut()
    uncertainty = serializers.CharField()
