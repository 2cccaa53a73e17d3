"""What the figures of logs, pieces and wood look like from outside."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from crews.api.reading import QueryIn, RowOut
from inventory.core.log_rules import BoardRule
from inventory.core.volume import CubicRule
from inventory.logs.fields import LengthQueryField, NumberField
from inventory.logs.models import FACES, HAZARD_KINDS, SEASONINGS
from inventory.logs.serializers import HazardOut
from inventory.scaling.serializers import ScalingQuery, UsedOut

__all__ = ["BasisOut"]


class BasisOut(RowOut):
    rule = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name, which DRF collects
    assumption = serializers.CharField()


CUBIC_RULES = [(rule.value, rule.value) for rule in CubicRule]

BOARD_RULES = [(rule.value, rule.value) for rule in BoardRule]


def _percent(**kwargs: Any) -> NumberField:
    return NumberField(min_value=0, max_value=400, **kwargs)


class LiftQuery(QueryIn):
    seasoning = serializers.ChoiceField(
        SEASONINGS, required=False, help_text="How far the log has dried; without it as charted."
    )
    moisture_pct = _percent(
        required=False, help_text="Moisture as measured, % of dry weight; then seasoning does not count."
    )
    sling_angle_deg = NumberField(
        default=60.0, min_value=0, max_value=90, help_text="Of the sling's legs, from the horizontal."
    )


class FiguresQuery(LiftQuery, ScalingQuery):
    cubic_rule = serializers.ChoiceField(CUBIC_RULES, required=False, help_text="Only this one.")
    board_rule = serializers.ChoiceField(BOARD_RULES, required=False, help_text="Only this one.")


class PieceQuery(LiftQuery):
    from_butt_mm = LengthQueryField(help_text="From the log's butt end to the piece's end nearest the butt.")
    length_mm = LengthQueryField(least_mm=Decimal(1))


class MoistureQuery(QueryIn):
    temperature_c = NumberField()
    humidity_pct = NumberField(help_text="Relative humidity of the air.")


class ShrinkageQuery(QueryIn):
    dimension_mm = LengthQueryField(help_text="Across the grain, as measured at the first moisture.")
    from_moisture_pct = _percent(required=False, help_text="Without it the wood is green.")
    to_moisture_pct = _percent(default=12.0, help_text="12 % is presumed service moisture.")


class DiameterOut(RowOut):
    from_butt_mm = serializers.FloatField()
    diameter_mm = serializers.FloatField()
    error_mm = serializers.FloatField(help_text="One standard deviation.")


class WrittenOut(RowOut):
    length = serializers.CharField()
    butt = serializers.CharField()
    middle = serializers.CharField()
    tip = serializers.CharField()
    crown = serializers.CharField(allow_null=True, help_text="Null: nobody looked at it yet.")
    sawn_thickness = serializers.CharField(allow_null=True)


class CrownOut(RowOut):
    crown_mm = serializers.FloatField(allow_null=True, help_text="Null: nobody looked at it yet.")
    side = serializers.ChoiceField(FACES, allow_null=True)
    at_mm = serializers.FloatField(allow_null=True)
    half_length_mm = serializers.FloatField(
        allow_null=True, help_text="The crown of a piece half as long; null: unknown."
    )
    crook_mm = serializers.FloatField()
    crook_at_mm = serializers.FloatField(allow_null=True)
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class VolumeOut(RowOut):
    rule = serializers.ChoiceField(CUBIC_RULES)
    volume_m3 = serializers.FloatField()
    low_m3 = serializers.FloatField()
    high_m3 = serializers.FloatField()
    volume_ft3 = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class ScaledPieceOut(RowOut):
    small_end_in = serializers.IntegerField()
    length_ft = serializers.IntegerField()
    board_feet = serializers.FloatField()


class BoardFeetOut(RowOut):
    rule = serializers.ChoiceField(BOARD_RULES)
    board_feet = serializers.FloatField(allow_null=True)
    low_board_feet = serializers.FloatField(allow_null=True)
    high_board_feet = serializers.FloatField(allow_null=True)
    pieces = ScaledPieceOut(many=True, help_text="From the tip down.")
    basis = BasisOut(allow_null=True)
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    why_not = serializers.CharField(help_text="Why the rule does not reach this log; empty if it does.")


class WeightOut(RowOut):
    low_kg = serializers.FloatField()
    likely_kg = serializers.FloatField()
    high_kg = serializers.FloatField()
    lift_kg = serializers.FloatField(help_text="Plan the lift on this: the top of the range.")
    lift_lb = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class BalanceOut(RowOut):
    from_butt_end_mm = serializers.FloatField(help_text="From the end of the log or piece nearest the butt.")
    from_butt_end_text = serializers.CharField(help_text="As the crew writes it.")
    from_log_butt_mm = serializers.FloatField()
    from_log_butt_text = serializers.CharField()
    low_mm = serializers.FloatField(help_text="Of from_butt_end_mm.")
    high_mm = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class SlingOut(RowOut):
    angle_deg = serializers.FloatField()
    tension_kg = serializers.FloatField(help_text="Pull in each of two legs, for lift_kg.")
    share_of_load = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class LogFiguresOut(RowOut):
    id = serializers.UUIDField()
    number = serializers.CharField()
    measures_version = serializers.IntegerField()
    sawn_thickness_mm = serializers.FloatField(
        allow_null=True, help_text="Of a log sawn on two faces; its diameters are then face heights."
    )
    written = WrittenOut(help_text="The measures as the crew writes lengths.")
    diameters = DiameterOut(many=True, help_text="At every station and at the very ends.")
    taper_mm_per_m = serializers.FloatField()
    crown = CrownOut()
    hazards = HazardOut(many=True)
    volumes = VolumeOut(many=True)
    board_feet = BoardFeetOut(many=True)
    scaling = UsedOut(many=True, help_text="How the log was scaled for board feet.")
    weight = WeightOut(allow_null=True)
    why_no_weight = serializers.CharField()
    balance = BalanceOut()
    sling = SlingOut(allow_null=True)
    cautions = serializers.ListField(child=serializers.CharField())


class HazardInPieceOut(RowOut):
    kind = serializers.ChoiceField(HAZARD_KINDS)
    from_butt_mm = serializers.FloatField()
    from_piece_mm = serializers.FloatField(help_text="From the piece's end nearest the butt.")
    face = serializers.ChoiceField(FACES, allow_null=True)
    extent_mm = serializers.FloatField(allow_null=True)


class PieceFiguresOut(RowOut):
    log = serializers.UUIDField()
    number = serializers.CharField()
    measures_version = serializers.IntegerField()
    from_butt_mm = serializers.FloatField()
    from_butt_text = serializers.CharField(help_text="As the crew writes it.")
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    butt_end_mm = serializers.FloatField(help_text="Diameter at the piece's own end nearest the butt.")
    middle_mm = serializers.FloatField()
    middle_text = serializers.CharField()
    tip_end_mm = serializers.FloatField()
    middle_error_mm = serializers.FloatField(help_text="One standard deviation.")
    crown_mm = serializers.FloatField(allow_null=True, help_text="Null: nobody looked at it yet.")
    crook_mm = serializers.FloatField(help_text="All of it, or nothing if it lies outside the piece.")
    hazards = HazardInPieceOut(many=True)
    basis = BasisOut()
    uncertainty = serializers.CharField()
    weight = WeightOut(allow_null=True)
    why_no_weight = serializers.CharField()
    balance = BalanceOut()
    sling = SlingOut(allow_null=True)
    cautions = serializers.ListField(child=serializers.CharField())


class MoistureOut(RowOut):
    moisture_pct = serializers.FloatField()
    low_pct = serializers.FloatField()
    high_pct = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())


class ShrinkageOut(RowOut):
    species = serializers.UUIDField()
    name = serializers.CharField()
    dimension_mm = serializers.FloatField()
    radial_mm = serializers.FloatField(help_text="Lost; negative: it swells.")
    tangential_mm = serializers.FloatField()
    low_mm = serializers.FloatField()
    high_mm = serializers.FloatField()
    basis = BasisOut()
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
