"""The plan's own tops stand beside the plan that a cabin is built by; taken from the reports there are."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("planning", "0006_fewer_indexes")]

    operations = [
        migrations.AddField(
            model_name="currentplan", name="tops_mm", field=models.JSONField(default=dict),
        ),
        migrations.RunSQL(
            """
            UPDATE planning_currentplan current SET tops_mm = plan.report -> 'heights' -> current.cabin_id::text
            FROM planning_plan plan
            WHERE plan.id = current.plan_id AND plan.report -> 'heights' ? current.cabin_id::text
            """,
            migrations.RunSQL.noop,
        ),
    ]
