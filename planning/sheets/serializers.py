"""What a plan's sheets look like from outside: setting sheets, the next log, expected heights."""

from typing import Any

from rest_framework import serializers

from cabins.core.notching import NotchState
from cabins.openings.serializers import OpeningCutOut
from cabins.set_logs.models import End
from cabins.sheets.serializers import GrainVerdictOut, TriedSteeringOut
from crews.api.reading import QueryIn, RowOut
from inventory.figures.serializers import BasisOut
from inventory.logs.fields import NumberField
from inventory.logs.models import FACES, SEASONINGS
from planning.core.lifts import Hangs, Rig
from planning.sheets.lying_serializers import LyingOut, OutsideBandOut

HANGS = [(one.value, one.value) for one in Hangs]
NOTCH_STATES = [(state.value, state.value) for state in NotchState]


class CornerCutOut(RowOut):
    crossing = serializers.CharField()
    from_butt_mm = serializers.FloatField(help_text="Where the corner's centre lies in the log.")
    from_butt_text = serializers.CharField(help_text="As the crew writes it.")
    diameter_mm = serializers.FloatField()
    notch_mm = serializers.FloatField(
        allow_null=True, help_text="Depth; null where the log lies on the deck."
    )
    notch_text = serializers.CharField(allow_null=True)
    notch_share = serializers.FloatField(allow_null=True)
    notch_state = serializers.ChoiceField(NOTCH_STATES, allow_null=True)
    gap_mm = serializers.FloatField(help_text="The gap that this notch leaves.")
    gap_text = serializers.CharField()
    planned_mm = serializers.FloatField(allow_null=True, help_text="The plan's own top.")
    stands_off_mm = serializers.FloatField(
        allow_null=True, help_text="How far the wall below stands above its plan."
    )
    reach_mm = serializers.FloatField(
        help_text="The height to reach: the plan's own top, and what one round cannot bring back."
    )
    top_mm = serializers.FloatField(help_text="The top that this notch gives.")
    top_text = serializers.CharField()
    top_error_mm = serializers.FloatField()
    off_plan_mm = serializers.FloatField(allow_null=True, help_text="How far above the plan's top that is.")
    rounds_to_return = serializers.IntegerField(
        allow_null=True, help_text="Later rounds whose gaps bring that back; null: they never do."
    )
    is_blocked = serializers.BooleanField(help_text="No gap of the band gives an allowed notch.")


class MarkedHazardOut(RowOut):
    kind = serializers.CharField()
    from_butt_mm = serializers.FloatField()
    extent_mm = serializers.FloatField()


class PlannedSlingOut(RowOut):
    angle_deg = serializers.FloatField()
    tension_kg = serializers.FloatField(help_text="Pull in each of two legs.")
    share_of_load = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class LiftOut(RowOut):
    hangs = serializers.ChoiceField(
        HANGS, help_text="Whole: the uncut log hangs; cut: it was cut on the ground to its piece."
    )
    hangs_text = serializers.CharField(help_text="What hangs there and how dry: `the uncut log, green`.")
    seasoning = serializers.ChoiceField(
        SEASONINGS, allow_null=True, help_text="As charted; null: nobody said, reckoned as green."
    )
    weight_low_kg = serializers.FloatField(allow_null=True, help_text="Null: see why_no_weight.")
    weight_kg = serializers.FloatField(allow_null=True, help_text="Likely, of the log as it hangs.")
    weight_high_kg = serializers.FloatField(
        allow_null=True, help_text="Plan the lift on this one: the most that hangs there."
    )
    why_no_weight = serializers.CharField()
    sling = PlannedSlingOut(allow_null=True, help_text="Two legs under the log at its heaviest.")
    balance_from_butt_mm = serializers.FloatField(
        help_text="Where the log balances as it hangs, from its butt end."
    )
    balance_from_butt_text = serializers.CharField(help_text="As the crew writes it.")
    balance_low_mm = serializers.FloatField()
    balance_high_mm = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class RipLineOut(RowOut):
    kerf_mm = serializers.FloatField(help_text="What the saw takes along the middle.")
    kerf_text = serializers.CharField(help_text="As the crew writes it.")
    leave_near_butt_mm = serializers.FloatField(
        help_text="Height of the half from the rip to its round side, at the cut nearest the butt."
    )
    leave_near_butt_text = serializers.CharField()
    leave_near_tip_mm = serializers.FloatField(help_text="The same at the cut nearest the tip.")
    leave_near_tip_text = serializers.CharField()


class SettingRowOut(RowOut):
    order = serializers.IntegerField(help_text="In which order to lift.")
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    yard_name = serializers.CharField()
    rack_name = serializers.CharField(allow_null=True)
    butt_at = serializers.ChoiceField(End.choices, help_text="Towards which end of the wall the butt lies.")
    cut_near_butt_mm = serializers.FloatField(help_text="Where to cut, from the log's butt end.")
    cut_near_butt_text = serializers.CharField(help_text="As the crew writes it.")
    cut_near_tip_mm = serializers.FloatField()
    cut_near_tip_text = serializers.CharField()
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    crown_mm = serializers.FloatField(allow_null=True, help_text="Null: nobody looked at it yet.")
    crown_side = serializers.ChoiceField(
        FACES, allow_null=True, help_text="The face it bows to, as charted; null: not charted."
    )
    crown_text = serializers.CharField(help_text='With its side, as the crew writes it: `2 3/4", up`.')
    gap_mm = serializers.FloatField(help_text="The gap aimed at; each corner has its own.")
    gap_text = serializers.CharField()
    corners = CornerCutOut(many=True)
    advice = serializers.ListField(
        child=serializers.CharField(),
        help_text="How far each corner stays off its plan, and what returns it.",
    )
    hazards = MarkedHazardOut(many=True)
    lift = LiftOut()
    lying = LyingOut(help_text="How it lies over the course below: the gap along the wall, and scribing.")
    grain = GrainVerdictOut(help_text="What the rules of grain say, as the crew has switched them.")
    position = serializers.CharField(
        allow_null=True, help_text="`left of door`, as its wall is drawn; null for a whole course."
    )
    opening_cuts = OpeningCutOut(many=True, help_text="What it is cut into as sill or header of openings.")
    at_jambs = serializers.ListField(
        child=serializers.CharField(), help_text="How it ends at jambs: how far it may run wild, bracing."
    )
    cautions = serializers.ListField(child=serializers.CharField())
    rip = RipLineOut(allow_null=True, help_text="Of a half log: how the piece is ripped. Null: a whole log.")


