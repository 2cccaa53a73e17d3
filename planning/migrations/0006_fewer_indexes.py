# Indexes that are the beginning of others go: each cost bytes for every row. Made beside the work of others.

from django.db import migrations, models
from django.db.models import deletion

from crews.dropped_index import DropIndexOfKey


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("cabins", "0006_wall_and_grain_settings"), ("planning", "0005_jobs_not_ended")]
    operations = [
        DropIndexOfKey(
            "plannedpiece",
            "plan",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="pieces", to="planning.plan"
            ),
        ),
        DropIndexOfKey(
            "promise",
            "cabin",
            models.ForeignKey(
                db_index=False, on_delete=deletion.PROTECT, related_name="promises", to="cabins.cabin"
            ),
        ),
    ]
