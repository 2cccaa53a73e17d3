"""What is built: cabins with their layout and places, logs set, heights measured on the wall."""

from django.db import models
from django.db.models import F, Q

from cabins.core.members import MemberKind
from crews.models import Crew, CrewOwned, Member
from crews.triggers import AuditTrigger
from inventory.models import Log, MillimetreField

# Choices of the core's words, named once for the schema.
MEMBER_KINDS = [(kind.value, kind.value) for kind in MemberKind]


class Cabin(CrewOwned):
    """A cabin under way or planned."""

    name = models.CharField(max_length=80)
    remarks = models.TextField(blank=True)
    # The layout document as it was checked; null until one is laid out.
    layout = models.JSONField(null=True)
    layout_version = models.PositiveIntegerField(default=0)
    rounds = models.PositiveIntegerField(null=True)
    # How its courses are cut now, {wall: {round: [[start, end], ...]}} in mm: the stretches of its places.
    courses = models.JSONField(null=True)
    # Grows with every log set, undone or height measured: plans made before are stale.
    built_version = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["crew", "name"], name="cabin_once_in_crew"),
            AuditTrigger(kind="cabin", leaving_out=["built_version", "courses"]),
        ]
        indexes = [models.Index(fields=["crew", "created_at", "id"], name="cabin_by_age")]


class PastLayout(CrewOwned):
    """A layout as it stood under an earlier or the present version."""

    cabin = models.ForeignKey(Cabin, on_delete=models.CASCADE, related_name="past_layouts")
    layout_version = models.PositiveIntegerField()
    layout = models.JSONField()
    laid_out_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cabin", "layout_version"], name="layout_once_per_version")
        ]


class Place(models.Model):
    """One position to be filled: (wall, round, piece), with the stretch of wall that its piece covers."""

    cabin = models.ForeignKey(Cabin, on_delete=models.CASCADE, related_name="places", db_index=False)
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    piece = models.PositiveIntegerField()
    # Along the wall, from the centre of its start corner; negative in the overhang.
    start_mm = MillimetreField()
    end_mm = MillimetreField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["cabin", "round", "wall", "piece"], name="place_once_in_cabin"),
            models.CheckConstraint(condition=Q(end_mm__gt=F("start_mm")), name="place_has_length"),
        ]


class End(models.TextChoices):
    """An end of a wall: its start or its end corner."""

    START = "start"
    END = "end"


class SetLog(CrewOwned):
    """A log lifted into its place, scribed, notched and left there; undone only with a reason."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="set_logs", db_index=False)
    # Where it lies. The words stay when a later layout has no such place and the log was undone before.
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    piece = models.PositiveIntegerField()
    place = models.ForeignKey(Place, on_delete=models.SET_NULL, null=True, related_name="set_logs")
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="set_pieces")
    # From the log's butt end to the piece's end nearest the butt; the piece is as long as its place.
    from_butt_mm = MillimetreField()
    butt_at = models.CharField(max_length=5, choices=End)
    set_at = models.DateTimeField()
    set_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    checked_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    # As cut, where someone measured it.
    gap_mm = MillimetreField(null=True)
    notch_start_mm = MillimetreField(null=True)
    notch_end_mm = MillimetreField(null=True)
    # Metal lay near a cut or notch as charted; whoever set the log states that it was taken out first.
    metal_removed = models.BooleanField(default=False)
    remarks = models.TextField(blank=True)
    # What was doubtful when it was recorded: codes and sentences.
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="set_log"),
            models.UniqueConstraint(fields=["place"], condition=Q(undone_at=None), name="place_filled_once"),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="undone_with_a_reason"
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=False) | Q(place__isnull=False), name="set_in_a_place"
            ),
        ]
        indexes = [
            models.Index(fields=["cabin", "undone_at"], name="set_by_cabin"),
            models.Index(fields=["crew", "set_at", "id"], name="set_by_time"),
        ]


class MeasuredHeight(CrewOwned):
    """One reading of the top of a wall's round at one of its ends or tees, above the deck.

    The readings of one top are kept together and their mean counts (cabins/core/top_readings.py). Round 0 is
    what the wall starts on: the deck, a half log, a raised deck. Undone only with a reason.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="heights", db_index=False)
    wall = models.CharField(max_length=40)
    round = models.PositiveIntegerField()
    # `start`, `end`, or a tee between them by its crossing's name: `P-A`.
    end = models.CharField(max_length=81)
    height_mm = MillimetreField()
    # What was computed for it when it was recorded, from a reading so many rounds below: the crew's record.
    computed_mm = MillimetreField(null=True)
    rounds_since = models.PositiveSmallIntegerField(null=True)
    # How far it is off the readings of this top before it (repeat_miss_mm); null for the first one.
    repeat_mm = MillimetreField(null=True)
    measured_at = models.DateTimeField()
    measured_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    remarks = models.TextField(blank=True)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True, default="", db_default="")

    class Meta:
        constraints = [
            AuditTrigger(kind="height", leaving_out=["computed_mm", "rounds_since", "repeat_mm"]),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="height_undone_with_a_reason"
            ),
        ]
        indexes = [
            models.Index(fields=["cabin", "wall", "round", "end", "-measured_at"], name="height_by_corner"),
            models.Index(fields=["crew", "measured_at", "id"], name="height_by_time"),
        ]


