"""How many bytes each crew has stored."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("crews", "0008_change_by_position")]

    operations = [
        migrations.CreateModel(
            name="CrewSize",
            fields=[
                (
                    "crew",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="size",
                        serialize=False,
                        to="crews.crew",
                    ),
                ),
                ("stored_bytes", models.BigIntegerField()),
                ("counted_at", models.DateTimeField()),
            ],
        ),
    ]
