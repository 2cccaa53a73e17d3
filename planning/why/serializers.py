"""What "why" and "what if" look like from outside."""

from collections.abc import Mapping
from typing import Any

from rest_framework import serializers

from cabins.set_logs.models import End
from crews.api.bounds import list_of
from crews.api.reading import BodyIn, QueryIn, RowOut

CHANGE_KINDS = [("swap", "swap"), ("turn", "turn"), ("move", "move")]
_NEEDED = {"swap": "with_place", "move": "log"}


class PlaceQuery(QueryIn):
    cabin = serializers.UUIDField(help_text="One of the plan's cabins.")
    wall = serializers.CharField(max_length=40)
    round = serializers.IntegerField(min_value=1, max_value=60)
    piece = serializers.IntegerField(min_value=0, max_value=60, default=0)


class PlanPlaceIn(BodyIn):
    cabin = serializers.UUIDField()
    wall = serializers.CharField(max_length=40)
    round = serializers.IntegerField(min_value=1, max_value=60)
    piece = serializers.IntegerField(min_value=0, max_value=60, default=0)


class ChangeIn(BodyIn):
    kind = serializers.ChoiceField(CHANGE_KINDS, help_text="swap: `with_place`; move: `log`; turn: neither.")
    place = PlanPlaceIn()
    with_place = PlanPlaceIn(required=False)
    log = serializers.UUIDField(required=False)

    def validate(self, attrs: Mapping[str, Any]) -> Mapping[str, Any]:
        """Each kind of change names what it needs and nothing else."""
        needed = _NEEDED.get(attrs["kind"])
        faults = {name: ["This kind of change does not take it."] for name in ("with_place", "log")}
        faults = {name: said for name, said in faults.items() if name in attrs and name != needed}
        if needed is not None and needed not in attrs:
            faults[needed] = ["This kind of change needs it."]
        if faults:
            raise serializers.ValidationError(faults)
        return attrs


class WhatIfIn(BodyIn):
    changes = list_of(ChangeIn(), most=50, min_length=1)


class PlanPlaceOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    piece = serializers.IntegerField()


class SpotChangeOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    column = serializers.IntegerField(help_text="0 the wall's start, 1 its end, 2 and on the tees along it.")
    change_mm = serializers.FloatField()


class BeyondNotchOut(RowOut):
    cabin = serializers.UUIDField()
    wall = serializers.CharField()
    round = serializers.IntegerField()
    column = serializers.IntegerField()
    over = serializers.CharField()
    depth_mm = serializers.FloatField()
    diameter_mm = serializers.FloatField()
    share = serializers.FloatField()


class EffectOut(RowOut):
    objective_change = serializers.FloatField(help_text="More is worse.")
    term_changes = serializers.DictField(child=serializers.FloatField())
    feasible = serializers.BooleanField()
    faults = serializers.ListField(child=serializers.CharField(), help_text="Rules that would be broken.")
    tops = SpotChangeOut(many=True, help_text="How much higher each top comes, where it changes.")
    notches = SpotChangeOut(many=True, help_text="How much deeper each notch gets, where it changes.")
    notches_beyond = BeyondNotchOut(many=True, help_text="Notches beyond their limit: do not cut them.")


class AlternativeOut(RowOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    swapped_with = PlanPlaceOut(
        allow_null=True, help_text="Where that log lies in the plan; null: it is free."
    )
    turned = serializers.BooleanField()
    effect = EffectOut()


class WhyOut(PlanPlaceOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    terms = serializers.DictField(child=serializers.FloatField(), help_text="What this placement costs.")
    out_of_level_mm = serializers.FloatField(help_text="Of the wall after this round.")
    worst_notch_share = serializers.FloatField(allow_null=True)
    alternative = AlternativeOut(allow_null=True, help_text="The best other log; null: none fits.")


class ChangedPieceOut(PlanPlaceOut):
    log = serializers.UUIDField()
    log_number = serializers.CharField()
    from_butt_mm = serializers.FloatField()
    butt_at = serializers.ChoiceField(End.choices)


class WhatIfOut(RowOut):
    effect = EffectOut()
    pieces = ChangedPieceOut(many=True, help_text="How the changed places would be filled.")
