"""What a take-off takes and gives."""

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from cabins.cabins.models import Cabin
from cabins.core.layout_parts import Layout
from cabins.layouts.queries import try_layout_document
from cabins.layouts.serializers import LayoutIn
from cabins.roof_members.models import MEMBER_KINDS
from crews.api.problems import Fault
from crews.api.reading import BodyIn, RowOut
from inventory.figures.serializers import BasisOut
from inventory.logs.fields import LengthField
from inventory.yards.models import Species, Yard
from planning.core.takeoff.needs import PartUse
from planning.core.takeoff.take_off import Choices
from planning.takeoffs import queries as takeoff_queries

USES = [(use.value, use.value) for use in PartUse]
_USUAL = Choices()


@extend_schema_field(LayoutIn)
class LayoutField(serializers.Field[Layout, Any, Any, Any]):
    """A whole layout document, checked as it is when a cabin is laid out."""

    def to_internal_value(self, data: Any) -> Layout:
        layout, faults = try_layout_document(data)
        if layout is None:
            raise serializers.ValidationError(_nested(faults))
        return layout


def _nested(faults: Sequence[Fault]) -> dict[str, Any]:
    """Faults with pointers as the framework keeps them: one level of names for every step."""
    found: dict[str, Any] = {}
    for one in faults:
        level = found
        for step in one["pointer"].split("/")[1:]:
            level = level.setdefault(step.replace("~1", "/").replace("~0", "~"), {})
        level.setdefault("non_field_errors", []).append(_wrong(one["detail"], one["code"]))
    return found


def _wrong(detail: str, code: str) -> ErrorDetail:
    return ErrorDetail(detail, code=code)


class SketchIn(BodyIn):
    """A layout that belongs to no stored cabin, under a name of its own."""

    name = serializers.CharField(max_length=80)
    layout = LayoutField()


class MemberWantedIn(BodyIn):
    id = serializers.CharField(max_length=40)
    kind = serializers.ChoiceField(MEMBER_KINDS)
    length_mm = LengthField(least_mm=Decimal(1))
    least_middle_mm = LengthField(least_mm=Decimal(1))
    largest_middle_mm = LengthField(
        default=None, allow_null=True, help_text="Null: two middle steps over the least."
    )
    count = serializers.IntegerField(min_value=1, max_value=500, default=1)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        largest = attrs["largest_middle_mm"]
        if largest is not None and largest < attrs["least_middle_mm"]:
            raise serializers.ValidationError({"largest_middle_mm": "This is below the least."}, "too_small")
        return attrs


