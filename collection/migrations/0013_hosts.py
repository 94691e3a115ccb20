"""A run of the whole fleet in parts, each taken by one worker of any host."""

import django.db.models.deletion
from django.db import migrations, models


def forget_unfinished(apps, schema_editor):
    """Runs of before that never said how they ended: whatever they left is computed by the next."""
    apps.get_model("collection", "ForecastRun").objects.filter(seconds__isnull=True).delete()


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0012_api'),
    ]

    operations = [
        migrations.RunPython(forget_unfinished, migrations.RunPython.noop),
        migrations.CreateModel(
            name='RunPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_car', models.BigIntegerField()),
                ('last_car', models.BigIntegerField()),
                ('done_at', models.DateTimeField(null=True)),
                ('cars', models.PositiveIntegerField(default=0)),
                ('errors', models.JSONField(default=list)),
            ],
        ),
        migrations.AddField(
            model_name='forecastrun',
            name='nudged_at',
            field=models.DateTimeField(null=True),
        ),
        migrations.AddField(
            model_name='forecastrun',
            name='state',
            field=models.CharField(choices=[('running', 'running'), ('done', 'done'), ('replaced', 'replaced by a later run')], default='done', max_length=10),
        ),
        migrations.AddConstraint(
            model_name='forecastrun',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'running')), fields=('organisation',), name='one_run_at_a_time'),
        ),
        migrations.AddField(
            model_name='runpart',
            name='run',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='parts', to='collection.forecastrun'),
        ),
        migrations.CreateModel(
            name='SharedKey',
            fields=[
                ('name', models.CharField(max_length=20, primary_key=True, serialize=False)),
                ('fingerprint', models.CharField(max_length=64)),
            ],
        ),
    ]
