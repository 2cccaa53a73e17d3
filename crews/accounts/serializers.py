"""What crews, members and keys look like from outside."""

from rest_framework import serializers

from crews.accounts.models import Fraction, LengthUnit, Role, WeightUnit
from crews.api.names import NameField
from crews.api.reading import BodyIn, RowOut
from crews.api.times import TimeField
from crews.history.sync import SyncedPage

_WEIGHT_UNIT = "Null: pounds where lengths are in inches, else kilograms."


class CrewChangeIn(BodyIn):
    name = NameField(max_length=120, required=False)
    length_unit = serializers.ChoiceField(LengthUnit.choices, required=False)
    fraction = serializers.ChoiceField(Fraction.choices, required=False)
    weight_unit = serializers.ChoiceField(
        WeightUnit.choices, required=False, allow_null=True, help_text=_WEIGHT_UNIT
    )


class CrewIn(BodyIn):
    name = NameField(max_length=120)
    length_unit = serializers.ChoiceField(LengthUnit.choices, default=LengthUnit.MILLIMETRE)
    fraction = serializers.ChoiceField(Fraction.choices, default=Fraction.EIGHTHS)
    weight_unit = serializers.ChoiceField(
        WeightUnit.choices, allow_null=True, default=None, help_text=_WEIGHT_UNIT
    )


class CrewOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    length_unit = serializers.ChoiceField(LengthUnit.choices)
    fraction = serializers.ChoiceField(Fraction.choices)
    weight_unit = serializers.ChoiceField(WeightUnit.choices, allow_null=True, help_text=_WEIGHT_UNIT)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class FoundedOut(RowOut):
    crew = CrewOut()
    member = serializers.UUIDField()
    key = serializers.CharField(help_text="The new crew's first key, shown this once.")


class MemberIn(BodyIn):
    name = NameField(max_length=120)
    role = serializers.ChoiceField(Role.choices)


class MemberOut(RowOut):
    id = serializers.UUIDField()
    name = serializers.CharField()
    role = serializers.ChoiceField(Role.choices)
    left_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class MemberPage(SyncedPage):
    items = MemberOut(many=True)
    next = serializers.CharField(allow_null=True)


class KeyIn(BodyIn):
    member = serializers.UUIDField()
    name = NameField(max_length=120)
    role = serializers.ChoiceField(Role.choices)
    expires_at = TimeField(required=False, allow_null=True, default=None)


class KeyOut(RowOut):
    id = serializers.UUIDField()
    member = serializers.UUIDField()
    name = serializers.CharField()
    role = serializers.ChoiceField(Role.choices)
    hint = serializers.CharField(help_text="How the key begins.")
    expires_at = serializers.DateTimeField(allow_null=True)
    last_used_at = serializers.DateTimeField(allow_null=True)
    revoked_at = serializers.DateTimeField(allow_null=True)
    version = serializers.IntegerField()
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()


class KeyPage(SyncedPage):
    items = KeyOut(many=True)
    next = serializers.CharField(allow_null=True)


class NewKeyOut(KeyOut):
    secret = serializers.CharField(
        allow_null=True, help_text="Shown once; null when the request is repeated."
    )


class MeOut(RowOut):
    crew = CrewOut()
    member = MemberOut()
    role = serializers.ChoiceField(Role.choices, help_text="What this key allows.")
