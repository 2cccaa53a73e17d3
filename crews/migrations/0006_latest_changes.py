# Finds the latest changes without an index that grows with the history. Made beside the work of others.

from django.contrib.postgres.indexes import BrinIndex
from django.contrib.postgres.operations import AddIndexConcurrently
from django.db import migrations


class Migration(migrations.Migration):
    atomic = False
    dependencies = [("crews", "0005_webhooks")]
    operations = [
        AddIndexConcurrently("change", BrinIndex(fields=["at"], autosummarize=True, name="change_lately")),
    ]
