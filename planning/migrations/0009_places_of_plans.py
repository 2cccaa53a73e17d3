# A plan cuts the courses itself: each of its pieces has its own stretch of wall instead of one of the cabin's.

from django.db import migrations, models
from django.db.models import Q

import crews.triggers
import inventory.models

COURSES_OF_CABINS = """
UPDATE planning_plan plan SET courses = cut.courses FROM (
    SELECT piece.plan_id, jsonb_object_agg(cabin.id::text, cabin.courses) AS courses
    FROM (SELECT DISTINCT plan_id, cabin_id FROM planning_plannedpiece) AS piece
    JOIN cabins_cabin cabin ON cabin.id = piece.cabin_id WHERE cabin.courses IS NOT NULL GROUP BY piece.plan_id
) AS cut WHERE cut.plan_id = plan.id
"""
PLACES_OF_PIECES = """
UPDATE planning_plannedpiece piece
SET wall = place.wall, round = place.round, piece = place.piece,
    start_mm = place.start_mm, end_mm = place.end_mm
FROM cabins_place place WHERE place.id = piece.place_id
"""
PLACES_OF_CABINS = """
UPDATE planning_plannedpiece piece SET place_id = place.id FROM cabins_place place
WHERE (place.cabin_id, place.wall, place.round, place.piece)
    = (piece.cabin_id, piece.wall, piece.round, piece.piece)
"""


class Migration(migrations.Migration):
    dependencies = [
        ("cabins", "0011_courses"),
        ("crews", "0009_weight_unit"),
        ("inventory", "0006_fewer_indexes"),
        ("planning", "0008_how_a_promise_ends"),
    ]
    operations = [
        migrations.RemoveConstraint(model_name="plan", name="history_of_plan"),
        migrations.RemoveConstraint(model_name="plannedpiece", name="planned_once_in_place"),
        migrations.RemoveConstraint(model_name="plannedpiece", name="planned_for_place_or_member"),
        migrations.AddField(model_name="plan", name="courses", field=models.JSONField(default=dict)),
        migrations.AddField(
            model_name="plannedpiece",
            name="end_mm",
            field=inventory.models.MillimetreField(decimal_places=5, max_digits=11, null=True),
        ),
        migrations.AddField(
            model_name="plannedpiece", name="piece", field=models.PositiveIntegerField(null=True)
        ),
        migrations.AddField(
            model_name="plannedpiece", name="round", field=models.PositiveIntegerField(null=True)
        ),
        migrations.AddField(
            model_name="plannedpiece",
            name="start_mm",
            field=inventory.models.MillimetreField(decimal_places=5, max_digits=11, null=True),
        ),
        migrations.AddField(
            model_name="plannedpiece", name="wall", field=models.CharField(max_length=40, null=True)
        ),
        migrations.RunSQL(COURSES_OF_CABINS, migrations.RunSQL.noop),
        migrations.RunSQL(PLACES_OF_PIECES, PLACES_OF_CABINS),
        migrations.RemoveField(model_name="plannedpiece", name="place"),
        migrations.AddConstraint(
            model_name="plan",
            constraint=crews.triggers.KeptInHistory(
                kind="plan", leaving_out=["problem", "report", "made_from", "courses"]
            ),
        ),
        migrations.AddConstraint(
            model_name="plannedpiece",
            constraint=models.UniqueConstraint(
                fields=["plan", "cabin", "round", "wall", "piece"], name="planned_once_in_place"
            ),
        ),
        migrations.AddConstraint(
            model_name="plannedpiece",
            constraint=models.CheckConstraint(
                condition=Q(
                    wall__isnull=False,
                    round__isnull=False,
                    piece__isnull=False,
                    start_mm__isnull=False,
                    end_mm__isnull=False,
                    member__isnull=True,
                    member_kind__isnull=True,
                    member_length_mm__isnull=True,
                )
                | Q(
                    wall__isnull=True,
                    round__isnull=True,
                    piece__isnull=True,
                    start_mm__isnull=True,
                    end_mm__isnull=True,
                    member__isnull=False,
                    member_kind__isnull=False,
                    member_length_mm__isnull=False,
                ),
                name="planned_for_place_or_member",
            ),
        ),
    ]
