from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("cabins", "0008_first_logs")]
    operations = [migrations.AlterField("measuredheight", "end", models.CharField(max_length=81))]
