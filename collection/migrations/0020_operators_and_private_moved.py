"""Superusers become operators, assigned staff keep their keys by grant, private notes are sealed.

A note belongs from now on to the site where its car stands; of a car in no bay only managers read it.
"""

from django.db import migrations
from django.utils import timezone

from collection.migrations.frozen.sealing_of_notes import seal

NO_MORE = "read:private"  # keys are asked for on their page only


def name_operators(apps, schema_editor):
    operator = apps.get_model("collection", "Operator")
    for person in apps.get_model("collection", "Person").objects.filter(is_superuser=True, is_active=True):
        operator.objects.create(person=person, given_at=timezone.now())


def grant_keys(apps, schema_editor):
    grant = apps.get_model("collection", "KeyGrant")
    assigned = apps.get_model("collection", "Membership").sites.through
    for row in assigned.objects.order_by("pk"):
        grant.objects.create(membership_id=row.membership_id, site_id=row.site_id)


def seal_notes(apps, schema_editor):
    for note in apps.get_model("collection", "CarNotes").objects.select_related("vehicle__bay__building"):
        bay = note.vehicle.bay
        note.site_id = bay.building.site_id if bay else None
        note.sealed = seal(f"car {note.vehicle_id}", {"keys_at": note.keys_at, "alarm": note.alarm})
        note.save(update_fields=["site", "sealed"])
    for note in apps.get_model("collection", "SiteNotes").objects.all():
        said = {"address": note.address, "way_in": note.way_in, "alarm": note.alarm}
        note.sealed = seal(f"site {note.site_id}", said)
        note.save(update_fields=["sealed"])


def narrow_tokens(apps, schema_editor):
    for token in apps.get_model("collection", "ApiToken").objects.all():
        if NO_MORE in token.scopes:
            token.scopes = [scope for scope in token.scopes if scope != NO_MORE]
            token.save(update_fields=["scopes"])


class Migration(migrations.Migration):
    dependencies = [("collection", "0019_operators_and_private")]

    operations = [
        migrations.RunPython(each, migrations.RunPython.noop)
        for each in (name_operators, grant_keys, seal_notes, narrow_tokens)
    ]
