"""What gables of logs look like from outside."""

from rest_framework import serializers

from cabins.core.drawings.pieces import Filling
from cabins.layouts.serializers import RIDGE_RUNS
from cabins.roof_members.models import MEMBER_KINDS
from crews.api.reading import RowOut
from inventory.figures.serializers import BasisOut

FILLINGS = [(one.value, one.value) for one in Filling]


class MemberLogOut(RowOut):
    log = serializers.UUIDField(allow_null=True, help_text="Made into it, or planned for it.")
    log_number = serializers.CharField(allow_null=True)
    filling = serializers.ChoiceField(FILLINGS, allow_null=True, help_text="`set`: it is made.")


class RoofOut(RowOut):
    slope = serializers.FloatField(help_text="Rise over run.")
    ridge = serializers.ChoiceField(RIDGE_RUNS)
    foot_mm = serializers.FloatField(help_text="The roof line over the corners' centres, above the deck.")
    foot_text = serializers.CharField()
    ridge_mm = serializers.FloatField(help_text="Where the slopes meet.")
    ridge_text = serializers.CharField()


class SlopeCutOut(RowOut):
    at_mm = serializers.FloatField(help_text="The long point, along the wall from its start.")
    at_text = serializers.CharField()
    plumb_mm = serializers.FloatField(help_text="Plumb from the underside up, where it meets a plate.")
    plumb_text = serializers.CharField()
    run_mm = serializers.FloatField(help_text="How far in the slope cut runs, level along the log.")
    run_text = serializers.CharField()


class GableLogOut(MemberLogOut):
    member = serializers.CharField(help_text="Its name among the cabin's members.")
    round = serializers.IntegerField(help_text="Counted from the wall's last round, from 1.")
    underside_mm = serializers.FloatField()
    underside_text = serializers.CharField()
    top_mm = serializers.FloatField(help_text="Half way along, above the deck.")
    top_text = serializers.CharField()
    error_mm = serializers.FloatField(help_text="One standard deviation of that top.")
    error_text = serializers.CharField()
    diameter_mm = serializers.FloatField(help_text="At the piece's own middle.")
    diameter_text = serializers.CharField()
    is_assumed = serializers.BooleanField(help_text="No log is known: as thick as the layout says.")
    length_mm = serializers.FloatField(help_text="From long point to long point.")
    length_text = serializers.CharField()
    cut_mm = serializers.FloatField(help_text="The piece cut for it, ends left long.")
    cut_text = serializers.CharField()
    lacks_mm = serializers.FloatField(help_text="What that piece is too short by.")
    lacks_text = serializers.CharField()
    start = SlopeCutOut()
    end = SlopeCutOut()


class SeatOut(RowOut):
    member = serializers.CharField()
    at_mm = serializers.FloatField(help_text="Along this gable's wall from its start.")
    at_text = serializers.CharField()
    underside_mm = serializers.FloatField()
    underside_text = serializers.CharField()
    round = serializers.IntegerField(help_text="The gable round it bears on; 0: the wall's last round.")
    lies_in = serializers.CharField(help_text="The same in words.")
    depth_mm = serializers.FloatField(help_text="Cut from that log's top; negative: to be packed up.")
    depth_text = serializers.CharField()
    share = serializers.FloatField(help_text="Of that log's thickness.")


class GableOut(RowOut):
    wall = serializers.CharField()
    on_mm = serializers.FloatField(help_text="Where the wall ends, half way, above the deck.")
    on_text = serializers.CharField()
    left_mm = serializers.FloatField(help_text="From the last log's top to where the slopes meet.")
    left_text = serializers.CharField()
    logs = GableLogOut(many=True)
    seats = SeatOut(many=True, help_text="Where purlins and ridge bear.")
    not_needed = serializers.ListField(
        child=serializers.CharField(), help_text="Places that the thickness of the logs leaves over."
    )
    notes = serializers.ListField(child=serializers.CharField(), help_text="What is out of order.")


class BearingOut(MemberLogOut):
    member = serializers.CharField()
    kind = serializers.ChoiceField(MEMBER_KINDS)
    at_mm = serializers.FloatField(help_text="Along the first gable's wall from its start.")
    at_text = serializers.CharField()
    underside_mm = serializers.FloatField()
    underside_text = serializers.CharField()
    axis_mm = serializers.FloatField(help_text="It touches the roof line from below.")
    axis_text = serializers.CharField()
    top_mm = serializers.FloatField()
    top_text = serializers.CharField()
    diameter_mm = serializers.FloatField(help_text="At its own middle.")
    diameter_text = serializers.CharField()
    is_assumed = serializers.BooleanField(help_text="No log is known: as thick as the layout wants at least.")


class GablesOut(RowOut):
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    plan = serializers.UUIDField(allow_null=True)
    of_what = serializers.CharField(help_text="As built, and by which plan.")
    roof = RoofOut(allow_null=True, help_text="Null: the layout has no roof line.")
    gables = GableOut(many=True)
    bearings = BearingOut(many=True, help_text="Purlins, the lowest first, and the ridge.")
    basis = BasisOut()
    cautions = serializers.ListField(child=serializers.CharField())
