"""More kinds of events; the column stays as it is."""

from django.db import migrations, models

from crews.events.models import EventKind


class Migration(migrations.Migration):
    dependencies = [("crews", "0005_event_by_position")]

    operations = [
        migrations.AlterField("event", "kind", models.CharField(max_length=30, choices=EventKind)),
    ]
