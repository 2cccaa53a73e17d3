"""Events: what happened in a crew, for its feed and its webhooks."""

from django.db import models
from django.db.models import Func, Value

from crews.accounts.models import Crew


class EventKind(models.TextChoices):
    """What can happen that other programs may want to hear of."""

    ORDER_SENT = "order_sent"
    ORDER_CONFIRMED = "order_confirmed"
    DELIVERY_ANNOUNCED = "delivery_announced"
    DELIVERED = "delivered"
    ROUND_COMPLETE = "round_complete"
    PLAN_READY = "plan_ready"
    PLAN_STALE = "plan_stale"
    PLAN_ADOPTED = "plan_adopted"
    LAYOUT_CHANGED = "layout_changed"
    LOG_CHARTED = "log_charted"
    LOG_MEASURED = "log_measured"
    LOG_CULLED = "log_culled"
    LOG_HAZARDOUS = "log_hazardous"
    LOG_RESERVED = "log_reserved"
    LOG_RELEASED = "log_released"
    PIECE_SAWN = "piece_sawn"
    LOG_SET = "log_set"
    LOG_SET_UNDONE = "log_set_undone"
    HEIGHT_MEASURED = "height_measured"


class Event(models.Model):
    """Something that happened, written in the transaction in which it happened."""

    id = models.UUIDField(primary_key=True)
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    kind = models.CharField(max_length=30, choices=EventKind)
    data = models.JSONField()
    at = models.DateTimeField()
    # In the order of the transactions that wrote them, and within one in the order of writing.
    position = models.BigIntegerField(db_default=Func(function="roundlay_event_position"))
    ordinal = models.BigIntegerField(db_default=Func(Value("crews_event_ordinal"), function="nextval"))

    class Meta:
        indexes = [models.Index(fields=["crew", "position", "ordinal"], name="event_by_position")]
