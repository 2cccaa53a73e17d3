"""The feed is read by position; nobody orders events by their time any more."""

from django.contrib.postgres.operations import AddIndexConcurrently, RemoveIndexConcurrently
from django.db import migrations, models


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("crews", "0004_event_positions")]

    operations = [
        AddIndexConcurrently(
            "event", models.Index(fields=["crew", "position", "ordinal"], name="event_by_position")
        ),
        RemoveIndexConcurrently("event", "event_by_time"),
    ]
