"""What set logs look like from outside, and what is cut from a log."""

from rest_framework import serializers

from cabins.prepared_pieces.models import PieceMark
from cabins.roof_members.models import MEMBER_KINDS
from cabins.set_logs.models import End
from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage
from inventory.logs.fields import LengthField
from inventory.logs.models import LogState
from inventory.logs.serializers import HazardOut


class SetLogIn(BodyIn):
    cabin = serializers.UUIDField()
    wall = serializers.CharField(max_length=40)
    round = serializers.IntegerField(
        min_value=0, max_value=1000, help_text="0: a half log that a high wall starts on."
    )
    piece = serializers.IntegerField(
        min_value=0, max_value=1000, help_text="Numbered from 0 at the wall's start corner."
    )
    log = serializers.UUIDField()
    from_butt_mm = LengthField(help_text="From the log's butt end to the piece's end nearest the butt.")
    butt_at = serializers.ChoiceField(End.choices, help_text="Towards which end of the wall the butt lies.")
    set_at = TimeField()
    set_by = serializers.UUIDField(
        allow_null=True, default=None, help_text="A member; null: whoever records it."
    )
    checked_by = serializers.UUIDField(allow_null=True, default=None)
    gap_mm = LengthField(
        allow_null=True, default=None, least_mm=None, help_text="As built; negative: overlap."
    )
    notch_start_mm = LengthField(allow_null=True, default=None, help_text="Depth as cut at the wall's start.")
    notch_end_mm = LengthField(allow_null=True, default=None, help_text="Depth as cut at the wall's end.")
    metal_removed = serializers.BooleanField(
        default=False, help_text="States that metal charted near a cut or notch was found and taken out."
    )
    remarks = serializers.CharField(max_length=4000, allow_blank=True, default="")
    confirm_doubtful = serializers.BooleanField(
        default=False, help_text="It lies there so, although it is doubtful: someone looked again."
    )


class WarningOut(RowOut):
    code = serializers.CharField()
    detail = serializers.CharField()


class SetLogOut(RowOut):
    id = serializers.UUIDField()
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    log_hazards = HazardOut(many=True, help_text="Of the whole log: metal stays where it is in the wall.")
    from_butt_mm = serializers.FloatField()
    length_mm = serializers.FloatField(
        allow_null=True, help_text="Null: undone, and the layout has no such place any more."
    )
    butt_at = serializers.ChoiceField(End.choices)
    set_at = serializers.DateTimeField()
    set_by = serializers.UUIDField()
    checked_by = serializers.UUIDField(allow_null=True)
    recorded_by = serializers.UUIDField()
    gap_mm = serializers.FloatField(allow_null=True)
    notch_start_mm = serializers.FloatField(allow_null=True)
    notch_end_mm = serializers.FloatField(allow_null=True)
    metal_removed = serializers.BooleanField()
    remarks = serializers.CharField()
    warnings = WarningOut(many=True)
    undone_at = serializers.DateTimeField(allow_null=True)
    undone_by = serializers.UUIDField(allow_null=True)
    undo_reason = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class SetLogPage(SyncedPage):
    items = SetLogOut(many=True)
    next = serializers.CharField(allow_null=True)


class CutPieceOut(RowOut):
    set_log = serializers.UUIDField(allow_null=True, help_text="Null, like wall, round and piece: a member.")
    roof_member = serializers.UUIDField(allow_null=True)
    cabin = serializers.UUIDField()
    cabin_name = serializers.CharField()
    wall = serializers.CharField(allow_null=True)
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    member_kind = serializers.ChoiceField(MEMBER_KINDS, allow_null=True)
    near_butt_mm = serializers.FloatField()
    near_tip_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    is_half = serializers.BooleanField(help_text="One half of this part, ripped lengthwise.")


class PreparedPartOut(RowOut):
    prepared_piece = serializers.UUIDField()
    cabin = serializers.UUIDField(allow_null=True, help_text="Null: it is for nothing yet.")
    cabin_name = serializers.CharField(allow_null=True)
    wall = serializers.CharField(help_text="Empty, round and piece null: for a member, or nothing yet.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField()
    marks = serializers.ListField(child=serializers.ChoiceField(PieceMark.choices))
    near_butt_mm = serializers.FloatField()
    near_tip_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    version = serializers.IntegerField()


class StretchOut(RowOut):
    near_butt_mm = serializers.FloatField()
    near_tip_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    is_half = serializers.BooleanField(help_text="Only the other half of a ripped part is left here.")


class LogPiecesOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    state = serializers.ChoiceField(LogState.choices)
    length_mm = serializers.FloatField()
    pieces = CutPieceOut(many=True, help_text="Set or given now, butt first.")
    prepared = PreparedPartOut(many=True, help_text="Sawn, peeled, notched or at the wall, set since or not.")
    left = StretchOut(
        many=True, help_text="Where further pieces may lie: 600 mm or longer, trim and kerf off."
    )
    hazards = HazardOut(many=True)
