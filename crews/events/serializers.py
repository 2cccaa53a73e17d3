"""What events look like from outside."""

from typing import Any

from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema_field
from rest_framework import serializers

from crews.api.paging import MOST, USUAL
from crews.api.reading import QueryIn, RowOut
from crews.events.data import DATA_SHAPES, class_name
from crews.events.models import EventKind


def _kind_field(kind: EventKind) -> serializers.CharField:
    field: type[serializers.CharField] = type("KindField", (serializers.CharField,), {})
    return extend_schema_field({"type": "string", "const": kind.value})(field)(help_text="What happened.")


def _event_of(kind: EventKind) -> type[RowOut]:
    """An event of the kind: the same in the feed and as the body that a webhook is sent."""
    fields: dict[str, Any] = {
        "id": serializers.UUIDField(help_text="Also the `webhook-id` under which it is sent."),
        "kind": _kind_field(kind),
        "data": DATA_SHAPES[kind](),
        "at": serializers.DateTimeField(help_text="When what it tells was asked for."),
    }
    return type(class_name(kind, "Event"), (RowOut,), fields)


EVENTS: dict[str, serializers.Serializer[Any] | type[serializers.Serializer[Any]]] = {
    kind.value: _event_of(kind) for kind in EventKind
}


@extend_schema_field(
    PolymorphicProxySerializer("Event", serializers=EVENTS, resource_type_field_name="kind", many=True)
)
class EventsField(serializers.JSONField):
    """Events of any kind."""


class EventPage(RowOut):
    items = EventsField()
    cursor = serializers.CharField(help_text="What to send as `after` next time; there is always one.")
    more = serializers.BooleanField(help_text="Whether more can be read at once.")


class EventsQuery(QueryIn):
    kind = serializers.CharField(
        required=False, help_text=f"Only these kinds, with commas between: {', '.join(EventKind.values)}."
    )
    after = serializers.CharField(
        required=False,
        help_text="The `cursor` of the answer before. Left out: from the first event on; `end`: none yet.",
    )
    limit = serializers.IntegerField(default=USUAL, min_value=1, max_value=MOST, help_text="Events at most.")

    def validate_kind(self, kind: str) -> list[str]:
        kinds = [one.strip() for one in kind.split(",") if one.strip()]
        if odd := [one for one in kinds if one not in EventKind.values]:
            raise serializers.ValidationError(f"No such kind: {', '.join(odd)}.")
        return kinds
