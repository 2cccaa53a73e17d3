"""What sheets of the wall look like from outside: a log tried in a place, a corner, settling."""

from rest_framework import serializers

from cabins.choices.serializers import GRAIN_WEIGHTS, SettlingRuleOut
from cabins.core.grain import SpiralStrength
from cabins.core.joint_parts import Side
from cabins.core.next_log import Remedy
from cabins.core.settling_rules import SettlingMember
from cabins.set_logs.models import End
from crews.api.reading import RowOut
from inventory.figures.serializers import BasisOut
from inventory.logs.models import LogState
from inventory.scaling.serializers import UsedOut

REMEDIES = [(remedy.value, remedy.value) for remedy in Remedy]
SIDES = [(side.value, side.value) for side in Side]
GRAIN_BANDS = [(band.value, band.value) for band in SpiralStrength]
MEMBERS = [(member.value, member.value) for member in SettlingMember]


class TriedEndOut(RowOut):
    column = serializers.IntegerField()
    at_mm = serializers.FloatField()
    crossing = serializers.CharField()
    planned_mm = serializers.FloatField(allow_null=True, help_text="The plan's own top; null without a plan.")
    stands_off_mm = serializers.FloatField(
        allow_null=True, help_text="How far the wall below stands above its plan; null without a plan."
    )
    reach_mm = serializers.FloatField(help_text="The height to reach.")
    reach_text = serializers.CharField(help_text="As the crew writes it.")
    own_top_mm = serializers.FloatField(help_text="Top of the log below in the same wall.")
    crossing_top_mm = serializers.FloatField(allow_null=True)
    diameter_mm = serializers.FloatField()
    gap_needed_mm = serializers.FloatField(help_text="The gap that would reach the height.")
    notch_needed_mm = serializers.FloatField(allow_null=True, help_text="Null: the log lies on the deck.")
    is_within_band = serializers.BooleanField(help_text="Whether that gap is in the layout's band.")
    is_within_limit = serializers.BooleanField(help_text="Whether that notch is within its limits.")
    is_blocked = serializers.BooleanField(help_text="No gap of the band gives an allowed notch.")
    gap_mm = serializers.FloatField(help_text="The nearest gap that may be.")
    gap_text = serializers.CharField()
    notch_mm = serializers.FloatField(allow_null=True, help_text="The notch that gives it.")
    notch_text = serializers.CharField(allow_null=True)
    notch_share = serializers.FloatField(allow_null=True)
    top_mm = serializers.FloatField()
    top_text = serializers.CharField()
    off_mm = serializers.FloatField(help_text="How far above the height to reach it then lies.")
    off_text = serializers.CharField()
    off_plan_mm = serializers.FloatField(help_text="How far above its plan, or the level line, it then lies.")
    rounds_to_return = serializers.IntegerField(
        allow_null=True, help_text="Later rounds whose gaps bring that back; null: they never do."
    )
    diameter_from_mm = serializers.FloatField(allow_null=True, help_text="Least diameter that would do here.")
    diameter_to_mm = serializers.FloatField(allow_null=True)
    error_mm = serializers.FloatField(help_text="Expected error of the top, one standard deviation.")


class TriedSteeringOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    ends = TriedEndOut(many=True)
    turned = TriedEndOut(many=True, allow_null=True, help_text="The same, turned end for end.")
    remedy = serializers.ChoiceField(REMEDIES)
    rounds_to_share = serializers.IntegerField(allow_null=True)
    advice = serializers.ListField(child=serializers.CharField())
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class MisfitOut(RowOut):
    code = serializers.CharField()
    detail = serializers.CharField()
    is_doubtful = serializers.BooleanField(
        help_text="If it lies in the wall already it can be recorded so, once confirmed."
    )


class NearHazardOut(RowOut):
    kind = serializers.CharField()
    from_butt_mm = serializers.FloatField()
    distance_mm = serializers.FloatField(help_text="To the nearest cut or notch.")
    is_near = serializers.BooleanField()


class GrainObjectionOut(RowOut):
    rule = serializers.CharField()
    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects
    weight = serializers.ChoiceField(GRAIN_WEIGHTS)


class GrainVerdictOut(RowOut):
    band = serializers.ChoiceField(GRAIN_BANDS)
    may_lie = serializers.BooleanField(help_text="Whether no rule that binds speaks against the place.")
    objections = GrainObjectionOut(many=True)
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class SheetOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    filled_by = serializers.UUIDField(allow_null=True, help_text="The set log that lies there already.")
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    log_state = serializers.ChoiceField(LogState.choices)
    butt_at = serializers.ChoiceField(End.choices)
    near_butt_mm = serializers.FloatField(help_text="Where to cut, from the butt.")
    near_butt_text = serializers.CharField(help_text="As the crew writes it.")
    near_tip_mm = serializers.FloatField()
    near_tip_text = serializers.CharField()
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    misfits = MisfitOut(many=True, help_text="Why the piece cannot be cut so; empty if it can.")
    hazards = NearHazardOut(many=True)
    grain = GrainVerdictOut(help_text="What the rules of grain say, as the crew has switched them.")
    steering = TriedSteeringOut(allow_null=True, help_text="Null: the piece crosses no other log.")
    cautions = serializers.ListField(child=serializers.CharField())


class CutFaceOut(RowOut):
    side = serializers.ChoiceField(SIDES)
    depth_mm = serializers.FloatField()
    deepest_mm = serializers.FloatField()
    shallowest_mm = serializers.FloatField()
    slope_along = serializers.FloatField()
    slope_across = serializers.FloatField()


