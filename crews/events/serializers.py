"""What events look like from outside."""

from rest_framework import serializers

from crews.api.paging import MOST, USUAL
from crews.api.reading import QueryIn, RowOut
from crews.events.models import EventKind


class ToldEventOut(RowOut):
    id = serializers.UUIDField(help_text="Also the `webhook-id` under which it is sent.")
    kind = serializers.ChoiceField(EventKind.choices)
    data = serializers.DictField()  # type: ignore[assignment] # a field, which DRF takes out of the class
    at = serializers.DateTimeField()


class ToldEventPage(RowOut):
    items = ToldEventOut(many=True)
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
