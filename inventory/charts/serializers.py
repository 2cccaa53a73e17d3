"""What the reading of a chart looks like from outside."""

from rest_framework import serializers

from crews.accounts.models import LengthUnit
from crews.api.reading import BodyIn, QueryIn, RowOut
from inventory.core.spoken_line import LONGEST_LINE
from inventory.logs.charted_fields import Field, fields_given
from inventory.logs.serializers import HazardOut, ReadAcrossOut


class ChartOutQuery(QueryIn):
    unit = serializers.ChoiceField(
        LengthUnit.choices, required=False, help_text="How lengths are written; without it the crew's unit."
    )


class ChartQuery(QueryIn):
    unit = serializers.ChoiceField(
        LengthUnit.choices,
        required=False,
        help_text="What a plain number means: in feet along and inches across for `ft_in`, metres and "
        "centimetres for `m`. Without it the crew's unit.",
    )
    rack = serializers.UUIDField(required=False, help_text="The rack of logs whose row names none.")
    species = serializers.UUIDField(required=False, help_text="The species of logs whose row names none.")
    confirm_doubtful = serializers.BooleanField(
        default=False, help_text="Store it although some of it is doubtful: someone looked again."
    )
    new_racks = serializers.BooleanField(
        default=False, help_text="Make racks that are not known; without it they are a fault."
    )
    check_only = serializers.BooleanField(
        default=False, help_text="Store nothing; say what would be stored, and what is doubtful."
    )


class ChartDoubtOut(RowOut):
    pointer = serializers.CharField()
    detail = serializers.CharField()
    code = serializers.CharField()
    row = serializers.IntegerField(help_text="In the file, the headings' row included; 0: the whole file.")
    column = serializers.CharField(help_text="As headed in the file.")
    read = serializers.CharField()


class ChartOut(RowOut):
    stored = serializers.BooleanField(help_text="False if it was only checked.")
    added = serializers.IntegerField()
    changed = serializers.IntegerField(help_text="Logs that the chart changed; earlier measures are kept.")
    unchanged = serializers.IntegerField()
    new_racks = serializers.ListField(child=serializers.CharField())
    doubts = ChartDoubtOut(many=True, help_text="What was doubtful and is confirmed, or would have to be.")


class SpokenLineIn(BodyIn):
    line = serializers.CharField(
        max_length=LONGEST_LINE, help_text="As it was said or typed. Plain numbers are in the crew's units."
    )
    yard = serializers.UUIDField(
        required=False, allow_null=True, default=None, help_text="Ask if it has the number already."
    )


class SpokenFieldsOut(RowOut):
    number = serializers.CharField(required=False)
    read_across = ReadAcrossOut(many=True, required=False, help_text="Stations said twice.")
    hazards = HazardOut(many=True, required=False)
    remarks = serializers.CharField(required=False)

    def get_fields(self) -> dict[str, Field]:
        """And one for each column of the chart that can be said."""
        given = fields_given(_SAID)
        for field in given.values():
            field.required = False
        return {**super().get_fields(), **given}


_SAID = (
    "length_mm", "butt_mm", "middle_mm", "tip_mm", "crown_mm", "crown_side", "grain_hand", "grain_slope",
    "peeled", "seasoning",
)  # fmt: skip


class SpokenQuestionOut(RowOut):
    pointer = serializers.CharField(help_text="The field; `/line`: none.")
    detail = serializers.CharField()
    code = serializers.CharField()
    read = serializers.CharField(help_text="The words that it is about.")


class SpokenLineOut(RowOut):
    fields = SpokenFieldsOut(  # type: ignore[assignment]
        help_text="What was read, as the log's body takes it; nothing else."
    )
    questions = SpokenQuestionOut(many=True, help_text="To be asked before it is sent.")
