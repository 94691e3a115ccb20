"""Sharing links, rates, handing over; statements that came with a car only grow too."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from collection.models.append_only import guard


def guard_brought(apps, schema_editor):
    guard(schema_editor, ("collection_broughtstatement",))


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0007_people'),
    ]

    operations = [
        migrations.AddField(
            model_name='organisation',
            name='money',
            field=models.CharField(blank=True, help_text='The money in which its rates are, as it is written: £, €, SEK.', max_length=8),
        ),
        migrations.CreateModel(
            name='Handover',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('to', models.CharField(max_length=120, verbose_name='handed to')),
                ('left_out', models.PositiveIntegerField(default=0, verbose_name='photographs and documents left out')),
                ('digest', models.CharField(max_length=64)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='handovers', to=settings.AUTH_USER_MODEL)),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='handovers', to='collection.organisation')),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='handovers', to='collection.vehicle')),
            ],
            options={
                'ordering': ['-at'],
            },
        ),
        migrations.CreateModel(
            name='ShareLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField()),
                ('token_digest', models.CharField(max_length=64, unique=True)),
                ('reader', models.CharField(max_length=120, verbose_name='for whom')),
                ('first', models.DateField(blank=True, null=True, verbose_name='from')),
                ('last', models.DateField(blank=True, null=True, verbose_name='to')),
                ('with_owner', models.BooleanField(default=False, verbose_name="the owner's name")),
                ('with_place', models.BooleanField(default=False, verbose_name='the place')),
                ('with_prices', models.BooleanField(default=False, verbose_name='estimated costs')),
                ('with_notes', models.BooleanField(default=True, verbose_name='notes as they were written')),
                ('expires_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='shares', to=settings.AUTH_USER_MODEL)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='shares', to='collection.vehicle')),
            ],
            options={
                'ordering': ['-made_at'],
            },
        ),
        migrations.CreateModel(
            name='ShareOpening',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('what', models.CharField(max_length=20)),
                ('network', models.CharField(blank=True, max_length=45)),
                ('browser', models.CharField(blank=True, max_length=200)),
                ('share', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='openings', to='collection.sharelink')),
            ],
            options={
                'ordering': ['-at'],
            },
        ),
        migrations.CreateModel(
            name='BroughtStatement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('seq', models.PositiveIntegerField()),
                ('statement', models.JSONField()),
                ('signature', models.CharField(max_length=128)),
                ('place', models.PositiveIntegerField()),
                ('proof', models.JSONField(default=list)),
                ('chain', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='brought', to='collection.chain')),
            ],
            options={
                'ordering': ['chain', 'seq'],
                'constraints': [models.UniqueConstraint(fields=('chain', 'seq', 'signature'), name='each_statement_brought_once')],
            },
        ),
        migrations.CreateModel(
            name='Rate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=60)),
                ('value', models.FloatField()),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rates', to='collection.organisation')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('organisation', 'name'), name='one_value_a_rate')],
            },
        ),
        migrations.AddConstraint(
            model_name='sharelink',
            constraint=models.CheckConstraint(condition=models.Q(('first__isnull', True), ('last__isnull', True), ('last__gte', models.F('first')), _connector='OR'), name='share_from_before_to', violation_error_message='“To” is before “from”: check both dates.'),
        ),
        migrations.AddConstraint(
            model_name='sharelink',
            constraint=models.CheckConstraint(condition=models.Q(('expires_at__gt', models.F('made_at'))), name='share_ends_after_it_began', violation_error_message='The link would end before it begins: choose a later day.'),
        ),
        migrations.RunPython(guard_brought, migrations.RunPython.noop),
    ]
