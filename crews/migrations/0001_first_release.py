"""All tables as the first release has them; a database of an earlier state has run what this replaces."""

import crews.history.triggers
import django.contrib.postgres.indexes
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


NAME_FUNCTION = """
CREATE OR REPLACE FUNCTION roundlay_keep_name() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    made_by jsonb := nullif(current_setting('roundlay.made_by', true), '')::jsonb;
BEGIN
    INSERT INTO crews_change
        (crew_id, kind, object, version, before, after, at, made_at, member_id, key, request_id)
    SELECT crew_id, 'member', id, version, jsonb_build_object('name', OLD.name),
        jsonb_build_object('name', NEW.name), statement_timestamp(),
        (made_by->>'made_at')::timestamptz, (made_by->>'member')::uuid, (made_by->>'key')::uuid,
            coalesce(made_by->>'request', '')
    FROM crews_member WHERE person_id = NEW.id AND left_at IS NULL;
    RETURN NULL;
END $$;
CREATE TRIGGER history_of_name AFTER UPDATE OF name ON crews_person
FOR EACH ROW WHEN (OLD.name IS DISTINCT FROM NEW.name) EXECUTE FUNCTION roundlay_keep_name();
"""


class Migration(migrations.Migration):

    replaces = [('crews', '0001_initial'), ('crews', '0002_kept_answers'), ('crews', '0003_request_counts'), ('crews', '0004_history'), ('crews', '0005_webhooks'), ('crews', '0006_latest_changes'), ('crews', '0007_fewer_indexes'), ('crews', '0008_made_at_of_rows'), ('crews', '0009_weight_unit'), ('crews', '0010_sign_in_links')]

    initial = True

    dependencies = [
    ]

    operations = [
        # Functions look for their tables when they run, not when they are made.
        migrations.RunSQL(
            crews.history.triggers.HISTORY_FUNCTION,
            "DROP FUNCTION roundlay_keep_history();",
        ),
        migrations.CreateModel(
            name='Person',
            fields=[
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('handle', models.CharField(max_length=60, null=True, unique=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Crew',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=120)),
                ('length_unit', models.CharField(choices=[('in', 'Inch'), ('ft_in', 'Foot Inch'), ('m', 'Metre'), ('cm', 'Centimetre'), ('mm', 'Millimetre')], default='mm', max_length=5)),
                ('fraction', models.PositiveSmallIntegerField(choices=[(2, 'Halves'), (4, 'Quarters'), (8, 'Eighths'), (16, 'Sixteenths'), (32, 'Thirty Seconds')], default=8)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('weight_unit', models.CharField(choices=[('lb', 'Pound'), ('kg', 'Kilogram')], max_length=2, null=True)),
            ],
            options={
                'constraints': [crews.history.triggers.AuditTrigger(kind='crew', leaving_out=())],
            },
        ),
        migrations.CreateModel(
            name='RequestCount',
            fields=[
                ('caller', models.BinaryField(max_length=32, primary_key=True, serialize=False)),
                ('minute', models.DateTimeField()),
                ('asked', models.PositiveIntegerField()),
            ],
        ),
        migrations.CreateModel(
            name='Member',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('role', models.CharField(choices=[('learner', 'Learner'), ('builder', 'Builder'), ('lead', 'Lead')], max_length=10)),
                ('left_at', models.DateTimeField(null=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='memberships', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('crew', 'person'), name='person_once_in_crew'), crews.history.triggers.AuditTrigger(kind='member', leaving_out=())],
            },
        ),
        migrations.CreateModel(
            name='KeptAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('caller', models.UUIDField(help_text='The id of the access key that asked.')),
                ('key', models.CharField(max_length=200)),
                ('method', models.CharField(max_length=8)),
                ('path', models.TextField()),
                ('request_sha256', models.BinaryField(max_length=32)),
                ('status', models.PositiveSmallIntegerField()),
                ('headers', models.JSONField()),
                ('body', models.BinaryField()),
                ('expires_at', models.DateTimeField(db_index=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('caller', 'key'), name='answer_kept_once')],
            },
        ),
        migrations.CreateModel(
            name='Event',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('order_sent', 'Order Sent'), ('order_confirmed', 'Order Confirmed'), ('delivery_announced', 'Delivery Announced'), ('delivered', 'Delivered'), ('round_complete', 'Round Complete'), ('plan_ready', 'Plan Ready'), ('plan_stale', 'Plan Stale'), ('log_culled', 'Log Culled'), ('log_hazardous', 'Log Hazardous')], max_length=30)),
                ('data', models.JSONField()),
                ('at', models.DateTimeField()),
                ('crew', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'at', 'id'], name='event_by_time')],
            },
        ),
        migrations.CreateModel(
            name='Webhook',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('url', models.CharField(max_length=500)),
                ('kinds', models.JSONField()),
                ('secret', models.CharField(max_length=80)),
                ('old_secret', models.CharField(blank=True, max_length=80)),
                ('old_secret_until', models.DateTimeField(null=True)),
                ('removed_at', models.DateTimeField(null=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
            ],
            options={
                'constraints': [crews.history.triggers.AuditTrigger(kind='webhook', leaving_out=('secret', 'old_secret'))],
            },
        ),
        migrations.CreateModel(
            name='AccessKey',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('name', models.CharField(max_length=120)),
                ('role', models.CharField(choices=[('learner', 'Learner'), ('builder', 'Builder'), ('lead', 'Lead')], max_length=10)),
                ('hint', models.CharField(max_length=8)),
                ('secret_sha256', models.BinaryField(max_length=32, unique=True)),
                ('expires_at', models.DateTimeField(null=True)),
                ('last_used_at', models.DateTimeField(null=True)),
                ('revoked_at', models.DateTimeField(null=True)),
                ('crew', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('member', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='keys', to='crews.member')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('expires_at', None), ('expires_at__gt', models.F('created_at')), _connector='OR'), name='key_expires_after_made'), crews.history.triggers.AuditTrigger(kind='access_key', leaving_out=('secret_sha256', 'last_used_at'))],
            },
        ),
        migrations.CreateModel(
            name='Change',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=20)),
                ('object', models.UUIDField()),
                ('version', models.PositiveIntegerField(null=True)),
                ('before', models.JSONField(null=True)),
                ('after', models.JSONField(null=True)),
                ('at', models.DateTimeField()),
                ('made_at', models.DateTimeField(null=True)),
                ('key', models.UUIDField(null=True)),
                ('request_id', models.CharField(max_length=100)),
                ('crew', models.ForeignKey(db_constraint=False, db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('member', models.ForeignKey(db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='crews.member')),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'at', 'id'], name='change_by_time'), models.Index(fields=['object', 'at', 'id'], name='change_by_object'), django.contrib.postgres.indexes.BrinIndex(autosummarize=True, fields=['at'], name='change_lately')],
            },
        ),
        migrations.CreateModel(
            name='WebhookDelivery',
            fields=[
                ('id', models.UUIDField(primary_key=True, serialize=False)),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('delivered', 'Delivered'), ('given_up', 'Given Up')], default='waiting', max_length=10)),
                ('created_at', models.DateTimeField()),
                ('failures', models.PositiveIntegerField(default=0)),
                ('due_at', models.DateTimeField(null=True)),
                ('attempts', models.JSONField(default=list)),
                ('crew', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.crew')),
                ('event', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='deliveries', to='crews.event')),
                ('webhook', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='deliveries', to='crews.webhook')),
            ],
            options={
                'indexes': [models.Index(fields=['crew', 'created_at', 'id'], name='webhook_delivery_by_age'), models.Index(condition=models.Q(('state', 'waiting')), fields=['due_at'], name='webhook_delivery_due')],
                'constraints': [models.UniqueConstraint(fields=('webhook', 'event'), name='event_once_to_webhook'), models.CheckConstraint(condition=models.Q(models.Q(('due_at__isnull', False), ('state', 'waiting')), models.Q(models.Q(('state', 'waiting'), _negated=True), ('due_at', None)), _connector='OR'), name='delivery_due_while_waiting')],
            },
        ),
        migrations.CreateModel(
            name='SignInLink',
            fields=[
                ('secret_sha256', models.BinaryField(max_length=32, primary_key=True, serialize=False)),
                ('role', models.CharField(choices=[('learner', 'Learner'), ('builder', 'Builder'), ('lead', 'Lead')], max_length=10)),
                ('expires_at', models.DateTimeField()),
                ('member', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='crews.member')),
            ],
        ),
        migrations.RunSQL(
            NAME_FUNCTION,
            "DROP TRIGGER history_of_name ON crews_person; DROP FUNCTION roundlay_keep_name();",
        ),
        # Written with every request, and worth nothing after a crash.
        migrations.RunSQL(
            "ALTER TABLE crews_requestcount SET UNLOGGED", "ALTER TABLE crews_requestcount SET LOGGED"
        ),
    ]
