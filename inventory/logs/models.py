"""Logs and every measurement of them."""

from typing import Any

from django.db import models
from django.db.models import F, Func, Q, Value
from django.db.models.functions import Upper

from crews.accounts.models import Crew, CrewOwned, Member
from crews.history.triggers import AuditTrigger
from inventory.core.chart_line import Face, HazardKind, StationName
from inventory.core.weight import Seasoning
from inventory.yards.models import Rack, Species, Yard

# Choices of the core's words, named once for the schema.
FACES = [(face.value, face.value) for face in Face]

STATION_NAMES = [(name.value, name.value) for name in StationName]

HAZARD_KINDS = [(kind.value, kind.value) for kind in HazardKind]

SEASONINGS = [(how.value, how.value) for how in Seasoning]


class MillimetreField(models.DecimalField):
    """An exact length in millimetres."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_digits": 11, "decimal_places": 5, **kwargs})


class LogState(models.TextChoices):
    """Where a log is in its life."""

    IN_RACK = "in_rack"
    RESERVED = "reserved"
    SET = "set"
    CUT_UP = "cut_up"
    PUT_ASIDE = "put_aside"
    GONE = "gone"


# Which state may follow which; everything else is refused.
LOG_MOVES: dict[str, set[str]] = {
    LogState.IN_RACK: {LogState.RESERVED, LogState.SET, LogState.CUT_UP, LogState.PUT_ASIDE, LogState.GONE},
    LogState.PUT_ASIDE: {LogState.IN_RACK, LogState.RESERVED, LogState.SET, LogState.CUT_UP, LogState.GONE},
    LogState.RESERVED: {LogState.IN_RACK, LogState.PUT_ASIDE, LogState.SET, LogState.CUT_UP},
    LogState.SET: {LogState.IN_RACK, LogState.PUT_ASIDE, LogState.RESERVED, LogState.CUT_UP},
    LogState.CUT_UP: {LogState.IN_RACK, LogState.PUT_ASIDE, LogState.RESERVED, LogState.SET, LogState.GONE},
    LogState.GONE: {LogState.IN_RACK, LogState.PUT_ASIDE},
}


class GrainHand(models.TextChoices):
    """Which way the grain winds."""

    STRAIGHT = "straight"
    LEFT = "left"
    RIGHT = "right"


class Measures(models.Model):
    """What tape and calipers gave for one log at one time."""

    length_mm = MillimetreField()
    butt_mm = MillimetreField()
    middle_mm = MillimetreField()
    tip_mm = MillimetreField()
    # How far from the end the end diameters were taken.
    station_inset_mm = MillimetreField(default=305)
    # [{"from_butt_mm": ..., "diameter_mm": ...}] as JSON numbers: eleven digits come back from them exactly
    further_stations = models.JSONField(default=list)
    # [{"station": "butt", "first_mm": ..., "across_mm": ..., "difference_mm": ...}], as above: stations read
    # twice, whose mean is the diameter.
    read_across = models.JSONField(default=list, db_default=Value([], models.JSONField()))
    # Null: nobody looked at it, as for the grain below; nought is a straight log.
    crown_mm = MillimetreField(null=True)
    crown_side = models.CharField(max_length=10, choices=FACES, null=True)  # noqa: DJ001 - not said
    crown_at_mm = MillimetreField(null=True)
    crook_mm = MillimetreField(default=0)
    crook_at_mm = MillimetreField(null=True)
    grain_hand = models.CharField(max_length=10, choices=GrainHand, null=True)  # noqa: DJ001 - not looked at
    # The run of the slope for one across: 20 stands for 1:20.
    grain_slope = models.DecimalField(max_digits=8, decimal_places=2, null=True)
    # [{"kind": "metal", "from_butt_mm": ..., "face": "top" or null, "extent_mm": ... or null}], as above
    hazards = models.JSONField(default=list)
    sawn_face_height_mm = MillimetreField(null=True)
    sawn_thickness_mm = MillimetreField(null=True)
    charted_by = models.CharField(max_length=120, blank=True)
    charted_on = models.DateField(null=True)

    class Meta:
        abstract = True


# The fields of Measures, in the order in which they are shown; all but the last two decide what a log gives.
MEASURES = [field.name for field in Measures._meta.local_fields]

DECIDING = [name for name in MEASURES if name not in ("charted_by", "charted_on")]

# Every run of digits filled up with zeros to ten; the number itself keeps 7 and 07 apart.
_COUNTED = (
    r"regexp_replace(regexp_replace(lower(%(expressions)s), '([0-9]+)', '000000000\1', 'g'),"
    r" '0*([0-9]{10,})', '\1', 'g') || ' ' || lower(%(expressions)s)"
)


class Log(CrewOwned, Measures):
    """A peeled log. Its measures are those that count now; earlier ones are kept as Measurement."""

    # Without indexes of their own: log_by_number and log_number_once_in_yard begin with them.
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    yard = models.ForeignKey(Yard, on_delete=models.PROTECT, related_name="logs", db_index=False)
    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, null=True, related_name="logs")
    species = models.ForeignKey(Species, on_delete=models.PROTECT, null=True, related_name="logs")
    number = models.CharField(max_length=40)
    # The number as people count: A2 before A10, whatever the case of its letters.
    number_order = models.GeneratedField(
        expression=Func(F("number"), template=_COUNTED),
        output_field=models.TextField(db_collation="C"),
        db_persist=True,
    )
    # The mill's own number, stapled to the butt; the crew paints another one.
    mill_tag = models.CharField(max_length=200, blank=True, default="", db_default="")
    peeled = models.BooleanField(default=True)
    # Null: nobody said; the log is then reckoned as green.
    seasoning = models.CharField(max_length=10, choices=SEASONINGS, null=True)  # noqa: DJ001 - not said
    felled_on = models.DateField(null=True)
    culled = models.BooleanField(default=False)
    cull_reason = models.CharField(max_length=200, blank=True)
    gone_reason = models.CharField(max_length=200, blank=True)
    remarks = models.TextField(blank=True)
    # What a lead said of it for every plan, a document each with the words that are shown: see
    # planning/instructions/actions.py.
    instructions = models.JSONField(default=list, db_default=Value([], models.JSONField()))
    state = models.CharField(max_length=10, choices=LogState, default=LogState.IN_RACK)
    # Grows when a measure or hazard changes, and only then: plans made from older figures are stale.
    measures_version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            AuditTrigger(kind="log", leaving_out=["number_order"]),
            models.UniqueConstraint(fields=["yard", "number_order"], name="log_number_once_in_yard"),
            models.CheckConstraint(
                condition=Q(length_mm__gt=0, butt_mm__gt=0, middle_mm__gt=0, tip_mm__gt=0),
                name="log_measures_positive",
            ),
            models.CheckConstraint(condition=Q(butt_mm__gte=F("tip_mm")), name="log_butt_not_below_tip"),
            models.CheckConstraint(condition=Q(state__in=LogState.values), name="log_state_known"),
            models.CheckConstraint(
                condition=Q(seasoning__isnull=True) | Q(seasoning__in=[word for word, _ in SEASONINGS]),
                name="log_seasoning_known",
            ),
        ]
        indexes = [
            models.Index(fields=["crew", "number_order", "id"], name="log_by_number"),
            models.Index(fields=["crew", "middle_mm", "id"], name="log_by_middle"),
            models.Index(fields=["crew", "length_mm", "id"], name="log_by_length"),
            models.Index(fields=["crew", "created_at", "id"], name="log_by_age"),
            # Begins with the crew, so that a question for a state never reads other crews' yards.
            models.Index(fields=["crew", "yard", "state"], name="log_by_yard"),
            models.Index("crew", Upper("mill_tag"), condition=~Q(mill_tag=""), name="log_by_mill_tag"),
        ]


class Measurement(CrewOwned, Measures):
    """One measurement of a log, kept for ever; the log itself carries those that count."""

    log = models.ForeignKey(Log, on_delete=models.CASCADE, related_name="measurements", db_index=False)
    measures_version = models.PositiveIntegerField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            AuditTrigger(kind="measurement"),
            models.UniqueConstraint(fields=["log", "measures_version"], name="measurement_once_per_version"),
        ]
