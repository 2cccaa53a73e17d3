"""What logs and their measurements look like from outside."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.history.sync import SyncedPage
from inventory.logs.charted_fields import Field, fields_given, fields_taken
from inventory.logs.fields import LengthField
from inventory.logs.lines import CHARTED
from inventory.logs.models import FACES, HAZARD_KINDS, MEASURES, STATION_NAMES, LogState


class _PartIn(BodyIn):
    """A part of a log's body; whole also where the log is changed in part."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            missing = [name for name, field in self.fields.items() if field.required and name not in data]
            if missing:
                raise serializers.ValidationError({name: ["This field is required."] for name in missing})
        return super().to_internal_value(data)


class StationIn(_PartIn):
    from_butt_mm = LengthField()
    diameter_mm = LengthField()


class ReadAcrossIn(_PartIn):
    station = serializers.ChoiceField(STATION_NAMES)
    first_mm = LengthField()
    across_mm = LengthField(help_text="Read across the first, a quarter turn round the log.")
    difference_mm = LengthField(required=False, allow_null=True, help_text="Told in answers; not read.")


class HazardIn(_PartIn):
    kind = serializers.ChoiceField(HAZARD_KINDS)
    from_butt_mm = LengthField()
    face = serializers.ChoiceField(FACES, required=False, allow_null=True)
    extent_mm = LengthField(required=False, allow_null=True)


class LogIn(BodyIn):
    yard = serializers.UUIDField()
    rack = serializers.UUIDField(required=False, allow_null=True, default=None)
    species = serializers.UUIDField(required=False, allow_null=True, default=None)
    number = NameField(max_length=40, help_text="As painted or tagged; once in its yard.")
    further_stations = serializers.ListField(child=StationIn(), default=list, max_length=100)
    read_across = serializers.ListField(
        child=ReadAcrossIn(),
        default=list,
        max_length=len(STATION_NAMES),
        help_text="Stations read twice: the diameter is the mean of both, whichever of them it is sent as. A "
        "diameter taken anew lets its two readings go.",
    )
    grain_slope = serializers.DecimalField(
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        allow_null=True,
        default=None,
        help_text="The run for one across: 20 for 1 in 20.",
    )
    hazards = serializers.ListField(child=HazardIn(), default=list, max_length=100)
    cull_reason = serializers.CharField(max_length=200, allow_blank=True, default="")
    charted_by = NameField(max_length=80, allow_blank=True, default="")
    remarks = serializers.CharField(max_length=2000, allow_blank=True, default="")
    confirm_doubtful = serializers.BooleanField(
        default=False, help_text="Store it although it is doubtful: someone looked again."
    )

    def get_fields(self) -> dict[str, Field]:
        """And one for each other column of the chart."""
        said = super().get_fields()
        return {**said, **fields_taken(name for name in CHARTED if name not in said)}


class ReasonIn(BodyIn):
    reason = serializers.CharField(max_length=200)


class ReturnIn(BodyIn):
    rack = serializers.UUIDField(
        required=False, allow_null=True, default=None, help_text="Where it lies now; null: where it lay."
    )


class StationOut(RowOut):
    from_butt_mm = serializers.FloatField()
    diameter_mm = serializers.FloatField()


class ReadAcrossOut(RowOut):
    station = serializers.ChoiceField(STATION_NAMES)
    first_mm = serializers.FloatField()
    across_mm = serializers.FloatField()
    difference_mm = serializers.FloatField(
        help_text="How oval the log is there. Turned by a quarter it comes to lie half of it higher or lower."
    )


class HazardOut(RowOut):
    kind = serializers.ChoiceField(HAZARD_KINDS)
    from_butt_mm = serializers.FloatField()
    face = serializers.ChoiceField(FACES, allow_null=True)
    extent_mm = serializers.FloatField(allow_null=True)


INSTRUCTIONS = [(kind, kind) for kind in ("pin", "keep_for", "peel_first", "never_in_wall")]
USES = [(use, use) for use in ("sill", "plate", "ridge", "cabin")]


class InstructionOut(RowOut):
    kind = serializers.ChoiceField(INSTRUCTIONS)
    text = serializers.CharField(help_text="What was said, as it is shown.")
    cabin = serializers.UUIDField(allow_null=True)
    use = serializers.ChoiceField(USES, allow_null=True, help_text="What it is kept for.")
    wall = serializers.CharField(allow_null=True, help_text="Of a pin in a place.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True, help_text="Of a pin to a member.")
    from_butt_mm = serializers.FloatField(allow_null=True, help_text="Null: as it fits best.")
    butt_at = serializers.ChoiceField([("start", "start"), ("end", "end")], allow_null=True)


class LogOut(RowOut):
    id = serializers.UUIDField()
    number = serializers.CharField()
    yard = serializers.UUIDField()
    rack = serializers.UUIDField(allow_null=True)
    rack_name = serializers.CharField(allow_null=True)
    species = serializers.UUIDField(allow_null=True)
    species_name = serializers.CharField(allow_null=True)
    state = serializers.ChoiceField(LogState.choices)
    further_stations = StationOut(many=True)
    read_across = ReadAcrossOut(many=True, help_text="Stations read twice; their mean is the diameter.")
    hazards = HazardOut(many=True, help_text="Keep saw and notch clear of these.")
    cull_reason = serializers.CharField()
    gone_reason = serializers.CharField()
    instructions = InstructionOut(many=True, help_text="What a lead said of it, for every plan.")
    measures_version = serializers.IntegerField(
        help_text="Grows when a measure or a hazard changes, and only then."
    )
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()

    def get_fields(self) -> dict[str, Field]:
        """And one for each other column of the chart."""
        said = super().get_fields()
        return {**said, **fields_given(name for name in CHARTED if name not in said)}


class LogPage(SyncedPage):
    items = LogOut(many=True)
    next = serializers.CharField(allow_null=True)


class MeasurementOut(RowOut):
    id = serializers.UUIDField()
    log = serializers.UUIDField()
    measures_version = serializers.IntegerField()
    recorded_by = serializers.UUIDField(allow_null=True)
    recorded_by_name = serializers.CharField(allow_null=True)
    further_stations = StationOut(many=True)
    read_across = ReadAcrossOut(many=True, help_text="Stations read twice; their mean is the diameter.")
    hazards = HazardOut(many=True)
    created_at = serializers.DateTimeField()

    def get_fields(self) -> dict[str, Field]:
        """And one for each other column of the chart."""
        said = super().get_fields()
        return {**said, **fields_given(name for name in MEASURES if name not in said)}


class MeasurementPage(RowOut):
    items = MeasurementOut(many=True)
    next = serializers.CharField(allow_null=True)
