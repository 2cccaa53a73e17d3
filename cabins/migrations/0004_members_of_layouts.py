"""Layouts stored before there were members have none, and say so like every other."""

from django.db import migrations

NONE_YET = """
UPDATE {table} SET layout = layout || '{{"members": []}}'::jsonb
WHERE layout IS NOT NULL AND NOT layout ? 'members'
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cabins', '0003_history'),
    ]

    operations = [
        migrations.RunSQL(NONE_YET.format(table=table), migrations.RunSQL.noop)
        for table in ('cabins_cabin', 'cabins_pastlayout')
    ]
