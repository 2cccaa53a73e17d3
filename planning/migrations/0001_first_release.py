"""All tables as the first release has them; a database of an earlier state has run what this replaces."""

import crews.history.triggers
import django.db.models.deletion
import inventory.logs.models
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    replaces = [('planning', '0001_initial'), ('planning', '0002_history'), ('planning', '0003_presets'), ('planning', '0004_members'), ('planning', '0005_jobs_not_ended'), ('planning', '0006_fewer_indexes'), ('planning', '0007_tops_of_the_plan'), ('planning', '0008_how_a_promise_ends'), ('planning', '0009_places_of_plans')]

    initial = True

    dependencies = [
        ('cabins', '0001_first_release'),
        ('crews', '0001_first_release'),
        ('inventory', '0001_first_release'),
    ]

    operations = [
        migrations.CreateModel(
            name='PlanningJob',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('cabins', models.JSONField()),
                ('yards', models.JSONField()),
                ('excluded', models.JSONField(default=list)),
                ('pinned', models.JSONField(default=list)),
                ('weights', models.JSONField(default=dict)),
                ('seconds', models.PositiveIntegerField()),
                ('seed', models.BigIntegerField()),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('running', 'Running'), ('done', 'Done'), ('failed', 'Failed'), ('cancelled', 'Cancelled')], default='waiting', max_length=10)),
                ('cancel_asked', models.BooleanField(default=False)),
                ('reason', models.TextField(blank=True)),
                ('fraction', models.FloatField(default=0)),
                ('moves', models.BigIntegerField(default=0)),
                ('objective', models.FloatField(null=True)),
                ('feasible', models.BooleanField(null=True)),
                ('started_at', models.DateTimeField(null=True)),
                ('ended_at', models.DateTimeField(null=True)),
                ('problem', models.JSONField(null=True)),
                ('made_from', models.JSONField(null=True)),
                ('best', models.JSONField(null=True)),
                ('run', models.UUIDField(null=True)),
                ('asked_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('preset', models.CharField(default='usual', max_length=20)),
                ('trade_offs', models.BooleanField(default=False)),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'created_at', 'id'], name='job_by_age'), models.Index(condition=models.Q(('state__in', ['done', 'failed', 'cancelled']), _negated=True), fields=['crew', 'created_at'], name='job_not_ended')],
            },
        ),
        migrations.CreateModel(
            name='Plan',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('state', models.CharField(choices=[('proposed', 'Proposed'), ('adopted', 'Adopted'), ('replaced', 'Replaced')], default='proposed', max_length=10)),
                ('problem', models.JSONField()),
                ('made_from', models.JSONField()),
                ('report', models.JSONField()),
                ('objective', models.FloatField()),
                ('feasible', models.BooleanField()),
                ('complete', models.BooleanField()),
                ('adopted_at', models.DateTimeField(null=True)),
                ('adopted_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='crews.member')),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='plan', to='planning.planningjob')),
                ('courses', models.JSONField(default=dict)),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'created_at', 'id'], name='plan_by_age')],
                'constraints': [crews.history.triggers.AuditTrigger(kind='plan', leaving_out=('problem', 'report', 'made_from', 'courses'))],
            },
        ),
        migrations.CreateModel(
            name='CurrentPlan',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('cabin', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='current_plan', to='cabins.cabin')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='current_for', to='planning.plan')),
                ('tops_mm', models.JSONField(default=dict)),
            ],
        ),
        migrations.CreateModel(
            name='Promise',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('ended_because', models.CharField(blank=True, choices=[('kept', 'Kept'), ('replaced', 'Replaced'), ('released', 'Released'), ('taken', 'Taken'), ('log_gone', 'Log Gone')], max_length=10)),
                ('cabin', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='promises', to='cabins.cabin')),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='promises', to='inventory.log')),
                ('plan', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='promises', to='planning.plan')),
            ],
            options={
                'indexes': [models.Index(fields=['cabin', 'ended_at'], name='promise_by_cabin')],
                'constraints': [models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('log',), name='log_promised_once'), crews.history.triggers.AuditTrigger(kind='promise', leaving_out=())],
            },
        ),
        migrations.CreateModel(
            name='PlannedPiece',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('from_butt_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11)),
                ('butt_at', models.CharField(choices=[('start', 'Start'), ('end', 'End')], max_length=5)),
                ('cabin', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='cabins.cabin')),
                ('log', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.log')),
                ('plan', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='pieces', to='planning.plan')),
                ('member', models.CharField(max_length=50, null=True)),
                ('member_kind', models.CharField(choices=[('plate', 'plate'), ('joist', 'joist'), ('purlin', 'purlin'), ('ridge', 'ridge'), ('post', 'post'), ('other', 'other')], max_length=20, null=True)),
                ('member_length_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('end_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('piece', models.PositiveIntegerField(null=True)),
                ('round', models.PositiveIntegerField(null=True)),
                ('start_mm', inventory.logs.models.MillimetreField(decimal_places=5, max_digits=11, null=True)),
                ('wall', models.CharField(max_length=40, null=True)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('plan', 'cabin', 'member'), name='planned_once_for_member'), models.UniqueConstraint(fields=('plan', 'cabin', 'round', 'wall', 'piece'), name='planned_once_in_place'), models.CheckConstraint(condition=models.Q(models.Q(('end_mm__isnull', False), ('member__isnull', True), ('member_kind__isnull', True), ('member_length_mm__isnull', True), ('piece__isnull', False), ('round__isnull', False), ('start_mm__isnull', False), ('wall__isnull', False)), models.Q(('end_mm__isnull', True), ('member__isnull', False), ('member_kind__isnull', False), ('member_length_mm__isnull', False), ('piece__isnull', True), ('round__isnull', True), ('start_mm__isnull', True), ('wall__isnull', True)), _connector='OR'), name='planned_for_place_or_member')],
            },
        ),
    ]