class NotchCutOut(RowOut):
    kind = serializers.CharField(help_text="The notch of the layout.")
    diameter_mm = serializers.FloatField()
    depth_mm = serializers.FloatField(help_text="What the heights ask for over the log below.")
    depth_text = serializers.CharField(help_text="As the crew writes it.")
    depth_above_mm = serializers.FloatField()
    faces = CutFaceOut(many=True)
    remains_mm = serializers.FloatField(help_text="Wood left at the middle.")
    remains_text = serializers.CharField()
    thinnest_mm = serializers.FloatField()
    remains_area_share = serializers.FloatField()
    packing_mm = serializers.FloatField()
    clearance_mm = serializers.FloatField()
    width_mm = serializers.FloatField()
    scriber_mm = serializers.FloatField(allow_null=True)
    scriber_text = serializers.CharField(allow_null=True)
    drains_outward = serializers.BooleanField()
    warnings = serializers.ListField(child=serializers.CharField())
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class CornerRowOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    column = serializers.IntegerField()
    diameter_mm = serializers.FloatField()
    top_mm = serializers.FloatField()
    top_text = serializers.CharField(help_text="As the crew writes it.")
    planned_mm = serializers.FloatField(allow_null=True, help_text="The plan's own top; null without a plan.")
    stands_off_mm = serializers.FloatField(allow_null=True, help_text="How far the top lies above that.")
    is_measured = serializers.BooleanField()
    is_assumed = serializers.BooleanField(help_text="No log is known there: the nominal one stands in.")
    seat_mm = serializers.FloatField()
    seat_text = serializers.CharField()
    next_seat_mm = serializers.FloatField()
    takes_mm = serializers.FloatField(help_text="Packing, clearance and the wood that remains.")
    takes_text = serializers.CharField()
    cut = NotchCutOut()


class CornerSheetOut(RowOut):
    cabin = serializers.UUIDField()
    crossing = serializers.CharField()
    rows = CornerRowOut(many=True, help_text="From the deck up.")
    sum_mm = serializers.FloatField(help_text="Of what every log takes: it is the height.")
    sum_text = serializers.CharField(help_text="As the crew writes it.")
    height_mm = serializers.FloatField()
    height_text = serializers.CharField()
    thickness_mm = serializers.FloatField(
        allow_null=True, help_text="Of the logs, as asked or as those set were charted; null: round logs."
    )
    used = UsedOut(many=True, help_text="The settings the notches follow, and who chose them.")
    advice = serializers.ListField(
        child=serializers.CharField(),
        help_text="Where a wall stays off its plan: by how much, and what brings it back.",
    )
    warnings = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())


class AllowanceOut(RowOut):
    member = serializers.ChoiceField(MEMBERS)
    height_mm = serializers.FloatField()
    low_mm = serializers.FloatField()
    low_text = serializers.CharField(help_text="As the crew writes it.")
    high_mm = serializers.FloatField()
    high_text = serializers.CharField()
    leave_mm = serializers.FloatField(help_text="The space to leave.")
    leave_text = serializers.CharField()
    rule = serializers.CharField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class PredictionOut(RowOut):
    height_mm = serializers.FloatField()
    low_mm = serializers.FloatField()
    low_text = serializers.CharField(help_text="As the crew writes it.")
    high_mm = serializers.FloatField()
    high_text = serializers.CharField()
    shrinkage_low_mm = serializers.FloatField()
    shrinkage_high_mm = serializers.FloatField()
    bedding_low_mm = serializers.FloatField()
    bedding_high_mm = serializers.FloatField()
    is_scribed = serializers.BooleanField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class OpeningSettlingOut(RowOut):
    opening = serializers.CharField()
    wall = serializers.CharField()
    beside_mm = serializers.FloatField(help_text="Height of the courses beside it.")
    beside_text = serializers.CharField(help_text="As the crew writes it.")
    allowance = AllowanceOut(help_text="What the rule says to leave.")
    prediction = PredictionOut(help_text="What will happen; never mixed with the allowance.")
    cautions = serializers.ListField(child=serializers.CharField())


class PostSettlingOut(RowOut):
    post = serializers.CharField()
    height_mm = serializers.FloatField(help_text="As given, or of the logs beside it.")
    height_text = serializers.CharField(help_text="As the crew writes it.")
    allowance = AllowanceOut()
    prediction = PredictionOut()
    cautions = serializers.ListField(child=serializers.CharField())


class RoundSettlingOut(RowOut):
    wall = serializers.CharField()
    round = serializers.IntegerField()
    now_mm = serializers.FloatField()
    now_text = serializers.CharField(help_text="As the crew writes it.")
    later_low_mm = serializers.FloatField()
    later_low_text = serializers.CharField()
    later_high_mm = serializers.FloatField()
    later_high_text = serializers.CharField()


class ShrinkageShareOut(RowOut):
    low = serializers.FloatField()
    high = serializers.FloatField()
    basis = BasisOut()


class AirMoistureOut(RowOut):
    moisture_pct = serializers.FloatField()
    low_pct = serializers.FloatField()
    high_pct = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class SettlingSpeciesOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()


class SettlingSheetOut(RowOut):
    cabin = serializers.UUIDField()
    species = SettlingSpeciesOut(many=True, help_text="As asked, or those of the logs set.")
    moisture_now_pct = serializers.FloatField(allow_null=True, help_text="Null: green.")
    moisture_expected_pct = serializers.FloatField()
    air = AirMoistureOut(allow_null=True)
    shrinkage = ShrinkageShareOut()
    rule = SettlingRuleOut()
    used = UsedOut(many=True, help_text="The settings it was reckoned with, and who chose them.")
    is_scribed = serializers.BooleanField()
    openings = OpeningSettlingOut(many=True)
    posts = PostSettlingOut(many=True)
    rounds = RoundSettlingOut(many=True)
