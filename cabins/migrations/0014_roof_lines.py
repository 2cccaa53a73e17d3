"""Members of a new kind, gable logs; layouts stored before there were roof lines say that they have none."""

from django.db import migrations, models

NO_ROOF_LINE = """
UPDATE {table} SET layout = jsonb_build_object('roof_line', NULL) || layout
WHERE jsonb_typeof(layout) = 'object'
"""
KINDS = ['plate', 'joist', 'purlin', 'ridge', 'post', 'gable', 'other']


class Migration(migrations.Migration):

    dependencies = [
        ('cabins', '0013_run_ons'),
    ]

    operations = [
        migrations.AlterField(
            model_name='givenmember',
            name='kind',
            field=models.CharField(choices=[(kind, kind) for kind in KINDS], max_length=20),
        ),
        *(
            migrations.RunSQL(NO_ROOF_LINE.format(table=table), migrations.RunSQL.noop)
            for table in ('cabins_cabin', 'cabins_pastlayout')
        ),
    ]
