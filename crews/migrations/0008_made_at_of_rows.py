# The history takes the time of recording from each row, where one statement makes rows recorded at several.

from django.db import migrations

from crews.triggers import HISTORY_FUNCTION


class Migration(migrations.Migration):
    dependencies = [("crews", "0007_fewer_indexes")]
    operations = [migrations.RunSQL(HISTORY_FUNCTION, migrations.RunSQL.noop)]
