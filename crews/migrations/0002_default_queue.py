"""Deliveries and what is forgotten in time wait in the queue named `default`, not `errands`."""

from django.db import migrations

WAITING = """
UPDATE procrastinate_jobs SET queue_name = 'default' WHERE queue_name = 'errands' AND status = 'todo'
"""


class Migration(migrations.Migration):

    dependencies = [
        ('crews', '0001_first_release'),
        ('procrastinate', '__latest__'),
    ]

    operations = [migrations.RunSQL(WAITING, migrations.RunSQL.noop)]
