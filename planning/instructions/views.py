"""The address where a lead says of a log what holds for every plan."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils.timezone import now
from rest_framework import serializers
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.set_logs.models import End
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered_row
from crews.api.bounds import list_of
from crews.api.describe import describe
from crews.api.reading import BodyIn
from crews.api.versions import VersionNeeded, VersionStale, if_match
from inventory.logs.fields import LengthField
from inventory.logs.queries import log_answer
from inventory.logs.serializers import INSTRUCTIONS, USES, LogOut
from planning.instructions.actions import instruct_log

_PLACE = ("wall", "round", "piece")


class InstructionIn(BodyIn):
    kind = serializers.ChoiceField(
        INSTRUCTIONS,
        help_text="pin: to a place or member of a cabin; keep_for: a use; peel_first: not till peeled.",
    )
    cabin = serializers.UUIDField(allow_null=True, default=None)
    use = serializers.ChoiceField(USES, allow_null=True, default=None, help_text="With keep_for alone.")
    wall = serializers.CharField(max_length=40, allow_null=True, default=None)
    round = serializers.IntegerField(min_value=1, max_value=1000, allow_null=True, default=None)
    piece = serializers.IntegerField(min_value=0, max_value=1000, allow_null=True, default=None)
    member = serializers.CharField(max_length=50, allow_null=True, default=None)
    from_butt_mm = LengthField(allow_null=True, default=None, help_text="Null: as it fits best.")
    butt_at = serializers.ChoiceField(End.choices, allow_null=True, default=None)

    def validate(self, attrs: dict[str, Any]) -> Mapping[str, Any]:
        """A pin names a place or a member of a cabin, a use is kept for, the others stand alone."""
        named = [name for name in (*_PLACE, "member", "from_butt_mm", "butt_at") if attrs[name] is not None]
        faults = {}
        if attrs["kind"] != "pin":
            faults = {name: ["Only a pin has it."] for name in named}
        elif attrs["member"] is not None:
            faults = {name: ["A member lies in no wall."] for name in _PLACE if attrs[name] is not None}
        else:
            faults = {
                name: ["A pin names a whole place, or a member."] for name in _PLACE if attrs[name] is None
            }
        needs_cabin = attrs["kind"] == "pin" or attrs["use"] == "cabin"
        if needs_cabin and attrs["cabin"] is None:
            faults["cabin"] = ["This needs a cabin."]
        if attrs["kind"] in ("peel_first", "never_in_wall") and attrs["cabin"] is not None:
            faults["cabin"] = ["This holds for every cabin."]
        if (attrs["use"] is None) == (attrs["kind"] == "keep_for"):
            faults["use"] = ["A log is kept for a use, and nothing else has one."]
        if faults:
            raise serializers.ValidationError(faults)
        return attrs


class InstructionsIn(BodyIn):
    instructions = list_of(InstructionIn(), most=4)

    def validate_instructions(self, said: list[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
        """Each kind once; a log lies in one place or is kept for one use."""
        kinds = [one["kind"] for one in said]
        if len(set(kinds)) < len(kinds):
            raise serializers.ValidationError("Each kind is said once.")
        if {"pin", "keep_for"} <= set(kinds):
            raise serializers.ValidationError("A log that is pinned is kept already.")
        return said


class LogInstructions(APIView):
    required_roles = {"PUT": Role.LEAD}

    @describe(
        "instruct_log",
        "Say of a log what holds for every plan: pinned, kept for a use, peeled first, never in a wall",
        takes=InstructionsIn,
        answers={200: LogOut},
        versioned=True,
        refusals=[VersionNeeded, VersionStale],
        examples=[("Kept for a ridge", {"instructions": [{"kind": "keep_for", "use": "ridge"}]})],
        text="Replaces what was said before; an empty list takes it back. Shown wherever the log is, and "
        "asked about (`confirm_doubtful`) when it is set otherwise.",
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        said = InstructionsIn.parse(request)["instructions"]
        instruct_log(crew=request.crew, id=id, instructions=said, expected=if_match(request), at=now())
        return answered_row(log_answer(request.crew, id))
