"""A log promised to a cabin is reserved for it: table, indexes, history and the words in it."""

import django.db.models.deletion
from django.db import migrations, models

import crews.history.triggers


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0012_reserved_logs'),
        ('planning', '0014_starts'),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='promise', name='history_of_promise'),
        migrations.RemoveConstraint(model_name='promise', name='log_promised_once'),
        migrations.RenameModel(old_name='Promise', new_name='Reservation'),
        migrations.RenameIndex(model_name='reservation', old_name='promise_by_cabin', new_name='reservation_by_cabin'),
        *(
            migrations.AlterField(
                model_name='reservation',
                name=name,
                field=models.ForeignKey(
                    on_delete=django.db.models.deletion.PROTECT, related_name='reservations', to=to, **options
                ),
            )
            for name, to, options in (
                ('cabin', 'cabins.cabin', {'db_index': False}),
                ('log', 'inventory.log', {}),
                ('plan', 'planning.plan', {}),
            )
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('log',), name='log_reserved_once'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=crews.history.triggers.AuditTrigger(kind='reservation', leaving_out=()),
        ),
        migrations.RunSQL(
            "UPDATE crews_change SET kind = 'reservation' WHERE kind = 'promise'", migrations.RunSQL.noop
        ),
    ]
