"""A crew's way of scaling logs as seen from outside, and who chose what a figure was reckoned with."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from crews.accounts.crew_settings import ASKED, CREW, DEFAULT
from crews.api.reading import BodyIn, QueryIn, RowOut
from inventory.logs.fields import LengthField, LengthQueryField
from inventory.scaling.models import ODD_FEET

CHOSEN_BY = [(by, by) for by in (ASKED, CREW, DEFAULT)]
MOST_TRIM_MM = Decimal(3048)
STEP_FT: dict[str, Any] = {"min_value": 1, "max_value": 8}
LONGEST_FT: dict[str, Any] = {"min_value": 8, "max_value": 60}
_TRIM = "Length that a mill does not pay."
_STEP = "Scaled lengths are multiples of this."
_LONGEST = "A longer log is scaled in pieces."
_ODD = "At which end the International rule takes feet beyond whole 4 ft sections."


@extend_schema_field({"type": ["number", "string", "null"]})
class PlainValue(serializers.Field[Any, Any, Any, Any]):
    """A number, a word or nothing."""


class UsedOut(RowOut):
    name = serializers.CharField(help_text="The query parameter that sets it.")
    value = PlainValue(allow_null=True)
    chosen_by = serializers.ChoiceField(
        CHOSEN_BY, help_text="This question, the crew's settings, or nobody: the default."
    )


class ScalingQuery(QueryIn):
    trim_mm = LengthQueryField(
        required=False, help_text=f"{_TRIM} Else the crew's choice, else 152.4 (6 in)."
    )
    length_step_ft = serializers.IntegerField(
        required=False, help_text=f"{_STEP} Else the crew's choice, else 2.", **STEP_FT
    )
    longest_ft = serializers.IntegerField(
        required=False, help_text=f"{_LONGEST} Else the crew's choice, else 20.", **LONGEST_FT
    )
    odd_feet = serializers.ChoiceField(
        ODD_FEET, required=False, help_text=f"{_ODD} Else the crew's choice, else butt."
    )


class ScalingSettingsIn(BodyIn):
    trim_mm = LengthField(
        required=False, allow_null=True, most_mm=MOST_TRIM_MM, help_text=f"{_TRIM} Null: 152.4 (6 in)."
    )
    length_step_ft = serializers.IntegerField(
        required=False, allow_null=True, help_text=f"{_STEP} Null: 2.", **STEP_FT
    )
    longest_ft = serializers.IntegerField(
        required=False, allow_null=True, help_text=f"{_LONGEST} Null: 20.", **LONGEST_FT
    )
    odd_feet = serializers.ChoiceField(
        ODD_FEET, required=False, allow_null=True, help_text=f"{_ODD} Null: butt."
    )


class ScalingOut(RowOut):
    trim_mm = serializers.FloatField()
    length_step_ft = serializers.IntegerField()
    longest_ft = serializers.IntegerField()
    odd_feet = serializers.ChoiceField(ODD_FEET)


class ScalingSettingsOut(ScalingOut):
    chosen = serializers.ListField(
        child=serializers.CharField(), help_text="What the crew chose; all else is the default."
    )
    defaults = ScalingOut()
    version = serializers.IntegerField(help_text="0 before anything was chosen.")
