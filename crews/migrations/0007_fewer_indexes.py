# Indexes that are the beginning of others go: each cost bytes for every row. Made beside the work of others.

from django.db import migrations, models
from django.db.models import deletion

from crews.dropped_index import DropIndexOfKey


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("crews", "0006_latest_changes")]
    operations = [
        DropIndexOfKey(
            "webhookdelivery",
            "webhook",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="deliveries", to="crews.webhook"
            ),
        ),
    ]
