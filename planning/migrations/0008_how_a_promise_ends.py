from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("planning", "0007_tops_of_the_plan")]
    operations = [
        migrations.AlterField(
            "promise",
            "ended_because",
            models.CharField(
                blank=True,
                choices=[
                    ("kept", "Kept"),
                    ("replaced", "Replaced"),
                    ("released", "Released"),
                    ("taken", "Taken"),
                    ("log_gone", "Log Gone"),
                ],
                max_length=10,
            ),
        ),
    ]
