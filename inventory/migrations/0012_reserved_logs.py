"""A log that a plan holds is reserved, not promised, in its row and in its history."""

from django.db import migrations, models

# No one changed these logs: the history keeps its rows and gets the word, and gains none.
STATES = """
ALTER TABLE inventory_log DISABLE TRIGGER history_of_log_update;
UPDATE inventory_log SET state = 'reserved' WHERE state = 'promised';
ALTER TABLE inventory_log ENABLE TRIGGER history_of_log_update;
UPDATE crews_change SET
    before = CASE before->>'state' WHEN 'promised' THEN jsonb_set(before, '{state}', '"reserved"') ELSE before END,
    after = CASE after->>'state' WHEN 'promised' THEN jsonb_set(after, '{state}', '"reserved"') ELSE after END
WHERE kind = 'log' AND (before->>'state' = 'promised' OR after->>'state' = 'promised')
"""


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0011_readings_across'),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='log', name='log_state_known'),
        migrations.AlterField(
            model_name='log',
            name='state',
            field=models.CharField(choices=[('in_rack', 'In Rack'), ('reserved', 'Reserved'), ('set', 'Set'), ('cut_up', 'Cut Up'), ('put_aside', 'Put Aside'), ('gone', 'Gone')], default='in_rack', max_length=10),
        ),
        migrations.RunSQL(STATES, migrations.RunSQL.noop),
        migrations.AddConstraint(
            model_name='log',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['in_rack', 'reserved', 'set', 'cut_up', 'put_aside', 'gone'])), name='log_state_known'),
        ),
    ]
