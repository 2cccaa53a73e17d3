# A crew's logs of a state, by yards. Made beside the work of others.

from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations, models


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("inventory", "0004_scaling_settings")]
    operations = [
        AddIndexConcurrently("log", models.Index(fields=["crew", "yard", "state"], name="log_by_yard")),
    ]
