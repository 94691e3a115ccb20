"""A car may stand in a building and in no bay of it; what is usual for its kind of car is marked as assumed."""

from django.db import migrations, models

UNMARKED = ""


def add_places_on_the_floor(apps, schema_editor):
    """The first unmarked place of each building that is there already."""
    Bay, Building = apps.get_model("collection", "Bay"), apps.get_model("collection", "Building")
    bare = Building.objects.exclude(bays__row=UNMARKED)
    Bay.objects.bulk_create(Bay(building=building, row=UNMARKED, place=1) for building in bare)


class Migration(migrations.Migration):
    dependencies = [("collection", "0031_where_bays_lie")]

    operations = [
        migrations.AddField(
            "vehicle",
            "assumed",
            models.CharField(blank=True, default="", editable=False, max_length=200),
            preserve_default=False,
        ),
        migrations.RunPython(add_places_on_the_floor, migrations.RunPython.noop),
    ]
