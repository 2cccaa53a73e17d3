"""What a cabin's cut list looks like from outside."""

from rest_framework import serializers

from cabins.prepared_pieces.models import PieceMark
from crews.api.reading import RowOut
from inventory.logs.serializers import HazardOut
from planning.sheets.serializers import LostLogOut


class PieceToCutOut(RowOut):
    near_butt_mm = serializers.FloatField(help_text="Where the saw goes, from the log's butt end.")
    near_butt_text = serializers.CharField(help_text="As the crew writes it.")
    near_tip_mm = serializers.FloatField()
    near_tip_text = serializers.CharField()
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: for a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    goes_to = serializers.CharField()
    opening_cuts = serializers.ListField(child=serializers.CharField())
    prepared_piece = serializers.UUIDField(allow_null=True, help_text="Null: nothing is done to it yet.")
    version = serializers.IntegerField(allow_null=True, help_text="Of what is recorded as prepared.")
    marks = serializers.ListField(child=serializers.ChoiceField(PieceMark.choices))
    is_across = serializers.BooleanField(help_text="A cut that was made runs through it: plan again.")


class LogToCutOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    yard_name = serializers.CharField()
    rack_name = serializers.CharField(allow_null=True)
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    crown_text = serializers.CharField()
    hazards = HazardOut(many=True)
    pieces = PieceToCutOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class UnusedPieceOut(RowOut):
    prepared_piece = serializers.UUIDField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    near_butt_mm = serializers.FloatField()
    near_butt_text = serializers.CharField()
    near_tip_mm = serializers.FloatField()
    near_tip_text = serializers.CharField()
    length_mm = serializers.FloatField()
    length_text = serializers.CharField()
    made_for = serializers.CharField()


class CutListOut(RowOut):
    cabin = serializers.UUIDField()
    plan = serializers.UUIDField()
    logs = LogToCutOut(many=True, help_text="By yard, rack and number, pieces from the butt on.")
    unused = UnusedPieceOut(many=True, help_text="Sawn for this cabin, not set, and in no place of the plan.")
    lost = LostLogOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
