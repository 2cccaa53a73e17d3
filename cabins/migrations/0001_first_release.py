"""All tables as the first release has them; a database of an earlier state has run what this replaces."""

import cabins.choices.models
import crews.history.triggers
import django.db.models.deletion
import inventory.logs.models
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    replaces = [('cabins', '0001_initial'), ('cabins', '0002_initial'), ('cabins', '0003_history'), ('cabins', '0004_members_of_layouts'), ('cabins', '0005_given_members'), ('cabins', '0006_wall_and_grain_settings'), ('cabins', '0007_fewer_indexes'), ('cabins', '0008_first_logs'), ('cabins', '0009_heights_at_tees'), ('cabins', '0010_crew_errors'), ('cabins', '0011_courses')]

    initial = True

    dependencies = [
        ('crews', '0001_first_release'),
        ('inventory', '0001_first_release'),
    ]

    operations = [
        migrations.CreateModel(
            name='Cabin',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('name', models.CharField(max_length=80)),
                ('remarks', models.TextField(blank=True)),
                ('layout', models.JSONField(null=True)),
                ('layout_version', models.PositiveIntegerField(default=0)),
                ('rounds', models.PositiveIntegerField(null=True)),
                ('built_version', models.PositiveIntegerField(default=0)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('courses', models.JSONField(null=True)),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'created_at', 'id'], name='cabin_by_age')],
                'constraints': [models.UniqueConstraint(fields=('crew', 'name'), name='cabin_once_in_crew'), crews.history.triggers.AuditTrigger(kind='cabin', leaving_out=('built_version', 'courses'))],
            },
        ),
        migrations.CreateModel(
            name='GrainSettings',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('weights', models.JSONField(default=dict)),
                ('straight_run', models.DecimalField(decimal_places=1, max_digits=5, null=True)),
                ('moderate_run', models.DecimalField(decimal_places=1, max_digits=5, null=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
            ],
            options={
                'constraints': [crews.history.triggers.AuditTrigger(kind='grain_settings', leaving_out=()), models.UniqueConstraint(fields=('crew',), name='grain_switched_once')],
            },
        ),
        migrations.CreateModel(
            name='WallSettings',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('rule', models.CharField(max_length=30, null=True)),
                ('code_title', models.CharField(max_length=200, null=True)),
                ('code_low_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('code_high_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('bedding_low_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('bedding_high_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('moisture_now_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('moisture_expected_pct', cabins.choices.models._PercentField(decimal_places=2, max_digits=5, null=True)),
                ('underscribe_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('overscribe_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('slope', models.DecimalField(decimal_places=4, max_digits=5, null=True)),
                ('back_slope', models.DecimalField(decimal_places=4, max_digits=5, null=True)),
                ('top_share', models.DecimalField(decimal_places=4, max_digits=5, null=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('cut_error_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('diameter_error_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('height_error_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('cut_share', models.DecimalField(decimal_places=4, max_digits=5, null=True)),
                ('least_piece_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('run_wild_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
            ],
            options={
                'constraints': [crews.history.triggers.AuditTrigger(kind='wall_settings', leaving_out=()), models.UniqueConstraint(fields=('crew',), name='wall_settings_chosen_once')],
            },
        ),
        migrations.CreateModel(
            name='MeasuredHeight',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('wall', models.CharField(max_length=40)),
                ('round', models.PositiveIntegerField()),
                ('end', models.CharField(max_length=81)),
                ('height_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('measured_at', models.DateTimeField()),
                ('remarks', models.TextField(blank=True)),
                ('cabin', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='heights', to='cabins.cabin')),
                ('crew', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('measured_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('computed_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('rounds_since', models.PositiveSmallIntegerField(null=True)),
            ],
            options={
                'indexes': [models.Index(fields=['cabin', 'wall', 'round', 'end', '-measured_at'], name='height_by_corner'), models.Index(fields=['crew', 'measured_at', 'id'], name='height_by_time')],
                'constraints': [crews.history.triggers.AuditTrigger(kind='height', leaving_out=('computed_mm', 'rounds_since'))],
            },
        ),
        migrations.CreateModel(
            name='PastLayout',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('layout_version', models.PositiveIntegerField()),
                ('layout', models.JSONField()),
                ('cabin', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='past_layouts', to='cabins.cabin')),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('laid_out_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('cabin', 'layout_version'), name='layout_once_per_version')],
            },
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('wall', models.CharField(max_length=40)),
                ('round', models.PositiveIntegerField()),
                ('piece', models.PositiveIntegerField()),
                ('start_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('end_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('cabin', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='places', to='cabins.cabin')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('cabin', 'round', 'wall', 'piece'), name='place_once_in_cabin'), models.CheckConstraint(condition=models.Q(('end_mm__gt', models.F('start_mm'))), name='place_has_length')],
            },
        ),
        migrations.CreateModel(
            name='GivenMember',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('member', models.CharField(max_length=50)),
                ('kind', models.CharField(choices=[('plate', 'plate'), ('joist', 'joist'), ('purlin', 'purlin'), ('ridge', 'ridge'), ('post', 'post'), ('other', 'other')], max_length=20)),
                ('length_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('from_butt_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('given_at', models.DateTimeField()),
                ('metal_removed', models.BooleanField(default=False)),
                ('remarks', models.TextField(blank=True)),
                ('warnings', models.JSONField(default=list)),
                ('undone_at', models.DateTimeField(null=True)),
                ('undo_reason', models.TextField(blank=True)),
                ('cabin', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='given_members', to='cabins.cabin')),
                ('crew', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('given_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='given_pieces', to='inventory.log')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('undone_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'given_at', 'id'], name='given_by_time')],
                'constraints': [crews.history.triggers.AuditTrigger(kind='given_member', leaving_out=()), models.UniqueConstraint(condition=models.Q(('undone_at', None)), fields=('cabin', 'member'), name='member_given_once'), models.CheckConstraint(condition=models.Q(('undone_at', None), models.Q(('undo_reason', ''), _negated=True), _connector='OR'), name='member_undone_with_a_reason'), models.CheckConstraint(condition=models.Q(('length_mm__gt', 0)), name='given_member_has_length')],
            },
        ),
        migrations.CreateModel(
            name='SetLog',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('wall', models.CharField(max_length=40)),
                ('round', models.PositiveIntegerField()),
                ('piece', models.PositiveIntegerField()),
                ('from_butt_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('butt_at', models.CharField(choices=[('start', 'Start'), ('end', 'End')], max_length=5)),
                ('set_at', models.DateTimeField()),
                ('gap_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('notch_start_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('notch_end_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('metal_removed', models.BooleanField(default=False)),
                ('remarks', models.TextField(blank=True)),
                ('warnings', models.JSONField(default=list)),
                ('undone_at', models.DateTimeField(null=True)),
                ('undo_reason', models.TextField(blank=True)),
                ('cabin', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='set_logs', to='cabins.cabin')),
                ('checked_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('crew', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='set_pieces', to='inventory.log')),
                ('place', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='set_logs', to='cabins.place')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('set_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('undone_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
            ],
            options={
                'indexes': [models.Index(fields=['cabin', 'undone_at'], name='set_by_cabin'), models.Index(fields=['crew', 'set_at', 'id'], name='set_by_time')],
                'constraints': [models.UniqueConstraint(condition=models.Q(('undone_at', None)), fields=('place',), name='place_filled_once'), models.CheckConstraint(condition=models.Q(('undone_at', None), models.Q(('undo_reason', ''), _negated=True), _connector='OR'), name='undone_with_a_reason'), models.CheckConstraint(condition=models.Q(('undone_at__isnull', False), ('place__isnull', False), _connector='OR'), name='set_in_a_place'), crews.history.triggers.AuditTrigger(kind='set_log', leaving_out=())],
            },
        ),
    ]
