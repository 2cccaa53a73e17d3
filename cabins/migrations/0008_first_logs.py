"""Layouts stored before flats, half logs and overhangs of a wall's own say what they meant."""

from django.db import migrations

FIRST_LOGS = """
UPDATE {table} SET layout = layout || '{{"sill_flat": null, "sealer_mm": 0, "half_logs": false,
    "rip_kerf_mm": 5, "deck_raise_mm": null, "top": "as_it_falls"}}'::jsonb
WHERE layout IS NOT NULL AND NOT layout ? 'sill_flat'
"""
OWN_OVERHANGS = """
UPDATE {table} SET layout = jsonb_set(layout, '{{{part}}}', (
    SELECT jsonb_agg('{{"overhang_start_mm": null, "overhang_end_mm": null}}'::jsonb || one ORDER BY at)
    FROM jsonb_array_elements(layout -> '{part}') WITH ORDINALITY AS parts (one, at)
))
WHERE jsonb_array_length(layout -> '{part}') > 0
"""


class Migration(migrations.Migration):

    dependencies = [
        ('cabins', '0007_fewer_indexes'),
    ]

    operations = [
        migrations.RunSQL(sql.format(table=table, part=part), migrations.RunSQL.noop)
        for table in ('cabins_cabin', 'cabins_pastlayout')
        for sql, part in (
            (FIRST_LOGS, ''),
            (OWN_OVERHANGS, 'walls'),
            (OWN_OVERHANGS, 'partitions'),
        )
    ]