class LostLogOut(RowOut):
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: for a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    detail = serializers.CharField(help_text="What to do about it.")


_LOST = "Planned places whose log is gone or lies in another cabin: plan again or choose another."


class NextLogOut(RowOut):
    cabin = serializers.UUIDField()
    plan = serializers.UUIDField()
    open_places = serializers.IntegerField()
    row = SettingRowOut(allow_null=True, help_text="Null: every log is set, or the next ones are lost.")
    steering = TriedSteeringOut(allow_null=True, help_text="Null: the piece crosses no other log.")
    lost = LostLogOut(many=True, help_text=_LOST)


class LevelOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    start_mm = serializers.FloatField()
    start_text = serializers.CharField(help_text="As the crew writes it.")
    end_mm = serializers.FloatField()
    end_text = serializers.CharField()
    out_of_level_mm = serializers.FloatField(help_text="End top minus start top.")
    out_of_level_text = serializers.CharField()
    error_mm = serializers.FloatField(help_text="Its expected error, one standard deviation.")


class SettingSheetOut(RowOut):
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    plan = serializers.UUIDField()
    round = serializers.IntegerField()
    already_set = serializers.IntegerField()
    rows = SettingRowOut(many=True)
    lost = LostLogOut(many=True, help_text=_LOST)
    levels = LevelOut(many=True)
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class TopOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    column = serializers.IntegerField()
    at_mm = serializers.FloatField()
    diameter_mm = serializers.FloatField()
    rise_mm = serializers.FloatField()
    planned_mm = serializers.FloatField(allow_null=True, help_text="The plan's own top; null without a plan.")
    reach_mm = serializers.FloatField(help_text="The height to reach.")
    computed_mm = serializers.FloatField(help_text="What the log comes to, if nobody measures it.")
    top_mm = serializers.FloatField()
    top_text = serializers.CharField(help_text="As the crew writes it.")
    stands_off_mm = serializers.FloatField(allow_null=True, help_text="How far above the plan's own top.")
    error_mm = serializers.FloatField(help_text="Expected error, one standard deviation.")
    is_measured = serializers.BooleanField()
    is_assumed = serializers.BooleanField(help_text="No log is known here; the nominal diameter stands in.")


class NotchOut(RowOut):
    crossing = serializers.CharField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    column = serializers.IntegerField()
    at_mm = serializers.FloatField()
    over_wall = serializers.CharField()
    over_round = serializers.IntegerField()
    diameter_mm = serializers.FloatField()
    depth_mm = serializers.FloatField()
    depth_text = serializers.CharField(help_text="As the crew writes it.")
    share = serializers.FloatField()
    state = serializers.ChoiceField(NOTCH_STATES)


class MismatchOut(RowOut):
    crossing = serializers.CharField()
    round = serializers.IntegerField()
    low_mm = serializers.FloatField()
    high_mm = serializers.FloatField()
    half_rise_mm = serializers.FloatField()
    mismatch_mm = serializers.FloatField()


class PlanHeightsOut(RowOut):
    cabin = serializers.UUIDField()
    plan = serializers.UUIDField()
    rounds = serializers.IntegerField()
    open_places = serializers.IntegerField()
    set_places = serializers.IntegerField()
    tops = TopOut(many=True)
    notches = NotchOut(many=True)
    levels = LevelOut(many=True)
    mismatches = MismatchOut(many=True)
    outside_band = OutsideBandOut(
        many=True, help_text="Logs to come whose gap to the course below leaves the layout's band somewhere."
    )
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class SlingQuery(QueryIn):
    sling_angle_deg = NumberField(
        default=60.0, min_value=30, max_value=90, help_text="Of the sling's legs, from the horizontal."
    )

    hangs = serializers.ChoiceField(
        HANGS,
        required=False,
        help_text="How logs are lifted; without it a log that gives one piece whole, others cut.",
    )

    @staticmethod
    def rig(asked: dict[str, Any]) -> Rig:
        """How the crew lifts, from what the query asks for."""
        hangs = asked.get("hangs")
        return Rig(sling_angle_deg=asked["sling_angle_deg"], hangs=Hangs(hangs) if hangs else None)


class SheetOfPlanQuery(SlingQuery):
    cabin = serializers.UUIDField(help_text="One of the plan's cabins.")
    round = serializers.IntegerField(min_value=0, max_value=61)


class HeightsQuery(QueryIn):
    cabin = serializers.UUIDField(help_text="One of the plan's cabins.")


class RoundQuery(SlingQuery):
    round = serializers.IntegerField(min_value=0, max_value=61)
