"""What members beyond the walls look like from outside once they are made."""

from rest_framework import serializers

from cabins.roof_members.models import MEMBER_KINDS
from cabins.set_logs.serializers import WarningOut
from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage
from inventory.logs.fields import LengthField
from inventory.logs.serializers import HazardOut


class RoofMemberIn(BodyIn):
    cabin = serializers.UUIDField()
    member = serializers.CharField(max_length=50, help_text="By name: `ridge`, or `purlin 2` of several.")
    log = serializers.UUIDField()
    from_butt_mm = LengthField(
        help_text="From the log's butt end to the piece's end nearest the butt; as long as the layout says."
    )
    installed_at = TimeField()
    installed_by = serializers.UUIDField(
        allow_null=True, default=None, help_text="A member of the crew; null: whoever records it."
    )
    metal_removed = serializers.BooleanField(
        default=False, help_text="States that metal charted near a cut was found and taken out."
    )
    remarks = serializers.CharField(max_length=4000, allow_blank=True, default="")
    confirm_doubtful = serializers.BooleanField(
        default=False, help_text="It was made so, although it is doubtful: someone looked again."
    )


class RoofMemberOut(RowOut):
    id = serializers.UUIDField()
    cabin = serializers.UUIDField()
    member = serializers.CharField()
    kind = serializers.ChoiceField(MEMBER_KINDS)
    length_mm = serializers.FloatField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    log_hazards = HazardOut(many=True, help_text="Of the whole log: metal stays where it is in the member.")
    from_butt_mm = serializers.FloatField()
    installed_at = serializers.DateTimeField()
    installed_by = serializers.UUIDField()
    recorded_by = serializers.UUIDField()
    metal_removed = serializers.BooleanField()
    remarks = serializers.CharField()
    warnings = WarningOut(many=True)
    cautions = serializers.ListField(child=serializers.CharField())
    undone_at = serializers.DateTimeField(allow_null=True)
    undone_by = serializers.UUIDField(allow_null=True)
    undo_reason = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class RoofMemberPage(SyncedPage):
    items = RoofMemberOut(many=True)
    next = serializers.CharField(allow_null=True)
