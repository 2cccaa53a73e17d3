"""Who: crews, persons, members, their keys; and what the service keeps to answer them."""

from __future__ import annotations

import uuid
from typing import ClassVar, Self

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import F, Q

from crews.history.triggers import AuditTrigger


class Role(models.TextChoices):
    """What a member may do; each role may do what those before it may."""

    LEARNER = "learner"
    BUILDER = "builder"
    LEAD = "lead"


ROLE_ORDER = [Role.LEARNER, Role.BUILDER, Role.LEAD]


def role_covers(held: str, needed: str) -> bool:
    """True if who holds `held` may do what needs `needed`."""
    return ROLE_ORDER.index(Role(held)) >= ROLE_ORDER.index(Role(needed))


class LengthUnit(models.TextChoices):
    """The unit in which a crew reads and writes lengths."""

    INCH = "in"
    FOOT_INCH = "ft_in"
    METRE = "m"
    CENTIMETRE = "cm"
    MILLIMETRE = "mm"


class WeightUnit(models.TextChoices):
    """The unit in which a crew reads weights."""

    POUND = "lb"
    KILOGRAM = "kg"


class Fraction(models.IntegerChoices):
    """The finest fraction of an inch shown."""

    HALVES = 2
    QUARTERS = 4
    EIGHTHS = 8
    SIXTEENTHS = 16
    THIRTY_SECONDS = 32


class CrewQuerySet(models.QuerySet):
    """Every query starts at the crew."""

    def of(self, crew: Crew) -> Self:
        return self.filter(crew=crew)


class Crew(models.Model):
    """The people who build together, and the owner of yards and cabins."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    name = models.CharField(max_length=120)
    length_unit = models.CharField(max_length=5, choices=LengthUnit, default=LengthUnit.MILLIMETRE)
    fraction = models.PositiveSmallIntegerField(choices=Fraction, default=Fraction.EIGHTHS)
    # Null: as the length unit, pounds with inches and kilograms with the others.
    weight_unit = models.CharField(max_length=2, choices=WeightUnit, null=True)  # noqa: DJ001 - not chosen
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [AuditTrigger(kind="crew")]


class Person(AbstractBaseUser):
    """Someone who signs in or holds keys; belongs to crews as a member, under each crew's name for them."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    handle = models.CharField(max_length=60, unique=True, null=True)  # noqa: DJ001 - unique or absent
    objects: ClassVar[BaseUserManager] = BaseUserManager()

    USERNAME_FIELD = "handle"


class CrewOwned(models.Model):
    """What belongs to a crew: a client-made id and an integer version."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+")
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    objects = CrewQuerySet.as_manager()

    class Meta:
        abstract = True


class Member(CrewOwned):
    """A person's place in a crew."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=10, choices=Role)
    left_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["crew", "person"], name="person_once_in_crew"),
            AuditTrigger(kind="member"),
        ]


class AccessKey(CrewOwned):
    """A key to the API: only its hash is kept, so it can be shown once and never again."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="keys")
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=10, choices=Role)
    hint = models.CharField(max_length=8)
    secret_sha256 = models.BinaryField(max_length=32, unique=True)
    expires_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(expires_at=None) | Q(expires_at__gt=F("created_at")),
                name="key_expires_after_made",
            ),
            AuditTrigger(kind="access_key", leaving_out=["secret_sha256", "last_used_at"]),
        ]


class SignInLink(models.Model):
    """A link that signs one browser in, once, soon after it was made; only the hash of its secret is kept."""

    secret_sha256 = models.BinaryField(primary_key=True, max_length=32)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    role = models.CharField(max_length=10, choices=Role)
    expires_at = models.DateTimeField()


class KeptAnswer(models.Model):
    """The answer to a POST that came with an Idempotency-Key, for its repeats."""

    crew = models.ForeignKey(Crew, on_delete=models.CASCADE, related_name="+")
    caller = models.UUIDField(help_text="The id of the access key that asked.")
    key = models.CharField(max_length=200)
    method = models.CharField(max_length=8)
    path = models.TextField()
    request_sha256 = models.BinaryField(max_length=32)
    status = models.PositiveSmallIntegerField()
    headers = models.JSONField()
    body = models.BinaryField()
    expires_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["caller", "key"], name="answer_kept_once")]


class RequestCount(models.Model):
    """How often a key asked within a minute. The table is not logged: a crash forgets the counts."""

    caller = models.BinaryField(primary_key=True, max_length=32)
    minute = models.DateTimeField()
    asked = models.PositiveIntegerField()


class CrewSize(models.Model):
    """How many bytes a crew's rows had when they were last counted."""

    crew = models.OneToOneField(Crew, on_delete=models.CASCADE, primary_key=True, related_name="size")
    stored_bytes = models.BigIntegerField()
    counted_at = models.DateTimeField()
