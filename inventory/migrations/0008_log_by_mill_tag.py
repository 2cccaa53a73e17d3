# Finds a log by the mill's number. Made beside the work of others.

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models
from django.db.models.functions import Upper


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("inventory", "0007_unknown_crown_and_mill_tag")]
    operations = [
        AddIndexConcurrently(
            "log",
            models.Index(
                models.F("crew"),
                Upper("mill_tag"),
                condition=~models.Q(mill_tag=""),
                name="log_by_mill_tag",
            ),
        ),
    ]
