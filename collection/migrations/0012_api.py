"""Tokens for programmes, addresses that are told of changed dates, and what is on its way to them."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0011_loggers'),
    ]

    operations = [
        migrations.CreateModel(
            name='ApiToken',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80, verbose_name='what it is for')),
                ('prefix', models.CharField(max_length=12)),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('scopes', models.JSONField(default=list)),
                ('made_at', models.DateTimeField()),
                ('expires_at', models.DateTimeField(blank=True, null=True)),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('last_used_at', models.DateTimeField(blank=True, null=True)),
                ('minute', models.DateTimeField(blank=True, null=True)),
                ('used_in_minute', models.PositiveIntegerField(default=0)),
                ('membership', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='api_tokens', to='collection.membership')),
            ],
            options={
                'verbose_name': 'API token',
                'ordering': ['-made_at'],
            },
        ),
        migrations.CreateModel(
            name='DueChange',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
                ('body', models.TextField(help_text='The JSON as it is sent, byte for byte.')),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='due_changes', to='collection.organisation')),
                ('vehicle', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='due_changes', to='collection.vehicle')),
            ],
            options={
                'ordering': ['-at'],
            },
        ),
        migrations.CreateModel(
            name='Webhook',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('made_at', models.DateTimeField()),
                ('name', models.CharField(max_length=80, verbose_name='what it is for')),
                ('address', models.URLField(max_length=400)),
                ('secret_number', models.PositiveIntegerField(default=1)),
                ('old_secret_until', models.DateTimeField(blank=True, null=True)),
                ('failing_since', models.DateTimeField(blank=True, null=True)),
                ('off_at', models.DateTimeField(blank=True, null=True)),
                ('off_because', models.CharField(blank=True, max_length=200)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='webhooks', to=settings.AUTH_USER_MODEL)),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='webhooks', to='collection.organisation')),
            ],
            options={
                'ordering': ['name', 'made_at'],
            },
        ),
        migrations.CreateModel(
            name='ApiWrite',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=100)),
                ('digest', models.CharField(max_length=64)),
                ('path', models.CharField(max_length=200)),
                ('at', models.DateTimeField()),
                ('status', models.PositiveSmallIntegerField(default=0)),
                ('answer', models.JSONField(default=dict)),
                ('token', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='writes', to='collection.apitoken')),
            ],
            options={
                'verbose_name': 'API write',
                'ordering': ['-at'],
                'constraints': [models.UniqueConstraint(fields=('token', 'key'), name='one_write_a_key')],
            },
        ),
        migrations.CreateModel(
            name='Delivery',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('waiting', 'Waiting'), ('delivered', 'Delivered'), ('given_up', 'Given up')], default='waiting', max_length=10)),
                ('tries', models.PositiveSmallIntegerField(default=0)),
                ('next_at', models.DateTimeField()),
                ('last_at', models.DateTimeField(blank=True, null=True)),
                ('last_said', models.CharField(blank=True, max_length=200)),
                ('change', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='deliveries', to='collection.duechange')),
                ('webhook', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='deliveries', to='collection.webhook')),
            ],
            options={
                'verbose_name_plural': 'deliveries',
                'ordering': ['-change__at', '-pk'],
                'indexes': [models.Index(fields=['state', 'next_at'], name='delivery_by_time')],
                'constraints': [models.UniqueConstraint(fields=('webhook', 'change'), name='each_change_once_an_address')],
            },
        ),
    ]
