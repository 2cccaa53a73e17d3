"""What the changes of a plan against the one in force look like from outside."""

from rest_framework import serializers

from cabins.models import End
from config.api.reading import BodyIn, RowOut


class TakeChangesIn(BodyIn):
    id = serializers.UUIDField(
        help_text="Of the plan that comes of it, made by the client: asked twice, one plan."
    )
    against = serializers.ListField(
        child=serializers.UUIDField(), min_length=1, max_length=50,
        help_text="The plans that the changes were listed against.",
    )  # fmt: skip
    changes = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=1000),
        max_length=1000,
        help_text="Numbers of the changes to take; the forced ones are taken anyway.",
    )


class LiesOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    from_butt_mm = serializers.FloatField()
    butt_at = serializers.ChoiceField(End.choices)


class PlaceChangeOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField(allow_null=True, help_text="Null, like round and piece: a member.")
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    before = LiesOut(allow_null=True, help_text="Null: nothing can lie there as the plan in force has it.")
    after = LiesOut(allow_null=True)


class GainOut(RowOut):
    term = serializers.CharField()
    points = serializers.FloatField(help_text="Of the objective: less is better.")
    words = serializers.CharField()


class PlanChangeOut(RowOut):
    number = serializers.IntegerField()
    is_forced = serializers.BooleanField(
        help_text="The plan in force cannot stand there: a log is gone, lies elsewhere or is sawn otherwise."
    )
    text = serializers.CharField()
    objective_change = serializers.FloatField(help_text="Made alone, after the forced ones; less is better.")
    gains = GainOut(many=True, help_text="By term, what it gains first; what it costs last.")
    places = PlaceChangeOut(many=True)


class PlanChangesOut(RowOut):
    plan = serializers.UUIDField()
    against = serializers.ListField(
        child=serializers.UUIDField(), help_text="The plans that its cabins are built by; empty: none yet."
    )
    unchanged = serializers.IntegerField(help_text="Places and members that stay as they are.")
    changes = PlanChangeOut(many=True, help_text="Forced ones first, then by what they gain.")
