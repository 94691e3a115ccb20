"""Evidence of how long a car stood, handbook values, rates; evidence only grows, like the log."""

import django.core.validators
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from collection.models.append_only import guard


def guard_evidence(apps, schema_editor):
    guard(schema_editor, ("collection_evidence",))


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0008_sharing'),
    ]

    operations = [
        migrations.AlterField(
            model_name='entry',
            name='kind',
            field=models.CharField(choices=[('charge', 'Battery charge'), ('maintainer', 'Maintainer on or off'), ('battery_reading', 'Battery reading'), ('run_up', 'Run-up'), ('stabiliser', 'Fuel stabiliser'), ('fuel_added', 'Fuel added'), ('fuel_drained', 'Fuel drained'), ('fluid_changed', 'Fluid changed'), ('fluid_reading', 'Fluid reading'), ('tyre_pressures', 'Tyre pressures'), ('moved', 'Moved'), ('inspected', 'Inspected'), ('tag_opened', 'Tag hung'), ('tag_closed', 'Tag taken off'), ('not_done', 'Not done'), ('waking_result', 'Waking step'), ('system_seen', 'System looked at'), ('hazard', 'Hazard seen or gone'), ('fault_test', 'Fault test'), ('withdrawn', 'Entry withdrawn'), ('note', 'Note')], max_length=20),
        ),
        migrations.CreateModel(
            name='WakingCase',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('known_preparation', models.BooleanField(default=False, help_text='Somebody wrote down what was done when it was put away.', verbose_name='known to have been prepared for storage')),
                ('damp', models.CharField(blank=True, choices=[('', 'Not known'), ('dry', 'Dry: heated or well aired, no bloom or rust'), ('mixed', 'Damp in winter, dry in summer'), ('damp', 'Damp: bare earth, leaks, moss, bloom on metal')], max_length=6, verbose_name='where it stood')),
                ('conditions', models.JSONField(blank=True, default=list)),
                ('vehicle', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='waking_case', to='collection.vehicle')),
            ],
        ),
        migrations.CreateModel(
            name='WakingRates',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('currency', models.CharField(default='GBP', help_text='Three letters, such as EUR.', max_length=3)),
                ('hour_low', models.FloatField(default=45.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='an hour, low')),
                ('hour_likely', models.FloatField(default=60.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='an hour, likely')),
                ('hour_high', models.FloatField(default=90.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='an hour, high')),
                ('parts_low', models.FloatField(default=1.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='parts against a small simple car, low')),
                ('parts_likely', models.FloatField(default=1.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='parts against a small simple car, likely')),
                ('parts_high', models.FloatField(default=1.0, validators=[django.core.validators.MinValueValidator(0), django.core.validators.MaxValueValidator(10000)], verbose_name='parts against a small simple car, high')),
                ('organisation', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='waking_rates', to='collection.organisation')),
            ],
        ),
        migrations.CreateModel(
            name='Evidence',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(max_length=30)),
                ('on', models.DateField(blank=True, null=True)),
                ('until', models.DateField(blank=True, null=True)),
                ('odometer_km', models.FloatField(blank=True, null=True)),
                ('code', models.CharField(blank=True, max_length=12)),
                ('count', models.PositiveIntegerField(blank=True, null=True)),
                ('event', models.CharField(blank=True, max_length=12)),
                ('answers', models.JSONField(blank=True, default=list)),
                ('hard', models.BooleanField(blank=True, null=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('withdrawn', models.BooleanField(default=False)),
                ('recorded_at', models.DateTimeField()),
                ('idempotency_key', models.CharField(max_length=64)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='evidence', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='collection.evidence')),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='evidence', to='collection.vehicle')),
            ],
            options={
                'verbose_name_plural': 'evidence',
                'ordering': ['recorded_at', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('vehicle', 'idempotency_key'), name='evidence_sent_twice_stored_once')],
            },
        ),
        migrations.CreateModel(
            name='HandbookValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('check_key', models.CharField(max_length=40)),
                ('low', models.FloatField()),
                ('high', models.FloatField()),
                ('source', models.CharField(max_length=200)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='handbook_values', to='collection.vehicle')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('vehicle', 'check_key'), name='one_handbook_value_a_check')],
            },
        ),
        migrations.RunPython(guard_evidence, migrations.RunPython.noop),
    ]
