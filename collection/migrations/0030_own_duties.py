"""Papers and duties that keepers add to a car."""

import collection.models.choices
import collection.models.own_duties
import collection.models.rules
import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0029_own_rules'),
    ]

    operations = [
        migrations.AddField(
            model_name='dutyrow',
            name='minutes',
            field=models.PositiveSmallIntegerField(null=True),
        ),
        migrations.AddField(
            model_name='dutyrow',
            name='title',
            field=models.CharField(blank=True, default='', max_length=60),
        ),
        migrations.CreateModel(
            name='OwnDuty',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ref', models.CharField(default=collection.models.own_duties.new_ref, editable=False, max_length=12, validators=[django.core.validators.RegexValidator('\\A[0-9a-f]{12}\\Z')])),
                ('kind', models.CharField(choices=collection.models.choices.own_kinds, max_length=20)),
                ('title', models.CharField(max_length=60, verbose_name='what')),
                ('due_on', models.DateField(blank=True, null=True, verbose_name='due on')),
                ('dated_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('interval', models.CharField(blank=True, max_length=20, validators=[collection.models.rules.check_interval], verbose_name='again every')),
                ('begun', models.DateField(editable=False)),
                ('remind_days', models.PositiveSmallIntegerField(default=30, validators=[django.core.validators.MaxValueValidator(366)], verbose_name='days of warning')),
                ('minutes', models.PositiveSmallIntegerField(blank=True, null=True, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(480)], verbose_name='minutes at the car')),
                ('note', models.CharField(blank=True, max_length=200)),
                ('ended_on', models.DateField(blank=True, null=True, verbose_name='no longer asked for since')),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='own_duties', to=settings.AUTH_USER_MODEL)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='own_duties', to='collection.vehicle')),
            ],
            options={
                'verbose_name_plural': 'own duties',
                'ordering': ['title', 'pk'],
                'constraints': [models.UniqueConstraint(fields=('vehicle', 'ref'), name='each_own_duty_once')],
            },
        ),
    ]
