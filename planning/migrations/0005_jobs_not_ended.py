# The few jobs that are not ended, for the workers. Made beside the work of others.

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("planning", "0004_members")]
    operations = [
        AddIndexConcurrently(
            "planningjob",
            models.Index(
                fields=["crew", "created_at"],
                condition=~models.Q(state__in=["done", "failed", "cancelled"]),
                name="job_not_ended",
            ),
        ),
    ]
