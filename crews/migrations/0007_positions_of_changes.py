"""Each change gets the position of its transaction; those that exist lie before any cursor.

In two steps: with a value that is the same for all rows the table is not written anew.
"""

from django.db import migrations, models
from django.db.models import Func


class Migration(migrations.Migration):
    dependencies = [("crews", "0006_more_kinds_of_events")]

    operations = [
        migrations.AddField("change", "position", models.BigIntegerField(db_default=0)),
        migrations.AlterField(
            "change",
            "position",
            models.BigIntegerField(db_default=Func(function="roundlay_event_position")),
        ),
    ]
