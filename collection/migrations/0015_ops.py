"""Tries at a backup of the whole installation."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0014_load'),
    ]

    operations = [
        migrations.CreateModel(
            name='BackupRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=20)),
                ('started_at', models.DateTimeField()),
                ('seconds', models.FloatField()),
                ('host', models.CharField(max_length=255)),
                ('file', models.CharField(blank=True, max_length=1000)),
                ('size', models.PositiveBigIntegerField(default=0)),
                ('error', models.CharField(blank=True, max_length=500)),
            ],
            options={
                'ordering': ['-started_at', '-pk'],
            },
        ),
    ]
