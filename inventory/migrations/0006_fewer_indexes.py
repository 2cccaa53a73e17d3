# Indexes that are the beginning of others go: each cost bytes for every row. Made beside the work of others.

from django.contrib.postgres.operations import RemoveIndexConcurrently
from django.db import migrations, models
from django.db.models import deletion

from crews.dropped_index import DropIndexOfKey


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("crews", "0006_latest_changes"), ("inventory", "0005_log_by_yard")]
    operations = [
        RemoveIndexConcurrently("log", "log_by_yard_state"),
        DropIndexOfKey(
            "log",
            "crew",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="+", to="crews.crew"
            ),
        ),
        DropIndexOfKey(
            "log",
            "yard",
            models.ForeignKey(
                db_index=False, on_delete=deletion.PROTECT, related_name="logs", to="inventory.yard"
            ),
        ),
        DropIndexOfKey(
            "measurement",
            "log",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="measurements", to="inventory.log"
            ),
        ),
        DropIndexOfKey(
            "deliveredlog",
            "crew",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="+", to="crews.crew"
            ),
        ),
        DropIndexOfKey(
            "deliveredlog",
            "delivery",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="logs", to="inventory.delivery"
            ),
        ),
    ]
