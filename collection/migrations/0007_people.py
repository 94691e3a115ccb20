"""Viewers, sites that staff are assigned to, private notes, people who may be forgotten, attachments."""

import django.db.models.deletion
import uuid
from django.core.management import call_command
from django.db import migrations, models

from collection.models.append_only import guard


def guard_attachments(apps, schema_editor):
    guard(schema_editor, ["collection_attachment"])


def make_cache(apps, schema_editor):
    """The table in which tries at the sign-in are counted."""
    call_command("createcachetable", database=schema_editor.connection.alias, verbosity=0)


def assign_all(apps, schema_editor):
    """Whoever was staff before keeps seeing every site."""
    site = apps.get_model("collection", "Site")
    for member in apps.get_model("collection", "Membership").objects.filter(role="staff"):
        member.sites.set(site.objects.filter(organisation=member.organisation_id))


class Migration(migrations.Migration):

    dependencies = [
        ('collection', '0006_hands'),
    ]

    operations = [
        migrations.AddField(
            model_name='membership',
            name='sites',
            field=models.ManyToManyField(blank=True, help_text='Staff see keys, alarm notes and addresses at these sites only.', related_name='staff', to='collection.site', verbose_name='assigned to'),
        ),
        migrations.AddField(
            model_name='owner',
            name='address',
            field=models.TextField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name='person',
            name='forgotten_on',
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.AlterField(
            model_name='membership',
            name='role',
            field=models.CharField(choices=[('manager', 'Manager'), ('staff', 'Staff'), ('owner', 'Owner'), ('viewer', 'Viewer')], max_length=10),
        ),
        migrations.AlterField(
            model_name='owner',
            name='contact',
            field=models.CharField(blank=True, help_text='Telephone or e-mail.', max_length=200),
        ),
        migrations.CreateModel(
            name='CarNotes',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('keys_at', models.CharField(blank=True, help_text='Which safe, board or hook.', max_length=120, verbose_name='keys')),
                ('alarm', models.TextField(blank=True, help_text='Switches, fobs, what sets it off.', max_length=1000, verbose_name='alarm and immobiliser')),
                ('vehicle', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='private', to='collection.vehicle')),
            ],
            options={
                'verbose_name_plural': 'car notes',
            },
        ),
        migrations.CreateModel(
            name='SiteNotes',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('address', models.TextField(blank=True, max_length=400)),
                ('way_in', models.TextField(blank=True, help_text='Gates, locks, whom to ring. Better write no code.', max_length=1000, verbose_name='way in')),
                ('alarm', models.TextField(blank=True, help_text='What to do when it sounds, and whom to call.', max_length=1000)),
                ('site', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='private', to='collection.site')),
            ],
            options={
                'verbose_name_plural': 'site notes',
            },
        ),
        migrations.CreateModel(
            name='Attachment',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('name', models.CharField(max_length=100)),
                ('type', models.CharField(max_length=30)),
                ('size', models.PositiveIntegerField()),
                ('digest', models.CharField(max_length=64)),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='attachments', to='collection.entry')),
            ],
            options={
                'ordering': ['number'],
                'constraints': [models.UniqueConstraint(fields=('entry', 'number'), name='one_attachment_a_number')],
            },
        ),
        migrations.RunPython(guard_attachments, migrations.RunPython.noop),
        migrations.RunPython(make_cache, migrations.RunPython.noop),
        migrations.RunPython(assign_all, migrations.RunPython.noop),
    ]
