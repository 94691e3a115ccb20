"""The record of each car stands in its chain: what stood before is written down now, in one opening entry."""

import collection.models.vehicles
import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models
from django.utils import timezone

from collection.migrations.frozen.opening import NOTHING_BEFORE, next_link, opening_facts, record_facts
from collection.models.append_only import guard

AT_ONCE = 200  # cars


def guard_all(apps, schema_editor):
    """SQLite forgot the guards of the links when their table was written anew."""
    guard(schema_editor, ["collection_link", "collection_recordentry"])


def open_records(apps, schema_editor):
    """One entry for each car: when it was first written down is now, since when it is so nobody noted."""
    vehicle = apps.get_model("collection", "Vehicle")
    cars = vehicle.objects.select_related("bay__building").order_by("pk")
    for car in cars.iterator(chunk_size=AT_ONCE):
        if not _released(car):
            _open(apps, car)
    schema_editor.connection.check_constraints()  # PostgreSQL alters no table with checks still to come


def _released(car):
    """Whether its chain goes on with whoever has the car now: what was handed over must fit when it comes back."""
    return car.left_on is not None and car.handovers.filter(organisation=car.organisation_id).exists()


def _open(apps, car):
    chain, link, record = (apps.get_model("collection", name) for name in ("Chain", "Link", "RecordEntry"))
    row, _ = chain.objects.get_or_create(vehicle=car)
    last = link.objects.filter(chain=row).order_by("-seq").first()
    bay = car.bay
    label = f"{bay.building.name} {bay.row}{bay.place}" if bay else ""
    now = timezone.now()
    if last and last.entry_id:
        now = max(now, last.entry.recorded_at)  # the clock may stand behind the log
    entry = record(
        vehicle=car,
        done_at=now,
        recorded_at=now,
        facts=opening_facts(apps, car, label),
        opening=True,
    )
    seq, previous = (last.seq, last.digest) if last else (0, NOTHING_BEFORE)
    made = next_link(str(row.pk), record_facts(entry), car=car, seq=seq + 1, previous=previous)
    entry.link = link.objects.create(chain=row, **made | {"entry": None})
    entry.save()


class Migration(migrations.Migration):
    dependencies = [("collection", "0021_operators_and_private_old_gone")]

    operations = [
        migrations.AddField("link", "fields", models.JSONField(default=dict)),
        migrations.AlterField(
            "link",
            "entry",
            models.OneToOneField(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="link",
                to="collection.entry",
            ),
        ),
        migrations.CreateModel(
            name="RecordEntry",
            fields=[
                (
                    "id",
                    models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False),
                ),
                ("done_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField()),
                ("facts", models.JSONField(default=dict)),
                (
                    "basis",
                    models.CharField(
                        blank=True, choices=collection.models.vehicles.Basis.choices, max_length=12
                    ),
                ),
                ("opening", models.BooleanField(default=False)),
                ("brought", models.BooleanField(default=False)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="record_entries",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "link",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="record",
                        to="collection.link",
                    ),
                ),
                (
                    "vehicle",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="record_entries",
                        to="collection.vehicle",
                    ),
                ),
            ],
            options={"ordering": ["link__seq"], "verbose_name_plural": "record entries"},
        ),
        migrations.RunPython(guard_all, migrations.RunPython.noop),
        migrations.RunPython(open_records, migrations.RunPython.noop),
    ]
