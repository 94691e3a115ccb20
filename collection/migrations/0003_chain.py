"""The chains and statements, guarded like the log; and two ways round the guards of the log closed."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from collection.models.append_only import guard

TABLES = tuple(
    f"collection_{name}"
    for name in ("entry", "reading", "pseudonym", "chain", "link", "anchor", "anchoredhead")
)


def guard_all(apps, schema_editor):
    guard(schema_editor, TABLES)


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0002_append_only'),
    ]

    operations = [
        migrations.CreateModel(
            name='Anchor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField()),
                ('at', models.DateTimeField()),
                ('statement', models.JSONField()),
                ('signature', models.CharField(max_length=128)),
                ('organisation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='anchors', to='collection.organisation')),
            ],
            options={
                'ordering': ['-number'],
            },
        ),
        migrations.CreateModel(
            name='Chain',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('vehicle', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='chain', to='collection.vehicle')),
            ],
        ),
        migrations.CreateModel(
            name='Link',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('seq', models.PositiveIntegerField()),
                ('previous', models.CharField(max_length=64)),
                ('car', models.JSONField()),
                ('written', models.CharField(max_length=64)),
                ('measured', models.CharField(max_length=64)),
                ('digest', models.CharField(max_length=64)),
                ('chain', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='links', to='collection.chain')),
                ('entry', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='link', to='collection.entry')),
            ],
            options={
                'ordering': ['chain', 'seq'],
            },
        ),
        migrations.CreateModel(
            name='AnchoredHead',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveIntegerField()),
                ('proof', models.JSONField(default=list)),
                ('anchor', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='heads', to='collection.anchor')),
                ('chain', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='anchored', to='collection.chain')),
                ('seq', models.PositiveIntegerField()),
                ('head', models.CharField(max_length=64)),
            ],
            options={
                'ordering': ['anchor', 'place'],
            },
        ),
        migrations.CreateModel(
            name='Pseudonym',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='pseudonym', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.AddConstraint(
            model_name='anchor',
            constraint=models.UniqueConstraint(fields=('organisation', 'number'), name='one_statement_a_number'),
        ),
        migrations.AddConstraint(
            model_name='link',
            constraint=models.UniqueConstraint(fields=('chain', 'seq'), name='one_link_a_place'),
        ),
        migrations.AddConstraint(
            model_name='anchoredhead',
            constraint=models.UniqueConstraint(fields=('anchor', 'place'), name='one_head_a_place'),
        ),
        migrations.AddConstraint(
            model_name='anchoredhead',
            constraint=models.UniqueConstraint(fields=('anchor', 'chain'), name='each_chain_once_a_statement'),
        ),
        migrations.RunPython(guard_all, migrations.RunPython.noop),
    ]
