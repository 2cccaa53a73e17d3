# How each cabin's courses are cut stands beside its layout, and what a crew's new layouts take for openings.

from django.db import migrations, models

import crews.triggers
import inventory.models

# What was cut so far, from the places themselves.
COURSES_OF_PLACES = """
UPDATE cabins_cabin cabin SET courses = cut.courses FROM (
    SELECT cabin_id, jsonb_object_agg(wall, rounds) AS courses FROM (
        SELECT cabin_id, wall, jsonb_object_agg(round::text, spans) AS rounds FROM (
            SELECT cabin_id, wall, round,
                jsonb_agg(jsonb_build_array(start_mm::float8, end_mm::float8) ORDER BY piece) AS spans
            FROM cabins_place GROUP BY cabin_id, wall, round
        ) AS course GROUP BY cabin_id, wall
    ) AS cut_wall GROUP BY cabin_id
) AS cut WHERE cut.cabin_id = cabin.id AND cabin.layout IS NOT NULL
"""

# Layouts stored before say what they meant of their openings.
OPENING_KEYS = """
UPDATE {table} SET layout = '{{"cut_share": 0.5, "run_wild_mm": 25, "least_piece_mm": 600}}'::jsonb || layout
WHERE layout IS NOT NULL
"""
THRESHOLDS = """
UPDATE {table} SET layout = jsonb_set(layout, '{{openings}}', (
    SELECT jsonb_agg('{{"threshold": "cut_through", "flatten_mm": 0}}'::jsonb || one ORDER BY at)
    FROM jsonb_array_elements(layout -> 'openings') WITH ORDINALITY AS parts (one, at)
))
WHERE jsonb_array_length(layout -> 'openings') > 0
"""


class Migration(migrations.Migration):
    dependencies = [("cabins", "0010_crew_errors"), ("crews", "0009_weight_unit")]
    operations = [
        migrations.RemoveConstraint(model_name="cabin", name="history_of_cabin"),
        migrations.AddField(model_name="cabin", name="courses", field=models.JSONField(null=True)),
        migrations.RunSQL(COURSES_OF_PLACES, migrations.RunSQL.noop),
        *(
            migrations.RunSQL(sql.format(table=table), migrations.RunSQL.noop)
            for table in ("cabins_cabin", "cabins_pastlayout")
            for sql in (OPENING_KEYS, THRESHOLDS)
        ),
        migrations.AddField(
            model_name="wallsettings",
            name="cut_share",
            field=models.DecimalField(decimal_places=4, max_digits=5, null=True),
        ),
        migrations.AddField(
            model_name="wallsettings",
            name="least_piece_mm",
            field=inventory.models.MillimetreField(decimal_places=5, max_digits=11, null=True),
        ),
        migrations.AddField(
            model_name="wallsettings",
            name="run_wild_mm",
            field=inventory.models.MillimetreField(decimal_places=5, max_digits=11, null=True),
        ),
        migrations.AddConstraint(
            model_name="cabin",
            constraint=crews.triggers.KeptInHistory(kind="cabin", leaving_out=["built_version", "courses"]),
        ),
    ]
