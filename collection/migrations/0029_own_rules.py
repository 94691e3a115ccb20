"""What is decided of one duty of a car, or of a kind of car, in place of our models."""
import collection.models.choices
import collection.models.rules
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0027_keeper_in_statements'),
    ]

    operations = [
        migrations.CreateModel(
            name='KindRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('duty', models.CharField(choices=collection.models.choices.duty_codes, max_length=20)),
                ('interval', models.CharField(blank=True, max_length=20, validators=[collection.models.rules.check_interval], verbose_name='own interval')),
                ('not_before', models.DateField(blank=True, null=True, verbose_name='not before')),
                ('reason', models.CharField(blank=True, max_length=200, verbose_name='reason')),
                ('put_off_until', models.DateField(blank=True, null=True, verbose_name='put off until')),
                ('put_off_reason', models.CharField(blank=True, max_length=200, verbose_name='reason for putting it off')),
                ('since', models.DateField()),
                ('marque', models.CharField(blank=True, max_length=60, verbose_name='make')),
                ('model', models.CharField(blank=True, max_length=60)),
                ('regime', models.CharField(blank=True, choices=collection.models.choices.regime_kinds, max_length=10, verbose_name='kept')),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='%(class)ss', to=settings.AUTH_USER_MODEL)),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='kind_rules', to='collection.organisation')),
            ],
        ),
        migrations.CreateModel(
            name='CarRule',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('duty', models.CharField(choices=collection.models.choices.duty_codes, max_length=20)),
                ('interval', models.CharField(blank=True, max_length=20, validators=[collection.models.rules.check_interval], verbose_name='own interval')),
                ('not_before', models.DateField(blank=True, null=True, verbose_name='not before')),
                ('reason', models.CharField(blank=True, max_length=200, verbose_name='reason')),
                ('put_off_until', models.DateField(blank=True, null=True, verbose_name='put off until')),
                ('put_off_reason', models.CharField(blank=True, max_length=200, verbose_name='reason for putting it off')),
                ('since', models.DateField()),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='%(class)ss', to=settings.AUTH_USER_MODEL)),
                ('vehicle', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='rules', to='collection.vehicle')),
                ('kind', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='cars', to='collection.kindrule')),
            ],
        ),
        migrations.AddConstraint(
            model_name='kindrule',
            constraint=models.UniqueConstraint(fields=('organisation', 'duty', 'marque', 'model', 'regime'), name='each_duty_of_a_kind_once', violation_error_message='This kind has a rule of this duty already: change that one.'),
        ),
        migrations.AddConstraint(
            model_name='carrule',
            constraint=models.UniqueConstraint(fields=('vehicle', 'duty'), name='each_duty_of_a_car_once'),
        ),
    ]
