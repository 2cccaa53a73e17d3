"""Stored plans say how sure they are as crews build: no row of planning again after every round."""

from django.db import migrations

_ESTIMATES = """
    UPDATE planning_plan SET report = jsonb_set(report, '{sure}', COALESCE((
        SELECT jsonb_agg(one - 'replanned' ORDER BY number)
        FROM jsonb_array_elements(report -> 'sure') WITH ORDINALITY AS rows (one, number)
        WHERE one -> 'replanned' = 'false'
    ), '[]'))
    WHERE report -> 'sure' @> '[{"replanned": false}]'
"""


class Migration(migrations.Migration):
    dependencies = [("planning", "0011_gable_logs")]

    operations = [migrations.RunSQL(_ESTIMATES, migrations.RunSQL.noop)]
