"""Layouts stored before walls could run on past an inner corner say that theirs do not."""

from django.db import migrations

RUN_ONS = """
UPDATE {table} SET layout = jsonb_set(layout, '{{walls}}', (
    SELECT jsonb_agg('{{"runs_on_start": false, "runs_on_end": false}}'::jsonb || one ORDER BY at)
    FROM jsonb_array_elements(layout -> 'walls') WITH ORDINALITY AS parts (one, at)
))
WHERE jsonb_array_length(layout -> 'walls') > 0
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cabins', '0012_prepared_pieces'),
    ]

    operations = [
        migrations.RunSQL(RUN_ONS.format(table=table), migrations.RunSQL.noop)
        for table in ('cabins_cabin', 'cabins_pastlayout')
    ]
