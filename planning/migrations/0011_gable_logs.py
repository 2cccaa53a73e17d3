"""Members of a new kind: gable logs."""

from django.db import migrations, models

KINDS = ['plate', 'joist', 'purlin', 'ridge', 'post', 'gable', 'other']


class Migration(migrations.Migration):

    dependencies = [
        ('planning', '0010_scope_of_jobs'),
    ]

    operations = [
        migrations.AlterField(
            model_name='plannedpiece',
            name='member_kind',
            field=models.CharField(choices=[(kind, kind) for kind in KINDS], max_length=20, null=True),
        ),
    ]
