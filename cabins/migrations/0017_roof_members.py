"""Members that were given are called roof members installed: table, columns, history and the words in it."""

import django.db.models.deletion
from django.db import migrations, models

import crews.history.triggers

HISTORY = """
UPDATE crews_change SET
    kind = 'roof_member',
    before = before - 'given_at' - 'given_by_id' || jsonb_strip_nulls(jsonb_build_object(
        'installed_at', before->'given_at', 'installed_by_id', before->'given_by_id')),
    after = after - 'given_at' - 'given_by_id' || jsonb_strip_nulls(jsonb_build_object(
        'installed_at', after->'given_at', 'installed_by_id', after->'given_by_id'))
WHERE kind = 'given_member'
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cabins', '0016_readings_together'),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='givenmember', name='history_of_given_member'),
        migrations.RemoveConstraint(model_name='givenmember', name='member_given_once'),
        migrations.RemoveConstraint(model_name='givenmember', name='given_member_has_length'),
        migrations.RemoveIndex(model_name='givenmember', name='given_by_time'),
        migrations.RenameModel(old_name='GivenMember', new_name='RoofMember'),
        migrations.RenameField(model_name='roofmember', old_name='given_at', new_name='installed_at'),
        migrations.RenameField(model_name='roofmember', old_name='given_by', new_name='installed_by'),
        migrations.AlterField(
            model_name='roofmember',
            name='cabin',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='roof_members', to='cabins.cabin'),
        ),
        migrations.AlterField(
            model_name='roofmember',
            name='log',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='member_pieces', to='inventory.log'),
        ),
        migrations.AddIndex(
            model_name='roofmember',
            index=models.Index(fields=['crew', 'installed_at', 'id'], name='installed_by_time'),
        ),
        migrations.AddConstraint(
            model_name='roofmember',
            constraint=models.CheckConstraint(condition=models.Q(('length_mm__gt', 0)), name='roof_member_has_length'),
        ),
        migrations.AddConstraint(
            model_name='roofmember',
            constraint=models.UniqueConstraint(condition=models.Q(('undone_at', None)), fields=('cabin', 'member'), name='member_installed_once'),
        ),
        migrations.AddConstraint(
            model_name='roofmember',
            constraint=crews.history.triggers.AuditTrigger(kind='roof_member', leaving_out=()),
        ),
        migrations.RunSQL(HISTORY, migrations.RunSQL.noop),
    ]
