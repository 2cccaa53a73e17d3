"""What pieces prepared before they are set look like from outside."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from cabins.prepared_pieces.actions import PieceTarget
from cabins.prepared_pieces.models import PieceMark
from cabins.set_logs.serializers import WarningOut
from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage
from inventory.logs.fields import LengthField
from inventory.logs.serializers import HazardOut

_PLACE = ("wall", "round", "piece")


class PreparedPieceIn(BodyIn):
    log = serializers.UUIDField()
    near_butt_mm = LengthField(help_text="From the log's butt end to the cut nearest the butt.")
    near_tip_mm = LengthField(help_text="From the log's butt end to the cut nearest the tip.")
    cabin = serializers.UUIDField(
        allow_null=True,
        default=None,
        help_text="What it is for: a place or member of it, or it alone; null: nothing yet.",
    )
    wall = serializers.CharField(max_length=40, allow_blank=True, default="")
    round = serializers.IntegerField(min_value=0, max_value=1000, allow_null=True, default=None)
    piece = serializers.IntegerField(min_value=0, max_value=1000, allow_null=True, default=None)
    member = serializers.CharField(
        max_length=50, allow_blank=True, default="", help_text="By name, as `ridge`, in place of a wall."
    )
    marks = serializers.ListField(
        child=serializers.ChoiceField(PieceMark.choices),
        default=lambda: [PieceMark.SAWN.value],
        min_length=1,
        max_length=4,
        help_text="All that was done to it; sawn if not given.",
    )
    metal_removed = serializers.BooleanField(
        default=False, help_text="States that metal charted near a cut was found and taken out."
    )
    prepared_at = TimeField()
    prepared_by = serializers.UUIDField(
        allow_null=True, default=None, help_text="A member of the crew; null: whoever records it."
    )
    remarks = serializers.CharField(max_length=4000, allow_blank=True, default="")
    confirm_doubtful = serializers.BooleanField(
        default=False, help_text="It is so, although it is doubtful: someone looked again."
    )

    def validate(self, attrs: dict[str, Any]) -> Mapping[str, Any]:
        """A piece is for a whole place or a member of a cabin, for the cabin alone, or for nothing yet."""
        named = [name for name in _PLACE if attrs[name] not in ("", None)]
        faults: dict[str, list[str]] = {}
        if attrs["cabin"] is None:
            faults = {name: ["Only beside a cabin."] for name in [*named, *_member_named(attrs)]}
        elif attrs["member"]:
            faults = {name: ["A member lies in no wall."] for name in named}
        elif named:
            faults = {name: ["A place is a wall, a round, a piece."] for name in _PLACE if name not in named}
        if faults:
            raise serializers.ValidationError(faults)
        target = PieceTarget(**{name: attrs.pop(name) for name in ("cabin", "member", *_PLACE)})
        return attrs | {"target": target}


def _member_named(attrs: Mapping[str, Any]) -> list[str]:
    return ["member"] if attrs["member"] else []


class PreparedPieceOut(RowOut):
    id = serializers.UUIDField()
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    log_hazards = HazardOut(many=True, help_text="Of the whole log: metal stays where it is in the piece.")
    near_butt_mm = serializers.FloatField()
    near_tip_mm = serializers.FloatField()
    length_mm = serializers.FloatField()
    cabin = serializers.UUIDField(allow_null=True, help_text="Null: it is for nothing yet.")
    wall = serializers.CharField(help_text="Empty, round and piece null: for a member, or nothing yet.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField()
    marks = serializers.ListField(child=serializers.ChoiceField(PieceMark.choices))
    metal_removed = serializers.BooleanField()
    prepared_at = serializers.DateTimeField()
    prepared_by = serializers.UUIDField()
    recorded_by = serializers.UUIDField()
    remarks = serializers.CharField()
    warnings = WarningOut(many=True)
    undone_at = serializers.DateTimeField(allow_null=True)
    undone_by = serializers.UUIDField(allow_null=True)
    undo_reason = serializers.CharField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class PreparedPiecePage(SyncedPage):
    items = PreparedPieceOut(many=True)
    next = serializers.CharField(allow_null=True)
