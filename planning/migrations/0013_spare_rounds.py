"""A planning job says how many spare rounds its plan is to leave logs over for; those of before said none."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("planning", "0012_estimates_as_crews_build")]

    operations = [
        migrations.AddField("planningjob", "spare_rounds", models.PositiveIntegerField(db_default=0)),
    ]
