# Indexes that are the beginning of others go: each cost bytes for every row. Made beside the work of others.

from django.db import migrations, models
from django.db.models import deletion

from crews.dropped_index import DropIndexOfKey


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("crews", "0006_latest_changes"), ("cabins", "0006_wall_and_grain_settings")]
    operations = [
        DropIndexOfKey(
            "place",
            "cabin",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="places", to="cabins.cabin"
            ),
        ),
        DropIndexOfKey(
            "setlog",
            "crew",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="+", to="crews.crew"
            ),
        ),
        DropIndexOfKey(
            "setlog",
            "cabin",
            models.ForeignKey(
                db_index=False, on_delete=deletion.PROTECT, related_name="set_logs", to="cabins.cabin"
            ),
        ),
        DropIndexOfKey(
            "measuredheight",
            "crew",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="+", to="crews.crew"
            ),
        ),
        DropIndexOfKey(
            "measuredheight",
            "cabin",
            models.ForeignKey(
                db_index=False, on_delete=deletion.PROTECT, related_name="heights", to="cabins.cabin"
            ),
        ),
        DropIndexOfKey(
            "givenmember",
            "crew",
            models.ForeignKey(
                db_index=False, on_delete=deletion.CASCADE, related_name="+", to="crews.crew"
            ),
        ),
    ]
