"""A name belongs to a membership: who leads one crew renames nobody in another."""

from django.db import migrations, models

# No one was renamed: the history gains nothing by the copy.
COPIED = """
ALTER TABLE crews_member DISABLE TRIGGER history_of_member_update;
UPDATE crews_member SET name = person.name FROM crews_person AS person WHERE person.id = person_id;
ALTER TABLE crews_member ENABLE TRIGGER history_of_member_update;
"""


class Migration(migrations.Migration):

    dependencies = [
        ('crews', '0002_default_queue'),
    ]

    operations = [
        migrations.AddField(
            model_name='member',
            name='name',
            field=models.CharField(default='', max_length=120),
            preserve_default=False,
        ),
        migrations.RunSQL(COPIED, migrations.RunSQL.noop),
        migrations.RunSQL(
            "DROP TRIGGER history_of_name ON crews_person; DROP FUNCTION roundlay_keep_name();",
            migrations.RunSQL.noop,
        ),
        migrations.RemoveField(model_name='person', name='name'),
    ]
