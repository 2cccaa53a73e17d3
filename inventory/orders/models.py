"""Orders, their lines and states, and the mill's side of them."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower

from crews.accounts.models import CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.logs.models import MillimetreField
from inventory.mills.models import PRICE_BY, Mill, MillForm


class OrderState(models.TextChoices):
    """Where an order is."""

    DRAFT = "draft"
    SENT = "sent"
    CONFIRMED = "confirmed"
    PART_DELIVERED = "part_delivered"
    DELIVERED = "delivered"
    CLOSED = "closed"
    WITHDRAWN = "withdrawn"


_COMING = {OrderState.PART_DELIVERED, OrderState.DELIVERED}

# Which state may follow which; everything else is refused.
ORDER_MOVES: dict[str, set[str]] = {
    OrderState.DRAFT: {OrderState.SENT, OrderState.WITHDRAWN},
    # A mill may load the truck and never confirm.
    OrderState.SENT: {OrderState.CONFIRMED, OrderState.WITHDRAWN, *_COMING},
    OrderState.CONFIRMED: {OrderState.WITHDRAWN, *_COMING},
    OrderState.PART_DELIVERED: {OrderState.DELIVERED, OrderState.CLOSED},
    # A log that is rejected later makes a full delivery short again.
    OrderState.DELIVERED: {OrderState.PART_DELIVERED, OrderState.CLOSED},
    OrderState.CLOSED: set(),
    OrderState.WITHDRAWN: set(),
}


class Order(CrewOwned):
    """Logs ordered from one mill; the form and terms it was sent with hold, whatever the mill has later."""

    mill = models.ForeignKey(Mill, on_delete=models.PROTECT, related_name="orders")
    name = models.CharField(max_length=80)
    currency = models.CharField(max_length=3)
    price_by = models.CharField(max_length=20, choices=PRICE_BY)
    wanted_on = models.DateField(null=True)
    remarks = models.TextField(blank=True)
    state = models.CharField(max_length=20, choices=OrderState, default=OrderState.DRAFT)
    form = models.ForeignKey(MillForm, on_delete=models.PROTECT, null=True, related_name="+")
    sent_on = models.DateField(null=True)
    # The mill's way of reckoning when the order was sent, by the names of Mill's fields; texts for decimals.
    sent_terms = models.JSONField(null=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="order"),
            models.UniqueConstraint("crew", Lower("name"), name="order_once_in_crew"),
            models.CheckConstraint(condition=Q(state__in=OrderState.values), name="order_state_known"),
        ]
        indexes = [models.Index(fields=["crew", "created_at", "id"], name="order_by_age")]


class OrderLine(CrewOwned):
    """So many logs of a class."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    line = models.PositiveIntegerField()
    species = models.CharField(max_length=80)
    length_mm = MillimetreField()
    least_middle_mm = MillimetreField()
    largest_middle_mm = MillimetreField()
    sawn_thickness_mm = MillimetreField(null=True)
    count = models.PositiveIntegerField()
    price = models.DecimalField(max_digits=12, decimal_places=4, null=True)
    note = models.CharField(max_length=500, blank=True)
    confirmed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="order_line"),
            models.UniqueConstraint(fields=["order", "line"], name="line_once_in_order"),
            models.CheckConstraint(condition=Q(count__gt=0), name="line_orders_logs"),
            models.CheckConstraint(
                condition=Q(least_middle_mm__gt=0, largest_middle_mm__gte=F("least_middle_mm")),
                name="line_class_in_order",
            ),
        ]


class MillKey(CrewOwned):
    """A key that opens one order to its mill; only its hash is kept, and it always expires."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="mill_keys")
    name = models.CharField(max_length=120)
    hint = models.CharField(max_length=9)
    secret_sha256 = models.BinaryField(max_length=32, unique=True)
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="mill_key", leaving_out=["secret_sha256", "last_used_at"]),
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("created_at")), name="mill_key_expires_after_made"
            ),
        ]


class OrderEvent(CrewOwned):
    """What became of an order, who did it (a member, or the mill by its key) and when."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="events")
    step = models.PositiveIntegerField()  # counted through the order: two things may happen at one time
    what = models.CharField(max_length=40)
    state_before = models.CharField(max_length=20, choices=OrderState)
    state_after = models.CharField(max_length=20, choices=OrderState)
    detail = models.CharField(max_length=300, blank=True)
    member = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    mill_key = models.ForeignKey(MillKey, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "step"], name="event_step_once_in_order"),
            models.CheckConstraint(
                condition=Q(member=None, mill_key__isnull=False) | Q(member__isnull=False, mill_key=None),
                name="event_has_one_doer",
            ),
        ]


class ProposalState(models.TextChoices):
    """What the crew said to a change."""

    OPEN = "open"
    ACCEPTED = "accepted"
    DECLINED = "declined"


class Proposal(CrewOwned):
    """A change that the mill proposes: another length or count of a line, or another date of the order."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="proposals")
    mill_key = models.ForeignKey(MillKey, on_delete=models.PROTECT, related_name="+")
    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, null=True, related_name="proposals")
    length_mm = MillimetreField(null=True)
    count = models.PositiveIntegerField(null=True)
    wanted_on = models.DateField(null=True)
    reason = models.CharField(max_length=300, blank=True)
    state = models.CharField(max_length=10, choices=ProposalState, default=ProposalState.OPEN)
    decided_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    decided_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [AuditTrigger(kind="proposal")]