class GivenMember(CrewOwned):
    """A member beyond the walls that was made from part of a log; undone only with a reason."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, related_name="given_members")
    # Its name, kind and length as in the layout when it was made.
    member = models.CharField(max_length=50)
    kind = models.CharField(max_length=20, choices=MEMBER_KINDS)
    length_mm = MillimetreField()
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="given_pieces")
    # From the log's butt end to the piece's end nearest the butt.
    from_butt_mm = MillimetreField()
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    # As for a set log: metal near a cut was found and taken out.
    metal_removed = models.BooleanField(default=False)
    remarks = models.TextField(blank=True)
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="given_member"),
            models.UniqueConstraint(
                fields=["cabin", "member"], condition=Q(undone_at=None), name="member_given_once"
            ),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="member_undone_with_a_reason"
            ),
            models.CheckConstraint(condition=Q(length_mm__gt=0), name="given_member_has_length"),
        ]
        indexes = [models.Index(fields=["crew", "given_at", "id"], name="given_by_time")]


class PieceMark(models.TextChoices):
    """What was done to a piece before it is set."""

    SAWN = "sawn"
    PEELED = "peeled"
    NOTCHED = "notched"
    AT_WALL = "at_wall"


class PreparedPiece(CrewOwned):
    """Part of a log that was sawn to length, peeled, notched or moved to the wall before it is set.

    Once sawn it is a piece of its own: no plan joins it to its log again. Undone only with a reason.
    """

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+", db_index=False)
    log = models.ForeignKey(Log, on_delete=models.PROTECT, related_name="prepared_pieces", db_index=False)
    # From the log's butt end.
    near_butt_mm = MillimetreField()
    near_tip_mm = MillimetreField()
    # What it was made for: a place of a wall, a member, or nothing yet. Words, as a set log's are.
    cabin = models.ForeignKey(Cabin, on_delete=models.PROTECT, null=True, related_name="prepared_pieces")
    wall = models.CharField(max_length=40, blank=True)
    round = models.PositiveIntegerField(null=True)
    piece = models.PositiveIntegerField(null=True)
    member = models.CharField(max_length=50, blank=True)
    # Of PieceMark, in its order, each once.
    marks = models.JSONField(default=list)
    # Metal lay near a cut as charted; whoever sawed states that it was taken out first.
    metal_removed = models.BooleanField(default=False)
    prepared_at = models.DateTimeField()
    prepared_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    remarks = models.TextField(blank=True)
    warnings = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    undo_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            AuditTrigger(kind="prepared_piece"),
            models.CheckConstraint(
                condition=Q(near_tip_mm__gt=F("near_butt_mm")), name="prepared_piece_has_length"
            ),
            models.CheckConstraint(
                condition=Q(undone_at=None) | ~Q(undo_reason=""), name="preparing_undone_with_a_reason"
            ),
        ]
        indexes = [
            models.Index(fields=["log", "undone_at"], name="prepared_by_log"),
            models.Index(fields=["crew", "prepared_at", "id"], name="prepared_by_time"),
        ]


# Django finds models here; what a crew chooses stands in a file of its own.
import cabins.models_settings  # noqa: E402, F401
