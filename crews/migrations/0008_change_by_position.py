"""What changed since is found by position."""

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models


class Migration(migrations.Migration):
    atomic = False

    dependencies = [("crews", "0007_positions_of_changes")]

    operations = [
        AddIndexConcurrently(
            "change", models.Index(fields=["crew", "position"], name="change_by_position")
        ),
    ]