class SpareIn(BodyIn):
    rounds = serializers.IntegerField(min_value=0, max_value=10, required=False, help_text="Two are advised.")
    percent = serializers.FloatField(min_value=0, max_value=100, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if len(attrs) != 1:
            raise serializers.ValidationError("Give either rounds or percent.", "one_of_two")
        return attrs


class TakeOffIn(BodyIn):
    """`parse` needs the crew in its context: cabins, yards and species are looked up in it."""

    cabins = serializers.ListField(child=serializers.UUIDField(), default=list, max_length=20)
    layouts = serializers.ListField(child=SketchIn(), default=list, max_length=20)
    yards = serializers.ListField(
        child=serializers.UUIDField(), default=list, max_length=20, help_text="Whose free logs may cover it."
    )
    species = serializers.CharField(
        max_length=80, default=None, allow_null=True, help_text="A species of the crew by name; null: any."
    )
    class_step_mm = LengthField(
        default=_USUAL.class_step_mm,
        least_mm=Decimal(10),
        most_mm=Decimal(10_000),
        help_text="Lengths are sold in such steps.",
    )
    trim_each_end_mm = LengthField(
        default=None,
        allow_null=True,
        most_mm=Decimal(1_000),
        help_text="Off either end. Null: as the crew's plans trim, by its wall settings.",
    )
    middle_step_mm = LengthField(
        default=_USUAL.middle_step_mm,
        least_mm=Decimal(5),
        most_mm=Decimal(50),
        help_text="The width of a middle class.",
    )
    longest_log_mm = LengthField(
        default=None,
        allow_null=True,
        least_mm=Decimal(500),
        help_text="The longest log that can be had; null: what the longest piece needs.",
    )
    spare = SpareIn(default={"rounds": _USUAL.spare_rounds})
    members = serializers.ListField(
        child=MemberWantedIn(), default=list, max_length=100, help_text="Beside those of the layouts."
    )

    def validate_cabins(self, ids: list[UUID]) -> list[Cabin]:
        held = takeoff_queries.cabins_by_id(self.context["crew"], ids)
        faults: dict[str, Any] = {}
        for number, id in enumerate(ids):
            if id not in held:
                faults[str(number)] = [_wrong("No such cabin in this crew.", "unknown")]
            elif held[id].layout is None:
                faults[str(number)] = [_wrong("This cabin is not laid out yet.", "no_layout")]
            elif id in ids[:number]:
                faults[str(number)] = [_wrong("This cabin is named twice.", "twice")]
        if faults:
            raise serializers.ValidationError(faults)
        return [held[id] for id in ids]

    def validate_yards(self, ids: list[UUID]) -> list[Yard]:
        held = takeoff_queries.yards_by_id(self.context["crew"], ids)
        faults: dict[str, Any] = {
            str(number): [_wrong("No such yard in this crew.", "unknown")]
            for number, id in enumerate(ids)
            if id not in held
        }
        if faults:
            raise serializers.ValidationError(faults)
        return list(held.values())

    def validate_species(self, name: str | None) -> Species | None:
        found = None if name is None else takeoff_queries.species_named(self.context["crew"], name)
        if name is not None and found is None:
            raise serializers.ValidationError("No such species in this crew.", "unknown")
        return found

    def validate_members(self, members: list[dict[str, Any]]) -> list[dict[str, Any]]:
        _refuse_twice([member["id"] for member in members], "id", "Two members have this id.")
        return members

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if not attrs["cabins"] and not attrs["layouts"] and not attrs["members"]:
            raise serializers.ValidationError("Name a cabin, a layout or a member.", "nothing_to_count")
        stored = [cabin.name for cabin in attrs["cabins"]]
        names = [sketch["name"] for sketch in attrs["layouts"]]
        try:
            _refuse_twice(names, "name", "Two cabins of this take-off have this name.", taken=stored)
        except serializers.ValidationError as twice:
            raise serializers.ValidationError({"layouts": twice.detail}) from twice
        return attrs


def _refuse_twice(names: Sequence[str], field: str, wrong: str, *, taken: Sequence[str] = ()) -> None:
    held = Counter(taken)
    faults: dict[str, Any] = {}
    for number, name in enumerate(names):
        if held[name]:
            faults[str(number)] = {field: [_wrong(wrong, "twice")]}
        held[name] += 1
    if faults:
        raise serializers.ValidationError(faults)


class TargetOut(RowOut):
    use = serializers.ChoiceField(USES)
    cabin = serializers.CharField(
        allow_null=True, help_text="By name; null for the request's own members and for a spare by percent."
    )
    wall = serializers.CharField(allow_null=True)
    round = serializers.IntegerField(allow_null=True)
    piece = serializers.IntegerField(allow_null=True)
    member = serializers.CharField(allow_null=True)
    member_kind = serializers.ChoiceField(MEMBER_KINDS, allow_null=True)
    length_mm = serializers.FloatField()


class CoveringLogOut(RowOut):
    id = serializers.UUIDField()
    number = serializers.CharField()
    yard = serializers.UUIDField()
    yard_name = serializers.CharField()
    length_mm = serializers.FloatField()
    middle_mm = serializers.FloatField()
    is_bowed = serializers.BooleanField(help_text="It bows more than its longest piece should.")


class NeededLogOut(RowOut):
    targets = TargetOut(many=True, help_text="What is cut from it.")
    needed_mm = serializers.FloatField(help_text="The least length, trim and kerf included.")
    is_straight = serializers.BooleanField(help_text="It goes into a first or last round.")
    is_spare = serializers.BooleanField()
    log = CoveringLogOut(allow_null=True, help_text="The yard's log that covers it; null: short.")


class TakeOffLineOut(RowOut):
    species = serializers.CharField(allow_null=True, help_text="Null: any.")
    length_mm = serializers.FloatField(help_text="The length class, trim included.")
    least_middle_mm = serializers.FloatField()
    largest_middle_mm = serializers.FloatField()
    count = serializers.IntegerField(help_text="Without the spare logs.")
    spare = serializers.IntegerField()
    covered = serializers.IntegerField()
    spare_covered = serializers.IntegerField()
    short = serializers.IntegerField(help_text="Without the spare logs.")
    to_order = serializers.IntegerField(help_text="Short, and spare logs not covered.")
    straight = serializers.IntegerField()
    note = serializers.CharField(help_text="What they are for, in words.")
    logs = NeededLogOut(many=True)


class OrderLineOut(RowOut):
    species = serializers.CharField(allow_null=True)
    length_mm = serializers.FloatField()
    least_middle_mm = serializers.FloatField()
    largest_middle_mm = serializers.FloatField()
    count = serializers.IntegerField()
    note = serializers.CharField()


class YardRoundsOut(RowOut):
    mean_middle_mm = serializers.FloatField()
    rounds = serializers.IntegerField()
    rounds_least = serializers.IntegerField(help_text="With the yards' thickest logs.")
    rounds_most = serializers.IntegerField(help_text="With the yards' thinnest logs.")


class TakeOffCabinOut(RowOut):
    cabin = serializers.CharField()
    id = serializers.UUIDField(allow_null=True, help_text="Null for a layout that is not stored.")
    layout_version = serializers.IntegerField(allow_null=True)
    rounds = serializers.IntegerField()
    pitch_mm = serializers.FloatField()
    wall_height_mm = serializers.FloatField()
    rounds_if_thick = serializers.IntegerField(help_text="If every middle is half a step over the layout's.")
    rounds_if_thin = serializers.IntegerField(help_text="If every middle is half a step under the layout's.")
    places = serializers.IntegerField(help_text="Places to be filled.")
    places_filled = serializers.IntegerField(help_text="Places where logs are set; not counted.")
    half_logs = serializers.IntegerField()
    members = serializers.IntegerField(
        help_text="Of its layout, to be made; those asked for beside are apart."
    )
    members_installed = serializers.IntegerField(help_text="Of its layout, made already; not counted.")
    logs = serializers.IntegerField(help_text="Without the spare logs.")
    spare = serializers.IntegerField(help_text="Of its spare rounds.")
    with_yards = YardRoundsOut(allow_null=True, help_text="The wanted height with the yards' logs.")


class TakeOffOut(RowOut):
    cabins = TakeOffCabinOut(many=True)
    lines = TakeOffLineOut(many=True)
    order = OrderLineOut(many=True, help_text="What the yards do not cover, as an order takes it.")
    pieces = serializers.IntegerField(help_text="Places, half logs and members.")
    logs = serializers.IntegerField(help_text="Without the spare logs.")
    spare = serializers.IntegerField()
    covered = serializers.IntegerField()
    short = serializers.IntegerField()
    to_order = serializers.IntegerField()
    bowed = serializers.IntegerField(help_text="Covering logs that bow more than they should.")
    other_species = serializers.IntegerField(
        help_text="Free logs not counted: of another species, or of none that was written down."
    )
    advice = serializers.ListField(child=serializers.CharField())
    basis = BasisOut(many=True)
    uncertainty = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
