"""A second reading across at a station is kept beside the mean that counts, for logs and their measurements."""

from django.db import migrations, models


def _readings() -> models.JSONField:
    return models.JSONField(db_default=models.Value([], models.JSONField()), default=list)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0010_instructions")]

    operations = [
        migrations.AddField("log", "read_across", _readings()),
        migrations.AddField("measurement", "read_across", _readings()),
    ]
