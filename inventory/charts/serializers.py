"""What the reading of a chart looks like from outside."""

from rest_framework import serializers

from crews.accounts.models import LengthUnit
from crews.api.reading import QueryIn, RowOut


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
