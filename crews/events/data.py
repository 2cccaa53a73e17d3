"""What an event of each kind tells, in the feed and to webhooks: ids of the API and a few figures."""

from collections.abc import Iterator, Mapping

from rest_framework import serializers

from crews.api.reading import RowOut
from crews.events.models import EventKind

Field = serializers.Field


def _id(of: str) -> Field:
    return serializers.UUIDField(help_text=f"The {of}'s id.")


def _text(means: str) -> Field:
    return serializers.CharField(help_text=means)


def _texts(means: str) -> Field:
    return serializers.ListField(child=serializers.CharField(), help_text=means)


def _whole(means: str) -> Field:
    return serializers.IntegerField(help_text=means)


def _mm(means: str) -> Field:
    return serializers.FloatField(help_text=means)


_OF_LOG = {"log": _id("log"), "number": _text("The log's number.")}
_LOG_IN_YARD = {**_OF_LOG, "yard": _id("yard")}
_ORDER = {"order": _id("order"), "mill": _id("mill")}
_RESERVED = {"log": _id("log"), "cabin": _id("cabin"), "plan": _id("plan")}
_PLACE = {"cabin": _id("cabin"), "wall": _text("The wall's id in the layout."), "round": _whole("The round.")}
_SET = {"set_log": _id("set log"), **_PLACE, "piece": _whole("The piece of the round."), "log": _id("log")}
_WHY = "Why, as whoever did it wrote."

DATA: Mapping[EventKind, Mapping[str, Field]] = {
    EventKind.ORDER_SENT: _ORDER,
    EventKind.ORDER_CONFIRMED: _ORDER,
    EventKind.DELIVERY_ANNOUNCED: {
        "order": _id("order"),
        "delivery": _id("delivery"),
        "expected_on": serializers.DateField(allow_null=True, help_text="When; null: the mill did not say."),
    },
    EventKind.DELIVERED: {
        "order": _id("order"), "delivery": _id("delivery"), "logs": _whole("How many logs came."),
    },
    EventKind.ROUND_COMPLETE: {"cabin": _id("cabin"), "round": _whole("The round.")},
    EventKind.PLAN_READY: {
        "job": _id("planning job"),
        "plan": _id("plan"),
        "feasible": serializers.BooleanField(help_text="Whether it breaks no rule."),
        "complete": serializers.BooleanField(help_text="Whether every place has a log."),
    },
    EventKind.PLAN_STALE: {
        "plan": _id("plan"), "cabin": _id("cabin"), "because": _texts("Why."),
    },
    EventKind.PLAN_ADOPTED: {
        "plan": _id("plan"),
        "cabins": serializers.ListField(child=serializers.UUIDField(), help_text="The cabins' ids."),
    },
    EventKind.LAYOUT_CHANGED: {
        "cabin": _id("cabin"), "layout_version": _whole("The layout's version; 1 is the first."),
    },
    EventKind.LOG_CHARTED: _LOG_IN_YARD,
    EventKind.LOG_MEASURED: _LOG_IN_YARD,
    EventKind.LOG_CULLED: {**_OF_LOG, "reason": _text(_WHY)},
    EventKind.LOG_HAZARDOUS: {
        **_OF_LOG,
        "hazards": serializers.ListField(
            child=serializers.DictField(), help_text="Those found, as the log has them."
        ),
    },
    EventKind.LOG_RESERVED: _RESERVED,
    EventKind.LOG_RELEASED: {**_RESERVED, "because": _text("A word for why, as the reservation has it.")},
    EventKind.PIECE_SAWN: {
        "prepared_piece": _id("prepared piece"),
        "log": _id("log"),
        "near_butt_mm": _mm("The cut nearest the butt, from the butt end."),
        "near_tip_mm": _mm("The cut nearest the tip, from the butt end."),
    },
    EventKind.LOG_SET: _SET,
    EventKind.LOG_SET_UNDONE: {**_SET, "reason": _text(_WHY)},
    EventKind.HEIGHT_MEASURED: {
        "height": _id("height"),
        **_PLACE,
        "end": _text("The end of the wall, `start` or `end`, or a tee."),
        "height_mm": _mm("The top above the deck."),
    },
}  # fmt: skip


def class_name(kind: EventKind, suffix: str) -> str:
    """A name for the schema: `LogCulledEvent`."""
    return "".join(part.title() for part in kind.value.split("_")) + suffix


def _shapes() -> Iterator[tuple[EventKind, type[RowOut]]]:
    """A class for the data of each kind; kinds that tell the same share one, named after the first."""
    made: dict[int, type[RowOut]] = {}
    for kind, fields in DATA.items():
        if id(fields) not in made:
            made[id(fields)] = type(class_name(kind, "Told"), (RowOut,), dict(fields))
        yield kind, made[id(fields)]


DATA_SHAPES: Mapping[EventKind, type[RowOut]] = dict(_shapes())
