"""What mills and their forms look like from outside."""

from decimal import Decimal

from rest_framework import serializers

from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.history.sync import SyncedPage
from inventory.core.form_fields import Kind, On
from inventory.logs.fields import LengthField
from inventory.mills.models import BOARD_RULES, CUBIC_RULES

# Choices of the core's words, named once for the schema.
FIELD_KINDS = [(kind.value, kind.value) for kind in Kind]

FIELD_SIDES = [(side.value, side.value) for side in On]


class MillIn(BodyIn):
    name = NameField(max_length=60)
    contact = serializers.CharField(max_length=1000, allow_blank=True, default="")
    board_rule = serializers.ChoiceField(BOARD_RULES, help_text="The log rule it pays board feet by.")
    cubic_rule = serializers.ChoiceField(CUBIC_RULES, default="huber")
    trim_mm = LengthField(default=Decimal("152.4"), help_text="Trim that is not scaled.")
    length_step_ft = serializers.IntegerField(min_value=1, max_value=4, default=2)
    longest_ft = serializers.IntegerField(
        min_value=1, max_value=60, default=20, help_text="A longer log is scaled in pieces."
    )
    taper_mm_per_m = serializers.DecimalField(
        max_digits=4,
        decimal_places=1,
        min_value=Decimal(0),
        max_value=Decimal(40),
        default=Decimal(10),
        help_text="The taper that an ordered log is counted with.",
    )


class MillOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    contact = serializers.CharField()
    board_rule = serializers.ChoiceField(BOARD_RULES)
    cubic_rule = serializers.ChoiceField(CUBIC_RULES)
    trim_mm = serializers.FloatField()
    length_step_ft = serializers.IntegerField()
    longest_ft = serializers.IntegerField()
    taper_mm_per_m = serializers.FloatField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class MillPage(SyncedPage):
    items = MillOut(many=True)
    next = serializers.CharField(allow_null=True)


class FormIn(BodyIn):
    """The document is read by the core, which names the column of every fault."""

    document = serializers.JSONField()


class FormFieldOut(RowOut):
    name = serializers.CharField()
    kind = serializers.ChoiceField(FIELD_KINDS)
    on = serializers.ChoiceField(FIELD_SIDES, help_text="Where a column with it may stand.")
    meaning = serializers.CharField()


class HeaderFieldOut(RowOut):
    name = serializers.CharField()
    kind = serializers.ChoiceField(FIELD_KINDS)


class FormFieldsOut(RowOut):
    columns = FormFieldOut(many=True)
    lines = HeaderFieldOut(many=True, help_text="For the lines above and below the table.")


class FormOut(RowOut):
    id = serializers.UUIDField()
    mill = serializers.UUIDField()
    document = serializers.DictField()
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()


class FormPage(RowOut):
    items = FormOut(many=True)
    next = serializers.CharField(allow_null=True)


class PreviewIn(BodyIn):
    document = serializers.JSONField()
    order = serializers.UUIDField(
        required=False, allow_null=True, default=None, help_text="The order to show; null: an example."
    )


def _texts() -> serializers.ListField:
    return serializers.ListField(child=serializers.CharField(allow_blank=True))


def _table() -> serializers.ListField:
    return serializers.ListField(child=_texts())


class FilledFormOut(RowOut):
    title = serializers.CharField()
    above = _table()
    headings = _texts()
    rows = _table()
    below = _table()
    rounded = serializers.ListField(
        child=serializers.CharField(),
        help_text="Headings under which some length is not shown exactly: the mill reads another one there.",
    )
