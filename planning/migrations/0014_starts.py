"""A planning job has starts: rows of their own that hold what the job held of its one search."""

import django.db.models.deletion
from django.db import migrations, models

_UNDER_WAY = """
    INSERT INTO planning_planningstart (job_id, number, run, fraction, moves, objective, feasible, best, reason)
    SELECT id, 0, run, fraction, moves, objective, feasible, best, ''
    FROM planning_planningjob WHERE state IN ('waiting', 'running')
"""


class Migration(migrations.Migration):
    dependencies = [("planning", "0013_spare_rounds")]

    operations = [
        migrations.AddField("planningjob", "starts", models.PositiveSmallIntegerField(db_default=1)),
        migrations.CreateModel(
            name="PlanningStart",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveSmallIntegerField()),
                ("run", models.UUIDField(null=True)),
                ("fraction", models.FloatField(default=0)),
                ("moves", models.BigIntegerField(default=0)),
                ("objective", models.FloatField(null=True)),
                ("feasible", models.BooleanField(null=True)),
                ("best", models.JSONField(null=True)),
                ("courses", models.JSONField(null=True)),
                ("report", models.JSONField(null=True)),
                ("reason", models.TextField(blank=True)),
                ("ended_at", models.DateTimeField(null=True)),
                (
                    "job",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="searches",
                        to="planning.planningjob",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("job", "number"), name="start_of_job_once"),
                ],
            },
        ),
        migrations.RunSQL(_UNDER_WAY, migrations.RunSQL.noop),
        migrations.RemoveField("planningjob", "run"),
    ]
